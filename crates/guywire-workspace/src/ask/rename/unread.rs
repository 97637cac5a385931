//! What cannot be read and may use the name that is to change.

use std::ops::Range;

use guywire_plan::language::{Kind, plan};
use guywire_plan::{Db, Entity, FileProblem, Form, Known, Record, Recorder, Stored, View};
use guywire_text::{BlockId, FileId};
use rustc_hash::FxHashSet;

use super::{Job, RenameRefusal, line};
use crate::ask::names;

/// Refuses where something that cannot be read shows the name, or where what a plan sees is not known and a use of the
/// name leads nowhere now.
pub(super) fn hidden(job: &Job<'_>) -> Result<(), RenameRefusal> {
    let refuse = |file, byte| Err(RenameRefusal::Hidden { place: line(job.workspace, file, byte) });
    for file in job.db.file_ids().filter(|file| sees(job, *file)) {
        if matches!(job.db.file(file).text, Err(FileProblem::Unreadable(_))) {
            return Err(RenameRefusal::Hidden { place: job.workspace.shown_path(file) });
        }
        if let Some(byte) = in_file(job, file) {
            return refuse(file, byte);
        }
    }
    let Some((file, byte)) = unread_scope(job.db) else { return Ok(()) };
    let lost = |file: &FileId| {
        let written = names::written_in(job.db, *file, job.kind, job.old);
        written.iter().any(|(_, kinds)| names::targets(job.db, *file, kinds, job.old).is_empty())
    };
    if names::all_files(job.db).iter().any(lost) { refuse(file, byte) } else { Ok(()) }
}

/// Whether names used in a file may lead to the table.
fn sees(job: &Job<'_>, file: FileId) -> bool {
    file == job.home
        || job.db.readers(file).into_iter().any(|reader| job.db.looked_through(file, reader).any(|it| it == job.home))
}

fn in_file(job: &Job<'_>, file: FileId) -> Option<usize> {
    let document = job.db.document(file)?;
    let spans = if job.db.is_sheet(file) {
        rows_left_out(job.db, file)
    } else if job.db.may_hide_use(file, job.kind) {
        unread(job.db, file, job.kind)
    } else {
        return None;
    };
    let old = job.db.symbols.text(job.old);
    let escaped = old.replace('\\', "\\\\").replace('"', "\\\"");
    spans.into_iter().find_map(|bytes| {
        let text = document.slice(bytes.clone())?;
        let at = text.find(old).or_else(|| text.find(&escaped))?;
        Some(bytes.start + at)
    })
}

fn rows_left_out(db: &Db, file: FileId) -> Vec<Range<usize>> {
    let recorder = Recorder::silent();
    let view = View::new(db, file, &recorder);
    let Some(document) = db.document(file) else { return Vec::new() };
    view.sheet_problems(file).iter().filter_map(|(span, _)| document.range(*span)).collect()
}

/// What cannot be read in the tables of a file that may name this kind: values, keys that the table does not know, and
/// in blocks with errors whatever no readable key stands for; comments left out.
fn unread(db: &Db, file: FileId, kind: Kind) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let broken: FxHashSet<BlockId> = db.errors(file).iter().map(|error| error.span.block).collect();
    let mut known: Vec<Range<usize>> = Vec::new();
    for id in db.tables_of(file) {
        let Some(entity) = db.entity(id) else { continue };
        let mut kinds = Vec::new();
        entity.use_gaps(&mut kinds);
        if entity.is_opaque() || kinds.contains(&kind) {
            in_record(db, entity, &entity.record, &mut found);
        }
        if !broken.is_empty() {
            readable(db, entity, &entity.record, &mut known);
        }
    }
    known.sort_by_key(|bytes| (bytes.start, bytes.end));
    for block in broken {
        rest_of_block(db, file, block, &known, &mut found);
    }
    found.sort_by_key(|bytes| (bytes.start, bytes.end));
    found
}

fn in_record(db: &Db, entity: &Entity, record: &Record, found: &mut Vec<Range<usize>>) {
    for slot in &record.slots {
        in_value(db, entity, &slot.value, slot.at, found);
    }
    if entity.is_opaque() || !record.spec.open {
        found.extend(record.extras.iter().filter_map(|extra| db.bytes(entity, extra.at)));
    }
}

fn in_value(db: &Db, entity: &Entity, value: &Stored, at: guywire_plan::Local, found: &mut Vec<Range<usize>>) {
    match value {
        Stored::Unreadable(_) => found.extend(db.bytes(entity, at)),
        Stored::Part(part) => in_record(db, entity, part, found),
        Stored::List(elements) => {
            elements.iter().for_each(|element| in_value(db, entity, &element.value, element.at, found));
        }
        _ => {}
    }
}

/// The headers and the keys with their values, as far as they can be read.
fn readable(db: &Db, entity: &Entity, record: &Record, known: &mut Vec<Range<usize>>) {
    if entity.form != Form::UnreadableHeader {
        known.extend(db.bytes(entity, record.at));
    }
    for slot in record.slots.iter().filter(|slot| !matches!(slot.value, Stored::Unreadable(_))) {
        if let (Some(key), Some(at)) = (db.bytes(entity, slot.key), db.bytes(entity, slot.at)) {
            known.push(key);
            known.push(at);
        }
        super::super::extent::parts(slot).into_iter().for_each(|part| readable(db, entity, part, known));
    }
}

/// What of a block is under no known place. `known` is ordered.
fn rest_of_block(db: &Db, file: FileId, block: BlockId, known: &[Range<usize>], found: &mut Vec<Range<usize>>) {
    let Some(document) = db.document(file) else { return };
    let (Some(start), Some(text)) = (document.start(block), document.block_text(block)) else { return };
    let mut line_start = start;
    for line in text.split_inclusive('\n') {
        let line_end = line_start + line.len();
        if !line.trim_start().starts_with('#') {
            let mut at = line_start;
            for bytes in known.iter().filter(|bytes| bytes.end > line_start && bytes.start < line_end) {
                if bytes.start > at {
                    found.push(at..bytes.start);
                }
                at = at.max(bytes.end.min(line_end));
            }
            if at < line_end {
                found.push(at..line_end);
            }
        }
        line_start = line_end;
    }
}

/// A plan that shares, or a field session that is about, something that cannot be read; and where.
fn unread_scope(db: &Db) -> Option<(FileId, usize)> {
    names::all_files(db).into_iter().find_map(|file| {
        let Some(main) = db.main(file) else {
            let lost = |id: &_| db.entity(*id).is_some_and(|entity| is_lost_header(db, entity));
            return db.entities_of(file).find(lost).map(|id| (file, db.header_start(id)));
        };
        let entity = db.entity(main)?;
        let field = match entity.kind {
            Kind::Plan => plan::shares.number(),
            Kind::Field => guywire_plan::language::field::plan.number(),
            _ => return None,
        };
        let unread = match entity.record.known(field) {
            Known::Unreadable => true,
            Known::Is(Stored::List(elements)) => elements.iter().any(|element| is_unread(db, &element.value)),
            Known::Is(value) => is_unread(db, value),
            Known::Absent => false,
        };
        unread.then(|| (file, db.header_start(main)))
    })
}

/// A path that cannot be read, or that leads to no text.
fn is_unread(db: &Db, value: &Stored) -> bool {
    match value {
        Stored::File(file) => db.document(*file).is_none(),
        _ => true,
    }
}

/// A table without a readable header that has the key which tells what a plan, or a field session, sees.
fn is_lost_header(db: &Db, entity: &Entity) -> bool {
    let tells = |name: &str| matches!(name, "shares" | "plan");
    entity.form == Form::UnreadableHeader && entity.record.extras.iter().any(|extra| tells(db.symbols.text(extra.name)))
}
