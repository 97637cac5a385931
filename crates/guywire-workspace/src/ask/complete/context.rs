//! Where a cursor is in the language: which table, which key, what a value there must be.

use std::borrow::Cow;

use guywire_plan::language::{self, FileKind, KeySpec, Kind, TableSpec, Type, parts_in, table_named};
use guywire_plan::{Db, EntityId, Record, Stored, View};
use guywire_text::{BlockId, Document, FileId};

use super::cursor::{Cursor, HeaderLine, Pair, Step, look, text_of};
use crate::workspace::Workspace;

/// All that an answer is made of.
pub(crate) struct Asked<'w> {
    pub workspace: &'w Workspace,
    pub view: View<'w>,
    pub file: FileId,
    pub kind: FileKind,
    pub document: &'w Document,
    /// Where the block starts in the file.
    pub base: usize,
    /// The text of the block.
    pub text: Cow<'w, str>,
    /// The cursor in it.
    pub at: usize,
    pub cursor: Cursor,
    /// The table around the cursor.
    pub id: Option<EntityId>,
}

/// What a step from a file leads to.
#[derive(Clone, Copy)]
pub(crate) enum Due {
    /// The file itself: tables.
    Root,
    /// A table: keys.
    Table(&'static TableSpec),
    /// The value of a key; none: of a key that the table leaves open.
    Value(Want),
    /// Nothing that the language has.
    Unknown,
}

/// What a value must be.
#[derive(Clone, Copy)]
pub(crate) struct Want {
    /// The table of the key.
    pub table: &'static TableSpec,
    /// The key; none where the table leaves it open.
    pub key: Option<&'static KeySpec>,
    /// Its form; in a list, that of an element.
    pub form: &'static Type,
}

impl Want {
    /// Whether it is the value of this key of this table.
    pub fn is(&self, table: &'static TableSpec, key: &str) -> bool {
        std::ptr::eq(self.table, table) && self.key.is_some_and(|it| it.name == key)
    }
}

/// The file through which names of a file are looked for: the first plan that sees it; of a field session, its plan.
pub(crate) fn viewer(db: &Db, file: FileId) -> FileId {
    if db.is_plan(file) {
        return file;
    }
    let main = db.main(file).and_then(|main| db.entity(main));
    if let Some(main) = main.filter(|main| main.kind == Kind::Field)
        && let Some(Stored::File(plan)) = slot(&main.record, language::field::plan.number())
    {
        return *plan;
    }
    db.viewers(file).first().copied().unwrap_or(file)
}

/// What is written under a key, whatever cannot be read around it.
pub(crate) fn slot(record: &Record, field: u8) -> Option<&Stored> {
    record.slot(field).map(|slot| &slot.value)
}

impl<'w> Asked<'w> {
    /// What is around a byte of a file; none where the file is none of the language.
    pub fn new(workspace: &'w Workspace, view: View<'w>, file: FileId, byte: usize) -> Option<Self> {
        let db = &workspace.engine.db;
        let kind = db.file(file).kind?;
        let document = db.document(file)?;
        let (block, at) = document.at(byte);
        let text = document.block_text(block)?;
        let at = (0..=(at as usize).min(text.len())).rev().find(|at| text.is_char_boundary(*at))?;
        let base = document.start(block)?;
        let cursor = look(&text, at);
        let id = entity_around(db, file, document, block, base + at);
        Some(Asked { workspace, view, file, kind, document, base, text, at, cursor, id })
    }

    pub fn db(&self) -> &'w Db {
        &self.workspace.engine.db
    }

    /// What is written in the table around the cursor, as far as it can be read.
    pub fn record(&self) -> Option<&'w Record> {
        Some(&self.db().entity(self.id?)?.record)
    }

    /// What the steps to the cursor lead to.
    pub fn due(&self) -> Due {
        due(self.kind, self.cursor.header.as_ref(), &self.cursor.steps)
    }

    /// The text of a key beside the cursor, in the innermost table.
    pub fn beside(&self, key: &str) -> Option<String> {
        let pair = self.pair(key)?;
        text_of(self.text.get(pair.value.clone())?.trim())
    }

    /// What is written under a key beside the cursor, in the innermost table.
    pub fn written(&self, key: &str) -> Option<&str> {
        self.text.get(self.pair(key)?.value.clone()).map(str::trim)
    }

    fn pair(&self, key: &str) -> Option<&Pair> {
        let pairs = self.cursor.around.as_ref().unwrap_or(&self.cursor.statements);
        pairs.iter().find(|pair| pair.key.len() == 1 && pair.key[0] == key)
    }
}

/// The table of a header.
pub(crate) fn table_at(kind: FileKind, path: &[String]) -> Option<&'static TableSpec> {
    let (first, rest) = path.split_first()?;
    rest.iter().try_fold(table_named(kind, first)?, |table, part| {
        parts_in(form_of(table, part)?).first().map(|(spec, _)| *spec)
    })
}

fn form_of(table: &'static TableSpec, key: &str) -> Option<&'static Type> {
    match table.field(key) {
        Some(field) => Some(&table.key(field).value),
        None => table.open.then_some(&table.open_value),
    }
}

fn due(kind: FileKind, header: Option<&HeaderLine>, steps: &[Step]) -> Due {
    let start = match header {
        None => Due::Root,
        Some(header) => table_at(kind, &header.path).map_or(Due::Unknown, Due::Table),
    };
    steps.iter().fold(start, |due, step| match (due, step) {
        (Due::Root, Step::Key(name)) => table_named(kind, name).map_or(Due::Unknown, Due::Table),
        (Due::Table(table), Step::Key(name)) => in_table(table, name),
        // `channel = [{…}]` at the root of a file.
        (Due::Table(table), Step::Element) => Due::Table(table),
        (Due::Value(want), Step::Element) => {
            element_of(want.form).map_or(Due::Unknown, |form| Due::Value(Want { form, ..want }))
        }
        (Due::Value(want), Step::Key(name)) => {
            parts_in(want.form).first().map_or(Due::Unknown, |(part, _)| in_table(part, name))
        }
        (Due::Root, Step::Element) | (Due::Unknown, _) => Due::Unknown,
    })
}

fn in_table(table: &'static TableSpec, name: &str) -> Due {
    let key = table.field(name).map(|field| table.key(field));
    form_of(table, name).map_or(Due::Unknown, |form| Due::Value(Want { table, key, form }))
}

/// The form of the elements of a list of this form; for tables the form itself.
pub(crate) fn element_of(form: &'static Type) -> Option<&'static Type> {
    match form {
        Type::List(form) | Type::OneOrMore(form) => Some(form),
        Type::Parts(_) => Some(form),
        Type::Either(first, second) => element_of(first).or_else(|| element_of(second)),
        _ => None,
    }
}

/// The last table of the cursor's unit that begins before the cursor.
pub(crate) fn entity_around(
    db: &Db,
    file: FileId,
    document: &Document,
    block: BlockId,
    byte: usize,
) -> Option<EntityId> {
    let units = document.units_of(block);
    let entities = units.iter().flat_map(|unit| db.entities_of_unit(file, unit)).copied();
    entities.filter(|id| db.header_start(*id) <= byte).max_by_key(|id| db.header_start(*id))
}

/// A list of names, where every element is one.
pub(crate) fn names_in(value: Option<&Stored>, view: View<'_>) -> Vec<String> {
    let Some(Stored::List(elements)) = value else { return Vec::new() };
    elements
        .iter()
        .filter_map(|element| match &element.value {
            Stored::Text(name) => Some(view.symbol(*name).to_owned()),
            _ => None,
        })
        .collect()
}

/// The rank of a table among the others of a file: the first kind comes first while the file has none.
pub(crate) fn main_first(asked: &Asked<'_>, table: &'static TableSpec, rank: u8) -> u8 {
    let first = language::tables(asked.kind).first().is_some_and(|first| std::ptr::eq(*first, table));
    if first && asked.db().is_empty(asked.file) { 0 } else { rank }
}
