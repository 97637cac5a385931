use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::controls;
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A press counts as long after so short a time that a short press becomes one by accident.
    ///
    /// ## On the air
    /// With gloves or cold hands, a short press is taken for a long one: an alarm that nobody meant, or another zone.
    ///
    /// ## Options
    /// `shortest_ms`: least duration of a long press, in milliseconds; 500 unless set.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [controls]
    /// long_press_ms = 200
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [controls]
    /// long_press_ms = 1000
    /// ```
    pub LongPressTooShort = "long-press-too-short" {
        family: Controls, level: Warning, judged: PerFile, since: "0.1.0",
        options: &[OptionSpec {
            name: "shortest_ms",
            default: 500.0,
            doc: "Least duration of a long press, in milliseconds.",
        }],
    }
    fn check(it: Each<controls::Table>, _view, out) {
        let Known::Is(long_ms) = it.whole(controls::long_press_ms) else { return };
        let shortest_ms = out.option("shortest_ms");
        if long_ms as f64 >= shortest_ms {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(controls::long_press_ms.number())),
            format!("a press counts as long after {long_ms} ms (minimum {shortest_ms} ms): with gloves, a short press becomes a long one, and an alarm goes out by accident. Make it longer"),
        );
    }
}
