//! The database: files, entities read from them, and the indexes over names and references. Changes come in as edits
//! of a text and go out as facts that changed; nothing here runs a rule.

use std::ops::Range;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use guywire_text::{
    BlockId, Delta, Document, EditError, FileId, Span, SyntaxError, Table, TopTable, Unit, UnitKey, Value,
};
use jiff::civil::Date;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use crate::bag::Bag;
use crate::derived::Derived;
use crate::entity::{Entity, EntityId, Form, difference};
use crate::fact::{Changes, Fact};
use crate::index::Index;
use crate::language::{FieldSet, FileKind, Kind, Many, TableSpec, table_named};
use crate::read::{OPEN, Reader};
use crate::sheets::SheetState;
use crate::symbol::{Symbol, Symbols};
use crate::value::Local;

/// Why a file that is there has no text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FileProblem {
    /// There is no such file.
    Missing,
    /// It is there and cannot be read; why, for people.
    Unreadable(String),
}

/// What is known of a file.
#[derive(Debug)]
pub struct File {
    /// Its one path.
    pub path: PathBuf,
    /// Its kind by name; files of other names hold nothing of the language.
    pub kind: Option<FileKind>,
    /// The text, or why there is none.
    pub text: Result<Document, FileProblem>,
    /// Entities and errors by the unit of text that they were read from.
    pub(crate) units: FxHashMap<UnitKey, UnitRecord>,
    /// Units with errors.
    pub(crate) bad: FxHashSet<UnitKey>,
    /// The first table of the file's first kind: `[plan]`, `[model]`.
    pub(crate) main: Option<EntityId>,
    /// Entities of the main kind, to choose the first from.
    pub(crate) mains: SmallVec<[EntityId; 1]>,
    /// The files that it sees: itself, then its shares in order, each with theirs.
    pub(crate) scope: Arc<[FileId]>,
    /// The fleet sheets that it names.
    pub(crate) sheets: SmallVec<[FileId; 1]>,
    /// What is known of it as a fleet sheet, where some plan file names it as one.
    pub(crate) sheet: Option<SheetState>,
    /// Whether it was a plan when scopes were last found.
    pub(crate) was_plan: bool,
    /// The files that see it, itself left out, in order of path.
    pub(crate) seers: Arc<[FileId]>,
}

/// What was read from a unit of text.
#[derive(Debug, Default)]
pub(crate) struct UnitRecord {
    pub entities: SmallVec<[EntityId; 1]>,
    pub errors: Vec<SyntaxError>,
}

#[derive(Debug)]
struct Cellar {
    generation: u32,
    entity: Option<Box<Entity>>,
}

/// Units of a text that are read before what is kept of them is put away.
const AT_ONCE: usize = 4_096;
/// Units that one core reads at a time.
const A_TASK: usize = 128;

/// Follows links: the one true path of a path, where there is a file.
pub type Links = Box<dyn Fn(&Path) -> Option<PathBuf> + Send + Sync>;

/// Files, entities, indexes, and what is computed over them.
#[derive(Default)]
pub struct Db {
    /// The names met so far.
    pub symbols: Symbols,
    files: Vec<File>,
    by_path: FxHashMap<PathBuf, FileId>,
    links: Option<Links>,
    cellar: Vec<Cellar>,
    free: Vec<u32>,
    pub(crate) index: Index,
    /// Computed values.
    pub derived: Derived,
    today: FxHashMap<FileId, Date>,
    /// The `[radios]` tables, and whether one changed since sheets were last looked at.
    pub(crate) fleets: Vec<EntityId>,
    pub(crate) fleets_changed: bool,
    /// The files that are read as sheets.
    pub(crate) bound: Vec<FileId>,
}

impl Db {
    /// An empty database that follows links with `links`, whose entities are numbered from `first` on: nothing visible
    /// may depend on that number.
    pub fn new(links: Option<Links>, first: u32) -> Self {
        let cellar = (0..first).map(|_| Cellar { generation: first, entity: None }).collect();
        Db { cellar, links, ..Db::default() }
    }

    // ---- files ----------------------------------------------------------------------------------

    /// The file of a path, known from now on. The path is made plain (`.` and `..` taken out) and links are followed, so
    /// that a file with two names is one file.
    pub fn file_at(&mut self, path: &Path) -> FileId {
        let path = plain_path(path);
        if let Some(file) = self.by_path.get(&path) {
            return *file;
        }
        let real = self.links.as_ref().and_then(|links| links(&path)).unwrap_or_else(|| path.clone());
        if real != path {
            let file = self.file_at_real(real);
            self.by_path.insert(path, file);
            return file;
        }
        self.file_at_real(path)
    }

    fn file_at_real(&mut self, path: PathBuf) -> FileId {
        if let Some(file) = self.by_path.get(&path) {
            return *file;
        }
        // Four billion files do not fit.
        let id = FileId(self.files.len() as u32);
        let kind = kind_of_path(&path);
        self.by_path.insert(path.clone(), id);
        self.files.push(File {
            path,
            kind,
            text: Err(FileProblem::Missing),
            units: FxHashMap::default(),
            bad: FxHashSet::default(),
            main: None,
            mains: SmallVec::new(),
            scope: Arc::new([id]),
            sheets: SmallVec::new(),
            sheet: None,
            was_plan: false,
            seers: Arc::new([]),
        });
        self.index.file_gap(id, true, &mut Changes::default());
        id
    }

    /// The file of a path, if it was ever named.
    pub fn find_file(&self, path: &Path) -> Option<FileId> {
        self.by_path.get(&plain_path(path)).copied()
    }

    /// What is known of a file.
    pub fn file(&self, file: FileId) -> &File {
        &self.files[file.0 as usize]
    }

    pub(crate) fn file_mut(&mut self, file: FileId) -> &mut File {
        &mut self.files[file.0 as usize]
    }

    /// The text of a file, if it has one.
    pub fn document(&self, file: FileId) -> Option<&Document> {
        self.file(file).text.as_ref().ok()
    }

    /// Every file ever named.
    pub fn file_ids(&self) -> impl ExactSizeIterator<Item = FileId> + use<> {
        (0..self.files.len() as u32).map(FileId)
    }

    /// Whether a file is a plan: it has a `[plan]` table, so parts are judged through it.
    pub fn is_plan(&self, file: FileId) -> bool {
        self.file(file).kind == Some(FileKind::Plan) && self.file(file).main.is_some()
    }

    /// The first table of the file's first kind: `[plan]`, `[model]`.
    pub fn main(&self, file: FileId) -> Option<EntityId> {
        self.file(file).main
    }

    /// Every entity of a file, in no order.
    pub fn entities_of(&self, file: FileId) -> impl Iterator<Item = EntityId> + '_ {
        self.file(file).units.values().flat_map(|unit| unit.entities.iter().copied())
    }

    /// The entities read from a unit of a file's text, in text order.
    pub fn entities_of_unit(&self, file: FileId, unit: &UnitKey) -> &[EntityId] {
        self.file(file).units.get(unit).map_or(&[], |unit| &unit.entities)
    }

    /// What is wrong with the text of a file, in text order.
    pub fn errors(&self, file: FileId) -> Vec<&SyntaxError> {
        let about = self.file(file);
        let Ok(document) = &about.text else { return Vec::new() };
        let mut errors: Vec<&SyntaxError> =
            about.bad.iter().filter_map(|key| about.units.get(key)).flat_map(|unit| &unit.errors).collect();
        errors.sort_by_key(|error| (document.start(error.span.block), error.span.start, error.span.end));
        errors
    }

    // ---- entities -------------------------------------------------------------------------------

    /// An entity, if it is still there.
    pub fn entity(&self, id: EntityId) -> Option<&Entity> {
        let kept = self.cellar.get(id.slot as usize)?;
        if kept.generation == id.generation { kept.entity.as_deref() } else { None }
    }

    pub(crate) fn add_entity(&mut self, entity: Entity, changes: &mut Changes) -> EntityId {
        let slot = self.free.pop().unwrap_or_else(|| {
            self.cellar.push(Cellar { generation: 0, entity: None });
            (self.cellar.len() - 1) as u32
        });
        let id = EntityId { slot, generation: self.cellar[slot as usize].generation };
        self.index.enter(id, &entity, &self.symbols, changes);
        if Some(entity.kind) == main_kind(self.file(entity.file).kind) {
            let file = entity.file;
            self.file_mut(file).mains.push(id);
        }
        if entity.kind == Kind::Fleet {
            self.fleets.push(id);
            self.fleets_changed = true;
        }
        self.cellar[slot as usize].entity = Some(Box::new(entity));
        changes.added.push(id);
        changes.keys(id, FieldSet::ALL);
        id
    }

    pub(crate) fn remove_entity(&mut self, id: EntityId, changes: &mut Changes) {
        let Some(entity) = self.cellar[id.slot as usize].entity.take() else { return };
        self.cellar[id.slot as usize].generation += 1;
        self.free.push(id.slot);
        self.index.leave(id, &entity, &self.symbols, changes);
        self.file_mut(entity.file).mains.retain(|main| *main != id);
        if entity.kind == Kind::Fleet {
            self.fleets.retain(|fleet| *fleet != id);
            self.fleets_changed = true;
        }
        changes.removed.push(id);
        changes.keys(id, FieldSet::ALL);
    }

    /// Puts what is written now in the place of what was; identity stays.
    pub(crate) fn update_entity(&mut self, id: EntityId, new: Entity, changes: &mut Changes) {
        let Some(old) = self.cellar[id.slot as usize].entity.take() else { return };
        let mut changed = difference(&old.record, &new.record);
        if old.form != new.form || old.table.map(|(name, _)| name) != new.table.map(|(name, _)| name) {
            changed = changed.and(FieldSet::REST);
        }
        if !changed.is_empty() {
            self.index.update(id, &old, &new, &self.symbols, changes);
            changes.keys(id, changed);
            self.fleets_changed |= new.kind == Kind::Fleet;
        }
        self.cellar[id.slot as usize].entity = Some(Box::new(new));
    }

    // ---- texts ----------------------------------------------------------------------------------

    /// Gives a file a text (or says why it has none), all anew.
    pub fn set_text(&mut self, file: FileId, text: Result<Document, FileProblem>) -> Changes {
        self.set_texts(vec![(file, text)])
    }

    /// Gives files their texts, all anew. The texts are read on all cores.
    pub fn set_texts(&mut self, texts: Vec<(FileId, Result<Document, FileProblem>)>) -> Changes {
        self.take_texts(texts, Changes::default())
    }

    /// As [`Db::set_texts`], where nobody has read anything yet: the changes hold no facts.
    pub fn set_first_texts(&mut self, texts: Vec<(FileId, Result<Document, FileProblem>)>) -> Changes {
        self.take_texts(texts, Changes::first())
    }

    fn take_texts(&mut self, texts: Vec<(FileId, Result<Document, FileProblem>)>, mut changes: Changes) -> Changes {
        let mut rescope = false;
        let files: Vec<FileId> = texts.iter().map(|(file, _)| *file).collect();
        for file in &files {
            let old: Vec<UnitKey> = self.file(*file).units.keys().cloned().collect();
            for key in old {
                self.drop_unit(*file, &key, &mut changes);
            }
        }
        self.read_units(&texts, &mut changes);
        for (file, text) in texts {
            let (before, after) = (self.file(file).text.is_ok(), text.is_ok());
            self.file_mut(file).text = text;
            if before != after {
                self.index.file_gap(file, !after, &mut changes);
            }
            changes.fact(Fact::Main(file));
            changes.fact(Fact::Errors(file));
            changes.fact(Fact::Empty(file));
            self.settle_main(file, &mut changes);
            rescope |= self.file(file).kind == Some(FileKind::Plan);
        }
        rescope |= self.settle_sheets(&files, &mut changes);
        if rescope {
            self.rescope(&mut changes);
        }
        changes
    }

    /// Reads every unit of some texts, on all cores, some at a time: what is parsed takes far more memory than what is kept
    /// of it. While some are put in their places, the next are read.
    fn read_units(&mut self, texts: &[(FileId, Result<Document, FileProblem>)], changes: &mut Changes) {
        let mut tasks: Vec<(FileId, &Document, Vec<UnitKey>)> = Vec::new();
        for (file, text) in texts {
            if let (Ok(document), Some(_)) = (text, self.file(*file).kind) {
                let keys = document.units();
                tasks.extend(keys.chunks(AT_ONCE).map(|some| (*file, document, some.to_vec())));
            }
        }
        let read = |(_, document, keys): &(FileId, &Document, Vec<UnitKey>)| -> Vec<Option<Unit>> {
            keys.par_chunks(A_TASK).flat_map_iter(|keys| document.read_units(keys)).collect()
        };
        let mut next = tasks.first().map(read).unwrap_or_default();
        for (number, (file, _, keys)) in tasks.iter().enumerate() {
            let units = std::mem::take(&mut next);
            let put = || {
                for (key, unit) in keys.iter().zip(units) {
                    if let Some(unit) = unit {
                        self.put_unit(*file, key.clone(), unit, changes);
                    }
                }
            };
            match tasks.get(number + 1) {
                Some(task) => ((), next) = rayon::join(put, || read(task)),
                None => put(),
            }
        }
    }

    /// Changes bytes of a text.
    ///
    /// # Errors
    /// [`EditError`] where the bytes are not in the text or cut a character. In a file without a text nothing changes.
    pub fn edit(&mut self, file: FileId, bytes: Range<usize>, with: &str) -> Result<Changes, EditError> {
        let mut changes = Changes::default();
        let Ok(document) = &mut self.file_mut(file).text else { return Ok(changes) };
        let delta = document.edit(bytes, with)?;
        self.take_delta(file, &delta, &mut changes);
        Ok(changes)
    }

    /// Puts another text in the place of a text, keeping what did not change.
    pub fn replace(&mut self, file: FileId, text: &str) -> Changes {
        let mut changes = Changes::default();
        let Ok(document) = &mut self.file_mut(file).text else { return self.set_text(file, Ok(Document::new(text))) };
        let delta = document.replace(text);
        self.take_delta(file, &delta, &mut changes);
        changes
    }

    fn take_delta(&mut self, file: FileId, delta: &Delta, changes: &mut Changes) {
        if self.file(file).kind.is_none() {
            self.settle_sheets(&[file], changes);
            return;
        }
        let empty = self.is_empty(file);
        for key in &delta.gone {
            self.drop_unit(file, key, changes);
        }
        let units = match &self.file(file).text {
            Ok(document) => document.read_units(&delta.read),
            Err(_) => Vec::new(),
        };
        for (key, unit) in delta.read.iter().zip(units) {
            match unit {
                Some(unit) => self.put_unit(file, key.clone(), unit, changes),
                None => self.drop_unit(file, key, changes),
            }
        }
        if empty != self.is_empty(file) {
            changes.fact(Fact::Empty(file));
        }
        self.settle_main(file, changes);
        if self.settle_sheets(&[], changes) {
            self.rescope(changes);
        } else {
            self.rescope_if_needed(file, changes);
        }
    }

    /// Whether nothing is written in a file but blanks and comments.
    pub fn is_empty(&self, file: FileId) -> bool {
        let about = self.file(file);
        about.sheet.is_none() && about.bad.is_empty() && about.units.values().all(|unit| unit.entities.is_empty())
    }

    fn drop_unit(&mut self, file: FileId, key: &UnitKey, changes: &mut Changes) {
        let Some(record) = self.file_mut(file).units.remove(key) else { return };
        for id in record.entities {
            self.remove_entity(id, changes);
        }
        if self.file_mut(file).bad.remove(key) {
            changes.fact(Fact::Errors(file));
        }
    }

    fn put_unit(&mut self, file: FileId, key: UnitKey, unit: Unit, changes: &mut Changes) {
        let old = self.file_mut(file).units.remove(&key).unwrap_or_default();
        let mut kept = old.entities.into_iter();
        let mut entities = SmallVec::new();
        for table in &unit.tables {
            let Some(entity) = self.read_entity(file, &key, table) else { continue };
            match kept.next() {
                Some(id) if self.entity(id).is_some_and(|was| was.kind == entity.kind) => {
                    self.update_entity(id, entity, changes);
                    entities.push(id);
                }
                other => {
                    if let Some(id) = other {
                        self.remove_entity(id, changes);
                    }
                    entities.push(self.add_entity(entity, changes));
                }
            }
        }
        for id in kept {
            self.remove_entity(id, changes);
        }
        let about = self.file_mut(file);
        let was_bad = about.bad.remove(&key);
        if !unit.errors.is_empty() {
            about.bad.insert(key.clone());
        }
        if was_bad || !unit.errors.is_empty() {
            changes.fact(Fact::Errors(file));
        }
        about.units.insert(key, UnitRecord { entities, errors: unit.errors });
    }

    fn read_entity(&mut self, file: FileId, unit: &UnitKey, table: &TopTable) -> Option<Entity> {
        let file_kind = self.file(file).kind?;
        let spec = table.name.as_ref().and_then(|name| table_named(file_kind, &name.text));
        let (record_spec, kind) = spec.map_or((&OPEN, Kind::Unknown), |spec| (spec, spec.kind));
        let form = form_of(table, spec);
        let mut symbols = std::mem::take(&mut self.symbols);
        let mut file_of = |path: &str| {
            let beside = self.file(file).path.parent().map(|folder| folder.join(path));
            self.file_at(&beside.unwrap_or_else(|| path.into()))
        };
        let mut reader = Reader { symbols: &mut symbols, file_of: &mut file_of, blocks: Vec::with_capacity(1) };
        let record = match &table.value.value {
            Value::Table(found) => reader.record(record_spec, found, table.value.span),
            _ => reader.record(record_spec, &broken(), table.value.span),
        };
        let name = table.name.as_ref().map(|key| (&*key.text, key.span));
        let (name, blocks) = finish(reader, name);
        self.symbols = symbols;
        Some(Entity { file, kind, unit: unit.clone(), ordinal: table.ordinal, form, table: name, record, blocks })
    }

    /// The first table of the file's first kind is chosen by place in the text.
    fn settle_main(&mut self, file: FileId, changes: &mut Changes) {
        let about = self.file(file);
        let main = match about.mains.len() {
            0 => None,
            1 => Some(about.mains[0]),
            _ => about.mains.iter().copied().min_by_key(|id| self.header_start(*id)),
        };
        if about.main != main {
            self.file_mut(file).main = main;
            changes.fact(Fact::Main(file));
        }
    }

    // ---- places ---------------------------------------------------------------------------------

    /// The bytes of the file that a place in an entity is now.
    pub fn bytes(&self, entity: &Entity, at: Local) -> Option<Range<usize>> {
        let block: BlockId = *entity.blocks.get(at.block as usize)?;
        self.document(entity.file)?.range(Span { block, start: at.start, end: at.end })
    }

    /// Where the header of an entity starts in its file; entities that are gone come last.
    pub fn header_start(&self, id: EntityId) -> usize {
        self.entity(id).and_then(|entity| self.bytes(entity, entity.record.at)).map_or(usize::MAX, |bytes| bytes.start)
    }

    // ---- scope ----------------------------------------------------------------------------------

    fn rescope_if_needed(&mut self, file: FileId, changes: &mut Changes) {
        if self.file(file).kind != Some(FileKind::Plan) {
            return;
        }
        let main = self.file(file).main;
        let matters = changes.facts.iter().any(|read| match read.fact {
            Fact::Main(changed) => changed == file,
            Fact::Entity(id) => {
                Some(id) == main && read.keys.meets(FieldSet::of(crate::language::plan::shares.number()))
            }
            _ => false,
        });
        if matters {
            self.rescope(changes);
        }
    }

    /// Finds anew what every plan file sees.
    fn rescope(&mut self, changes: &mut Changes) {
        let plans: Vec<FileId> = self.file_ids().filter(|file| self.file(*file).kind == Some(FileKind::Plan)).collect();
        let mut seers: FxHashMap<FileId, Vec<FileId>> = FxHashMap::default();
        let mut rescoped: FxHashSet<FileId> = FxHashSet::default();
        for file in &plans {
            let scope: Arc<[FileId]> = if self.is_plan(*file) { self.reach(*file).into() } else { Arc::new([*file]) };
            for seen in scope.iter().filter(|seen| *seen != file) {
                seers.entry(*seen).or_default().push(*file);
            }
            let is_plan = self.is_plan(*file);
            if self.file(*file).was_plan != is_plan {
                self.file_mut(*file).was_plan = is_plan;
                rescoped.insert(*file);
            }
            if self.file(*file).scope != scope {
                self.file_mut(*file).scope = scope;
                changes.fact(Fact::Scope(*file));
                rescoped.insert(*file);
            }
        }
        for file in self.file_ids().collect::<Vec<_>>() {
            let mut now = seers.remove(&file).unwrap_or_default();
            now.sort_by(|a, b| self.file(*a).path.cmp(&self.file(*b).path));
            if *self.file(file).seers != *now {
                self.file_mut(file).seers = now.into();
                changes.fact(Fact::Seers(file));
            }
        }
        changes.rescoped.extend(rescoped);
    }

    /// A plan and its shares, depth first, each once.
    fn reach(&self, from: FileId) -> Vec<FileId> {
        let mut seen = FxHashSet::default();
        let mut order = Vec::new();
        let mut open = vec![from];
        while let Some(file) = open.pop() {
            if !seen.insert(file) {
                continue;
            }
            order.push(file);
            let sheets = self.file(file).sheets.iter().copied();
            order.extend(sheets.filter(|sheet| seen.insert(*sheet)));
            let mut shares = self.shares(file);
            shares.reverse();
            open.extend(shares);
        }
        order
    }

    /// The files that a file's `[plan]` shares, in order.
    pub fn shares(&self, file: FileId) -> Vec<FileId> {
        use crate::value::{Known, Stored};
        let Some(main) = self.main(file).and_then(|main| self.entity(main)) else { return Vec::new() };
        if main.kind != Kind::Plan {
            return Vec::new();
        }
        match main.record.known(crate::language::plan::shares.number()) {
            Known::Is(Stored::List(elements)) => elements
                .iter()
                .filter_map(|element| if let Stored::File(file) = element.value { Some(file) } else { None })
                .collect(),
            _ => Vec::new(),
        }
    }

    /// A number that is another whenever a table of this kind in this file has come, gone, or changed its name.
    pub fn name_tick(&self, file: FileId, kind: Kind) -> u64 {
        self.index.name_tick(file, kind)
    }

    /// The plans through which a file is judged: those that see it, and itself where it is a plan.
    pub fn viewers(&self, file: FileId) -> Vec<FileId> {
        let mut viewers: Vec<FileId> = self.file(file).seers.to_vec();
        if self.is_plan(file) {
            viewers.push(file);
        }
        viewers
    }

    /// The files that a file sees: itself first.
    pub fn scope(&self, file: FileId) -> &[FileId] {
        &self.file(file).scope
    }

    /// The day by which dated things of a file are judged.
    pub fn today(&self, file: FileId) -> Option<Date> {
        self.today.get(&file).copied()
    }

    /// Sets the day by which dated things of a file are judged.
    pub fn set_today(&mut self, file: FileId, day: Date) -> Changes {
        let mut changes = Changes::default();
        if self.today.insert(file, day) != Some(day) {
            changes.fact(Fact::Today(file));
        }
        changes
    }

    /// Files that some table names and that were never given a text.
    pub fn missing(&self) -> Vec<FileId> {
        self.file_ids().filter(|file| matches!(self.file(*file).text, Err(FileProblem::Missing))).collect()
    }

    /// The entities of a kind with a name in a file.
    pub fn named(&self, file: FileId, kind: Kind, name: Symbol) -> &[EntityId] {
        self.index.named(file, kind, name)
    }

    /// Every name of a kind in a file, in no order.
    pub fn names(&self, file: FileId, kind: Kind) -> impl Iterator<Item = Symbol> + '_ {
        let members = self.index.members(file, kind).into_iter().flat_map(crate::bag::Bag::iter);
        members.filter_map(|id| self.entity(id)).filter_map(|entity| entity.name().value())
    }

    pub(crate) fn referring(&self, file: FileId, kind: Kind, name: Symbol) -> Option<&Bag> {
        self.index.referring(file, kind, name)
    }
}

/// The kind of a file by its path; a name that is not Unicode still has an ending.
pub fn kind_of_path(path: &Path) -> Option<FileKind> {
    FileKind::of_name(&path.file_name()?.to_string_lossy())
}

/// The kind of the first table of a kind of file.
fn main_kind(file: Option<FileKind>) -> Option<Kind> {
    Some(match file? {
        FileKind::Plan => Kind::Plan,
        FileKind::Model => Kind::Model,
        FileKind::Regime => Kind::Regime,
        FileKind::Bench => Kind::Bench,
        FileKind::Field => Kind::Field,
        FileKind::Settings => Kind::Workspace,
    })
}

fn form_of(table: &TopTable, spec: Option<&'static TableSpec>) -> Form {
    let Some(_) = &table.name else { return Form::UnreadableHeader };
    let Some(spec) = spec else { return Form::UnknownTable };
    match (&table.value.value, spec.many, table.array) {
        (Value::Table(_), Many::Any, false) => Form::SingleForMany,
        (Value::Table(_), Many::One, true) => Form::ManyForSingle,
        (Value::Table(_), _, _) => Form::Good,
        _ => Form::NotATable,
    }
}

/// Stands for a table that cannot be read.
fn broken() -> Table {
    Table { headers: Vec::new(), entries: Vec::new(), broken: true }
}

/// The name of the table and the blocks that the reader met.
fn finish(reader: Reader<'_>, name: Option<(&str, Span)>) -> (Option<(Symbol, Local)>, Box<[BlockId]>) {
    let mut blocks = reader.blocks;
    let name = name.map(|(text, span)| {
        let block = match blocks.iter().position(|block| *block == span.block) {
            Some(at) => at,
            None => {
                blocks.push(span.block);
                blocks.len() - 1
            }
        };
        let at = Local { block: block.min(u16::MAX as usize) as u16, start: span.start, end: span.end };
        (reader.symbols.intern(text), at)
    });
    (name, blocks.into())
}

/// A path without `.` and `..`, links not looked at.
pub fn plain_path(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                if !plain.pop() {
                    plain.push("..");
                }
            }
            other => plain.push(other),
        }
    }
    plain
}
