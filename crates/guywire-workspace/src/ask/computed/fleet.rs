//! What is computed of zones, scan lists, emergencies and radios.

use guywire_plan::language::{channel, emergency, profile, radio, radio__stands_by, scan_list, station, zone};
use guywire_plan::{Known, Ref, Row, Stored, Symbol};
use guywire_radio::Caution;

use super::super::figures::{counted, listed};
use super::super::page::Page;
use super::Ask;
use super::station::frequencies;

/// Names of a list that are shown.
const NAMED: usize = 6;
/// Positions of the knob that are shown.
const POSITIONS: usize = 16;

/// The names in a list of names.
fn written<'v>(ask: &Ask<'v>, list: Known<&'v [guywire_plan::Element]>) -> Vec<&'v str> {
    let name = |element: &'v guywire_plan::Element| match element.value {
        Stored::Text(name) => ask.view.symbol(name),
        _ => "?",
    };
    list.value().unwrap_or_default().iter().map(name).collect()
}

/// The radios whose zones hold this one: those of its profiles that have no zones of their own, and those that name it.
fn radios_of<'v>(ask: &Ask<'v>, zone: Ref<'v, zone::Table>) -> Vec<Ref<'v, radio::Table>> {
    let mut radios = ask.view.referrers::<radio::Table>(zone.id());
    radios.retain(|radio| radio.has(radio::zones));
    for profile in ask.view.referrers::<profile::Table>(zone.id()) {
        let by_profile = ask.view.referrers::<radio::Table>(profile.id());
        radios.extend(by_profile.into_iter().filter(|radio| !radio.has(radio::zones)));
    }
    ask.sorted(radios)
}

pub(super) fn say_zone(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<zone::Table>() else { return };
    let whole = ask.view.whole(row.id());
    let list = whole.and_then(|record| record.slot(zone::channels.number()));
    let names = list.map(|slot| names_in(ask, &slot.value)).unwrap_or_default();
    let positions: Vec<String> = names
        .iter()
        .enumerate()
        .map(|(at, name)| format!("{} {}", at + 1, if name.is_empty() { "(empty)" } else { name }))
        .collect();
    page.fact(match positions.as_slice() {
        [] => "no position of the knob".to_owned(),
        _ => format!("knob: {}", listed(&positions, POSITIONS)),
    });
    let radios = radios_of(ask, row);
    let profiles = ask.names(ask.view.referrers::<profile::Table>(row.id()));
    let of = if profiles.is_empty() { String::new() } else { format!(", profile {}", listed(&profiles, NAMED)) };
    page.fact(format!("on {}{of}", counted(radios.len(), "radio")));
}

fn names_in<'v>(ask: &Ask<'v>, value: &'v Stored) -> Vec<&'v str> {
    match value {
        Stored::List(elements) => written(ask, Known::Is(elements)),
        _ => Vec::new(),
    }
}

/// The number in a list that a path ends in.
pub(in crate::ask) fn number_in_list(ask: &Ask<'_>) -> Option<usize> {
    match ask.path.steps() {
        [_, number] => Some(*number as usize),
        _ => None,
    }
}

pub(super) fn say_position(ask: &Ask<'_>, page: &mut Page) {
    let (Some(row), Some(at)) = (ask.row::<zone::Table>(), number_in_list(ask)) else { return };
    let empty = if ask.text() == Some("") { ", left empty" } else { "" };
    page.fact(format!("position {} of zone {}{empty}", at + 1, row.name().unwrap_or_default()));
    let Some(Stored::Text(name)) = ask.value else { return };
    let elsewhere: Vec<String> = ask
        .sorted(ask.view.all::<zone::Table>())
        .into_iter()
        .filter(|other| other.id() != row.id())
        .flat_map(|other| positions_of(ask, other, *name))
        .collect();
    if !elsewhere.is_empty() && ask.text() != Some("") {
        page.fact(format!("also at {}", listed(&elsewhere, NAMED)));
    }
}

/// Where a channel of this name is in a zone.
pub(super) fn positions_of(ask: &Ask<'_>, zone: Ref<'_, zone::Table>, channel: Symbol) -> Vec<String> {
    let called = zone.name().unwrap_or_default().to_owned();
    let elements = ask.view.whole(zone.id()).and_then(|record| record.slot(zone::channels.number()));
    let Some(Stored::List(elements)) = elements.map(|slot| &slot.value) else { return Vec::new() };
    elements
        .iter()
        .enumerate()
        .filter(|(_, element)| element.value == Stored::Text(channel))
        .map(|(at, _)| format!("{called} {}", at + 1))
        .collect()
}

pub(super) fn say_scan_list(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<scan_list::Table>() else { return };
    let slot = ask.view.whole(row.id()).and_then(|record| record.slot(scan_list::channels.number()));
    let members: Vec<String> =
        slot.map(|slot| names_in(ask, &slot.value)).unwrap_or_default().into_iter().map(str::to_owned).collect();
    page.fact(format!("{}: {}", counted(members.len(), "member"), listed(&members, POSITIONS)));
    let word = |field| row.text(field).value().map(|name| ask.view.symbol(name));
    for (words, field) in [("looked at most often", scan_list::priority_1), ("next", scan_list::priority_2)] {
        if let Some(name) = word(field) {
            page.fact(format!("{words}: {name}"));
        }
    }
    if let Some(reply) = word(scan_list::reply) {
        page.fact(format!("push-to-talk answers on {reply}"));
    }
    let channels = ask.names(ask.view.referrers::<channel::Table>(row.id()));
    page.fact(match channels.as_slice() {
        [] => "no channel scans with it".to_owned(),
        _ => format!("scanned from {}", listed(&channels, NAMED)),
    });
}

pub(super) fn say_emergency(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<emergency::Table>() else { return };
    let word = |field| row.text(field).value().map(|name| ask.view.symbol(name));
    let sent = match word(emergency::sends) {
        Some("alarm") => "an alarm as data",
        Some("alarm-and-call") => "an alarm as data, then a call at the press",
        Some("alarm-then-voice") => "an alarm as data, then speech by itself",
        _ => "what goes out is not known",
    };
    let target = word(emergency::target).map(|name| format!(", to {name}")).unwrap_or_default();
    page.fact(format!("{sent}{target}"));
    match ask.view.named::<channel::Table, _>(row, emergency::revert) {
        Known::Is(revert) => {
            let on =
                ask.view.channel(revert.id()).and_then(frequencies).map(|it| format!(": {it}")).unwrap_or_default();
            page.fact(format!("goes out on channel {}{on}", revert.name().unwrap_or_default()));
        }
        _ => page.fact("goes out on the channel that the knob is on"),
    }
    let stations = ask.view.named_all::<station::Table, _>(row, emergency::acknowledged_by).value().unwrap_or_default();
    let stations = ask.names(stations);
    page.fact(match stations.as_slice() {
        [] => "no station is named that acknowledges it".to_owned(),
        _ => format!("acknowledged by {}", listed(&stations, NAMED)),
    });
    let channels = ask.names(ask.view.referrers::<channel::Table>(row.id()));
    page.fact(format!("set on {}", counted(channels.len(), "channel")));
    page.caution(Caution::Emergency);
}

pub(super) fn say_profile(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<profile::Table>() else { return };
    let radios = ask.view.referrers::<radio::Table>(row.id());
    page.fact(counted(radios.len(), "radio"));
    let zones = ask.view.named_all::<zone::Table, _>(row, profile::zones).value().unwrap_or_default();
    page.maybe(zones_in_words(ask, &zones));
    let models: Vec<String> =
        ask.view.profile_models(row.id()).iter().filter_map(|it| it.name().map(str::to_owned)).collect();
    if !models.is_empty() {
        page.fact(format!("on {}", listed(&models, NAMED)));
    }
}

/// Zones in their order, with how many channels each has.
fn zones_in_words(ask: &Ask<'_>, zones: &[Ref<'_, zone::Table>]) -> Option<String> {
    let words = zones.iter().map(|it| {
        let channels = written(ask, it.list(zone::channels)).into_iter().filter(|name| !name.is_empty()).count();
        format!("{} ({channels})", it.name().unwrap_or_default())
    });
    let words: Vec<String> = words.collect();
    (!words.is_empty()).then(|| format!("zones with their channels: {}", listed(&words, NAMED)))
}

pub(super) fn say_radio(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<radio::Table>() else { return };
    let view = ask.view;
    if let Known::Is(ids) = view.written_ids(row) {
        let ids: Vec<String> = ids.iter().map(|id| format!("{id} = {id:06X} hexadecimal")).collect();
        if !ids.is_empty() {
            page.fact(format!("id {}", listed(&ids, NAMED)));
        }
    }
    if let Some(model) = view.radio_model(row).and_then(|model| model.name()) {
        page.fact(format!("model {model}"));
    }
    let of_profile = view.named::<profile::Table, _>(row, radio::profile).value();
    let zones = match view.named_all::<zone::Table, _>(row, radio::zones) {
        Known::Absent => of_profile.map_or(Known::Absent, |it| view.named_all::<zone::Table, _>(it, profile::zones)),
        own => own,
    };
    let zones = zones.value().unwrap_or_default();
    page.maybe(zones_in_words(ask, &zones));
    let place = row.part::<radio__stands_by::Table>(radio::stands_by).value();
    let word = |field| place.and_then(|place| place.text(field).value()).map(|name| view.symbol(name));
    let first = zones.first().and_then(|zone| Some((zone.name()?, *written(ask, zone.list(zone::channels)).first()?)));
    match (word(radio__stands_by::zone), word(radio__stands_by::channel), first) {
        (Some(zone), Some(channel), _) => page.fact(format!("stands by on {channel} in {zone}")),
        (None, Some(channel), _) => page.fact(format!("stands by on {channel}")),
        (Some(zone), None, _) => page.fact(format!("stands by on the first position of {zone}")),
        (None, None, Some((zone, channel))) => {
            page.fact(format!("stands by on {channel}, the first position of {zone}"));
        }
        _ => {}
    }
    if view.is_in_use(row) == Known::Is(false) {
        page.fact("not in use: it neither sends nor hears as part of the fleet");
    }
}
