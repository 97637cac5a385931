use super::lists::holders_of;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, zone};
use guywire_plan::{EntityId, FieldPath, Found, Ref, Row, Stored, Symbol, View};

rule! {
    /// A channel stands in two zones of one radio at different positions of the knob.
    ///
    /// Off unless settings turn it on: many plans have zones that are nothing alike. Looked at for each zone, against those
    /// that the same profile, or the same radio, holds.
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
    fn check(it: Each<zone::Table>, view, out) {
        let mut holders: Option<Vec<EntityId>> = None;
        for (name, position) in first_places(view, it) {
            let Found::One(channel) = view.find::<channel::Table>(it.id(), name) else { continue };
            let others: Vec<Place<'_>> = view
                .referrers::<zone::Table>(channel.id())
                .into_iter()
                .filter_map(|zone| Some(Place { zone, position: place_in(zone, name)? }))
                .filter(|place| place.zone.id() != it.id() && place.position != position)
                .filter(|place| {
                    let own = holders.get_or_insert_with(|| holders_of(view, it.id()));
                    holders_of(view, place.zone.id()).iter().any(|holder| own.contains(holder))
                })
                .collect();
            if others.is_empty() {
                continue;
            }
            let name = view.symbol(name);
            let mut words: Vec<String> = others.iter().map(Place::words).collect();
            words.sort();
            let mut found = out
                .report(
                    at(it.id(), position),
                    format!(
                        "channel \"{name}\" is at position {} here and at {}, which the same radios hold: whoever counts clicks is on another channel there. Give it one position in both",
                        position + 1,
                        words.join(" and "),
                    ),
                )
                .about(name)
                .about(&words);
            for other in others {
                found = found.related(at(other.zone.id(), other.position), format!("channel \"{name}\" stands here"));
            }
        }
    }
}

/// Where a channel stands first in another zone.
struct Place<'v> {
    zone: Ref<'v, zone::Table>,
    position: usize,
}

impl Place<'_> {
    fn words(&self) -> String {
        format!("position {} of zone \"{}\"", self.position + 1, self.zone.name().unwrap_or_default())
    }
}

fn at(zone: EntityId, position: usize) -> Anchor {
    Anchor::Value(zone, FieldPath::key(zone::channels.number()).then(position))
}

/// Each channel of a zone with its first position, by name.
fn first_places(view: View<'_>, zone: Ref<'_, zone::Table>) -> Vec<(Symbol, usize)> {
    let elements = zone.list(zone::channels).value().unwrap_or_default().iter().enumerate();
    let mut found: Vec<(Symbol, usize)> = elements
        .filter_map(|(position, element)| match element.value {
            Stored::Text(name) if !view.symbol(name).is_empty() => Some((name, position)),
            _ => None,
        })
        .collect();
    found.sort_unstable_by_key(|(name, position)| (view.symbol(*name), *position));
    found.dedup_by_key(|(name, _)| *name);
    found
}

/// The first position of a name in a zone.
fn place_in(zone: Ref<'_, zone::Table>, name: Symbol) -> Option<usize> {
    let elements = zone.list(zone::channels).value().unwrap_or_default();
    elements.iter().position(|element| element.value == Stored::Text(name))
}
