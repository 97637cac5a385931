//! The only door to data. Everything read through it is recorded; nothing can be sent elsewhere or kept.

use std::marker::PhantomData;
use std::path::Path;
use std::sync::Arc;

use guywire_radio::regime::Regime;
use guywire_text::{FileId, Span, SyntaxError};
use rustc_hash::FxHashSet;
use smallvec::SmallVec;

use crate::audience::{Air, Ear, Post, Relay};
use crate::bag::Bag;
use crate::db::{Db, FileProblem};
use crate::derived::{Channel, Value};
use crate::entity::{Entity, EntityId, Form, Reference};
use crate::fact::{Bucket, Fact, Recorder, Space, What};
use crate::language::{Field, FieldSet, Kind, TableSpec, Tabled, model, network, plan, profile, radio, zone};
use crate::sheet::SheetProblem;
use crate::symbol::Symbol;
use crate::value::{Known, Record, Row, Stored};

/// The data as one plan sees it.
#[derive(Clone, Copy)]
pub struct View<'v> {
    pub(crate) db: &'v Db,
    pub(crate) viewer: FileId,
    pub(crate) reads: &'v Recorder,
}

/// The models of the radios that hold a channel, in order of path.
#[derive(Clone)]
struct SortedModels(SmallVec<[EntityId; 4]>);

/// What a name leads to.
pub enum Found<'v, T> {
    /// One table.
    One(Ref<'v, T>),
    /// Nothing has that name.
    Missing,
    /// Several in one file have it.
    Ambiguous(Vec<Ref<'v, T>>),
    /// Nothing readable has that name, and something that cannot be read might.
    Unreadable,
}

/// What a name leads to, where tables of several kinds may have it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FoundAny {
    /// These have it: one, or several where the name is ambiguous.
    Some(SmallVec<[EntityId; 2]>),
    /// Nothing has that name.
    Missing,
    /// Nothing readable has that name, and something that cannot be read might.
    Unreadable,
}

/// An entity, its keys read through the view.
pub struct Ref<'v, T> {
    view: View<'v>,
    id: EntityId,
    entity: &'v Entity,
    table: PhantomData<fn() -> T>,
}

impl<T> Clone for Ref<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Ref<'_, T> {}

impl<'v, T: Tabled> Ref<'v, T> {
    /// Its identity.
    pub fn id(&self) -> EntityId {
        self.id
    }
    /// Its name as text, for messages.
    pub fn name(&self) -> Option<&'v str> {
        self.view.name_of(self.id)
    }
}

impl<T: Tabled> Row<T> for Ref<'_, T> {
    fn record_for(&self, field: u8) -> &Record {
        self.view.reads.keys(self.id, FieldSet::of(field));
        &self.entity.record
    }
}

impl<'v> View<'v> {
    /// The database as `viewer` sees it, with what is read told to `reads`.
    pub fn new(db: &'v Db, viewer: FileId, reads: &'v Recorder) -> Self {
        View { db, viewer, reads }
    }

    /// The same data as another plan sees it, recorded in the same place.
    pub fn at(self, viewer: FileId) -> Self {
        View { viewer, ..self }
    }

    /// The file through which data is seen.
    pub fn viewer(self) -> FileId {
        self.viewer
    }

    /// The text of a name.
    pub fn symbol(self, symbol: Symbol) -> &'v str {
        self.db.symbols.text(symbol)
    }

    /// The number of a name, if any table has it.
    pub fn find_symbol(self, text: &str) -> Option<Symbol> {
        self.db.symbols.find(text)
    }

    /// A value of its own type that several rules ask for, of a table or of all that the plan sees: made once in the run of
    /// a cell. It must follow from what is read through the view and from what it is of, and from nothing else.
    pub fn once<T: Clone + 'static>(self, of: Option<EntityId>, make: impl FnOnce() -> T) -> T {
        self.reads.once(self.viewer, of, make)
    }

    // ---- entities -------------------------------------------------------------------------------

    /// An entity as the table that it is; none where it is another.
    pub fn get<T: Tabled>(self, id: EntityId) -> Option<Ref<'v, T>> {
        let entity = self.db.entity(id)?;
        (entity.kind == T::KIND && std::ptr::eq(entity.record.spec, T::SPEC)).then_some(Ref {
            view: self,
            id,
            entity,
            table: PhantomData,
        })
    }

    /// What an entity is.
    pub fn kind(self, id: EntityId) -> Kind {
        self.db.entity(id).map_or(Kind::Unknown, |entity| entity.kind)
    }

    /// The file that an entity stands in. It does not change while the entity lives.
    pub fn file_of(self, id: EntityId) -> Option<FileId> {
        self.db.entity(id).map(|entity| entity.file)
    }

    /// Whether this plan sees the file that an entity stands in.
    pub fn sees(self, id: EntityId) -> bool {
        self.file_of(id).is_some_and(|file| self.lookup_files(self.viewer).any(|seen| seen == file))
    }

    /// The table of an entity.
    pub fn spec(self, id: EntityId) -> Option<&'static TableSpec> {
        self.db.entity(id).map(|entity| entity.record.spec)
    }

    /// Everything written in an entity; counts as reading all of it.
    pub fn whole(self, id: EntityId) -> Option<&'v Record> {
        self.reads.keys(id, FieldSet::ALL);
        self.db.entity(id).map(|entity| &entity.record)
    }

    /// What belongs to no key of an entity: unknown keys, broken lines, and how the table is written.
    pub fn rest(self, id: EntityId) -> Option<(Form, &'v Record, Option<&'v str>)> {
        self.reads.keys(id, FieldSet::REST);
        let entity = self.db.entity(id)?;
        Some((entity.form, &entity.record, entity.table.map(|(name, _)| self.symbol(name))))
    }

    /// The name of an entity, for messages and comparisons.
    pub fn name_of(self, id: EntityId) -> Option<&'v str> {
        self.name_symbol(id).value().map(|name| self.symbol(name))
    }

    /// The name of an entity.
    pub fn name_symbol(self, id: EntityId) -> Known<Symbol> {
        let Some(entity) = self.db.entity(id) else { return Known::Absent };
        if let Some(field) = entity.record.spec.name_field() {
            self.reads.keys(id, FieldSet::of(field));
        }
        entity.name()
    }

    /// How an entity is called in a message: its kind and name, or its kind alone.
    pub fn called(self, id: EntityId) -> String {
        let noun = self.kind(id).noun();
        match self.name_of(id) {
            Some(name) => format!("{noun} \"{name}\""),
            None => format!("this {noun}"),
        }
    }

    // ---- names ----------------------------------------------------------------------------------

    /// The files in which a name used in `file` is looked for, in order: its own, then what the viewing plan sees.
    pub(crate) fn lookup_files(self, file: FileId) -> impl Iterator<Item = FileId> + 'v {
        self.reads.fact(Fact::Scope(self.viewer));
        std::iter::once(file).chain(self.db.scope(self.viewer).iter().copied().filter(move |seen| *seen != file))
    }

    /// What a name used in `from` leads to. The nearest file that has it wins.
    pub fn find<T: Tabled>(self, from: EntityId, name: Symbol) -> Found<'v, T> {
        let Some(file) = self.file_of(from) else { return Found::Missing };
        for seen in self.lookup_files(file) {
            self.reads.fact(Fact::Name(seen, T::KIND, name));
            match self.db.named(seen, T::KIND, name) {
                [] => {}
                [only] => return self.get(*only).map_or(Found::Missing, Found::One),
                several => {
                    let mut several: SmallVec<[EntityId; 4]> = SmallVec::from_slice(several);
                    self.sort(&mut several);
                    return Found::Ambiguous(several.into_iter().filter_map(|id| self.get(id)).collect());
                }
            }
        }
        let gap = self.lookup_files(file).any(|seen| self.name_gap(seen, T::KIND));
        if gap { Found::Unreadable } else { Found::Missing }
    }

    /// What a name used in `from` leads to, among tables of several kinds.
    pub fn find_any(self, from: EntityId, kinds: &[Kind], name: Symbol) -> FoundAny {
        let Some(file) = self.file_of(from) else { return FoundAny::Missing };
        for seen in self.lookup_files(file) {
            let mut found = SmallVec::new();
            for kind in kinds {
                self.reads.fact(Fact::Name(seen, *kind, name));
                found.extend_from_slice(self.db.named(seen, *kind, name));
            }
            if !found.is_empty() {
                self.sort(&mut found);
                return FoundAny::Some(found);
            }
        }
        let gap = self.lookup_files(file).any(|seen| kinds.iter().any(|kind| self.name_gap(seen, *kind)));
        if gap { FoundAny::Unreadable } else { FoundAny::Missing }
    }

    pub(crate) fn name_gap(self, file: FileId, kind: Kind) -> bool {
        if self.db.is_sheet(file) {
            // A sheet holds radios only, and nothing refers to those by name.
            return false;
        }
        self.reads.fact(Fact::NameGap(file, kind));
        self.db.index.name_gap(file, kind)
    }

    /// The other entities of the same kind and name in the same file.
    pub fn namesakes(self, id: EntityId) -> Vec<EntityId> {
        let (Some(entity), Known::Is(name)) = (self.db.entity(id), self.name_symbol(id)) else { return Vec::new() };
        self.reads.fact(Fact::Name(entity.file, entity.kind, name));
        let mut others: Vec<EntityId> =
            self.db.named(entity.file, entity.kind, name).iter().copied().filter(|other| *other != id).collect();
        self.sort(&mut others);
        others
    }

    /// Names of these kinds that a name used in `from` could have meant. Not recorded: for fixes, which are made anew
    /// whenever they are asked for.
    pub fn names_for_fix(self, from: EntityId, kinds: &[Kind]) -> Vec<&'v str> {
        let Some(file) = self.file_of(from) else { return Vec::new() };
        let mut names: Vec<&str> = self
            .lookup_files(file)
            .flat_map(|seen| kinds.iter().flat_map(move |kind| self.db.names(seen, *kind)))
            .map(|name| self.symbol(name))
            .collect();
        names.sort_unstable();
        names.dedup();
        names
    }

    /// The references written in an entity, with what each may be. Counts as reading all of it.
    pub fn references(self, id: EntityId) -> Vec<Reference> {
        let mut found = Vec::new();
        self.each_reference(id, &mut |reference| found.push(reference));
        found
    }

    /// Calls `visit` for what [`View::references`] lists.
    pub fn each_reference(self, id: EntityId, visit: &mut dyn FnMut(Reference)) {
        if let Some(record) = self.whole(id) {
            record.references(&self.db.symbols, visit);
        }
    }

    /// The entities of a kind that refer to this one, as this plan sees it, in no order.
    pub fn referrers<T: Tabled>(self, to: EntityId) -> Vec<Ref<'v, T>> {
        let mut found = Vec::new();
        let (Some(entity), Known::Is(name)) = (self.db.entity(to), self.name_symbol(to)) else { return found };
        let has = |file: FileId| {
            self.reads.fact(Fact::Name(file, entity.kind, name));
            !self.db.named(file, entity.kind, name).is_empty()
        };
        // A reference leads to the nearest table of the name: in its own file, else in the first that the plan sees.
        let elsewhere = self.db.scope(self.viewer).iter().copied().find(|file| has(*file));
        for file in self.lookup_files(entity.file) {
            self.reads.fact(Fact::Referrers(file, entity.kind, name, T::KIND));
            let Some(bag) = self.db.referring(file, entity.kind, name) else { continue };
            let reaches = file == entity.file || (elsewhere == Some(entity.file) && !has(file));
            if reaches {
                found.reserve(bag.len());
                found.extend(bag.iter().filter_map(|id| self.get(id)));
            }
        }
        found
    }

    /// Whether any table of any file that sees this entity refers to it by name. Unreadable where something that cannot
    /// be read might.
    pub fn used(self, id: EntityId) -> Known<bool> {
        let (Some(entity), Known::Is(name)) = (self.db.entity(id), self.name_symbol(id)) else {
            return Known::Unreadable;
        };
        let files = self.files_around(entity.file);
        for file in &files {
            self.reads.fact(Fact::Used(*file, entity.kind, name));
            if self.db.index.used(*file, entity.kind, name) {
                return Known::Is(true);
            }
        }
        for file in &files {
            self.reads.fact(Fact::UseGap(*file, entity.kind));
            if self.db.index.use_gap(*file, entity.kind) {
                return Known::Unreadable;
            }
        }
        Known::Is(false)
    }

    /// Every file that is seen together with this one by some plan: itself, the plans that see it, all that those see.
    pub(crate) fn files_around(self, file: FileId) -> Vec<FileId> {
        self.reads.fact(Fact::Seers(file));
        let mut files = vec![file];
        let mut seen: FxHashSet<FileId> = files.iter().copied().collect();
        for seer in std::iter::once(&file).chain(self.db.file(file).seers.iter()) {
            self.reads.fact(Fact::Scope(*seer));
            files.extend(self.db.scope(*seer).iter().copied().filter(|other| seen.insert(*other)));
        }
        files
    }

    /// Whether no plan sees this part, and it is none itself: then nothing is known of where its names lead.
    pub fn is_loose_part(self, file: FileId) -> bool {
        self.reads.fact(Fact::Main(file));
        self.reads.fact(Fact::Seers(file));
        self.db.viewers(file).is_empty()
    }

    /// How many entities of a kind this plan sees.
    pub fn count<T: Tabled>(self) -> usize {
        self.lookup_files(self.viewer)
            .map(|file| {
                self.reads.fact(Fact::Count(file, T::KIND));
                self.db.index.count(file, T::KIND)
            })
            .sum()
    }

    // ---- files ----------------------------------------------------------------------------------

    /// The first table of a file's first kind: the `[model]` of a model file.
    pub fn main(self, file: FileId) -> Option<EntityId> {
        self.reads.fact(Fact::Main(file));
        self.db.main(file)
    }

    /// The `[plan]` through which data is seen.
    pub fn plan(self) -> Option<Ref<'v, plan::Table>> {
        self.main(self.viewer).and_then(|id| self.get(id))
    }

    /// The model that the plan names for radios that name none.
    pub fn plan_model(self) -> Option<EntityId> {
        let file = self.plan()?.file(plan::model).value()?;
        self.main(file)
    }

    /// Why a file that is named has no text; none where it has one.
    pub fn file_problem(self, file: FileId) -> Option<&'v FileProblem> {
        self.reads.fact(Fact::Main(file));
        self.db.file(file).text.as_ref().err()
    }

    /// The path of a file. It never changes.
    pub fn path(self, file: FileId) -> &'v Path {
        &self.db.file(file).path
    }

    /// Whether anything is read from a file: it is of the language, or some plan names it as a fleet sheet.
    pub fn is_read(self, file: FileId) -> bool {
        self.reads.fact(Fact::Empty(file));
        self.db.is_read(file)
    }

    /// Whether nothing is written in a file but blanks and comments.
    pub fn is_empty(self, file: FileId) -> bool {
        self.reads.fact(Fact::Empty(file));
        self.db.is_empty(file)
    }

    /// The day by which dated things are judged, where one is known.
    pub fn today(self) -> Option<jiff::civil::Date> {
        self.reads.fact(Fact::Today(self.viewer));
        self.db.today(self.viewer)
    }

    /// What is wrong with the text of a file, in text order.
    pub fn errors(self, file: FileId) -> Vec<&'v SyntaxError> {
        self.reads.fact(Fact::Errors(file));
        self.db.errors(file)
    }

    /// What is wrong with a fleet sheet, with places.
    pub fn sheet_problems(self, file: FileId) -> &'v [(Span, SheetProblem)] {
        self.reads.fact(Fact::Errors(file));
        self.db.sheet_problems(file)
    }

    /// The names of the columns of a fleet sheet.
    pub fn sheet_columns(self, file: FileId) -> &'v [Box<str>] {
        self.reads.fact(Fact::Errors(file));
        self.db.sheet_columns(file)
    }

    /// The shares of a plan or part, in order.
    pub fn shares(self, file: FileId) -> Vec<FileId> {
        if let Some(main) = self.main(file) {
            self.reads.keys(main, FieldSet::of(plan::shares.number()));
        }
        self.db.shares(file)
    }

    // ---- computed -------------------------------------------------------------------------------

    pub(crate) fn derived(self, what: What, id: EntityId) -> Option<&'v Value> {
        self.reads.fact(Fact::Derived(what, self.viewer, id));
        self.db.derived.value(what, self.viewer, id)
    }

    /// The service that a `*.regime.toml` describes; none where it cannot be read as a whole.
    pub(crate) fn service_in(self, file: FileId) -> Option<&'v Regime> {
        let main = self.main(file)?;
        self.reads.fact(Fact::Derived(What::Service, file, main));
        match self.db.derived.value(What::Service, file, main) {
            Some(Value::Service(service)) => service.as_deref(),
            _ => None,
        }
    }

    /// The models of a profile's or zone's radios.
    pub(crate) fn models(self, what: What, id: EntityId) -> Arc<[EntityId]> {
        match self.derived(what, id) {
            Some(Value::Models(models)) => models.clone(),
            _ => Arc::new([]),
        }
    }

    /// The zones of a profile, as it says. Unreadable where one of them leads nowhere.
    pub fn profile_zones(self, profile: EntityId) -> Known<Arc<[EntityId]>> {
        match self.derived(What::ProfileZones, profile) {
            Some(Value::Zones(zones)) => zones.clone(),
            _ => Known::Unreadable,
        }
    }

    /// The models of the radios that hold a zone, in order of path.
    pub fn zone_models(self, zone: EntityId) -> Vec<Ref<'v, model::Table>> {
        let mut models = self.models(What::ZoneModels, zone).to_vec();
        self.sort(&mut models);
        models.into_iter().filter_map(|id| self.get(id)).collect()
    }

    /// A channel with its repeater applied; none where the entity is no channel.
    pub fn channel(self, id: EntityId) -> Option<&'v Channel> {
        match self.derived(What::Channel, id) {
            Some(Value::Channel(channel)) => Some(channel),
            _ => None,
        }
    }

    /// The models of the radios that hold a channel, in order of path.
    pub fn channel_models(self, id: EntityId) -> Vec<Ref<'v, model::Table>> {
        let Some(channel) = self.channel(id) else { return Vec::new() };
        if let [] | [_] = *channel.models {
            return channel.models.iter().filter_map(|id| self.get(*id)).collect();
        }
        let sorted = self.once(Some(id), || {
            let mut models: SmallVec<[EntityId; 4]> = SmallVec::from_slice(&channel.models);
            self.sort(&mut models);
            SortedModels(models)
        });
        sorted.0.into_iter().filter_map(|id| self.get(id)).collect()
    }

    /// The models of the radios that hold a channel, in no order; for those who ask nothing else of a channel, and so need
    /// not be judged again when it changes.
    pub fn models_holding(self, channel: EntityId) -> Arc<[EntityId]> {
        crate::derived::channel_models(self, channel)
    }

    /// The unit ids of a radio, each with the space that it is unique in.
    pub fn unit_ids(self, radio: EntityId) -> &'v [(Space, i64)] {
        match self.derived(What::UnitIds, radio) {
            Some(Value::UnitIds(ids)) => ids,
            _ => &[],
        }
    }

    /// The space that unit ids without a network belong to: the plan's only network, else the plan's own.
    pub fn own_space(self) -> Space {
        let files: Vec<FileId> = self.lookup_files(self.viewer).collect();
        let networks: Vec<EntityId> = files
            .into_iter()
            .flat_map(|file| self.members::<network::Table>(file))
            .map(|network| network.id())
            .collect();
        match networks.as_slice() {
            [only] => Space::Network(*only),
            _ => Space::Plan(self.viewer),
        }
    }

    /// What a channel is on the air; none where the entity is no channel.
    pub fn air(self, id: EntityId) -> Option<&'v Air> {
        match self.derived(What::Air, id) {
            Some(Value::Air(air)) => air.as_deref(),
            _ => None,
        }
    }

    /// Where a radio normally is; none where the entity is no radio.
    pub fn post(self, id: EntityId) -> Option<&'v Post> {
        match self.derived(What::Post, id) {
            Some(Value::Post(post)) => Some(post),
            _ => None,
        }
    }

    /// Who listens to a channel without turning the knob; none where the entity is no channel.
    pub fn ear(self, id: EntityId) -> Option<&'v Ear> {
        match self.derived(What::Ear, id) {
            Some(Value::Ear(ear)) => Some(ear),
            _ => None,
        }
    }

    /// What a repeater is on the air; none where the entity is no repeater.
    pub fn relay(self, id: EntityId) -> Option<&'v Relay> {
        match self.derived(What::Relay, id) {
            Some(Value::Relay(relay)) => Some(relay),
            _ => None,
        }
    }

    /// The first channel of a zone.
    pub fn home(self, zone: EntityId) -> Known<EntityId> {
        match self.derived(What::Home, zone) {
            Some(Value::Home(home)) => *home,
            _ => Known::Unreadable,
        }
    }

    /// Whether a bucket holds anything.
    pub fn is_any(self, bucket: Bucket) -> bool {
        self.reads.fact(bucket.any());
        self.db.derived.is_any(bucket)
    }

    /// The entities in a bucket, in no order.
    pub fn alike(self, bucket: Bucket) -> impl Iterator<Item = EntityId> + 'v {
        self.reads.fact(bucket.fact());
        self.db.derived.alike(bucket)
    }

    /// Whether a bucket holds more than [`Bucket::FEW`]. What compares all of a bucket leaves a crowded one alone: each of
    /// its members would be judged again at every change of one.
    pub fn is_crowded(self, bucket: Bucket) -> bool {
        self.reads.fact(bucket.crowd());
        self.db.derived.is_crowded(bucket)
    }

    /// The tables of one kind in a bucket, in no order.
    pub fn alike_of<T: Tabled>(self, bucket: Bucket) -> Vec<Ref<'v, T>> {
        self.alike(bucket).filter_map(|id| self.get(id)).collect()
    }

    /// Every table of a kind in a file, in no order.
    pub fn members<T: Tabled>(self, file: FileId) -> Vec<Ref<'v, T>> {
        self.reads.fact(Fact::Count(file, T::KIND));
        self.db.index.members(file, T::KIND).into_iter().flat_map(Bag::iter).filter_map(|id| self.get(id)).collect()
    }

    /// Puts entities in the order that people see: path, place in the text. The order itself is not recorded, since no
    /// finding's words may depend on it.
    pub(crate) fn sort(self, ids: &mut [EntityId]) {
        self.db.sort(ids);
    }

    /// The only table of a kind in a file (`[capacity]` of a model file); the first where there are more.
    pub fn only<T: Tabled>(self, file: FileId) -> Option<Ref<'v, T>> {
        self.reads.fact(Fact::Count(file, T::KIND));
        let mut found: SmallVec<[EntityId; 2]> = SmallVec::new();
        found.extend(self.db.index.members(file, T::KIND).into_iter().flat_map(Bag::iter));
        found.retain(|id| self.get::<T>(*id).is_some());
        self.sort(&mut found);
        found.first().and_then(|id| self.get(*id))
    }

    /// How many radios of this plan hold a channel in their zones.
    pub fn radios_holding(self, channel: EntityId) -> usize {
        self.holding(channel).len()
    }

    pub(crate) fn holding(self, channel: EntityId) -> FxHashSet<EntityId> {
        let mut radios: FxHashSet<EntityId> = FxHashSet::default();
        for zone in self.referrers::<zone::Table>(channel) {
            for profile in self.referrers::<profile::Table>(zone.id()) {
                let by_profile = self.referrers::<radio::Table>(profile.id());
                radios.extend(by_profile.iter().filter(|radio| !radio.has(radio::zones)).map(|radio| radio.id()));
            }
            radios.extend(self.referrers::<radio::Table>(zone.id()).iter().map(Ref::id));
        }
        radios
    }

    /// How many radios of all plans that see a channel hold it in their zones.
    fn radios_touched(self, channel: EntityId) -> usize {
        let viewers = self.file_of(channel).map(|file| self.db.viewers(file)).unwrap_or_default();
        let all: FxHashSet<EntityId> =
            viewers.into_iter().flat_map(|viewer| View { viewer, ..self }.holding(channel)).collect();
        all.len()
    }

    /// How many radios a change of this table touches, as the end of a title: nothing where that is not known.
    pub fn touching(self, id: EntityId) -> String {
        if self.kind(id) != Kind::Channel {
            return String::new();
        }
        match self.radios_touched(id) {
            0 => " (no listed radio holds it)".to_owned(),
            1 => " (touches 1 radio)".to_owned(),
            many => format!(" (touches {many} radios)"),
        }
    }

    /// A key of an entity of any kind.
    pub fn known<T: Tabled>(self, id: EntityId, field: Field<T>) -> Known<&'v Stored> {
        self.reads.keys(id, FieldSet::of(field.number()));
        self.db.entity(id).map_or(Known::Absent, |entity| entity.record.known(field.number()))
    }
}
