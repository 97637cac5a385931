//! The disk: which files there are, which have changed, and reading them, many at once.

use std::path::{Path, PathBuf};

use guywire_plan::{Changes, FileProblem};
use guywire_text::{Document, FileId};
use rayon::prelude::*;

use crate::load;
use crate::source::Stamp;
use crate::workspace::Workspace;

impl Workspace {
    /// Reads the files of a root that are not known yet.
    pub(crate) fn list_root(&mut self, root: &Path) {
        let settings_file = self.engine.db.file_at(&root.join("guywire.toml"));
        if !self.stamps.contains_key(&settings_file) {
            self.read_files(&[settings_file]);
        }
        let Ok(paths) = self.source.list(root) else { return };
        let settings = self.settings.get(&settings_file).cloned().unwrap_or_default();
        let mut files = Vec::new();
        for path in paths {
            let relative = path.strip_prefix(root).unwrap_or(&path).to_string_lossy().replace('\\', "/");
            if Self::knows(&path) && settings.takes(&relative) {
                let file = self.engine.db.file_at(&path);
                if !self.stamps.contains_key(&file) && !self.open.contains_key(&file) {
                    files.push(file);
                }
            }
        }
        self.read_files(&files);
    }

    /// Reads files, and the files that they name, until all named ones are known.
    pub(crate) fn read_files(&mut self, files: &[FileId]) {
        let mut wanted: Vec<FileId> = files.to_vec();
        while !wanted.is_empty() {
            let texts = self.read_texts(&wanted);
            let changes = self.set_texts(texts);
            self.took(&changes, &wanted);
            wanted = self.unread();
        }
    }

    pub(crate) fn set_texts(&mut self, texts: Vec<(FileId, Result<Document, FileProblem>)>) -> Changes {
        let engine = &mut self.engine;
        if engine.graph.is_begun() { engine.db.set_texts(texts) } else { engine.db.set_first_texts(texts) }
    }

    fn read_texts(&mut self, files: &[FileId]) -> Vec<(FileId, Result<Document, FileProblem>)> {
        for file in files {
            let stamp = self.source.stamp(&self.engine.db.file(*file).path);
            self.stamps.insert(*file, stamp);
        }
        let (db, source) = (&self.engine.db, &self.source);
        files.par_iter().map(|file| (*file, load::document(source.read(&db.file(*file).path)))).collect()
    }

    /// Files that some table names and that were never looked for.
    pub(crate) fn unread(&self) -> Vec<FileId> {
        let missing = self.engine.db.missing();
        missing.into_iter().filter(|file| !self.stamps.contains_key(file) && self.engine.db.is_read(*file)).collect()
    }

    /// Reads files of the disk again, as one change, keeping what did not change.
    pub(crate) fn reread(&mut self, files: &[FileId]) {
        let (db, source) = (&self.engine.db, &self.source);
        let read = |file: &FileId| {
            let path = &db.file(*file).path;
            let stamp = source.stamp(path);
            (*file, stamp, load::contents(source.read(path)))
        };
        let texts: Vec<(FileId, Option<Stamp>, Result<String, FileProblem>)> = files.par_iter().map(read).collect();
        let (mut changes, mut others) = (Changes::default(), Vec::new());
        for (file, stamp, text) in texts {
            self.stamps.insert(file, stamp);
            match text {
                Ok(text) if self.engine.db.document(file).is_some() => {
                    changes.extend(self.engine.db.replace(file, &text));
                }
                text => others.push((file, text.map(|text| Document::new(&text)))),
            }
        }
        if !others.is_empty() {
            changes.extend(self.engine.db.set_texts(others));
        }
        self.took(&changes, files);
        let wanted = self.unread();
        self.read_files(&wanted);
    }

    /// Takes in that these paths may have changed.
    pub(crate) fn look_at(&mut self, paths: &[PathBuf]) {
        if paths.iter().any(|path| !Self::knows(path)) {
            // A folder came, went or was renamed.
            return self.look_at_everything();
        }
        let mut files = Vec::new();
        for path in paths {
            if self.engine.db.find_file(path).is_none() && !self.belongs(path) {
                continue;
            }
            let file = self.engine.db.file_at(path);
            if !self.open.contains_key(&file) && !self.unchanged(file) && !files.contains(&file) {
                files.push(file);
            }
        }
        self.reread(&files);
    }

    /// Whether a path is one that listing its root would bring in.
    fn belongs(&self, path: &Path) -> bool {
        let Some(root) =
            self.roots.iter().filter(|root| path.starts_with(root)).max_by_key(|root| root.as_os_str().len())
        else {
            return false;
        };
        let home = self.engine.db.find_file(&root.join("guywire.toml"));
        let settings = home.and_then(|home| self.settings.get(&home)).unwrap_or(&self.defaults);
        let relative = path.strip_prefix(root).unwrap_or(path).to_string_lossy().replace('\\', "/");
        settings.takes(&relative)
    }

    fn unchanged(&self, file: FileId) -> bool {
        let now = self.source.stamp(&self.engine.db.file(file).path);
        // Without a time, equal sizes prove nothing.
        now.is_none_or(|stamp| stamp.modified.is_some()) && self.stamps.get(&file) == Some(&now)
    }

    /// Looks at every file that is known, and for files that are not.
    pub(crate) fn look_at_everything(&mut self) {
        let known: Vec<FileId> = self.stamps.keys().copied().collect();
        let stale = |file: &FileId| !self.open.contains_key(file) && !self.is_virtual(*file) && !self.unchanged(*file);
        let mut files: Vec<FileId> = known.into_iter().filter(stale).collect();
        files.sort_unstable();
        if !files.is_empty() {
            self.reread(&files);
        }
        for root in self.roots.clone() {
            self.list_root(&root);
        }
    }
}
