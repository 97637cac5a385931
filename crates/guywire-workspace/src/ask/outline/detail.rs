//! What stands beside a name in the outline. Values of secret keys, and of tables that have one, are left out.

use guywire_plan::derived::{self, Value};
use guywire_plan::language::{Kind, Type};
use guywire_plan::{Db, Entity, EntityId, Known, NodeKey, Record, Recorder, Slot, Stored, What};
use guywire_text::FileId;

use crate::load::capital;

/// Values shown of a table that has no words of its own.
const MOST_VALUES: usize = 3;

/// A table without a name of its own: by the first values that tell it, else by what it is.
pub(super) fn nameless(db: &Db, entity: &Entity) -> String {
    let own = match entity.kind {
        Kind::Message | Kind::Reading | Kind::Trial | Kind::Report | Kind::Shortcut | Kind::ModelButton => {
            values(db, entity, &entity.record, 2)
        }
        Kind::RegimeBand | Kind::RegimeChannel | Kind::RegimePair => values(db, entity, &entity.record, 2),
        Kind::Radio => number(entity, "id").map(|id| id.to_string()).unwrap_or_default(),
        Kind::Unknown => entity.table.map(|(name, _)| db.symbols.text(name).to_owned()).unwrap_or_default(),
        _ => String::new(),
    };
    if own.is_empty() { capital(entity.kind.noun()) } else { own }
}

/// What a table comes to.
pub(super) fn of_table(db: &Db, reader: FileId, id: EntityId, entity: &Entity) -> String {
    let words = |names: &[&str]| said(db, entity, &entity.record, names);
    match entity.kind {
        Kind::Channel => of_channel(db, reader, id),
        Kind::Repeater => of_repeater(db, entity),
        Kind::Talkgroup | Kind::Contact | Kind::Station => words(&["id"]),
        Kind::Radio if entity.name().value().is_some() => words(&["id", "profile"]),
        Kind::Radio => words(&["profile"]),
        Kind::Key => words(&["id", "algorithm"]),
        Kind::License => words(&["expires"]),
        Kind::Emergency => words(&["sends", "target"]),
        Kind::Zone => counted(entity, "channels", "position"),
        Kind::ScanList => counted(entity, "channels", "channel"),
        Kind::ReceiveGroup => counted(entity, "talkgroups", "talkgroup"),
        Kind::Network => counted(entity, "repeaters", "repeater"),
        Kind::Profile => counted(entity, "zones", "zone"),
        Kind::Site => words(&["latitude", "longitude"]),
        Kind::Plan => words(&["revision"]),
        Kind::Bench | Kind::Field => words(&["date"]),
        Kind::HouseRule => words(&["for", "level"]),
        _ => String::new(),
    }
}

/// What a table in a table comes to: its first values.
pub(super) fn of_part(db: &Db, entity: &Entity, part: &Record) -> String {
    values(db, entity, part, MOST_VALUES)
}

/// Computed anew: the value that is kept may be out of date while checks go on.
fn of_channel(db: &Db, viewer: FileId, id: EntityId) -> String {
    let key = NodeKey { what: What::Channel, viewer, entity: Some(id) };
    let recorder = Recorder::silent_about(key.entity);
    let Some(Value::Channel(channel)) = derived::compute(db, key, &recorder) else { return String::new() };
    let mut facts: Vec<String> = Vec::new();
    match (channel.rx, channel.tx) {
        (Known::Is(rx), Known::Is(tx)) if rx != tx => facts.push(format!("{rx}/{tx} MHz")),
        (Known::Is(rx), _) => facts.push(format!("{rx} MHz")),
        _ => {}
    }
    if let Known::Is(code) = channel.color_code {
        facts.push(format!("color code {code}"));
    }
    if let Known::Is(slot) = channel.slot {
        facts.push(format!("slot {slot}"));
    }
    facts.join(", ")
}

fn of_repeater(db: &Db, entity: &Entity) -> String {
    let hertz = |name: &str| match slot(entity, &entity.record, name).map(|slot| &slot.value) {
        Some(Stored::Frequency(hertz) | Stored::Rounded(hertz)) => Some(*hertz),
        _ => None,
    };
    let pair = match (hertz("tx_mhz"), hertz("rx_mhz")) {
        (Some(tx), Some(rx)) => format!("{tx}/{rx} MHz"),
        _ => return said(db, entity, &entity.record, &["color_code"]),
    };
    match number(entity, "color_code") {
        Some(code) => format!("{pair}, color code {code}"),
        None => pair,
    }
}

fn counted(entity: &Entity, key: &str, noun: &str) -> String {
    match slot(entity, &entity.record, key).map(|slot| &slot.value) {
        Some(Stored::List(elements)) if elements.len() == 1 => format!("1 {noun}"),
        Some(Stored::List(elements)) => format!("{} {noun}s", elements.len()),
        _ => String::new(),
    }
}

fn number(entity: &Entity, key: &str) -> Option<i64> {
    match slot(entity, &entity.record, key)?.value {
        Stored::Whole(number) => Some(number),
        _ => None,
    }
}

fn slot<'e>(entity: &'e Entity, record: &'e Record, key: &str) -> Option<&'e Slot> {
    debug_assert!(record.spec.field(key).is_some(), "{:?} has no {key}", entity.kind);
    record.slot(record.spec.field(key)?)
}

/// The values of these keys.
fn said(db: &Db, entity: &Entity, record: &Record, keys: &[&str]) -> String {
    let values = keys.iter().filter_map(|key| {
        let value = value(db, record, slot(entity, record, key)?)?;
        Some(if *key == "id" { format!("id {value}") } else { value })
    });
    values.collect::<Vec<_>>().join(", ")
}

/// The first few values of a table, but those of prose and secrets; none of a table that has a secret key.
fn values(db: &Db, entity: &Entity, record: &Record, most: usize) -> String {
    let has_secret = |record: &Record| record.spec.keys.iter().any(|key| key.secret);
    if has_secret(&entity.record) || has_secret(record) {
        return String::new();
    }
    let values = record.slots.iter().filter_map(|slot| value(db, record, slot));
    values.take(most).collect::<Vec<_>>().join(", ")
}

/// A value as text with its unit; none of lists, tables, prose, and where something is kept.
fn value(db: &Db, record: &Record, slot: &Slot) -> Option<String> {
    let key = record.spec.key(slot.field);
    if key.secret || key.name == "held_in" || matches!(key.value, Type::Prose) {
        return None;
    }
    let text = match &slot.value {
        Stored::Text(text) => db.symbols.text(*text).to_owned(),
        Stored::Whole(number) => number.to_string(),
        Stored::Number(number) => number.to_string(),
        Stored::Frequency(hertz) | Stored::Rounded(hertz) if key.name.ends_with("khz") => {
            format!("{}", hertz.0 as f64 / 1000.0)
        }
        Stored::Frequency(hertz) | Stored::Rounded(hertz) => hertz.to_string(),
        Stored::Date(date) => date.to_string(),
        Stored::Truth(true) => key.name.replace('_', " "),
        _ => return None,
    };
    Some(match key.unit() {
        Some("°") => format!("{text}°"),
        Some(unit) => format!("{text} {unit}"),
        None => text,
    })
}
