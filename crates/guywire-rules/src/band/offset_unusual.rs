use super::offset::{Offset, offset};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_radio::Hertz;

rule! {
    /// The two frequencies of a channel or a repeater are not as far apart as the service's published pairs.
    ///
    /// Looked at where the plan or the channel names a built-in service that publishes pairs in that band, and where the
    /// two are less than 20 MHz apart. Where the licenses assign both frequencies, nothing is said. A channel that takes
    /// its pair from a repeater is reported there.
    ///
    /// ## On the air
    /// The radio sends beside the repeater's input: it opens nothing, and disturbs whoever has that frequency.
    ///
    /// ## Source
    /// 47 CFR 95.1763 (general mobile), 90.20, 90.35, 90.311, 90.715 (land mobile), 80.871 (maritime). The license and
    /// the rules in force decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// regime = "us-part-90"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 457.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// regime = "us-part-90"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// ```
    pub OffsetUnusual = "offset-unusual" { family: Band, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let Some(found) = offset(view, it).filter(|found| !found.is_reversed) else { return };
        let shift = found.shift();
        let Offset { sends, receives, at, convention, .. } = found;
        out.report(
            Anchor::Value(it, at),
            format!(
                "{} sends on {sends} and receives on {receives} MHz: the input lies {}, and in this band {} ({}). Radios and repeaters set to the published pairs do not meet it. Correct the frequency, unless your license has them so",
                view.called(it),
                apart(shift),
                apart(convention.shift),
                convention.source.cite,
            ),
        )
        .about(&sends.0)
        .about(&receives.0);
    }
}

/// Where an input lies from its output.
fn apart(shift: Hertz) -> String {
    let side = if shift.0 < 0 { "below" } else { "above" };
    format!("{} MHz {side} the output", shift.abs())
}
