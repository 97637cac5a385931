//! Headers of tables, each with the keys that the table cannot do without.

use guywire_plan::language::{Many, TableSpec, parts_in, table_named, tables};
use guywire_plan::{Entity, EntityId};

use super::context::{Asked, Due};
use super::cursor::{HeaderLine, Place, look};
use super::item::{Content, Draft, Fitted, Written, finish};
use super::{context, keys};
use crate::answer::{Completion, CompletionKind};

/// Order of headers: parts of the table before, tables of the file, and both after the keys of a table.
const PART: u8 = 5;
const TABLE: u8 = 6;
/// Parts of parts of parts there are none.
const DEPTH: usize = 3;

/// A table that may begin here.
struct Candidate {
    path: String,
    array: bool,
    table: &'static TableSpec,
    rank: u8,
}

impl Candidate {
    fn header(&self) -> String {
        if self.array { format!("[[{}]]", self.path) } else { format!("[{}]", self.path) }
    }
}

/// In a header that is being typed.
pub(crate) fn complete(asked: &Asked<'_>) -> (Vec<Completion>, bool) {
    let Place::Header { whole, opens, closed } = &asked.cursor.place else { return (Vec::new(), false) };
    let end = asked.text[whole.clone()].trim_end_matches(']').len() + whole.start;
    // The name of a table that has keys already is changed by renaming, not by writing another over it.
    if *closed && (!asked.cursor.statements.is_empty() || asked.at > end) {
        return (Vec::new(), false);
    }
    let typed = asked.text.get(whole.start + opens..asked.at).unwrap_or_default().trim_start();
    let drafts = candidates(asked, &before(asked)).into_iter().filter(|it| *opens == 1 || it.array);
    let drafts: Vec<Draft> = drafts.map(|candidate| draft(asked, &candidate)).collect();
    finish(drafts, typed, |draft| {
        let Content::Made(written) = &draft.content else {
            return Fitted { bytes: 0..0, written: Written::default(), lead: String::new() };
        };
        let lead = "[".repeat(*opens);
        Fitted { bytes: asked.base + whole.start..asked.base + whole.end, written: written.clone(), lead }
    })
}

/// Where a key may stand on a line of its own and no key follows, a table may begin too.
pub(crate) fn beside_keys(asked: &Asked<'_>) -> Vec<Draft> {
    let Place::Key { goes_on: false, before: false, .. } = asked.cursor.place else { return Vec::new() };
    let dotted = !asked.cursor.steps.is_empty();
    let follows = asked.cursor.statements.iter().any(|pair| !pair.asked && pair.value.start > asked.at);
    if !asked.cursor.own_line || dotted || follows || matches!(asked.due(), Due::Value(_)) {
        return Vec::new();
    }
    let above = match &asked.cursor.header {
        Some(header) => header.path.first().cloned(),
        None => None,
    };
    candidates(asked, &above).iter().map(|candidate| draft(asked, candidate)).collect()
}

/// The first key of the header before the one that is being typed.
fn before(asked: &Asked<'_>) -> Option<String> {
    let block = asked.document.at(asked.base.checked_sub(1)?).0;
    let text = asked.document.block_text(block)?;
    let HeaderLine { path } = look(&text, text.len()).header?;
    path.into_iter().next()
}

/// The table whose part begins after the cursor's block.
fn after(asked: &Asked<'_>) -> Option<String> {
    let end = asked.base + asked.text.len();
    if end >= asked.document.len() {
        return None;
    }
    let text = asked.document.block_text(asked.document.at(end).0)?;
    let HeaderLine { path } = look(&text, text.len()).header?;
    (path.len() > 1).then(|| path.into_iter().next()).flatten()
}

fn candidates(asked: &Asked<'_>, above: &Option<String>) -> Vec<Candidate> {
    let mut found = Vec::new();
    let parent = above.as_ref().and_then(|name| table_named(asked.kind, name));
    if let Some(table) = parent {
        let record = last_of(asked, table).and_then(|id| asked.db().entity(id));
        parts(asked, record, table, table.name, DEPTH, &mut found);
    }
    let below = after(asked);
    for table in tables(asked.kind) {
        let array = table.many == Many::Any;
        // A part that follows would belong to the new table from then on.
        if below.as_deref() == Some(table.name) {
            continue;
        }
        if array || asked.view.tables_in(asked.file, table.kind).is_empty() {
            found.push(Candidate { path: table.name.to_owned(), array, table, rank: TABLE });
        }
    }
    found
}

/// The table before the cursor, where it is of this kind: a part that begins here belongs to it.
fn last_of(asked: &Asked<'_>, table: &'static TableSpec) -> Option<EntityId> {
    let last = match asked.cursor.place {
        Place::Header { .. } => {
            let end = asked.base.checked_sub(1)?;
            let block = asked.document.at(end).0;
            context::entity_around(asked.db(), asked.file, asked.document, block, end)
        }
        _ => asked.id,
    };
    last.filter(|id| asked.view.kind(*id) == table.kind)
}

/// The tables that may stand below a table. What is written in braces or brackets cannot be gone on with by a header.
fn parts(
    asked: &Asked<'_>,
    entity: Option<&Entity>,
    table: &'static TableSpec,
    path: &str,
    depth: usize,
    found: &mut Vec<Candidate>,
) {
    if depth == 0 {
        return;
    }
    for key in table.keys {
        for (part, array) in parts_in(&key.value) {
            let written = entity.is_some_and(|entity| is_closed(asked, entity, table, key.name, array));
            if written || key.secret {
                continue;
            }
            let path = format!("{path}.{}", key.name);
            parts(asked, None, part, &path, depth - 1, found);
            found.push(Candidate { path, array, table: part, rank: PART });
        }
    }
}

/// Whether a key of a table is written so that no header can add to it: not by headers, or only one may be.
fn is_closed(asked: &Asked<'_>, entity: &Entity, table: &'static TableSpec, key: &str, array: bool) -> bool {
    if !std::ptr::eq(entity.record.spec, table) {
        return false;
    }
    let Some(slot) = table.field(key).and_then(|field| entity.record.slot(field)) else { return false };
    let start = asked.db().bytes(entity, slot.at).map(|bytes| bytes.start);
    let brackets = start.and_then(|start| asked.document.slice(start..(start + 2).min(asked.document.len())));
    !array || brackets.is_none_or(|brackets| brackets != "[[")
}

fn draft(asked: &Asked<'_>, candidate: &Candidate) -> Draft {
    let header = candidate.header();
    let mut written = Written::of(&header);
    let has = |name: &str| {
        matches!(asked.cursor.place, Place::Header { .. })
            && asked.cursor.statements.iter().any(|pair| pair.key.first().is_some_and(|key| key == name))
    };
    let needed: Vec<_> = keys::needed(asked, candidate.table).into_iter().filter(|key| !has(key.name)).collect();
    for key in &needed {
        written.text(&format!("{}{} = ", asked.document.line_ending(), key.name));
        keys::stub(asked, candidate.table, key, &mut written);
    }
    let has_keys = matches!(asked.cursor.place, Place::Header { .. }) && !asked.cursor.statements.is_empty();
    if needed.is_empty() && !has_keys {
        written.text(asked.document.line_ending());
        written.stop("");
    }
    let many = if candidate.array { "any number of tables" } else { "one table" };
    Draft::new(CompletionKind::Table, header, Content::Made(written))
        .detail(many)
        .doc(candidate.table.doc)
        .filter(candidate.path.clone())
        .rank(if candidate.rank == PART { PART } else { context::main_first(asked, candidate.table, TABLE) })
}
