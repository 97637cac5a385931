//! The fixes on offer at a place: the cells that found something there are judged again, with fixes wanted, so that a
//! fix is never out of date.

use std::ops::Range;

use guywire_rules::{Fix, Safety};
use guywire_text::FileId;

use super::edits;
use crate::answer::{OfferedFix, Shown};
use crate::publish;
use crate::workspace::Workspace;

/// The fixes whose findings touch these bytes, in the order of the findings.
pub(crate) fn fixes(workspace: &Workspace, file: FileId, bytes: &Range<usize>) -> Vec<OfferedFix> {
    let shown = workspace.findings(file).shown;
    let touching: Vec<&Shown> = shown
        .iter()
        .filter(|shown| shown.fixable && shown.bytes.start <= bytes.end && bytes.start <= shown.bytes.end)
        .collect();
    if touching.is_empty() {
        return Vec::new();
    }
    let mut offered: Vec<OfferedFix> = Vec::new();
    for found in publish::merged(workspace, file) {
        let Some((_, place)) = publish::resolve(&workspace.engine.db, &found.finding.at) else { continue };
        let rule = workspace.engine.dispatch.rule(found.finding.rule).about().name;
        let of_it = |shown: &&&Shown| {
            shown.rule == rule && shown.bytes == place && shown.message.starts_with(&found.finding.message)
        };
        let Some(shown) = touching.iter().find(of_it) else { continue };
        let Some(cell) = found.cells.iter().min_by_key(|cell| workspace.shown_path(cell.viewer)) else { continue };
        let mut made: Vec<(usize, Fix)> = Vec::new();
        let (again, _) = workspace.engine.judge(*cell, Some(&mut made));
        for (number, fix) in made {
            if again.get(number) == Some(found.finding)
                && let Some(edits) = edits::resolve(&workspace.engine.db, &fix.edits)
            {
                offered.push(OfferedFix {
                    finding: (**shown).clone(),
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
