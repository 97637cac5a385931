use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::signaling;
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The preamble before data is long.
    ///
    /// ## On the air
    /// Every position report, text and alarm holds its slot for the preamble before it says anything.
    ///
    /// ## Options
    /// `longest_ms`: longest preamble, in milliseconds; 2000 unless set.
    ///
    /// ## Source
    /// The preamble is that of ETSI TS 102 361-2; how long is long is common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [signaling]
    /// preamble_ms = 5000
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [signaling]
    /// preamble_ms = 500
    /// ```
    pub PreambleLong = "preamble-long" {
        family: Timing, level: Information, judged: PerFile, since: "0.1.0",
        options: &[OptionSpec { name: "longest_ms", default: 2000.0, doc: "Longest preamble, in milliseconds." }],
    }
    fn check(it: Each<signaling::Table>, _view, out) {
        let Known::Is(preamble_ms) = it.whole(signaling::preamble_ms) else { return };
        let longest_ms = out.option("longest_ms");
        if preamble_ms as f64 <= longest_ms {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(signaling::preamble_ms.number())),
            format!("every report, text and alarm holds its slot for a preamble of {preamble_ms} ms first (limit {longest_ms} ms). Make it no longer than receivers take to wake"),
        );
    }
}
