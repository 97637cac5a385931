//! What can be folded: tables with their sub-tables, values over several lines, runs of comments.

use std::borrow::Cow;
use std::ops::Range;

use guywire_plan::{Db, Entity, Local, Record, Stored};
use guywire_text::{Document, FileId};

use super::extent;
use crate::workspace::Workspace;

/// Something that can be folded: more than one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fold {
    /// From its first to its last byte.
    pub bytes: Range<usize>,
    /// What it is.
    pub kind: FoldKind,
}

/// What can be folded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoldKind {
    /// A table, from its header to the last thing in it.
    Table,
    /// An array, inline table or string: the last line, with the closing bracket or quotes, stays.
    Value,
    /// Lines of comments.
    Comment,
}

impl Workspace {
    /// What can be folded in a file, in text order.
    pub fn folds(&self, file: FileId) -> Vec<Fold> {
        let db = &self.engine.db;
        let Some(document) = db.document(file).filter(|_| db.file(file).kind.is_some()) else { return Vec::new() };
        let mut folds: Vec<Fold> = Vec::new();
        for id in db.entities_of(file) {
            let Some(entity) = db.entity(id) else { continue };
            let table = extent::of_table(db, entity).filter(|bytes| spans_lines(document, bytes));
            folds.extend(table.map(|bytes| Fold { bytes, kind: FoldKind::Table }));
            Values { db, document, entity, texts: &block_texts(document, entity) }.of(&entity.record, &mut folds);
        }
        let strings: Vec<Range<usize>> = {
            let mut values: Vec<Range<usize>> =
                folds.iter().filter(|fold| fold.kind == FoldKind::Value).map(|fold| fold.bytes.clone()).collect();
            values.retain(|bytes| is_string(document, bytes));
            values.sort_by_key(|bytes| bytes.start);
            values
        };
        folds.extend(comments(document, &strings));
        folds.sort_by_key(|fold| (fold.bytes.start, std::cmp::Reverse(fold.bytes.end)));
        folds.dedup();
        folds
    }
}

fn block_texts<'d>(document: &'d Document, entity: &Entity) -> Vec<Cow<'d, str>> {
    entity.blocks.iter().map(|block| document.block_text(*block).unwrap_or_default()).collect()
}

/// The values of an entity that run over several lines.
struct Values<'d> {
    db: &'d Db,
    document: &'d Document,
    entity: &'d Entity,
    /// The texts of its blocks.
    texts: &'d [Cow<'d, str>],
}

impl Values<'_> {
    fn of(&self, record: &Record, folds: &mut Vec<Fold>) {
        for slot in &record.slots {
            self.value(&slot.value, slot.at, folds);
        }
        for extra in &record.extras {
            self.value(&extra.value, extra.at, folds);
        }
    }

    fn value(&self, value: &Stored, at: Local, folds: &mut Vec<Fold>) {
        let text = self.texts.get(at.block as usize);
        let written = text.and_then(|text| text.get(at.start as usize..at.end as usize)).unwrap_or_default();
        // A table made by headers is told by the first of them, which has a fold of its own.
        let lines = written.contains(['\n', '\r']);
        if lines && let Some(bytes) = self.db.bytes(self.entity, at) {
            folds.push(Fold { bytes, kind: FoldKind::Value });
        }
        match value {
            Stored::Part(part) => {
                if !lines && written.starts_with('[') {
                    self.sub_table(part, folds);
                }
                self.of(part, folds);
            }
            Stored::List(elements) => {
                elements.iter().for_each(|element| self.value(&element.value, element.at, folds));
            }
            _ => {}
        }
    }

    fn sub_table(&self, part: &Record, folds: &mut Vec<Fold>) {
        let Some(mut bytes) = self.db.bytes(self.entity, part.at) else { return };
        extent::of_record(self.db, self.entity, part, &mut bytes);
        if spans_lines(self.document, &bytes) {
            folds.push(Fold { bytes, kind: FoldKind::Table });
        }
    }
}

fn spans_lines(document: &Document, bytes: &Range<usize>) -> bool {
    document.slice(bytes.clone()).is_some_and(|text| text.contains(['\n', '\r']))
}

fn is_string(document: &Document, bytes: &Range<usize>) -> bool {
    let start = document.slice(bytes.start..bytes.start + 1);
    start.is_some_and(|text| text.starts_with(['"', '\'']))
}

/// Two or more lines of nothing but comments. A `#` in a string of several lines is none.
fn comments(document: &Document, strings: &[Range<usize>]) -> Vec<Fold> {
    let mut folds = Vec::new();
    let mut run: Option<(Range<usize>, usize)> = None;
    let mut end_run = |run: &mut Option<(Range<usize>, usize)>| {
        if let Some((bytes, 2..)) = run.take() {
            folds.push(Fold { bytes, kind: FoldKind::Comment });
        }
    };
    let text = document.whole_text();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let written = line.trim_end_matches(['\n', '\r']);
        let first = start + (written.len() - written.trim_start().len());
        let is_comment = written.trim_start().starts_with('#') && !within(strings, first);
        if is_comment {
            let end = start + written.len();
            run = Some(run.map_or((first..end, 1), |(bytes, lines)| (bytes.start..end, lines + 1)));
        } else {
            end_run(&mut run);
        }
        start += line.len();
    }
    end_run(&mut run);
    folds
}

/// Whether a byte stands in one of the ranges, which are in order and do not overlap.
fn within(ranges: &[Range<usize>], byte: usize) -> bool {
    let after = ranges.partition_point(|bytes| bytes.start <= byte);
    after > 0 && ranges[after - 1].end > byte
}
