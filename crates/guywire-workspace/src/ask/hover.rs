//! What a hover says: what the key is for, what the name leads to, what the value comes to. A secret is never shown.

use guywire_plan::audience::Hearing;
use guywire_plan::language::{Computed, FileKind, describe, field};
use guywire_plan::{Db, EntityId, FoundAny, Recorder, Row, Stored, View, kind_of_path};
use guywire_text::FileId;

use super::computed::{Ask, say};
use super::locate::{Located, locate};
use super::page::Page;
use crate::answer::Hover;
use crate::load::capital;
use crate::workspace::Workspace;

/// What is to be said of the thing at a byte.
pub(crate) fn hover(workspace: &Workspace, file: FileId, byte: usize) -> Option<Hover> {
    let db = &workspace.engine.db;
    let located = locate(db, file, byte)?;
    let recorder = Recorder::silent();
    let view = View::new(db, viewer(db, file), &recorder);
    let mut page = Page::default();
    let hearing = Hearing::new(view);
    if located.path.steps().is_empty() {
        say_table(db, view, &located, &hearing, &mut page);
    } else {
        say_key(db, view, &located, &hearing, &mut page);
    }
    (!page.is_empty()).then(|| Hover { bytes: located.bytes, plain: page.plain(), markdown: page.markdown() })
}

/// Through which plan a file is shown: itself, the first that sees a part, the one that a field session names.
pub(crate) fn viewer(db: &Db, file: FileId) -> FileId {
    if db.is_plan(file) {
        return file;
    }
    if kind_of_path(&db.file(file).path) == Some(FileKind::Field) {
        let recorder = Recorder::silent();
        let session = View::new(db, file, &recorder);
        let plan = db.main(file).and_then(|id| session.get::<field::Table>(id)?.file(field::plan).value());
        return plan.filter(|plan| db.is_plan(*plan)).unwrap_or(file);
    }
    db.viewers(file).first().copied().unwrap_or(file)
}

fn say_table(db: &Db, view: View<'_>, located: &Located, hearing: &Hearing<'_>, page: &mut Page) {
    page.title(view.called(located.id));
    if !located.table.doc.is_empty() {
        page.prose(located.table.doc.to_owned());
    }
    let Some(ask) = Ask::of_table(db, view, located.id) else { return };
    say_all(located.table.computed(), &ask, hearing, page);
}

fn say_key(db: &Db, view: View<'_>, located: &Located, hearing: &Hearing<'_>, page: &mut Page) {
    let Some(key) = located.key else { return };
    let unit = key.unit().map(|unit| format!(" ({unit})")).unwrap_or_default();
    page.prose(format!("**{}**{unit}: {}", key.name, key.doc));
    if located.on_key {
        page.prose(format!("Takes {}.", describe(&key.value)));
    }
    if key.secret {
        page.prose("What is written here is a secret and is not shown. Keep it elsewhere, and say where.".to_owned());
        return;
    }
    let Some(ask) = Ask::of_key(db, view, located.id, located.path) else { return };
    if matches!(ask.value, Some(Stored::Unreadable(_))) {
        return;
    }
    say_all(key.computed.iter().filter(|computed| !computed.is_of_table()), &ask, hearing, page);
    if matches!(ask.value, Some(Stored::Text(_))) {
        say_reference(db, view, located, hearing, page);
    }
    let mut whole = key.computed.iter().filter(|computed| computed.is_of_table()).peekable();
    if whole.peek().is_some() {
        page.heading(capital(&view.called(located.id)) + ".");
    }
    say_all(whole, &ask, hearing, page);
}

fn say_all<'c>(
    computed: impl IntoIterator<Item = &'c Computed>,
    ask: &Ask<'_>,
    hearing: &Hearing<'_>,
    page: &mut Page,
) {
    computed.into_iter().for_each(|computed| say(*computed, ask, hearing, page));
}

fn say_reference(db: &Db, view: View<'_>, located: &Located, hearing: &Hearing<'_>, page: &mut Page) {
    let references = view.references(located.id);
    let Some(reference) = references.iter().find(|reference| reference.path == located.path && !reference.in_key)
    else {
        return;
    };
    match view.find_any(located.id, reference.kinds, reference.name) {
        FoundAny::Some(found) => found.iter().for_each(|id| say_target(db, view, *id, hearing, page)),
        FoundAny::Missing => page.prose("Nothing of that name is defined.".to_owned()),
        FoundAny::Unreadable => page.prose("What this names cannot be read.".to_owned()),
    }
}

/// The table that a name leads to, and what it comes to.
fn say_target(db: &Db, view: View<'_>, id: EntityId, hearing: &Hearing<'_>, page: &mut Page) {
    let mut heading = capital(&view.called(id));
    if let Some(file) = view.file_of(id)
        && file != view.viewer()
        && let Some(name) = view.path(file).file_name()
    {
        heading += &format!(", in {}", name.to_string_lossy());
    }
    page.heading(heading + ".");
    let Some(ask) = Ask::of_table(db, view, id) else { return };
    let computed = view.spec(id).map_or(&[] as &[Computed], |spec| spec.computed());
    say_all(computed, &ask, hearing, page);
}
