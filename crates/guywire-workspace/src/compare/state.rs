//! The two states side by side: which file is which, and which plans can differ at all.

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

use guywire_plan::language::FileKind;
use guywire_plan::{Db, EntityId};
use guywire_text::{Document, FileId};
use rustc_hash::{FxHashMap, FxHashSet};

use super::Side;
use crate::git::Renamed;
use crate::workspace::Workspace;

/// One of the states.
pub(crate) struct State<'w> {
    pub db: &'w Db,
    /// The paths that files have in the newer state.
    paths: FxHashMap<FileId, PathBuf>,
    /// The tables of files, in the order of the text.
    tables: FxHashMap<FileId, OnceLock<Arc<[EntityId]>>>,
}

/// Both.
pub(crate) struct States<'w> {
    pub before: State<'w>,
    pub after: State<'w>,
    /// Every file that either has a text for, by its path in the newer state.
    pub files: Vec<(Option<FileId>, Option<FileId>)>,
    /// Files whose texts differ, by path.
    differ: FxHashSet<PathBuf>,
}

impl<'w> States<'w> {
    pub fn new(before: &'w Workspace, after: &'w Workspace, renamed: &[Renamed]) -> States<'w> {
        let moved: FxHashMap<&Path, &Path> = renamed.iter().map(|file| (&*file.from, &*file.to)).collect();
        let before = State::new(before, |path| moved.get(path).copied().unwrap_or(path));
        let after = State::new(after, |path| path);
        let mut by_path: std::collections::BTreeMap<&Path, (Option<FileId>, Option<FileId>)> = Default::default();
        for file in before.texts() {
            by_path.entry(before.path(file)).or_default().0 = Some(file);
        }
        for file in after.texts() {
            by_path.entry(after.path(file)).or_default().1 = Some(file);
        }
        let text = |state: &State<'_>, file: Option<FileId>| {
            file.and_then(|file| state.db.document(file)).map(Document::whole_text)
        };
        let differs = |(was, is): &(Option<FileId>, Option<FileId>)| text(&before, *was) != text(&after, *is);
        let differ = by_path.iter().filter(|(_, files)| differs(files)).map(|(path, _)| path.to_path_buf()).collect();
        let files = by_path.into_values().collect();
        States { before, after, files, differ }
    }

    pub fn of(&self, side: Side) -> &State<'w> {
        match side {
            Side::Before => &self.before,
            Side::After => &self.after,
        }
    }

    /// The plans of either state, those of one path together, by path.
    pub fn plans(&self) -> impl Iterator<Item = (Option<FileId>, Option<FileId>)> + '_ {
        let plan = |state: &State<'_>, file: Option<FileId>| file.filter(|file| state.db.is_plan(*file));
        let both = self.files.iter().map(move |(was, is)| (plan(&self.before, *was), plan(&self.after, *is)));
        both.filter(|plans| *plans != (None, None))
    }

    /// Whether a plan can differ: some file that it sees does, or some model does.
    pub fn can_differ(&self, plan: (Option<FileId>, Option<FileId>)) -> bool {
        let (Some(was), Some(is)) = plan else { return true };
        let sees = |state: &State<'_>, file: FileId| -> Vec<PathBuf> {
            state.db.scope(file).iter().map(|seen| state.path(*seen).to_path_buf()).collect()
        };
        let seen = sees(&self.after, is);
        let some_model = || self.differ.iter().any(|path| guywire_plan::kind_of_path(path) == Some(FileKind::Model));
        sees(&self.before, was) != seen || seen.iter().any(|path| self.differ.contains(path)) || some_model()
    }

    /// Whether the text of a file differs.
    pub fn differs(&self, side: Side, file: FileId) -> bool {
        self.differ.contains(self.of(side).path(file))
    }

    /// Whether any file differs.
    pub fn differ(&self) -> bool {
        !self.differ.is_empty()
    }
}

impl<'w> State<'w> {
    fn new<'p>(workspace: &'w Workspace, now: impl Fn(&'w Path) -> &'p Path) -> State<'w>
    where
        'w: 'p,
    {
        let db = &workspace.engine.db;
        let paths = db.file_ids().map(|file| (file, now(&db.file(file).path).to_path_buf())).collect();
        State { db, paths, tables: db.file_ids().map(|file| (file, OnceLock::new())).collect() }
    }

    /// The path that a file has in the newer state.
    pub fn path(&self, file: FileId) -> &Path {
        self.paths.get(&file).map_or(Path::new(""), PathBuf::as_path)
    }

    fn texts(&self) -> impl Iterator<Item = FileId> + '_ {
        self.db.file_ids().filter(|file| self.db.document(*file).is_some())
    }

    /// The tables of a file, in the order of the text.
    pub fn tables(&self, file: FileId) -> Arc<[EntityId]> {
        self.tables.get(&file).map(|known| known.get_or_init(|| self.in_order(file)).clone()).unwrap_or_default()
    }

    fn in_order(&self, file: FileId) -> Arc<[EntityId]> {
        let mut tables: Vec<EntityId> = self.db.entities_of(file).collect();
        tables.sort_by_cached_key(|id| {
            (self.db.header_start(*id), self.db.entity(*id).map_or(0, |entity| entity.ordinal))
        });
        tables.into()
    }

    /// The plan through which the names of a file are followed where no plan is asked about.
    pub fn viewer(&self, file: FileId) -> FileId {
        if self.db.is_plan(file) { file } else { self.db.viewers(file).first().copied().unwrap_or(file) }
    }
}
