use std::collections::{BTreeMap, BTreeSet};

use super::lists::{List, list_of};
use super::zones_over_capacity::holder;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::zone;
use guywire_plan::{EntityId, FieldPath, Found, Known, Row, Stored, View};

rule! {
    /// A channel stands in two zones of one radio at different positions of the knob.
    ///
    /// Off unless settings turn it on: many plans have zones that are nothing alike. Looked at for each profile, and each
    /// radio with zones of its own.
    ///
    /// ## On the air
    /// Whoever counts clicks without looking is on another channel than meant once somebody has turned the zone.
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
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Rescue"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Rescue"]
    ///
    /// [[profile]]
    /// name = "shore"
    /// zones = ["Harbor", "Water"]
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "shore"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Rescue"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["", "Rescue"]
    ///
    /// [[profile]]
    /// name = "shore"
    /// zones = ["Harbor", "Water"]
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "shore"
    /// ```
    ///
    /// ## Beside
    /// ```toml guywire.toml
    /// [rules]
    /// position-means-different-things = "warning"
    /// ```
    pub PositionMeansDifferentThings = "position-means-different-things" {
        family: Zone, level: Off, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let Some((field, _)) = holder(view, it) else { return };
        let Some(list) = list_of(view, it) else { return };
        for (channel, places) in places(view, &list) {
            let apart: BTreeSet<usize> = places.iter().map(|place| place.position).collect();
            if apart.len() < 2 {
                continue;
            }
            let words: Vec<String> =
                places.iter().map(|place| format!("position {} of zone \"{}\"", place.position + 1, place.zone)).collect();
            let message = format!(
                "channel \"{channel}\" is at {}: whoever counts clicks is on another channel in the other zone. Give it one position in all zones of these radios",
                words.join(" and "),
            );
            let mut found = out.report(Anchor::Value(it, FieldPath::key(field)), message).about(channel);
            for place in places {
                found = found.related(place.at(), format!("channel \"{channel}\" stands here"));
            }
        }
    }
}

/// Where a channel stands first in a zone.
struct Place<'v> {
    zone: &'v str,
    id: EntityId,
    position: usize,
}

impl Place<'_> {
    fn at(&self) -> Anchor {
        Anchor::Value(self.id, FieldPath::key(zone::channels.number()).then(self.position))
    }
}

/// The first place of each channel in each zone of a list, zones in the order of the list.
fn places<'v>(view: View<'v>, list: &List<'v>) -> BTreeMap<&'v str, Vec<Place<'v>>> {
    let mut found: BTreeMap<&str, Vec<Place<'_>>> = BTreeMap::new();
    for (name, _) in &list.names {
        let Found::One(zone) = view.find::<zone::Table>(list.holder, *name) else { continue };
        let Known::Is(elements) = zone.list(zone::channels) else { continue };
        for (position, element) in elements.iter().enumerate() {
            let Stored::Text(channel) = element.value else { continue };
            let places = found.entry(view.symbol(channel)).or_default();
            if !places.iter().any(|place| place.id == zone.id()) {
                places.push(Place { zone: view.symbol(*name), id: zone.id(), position });
            }
        }
    }
    found.remove("");
    found
}
