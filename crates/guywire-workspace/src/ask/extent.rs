//! How far a table reaches in the text.

use std::ops::Range;

use guywire_plan::language::Kind;
use guywire_plan::{Db, Entity, EntityId, Local, Record, Slot, Stored};
use guywire_text::FileId;

/// From the header to the last thing written in a table, sub-tables included; what stands between counts as its own.
pub(crate) fn of_table(db: &Db, entity: &Entity) -> Option<Range<usize>> {
    let mut reach = db.bytes(entity, entity.record.at)?;
    of_record(db, entity, &entity.record, &mut reach);
    Some(reach)
}

/// Widens `reach` to all that is written in a record.
pub(crate) fn of_record(db: &Db, entity: &Entity, record: &Record, reach: &mut Range<usize>) {
    let mut widen = |place: Local| {
        if let Some(bytes) = db.bytes(entity, place) {
            *reach = reach.start.min(bytes.start)..reach.end.max(bytes.end);
        }
    };
    widen(record.at);
    for slot in &record.slots {
        widen(slot.key);
        widen(slot.at);
    }
    for extra in &record.extras {
        widen(extra.key);
        widen(extra.at);
    }
    for part in record.slots.iter().flat_map(parts) {
        of_record(db, entity, part, reach);
    }
}

/// The tables that a key holds.
pub(crate) fn parts(slot: &Slot) -> Vec<&Record> {
    match &slot.value {
        Stored::Part(record) => vec![record],
        Stored::List(elements) => elements
            .iter()
            .filter_map(|element| if let Stored::Part(record) = &element.value { Some(&**record) } else { None })
            .collect(),
        _ => Vec::new(),
    }
}

/// Tables of one kind that follow each other in the text.
pub(crate) struct Run {
    pub kind: Kind,
    /// The tables with all that is written in each, in text order.
    pub tables: Vec<(EntityId, Range<usize>)>,
}

impl Run {
    /// From the first table to the end of the last.
    pub fn bytes(&self) -> Range<usize> {
        let start = self.tables.first().map_or(0, |(_, bytes)| bytes.start);
        start..self.tables.iter().map(|(_, bytes)| bytes.end).max().unwrap_or(start)
    }
}

/// The tables of a file in text order, by runs of one kind.
pub(crate) fn runs(db: &Db, file: FileId) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for id in db.tables_of(file) {
        let Some(entity) = db.entity(id) else { continue };
        let Some(bytes) = of_table(db, entity) else { continue };
        match runs.last_mut() {
            Some(run) if run.kind == entity.kind => run.tables.push((id, bytes)),
            _ => runs.push(Run { kind: entity.kind, tables: vec![(id, bytes)] }),
        }
    }
    runs
}
