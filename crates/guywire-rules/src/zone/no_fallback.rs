use super::lists::{holders_of, zones_of};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, controls, controls__button, profile, radio, zone};
use guywire_plan::{Element, EntityId, FieldPath, Found, Known, Ref, Row, Sends, Stored, View};

/// Zones of one radio that are looked through for a channel without a repeater.
const MOST_ZONES: usize = 32;

rule! {
    /// Every channel of a zone that sends does so through a repeater: none is talk-around or simplex.
    ///
    /// Looked at for each zone. Left alone where its radios hold another zone with such a channel (up to 32 zones are looked
    /// through), where a button of theirs is set to talk-around, and where a frequency of the zone cannot be read.
    ///
    /// ## On the air
    /// When the repeater fails, radios that stand next to each other cannot talk either.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// mode = "analog"
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "analog"
    /// repeater = "beacon"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Quay"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// mode = "analog"
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "analog"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Quay"]
    /// ```
    pub NoFallback = "no-fallback" { family: Zone, level: Information, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<zone::Table>, view, out) {
        let Known::Is(elements) = it.list(zone::channels) else { return };
        let Some(repeaters) = repeaters_of(view, it.id(), elements) else { return };
        if repeaters.is_empty() || has_talk_around_button(view, it) || another_zone_helps(view, it.id()) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(zone::name.number())),
            format!(
                "every channel of {} that sends goes through {}: when that fails, radios next to each other cannot talk either. Add a talk-around or simplex channel to the zone",
                view.called(it.id()),
                named(view, repeaters).join(" or "),
            ),
        );
    }
}

/// Repeaters in words, each once, sorted.
fn named(view: View<'_>, repeaters: Vec<Option<EntityId>>) -> Vec<String> {
    let called = |it: Option<EntityId>| it.map_or_else(|| "a repeater".to_owned(), |repeater| view.called(repeater));
    let mut names: Vec<String> = repeaters.into_iter().map(called).collect();
    names.sort();
    names.dedup();
    names
}

/// What the sending channels of a zone go through: none for a repeater that is not named. None where one of them needs no
/// repeater, or where that cannot be said.
fn repeaters_of(view: View<'_>, zone: EntityId, elements: &[Element]) -> Option<Vec<Option<EntityId>>> {
    let mut found = Vec::new();
    for element in elements {
        let Stored::Text(name) = element.value else { return None };
        if view.symbol(name).is_empty() {
            continue;
        }
        let Found::One(channel) = view.find::<channel::Table>(zone, name) else { return None };
        let effective = view.channel(channel.id())?;
        if effective.sends.value()? == Sends::Nothing {
            continue;
        }
        if effective.rx.value()? == effective.tx.value()? {
            return None;
        }
        found.push(effective.repeater);
    }
    Some(found)
}

/// Whether everybody who holds the zone holds another one with a channel that needs no repeater. A zone that nobody holds
/// leaves nobody without.
fn another_zone_helps(view: View<'_>, zone: EntityId) -> bool {
    holders_of(view, zone).iter().all(|holder| helps(view, zone, &zones_of(view, *holder)))
}

fn helps(view: View<'_>, but: EntityId, zones: &[EntityId]) -> bool {
    zones.iter().filter(|zone| **zone != but).take(MOST_ZONES).any(|zone| {
        let Some(it) = view.get::<zone::Table>(*zone) else { return false };
        match it.list(zone::channels) {
            Known::Is(elements) => repeaters_of(view, *zone, elements).is_none(),
            _ => true,
        }
    })
}

/// Whether some radio that holds the zone can go direct at the press of a button.
fn has_talk_around_button(view: View<'_>, it: Ref<'_, zone::Table>) -> bool {
    let profiles = view.referrers::<profile::Table>(it.id());
    let radios = view.referrers::<radio::Table>(it.id());
    let of_profile = |profile: &Ref<'_, profile::Table>| goes_direct(view, &profile.parts(profile::button));
    let of_radio = |radio: &Ref<'_, radio::Table>| goes_direct(view, &radio.parts(radio::button));
    view.all::<controls::Table>().iter().any(|of_all| goes_direct(view, &of_all.parts(controls::button)))
        || profiles.iter().any(of_profile)
        || radios.iter().any(of_radio)
}

fn goes_direct(view: View<'_>, buttons: &[guywire_plan::Part<'_, controls__button::Table>]) -> bool {
    buttons.iter().any(|button| match button.text(controls__button::action) {
        Known::Is(action) => view.symbol(action) == "talk-around",
        Known::Unreadable => true,
        Known::Absent => false,
    })
}
