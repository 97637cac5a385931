//! Which table and key a byte of a text belongs to.

use std::ops::Range;

use guywire_plan::language::{KeySpec, TableSpec};
use guywire_plan::{Db, Entity, EntityId, FieldPath, Local, Record, Stored};
use guywire_text::FileId;

/// What stands at a byte.
pub(crate) struct Located {
    pub id: EntityId,
    /// Where in the table; empty for its header.
    pub path: FieldPath,
    /// The key there, where the table knows it.
    pub key: Option<&'static KeySpec>,
    /// The table that the key belongs to: the entity's own, or that of a part.
    pub table: &'static TableSpec,
    /// The byte is on the key, not on its value.
    pub on_key: bool,
    pub bytes: Range<usize>,
}

/// What stands at a byte of a file, if anything of the language does.
pub(crate) fn locate(db: &Db, file: FileId, byte: usize) -> Option<Located> {
    let document = db.document(file)?;
    let (block, _) = document.at(byte);
    // The block before the first header may hold several tables, each a unit of its own.
    let units = document.units_of(block);
    let entities: Vec<EntityId> =
        units.iter().flat_map(|unit| db.entities_of_unit(file, unit).iter().copied()).collect();
    entities.iter().find_map(|id| {
        let entity = db.entity(*id)?;
        in_record(db, entity, &entity.record, &FieldPath::default(), byte)
            .map(|(path, key, table, on_key, bytes)| Located { id: *id, path, key, table, on_key, bytes })
            .or_else(|| {
                let bytes = holds(db, entity, entity.record.at, byte)?;
                let table = entity.record.spec;
                Some(Located { id: *id, path: FieldPath::default(), key: None, table, on_key: true, bytes })
            })
    })
}

type Step = (FieldPath, Option<&'static KeySpec>, &'static TableSpec, bool, Range<usize>);

fn in_record(db: &Db, entity: &Entity, record: &Record, path: &FieldPath, byte: usize) -> Option<Step> {
    for slot in &record.slots {
        let key = record.spec.key(slot.field);
        let here = path.then(slot.field as usize);
        if let Some(bytes) = holds(db, entity, slot.key, byte) {
            return Some((headed(db, entity, &slot.value, here, byte), Some(key), record.spec, true, bytes));
        }
        if let Some(step) = in_value(db, entity, record, &slot.value, slot.at, key, &here, byte) {
            return Some(step);
        }
    }
    for (number, extra) in record.extras.iter().enumerate() {
        let here = path.then_extra(number);
        if let Some(bytes) = holds(db, entity, extra.key, byte) {
            return Some((here, None, record.spec, true, bytes));
        }
        if let Some(bytes) = holds(db, entity, extra.at, byte) {
            return Some((here, None, record.spec, false, bytes));
        }
    }
    None
}

/// The path of the part whose header a byte is in, where the key stands in a header; else that of the key.
fn headed(db: &Db, entity: &Entity, value: &Stored, key: FieldPath, byte: usize) -> FieldPath {
    let Stored::List(elements) = value else { return key };
    let here = elements.iter().position(|element| match &element.value {
        Stored::Part(part) => holds(db, entity, part.at, byte).is_some(),
        _ => false,
    });
    here.map_or(key, |number| key.then(number))
}

#[allow(clippy::too_many_arguments)] // The walk carries where it is.
fn in_value(
    db: &Db,
    entity: &Entity,
    record: &Record,
    value: &Stored,
    at: Local,
    key: &'static KeySpec,
    path: &FieldPath,
    byte: usize,
) -> Option<Step> {
    match value {
        Stored::Part(part) => in_record(db, entity, part, path, byte).or_else(|| {
            let bytes = holds(db, entity, part.at, byte)?;
            Some((*path, Some(key), record.spec, true, bytes))
        }),
        Stored::List(elements) => elements
            .iter()
            .enumerate()
            .find_map(|(number, element)| {
                in_value(db, entity, record, &element.value, element.at, key, &path.then(number), byte)
            })
            .or_else(|| holds(db, entity, at, byte).map(|bytes| (*path, Some(key), record.spec, false, bytes))),
        _ => holds(db, entity, at, byte).map(|bytes| (*path, Some(key), record.spec, false, bytes)),
    }
}

/// The bytes of a place, where the byte is in it or at its end.
fn holds(db: &Db, entity: &Entity, at: Local, byte: usize) -> Option<Range<usize>> {
    let bytes = db.bytes(entity, at)?;
    (bytes.start <= byte && byte <= bytes.end).then_some(bytes)
}
