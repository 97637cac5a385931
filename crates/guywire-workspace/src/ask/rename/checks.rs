//! What a renaming must not do: take a name that is taken, or make a name lead elsewhere than before.

use guywire_plan::language::{FileKind, Kind, Type, channel, tables};
use guywire_plan::{Db, EntityId, FieldPath};
use guywire_rules::CATALOG;
use guywire_text::FileId;

use super::{Job, RenameRefusal, called, line_of};
use crate::ask::names::{self, Use};

/// Whether a text can be the name of a table of this kind at all.
pub(super) fn form(kind: Kind, new: &str) -> Result<(), RenameRefusal> {
    if new.is_empty() {
        return Err(RenameRefusal::Empty);
    }
    if new.contains(char::is_control) {
        return Err(RenameRefusal::Control);
    }
    let built_in = kind == Kind::HouseRule && CATALOG.iter().any(|rule| rule.about().name == new);
    if built_in || is_word(kind, new) {
        return Err(RenameRefusal::Reserved { name: new.to_owned(), noun: kind.noun() });
    }
    Ok(())
}

/// Whether a key that names tables of this kind takes this text as a word of its own.
fn is_word(kind: Kind, text: &str) -> bool {
    fn takes(form: &Type, kind: Kind, text: &str) -> bool {
        match form {
            Type::Refer(kinds, words) => kinds.contains(&kind) && words.contains(&text),
            Type::List(form) | Type::OneOrMore(form) => takes(form, kind, text),
            Type::Part(spec) | Type::Parts(spec) => spec.keys.iter().any(|key| takes(&key.value, kind, text)),
            Type::Either(first, second) => takes(first, kind, text) || takes(second, kind, text),
            _ => false,
        }
    }
    let all = [FileKind::Plan, FileKind::Field].into_iter().flat_map(tables);
    all.flat_map(|table| table.keys).any(|key| takes(&key.value, kind, text))
}

/// Two tables of one kind and name that a plan sees together hide one another.
pub(super) fn taken(job: &Job<'_>) -> Result<(), RenameRefusal> {
    let Some(new) = job.new else { return Ok(()) };
    let mut seen = std::iter::once(job.home)
        .chain(job.db.readers(job.home).into_iter().flat_map(|reader| job.db.looked_through(job.home, reader)));
    match seen.find(|file| !job.db.named(*file, job.kind, new).is_empty()) {
        Some(file) => Err(RenameRefusal::Taken {
            file: job.workspace.shown_path(file),
            noun: job.kind.noun(),
            name: job.text.to_owned(),
        }),
        None => Ok(()),
    }
}

/// The places that lead to the table and change with it. Each leads there only, and will under the new name; but where a
/// channel and the talkgroup that it calls have one name, a key that may name either keeps naming one of them.
pub(super) fn moved(job: &Job<'_>) -> Result<Vec<Use>, RenameRefusal> {
    let mut moved = Vec::new();
    for file in names::all_files(job.db) {
        let mut answers: Vec<(&[Kind], bool)> = Vec::new();
        for (at, kinds) in names::written_in(job.db, file, job.kind, job.old) {
            let moves = match answers.iter().find(|(known, _)| *known == kinds) {
                Some((_, moves)) => *moves,
                None => {
                    let moves = moves(job, at, file, kinds)?;
                    answers.push((kinds, moves));
                    moves
                }
            };
            if moves {
                moved.push(at);
            }
        }
    }
    Ok(moved)
}

/// Whether the names of a file that may mean these kinds lead to the table, and so change with it.
fn moves(job: &Job<'_>, at: Use, file: FileId, kinds: &[Kind]) -> Result<bool, RenameRefusal> {
    let readers = job.db.readers(file);
    let before: Vec<Vec<EntityId>> =
        readers.iter().map(|reader| job.db.leads_to(file, *reader, kinds, job.old)).collect();
    if !before.iter().any(|found| found.contains(&job.table)) {
        return Ok(false);
    }
    let after: Vec<Vec<EntityId>> = readers.iter().map(|reader| after(job, file, *reader, kinds)).collect();
    if let Some(other) = before.iter().flatten().find(|id| **id != job.table) {
        let others_stand = before.iter().flatten().all(|id| *id == job.table || stands_for(job, *id));
        if others_stand && after.iter().all(|found| found == &[job.table]) {
            return Ok(true);
        }
        if others_stand && left(job, file, kinds) {
            return Ok(false);
        }
        return Err(RenameRefusal::Divided { place: line_of(job, at), other: called(job.workspace, *other) });
    }
    for (before, after) in before.iter().zip(after) {
        if let Some(other) = after.iter().find(|id| !before.contains(id) && !stands_for(job, **id)) {
            return Err(RenameRefusal::Shadowed {
                name: job.text.to_owned(),
                other: called(job.workspace, *other),
                place: line_of(job, at),
            });
        }
    }
    Ok(true)
}

/// Whether a name that keeps its text still leads somewhere, through every plan, once the table is called otherwise.
fn left(job: &Job<'_>, file: FileId, kinds: &[Kind]) -> bool {
    job.db.readers(file).into_iter().all(|reader| {
        let named = |seen, kind| job.db.named(seen, kind, job.old).iter().copied().filter(|id| *id != job.table);
        let found = job.db.nearest(file, reader, kinds, named);
        !found.is_empty() && found.iter().all(|id| stands_for(job, *id))
    })
}

/// Whether it is one to name the table or this one, where a key may name a channel or a talkgroup: the one is a channel
/// that calls the other.
fn stands_for(job: &Job<'_>, other: EntityId) -> bool {
    calls(job.db, job.table, other) || calls(job.db, other, job.table)
}

fn calls(db: &Db, channel: EntityId, group: EntityId) -> bool {
    let Some(entity) = db.entity(channel).filter(|entity| entity.kind == Kind::Channel) else { return false };
    let path = FieldPath::key(channel::call.number());
    let call = db.references_in(channel).into_iter().find(|reference| reference.path == path);
    call.is_some_and(|call| names::targets(db, entity.file, call.kinds, call.name) == [group])
}

/// Names that are written already as the table will be called keep leading where they lead.
pub(super) fn captured(job: &Job<'_>) -> Result<(), RenameRefusal> {
    let Some(new) = job.new else { return Ok(()) };
    for file in names::all_files(job.db) {
        for (at, kinds) in names::written_in(job.db, file, job.kind, new) {
            let changes = |reader: &FileId| {
                let before = job.db.leads_to(file, *reader, kinds, new);
                let stand = !before.is_empty() && before.iter().all(|id| stands_for(job, *id));
                !stand && before != after(job, file, *reader, kinds)
            };
            if job.db.readers(file).iter().any(changes) {
                return Err(RenameRefusal::Captured { name: job.text.to_owned(), place: line_of(job, at) });
            }
        }
    }
    Ok(())
}

/// Where the new name will lead.
fn after(job: &Job<'_>, file: FileId, reader: FileId, kinds: &[Kind]) -> Vec<EntityId> {
    job.db.nearest(file, reader, kinds, |seen, kind| {
        let own = (seen == job.home && kind == job.kind).then_some(job.table);
        let others = job.new.map(|new| job.db.named(seen, kind, new)).unwrap_or_default();
        own.into_iter().chain(others.iter().copied())
    })
}
