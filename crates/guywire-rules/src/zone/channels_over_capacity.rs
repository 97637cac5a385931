use super::lists::{called, capacity, list_of};
use super::zones_over_capacity::{defined, holder};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Kind, capacity as keys, zone};
use guywire_plan::{Element, EntityId, FieldPath, Found, Ref, Row, Stored, Symbol, View};

rule! {
    /// The zones of a class of radios, or of one radio, hold more different channels than its model has room for.
    ///
    /// A channel that stands in several zones counts once. In a plan without profiles and radios, the channels of all zones
    /// are counted against the plan's model.
    ///
    /// ## On the air
    /// The radio refuses the plan when it is loaded, or the last channels are not in it.
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
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Cranes"]
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
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Cranes"]
    ///
    /// [[profile]]
    /// name = "shore"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "shore"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// channels = 1
    /// ```
    pub ChannelsOverCapacity = "channels-over-capacity" { family: Zone, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let Some((field, what)) = holder(view, it) else { return };
        let Some(list) = list_of(view, it) else { return };
        let rooms: Vec<_> = list
            .models
            .iter()
            .filter_map(|model| {
                let capacity = capacity(view, *model)?;
                Some((*model, capacity, usize::try_from(capacity.whole(keys::channels).value()?).ok()?))
            })
            .collect();
        let Some(least) = rooms.iter().map(|(.., most)| *most).min() else { return };
        let count = channels(view, it, list.names.iter().map(|(name, _)| *name), least);
        for (model, capacity, most) in rooms.into_iter().filter(|(.., most)| count > *most) {
            let name = called(model);
            out.report(
                Anchor::Value(it, FieldPath::key(field)),
                format!("{what} {count} different channels in zones, and {name} has room for {most}: the radio refuses the plan, or the last channels are not in it. Take channels or zones out"),
            )
            .about(name)
            .related(
                Anchor::Value(capacity.id(), FieldPath::key(keys::channels.number())),
                format!("room for channels on {name}: {most}"),
            );
        }
    }
}

/// How many different channels stand in these zones; where that cannot be more than `least`, only a number that is not
/// more either.
fn channels(view: View<'_>, from: EntityId, zones: impl Iterator<Item = Symbol>, least: usize) -> usize {
    let found: Vec<Ref<'_, zone::Table>> = zones
        .filter_map(|name| match view.find::<zone::Table>(from, name) {
            Found::One(zone) => Some(zone),
            _ => None,
        })
        .collect();
    let positions = |zone: &Ref<'_, zone::Table>| zone.list(zone::channels).value().map_or(0, <[Element]>::len);
    if found.iter().map(positions).sum::<usize>() <= least {
        return 0;
    }
    let mut names: Vec<Symbol> = Vec::new();
    for zone in &found {
        let elements = zone.list(zone::channels).value().unwrap_or_default();
        names.extend(elements.iter().filter_map(|element| match element.value {
            Stored::Text(name) if !view.symbol(name).is_empty() => Some(name),
            _ => None,
        }));
    }
    defined(view, from, Kind::Channel, names.into_iter())
}
