//! Which bytes of a text must never be shown.

use std::ops::Range;

use guywire_plan::language::{FileKind, KeySpec, Kind, tables};
use guywire_plan::{Db, Entity, Form, Record, Stored};
use guywire_text::FileId;

/// Bytes of a file that hold, or might hold, a secret: values of secret keys and of keys named like them wherever they
/// stand; in a table that has a secret key, or of which nothing is known, all but the header and the keys that are known
/// to be harmless, comments too. Ordered, not overlapping.
pub(crate) fn secrets(db: &Db, file: FileId) -> Vec<Range<usize>> {
    let mut found: Vec<Range<usize>> = Vec::new();
    for id in db.entities_of(file) {
        if let Some(entity) = db.entity(id) {
            in_entity(db, entity, &mut found);
        }
    }
    found.sort_by_key(|bytes| (bytes.start, bytes.end));
    let mut merged: Vec<Range<usize>> = Vec::new();
    for bytes in found {
        match merged.last_mut() {
            Some(last) if bytes.start <= last.end => last.end = last.end.max(bytes.end),
            _ => merged.push(bytes),
        }
    }
    merged
}

fn in_entity(db: &Db, entity: &Entity, found: &mut Vec<Range<usize>>) {
    let guarded = entity.kind == Kind::Unknown || holds_secrets(entity.record.spec.keys);
    in_record(db, entity, &entity.record, guarded, found);
    if guarded {
        around_known(db, entity, found);
    }
}

fn holds_secrets(keys: &[KeySpec]) -> bool {
    keys.iter().any(|key| key.secret)
}

fn in_record(db: &Db, entity: &Entity, record: &Record, guarded: bool, found: &mut Vec<Range<usize>>) {
    for slot in &record.slots {
        let secret = record.spec.key(slot.field).secret && !matches!(slot.value, Stored::Part(_));
        if secret {
            found.extend(db.bytes(entity, slot.at));
        }
        match &slot.value {
            Stored::Part(part) => in_record(db, entity, part, guarded, found),
            Stored::List(elements) => elements.iter().for_each(|element| {
                if let Stored::Part(part) = &element.value {
                    in_record(db, entity, part, guarded, found);
                }
            }),
            _ => {}
        }
    }
    for extra in &record.extras {
        if guarded || named_like_a_secret(db.symbols.text(extra.name)) {
            found.extend(db.bytes(entity, extra.at));
        }
    }
}

fn named_like_a_secret(name: &str) -> bool {
    tables(FileKind::Plan).iter().flat_map(|table| table.keys).any(|key| key.secret && key.name == name)
}

/// All lines of a table but its header and the values that are known to be no secret.
fn around_known(db: &Db, entity: &Entity, found: &mut Vec<Range<usize>>) {
    let Some(document) = db.document(entity.file) else { return };
    for block in &entity.blocks {
        let (Some(start), Some(text)) = (document.start(*block), document.block_text(*block)) else { continue };
        let mut known: Vec<Range<usize>> = Vec::new();
        if entity.form != Form::NotATable {
            known.extend(db.bytes(entity, entity.record.at));
        }
        for slot in &entity.record.slots {
            let (Some(key), Some(at)) = (db.bytes(entity, slot.key), db.bytes(entity, slot.at)) else { continue };
            let between = document.slice(key.end..at.start).unwrap_or_default();
            let secret = entity.record.spec.key(slot.field).secret;
            known.push(match (secret, between.trim() == "=") {
                (false, _) => key.start..at.end,
                (true, true) => key.start..at.start,
                (true, false) => key,
            });
        }
        known.sort_by_key(|bytes| bytes.start);
        let mut at = start;
        for bytes in known.into_iter().filter(|bytes| bytes.start >= start && bytes.end <= start + text.len()) {
            if bytes.start > at {
                found.push(at..bytes.start);
            }
            at = at.max(bytes.end);
        }
        if at < start + text.len() {
            found.push(at..start + text.len());
        }
    }
}
