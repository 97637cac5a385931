use super::direct_channels;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, plan};
use guywire_plan::{FieldPath, Known, Ref, Row};

rule! {
    /// Every channel of the plan in TDMA direct mode on a frequency says that its radios never lead the timing.
    ///
    /// ## On the air
    /// Two calls share the frequency only while one radio gives all others the time. With nobody to give it, the slots
    /// drift into each other.
    ///
    /// ## Source
    /// Clause 6.2 of ETSI TS 102 361-2: a channel timing leader must be electable.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// tdma_direct_mode = true
    /// slot = 1
    /// timing_leader = "never"
    ///
    /// [[channel]]
    /// name = "Ferries"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// tdma_direct_mode = true
    /// slot = 2
    /// timing_leader = "never"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// tdma_direct_mode = true
    /// slot = 1
    /// timing_leader = "never"
    ///
    /// [[channel]]
    /// name = "Ferries"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// tdma_direct_mode = true
    /// slot = 2
    /// timing_leader = "may"
    /// ```
    pub NoTimingLeader = "no-timing-leader" { family: Slot, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<plan::Table>, view, out) {
        if it.id() != view.main(view.viewer()).unwrap_or(it.id()) {
            return;
        }
        let Some(channels) = direct_channels(view, |channel| channel.truth(channel::tdma_direct_mode) == Known::Is(true)) else { return };
        for (channel, carrier) in &channels {
            let sharing: Vec<Ref<'_, channel::Table>> =
                channels.iter().filter(|(_, other)| other == carrier).map(|(channel, _)| *channel).collect();
            let never = |channel: &Ref<'_, channel::Table>| {
                channel.text(channel::timing_leader).value().is_some_and(|word| view.symbol(word) == "never")
            };
            if !sharing.iter().all(never) {
                continue;
            }
            let place = |channel: Ref<'_, channel::Table>| Anchor::Value(channel.id(), FieldPath::key(channel::timing_leader.number()));
            let mut found = out.report(
                place(*channel),
                format!("no radio may lead the timing on {carrier} MHz: the two slots drift into each other. Let {} lead, or another channel there", view.called(channel.id())),
            );
            for other in sharing.iter().filter(|other| other.id() != channel.id()) {
                found = found.related(place(*other), format!("{} never leads either", view.called(other.id())));
            }
        }
    }
}
