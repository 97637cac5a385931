use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, license, license__assignment, radio};
use guywire_plan::{Assignment, EntityId, View};
use guywire_radio::Hertz;

rule! {
    /// More radios in use hold a channel that sends on an assignment than the license grants units.
    ///
    /// A radio counts once, whatever the number of its channels there. Spare, lost and retired radios do not count, and
    /// neither do those of other plans. A radio whose status cannot be read does not count.
    ///
    /// ## On the air
    /// Nothing at first, but the units over the number are not licensed, and an inspection counts them.
    ///
    /// ## Source
    /// The license, as written in the plan.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 451.8375
    /// units = 1
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    ///
    /// [[zone]]
    /// name = "Quay"
    /// channels = ["Mooring"]
    ///
    /// [[radio]]
    /// id = 21121
    /// alias = "Mooring 1"
    /// zones = ["Quay"]
    ///
    /// [[radio]]
    /// id = 21122
    /// alias = "Mooring 2"
    /// zones = ["Quay"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 451.8375
    /// units = 2
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    ///
    /// [[zone]]
    /// name = "Quay"
    /// channels = ["Mooring"]
    ///
    /// [[radio]]
    /// id = 21121
    /// alias = "Mooring 1"
    /// zones = ["Quay"]
    ///
    /// [[radio]]
    /// id = 21122
    /// alias = "Mooring 2"
    /// zones = ["Quay"]
    /// ```
    pub MoreUnitsThanLicensed = "more-units-than-licensed" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<license::Table>, view, out) {
        // A fleet that is no larger than the fewest units needs no look at its channels.
        let fleet = i64::try_from(view.count::<radio::Table>()).unwrap_or(i64::MAX);
        let all = view.assignments_of(it);
        let short: Vec<(Assignment<'_>, i64)> =
            all.into_iter().filter_map(|it| Some((it, it.units()?))).filter(|(_, units)| *units < fleet).collect();
        if short.is_empty() {
            return;
        }
        let senders = senders(view);
        for (assignment, units) in short {
            if assignment.class().is_some_and(|class| class == "repeater") {
                continue;
            }
            let here = senders.iter().filter(|(_, carrier)| assignment.covers(*carrier));
            let radios = view.units_on(&here.map(|(channel, _)| *channel).collect::<Vec<_>>());
            if i64::try_from(radios).unwrap_or(i64::MAX) <= units {
                continue;
            }
            out.report(
                Anchor::Value(it.id(), assignment.key(license__assignment::units)),
                format!(
                    "{radios} radios in use hold a channel that sends here, and {} grants {units}: the others are not licensed. Take the channel from them, or have more units granted",
                    view.called(it.id()),
                ),
            )
            .about(&units);
        }
    }
}

/// The channels that send, each with its carrier.
fn senders(view: View<'_>) -> Vec<(EntityId, Hertz)> {
    let channels = view.all::<channel::Table>().into_iter();
    channels.filter_map(|it| Some((it.id(), view.channel(it.id())?.tx.value()?))).collect()
}
