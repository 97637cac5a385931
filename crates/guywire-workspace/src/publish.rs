//! From what the rules said to what is shown: places resolved in the text as it is now, levels, the cap, the order.

use std::hash::{Hash, Hasher};
use std::ops::Range;

use guywire_plan::language::Kind;
use guywire_plan::{Db, Entity, EntityId, FieldPath, NodeKey, Record, Stored};
use guywire_rules::{Anchor, Finding, FindingKey, Fnv, Level, RuleId};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet, FxHasher};

use crate::answer::{FileFindings, Related, Shown, Waived};
use crate::waivers;
use crate::workspace::Workspace;

/// Findings of one file that are shown where nothing else is said.
pub const MOST_SHOWN: usize = 1_000;
/// Related places that are shown.
const MOST_RELATED: usize = 5;

/// What was last told of each file, and which files it pointed at.
#[derive(Debug, Default)]
pub(crate) struct Published {
    /// The findings as told, and the tick that they are of.
    told: FxHashMap<FileId, (u64, FileFindings)>,
    /// For each file, those whose findings name places in it.
    pointing: FxHashMap<FileId, FxHashSet<FileId>>,
}

impl Published {
    pub fn pointing_at(&self, file: FileId) -> impl Iterator<Item = FileId> + '_ {
        self.pointing.get(&file).into_iter().flatten().copied()
    }

    /// What was told of a file, where nothing has changed since.
    pub fn of(&self, file: FileId, ticks: u64) -> Option<&FileFindings> {
        self.told.get(&file).filter(|(then, _)| *then == ticks).map(|(_, findings)| findings)
    }

    /// Whether the findings differ from those last told; they count as told from now on.
    pub fn differs(&mut self, file: FileId, findings: FileFindings, ticks: u64) -> bool {
        for related in findings.shown.iter().flat_map(|shown| &shown.related).filter(|related| related.file != file) {
            self.pointing.entry(related.file).or_default().insert(file);
        }
        let (result, empty) = (findings.result_id, findings.shown.is_empty());
        let before = self.told.insert(file, (ticks, findings)).map(|(_, told)| told.result_id);
        before.map_or(!empty, |before| before != result)
    }
}

/// Every finding of a file, in order, the cap left out.
pub(crate) fn uncapped(workspace: &Workspace, file: FileId) -> Vec<Shown> {
    let mut shown = uncapped_at(workspace, file, &workspace.shown_path(file));
    if let Some(left_out) = workspace.left_out.get(&file) {
        shown.retain(|finding| !left_out.contains(&finding.key));
    }
    shown
}

/// Every finding of a file, the cap left out, with the keys that they had if the file had this shown path.
pub(crate) fn uncapped_at(workspace: &Workspace, file: FileId, shown_path: &str) -> Vec<Shown> {
    leveled(workspace, file, shown_path).0
}

/// Every finding of a file with its level: those that are shown, and those that waivers accept.
fn leveled(workspace: &Workspace, file: FileId, shown_path: &str) -> (Vec<Shown>, Vec<Waived>) {
    let settings = workspace.settings_of(file);
    let mut in_file = Fnv::default();
    shown_path.hash(&mut in_file);
    let mut shown: Vec<Shown> = merged(workspace, file)
        .into_iter()
        .filter(|found| settings.level(found.finding) != Level::Off)
        .filter_map(|found| show(workspace, file, in_file, settings.level(found.finding), &found))
        .collect();
    let mut waived = waivers::apply(workspace, file, in_file, &mut shown);
    shown.sort_by(|a, b| order(a).cmp(&order(b)));
    waived.sort_by(|a, b| order(&a.finding).cmp(&order(&b.finding)));
    tell_equals_apart(shown.iter_mut());
    tell_equals_apart(waived.iter_mut().map(|waived| &mut waived.finding));
    (shown, waived)
}

fn order(shown: &Shown) -> impl Ord + '_ {
    (shown.bytes.start, shown.rule, &shown.message, shown.key, shown.bytes.end)
}

/// The findings of a file that waivers accept.
pub(crate) fn waived(workspace: &Workspace, file: FileId) -> Vec<Waived> {
    let mut waived = waived_at(workspace, file, &workspace.shown_path(file));
    for left_out in [workspace.left_out.get(&file), workspace.waived_before.get(&file)].into_iter().flatten() {
        waived.retain(|waived| !left_out.contains(&waived.finding.key));
    }
    waived
}

/// The findings of a file that waivers accept, with the keys that they had if the file had this shown path.
pub(crate) fn waived_at(workspace: &Workspace, file: FileId, shown_path: &str) -> Vec<Waived> {
    leveled(workspace, file, shown_path).1
}

/// The findings of a file.
pub(crate) fn findings(workspace: &Workspace, file: FileId) -> FileFindings {
    let mut shown = uncapped(workspace, file);
    let most = workspace.most_shown;
    let withheld = shown.len().saturating_sub(most);
    let withheld_level = shown.iter().skip(most).map(|shown| shown.level).max();
    shown.truncate(most);
    let result_id = result_id(workspace, &shown, withheld);
    FileFindings { version: workspace.version(file), result_id, shown, withheld, withheld_level }
}

/// A finding, and the files through which it was found.
pub(crate) struct Merged<'w> {
    pub finding: &'w Finding,
    pub cells: Vec<NodeKey>,
    /// Those that say the same of the same place; they may name other places each.
    same: Vec<&'w Finding>,
}

/// The findings of a file, each once however many plans see it.
pub(crate) fn merged(workspace: &Workspace, file: FileId) -> Vec<Merged<'_>> {
    let mut merged: FxHashMap<(RuleId, Anchor, &str, u64), Merged<'_>> = FxHashMap::default();
    for (cell, finding) in workspace.engine.found_in(file) {
        let entry = merged
            .entry((finding.rule, finding.at, &finding.message, finding.about))
            .or_insert_with(|| Merged { finding, cells: Vec::new(), same: Vec::new() });
        entry.cells.push(cell);
        entry.same.push(finding);
    }
    merged.into_values().collect()
}

fn show(workspace: &Workspace, file: FileId, in_file: Fnv, level: Level, found: &Merged<'_>) -> Option<Shown> {
    let db = &workspace.engine.db;
    let finding = found.finding;
    let about = workspace.engine.dispatch.rule(finding.rule).about();
    Some(Shown {
        rule: about.name,
        level,
        bytes: resolve(db, &finding.at)?.1,
        message: match seen_by(workspace, file, found) {
            Some(plans) => format!("{}{plans}", finding.message),
            None => finding.message.clone(),
        },
        related: related(workspace, &found.same),
        key: key(workspace, in_file, about.name, finding),
        unnecessary: about.unnecessary,
        fixable: finding.fixable,
    })
}

/// Names the plans, where a part is judged through several and not all agree.
fn seen_by(workspace: &Workspace, file: FileId, found: &Merged<'_>) -> Option<String> {
    if found.cells.iter().any(|cell| cell.viewer == file) {
        return None;
    }
    let viewers = workspace.engine.db.viewers(file);
    let mut through: Vec<String> = found
        .cells
        .iter()
        .filter(|cell| viewers.contains(&cell.viewer))
        .map(|cell| workspace.shown_path(cell.viewer))
        .collect();
    if through.is_empty() || through.len() == viewers.len() {
        return None;
    }
    through.sort();
    let more = through.len().saturating_sub(3);
    through.truncate(3);
    let more = if more > 0 { format!(" and {more} more plans") } else { String::new() };
    Some(format!(" (as {}{more} sees it)", through.join(", ")))
}

fn related(workspace: &Workspace, findings: &[&Finding]) -> Vec<Related> {
    let db = &workspace.engine.db;
    let mut places: Vec<Related> = findings
        .iter()
        .flat_map(|finding| &finding.related)
        .filter_map(|(at, message)| {
            let (file, bytes) = resolve(db, at)?;
            Some(Related { file, bytes, message: message.clone() })
        })
        .collect();
    places.sort_by(|a, b| {
        let path = |related: &Related| &db.file(related.file).path;
        (path(a), a.bytes.start, &a.message).cmp(&(path(b), b.bytes.start, &b.message))
    });
    places.dedup();
    let more = places.len().saturating_sub(MOST_RELATED);
    places.truncate(MOST_RELATED);
    if more > 0
        && let Some(last) = places.last_mut()
    {
        last.message.push_str(&format!(" (and {more} more places)"));
    }
    places
}

// ---- places -------------------------------------------------------------------------------------

/// The file and bytes that an anchor is now.
pub(crate) fn resolve(db: &Db, at: &Anchor) -> Option<(FileId, Range<usize>)> {
    match at {
        Anchor::File(file) => Some((*file, 0..0)),
        Anchor::Bytes(place) => Some((place.file, db.document(place.file)?.range(place.span)?)),
        Anchor::Header(id) => header(db, *id),
        Anchor::Value(id, path) => spot(db, *id, path, false).or_else(|| header(db, *id)),
        Anchor::Key(id, path) => spot(db, *id, path, true).or_else(|| header(db, *id)),
    }
}

fn spot(db: &Db, id: EntityId, path: &FieldPath, key: bool) -> Option<(FileId, Range<usize>)> {
    let entity = db.entity(id)?;
    let spot = entity.record.spot(path)?;
    let bytes = db.bytes(entity, if key { spot.key } else { spot.at })?;
    Some((entity.file, first_line(db, entity.file, bytes)))
}

fn header(db: &Db, id: EntityId) -> Option<(FileId, Range<usize>)> {
    let entity = db.entity(id)?;
    let place = match &entity.table {
        Some((_, name)) if entity.record.at.start == entity.record.at.end => *name,
        _ => entity.record.at,
    };
    let bytes = db.bytes(entity, place)?;
    Some((entity.file, first_line(db, entity.file, bytes)))
}

/// A place of several lines is shown by its first.
fn first_line(db: &Db, file: FileId, bytes: Range<usize>) -> Range<usize> {
    match db.document(file) {
        Some(document) => document.first_line(bytes),
        None => bytes,
    }
}

// ---- keys ---------------------------------------------------------------------------------------

/// What tells a finding from others: rule, file, kind, name, key, arguments.
fn key(workspace: &Workspace, in_file: Fnv, rule: &str, finding: &Finding) -> FindingKey {
    let mut hasher = in_file;
    rule.hash(&mut hasher);
    if let Anchor::Header(id) | Anchor::Value(id, _) | Anchor::Key(id, _) = &finding.at
        && let Some(entity) = workspace.engine.db.entity(*id)
    {
        hash_entity(&workspace.engine.db, entity, &mut hasher);
        if let Anchor::Value(_, path) | Anchor::Key(_, path) = &finding.at {
            names_on(&entity.record, path).hash(&mut hasher);
        }
    }
    finding.about.hash(&mut hasher);
    FindingKey(hasher.0)
}

fn hash_entity(db: &Db, entity: &Entity, hasher: &mut Fnv) {
    kind_name(entity.kind, entity.record.spec.name).hash(hasher);
    entity.name().value().map(|name| db.symbols.text(name)).hash(hasher);
}

fn kind_name(kind: Kind, table: &'static str) -> &'static str {
    if kind == Kind::Unknown { "unknown" } else { table }
}

/// The names of the keys on a path; numbers in lists are left out, since they move.
fn names_on(record: &Record, path: &FieldPath) -> Vec<&'static str> {
    let mut names = Vec::new();
    let mut record = record;
    for step in path.steps() {
        if let Some(key) = record.spec.keys.get(*step as usize)
            && record.slot(*step as u8).is_some()
        {
            names.push(key.name);
            match record.slot(*step as u8).map(|slot| &slot.value) {
                Some(Stored::Part(part)) => record = part,
                _ => break,
            }
        } else {
            break;
        }
    }
    names
}

/// Findings that agree in everything get a number each, in their order.
fn tell_equals_apart<'s>(shown: impl Iterator<Item = &'s mut Shown>) {
    let mut seen: FxHashMap<FindingKey, u64> = FxHashMap::default();
    for finding in shown {
        let count = seen.entry(finding.key).or_insert(0);
        if *count > 0 {
            let mut hasher = Fnv(finding.key.0);
            hasher.write_u64(*count);
            finding.key = FindingKey(hasher.0);
        }
        *count += 1;
    }
}

fn result_id(workspace: &Workspace, shown: &[Shown], withheld: usize) -> u64 {
    let mut hasher = FxHasher::default();
    withheld.hash(&mut hasher);
    for finding in shown {
        (finding.rule, finding.level, &finding.bytes, &finding.message, finding.key.0).hash(&mut hasher);
        for related in &finding.related {
            (workspace.shown_path(related.file), &related.bytes, &related.message).hash(&mut hasher);
        }
    }
    hasher.finish()
}
