use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{network, repeater};
use guywire_plan::{EntityId, FieldPath, Known, Ref, View};

rule! {
    /// One talkgroup is carried on slot 1 and on slot 2 of the same repeater, or of repeaters of the same network.
    ///
    /// ## On the air
    /// Whoever calls on one slot is not heard by those who listen on the other: the talkgroup is two groups with one name,
    /// and it can take both slots at once.
    ///
    /// ## Source
    /// Common practice, no source.
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
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// slot_1 = ["Berths"]
    /// slot_2 = ["Cranes", "Berths"]
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
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// slot_1 = ["Berths"]
    /// slot_2 = ["Cranes"]
    /// ```
    pub TalkgroupOnBothSlots = "talkgroup-on-both-slots" {
        family: Slot, level: Warning, judged: PerPlan, reads: Audience, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        if let Some(repeater) = view.get::<repeater::Table>(it) {
            within(view, repeater, out);
        }
        if let Some(network) = view.get::<network::Table>(it) {
            across(view, network, out);
        }
    }
}

/// A talkgroup on a slot, and where that is written.
struct Place {
    group: EntityId,
    slot: i64,
    at: Anchor,
    said: String,
}

fn places(view: View<'_>, repeater: Ref<'_, repeater::Table>) -> Vec<Place> {
    let mut found = Vec::new();
    for slot in [1, 2] {
        let Known::Is(carried) = view.carried(repeater, slot) else { continue };
        found.extend(carried.listed.iter().map(|(group, path)| Place {
            group: *group,
            slot,
            at: Anchor::Value(repeater.id(), *path),
            said: format!("slot {slot} of repeater \"{}\"", repeater.name().unwrap_or_default()),
        }));
    }
    found
}

/// Those of the second slot whose talkgroup is on the first too.
fn doubled(places: &[Place]) -> Vec<(&Place, &Place)> {
    let (first, second): (Vec<&Place>, Vec<&Place>) = places.iter().partition(|place| place.slot == 1);
    let twin = |place: &&Place| first.iter().find(|other| other.group == place.group).copied();
    second.iter().filter_map(|place| Some((twin(place)?, *place))).collect()
}

fn within(view: View<'_>, repeater: Ref<'_, repeater::Table>, out: &mut Sink<'_>) {
    let places = places(view, repeater);
    for (first, second) in doubled(&places) {
        let name = view.name_of(first.group).unwrap_or_default();
        out.report(
            second.at,
            format!(
                "{} carries \"{name}\" on both slots: whoever calls on one is not heard on the other, and the talkgroup can take both at once. Keep it on one slot",
                view.called(repeater.id()),
            ),
        )
        .about(name)
        .related(first.at, format!("\"{name}\" stands on slot 1 too"));
    }
}

/// Repeaters that have the talkgroup on both slots speak for themselves.
fn across(view: View<'_>, network: Ref<'_, network::Table>, out: &mut Sink<'_>) {
    let (Known::Is(members), Known::Is(wide)) =
        (view.named_all::<repeater::Table, _>(network, network::repeaters), view.wide(network))
    else {
        return;
    };
    let mut all: Vec<Place> = Vec::new();
    let mut told: Vec<EntityId> = Vec::new();
    for repeater in members {
        let places = places(view, repeater);
        told.extend(doubled(&places).iter().map(|(first, _)| first.group));
        all.extend(places);
    }
    all.extend(wide.into_iter().filter_map(|(group, slot, path)| {
        Some(Place { group, slot: slot?, at: Anchor::Value(network.id(), path), said: "the whole network".to_owned() })
    }));
    for (first, _) in doubled(&all) {
        if told.contains(&first.group) {
            continue;
        }
        told.push(first.group);
        let name = view.name_of(first.group).unwrap_or_default();
        let mut found = out
            .report(
                Anchor::Value(network.id(), FieldPath::key(network::repeaters.number())),
                format!(
                    "{} carries \"{name}\" on slot 1 in one place and on slot 2 in another: whoever calls on one is not heard on the other. Keep it on the same slot everywhere",
                    view.called(network.id()),
                ),
            )
            .about(name);
        for place in all.iter().filter(|place| place.group == first.group) {
            found = found.related(place.at, format!("\"{name}\" on {}", place.said));
        }
    }
}
