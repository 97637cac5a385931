use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{network, repeater};
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Ref, Row, View};

rule! {
    /// Two repeaters that a plan sees have the same address on the air.
    ///
    /// ## On the air
    /// A unit that calls or watches one of them by its address gets either, and records show one for the other.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, annex A: an address identifies one station.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// id = 21901
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// id = 21901
    /// tx_mhz = 453.4625
    /// rx_mhz = 458.4625
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// id = 21901
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// id = 21902
    /// tx_mhz = 453.4625
    /// rx_mhz = 458.4625
    /// ```
    pub RepeaterIdClash = "repeater-id-clash" { family: Identity, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<repeater::Table>, view, out) {
        let Known::Is(number) = it.whole(repeater::id) else { return };
        let others: Vec<Ref<'_, repeater::Table>> = view
            .alike_of::<repeater::Table>(Bucket::Number(view.viewer(), number))
            .into_iter()
            .filter(|other| other.name() != it.name() && meet(view, it.id(), other.id()))
            .collect();
        if others.is_empty() {
            return;
        }
        let place = |repeater: EntityId| Anchor::Value(repeater, FieldPath::key(repeater::id.number()));
        let mut found = out
            .report(
                place(it.id()),
                format!("{} has address {number}, as another repeater does: what is meant for one reaches either. Give each its own", view.called(it.id())),
            )
            .about(&number);
        for other in others {
            found = found.related(place(other.id()), format!("{} has address {number}", view.called(other.id())));
        }
    }
}

/// Whether two repeaters are of one network, or of none.
fn meet(view: View<'_>, one: EntityId, other: EntityId) -> bool {
    if view.all::<network::Table>().len() < 2 {
        return true;
    }
    let networks = |id| -> Vec<EntityId> { view.referrers::<network::Table>(id).iter().map(Ref::id).collect() };
    let (ours, theirs) = (networks(one), networks(other));
    ours.iter().any(|network| theirs.contains(network)) || (ours.is_empty() && theirs.is_empty())
}
