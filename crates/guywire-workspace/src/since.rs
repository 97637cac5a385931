//! Findings that a change brought in: those of now, less those that an earlier state of the same files has too.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use guywire_rules::FindingKey;
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::git::Renamed;
use crate::publish;
use crate::workspace::Workspace;

/// What was left out, and how.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Since {
    /// Files that have another path now: their findings are compared as if they had always had it.
    pub renamed: Vec<Renamed>,
}

impl Workspace {
    /// Shows from now on only what `past`, settled, does not find: by key, and of several findings with one key as many as
    /// there are more now. `renamed` names files that have another path now; those that merely moved, text unchanged, are
    /// found here.
    pub fn show_since(&mut self, past: &Workspace, renamed: &[Renamed]) -> Since {
        let renamed = self.all_renamed(past, renamed);
        let now: FxHashMap<&Path, &Path> = renamed.iter().map(|file| (&*file.from, &*file.to)).collect();
        // By file, since two roots may each have a file of one shown path.
        let mut known: FxHashMap<FileId, FxHashSet<FindingKey>> = FxHashMap::default();
        let mut waived: FxHashMap<FileId, FxHashSet<FindingKey>> = FxHashMap::default();
        for file in past.files() {
            let path = &past.engine.db.file(file).path;
            let path = now.get(&**path).copied().unwrap_or(path);
            let Some(here) = self.engine.db.find_file(path) else { continue };
            let found = publish::uncapped_at(past, file, &self.shown_path(here));
            known.insert(here, found.into_iter().map(|shown| shown.key).collect());
            let accepted = publish::waived_at(past, file, &self.shown_path(here));
            waived.insert(here, accepted.into_iter().map(|waived| waived.finding.key).collect());
        }
        self.leave_out(known, waived);
        Since { renamed }
    }

    /// The files that have another path here than in `past`: those of `told` that are gone there and new here, and those
    /// whose text moved unchanged.
    pub(crate) fn all_renamed(&self, past: &Workspace, told: &[Renamed]) -> Vec<Renamed> {
        let paths = |workspace: &Workspace| -> BTreeSet<PathBuf> {
            workspace.files().into_iter().map(|file| workspace.engine.db.file(file).path.clone()).collect()
        };
        let (before, after) = (paths(past), paths(self));
        let mut gone: BTreeSet<&PathBuf> = before.difference(&after).collect();
        let mut new: BTreeSet<&PathBuf> = after.difference(&before).collect();
        let mut renamed: Vec<Renamed> = Vec::new();
        for file in told {
            if gone.contains(&file.from) && new.contains(&file.to) {
                gone.remove(&file.from);
                new.remove(&file.to);
                renamed.push(file.clone());
            }
        }
        let mut by_text: FxHashMap<String, Vec<&PathBuf>> = FxHashMap::default();
        for path in new {
            by_text.entry(text_at(self, path)).or_default().push(path);
        }
        for from in gone {
            if let Some(to) = by_text.get_mut(&text_at(past, from)).filter(|found| found.len() == 1).and_then(Vec::pop)
            {
                renamed.push(Renamed { from: from.clone(), to: to.clone() });
            }
        }
        renamed.sort();
        renamed
    }
}

fn text_at(workspace: &Workspace, path: &Path) -> String {
    let db = &workspace.engine.db;
    let document = db.find_file(path).and_then(|file| db.document(file));
    document.map(guywire_text::Document::whole_text).unwrap_or_default()
}
