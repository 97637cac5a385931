//! Where the name under the cursor is defined, and where it is used.

use std::ops::Range;

use guywire_plan::{Db, EntityId};
use guywire_text::FileId;

use super::extent;
use super::names::{self, FileBytes, Pointed, Subject, Use};
use crate::workspace::Workspace;

/// What a name or a path leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Definition {
    /// The name or path under the cursor, quotes left out.
    pub origin: Range<usize>,
    /// What it leads to, in order of path and place: several where the name is ambiguous, or where plans that see it have
    /// different ones.
    pub targets: Vec<DefinitionTarget>,
}

/// A table, or a file of which nothing is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefinitionTarget {
    /// The file.
    pub file: FileId,
    /// Bytes of the whole table.
    pub bytes: Range<usize>,
    /// Bytes of its name, else of its header.
    pub name: Range<usize>,
}

/// A place of a file that names the same as the one under the cursor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Highlight {
    /// Bytes of the name, quotes left out.
    pub bytes: Range<usize>,
    /// The name is given here; else it is used here.
    pub definition: bool,
}

impl Workspace {
    /// Where the name or path at this byte leads. None where nothing there leads anywhere.
    pub fn definition(&self, file: FileId, byte: usize) -> Option<Definition> {
        let db = &self.engine.db;
        let Pointed { bytes, subject, .. } = names::pointed(db, file, byte)?;
        let targets: Vec<DefinitionTarget> = match subject {
            Subject::Tables(tables) => tables.iter().filter_map(|id| target(db, *id)).collect(),
            Subject::File(named) => file_target(db, named).into_iter().collect(),
        };
        (!targets.is_empty()).then_some(Definition { origin: bytes, targets })
    }

    /// Every place, in every file, that leads to what the name, path or header at this byte is about; in order of path
    /// and place. With `declaration`, the place that gives the name too.
    pub fn references(&self, file: FileId, byte: usize, declaration: bool) -> Vec<FileBytes> {
        let db = &self.engine.db;
        let Some(pointed) = names::pointed(db, file, byte) else { return Vec::new() };
        let mut found = Vec::new();
        let tables = tables(db, &pointed.subject);
        if let Subject::File(named) = pointed.subject
            && tables.is_empty()
        {
            found.extend(names::paths_to(db, named));
        }
        for table in tables {
            if declaration {
                found.extend(target(db, table).map(|it| FileBytes { file: it.file, bytes: it.name }));
            }
            found.extend(names::uses_of(db, table));
        }
        names::put_in_order(db, &mut found);
        found
    }

    /// Every place of the file that names the same as the one at this byte, in text order.
    pub fn highlights(&self, file: FileId, byte: usize) -> Vec<Highlight> {
        let db = &self.engine.db;
        let Some(pointed) = names::pointed(db, file, byte) else { return Vec::new() };
        let mut found: Vec<Highlight> = Vec::new();
        for table in tables(db, &pointed.subject) {
            let own = target(db, table).filter(|it| it.file == file);
            found.extend(own.map(|it| Highlight { bytes: it.name, definition: true }));
            let uses = names::uses_in(db, file, table).into_iter().filter_map(|at| names::place(db, at));
            found.extend(uses.map(|place| Highlight { bytes: place.bytes, definition: false }));
        }
        if let Subject::File(named) = pointed.subject {
            let paths = names::paths_in(db, file).into_iter().filter(|(_, other)| *other == named);
            found.extend(paths.map(|(place, _)| Highlight { bytes: place.bytes, definition: false }));
        }
        found.sort_by_key(|it| (it.bytes.start, it.bytes.end));
        found.dedup();
        found
    }
}

/// The tables that a place is about; for a path, what the file is about.
fn tables(db: &Db, subject: &Subject) -> Vec<EntityId> {
    match subject {
        Subject::Tables(tables) => tables.clone(),
        Subject::File(file) => db.main(*file).into_iter().collect(),
    }
}

fn target(db: &Db, id: EntityId) -> Option<DefinitionTarget> {
    let entity = db.entity(id)?;
    let header = db.bytes(entity, entity.record.at)?;
    let own = names::name_path(entity.record.spec).map(|path| Use { id, path, in_key: false });
    let name = own.and_then(|at| names::place(db, at)).map_or_else(|| header.clone(), |place| place.bytes);
    let bytes = extent::of_table(db, entity)?;
    let bytes = bytes.start.min(name.start)..bytes.end.max(name.end);
    Some(DefinitionTarget { file: entity.file, bytes, name })
}

fn file_target(db: &Db, file: FileId) -> Option<DefinitionTarget> {
    db.document(file)?;
    let main = db.main(file).and_then(|main| target(db, main));
    main.or(Some(DefinitionTarget { file, bytes: 0..0, name: 0..0 }))
}
