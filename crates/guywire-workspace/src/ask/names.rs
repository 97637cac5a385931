//! Names in the text: what a place names, where a name leads, and every place that leads to a table.

use std::ops::Range;

use guywire_plan::language::{Kind, TableSpec};
use guywire_plan::{Db, EntityId, FieldPath, Record, Reference, Stored, Symbol, cell_parts};
use guywire_text::FileId;

use super::locate::locate;

/// Bytes of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileBytes {
    /// The file.
    pub file: FileId,
    /// Bytes of it.
    pub bytes: Range<usize>,
}

/// A place in a table where a name is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Use {
    pub id: EntityId,
    pub path: FieldPath,
    /// The key is the name, not its value.
    pub in_key: bool,
}

/// What a place in the text is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Subject {
    /// The tables that a name leads to: none where it leads nowhere, several where it is ambiguous, or where plans that
    /// see the place have different ones.
    Tables(Vec<EntityId>),
    /// The file that a path leads to.
    File(FileId),
}

/// What a cursor is on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Pointed {
    /// The name or path as written, quotes left out.
    pub bytes: Range<usize>,
    pub subject: Subject,
    /// The place where a name is written; none where the cursor is on a header or a path.
    pub written: Option<Use>,
}

const HOUSE_RULE: &[Kind] = &[Kind::HouseRule];

/// What stands at a byte, if it is a name, a path or the header of a table.
pub(crate) fn pointed(db: &Db, file: FileId, byte: usize) -> Option<Pointed> {
    if db.is_sheet(file) {
        return in_sheet(db, file, byte);
    }
    let located = locate(db, file, byte)?;
    let entity = db.entity(located.id)?;
    let reference =
        references_in(db, located.id).into_iter().find(|it| it.path == located.path && it.in_key == located.on_key);
    if let Some(reference) = reference {
        let at = Use { id: located.id, path: located.path, in_key: reference.in_key };
        return named(db, file, at, Subject::Tables(targets(db, file, reference.kinds, reference.name)));
    }
    if located.path.steps().is_empty() {
        let subject = Subject::Tables(vec![located.id]);
        return Some(Pointed { bytes: located.bytes, subject, written: None });
    }
    if located.on_key {
        return None;
    }
    match entity.record.spot(&located.path)?.value {
        Stored::File(named) => {
            let bytes = text_within(db, file, located.bytes);
            Some(Pointed { bytes, subject: Subject::File(*named), written: None })
        }
        Stored::Text(_) if Some(located.path) == name_path(entity.record.spec) => {
            let at = Use { id: located.id, path: located.path, in_key: false };
            named(db, file, at, Subject::Tables(vec![located.id]))
        }
        _ => None,
    }
}

fn named(db: &Db, file: FileId, at: Use, subject: Subject) -> Option<Pointed> {
    let place = place(db, at)?;
    (place.file == file).then_some(Pointed { bytes: place.bytes, subject, written: Some(at) })
}

/// A cell may hold several names: the one that the byte touches counts.
fn in_sheet(db: &Db, file: FileId, byte: usize) -> Option<Pointed> {
    let touches = |at: &Use| place(db, *at).is_some_and(|place| place.bytes.start <= byte && byte <= place.bytes.end);
    for id in db.entities_of(file) {
        let Some(entity) = db.entity(id) else { continue };
        let reference = references_in(db, id)
            .into_iter()
            .map(|it| (Use { id, path: it.path, in_key: false }, it))
            .find(|(at, _)| touches(at));
        if let Some((at, it)) = reference {
            return named(db, file, at, Subject::Tables(targets(db, file, it.kinds, it.name)));
        }
        let own = name_path(entity.record.spec).map(|path| Use { id, path, in_key: false });
        if let Some(at) = own.filter(touches) {
            return named(db, file, at, Subject::Tables(vec![id]));
        }
        let model = entity.record.slots.iter().find_map(|slot| match slot.value {
            Stored::File(named) => Some((named, db.bytes(entity, slot.at)?)),
            _ => None,
        });
        if let Some((named, bytes)) = model.filter(|(_, bytes)| bytes.start <= byte && byte <= bytes.end) {
            return Some(Pointed { bytes, subject: Subject::File(named), written: None });
        }
    }
    None
}

/// Where a table writes its own name.
pub(crate) fn name_path(spec: &TableSpec) -> Option<FieldPath> {
    spec.name_field().map(FieldPath::key)
}

/// The references written in a table. The keys of `[rules]` that are no built-in rules name house rules.
pub(crate) fn references_in(db: &Db, id: EntityId) -> Vec<Reference> {
    let mut found = db.references_in(id);
    if let Some(entity) = db.entity(id).filter(|entity| entity.kind == Kind::RuleLevels) {
        let keys = entity.record.extras.iter().enumerate();
        found.extend(keys.map(|(number, extra)| Reference {
            kinds: HOUSE_RULE,
            name: extra.name,
            path: FieldPath::default().then_extra(number),
            in_key: true,
        }));
    }
    found
}

/// The tables that a name used in a file leads to, through whatever plan.
pub(crate) fn targets(db: &Db, file: FileId, kinds: &[Kind], name: Symbol) -> Vec<EntityId> {
    let mut found: Vec<EntityId> = Vec::new();
    for reader in db.readers(file) {
        for id in db.leads_to(file, reader, kinds, name) {
            if !found.contains(&id) {
                found.push(id);
            }
        }
    }
    found
}

/// Every place of a file that writes this name where a table of this kind is meant, with the kinds that it may mean, in
/// text order.
pub(crate) fn written_in(db: &Db, file: FileId, kind: Kind, name: Symbol) -> Vec<(Use, &'static [Kind])> {
    let users = match kind {
        Kind::HouseRule => db.entities_of(file).filter(|id| is_rule_levels(db, *id)).collect(),
        _ => db.users(file, kind, name),
    };
    users
        .into_iter()
        .flat_map(|id| references_in(db, id).into_iter().map(move |reference| (id, reference)))
        .filter(|(_, reference)| reference.name == name && reference.kinds.contains(&kind))
        .map(|(id, it)| (Use { id, path: it.path, in_key: it.in_key }, it.kinds))
        .collect()
}

fn is_rule_levels(db: &Db, id: EntityId) -> bool {
    db.entity(id).is_some_and(|entity| entity.kind == Kind::RuleLevels)
}

/// Every place of a file that leads to a table by its name, in text order.
pub(crate) fn uses_in(db: &Db, file: FileId, table: EntityId) -> Vec<Use> {
    let Some(entity) = db.entity(table) else { return Vec::new() };
    let Some(name) = entity.name().value() else { return Vec::new() };
    let mut answers: Vec<(&[Kind], bool)> = Vec::new();
    written_in(db, file, entity.kind, name)
        .into_iter()
        .filter(|(_, kinds)| match answers.iter().find(|(known, _)| known == kinds) {
            Some((_, leads)) => *leads,
            None => {
                let leads = targets(db, file, kinds, name).contains(&table);
                answers.push((kinds, leads));
                leads
            }
        })
        .map(|(at, _)| at)
        .collect()
}

/// Every file, in order of path.
pub(crate) fn all_files(db: &Db) -> Vec<FileId> {
    let mut files: Vec<FileId> = db.file_ids().filter(|file| db.document(*file).is_some()).collect();
    files.sort_by(|a, b| db.file(*a).path.cmp(&db.file(*b).path));
    files
}

/// Every place that leads to a table by its name or, where it is what its file is about, by the path of that file; in
/// order of path and place.
pub(crate) fn uses_of(db: &Db, table: EntityId) -> Vec<FileBytes> {
    let file = db.entity(table).map(|entity| entity.file);
    let by_path = file.filter(|file| db.main(*file) == Some(table)).map(|file| paths_to(db, file));
    let by_name = db.file_ids().flat_map(|file| uses_in(db, file, table));
    let mut found: Vec<FileBytes> = by_name.filter_map(|at| place(db, at)).collect();
    found.extend(by_path.into_iter().flatten());
    put_in_order(db, &mut found);
    found
}

/// By path and place, each once.
pub(crate) fn put_in_order(db: &Db, places: &mut Vec<FileBytes>) {
    places.sort_by(|a, b| {
        let key = |place: &FileBytes| (place.bytes.start, place.bytes.end);
        (&db.file(a.file).path, key(a)).cmp(&(&db.file(b.file).path, key(b)))
    });
    places.dedup();
}

/// Every place that names a file by its path, in order of path and place.
pub(crate) fn paths_to(db: &Db, file: FileId) -> Vec<FileBytes> {
    let all = all_files(db).into_iter().flat_map(|from| paths_in(db, from));
    all.filter(|(_, named)| *named == file).map(|(place, _)| place).collect()
}

/// Every path written in a file, quotes left out, with the file that it names; in text order.
pub(crate) fn paths_in(db: &Db, file: FileId) -> Vec<(FileBytes, FileId)> {
    let mut found = Vec::new();
    for id in db.entities_of(file) {
        let Some(entity) = db.entity(id) else { continue };
        in_record(&entity.record, &mut |at, named| {
            if let Some(bytes) = db.bytes(entity, at) {
                found.push((FileBytes { file, bytes: text_within(db, file, bytes) }, named));
            }
        });
    }
    found.sort_by_key(|(place, _)| (place.bytes.start, place.bytes.end));
    found
}

fn in_record(record: &Record, found: &mut dyn FnMut(guywire_plan::Local, FileId)) {
    for slot in &record.slots {
        match &slot.value {
            Stored::File(named) => found(slot.at, *named),
            Stored::Part(part) => in_record(part, found),
            Stored::List(elements) => {
                for element in elements.iter() {
                    match &element.value {
                        Stored::File(named) => found(element.at, *named),
                        Stored::Part(part) => in_record(part, found),
                        _ => {}
                    }
                }
            }
            _ => {}
        }
    }
}

/// A name as it is written: bytes with quotes.
pub(crate) fn token(db: &Db, at: Use) -> Option<FileBytes> {
    let entity = db.entity(at.id)?;
    let spot = entity.record.spot(&at.path)?;
    let bytes = db.bytes(entity, if at.in_key { spot.key } else { spot.at })?;
    Some(FileBytes { file: entity.file, bytes })
}

/// A name as it is written: bytes without quotes; in a cell with several, its own.
pub(crate) fn place(db: &Db, at: Use) -> Option<FileBytes> {
    let FileBytes { file, bytes } = token(db, at)?;
    if !db.is_sheet(file) {
        return Some(FileBytes { file, bytes: text_within(db, file, bytes) });
    }
    let text = db.document(file)?.slice(bytes.clone())?;
    let part = match at.path.steps() {
        [_] => cell_parts(&text, false).into_iter().next()?,
        [_, number] => cell_parts(&text, true).into_iter().nth(*number as usize)?,
        _ => return None,
    };
    Some(FileBytes { file, bytes: bytes.start + part.bytes.start..bytes.start + part.bytes.end })
}

/// What stands between the quotes of a string; all of it where it has none.
pub(crate) fn text_within(db: &Db, file: FileId, bytes: Range<usize>) -> Range<usize> {
    let Some(text) = db.document(file).and_then(|document| document.slice(bytes.clone())) else { return bytes };
    let quotes = quotes_of(&text);
    if text.len() < 2 * quotes.len() || !text.ends_with(quotes) {
        return bytes;
    }
    bytes.start + quotes.len()..bytes.end - quotes.len()
}

/// The quotes that a string begins with, if it does.
pub(crate) fn quotes_of(written: &str) -> &'static str {
    ["\"\"\"", "'''", "\"", "'"].into_iter().find(|quotes| written.starts_with(quotes)).unwrap_or_default()
}
