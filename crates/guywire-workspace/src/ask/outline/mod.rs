//! The outline of a file, and the search for a name in all of them.

mod detail;

use std::ops::Range;

use guywire_plan::language::{Kind, Many};
use guywire_plan::{Db, Element, Entity, EntityId, Record, Stored};
use guywire_text::FileId;

use super::extent::{self, Run};
use super::names::{self, FileBytes, Use};
use crate::load::capital;
use crate::workspace::Workspace;

/// Names found in all files that are shown.
pub const MOST_FOUND: usize = 500;

/// What an item of the outline is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ItemKind {
    /// Tables of one kind that follow each other.
    Group,
    /// A table.
    Table(Kind),
    /// A table in a table.
    Part,
    /// A position of the knob.
    Position,
}

/// An item of the outline.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutlineItem {
    /// What it is.
    pub kind: ItemKind,
    /// How it is called.
    pub name: String,
    /// What it comes to, in a few words; may be empty.
    pub detail: String,
    /// All of it.
    pub bytes: Range<usize>,
    /// Its name, else its header; within `bytes`.
    pub name_bytes: Range<usize>,
    /// What is in it, in text order; a zone's positions in the order of the knob.
    pub children: Vec<OutlineItem>,
}

/// A table found by its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FoundName {
    /// The name.
    pub name: String,
    /// What has it.
    pub kind: Kind,
    /// Where: the name itself.
    pub at: FileBytes,
}

impl Workspace {
    /// The outline of a file: tables by runs of one kind, in text order, with their sub-tables; the positions of zones.
    pub fn outline(&self, file: FileId) -> Vec<OutlineItem> {
        let db = &self.engine.db;
        let reader = db.readers(file).first().copied().unwrap_or(file);
        extent::runs(db, file).into_iter().flat_map(|run| run_items(db, reader, &run)).collect()
    }

    /// The tables of all files whose name has the letters of `query` in that order, small or capital: those that begin
    /// with it first, then those that hold it whole, then by length, name, path and place; at most [`MOST_FOUND`].
    pub fn find_names(&self, query: &str) -> Vec<FoundName> {
        let db = &self.engine.db;
        let query = query.to_lowercase();
        let mut found: Vec<(u8, usize, FoundName)> = Vec::new();
        for file in names::all_files(db) {
            for id in db.entities_of(file) {
                let Some(entity) = db.entity(id) else { continue };
                let Some(name) = entity.name().value().map(|name| db.symbols.text(name)) else { continue };
                let Some(rank) = rank(name, &query) else { continue };
                let Some(path) = names::name_path(entity.record.spec) else { continue };
                let Some(at) = names::place(db, Use { id, path, in_key: false }) else { continue };
                found.push((rank, name.chars().count(), FoundName { name: name.to_owned(), kind: entity.kind, at }));
            }
        }
        found.sort_by(|(a_rank, a_length, a), (b_rank, b_length, b)| {
            let path = |it: &FoundName| &db.file(it.at.file).path;
            (a_rank, a_length, &a.name, path(a), a.at.bytes.start).cmp(&(
                b_rank,
                b_length,
                &b.name,
                path(b),
                b.at.bytes.start,
            ))
        });
        found.into_iter().take(MOST_FOUND).map(|(.., found)| found).collect()
    }
}

/// How well a name answers a query in small letters; none where it does not.
fn rank(name: &str, query: &str) -> Option<u8> {
    let name = name.to_lowercase();
    if name.starts_with(query) {
        return Some(0);
    }
    if name.contains(query) {
        return Some(1);
    }
    let mut letters = name.chars();
    query.chars().all(|wanted| letters.any(|letter| letter == wanted)).then_some(2)
}

/// A run of several is one item with the tables in it.
fn run_items(db: &Db, reader: FileId, run: &Run) -> Vec<OutlineItem> {
    let tables: Vec<OutlineItem> =
        run.tables.iter().filter_map(|(id, bytes)| table_item(db, reader, *id, bytes.clone())).collect();
    let groups = language_many(db, run) && tables.len() > 1;
    let (true, Some(first)) = (groups, tables.first()) else { return tables };
    vec![OutlineItem {
        kind: ItemKind::Group,
        name: format!("{}s", capital(run.kind.noun())),
        detail: tables.len().to_string(),
        bytes: run.bytes(),
        name_bytes: first.name_bytes.clone(),
        children: tables,
    }]
}

/// Whether any number of such tables stand in a file.
fn language_many(db: &Db, run: &Run) -> bool {
    let entity = run.tables.first().and_then(|(id, _)| db.entity(*id));
    entity.is_some_and(|entity| entity.kind != Kind::Unknown && entity.record.spec.many == Many::Any)
}

fn table_item(db: &Db, reader: FileId, id: EntityId, bytes: Range<usize>) -> Option<OutlineItem> {
    let entity = db.entity(id)?;
    let header = db.bytes(entity, entity.record.at)?;
    let own = names::name_path(entity.record.spec).map(|path| Use { id, path, in_key: false });
    let name_bytes = own.and_then(|at| names::place(db, at)).map_or(header, |place| place.bytes);
    let name = match entity.name().value() {
        Some(name) => db.symbols.text(name).to_owned(),
        None => detail::nameless(db, entity),
    };
    Some(OutlineItem {
        kind: ItemKind::Table(entity.kind),
        name: if name.trim().is_empty() { format!("({} without a name)", entity.kind.noun()) } else { name },
        detail: detail::of_table(db, reader, id, entity),
        bytes: bytes.start.min(name_bytes.start)..bytes.end.max(name_bytes.end),
        name_bytes,
        children: children(db, entity, &entity.record),
    })
}

/// The tables in a table, and the positions of a zone.
fn children(db: &Db, entity: &Entity, record: &Record) -> Vec<OutlineItem> {
    let mut items: Vec<OutlineItem> = Vec::new();
    for slot in &record.slots {
        let key = record.spec.key(slot.field);
        if let (Kind::Zone, "channels", Stored::List(elements)) = (entity.kind, key.name, &slot.value) {
            items.extend(positions(db, entity, elements));
            continue;
        }
        for part in extent::parts(slot) {
            let Some(mut bytes) = db.bytes(entity, part.at) else { continue };
            let name_bytes = bytes.clone();
            extent::of_record(db, entity, part, &mut bytes);
            items.push(OutlineItem {
                kind: ItemKind::Part,
                name: key.name.to_owned(),
                detail: detail::of_part(db, entity, part),
                bytes,
                name_bytes,
                children: children(db, entity, part),
            });
        }
    }
    items
}

fn positions(db: &Db, entity: &Entity, elements: &[Element]) -> Vec<OutlineItem> {
    let item = |(number, element): (usize, &Element)| {
        let bytes = db.bytes(entity, element.at)?;
        let said = match element.value {
            Stored::Text(name) if db.symbols.text(name).is_empty() => "(empty)",
            Stored::Text(name) => db.symbols.text(name),
            _ => "(not readable)",
        };
        Some(OutlineItem {
            kind: ItemKind::Position,
            name: format!("{} {said}", number + 1),
            detail: String::new(),
            name_bytes: bytes.clone(),
            bytes,
            children: Vec::new(),
        })
    };
    elements.iter().enumerate().filter_map(item).collect()
}
