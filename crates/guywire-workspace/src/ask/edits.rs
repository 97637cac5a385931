//! From a fix to bytes: edits on the text as it is, in its own line ending, with nothing else touched.

use std::ops::Range;

use guywire_plan::{Db, Entity, EntityId, FieldPath, Local, Record};
use guywire_rules::Edit;
use guywire_text::{Document, Encoding};

use super::extent;
use crate::answer::TextEdit;

/// The edits of a fix as bytes, ordered; none where the text has nothing of what they name.
pub(crate) fn resolve(db: &Db, edits: &[Edit]) -> Option<Vec<TextEdit>> {
    let mut resolved: Vec<TextEdit> = edits.iter().map(|edit| one(db, edit)).collect::<Option<_>>()?;
    resolved.sort_by_key(|edit| (edit.file, edit.bytes.start, edit.bytes.end));
    let overlap =
        resolved.windows(2).any(|pair| pair[0].file == pair[1].file && pair[0].bytes.end > pair[1].bytes.start);
    (!overlap).then_some(resolved)
}

fn one(db: &Db, edit: &Edit) -> Option<TextEdit> {
    match edit {
        Edit::Set(id, path, text) => replace(db, *id, text, |record| Some(record.spot(path)?.at)),
        Edit::SetKey(id, path, text) => replace(db, *id, text, |record| Some(record.spot(path)?.key)),
        Edit::SetHeader(id, text) => replace(db, *id, text, |record| Some(record.at)),
        Edit::Insert(id, key, value) => insert(db, *id, key, value),
        Edit::Remove(id, path) => remove(db, *id, path),
        Edit::RemoveTable(id) => remove_table(db, *id),
        Edit::Bytes(place, text) => {
            let bytes = db.document(place.file)?.range(place.span)?;
            Some(TextEdit { file: place.file, bytes, text: text.clone() })
        }
    }
}

fn replace(db: &Db, id: EntityId, text: &str, find: impl Fn(&Record) -> Option<Local>) -> Option<TextEdit> {
    let entity = db.entity(id)?;
    let bytes = db.bytes(entity, find(&entity.record)?)?;
    Some(TextEdit { file: entity.file, bytes, text: text.to_owned() })
}

fn insert(db: &Db, id: EntityId, key: &str, value: &str) -> Option<TextEdit> {
    let entity = db.entity(id)?;
    let document = db.document(entity.file)?;
    let table = db.bytes(entity, entity.record.at)?;
    if document.slice(table.clone())?.starts_with('{') {
        let at = table.end - 1;
        let comma = if entity.record.slots.is_empty() && entity.record.extras.is_empty() { "" } else { ", " };
        let inside = document.slice(table.start..at)?;
        let at = table.start + inside.trim_end().len();
        return Some(TextEdit { file: entity.file, bytes: at..at, text: format!("{comma}{key} = {value}") });
    }
    let last = own_statements(db, entity).map(|bytes| bytes.end).max().unwrap_or(table.end);
    let line = line_of(document, last)?;
    let text = format!("{}{key} = {value}", document.line_ending());
    Some(TextEdit { file: entity.file, bytes: line.end..line.end, text })
}

/// The keys and values that stand in the entity's own first block, under its own header.
fn own_statements<'d>(db: &'d Db, entity: &'d Entity) -> impl Iterator<Item = Range<usize>> + 'd {
    let first = entity.record.at.block;
    let places = entity.record.slots.iter().map(|slot| (slot.key, slot.at));
    let extras = entity.record.extras.iter().map(|extra| (extra.key, extra.at));
    places
        .chain(extras)
        .filter(move |(key, at)| key.block == first && at.block == first && key.start >= entity.record.at.start)
        .filter_map(|(key, at)| Some(db.bytes(entity, key)?.start..db.bytes(entity, at)?.end))
}

fn remove(db: &Db, id: EntityId, path: &FieldPath) -> Option<TextEdit> {
    let entity = db.entity(id)?;
    let document = db.document(entity.file)?;
    let spot = entity.record.spot(path)?;
    let (key, at) = (db.bytes(entity, spot.key)?, db.bytes(entity, spot.at)?);
    let bytes = key.start..at.end;
    let first = line_of(document, bytes.start)?;
    let last = line_of(document, bytes.end)?;
    let before = document.slice(first.start..bytes.start)?;
    let after = document.slice(bytes.end..last.end)?;
    let alone = before.trim().is_empty() && (after.trim().is_empty() || after.trim_start().starts_with('#'));
    let bytes = if alone { first.start..with_line_end(document, last.end) } else { with_comma(document, bytes)? };
    Some(TextEdit { file: entity.file, bytes, text: String::new() })
}

/// An element of a list or inline table with the comma after it, else the one before it.
fn with_comma(document: &Document, bytes: Range<usize>) -> Option<Range<usize>> {
    let line = line_of(document, bytes.end)?;
    let after = document.slice(bytes.end..line.end)?;
    let blanks = after.len() - after.trim_start().len();
    if after.trim_start().starts_with(',') {
        let rest = &after[blanks + 1..];
        return Some(bytes.start..bytes.end + blanks + 1 + (rest.len() - rest.trim_start().len()));
    }
    let line = line_of(document, bytes.start)?;
    let before = document.slice(line.start..bytes.start)?;
    let kept = before.trim_end();
    Some(if kept.ends_with(',') { line.start + kept.len() - 1..bytes.end } else { bytes })
}

fn remove_table(db: &Db, id: EntityId) -> Option<TextEdit> {
    let entity = db.entity(id)?;
    let document = db.document(entity.file)?;
    let header = db.bytes(entity, entity.record.at)?;
    if document.slice(header.clone())?.starts_with('{') {
        return Some(TextEdit { file: entity.file, bytes: with_comma(document, header)?, text: String::new() });
    }
    let last = line_of(document, extent::of_table(db, entity)?.end)?;
    let mut end = with_line_end(document, last.end);
    // One empty line goes with the table that it set off.
    if let Some(next) = line_of(document, end)
        && next.start == end
        && document.slice(next.clone()).is_some_and(|text| text.trim().is_empty())
    {
        end = with_line_end(document, next.end);
    }
    let start = line_of(document, header.start)?.start;
    Some(TextEdit { file: entity.file, bytes: start..end, text: String::new() })
}

/// The line that a byte is on, without its end.
fn line_of(document: &Document, byte: usize) -> Option<Range<usize>> {
    document.line_range(document.to_protocol(byte, Encoding::Utf8).line)
}

/// A line's end with what ends it.
fn with_line_end(document: &Document, end: usize) -> usize {
    let most = (end + 2).min(document.len());
    match document.slice(end..most) {
        Some(text) if text.starts_with("\r\n") => end + 2,
        Some(text) if text.starts_with(['\n', '\r']) => end + 1,
        Some(_) => end,
        // The byte after the next is inside a character: only one can end the line.
        None => match document.slice(end..(end + 1).min(document.len())) {
            Some(text) if text.starts_with(['\n', '\r']) => end + 1,
            _ => end,
        },
    }
}
