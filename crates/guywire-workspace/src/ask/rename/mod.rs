//! Renames a table with everything that leads to it, or says why not: afterwards every name leads where it led before.

mod checks;
mod respell;
mod unread;

use std::ops::Range;

use guywire_plan::language::Kind;
use guywire_plan::{Db, EntityId, Symbol};
use guywire_text::FileId;

use super::names::{self, Subject, Use};
use crate::answer::TextEdit;
use crate::workspace::Workspace;

/// A name that can be renamed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Renamable {
    /// Its bytes, quotes left out but where the cursor is on one.
    pub bytes: Range<usize>,
    /// The name, unescaped.
    pub name: String,
}

/// Why a name is not renamed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RenameRefusal {
    /// The cursor is on no name.
    #[error("there is no name here: put the cursor on the name of a table, or where it is used")]
    NoName,
    /// The name has no table.
    #[error("no table has this name, so there is nothing to rename: correct it, or define the table")]
    LeadsNowhere,
    /// The name has several tables.
    #[error("this name leads to {tables}, so which one is meant is not known: give them different names by hand first")]
    Ambiguous {
        /// Those tables.
        tables: String,
    },
    /// No text.
    #[error("a name cannot be empty: write at least one character")]
    Empty,
    /// A control character.
    #[error("a name cannot hold line breaks or other control characters: leave them out")]
    Control,
    /// A word with a meaning of its own.
    #[error("\"{name}\" has a meaning of its own where a {noun} is named: choose another name")]
    Reserved {
        /// The name asked for.
        name: String,
        /// What it was to be the name of.
        noun: &'static str,
    },
    /// The name is given already.
    #[error("{file} has a {noun} \"{name}\" already: choose another name")]
    Taken {
        /// Where.
        file: String,
        /// What has it.
        noun: &'static str,
        /// The name asked for.
        name: String,
    },
    /// A name that led here would lead elsewhere.
    #[error("\"{name}\" would lead to {other} from {place}: choose another name")]
    Shadowed {
        /// The name asked for.
        name: String,
        /// Where it would lead.
        other: String,
        /// Where it is used.
        place: String,
    },
    /// A name that leads elsewhere would lead here.
    #[error("{place} names \"{name}\" already and would then lead here: choose another name")]
    Captured {
        /// The name asked for.
        name: String,
        /// Where it is used.
        place: String,
    },
    /// The name leads to different tables, depending on the plan.
    #[error(
        "{place} names this too, and another plan that sees it has {other} of that name: rename there by hand, plan by plan"
    )]
    Divided {
        /// Where it is used.
        place: String,
        /// What it leads to besides.
        other: String,
    },
    /// A use may be hidden.
    #[error("{place} is not understood and may use this name: mend it first")]
    Hidden {
        /// Where.
        place: String,
    },
    /// A sheet cannot hold the name.
    #[error("a cell of {file} cannot hold this name: it has blanks around it, or separates names")]
    Sheet {
        /// The sheet.
        file: String,
    },
    /// A file that is only read.
    #[error("{file} stands outside the folders that are open and is only read: open its folder too")]
    Outside {
        /// The file.
        file: String,
    },
}

/// One renaming.
struct Job<'w> {
    workspace: &'w Workspace,
    db: &'w Db,
    table: EntityId,
    home: FileId,
    kind: Kind,
    old: Symbol,
    /// None where nothing has or uses that name.
    new: Option<Symbol>,
    text: &'w str,
}

impl Workspace {
    /// What would be renamed at this byte.
    ///
    /// # Errors
    /// [`RenameRefusal`] where there is no name, or one that leads to no table or to several.
    pub fn prepare_rename(&self, file: FileId, byte: usize) -> Result<Renamable, RenameRefusal> {
        let (bytes, _, name) = at(self, file, byte)?;
        // Clients expect the cursor within; it may stand on a quote.
        let bytes = bytes.start.min(byte)..bytes.end.max(byte);
        Ok(Renamable { bytes, name: self.engine.db.symbols.text(name).to_owned() })
    }

    /// The edits that give the table whose name, or whose use, is at this byte another name: there and wherever it is
    /// used, in order of path and place, none overlapping. None where it has that name already.
    ///
    /// # Errors
    /// [`RenameRefusal`] where a name would afterwards lead elsewhere than before, or that is not known.
    pub fn rename(&self, file: FileId, byte: usize, new: &str) -> Result<Vec<TextEdit>, RenameRefusal> {
        let db = &self.engine.db;
        let (_, table, old) = at(self, file, byte)?;
        let entity = db.entity(table).ok_or(RenameRefusal::NoName)?;
        let (home, kind) = (entity.file, entity.kind);
        checks::form(kind, new)?;
        if db.symbols.text(old) == new {
            return Ok(Vec::new());
        }
        let job = Job { workspace: self, db, table, home, kind, old, new: db.symbols.find(new), text: new };
        checks::taken(&job)?;
        let mut places = checks::moved(&job)?;
        checks::captured(&job)?;
        unread::hidden(&job)?;
        let own = names::name_path(entity.record.spec).ok_or(RenameRefusal::NoName)?;
        places.push(Use { id: table, path: own, in_key: false });
        let edits = edits(&job, &places)?;
        match edits.iter().find(|edit| edit.file != file && outside(self, edit.file)) {
            Some(edit) => Err(RenameRefusal::Outside { file: self.shown_path(edit.file) }),
            None => Ok(edits),
        }
    }
}

/// The name at a byte, and the one table that it leads to.
fn at(workspace: &Workspace, file: FileId, byte: usize) -> Result<(Range<usize>, EntityId, Symbol), RenameRefusal> {
    let db = &workspace.engine.db;
    let pointed = names::pointed(db, file, byte).ok_or(RenameRefusal::NoName)?;
    let (Some(_), Subject::Tables(tables)) = (pointed.written, pointed.subject) else {
        return Err(RenameRefusal::NoName);
    };
    let [table] = tables.as_slice() else {
        return Err(match tables.len() {
            0 => RenameRefusal::LeadsNowhere,
            _ => RenameRefusal::Ambiguous { tables: called_all(workspace, &tables) },
        });
    };
    let entity = db.entity(*table).ok_or(RenameRefusal::LeadsNowhere)?;
    let name = entity.name().value().ok_or(RenameRefusal::NoName)?;
    let namesakes = db.named(entity.file, entity.kind, name);
    if namesakes.len() > 1 {
        return Err(RenameRefusal::Ambiguous { tables: called_all(workspace, namesakes) });
    }
    Ok((pointed.bytes, *table, name))
}

fn edits(job: &Job<'_>, places: &[Use]) -> Result<Vec<TextEdit>, RenameRefusal> {
    let mut edits: Vec<TextEdit> = places.iter().map(|at| edit(job, *at)).collect::<Result<_, _>>()?;
    edits.sort_by(|a, b| {
        let path = |edit: &TextEdit| &job.db.file(edit.file).path;
        (path(a), a.bytes.start).cmp(&(path(b), b.bytes.start))
    });
    // A cell that holds the name twice is written once.
    edits.dedup();
    Ok(edits)
}

fn edit(job: &Job<'_>, at: Use) -> Result<TextEdit, RenameRefusal> {
    let place = names::token(job.db, at).ok_or(RenameRefusal::NoName)?;
    let document = job.db.document(place.file).ok_or(RenameRefusal::NoName)?;
    let written = document.slice(place.bytes.clone()).ok_or(RenameRefusal::NoName)?;
    let text = if job.db.is_sheet(place.file) {
        let list = at.path.steps().len() > 1;
        if job.text.trim() != job.text || (list && job.text.contains([';', '|'])) {
            return Err(RenameRefusal::Sheet { file: job.workspace.shown_path(place.file) });
        }
        respell::cell(&written, list, job.db.symbols.text(job.old), job.text)
    } else {
        respell::toml(&written, job.text)
    };
    Ok(TextEdit { file: place.file, bytes: place.bytes, text })
}

fn outside(workspace: &Workspace, file: FileId) -> bool {
    let path = &workspace.engine.db.file(file).path;
    let roots = workspace.roots();
    !roots.is_empty() && !roots.iter().any(|root| path.starts_with(root))
}

fn called(workspace: &Workspace, id: EntityId) -> String {
    let db = &workspace.engine.db;
    let Some(entity) = db.entity(id) else { return "a table".to_owned() };
    let name = entity.name().value().map(|name| format!(" \"{}\"", db.symbols.text(name))).unwrap_or_default();
    format!("{}{name} in {}", entity.kind.noun(), line(workspace, entity.file, db.header_start(id)))
}

fn called_all(workspace: &Workspace, ids: &[EntityId]) -> String {
    let mut all: Vec<String> = ids.iter().map(|id| called(workspace, *id)).collect();
    all.sort();
    all.join(" and ")
}

/// A place of a file for people: path and line.
fn line(workspace: &Workspace, file: FileId, byte: usize) -> String {
    let number = workspace.document(file).map(|document| document.to_protocol(byte, guywire_text::Encoding::Utf8).line);
    format!("{} line {}", workspace.shown_path(file), number.unwrap_or_default() + 1)
}

/// Where a name is written, for people.
fn line_of(job: &Job<'_>, at: Use) -> String {
    match names::place(job.db, at) {
        Some(place) => line(job.workspace, place.file, place.bytes.start),
        None => "a place".to_owned(),
    }
}
