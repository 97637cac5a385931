use super::members::{is_selected, members, place, rooms};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::FieldPath;
use guywire_plan::language::{capacity, scan_list};

rule! {
    /// A scan list has more channels than a radio model that scans it has room for.
    ///
    /// Looked at for each model of the radios that hold a channel with this scan list. `selected` is not counted, since some
    /// models keep no room for it; a channel that stands twice counts once.
    ///
    /// ## On the air
    /// The radio refuses the plan when it is loaded, or the last channels are not scanned: calls on them go unheard.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
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
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
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
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// scan_list_members = 1
    /// ```
    pub ScanListOverCapacity = "scan-list-over-capacity" { family: Scan, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<scan_list::Table>, view, out) {
        let Some(members) = members(view, it) else { return };
        let mut channels = Vec::new();
        for (name, number) in members {
            if !is_selected(view, name) && !channels.iter().any(|(known, _)| *known == name) {
                channels.push((name, number));
            }
        }
        for (model, capacity, most) in rooms(view, it.id()) {
            let Some((_, first_over)) = channels.get(most) else { continue };
            let name = model.name().unwrap_or("the model");
            out.report(
                Anchor::Value(it.id(), place(*first_over)),
                format!(
                    "{} has {} channels, and {name} has room for {most}: from here on nothing is scanned, or the radio refuses the plan. Take channels out, or scan two lists",
                    view.called(it.id()),
                    channels.len(),
                ),
            )
            .about(name)
            .related(
                Anchor::Value(capacity.id(), FieldPath::key(capacity::scan_list_members.number())),
                format!("room for channels in a scan list on {name}: {most}"),
            );
        }
    }
}
