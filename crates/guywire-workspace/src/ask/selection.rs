//! What a selection grows to: word, value, statement, table, run of tables, file.

use std::ops::Range;

use guywire_plan::{Db, Entity, EntityId, Record, Stored};
use guywire_text::{Document, Encoding, FileId};

use super::extent;
use super::names::text_within;
use crate::workspace::Workspace;

impl Workspace {
    /// The ranges around a byte, each within the next: a word, what is between the quotes, the value, the list, the key
    /// with its value, the sub-table, the table, the tables of its kind around it, the file.
    pub fn selections(&self, file: FileId, byte: usize) -> Vec<Range<usize>> {
        let db = &self.engine.db;
        let Some(document) = db.document(file) else { return Vec::new() };
        let mut around: Vec<Range<usize>> = std::iter::once(0..document.len()).collect();
        tables_around(db, file, byte, &mut around);
        around.extend(line_of(document, byte));
        around.extend(word_at(document, byte));
        nested(around, byte)
    }
}

/// The table that a byte is in, what of it the byte is in, and the tables of its kind before and after it.
fn tables_around(db: &Db, file: FileId, byte: usize, around: &mut Vec<Range<usize>>) {
    let tables = db.tables_of(file);
    let Some(at) = tables.partition_point(|id| db.header_start(*id) <= byte).checked_sub(1) else { return };
    let Some(entity) = db.entity(tables[at]) else { return };
    let Some(bytes) = extent::of_table(db, entity) else { return };
    around.push(bytes);
    in_record(db, entity, &entity.record, byte, around);
    let alike = |id: &&EntityId| db.entity(**id).is_some_and(|other| other.kind == entity.kind);
    let first = tables[..at].iter().rev().take_while(alike).last().unwrap_or(&tables[at]);
    let last = tables[at..].iter().take_while(alike).last().unwrap_or(&tables[at]);
    if let Some(end) = db.entity(*last).and_then(|entity| extent::of_table(db, entity)) {
        around.push(db.header_start(*first)..end.end);
    }
}

fn touches(bytes: &Range<usize>, byte: usize) -> bool {
    bytes.start <= byte && byte <= bytes.end
}

fn in_record(db: &Db, entity: &Entity, record: &Record, byte: usize, around: &mut Vec<Range<usize>>) {
    around.extend(db.bytes(entity, record.at));
    for slot in &record.slots {
        let (Some(key), Some(at)) = (db.bytes(entity, slot.key), db.bytes(entity, slot.at)) else { continue };
        statement(&key, &at, around);
        in_value(db, entity, &slot.value, at, byte, around);
    }
    for extra in &record.extras {
        let (Some(key), Some(at)) = (db.bytes(entity, extra.key), db.bytes(entity, extra.at)) else { continue };
        statement(&key, &at, around);
        in_value(db, entity, &extra.value, at, byte, around);
    }
}

/// A key with its value. A table made by headers is no statement.
fn statement(key: &Range<usize>, at: &Range<usize>, around: &mut Vec<Range<usize>>) {
    around.push(key.clone());
    if key.end <= at.start {
        around.push(key.start..at.end);
    }
}

fn in_value(db: &Db, entity: &Entity, value: &Stored, at: Range<usize>, byte: usize, around: &mut Vec<Range<usize>>) {
    match value {
        Stored::Part(part) => {
            let mut all = at.clone();
            extent::of_record(db, entity, part, &mut all);
            if touches(&all, byte) {
                around.push(all);
                in_record(db, entity, part, byte, around);
            }
        }
        Stored::List(elements) => {
            for element in elements.iter() {
                if let Some(at) = db.bytes(entity, element.at) {
                    in_value(db, entity, &element.value, at, byte, around);
                }
            }
        }
        _ => around.push(text_within(db, entity.file, at.clone())),
    }
    around.push(at);
}

/// The line without the blanks around it: for text that is no statement.
fn line_of(document: &Document, byte: usize) -> Option<Range<usize>> {
    let line = document.line_range(document.to_protocol(byte, Encoding::Utf8).line)?;
    let text = document.slice(line.clone())?;
    let start = line.start + (text.len() - text.trim_start().len());
    let end = line.start + text.trim_end().len();
    (start < end).then_some(start..end)
}

/// Letters, digits, `_` and `-` around a byte.
fn word_at(document: &Document, byte: usize) -> Option<Range<usize>> {
    let line = document.line_range(document.to_protocol(byte, Encoding::Utf8).line)?;
    let text = document.slice(line.clone())?;
    let at = byte.checked_sub(line.start).filter(|at| text.is_char_boundary(*at))?;
    let is_word = |letter: char| letter.is_alphanumeric() || matches!(letter, '_' | '-');
    let before: usize = text[..at].chars().rev().take_while(|letter| is_word(*letter)).map(char::len_utf8).sum();
    let after: usize = text[at..].chars().take_while(|letter| is_word(*letter)).map(char::len_utf8).sum();
    (before + after > 0).then_some(byte - before..byte + after)
}

/// Those that touch the byte, from the innermost out, each strictly within the next; what crosses another is left out.
fn nested(mut around: Vec<Range<usize>>, byte: usize) -> Vec<Range<usize>> {
    around.retain(|bytes| touches(bytes, byte));
    around.sort_by_key(|bytes| (bytes.len(), bytes.start));
    let mut chain: Vec<Range<usize>> = Vec::new();
    for bytes in around {
        let fits =
            chain.last().is_none_or(|inner| bytes.start <= inner.start && inner.end <= bytes.end && bytes != *inner);
        if fits {
            chain.push(bytes);
        }
    }
    chain
}
