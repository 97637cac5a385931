//! The fixes on offer at a place: the cells that found something there are judged again, with fixes wanted, so that a
//! fix is never out of date.

use std::ops::Range;

use guywire_plan::NodeKey;
use guywire_rules::{Finding, Fix, Safety};
use guywire_text::FileId;
use rustc_hash::FxHashMap;

use super::edits;
use crate::answer::{OfferedFix, Shown};
use crate::publish;
use crate::workspace::Workspace;

/// The fixes whose findings touch these bytes, in the order of the findings.
pub(crate) fn fixes(workspace: &Workspace, file: FileId, bytes: &Range<usize>) -> Vec<OfferedFix> {
    let shown = publish::uncapped(workspace, file);
    let touching: Vec<&Shown> = shown
        .iter()
        .filter(|shown| shown.fixable && shown.bytes.start <= bytes.end && bytes.start <= shown.bytes.end)
        .collect();
    if touching.is_empty() {
        return Vec::new();
    }
    let mut offered: Vec<OfferedFix> = Vec::new();
    for (cell, found) in by_cell(workspace, file, &touching) {
        let mut made: Vec<(usize, Fix)> = Vec::new();
        let again = workspace.engine.judge_whole(cell, &mut made);
        for (number, fix) in made {
            let Some((_, shown)) = found.iter().find(|(finding, _)| again.get(number) == Some(*finding)) else {
                continue;
            };
            if let Some(edits) = edits::resolve(&workspace.engine.db, &fix.edits) {
                offered.push(OfferedFix {
                    finding: (*shown).clone(),
                    title: fix.title,
                    safety: fix.safety,
                    preferred: false,
                    edits,
                });
            }
        }
    }
    offered.sort_by(|a, b| {
        (a.finding.bytes.start, a.finding.rule, a.safety, &a.title).cmp(&(
            b.finding.bytes.start,
            b.finding.rule,
            b.safety,
            &b.title,
        ))
    });
    prefer(&mut offered);
    offered
}

/// The findings that are asked about, by the cell that makes their fixes anew: of several plans that see one, the first.
fn by_cell<'w>(
    workspace: &'w Workspace,
    file: FileId,
    touching: &[&'w Shown],
) -> FxHashMap<NodeKey, Vec<(&'w Finding, &'w Shown)>> {
    let mut shown_at: FxHashMap<(&str, usize, usize), Vec<&Shown>> = FxHashMap::default();
    for shown in touching {
        shown_at.entry((shown.rule, shown.bytes.start, shown.bytes.end)).or_default().push(shown);
    }
    let mut cells: FxHashMap<NodeKey, Vec<(&Finding, &Shown)>> = FxHashMap::default();
    for found in publish::merged(workspace, file) {
        let Some((_, place)) = publish::resolve(&workspace.engine.db, &found.finding.at) else { continue };
        let rule = workspace.engine.dispatch.rule(found.finding.rule).about().name;
        let there = shown_at.get(&(rule, place.start, place.end));
        let shown = there.into_iter().flatten().find(|shown| shown.message.starts_with(&found.finding.message));
        let cell = found.cells.iter().min_by_key(|cell| workspace.shown_path(cell.viewer));
        if let (Some(shown), Some(cell)) = (shown, cell) {
            cells.entry(*cell).or_default().push((found.finding, shown));
        }
    }
    cells
}

/// A fix is preferred where it is the only one of its finding, or the only safe one.
fn prefer(offered: &mut [OfferedFix]) {
    for at in 0..offered.len() {
        let key = offered[at].finding.key;
        let of_it = |fix: &&OfferedFix| fix.finding.key == key;
        let alone = offered.iter().filter(of_it).count() == 1;
        let only_safe = offered[at].safety == Safety::Safe
            && offered.iter().filter(of_it).filter(|fix| fix.safety == Safety::Safe).count() == 1;
        offered[at].preferred = alone || only_safe;
    }
}
