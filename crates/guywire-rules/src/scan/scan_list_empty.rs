use super::members::{is_selected, members};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::FieldPath;
use guywire_plan::language::scan_list;

rule! {
    /// A scan list has no channel to look at beside the one that the knob is on.
    ///
    /// ## On the air
    /// Scanning hears nothing more than standing still does.
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
    /// channels = ["selected"]
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
    /// channels = ["selected", "Cranes"]
    /// ```
    pub ScanListEmpty = "scan-list-empty" { family: Scan, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<scan_list::Table>, view, out) {
        let Some(members) = members(view, it) else { return };
        if members.iter().any(|(name, _)| !is_selected(view, *name)) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(scan_list::channels.number())),
            format!(
                "{} has no channel beside the one that the knob is on: scanning hears nothing more than standing still. Add the channels that should be heard, or take the list out",
                view.called(it.id()),
            ),
        );
    }
}
