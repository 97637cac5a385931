//! What can be written at a place, with what it is for. It works in a line that is half typed and in a file that is
//! broken elsewhere, and never shows a secret.

mod air;
mod context;
mod cursor;
mod fit;
mod headers;
mod item;
mod keys;
mod known;
mod names;
mod numbers;
mod paths;
mod values;

use guywire_plan::{Recorder, View};
use guywire_text::FileId;

use self::context::{Asked, Due, viewer};
use self::cursor::Place;
use crate::answer::Completions;
use crate::workspace::Workspace;

/// What can be written at a byte of a file.
pub(crate) fn complete(workspace: &Workspace, file: FileId, byte: usize) -> Completions {
    let recorder = Recorder::new(None);
    let view = View::new(&workspace.engine.db, viewer(&workspace.engine.db, file), &recorder);
    let Some(asked) = Asked::new(workspace, view, file, byte) else { return Completions::default() };
    let (items, incomplete) = match &asked.cursor.place {
        Place::Nothing => return Completions::default(),
        Place::Header { .. } => headers::complete(&asked),
        Place::Key { .. } => keys::complete(&asked),
        Place::Value(token) => match asked.due() {
            Due::Value(want) => values::complete(&asked, want, token),
            Due::Root | Due::Table(_) | Due::Unknown => return Completions::default(),
        },
    };
    Completions { items, incomplete }
}
