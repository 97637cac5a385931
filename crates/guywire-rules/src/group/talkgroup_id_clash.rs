use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{network, talkgroup};
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Ref, Row, View};

rule! {
    /// Two talkgroups of different names that a plan sees have the same number.
    ///
    /// Where the plan has several networks, only within one of them: a number may mean another group in each. A
    /// talkgroup is in the networks whose repeaters carry it or that it is called through.
    ///
    /// ## On the air
    /// On the air they are one group: whoever is called by one name is heard under the other, and a receive group that
    /// leaves one out hears it all the same.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, annex A: the number is what is sent.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Pilots"
    /// id = 1201
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// call = "Berths"
    /// receive_group = "Quayside"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Pilots"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Pilots"
    /// id = 1202
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// call = "Berths"
    /// receive_group = "Quayside"
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Pilots"]
    /// ```
    pub TalkgroupIdClash = "talkgroup-id-clash" { family: Group, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<talkgroup::Table>, view, out) {
        let (Known::Is(number), Some(name)) = (it.whole(talkgroup::id), it.name()) else { return };
        let others: Vec<Ref<'_, talkgroup::Table>> = view
            .alike_of::<talkgroup::Table>(Bucket::TalkgroupId(view.viewer(), number))
            .into_iter()
            .filter(|other| other.name().is_some_and(|called| called != name) && meet(view, it.id(), other.id()))
            .collect();
        if others.is_empty() {
            return;
        }
        let place = |group: EntityId| Anchor::Value(group, FieldPath::key(talkgroup::id.number()));
        let mut found = out
            .report(
                place(it.id()),
                format!("talkgroup \"{name}\" has number {number}, as another does: on the air they are one group, and each hears the other's calls. Give each its own number"),
            )
            .about(&number);
        for other in others {
            found = found.related(place(other.id()), format!("{} has number {number}", view.called(other.id())));
        }
    }
}

/// Whether two talkgroups are met in one network, or in none.
fn meet(view: View<'_>, one: EntityId, other: EntityId) -> bool {
    if view.all::<network::Table>().len() < 2 {
        return true;
    }
    let (Known::Is(ours), Known::Is(theirs)) = (view.networks_of(one), view.networks_of(other)) else { return false };
    ours.iter().any(|network| theirs.contains(network)) || (ours.is_empty() && theirs.is_empty())
}
