//! Names in scope, with what each is.

use guywire_plan::language::{
    CHANNEL, Kind, RADIO_STANDS_BY, SCAN_LIST, channel, contact, emergency, key, network, profile, receive_group,
    repeater, scan_list, site, station, talkgroup, zone,
};
use guywire_plan::{EntityId, Known, Ref, Row, Sends, Stored};
use rustc_hash::FxHashSet;

use super::context::{Asked, Want};
use super::cursor::Place;
use super::item::{Content, Draft, MOST, letters};
use super::{fit, keys, known, many};
use crate::answer::CompletionKind;

/// Names that belong to what is beside the cursor come first.
const NEAR: u8 = 0;
const FAR: u8 = 1;
/// Members of a list that are told one by one.
const TOLD: usize = 8;

/// The names of tables of these kinds that a name here may mean, in alphabetical order, those that belong here first.
pub(crate) fn drafts(asked: &Asked<'_>, want: Want, kinds: &'static [Kind], words: &[&str]) -> Vec<Draft> {
    let typed = typed(asked);
    let near = near(asked, want);
    let own = asked.id.filter(|id| kinds.contains(&asked.view.kind(*id))).and_then(|id| asked.view.name_of(id));
    let mut drafts: Vec<Draft> = words.iter().map(|word| of_word(word)).collect();
    // What the list around the cursor holds is left out later; one more tells that there are more.
    let most = MOST + asked.cursor.elements.len() + 1;
    let mut found: Vec<(&str, EntityId)> = match names_there_are(asked, kinds) <= most {
        true => all(asked, kinds),
        false => many::few(asked, kinds, &near, &typed, most + 1),
    };
    found.retain(|(name, _)| Some(*name) != own);
    found.sort_by_cached_key(|(name, _)| (name.to_lowercase(), *name));
    drafts.extend(found.into_iter().map(|(name, id)| {
        let rank = if near.contains(name) { NEAR } else { FAR };
        // What it is is told once it is known to be shown.
        let mut draft = Draft::new(CompletionKind::Name, name, Content::Text(name.to_owned())).rank(rank);
        draft.table = Some(id);
        draft
    }));
    drafts
}

/// What is typed of the value.
fn typed(asked: &Asked<'_>) -> Vec<char> {
    match &asked.cursor.place {
        Place::Value(token) => letters(fit::typed(asked, token)),
        _ => Vec::new(),
    }
}

fn names_there_are(asked: &Asked<'_>, kinds: &[Kind]) -> usize {
    let files = || asked.view.names_seen_from(asked.file);
    kinds.iter().map(|kind| files().map(|file| asked.view.count_in(file, *kind)).sum::<usize>()).sum()
}

/// The names of all tables of these kinds, each once a kind.
fn all<'w>(asked: &Asked<'w>, kinds: &[Kind]) -> Vec<(&'w str, EntityId)> {
    let mut found: Vec<(&str, EntityId)> = Vec::new();
    for kind in kinds {
        let mut seen: FxHashSet<&str> = FxHashSet::default();
        let named = asked.view.nameable(asked.file, *kind).into_iter();
        found.extend(named.filter_map(|id| Some((asked.view.name_of(id)?, id))).filter(|(name, _)| seen.insert(name)));
    }
    found
}

fn of_word(word: &str) -> Draft {
    let (label, detail) = match word {
        "" => ("\"\"", "leaves a position of the knob empty"),
        "selected" => ("selected", "the channel that the knob is on"),
        "last-heard" => ("last-heard", "the channel last heard"),
        word => (word, "a word of its own"),
    };
    Draft::new(CompletionKind::Word, label, Content::Text(word.to_owned())).detail(detail).rank(FAR)
}

/// Names that belong to what is written beside the cursor: what a slot carries, who is in a list.
fn near(asked: &Asked<'_>, want: Want) -> FxHashSet<String> {
    let listed = |key: &str| keys::listed(asked, key);
    let names = if want.is(&CHANNEL, "call") {
        match known::repeater(asked) {
            Some(repeater) => {
                let slot = asked.written("slot").and_then(|slot| slot.parse::<i64>().ok());
                let slots = slot.map_or(vec![1, 2], |slot| vec![slot]);
                slots.into_iter().flat_map(|slot| known::carried(asked, repeater, slot)).collect()
            }
            None => Vec::new(),
        }
    } else if want.is(&CHANNEL, "receive_group") {
        groups_with(asked)
    } else if want.is(&SCAN_LIST, "priority_1") || want.is(&SCAN_LIST, "priority_2") || want.is(&SCAN_LIST, "reply") {
        listed("channels")
    } else if want.is(&RADIO_STANDS_BY, "zone") {
        listed("zones")
    } else if want.is(&RADIO_STANDS_BY, "channel") {
        channels_of_zone(asked)
    } else {
        Vec::new()
    };
    names.into_iter().collect()
}

/// The receive groups that hold what the channel calls.
fn groups_with(asked: &Asked<'_>) -> Vec<String> {
    let Some(call) = asked.beside("call") else { return Vec::new() };
    let view = asked.view;
    let holds =
        |group: &Ref<'_, receive_group::Table>| texts(asked, group.list(receive_group::talkgroups)).contains(&&*call);
    let groups = view.nameable(asked.file, Kind::ReceiveGroup).into_iter().filter_map(|id| view.get(id));
    groups.filter(holds).filter_map(|group| Some(group.name()?.to_owned())).collect()
}

/// The channels of the zone that is written beside the cursor.
fn channels_of_zone(asked: &Asked<'_>) -> Vec<String> {
    let Some(name) = asked.beside("zone").and_then(|name| asked.view.find_symbol(&name)) else { return Vec::new() };
    let zones = asked.view.nameable(asked.file, Kind::Zone).into_iter();
    let zone = zones.into_iter().find(|id| asked.view.name_symbol(*id) == Known::Is(name));
    let zone: Option<Ref<'_, zone::Table>> = zone.and_then(|id| asked.view.get(id));
    zone.map(|zone| texts(asked, zone.list(zone::channels)).into_iter().map(str::to_owned).collect())
        .unwrap_or_default()
}

fn texts<'w>(asked: &Asked<'w>, list: Known<&[guywire_plan::Element]>) -> Vec<&'w str> {
    let Known::Is(elements) = list else { return Vec::new() };
    elements
        .iter()
        .filter_map(|element| match element.value {
            Stored::Text(name) => Some(asked.view.symbol(name)),
            _ => None,
        })
        .collect()
}

/// What a table is, in a few words, and what else is to be said of it.
pub(crate) fn describe(asked: &Asked<'_>, id: EntityId) -> (String, String) {
    let view = asked.view;
    let noun = view.kind(id).noun();
    let mut doc = String::new();
    let about = match view.kind(id) {
        Kind::Talkgroup => view.get(id).map(|it: Ref<'_, talkgroup::Table>| number(it.whole(talkgroup::id))),
        Kind::Contact => view.get(id).map(|it: Ref<'_, contact::Table>| match it.truth(contact::all_call) {
            Known::Is(true) => "calls everybody on the channel".to_owned(),
            _ => number(it.whole(contact::id)),
        }),
        Kind::Station => view.get(id).map(|it: Ref<'_, station::Table>| number(it.whole(station::id))),
        Kind::Repeater => view.get(id).map(of_repeater),
        Kind::Channel => view.get(id).map(|it| of_channel(asked, it)),
        Kind::Zone => {
            view.get(id).map(|it: Ref<'_, zone::Table>| members(asked, it.list(zone::channels), "channel", &mut doc))
        }
        Kind::ScanList => view
            .get(id)
            .map(|it: Ref<'_, scan_list::Table>| members(asked, it.list(scan_list::channels), "channel", &mut doc)),
        Kind::ReceiveGroup => view.get(id).map(|it: Ref<'_, receive_group::Table>| {
            members(asked, it.list(receive_group::talkgroups), "talkgroup", &mut doc)
        }),
        Kind::Network => view
            .get(id)
            .map(|it: Ref<'_, network::Table>| members(asked, it.list(network::repeaters), "repeater", &mut doc)),
        Kind::Profile => {
            view.get(id).map(|it: Ref<'_, profile::Table>| members(asked, it.list(profile::zones), "zone", &mut doc))
        }
        Kind::Key => view.get(id).map(|it: Ref<'_, key::Table>| word(asked, it.text(key::algorithm))),
        Kind::Emergency => view.get(id).map(|it: Ref<'_, emergency::Table>| word(asked, it.text(emergency::sends))),
        Kind::Site => {
            view.get(id).map(|it: Ref<'_, site::Table>| match (it.number(site::latitude), it.number(site::longitude)) {
                (Known::Is(north), Known::Is(east)) => format!("{north:.4}, {east:.4}"),
                _ => String::new(),
            })
        }
        _ => None,
    };
    let about = about.filter(|about| !about.is_empty());
    if let Some(file) = view.file_of(id).filter(|file| *file != asked.file) {
        if !doc.is_empty() {
            doc.push_str("\n\n");
        }
        doc.push_str(&format!("In {}.", asked.workspace.shown_path(file)));
    }
    (about.map_or_else(|| noun.to_owned(), |about| format!("{noun}, {about}")), doc)
}

fn number(id: Known<i64>) -> String {
    id.value().map(|id| format!("id {id}")).unwrap_or_default()
}

fn word(asked: &Asked<'_>, text: Known<guywire_plan::Symbol>) -> String {
    text.value().map(|text| asked.view.symbol(text).to_owned()).unwrap_or_default()
}

fn members(asked: &Asked<'_>, list: Known<&[guywire_plan::Element]>, noun: &str, doc: &mut String) -> String {
    let names: Vec<&str> = texts(asked, list).into_iter().filter(|name| !name.is_empty()).collect();
    *doc = names.iter().take(TOLD).copied().collect::<Vec<_>>().join(", ");
    match names.len() {
        0 => {}
        more if more > TOLD => doc.push_str(&format!(" and {} more.", more - TOLD)),
        _ => doc.push('.'),
    }
    match names.len() {
        1 => format!("1 {noun}"),
        count => format!("{count} {noun}s"),
    }
}

fn of_repeater(it: Ref<'_, repeater::Table>) -> String {
    let mut about = Vec::new();
    if let (Known::Is(output), Known::Is(input)) = (it.frequency(repeater::tx_mhz), it.frequency(repeater::rx_mhz)) {
        about.push(format!("sends {output}, receives {input} MHz"));
    }
    about.extend(it.whole(repeater::color_code).value().map(|code| format!("color code {code}")));
    about.join(", ")
}

fn of_channel(asked: &Asked<'_>, it: Ref<'_, channel::Table>) -> String {
    let Some(effective) = asked.view.channel(it.id()) else { return String::new() };
    let mut about: Vec<String> = Vec::new();
    about.extend(effective.sends.value().map(|sends| {
        match sends {
            Sends::Digital => "digital",
            Sends::Analog => "analog",
            Sends::Nothing => "receive only",
        }
        .to_owned()
    }));
    match (effective.rx.value(), effective.tx.value()) {
        (Some(rx), Some(tx)) if rx != tx => about.push(format!("receives {rx}, sends {tx} MHz")),
        (Some(rx), _) => about.push(format!("{rx} MHz")),
        _ => {}
    }
    about.extend(effective.slot.value().map(|slot| format!("slot {slot}")));
    about.extend(it.text(channel::call).value().map(|call| format!("calls {}", asked.view.symbol(call))));
    about.join(", ")
}
