use super::members::members;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::scan_list;
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A scan list with a written `sample_ms` has so many members that one is looked at again only after a long time.
    ///
    /// The time is counted as `sample_ms` times the members: one look at each by turns. A list without `sample_ms` says
    /// nothing about that.
    ///
    /// ## On the air
    /// The beginning of a call is lost while the others are looked at, and a short call is missed altogether.
    ///
    /// ## Options
    /// `longest_revisit_s`: longest time between two looks at a member, in seconds; 30 unless set.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// scan_list = "Watch"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["selected", "Berths", "Cranes"]
    /// sample_ms = 15000
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// scan_list = "Watch"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["selected", "Berths", "Cranes"]
    /// sample_ms = 1500
    /// ```
    pub ScanRevisitTooSlow = "scan-revisit-too-slow" {
        family: Scan, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[OptionSpec {
            name: "longest_revisit_s",
            default: 30.0,
            doc: "Longest time between two looks at a member, in seconds.",
        }],
    }
    fn check(it: Each<scan_list::Table>, view, out) {
        let Known::Is(sample_ms) = it.whole(scan_list::sample_ms) else { return };
        let Some(members) = members(view, it) else { return };
        let longest_s = out.option("longest_revisit_s");
        // Both are small whole numbers: exact as floats.
        let revisit_s = sample_ms as f64 * members.len() as f64 / 1000.0;
        if revisit_s <= longest_s {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(scan_list::sample_ms.number())),
            format!(
                "{} has {} members and looks at each for {sample_ms} ms, so it comes back to each after {revisit_s} s only (limit {longest_s} s): the beginning of calls is lost, and short ones are missed. Look more often, or take members out",
                view.called(it.id()),
                members.len(),
            ),
        );
    }
}
