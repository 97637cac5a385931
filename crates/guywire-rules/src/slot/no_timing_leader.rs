use super::direct_carrier;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::channel;
use guywire_plan::{Bucket, FieldPath, Known, Ref, Row};

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
    fn check(it: Each<channel::Table>, view, out) {
        if it.truth(channel::tdma_direct_mode) != Known::Is(true) {
            return;
        }
        let Some(carrier) = direct_carrier(view, it) else { return };
        let never = |channel: &Ref<'_, channel::Table>| {
            channel.text(channel::timing_leader).value().is_some_and(|word| view.symbol(word) == "never")
        };
        // Another channel, now unreadable, might lead.
        if !never(&it) || view.may_hide::<channel::Table>() {
            return;
        }
        let sharing = view.alike_of::<channel::Table>(Bucket::TdmaDirect(view.viewer(), carrier));
        if !sharing.iter().all(never) {
            return;
        }
        let place = |channel: Ref<'_, channel::Table>| Anchor::Value(channel.id(), FieldPath::key(channel::timing_leader.number()));
        let mut found = out.report(
            place(it),
            format!("no radio may lead the timing on {carrier} MHz: the two slots drift into each other. Let {} lead, or another channel there", view.called(it.id())),
        );
        for other in sharing.iter().filter(|other| other.id() != it.id()) {
            found = found.related(place(*other), format!("{} never leads either", view.called(other.id())));
        }
    }
}
