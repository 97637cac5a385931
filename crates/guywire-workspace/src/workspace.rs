//! The owner of all texts: takes changes in, keeps the engine up to date, and knows which file is which.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_plan::language::FileKind;
use guywire_plan::{Changes, Db, FileProblem, Graph, kind_of_path};
use guywire_rules::{CATALOG, ErasedRule, FindingKey};
use guywire_text::{Document, FileId};
use jiff::civil::Date;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::answer::{Budget, FileFindings, Progress};
use crate::ask::Gathered;
use crate::change::{Address, Applied, Change, Splice};
use crate::engine::Engine;
use crate::publish;
use crate::settings::Settings;
use crate::source::{FileSource, Stamp};

/// A text that a client has open.
#[derive(Debug, Clone)]
pub(crate) struct Open {
    version: i32,
    address: Address,
}

/// All plans below some roots, their texts, and what is known of them.
pub struct Workspace {
    pub(crate) engine: Engine,
    pub(crate) source: Arc<dyn FileSource>,
    pub(crate) roots: Vec<PathBuf>,
    today: Date,
    /// A day that wins over the settings.
    as_of: Option<Date>,
    /// Settings by the `guywire.toml` that they stand in.
    pub(crate) settings: FxHashMap<FileId, Settings>,
    pub(crate) defaults: Settings,
    /// The settings file of each file, as far as it was asked for.
    homes: FxHashMap<FileId, Option<FileId>>,
    pub(crate) open: FxHashMap<FileId, Open>,
    /// Texts that are no files, by the client's address.
    virtuals: FxHashMap<String, FileId>,
    /// What each file on disk was like when it was read; none where it was not there.
    pub(crate) stamps: FxHashMap<FileId, Option<Stamp>>,
    /// Findings of one file that are shown.
    pub(crate) most_shown: usize,
    published: publish::Published,
    /// Names, for completions.
    pub(crate) gathered: Gathered,
    /// Findings that are not shown.
    pub(crate) left_out: FxHashMap<FileId, FxHashSet<FindingKey>>,
    /// Findings that waivers accepted at the revision since which is shown.
    pub(crate) waived_before: FxHashMap<FileId, FxHashSet<FindingKey>>,
}

impl Workspace {
    /// Reads every file of the language below `roots` (absolute paths). Runs no rule.
    pub fn load(source: Arc<dyn FileSource>, roots: &[PathBuf], today: Date) -> Self {
        Self::load_with(source, roots, today, CATALOG, Graph::default(), 0)
    }

    /// As [`Workspace::load`], for tests of the engine: other rules, a graph that forgets, entities numbered from elsewhere.
    #[doc(hidden)]
    pub fn load_with(
        source: Arc<dyn FileSource>,
        roots: &[PathBuf],
        today: Date,
        catalog: &'static [&'static dyn ErasedRule],
        graph: Graph,
        first: u32,
    ) -> Self {
        let links = source.clone();
        let db = Db::new(Some(Box::new(move |path| links.real(path).ok())), first);
        let mut workspace = Workspace {
            engine: Engine::new(db, graph, catalog),
            source,
            roots: Vec::new(),
            today,
            as_of: None,
            settings: FxHashMap::default(),
            defaults: Settings::default(),
            homes: FxHashMap::default(),
            open: FxHashMap::default(),
            virtuals: FxHashMap::default(),
            stamps: FxHashMap::default(),
            most_shown: publish::MOST_SHOWN,
            published: publish::Published::default(),
            gathered: Gathered::default(),
            left_out: FxHashMap::default(),
            waived_before: FxHashMap::default(),
        };
        for root in roots {
            workspace.add_root(root);
        }
        workspace
    }

    /// Takes a change in: text and index; runs no rule; cannot fail.
    pub fn apply(&mut self, change: Change) -> Applied {
        match change {
            Change::Open { address, version, text } => self.open(address, version, &text),
            Change::Edit { file, version, edits } => self.edit(file, version, edits),
            Change::Close(file) => self.close(file),
            Change::Disk(paths) if paths.is_empty() => {
                self.look_at_everything();
                Applied::default()
            }
            Change::Disk(paths) => {
                self.look_at(&paths);
                Applied::default()
            }
            Change::Today(today) => {
                self.today = today;
                self.tell_today();
                Applied::default()
            }
        }
    }

    /// Judges dated things by this day, whatever the settings say.
    pub fn judge_by(&mut self, day: Date) {
        self.as_of = Some(day);
        self.tell_today();
    }

    /// Shows this many findings of a file, [`MOST_SHOWN`](crate::MOST_SHOWN) where nothing is said.
    pub fn show_at_most(&mut self, findings: usize) {
        if self.most_shown != findings {
            self.most_shown = findings;
            self.engine.ticks += 1;
            self.engine.touched.extend(self.engine.db.file_ids());
        }
    }

    /// Computes a slice of what is not settled, the open files first. `stop` ends the slice early.
    pub fn settle(&mut self, budget: Budget, stop: &AtomicBool) -> Progress {
        let open = &self.open;
        self.engine.settle(budget, stop, |file| open.contains_key(&file))
    }

    /// Computes the values over the tables and runs no rule, for those who only ask.
    pub fn settle_values(&mut self) {
        self.engine.settle_values();
    }

    /// Whether the values over the tables are computed, for those who only ask.
    pub fn values_are_settled(&self) -> bool {
        self.engine.values_are_settled()
    }

    // ---- roots ----------------------------------------------------------------------------------

    fn add_root(&mut self, root: &Path) {
        let root = guywire_plan::plain_path(root);
        if self.roots.contains(&root) {
            return;
        }
        self.roots.push(root.clone());
        self.list_root(&root);
        self.homes.clear();
        self.engine.ticks += 1;
    }

    /// After the database changed: the engine, the settings, files that are named now.
    pub(crate) fn took(&mut self, changes: &Changes, files: &[FileId]) {
        for file in files {
            self.engine.touched.insert(*file);
            if !matches!(self.engine.db.file(*file).text, Err(FileProblem::Missing)) {
                self.engine.watch_text(*file);
            }
        }
        self.engine.take(changes);
        for file in self.engine.db.sheets().to_vec() {
            self.engine.watch_text(file);
        }
        for file in &changes.rescoped {
            self.engine.touched.insert(*file);
            self.engine.touched.extend(self.engine.db.scope(*file).iter().copied());
        }
        self.homes_changed(files);
        for file in files {
            if self.engine.db.file(*file).kind == Some(FileKind::Settings) {
                self.read_settings(*file);
            }
        }
        for file in files {
            self.tell_file(*file);
        }
    }

    /// Tells a file that is new its day and its options.
    fn tell_file(&mut self, file: FileId) {
        if self.engine.db.today(file).is_some() {
            return;
        }
        let settings = self.settings_of(file);
        let (day, options) = (self.as_of.or(settings.as_of).unwrap_or(self.today), settings.options.clone());
        if !options.is_empty() {
            self.engine.options.insert(file, options);
        }
        let changes = self.engine.db.set_today(file, day);
        self.engine.take(&changes);
    }

    fn homes_changed(&mut self, files: &[FileId]) {
        if files.iter().any(|file| self.engine.db.file(*file).kind == Some(FileKind::Settings)) {
            self.homes.clear();
        }
    }

    // ---- settings -------------------------------------------------------------------------------

    fn read_settings(&mut self, file: FileId) {
        let new = match self.engine.db.document(file) {
            Some(_) => Some(Settings::read(&self.engine.db, file)),
            None => None,
        };
        let old = self.settings.get(&file);
        if old == new.as_ref() {
            return;
        }
        let options_differ = old.map(|old| &old.options) != new.as_ref().map(|new| &new.options);
        let plans_differ = old.is_some_and(|old| new.as_ref().is_some_and(|new| old.plans != new.plans));
        match new {
            Some(new) => self.settings.insert(file, new),
            None => self.settings.remove(&file),
        };
        self.homes.clear();
        self.engine.ticks += 1;
        let settings = &self.settings;
        self.engine.wake(|rule| settings.values().any(|known| known.turns_on(rule)));
        let known: Vec<FileId> = self.engine.db.file_ids().collect();
        self.engine.touched.extend(known.iter().copied());
        if options_differ {
            self.tell_options();
        }
        if plans_differ && let Some(root) = self.engine.db.file(file).path.parent().map(Path::to_path_buf) {
            self.list_root(&root);
        }
        self.tell_today();
    }

    fn tell_options(&mut self) {
        let files: Vec<FileId> = self.engine.db.file_ids().collect();
        for file in files {
            let options = self.settings_of(file).options.clone();
            self.engine.options.insert(file, options);
        }
        self.engine.mark_all_cells();
    }

    /// Tells every file its day: the settings' own, else today.
    fn tell_today(&mut self) {
        let files: Vec<FileId> = self.engine.db.file_ids().collect();
        for file in files {
            let day = self.as_of.or(self.settings_of(file).as_of).unwrap_or(self.today);
            let changes = self.engine.db.set_today(file, day);
            self.engine.take(&changes);
        }
    }

    /// The settings of a file: those of the nearest `guywire.toml` upward.
    pub(crate) fn settings_of(&self, file: FileId) -> &Settings {
        let home = match self.homes.get(&file) {
            Some(home) => *home,
            None => self.find_home(file),
        };
        home.and_then(|home| self.settings.get(&home)).unwrap_or(&self.defaults)
    }

    fn find_home(&self, file: FileId) -> Option<FileId> {
        let path = &self.engine.db.file(file).path;
        path.ancestors()
            .skip(1)
            .filter_map(|folder| self.engine.db.find_file(&folder.join("guywire.toml")))
            .find(|home| self.engine.db.document(*home).is_some())
    }

    fn remember_home(&mut self, file: FileId) {
        if !self.homes.contains_key(&file) {
            let home = self.find_home(file);
            self.homes.insert(file, home);
        }
    }

    // ---- texts of clients -----------------------------------------------------------------------

    fn open(&mut self, address: Address, version: i32, text: &str) -> Applied {
        let file = match &address {
            Address::Disk(path) => {
                self.adopt(path);
                self.engine.db.file_at(path)
            }
            Address::Virtual(name) => self.virtual_file(name),
        };
        self.open.insert(file, Open { version, address });
        self.engine.reorder();
        self.put_text(file, text);
        Applied { file: Some(file), refused: 0 }
    }

    /// A file outside every root brings in the workspace that it stands in, if it stands in one.
    fn adopt(&mut self, path: &Path) {
        let path = guywire_plan::plain_path(path);
        if self.roots.iter().any(|root| path.starts_with(root)) {
            return;
        }
        let root = path
            .ancestors()
            .skip(1)
            .find(|folder| self.source.stamp(&folder.join("guywire.toml")).is_some())
            .map(Path::to_path_buf);
        if let Some(root) = root {
            self.add_root(&root);
        }
    }

    /// A text that is no file has a place of its own, which no file has. Its name says what kind it is; one that says
    /// nothing is a plan.
    fn virtual_file(&mut self, name: &str) -> FileId {
        if let Some(file) = self.virtuals.get(name) {
            return *file;
        }
        let number = self.virtuals.len();
        let last = name.split(['?', '#']).next().and_then(|path| path.rsplit(['/', ':']).next()).unwrap_or_default();
        let ending = if Self::knows(Path::new(last)) { last } else { "new.plan.toml" };
        let file = self.engine.db.file_at(Path::new(&format!("virtual:/{number}/{ending}")));
        self.virtuals.insert(name.to_owned(), file);
        file
    }

    fn put_text(&mut self, file: FileId, text: &str) {
        let changes = match self.engine.db.document(file) {
            Some(_) => self.engine.db.replace(file, text),
            None => self.engine.db.set_text(file, Ok(Document::new(text))),
        };
        self.took(&changes, &[file]);
        let wanted = self.unread();
        self.read_files(&wanted);
    }

    fn edit(&mut self, file: FileId, version: i32, edits: Vec<Splice>) -> Applied {
        let Some(open) = self.open.get_mut(&file) else { return Applied { file: None, refused: edits.len() } };
        open.version = version;
        let mut all = Changes::default();
        let known = self.engine.db.file_ids().len();
        let count = edits.len();
        let mut done = 0;
        for splice in edits {
            match self.splice(file, splice) {
                Some(changes) => all.extend(changes),
                None => break,
            }
            done += 1;
        }
        self.took(&all, &[file]);
        if self.engine.db.file_ids().len() > known {
            let wanted = self.unread();
            self.read_files(&wanted);
        }
        Applied { file: Some(file), refused: count - done }
    }

    fn splice(&mut self, file: FileId, splice: Splice) -> Option<Changes> {
        match splice {
            Splice::Bytes(bytes, text) => self.engine.db.edit(file, bytes, &text).ok(),
            Splice::Whole(text) => Some(self.engine.db.replace(file, &text)),
            Splice::Lines { start, end, encoding, text } => {
                let document = self.engine.db.document(file)?;
                let (from, to) = (document.from_protocol(start, encoding), document.from_protocol(end, encoding));
                self.engine.db.edit(file, from.min(to)..to.max(from), &text).ok()
            }
        }
    }

    fn close(&mut self, file: FileId) -> Applied {
        self.open.remove(&file);
        self.engine.reorder();
        if self.is_virtual(file) {
            let changes = self.engine.db.set_text(file, Err(FileProblem::Missing));
            self.took(&changes, &[file]);
        } else {
            self.reread(&[file]);
        }
        Applied { file: Some(file), refused: 0 }
    }

    pub(crate) fn is_virtual(&self, file: FileId) -> bool {
        self.virtuals.values().any(|known| *known == file)
    }

    // ---- who is who -----------------------------------------------------------------------------

    /// Every file of the language that has a text or a problem of its own, in path order.
    pub fn files(&self) -> Vec<FileId> {
        let db = &self.engine.db;
        let mut files: Vec<FileId> = db
            .file_ids()
            .filter(|file| db.is_read(*file) || self.open.contains_key(file))
            .filter(|file| !matches!(db.file(*file).text, Err(FileProblem::Missing)))
            .collect();
        files.sort_by(|a, b| db.file(*a).path.cmp(&db.file(*b).path));
        files
    }

    /// The file at an address; links and spellings of one file give one.
    pub fn file(&self, address: &Address) -> Option<FileId> {
        match address {
            Address::Virtual(name) => self.virtuals.get(name).copied(),
            Address::Disk(path) => {
                self.engine.db.find_file(path).or_else(|| self.engine.db.find_file(&self.source.real(path).ok()?))
            }
        }
    }

    /// How a file is addressed: as the client that opened it spelled it, else its path.
    pub fn address(&self, file: FileId) -> Option<Address> {
        if let Some(open) = self.open.get(&file) {
            return Some(open.address.clone());
        }
        if let Some((name, _)) = self.virtuals.iter().find(|(_, known)| **known == file) {
            return Some(Address::Virtual(name.clone()));
        }
        Some(Address::Disk(self.engine.db.file(file).path.clone()))
    }

    /// The path shown to people: relative to its root, with `/`.
    pub fn shown_path(&self, file: FileId) -> String {
        let path = &self.engine.db.file(file).path;
        let root = self.roots.iter().filter(|root| path.starts_with(root)).max_by_key(|root| root.as_os_str().len());
        let relative = root.and_then(|root| path.strip_prefix(root).ok()).unwrap_or(path);
        relative.to_string_lossy().replace('\\', "/")
    }

    /// The text.
    pub fn document(&self, file: FileId) -> Option<&Document> {
        self.engine.db.document(file)
    }

    /// The client's version of an open file.
    pub fn version(&self, file: FileId) -> Option<i32> {
        self.open.get(&file).map(|open| open.version)
    }

    /// The roots (folders with a `guywire.toml`, or as given).
    pub fn roots(&self) -> &[PathBuf] {
        &self.roots
    }

    /// Whether a path names a file of the plan language by its ending.
    pub fn knows(path: &Path) -> bool {
        kind_of_path(path).is_some()
    }

    // ---- findings -------------------------------------------------------------------------------

    /// The findings of a file as last settled.
    pub fn findings(&self, file: FileId) -> FileFindings {
        match self.published.of(file, self.engine.ticks) {
            Some(findings) => FileFindings { version: self.version(file), ..findings.clone() },
            None => publish::findings(self, file),
        }
    }

    /// Whether all that is known of a file is up to date.
    pub fn is_settled(&self, file: FileId) -> bool {
        self.engine.values_are_settled() && !self.engine.graph.is_unsettled(file)
    }

    /// Files whose findings differ from those last told with this call, in path order. While much is unsettled, only
    /// files of which nothing is.
    pub fn changed(&mut self) -> Vec<FileId> {
        if !self.engine.values_are_settled() {
            return Vec::new();
        }
        let touched = std::mem::take(&mut self.engine.touched);
        let mut asked: FxHashSet<FileId> = touched.clone();
        for file in &touched {
            asked.extend(self.published.pointing_at(*file));
        }
        let mut changed = Vec::new();
        for file in asked {
            if self.engine.graph.is_unsettled(file) {
                self.engine.touched.insert(file);
                continue;
            }
            self.remember_home(file);
            let findings = publish::findings(self, file);
            if self.published.differs(file, findings, self.engine.ticks) {
                changed.push(file);
            }
        }
        let db = &self.engine.db;
        changed.sort_by(|a, b| db.file(*a).path.cmp(&db.file(*b).path));
        changed
    }

    /// Every finding of every file, computed anew from the texts as they are now: what the findings must equal, however
    /// the texts came to be. By shown path, in order.
    pub fn check_from_scratch(&self) -> Vec<(String, FileFindings)> {
        let mut fresh = self.fresh(CATALOG, 0);
        fresh.settle(Budget::Once, &AtomicBool::new(false));
        fresh.all_findings()
    }

    /// The findings of every file, by shown path, in order.
    pub fn all_findings(&self) -> Vec<(String, FileFindings)> {
        self.files().into_iter().map(|file| (self.shown_path(file), self.findings(file))).collect()
    }

    /// Leaves findings out of what is shown, and of what is told as waived, from now on.
    pub(crate) fn leave_out(
        &mut self,
        known: FxHashMap<FileId, FxHashSet<FindingKey>>,
        waived: FxHashMap<FileId, FxHashSet<FindingKey>>,
    ) {
        self.left_out = known;
        self.waived_before = waived;
        self.engine.ticks += 1;
        let files: Vec<FileId> = self.engine.db.file_ids().collect();
        self.engine.touched.extend(files);
    }

    /// A workspace of the same texts, to try something on.
    pub(crate) fn copy(&self) -> Workspace {
        self.fresh(CATALOG, 0)
    }

    /// Changes bytes of a text, whoever has it open.
    pub(crate) fn edit_text(&mut self, file: FileId, bytes: std::ops::Range<usize>, with: &str) {
        if let Ok(changes) = self.engine.db.edit(file, bytes, with) {
            self.took(&changes, &[file]);
        }
    }

    /// A workspace of the same texts, nothing computed.
    pub(crate) fn fresh(&self, catalog: &'static [&'static dyn ErasedRule], first: u32) -> Workspace {
        let mut fresh = Workspace::load_with(self.source.clone(), &[], self.today, catalog, Graph::default(), first);
        fresh.roots = self.roots.clone();
        fresh.most_shown = self.most_shown;
        let db = &self.engine.db;
        let mut texts = Vec::new();
        let mut files: Vec<FileId> = Vec::new();
        for file in db.file_ids() {
            let about = db.file(file);
            let copy = fresh.engine.db.file_at(&about.path);
            let text = match &about.text {
                Ok(document) => Ok(Document::new(&document.whole_text())),
                Err(problem) => Err(problem.clone()),
            };
            fresh.stamps.insert(copy, None);
            files.push(copy);
            texts.push((copy, text));
            if let Some(open) = self.open.get(&file) {
                fresh.open.insert(copy, open.clone());
            }
        }
        let changes = fresh.set_texts(texts);
        fresh.took(&changes, &files);
        fresh
    }

    /// As [`Workspace::fresh`], the files loaded one by one in reverse order.
    #[cfg(test)]
    pub(crate) fn shuffled(&self, catalog: &'static [&'static dyn ErasedRule], first: u32) -> Workspace {
        let mut shuffled = Workspace::load_with(self.source.clone(), &[], self.today, catalog, Graph::default(), first);
        shuffled.roots = self.roots.clone();
        let db = &self.engine.db;
        for file in db.file_ids().collect::<Vec<_>>().into_iter().rev() {
            let about = db.file(file);
            let copy = shuffled.engine.db.file_at(&about.path);
            shuffled.stamps.insert(copy, None);
            let text = match &about.text {
                Ok(document) => Ok(Document::new(&document.whole_text())),
                Err(problem) => Err(problem.clone()),
            };
            let changes = shuffled.engine.db.set_text(copy, text);
            shuffled.took(&changes, &[copy]);
        }
        shuffled
    }
}
