//! What a channel comes to on the air, and what a repeater does with it.

use guywire_plan::audience::Hearing;
use guywire_plan::language::{channel, contact, repeater, site, talkgroup, zone};
use guywire_plan::{Channel, Known, Ref, Row, Sends, Target};
use guywire_radio::Caution;
use guywire_radio::convention::RadioKind;

use super::super::figures::{counted, listed, shift};
use super::super::page::Page;
use super::carrier::{pair, place};
use super::fleet::positions_of;
use super::path::say_horizon;
use super::power::{erp_and_eirp, radiated, say_exposure};
use super::{Ask, usual_emission};

/// Names of a list that are shown.
const NAMED: usize = 6;

/// What a channel receives and sends on.
pub(super) fn frequencies(channel: &Channel) -> Option<String> {
    match (channel.rx, channel.tx) {
        (Known::Is(rx), Known::Is(tx)) if rx == tx => Some(format!("simplex on {rx} MHz")),
        (Known::Is(rx), Known::Is(tx)) => Some(format!("receives {rx} MHz, sends {tx} MHz (split {})", shift(tx - rx))),
        (Known::Is(rx), Known::Absent) => Some(format!("receives {rx} MHz, sends nothing")),
        _ => None,
    }
}

pub(super) fn say_channel(ask: &Ask<'_>, hearing: &Hearing<'_>, page: &mut Page) {
    let Some(row) = ask.row::<channel::Table>() else { return };
    let Some(effective) = ask.view.channel(row.id()) else { return };
    page.maybe(frequencies(effective));
    page.maybe(signaling(effective));
    if effective.sends == Known::Is(Sends::Analog) {
        page.maybe(tones(ask, row));
    }
    page.maybe(target(ask, row));
    if let (Some(service), Some(carrier)) = (ask.service(), effective.tx.or(effective.rx).value()) {
        page.fact(place(service, carrier));
    }
    say_licensed(ask, effective, page);
    say_holders(ask, row, page);
    super::audience::say_of_channel(ask, hearing, row, page);
}

/// Mode, emission, color code, slot.
fn signaling(channel: &Channel) -> Option<String> {
    let digital = match channel.sends {
        Known::Is(Sends::Nothing) | Known::Absent | Known::Unreadable => return None,
        Known::Is(sends) => sends == Sends::Digital,
    };
    let width = channel.bandwidth.value().unwrap_or(guywire_radio::air_interface::CHANNEL_WIDTH);
    let mut facts = vec![if digital { "digital".to_owned() } else { "analog".to_owned() }];
    facts.extend(usual_emission(digital, width).map(|it| it.to_string()));
    if digital {
        facts.extend(channel.color_code.value().map(|code| format!("color code {code}")));
        facts.extend(channel.slot.value().map(|slot| format!("slot {slot}")));
        facts.extend((channel.tdma_direct == Known::Is(true)).then(|| "TDMA direct mode".to_owned()));
    }
    Some(facts.join(", "))
}

fn tones(ask: &Ask<'_>, row: Ref<'_, channel::Table>) -> Option<String> {
    let sent = match ask.view.sent_tone(row) {
        Known::Is(tone) => format!("sends {tone}"),
        Known::Absent => "sends no tone".to_owned(),
        Known::Unreadable => return None,
    };
    match ask.view.waited_tone(row) {
        Known::Is(tone) => Some(format!("{sent}, opens to {tone}")),
        Known::Absent => Some(format!("{sent}, opens to any carrier")),
        Known::Unreadable => Some(sent),
    }
}

fn target(ask: &Ask<'_>, row: Ref<'_, channel::Table>) -> Option<String> {
    let Known::Is(target) = ask.view.target(row) else { return None };
    let (what, name, id) = match target {
        Target::Talkgroup(it) => ("talkgroup", it.name(), it.whole(talkgroup::id).value()),
        Target::Contact(it) => ("contact", it.name(), it.whole(contact::id).value()),
    };
    let id = id.map(|id| format!(" ({id})")).unwrap_or_default();
    Some(format!("push-to-talk calls {what} {}{id}", name.unwrap_or_default()))
}

/// Whether a license of the plan assigns what the channel sends on.
fn say_licensed(ask: &Ask<'_>, channel: &Channel, page: &mut Page) {
    let Known::Is(tx) = channel.tx else { return };
    let classes = ask.view.assigned(tx);
    if !classes.is_empty() {
        let mut words: Vec<String> = classes.iter().flatten().map(|class| (*class).to_owned()).collect();
        words.sort_unstable();
        words.dedup();
        let to = if words.is_empty() { "any station".to_owned() } else { listed(&words, NAMED) };
        page.fact(format!("a license of this plan assigns {tx} MHz to {to}"));
        page.caution(Caution::License);
    }
}

/// Who has the channel, and where on the knob.
fn say_holders(ask: &Ask<'_>, row: Ref<'_, channel::Table>, page: &mut Page) {
    if let Known::Is(name) = ask.view.name_symbol(row.id()) {
        let zones = ask.sorted(ask.view.referrers::<zone::Table>(row.id()));
        let at: Vec<String> = zones.into_iter().flat_map(|zone| positions_of(ask, zone, name)).collect();
        page.fact(match at.as_slice() {
            [] => "on no position of the knob".to_owned(),
            _ => format!("knob: {}", listed(&at, NAMED)),
        });
    }
    let models: Vec<String> =
        ask.view.channel_models(row.id()).iter().filter_map(|model| model.name().map(str::to_owned)).collect();
    let on = if models.is_empty() { String::new() } else { format!(" ({})", listed(&models, NAMED)) };
    page.fact(match ask.view.radios_holding(row.id()) {
        0 => format!("in the zones of no listed radio{on}"),
        many => format!("in the zones of {}{on}", counted(many, "radio")),
    });
}

pub(super) fn say_repeater(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<repeater::Table>() else { return };
    let (output, input) = (row.frequency(repeater::tx_mhz).value(), row.frequency(repeater::rx_mhz).value());
    if let (Some(tx), Some(rx)) = (output, input) {
        page.fact(format!("sends {tx} MHz, receives {rx} MHz (split {})", shift(rx - tx)));
        page.maybe(ask.service().and_then(|service| pair(service, tx, rx, RadioKind::Repeater)));
    }
    if let Some((eirp, whole)) = radiated(row) {
        page.fact(erp_and_eirp(eirp, if whole { "" } else { ", feedline loss not counted" }));
        if let Some(tx) = output {
            say_exposure(eirp, tx, page);
        }
    }
    if let Known::Is(site) = ask.view.named::<site::Table, _>(row, repeater::site) {
        page.fact(format!("at {}", site.name().unwrap_or_default()));
        if let Known::Is(height) = site.number(site::antenna_m) {
            say_horizon(height, page);
        }
    }
    let channels = ask.names(ask.view.referrers::<channel::Table>(row.id()));
    page.fact(match channels.as_slice() {
        [] => "no channel uses it".to_owned(),
        _ => format!("{}: {}", counted(channels.len(), "channel"), listed(&channels, NAMED)),
    });
}
