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
mod many;
mod names;
mod numbers;
mod paths;
mod values;
mod waiver;

use guywire_plan::{Recorder, View};
use guywire_text::FileId;

use self::context::{Asked, Due, viewer};
use self::cursor::{Place, Token};
pub(crate) use self::many::Gathered;
use crate::answer::Completions;
use crate::workspace::Workspace;

/// What can be written at a byte of a file. `typed` is the character before it, where the question comes of its being
/// typed and of nothing else: then only where that character begins something.
pub(crate) fn complete(workspace: &Workspace, file: FileId, byte: usize, typed: Option<char>) -> Completions {
    let recorder = Recorder::silent();
    let view = View::new(&workspace.engine.db, viewer(&workspace.engine.db, file), &recorder);
    let Some(asked) = Asked::new(workspace, view, file, byte) else { return Completions::default() };
    if let Some(found) = waiver::complete(&asked, typed) {
        return found;
    }
    if typed.is_some_and(|typed| !begins(&asked, typed)) {
        return Completions::default();
    }
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

/// Whether a character that was just typed begins something at the cursor, and does not only end or part it.
fn begins(asked: &Asked<'_>, typed: char) -> bool {
    let written = asked.text[..asked.at].trim_end_matches([' ', '\t']);
    let cursor = &asked.cursor;
    match (typed, &cursor.place) {
        (' ', Place::Value(Token::Empty)) => !cursor.comma_before && written.ends_with(['=', ',', '[']),
        (' ', Place::Key { .. }) => cursor.around.is_some() && written.ends_with(['{', ',']),
        ('"' | '\'', Place::Value(Token::Quoted { inside, .. })) => inside.start == asked.at,
        ('=' | '[' | ',', Place::Value(Token::Empty)) => !cursor.comma_before,
        ('{' | ',', Place::Key { .. }) => cursor.around.is_some(),
        ('.', Place::Key { .. }) | ('[' | '.', Place::Header { .. }) => true,
        _ => false,
    }
}
