//! What can be read through the view, and so what can change: the vocabulary of dependencies.

use std::any::{Any, TypeId};
use std::cell::RefCell;
use std::hash::{BuildHasher, Hash, Hasher};

use guywire_radio::Hertz;
use guywire_radio::geodesy::Position;
use guywire_text::FileId;
use rustc_hash::{FxBuildHasher, FxHashMap};
use smallvec::SmallVec;

use crate::audience::Stance;
use crate::db::Db;
use crate::entity::EntityId;
use crate::language::{FieldSet, Kind};
use crate::print::Print;
use crate::symbol::Symbol;

/// The scope that a number is unique in: a network, or a plan's own where no network is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Space {
    /// Repeaters that pass calls to each other.
    Network(EntityId),
    /// A plan's own.
    Plan(FileId),
}

/// Things that are alike in something, whichever plan they stand in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Bucket {
    /// Radios in use with this unit id in this space.
    UnitId(Space, i64),
    /// Radios, stations and repeaters that a plan sees with this number written anywhere.
    Number(FileId, i64),
    /// Radios, stations and repeaters that a plan sees with a number that cannot be read.
    NumberUnread(FileId),
    /// Radios that a plan sees that say which revision is loaded.
    Loaded(FileId),
    /// Radios that a plan sees with this serial number.
    Serial(FileId, Symbol),
    /// Talkgroups that a plan sees with this number.
    TalkgroupId(FileId, i64),
    /// Repeaters that a plan sees with this input.
    Input(FileId, Hertz),
    /// Channels that a plan sees in plain digital direct mode on this frequency.
    Direct(FileId, Hertz),
    /// Channels that a plan sees in TDMA direct mode on this frequency.
    TdmaDirect(FileId, Hertz),
    /// Repeaters that a plan sees with this output.
    Output(FileId, Hertz),
    /// Repeaters that a plan sees with an output in this block of [`Bucket::BLOCK`].
    OutputNear(FileId, i64),
    /// Repeaters that a plan sees with an input in this block of [`Bucket::BLOCK`].
    InputNear(FileId, i64),
    /// Repeaters that a plan sees with this output and a mast in this region, see [`Bucket::region`].
    OutputAround(FileId, Hertz, i32, i32),
    /// Repeaters that a plan sees with an input in this block of [`Bucket::BLOCK`] and a mast in this region.
    InputAround(FileId, i64, i32, i32),
    /// Channels that a plan sees that send analog on this frequency.
    AnalogSent(FileId, Hertz),
    /// Channels that a plan sees that receive on this frequency and do not send digital.
    AnalogHeard(FileId, Hertz),
    /// Channels and repeaters that a plan sees whose transmit frequency cannot be read.
    CarrierUnread(FileId),
    /// Radios in use that stand by on a channel, as a plan sees them.
    StandsOn(FileId, EntityId),
    /// Channels of every plan that receive in this block of [`Bucket::BLOCK`].
    Receives(i64),
    /// Channels of every plan that receive in this block and that some radio listens to without turning the knob.
    Listens(i64),
    /// Of those, the ones that could hear what has this key (see [`crate::audience::Ear`]).
    Hears(i64, u8),
    /// The stances (see [`crate::audience::Stance`]) of those that some radio stands by on.
    Attends(i64, u8),
    /// The channels of one of those stances, by its hash.
    AttendsAs(i64, u8, u64),
    /// Channels of every plan that some radio listens to and whose frequency cannot be read.
    ListensUnread,
    /// Repeaters of every plan with an input in this block of [`Bucket::BLOCK`].
    RepeaterOn(i64),
    /// Channels that a plan sees that may be the same in all but name and notes, by a hash of the rest.
    Alike(FileId, u64),
    /// Channels that a plan sees that send and have a time-out timer.
    Timed(FileId),
    /// Channels that a plan sees that send and say nothing of a time-out timer.
    Untimed(FileId),
    /// Sites that a plan sees in this block of the map, see [`Bucket::map_block`].
    SiteNear(FileId, i32, i32),
}

impl Bucket {
    /// The plan that sees it; none where it is of every plan.
    pub(crate) fn plan(&self) -> Option<FileId> {
        use Bucket::*;
        match *self {
            UnitId(..) | Receives(_) | Listens(_) | Hears(..) | Attends(..) | AttendsAs(..) => None,
            ListensUnread | RepeaterOn(_) => None,
            Number(plan, _) | NumberUnread(plan) | Loaded(plan) | Serial(plan, _) | TalkgroupId(plan, _) => Some(plan),
            Input(plan, _) | Direct(plan, _) | TdmaDirect(plan, _) | Output(plan, _) => Some(plan),
            OutputNear(plan, _) | InputNear(plan, _) => Some(plan),
            OutputAround(plan, ..) | InputAround(plan, ..) => Some(plan),
            AnalogSent(plan, _) | AnalogHeard(plan, _) | CarrierUnread(plan) | StandsOn(plan, _) => Some(plan),
            Alike(plan, _) | Timed(plan) | Untimed(plan) | SiteNear(plan, ..) => Some(plan),
        }
    }

    /// Width of the blocks of [`Bucket::OutputNear`] and [`Bucket::InputNear`]: what is nearer stands in the same or the
    /// next one.
    pub const BLOCK: Hertz = Hertz(5_000);

    /// The number of the block that a frequency stands in.
    pub const fn block(frequency: Hertz) -> i64 {
        frequency.0.div_euclid(Bucket::BLOCK.0)
    }

    /// Sites nearer than this, in meters, stand in the same block of the map or in one beside it.
    pub const SITE_REACH_M: f64 = 1_000.0;

    /// The block of the map that a position (degrees north and east) stands in: its row, and its column in that row. Rows
    /// are a hundredth of a degree high; columns are wider toward the poles, so that no block is narrower than
    /// [`Bucket::SITE_REACH_M`] up to a tenth of a degree from a pole. Blocks on both sides of the 180th meridian are not
    /// taken for neighbors.
    pub fn map_block(latitude: f64, longitude: f64) -> (i32, i32) {
        let row = (latitude * 100.0).floor() as i32;
        (row, Bucket::map_column(row, longitude))
    }

    /// The column of a longitude in a row of the map.
    pub fn map_column(row: i32, longitude: f64) -> i32 {
        let columns_a_degree = match row.abs() {
            0..6_000 => 50.0,
            6_000..7_500 => 25.0,
            7_500..8_400 => 10.0,
            _ => 0.1,
        };
        (longitude * columns_a_degree).floor() as i32
    }

    /// What is nearer than this, in kilometers, stands in a region of [`Bucket::regions_around`].
    pub const REGION_REACH_KM: f64 = 550.0;

    /// The region of the earth that a position stands in: its row, and its column in that row. Rows are five degrees high;
    /// there are fewer columns toward the poles, so that none is narrower than [`Bucket::REGION_REACH_KM`], not even where
    /// it meets the next row.
    pub(crate) fn region(at: Position) -> (i32, i32) {
        let row = (at.latitude() / 5.0).floor() as i32;
        (row, region_column(row, at.longitude()))
    }

    /// The region of a position and those beside it, each once.
    pub(crate) fn regions_around(at: Position) -> SmallVec<[(i32, i32); 9]> {
        let (row, _) = Bucket::region(at);
        let mut regions = SmallVec::new();
        for row in row - 1..=row + 1 {
            let (columns, own) = (region_columns(row), region_column(row, at.longitude()));
            let first = regions.len();
            for column in [own - 1, own, own + 1].map(|column| column.rem_euclid(columns)) {
                if !regions[first..].contains(&(row, column)) {
                    regions.push((row, column));
                }
            }
        }
        regions
    }

    /// [`Bucket::AttendsAs`] of a stance.
    pub fn attends_as(block: i64, key: u8, stance: &Stance) -> Bucket {
        Bucket::AttendsAs(block, key, FxBuildHasher.hash_one(stance))
    }

    /// A bucket with more than this many is crowded.
    pub const FEW: usize = 64;

    /// The fact that is read when a bucket is looked at.
    pub fn fact(&self) -> Fact {
        Fact::Bucket(self.hashed())
    }

    /// The fact that is read when it is asked whether a bucket is crowded.
    pub fn crowd(&self) -> Fact {
        Fact::Crowd(self.hashed())
    }

    /// The fact that is read when it is asked whether a bucket holds anything.
    pub fn any(&self) -> Fact {
        Fact::Any(self.hashed())
    }

    fn hashed(&self) -> u64 {
        let mut hasher = rustc_hash::FxHasher::default();
        self.hash(&mut hasher);
        hasher.finish()
    }
}

/// How many regions a row has. As wide as six degrees of latitude are high where its neighbor toward the pole ends.
fn region_columns(row: i32) -> i32 {
    let edge = 5 * (row.max(-1 - row) + 2);
    ((60.0 * f64::from(edge.min(90)).to_radians().cos()) as i32).max(1)
}

fn region_column(row: i32, longitude: f64) -> i32 {
    let columns = region_columns(row);
    (((longitude + 180.0) / 360.0 * f64::from(columns)).floor() as i32).rem_euclid(columns)
}

/// What is computed from tables and kept: stratum 1. Each may read those above it in this list, none below.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum What {
    /// The radio service that a file describes.
    Service,
    /// The licenses of a plan.
    Licenses,
    /// The models of the radios of a profile.
    ProfileModels,
    /// The zones of a profile.
    ProfileZones,
    /// The models of the radios that hold a zone.
    ZoneModels,
    /// A channel with its repeater applied, and the models of the radios that hold it.
    Channel,
    /// The unit ids of a radio by space.
    UnitIds,
    /// A channel resolved to what is on the air.
    Air,
    /// The first channel of a zone.
    Home,
    /// Where a radio normally is, and what it holds.
    Post,
    /// Who listens to a channel without turning the knob.
    Ear,
    /// A repeater resolved to what is on the air.
    Relay,
    /// Where a repeater's antenna is.
    Mast,
    /// The repeaters that may be opened together with a repeater.
    Rivals,
    /// The buckets of an entity that has no other computed value.
    Marks,
    /// Findings: not a derived value, listed here to be last.
    Cell,
}

impl What {
    /// Those that are computed, in order.
    pub const DERIVED: [What; 15] = [
        What::Service,
        What::Licenses,
        What::ProfileModels,
        What::ProfileZones,
        What::ZoneModels,
        What::Channel,
        What::UnitIds,
        What::Air,
        What::Home,
        What::Post,
        What::Ear,
        What::Relay,
        What::Mast,
        What::Rivals,
        What::Marks,
    ];

    /// What is computed of entities of a kind.
    pub fn of(kind: Kind) -> &'static [What] {
        match kind {
            Kind::Regime => &[What::Service],
            Kind::Plan => &[What::Licenses],
            Kind::Profile => &[What::ProfileModels, What::ProfileZones],
            Kind::Zone => &[What::ZoneModels, What::Home],
            Kind::Channel => &[What::Channel, What::Air, What::Ear, What::Marks],
            Kind::Radio => &[What::UnitIds, What::Post, What::Marks],
            Kind::Site | Kind::Station | Kind::Talkgroup => &[What::Marks],
            Kind::Repeater => &[What::Relay, What::Mast, What::Rivals, What::Marks],
            _ => &[],
        }
    }
}

/// A fact that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fact {
    /// Keys of an entity; which ones stands beside the fact.
    Entity(EntityId),
    /// The entities of a kind that have this name in a file.
    Name(FileId, Kind, Symbol),
    /// The entities of the last kind in a file that refer to this name of the first kind.
    Referrers(FileId, Kind, Symbol, Kind),
    /// Whether anything in a file refers to this name of this kind.
    Used(FileId, Kind, Symbol),
    /// Whether a file holds a table of this kind whose name cannot be read.
    NameGap(FileId, Kind),
    /// Whether a file holds something unreadable that might refer to this kind.
    UseGap(FileId, Kind),
    /// How many entities of a kind a file holds.
    Count(FileId, Kind),
    /// Whether a file is there, and its first table.
    Main(FileId),
    /// What is wrong with the text of a file.
    Errors(FileId),
    /// Whether a file is read at all, and whether anything is written in it.
    Empty(FileId),
    /// The day by which dated things are judged.
    Today(FileId),
    /// Which files a file sees.
    Scope(FileId),
    /// Which files see a file.
    Seers(FileId),
    /// Who is alike: the hash of a bucket, since two that share one do no harm but to be looked at together.
    Bucket(u64),
    /// Whether a bucket, by its hash, holds more than a few.
    Crowd(u64),
    /// Whether a bucket, by its hash, holds anything.
    Any(u64),
    /// A computed value of an entity, as a plan sees it.
    Derived(What, FileId, EntityId),
}

impl Fact {
    /// The file that a fact is of, or through which it is seen; none for a bucket, and for what is gone.
    pub fn file(&self, db: &Db) -> Option<FileId> {
        match *self {
            Fact::Entity(entity) => db.entity(entity).map(|entity| entity.file),
            Fact::Name(file, ..) | Fact::Referrers(file, ..) | Fact::Used(file, ..) => Some(file),
            Fact::NameGap(file, _) | Fact::UseGap(file, _) | Fact::Count(file, _) => Some(file),
            Fact::Main(file) | Fact::Errors(file) | Fact::Empty(file) | Fact::Today(file) => Some(file),
            Fact::Scope(file) | Fact::Seers(file) | Fact::Derived(_, file, _) => Some(file),
            Fact::Bucket(_) | Fact::Crowd(_) | Fact::Any(_) => None,
        }
    }
}

/// A fact that was read; for an entity, which keys of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Read {
    /// The fact.
    pub fact: Fact,
    /// The keys, for [`Fact::Entity`]; all for others.
    pub keys: FieldSet,
}

/// What one computation read. Keys of its own entity are kept as a set.
#[derive(Debug, Default)]
pub struct Recorder {
    own: Option<EntityId>,
    is_silent: bool,
    inner: RefCell<Reads>,
    made: RefCell<SmallVec<[Made; 4]>>,
}

/// What several askers of one run want, made once: by its type, the file through which it is seen, and what it is of.
#[derive(Debug)]
struct Made {
    of: (TypeId, FileId, Option<EntityId>),
    value: Box<dyn Any>,
}

/// What was read, without repetition.
#[derive(Debug, Default, Clone, PartialEq)]
pub struct Reads {
    /// Keys of the own entity.
    pub own: FieldSet,
    /// All else.
    pub other: Vec<Read>,
}

impl Recorder {
    /// For a computation about an entity, or about none.
    pub fn new(own: Option<EntityId>) -> Self {
        Self { own, ..Self::default() }
    }

    /// For many questions about a state that does not change: nothing is recorded.
    pub fn silent() -> Self {
        Self { is_silent: true, ..Self::default() }
    }

    /// For one computation about an entity, or about none, in a state that does not change: nothing is recorded.
    pub fn silent_about(own: Option<EntityId>) -> Self {
        Self { own, is_silent: true, ..Self::default() }
    }

    pub(crate) fn keys(&self, entity: EntityId, keys: FieldSet) {
        if self.is_silent {
            return;
        }
        let mut inner = self.inner.borrow_mut();
        if self.own == Some(entity) {
            inner.own = inner.own.and(keys);
            return;
        }
        let fact = Fact::Entity(entity);
        // Several keys of one entity are mostly read one after another.
        match inner.other.iter_mut().rev().take(LAST).find(|held| held.fact == fact) {
            Some(held) => held.keys = held.keys.and(keys),
            None => inner.other.push(Read { fact, keys }),
        }
    }

    pub(crate) fn fact(&self, fact: Fact) {
        if self.is_silent {
            return;
        }
        let other = &mut self.inner.borrow_mut().other;
        if !other.iter().rev().take(LAST).any(|held| held.fact == fact) {
            other.push(Read { fact, keys: FieldSet::ALL });
        }
    }

    /// What was made before in this run under its type; else makes it. What making it reads is recorded the first time, and
    /// so need not be again: nothing changes while a computation runs. A recorder that is about no entity keeps nothing,
    /// since many runs may share it.
    pub(crate) fn once<T: Clone + 'static>(
        &self,
        viewer: FileId,
        entity: Option<EntityId>,
        make: impl FnOnce() -> T,
    ) -> T {
        if self.own.is_none() {
            return make();
        }
        let of = (TypeId::of::<T>(), viewer, entity);
        let kept =
            self.made.borrow().iter().find(|made| made.of == of).and_then(|made| made.value.downcast_ref().cloned());
        if let Some(value) = kept {
            return value;
        }
        let value = make();
        self.made.borrow_mut().push(Made { of, value: Box::new(value.clone()) });
        value
    }

    /// A print of what was read, in the order of reading.
    pub fn print(&self) -> Print {
        let Reads { own, other } = &*self.inner.borrow();
        // The keys of the own entity are kept as a set: they are printed as a read that comes first, of any one fact.
        let own = Read { fact: Fact::Crowd(0), keys: *own };
        Print::of(std::iter::once(&own).chain(other))
    }

    /// What was read.
    pub fn finish(self) -> Reads {
        let Reads { own, other } = self.inner.into_inner();
        if other.len() < 2 {
            return Reads { own, other };
        }
        let kept = if other.len() <= FEW_READS { merged_few(other) } else { merged_many(other) };
        Reads { own, other: kept }
    }
}

/// So many of the last reads are looked at before one is added.
const LAST: usize = 4;

/// Up to so many reads are compared one by one.
const FEW_READS: usize = 24;

fn merged_few(reads: Vec<Read>) -> Vec<Read> {
    let mut kept: Vec<Read> = Vec::with_capacity(reads.len());
    for read in reads {
        match kept.iter_mut().find(|held| held.fact == read.fact) {
            Some(held) => held.keys = held.keys.and(read.keys),
            None => kept.push(read),
        }
    }
    kept.shrink_to_fit();
    kept
}

fn merged_many(reads: Vec<Read>) -> Vec<Read> {
    let mut kept: Vec<Read> = Vec::with_capacity(reads.len());
    let mut seen: FxHashMap<Fact, usize> = FxHashMap::with_capacity_and_hasher(reads.len(), FxBuildHasher);
    for read in reads {
        match seen.get(&read.fact) {
            Some(at) => kept[*at].keys = kept[*at].keys.and(read.keys),
            None => {
                seen.insert(read.fact, kept.len());
                kept.push(read);
            }
        }
    }
    kept.shrink_to_fit();
    kept
}
/// What changed: facts with the keys of entities that did.
#[derive(Debug, Default)]
pub struct Changes {
    /// The facts, in no order; one may stand twice.
    pub facts: Vec<Read>,
    /// Entities that are new.
    pub added: Vec<EntityId>,
    /// Entities that are gone.
    pub removed: Vec<EntityId>,
    /// Files whose set of viewing plans, or whose scope, changed.
    pub rescoped: Vec<FileId>,
    /// Nothing was read yet, so that nobody asks which facts changed: none is kept.
    is_first: bool,
}

impl Changes {
    /// For changes before anything was read: what comes is kept, and no facts.
    pub(crate) fn first() -> Self {
        Changes { is_first: true, ..Changes::default() }
    }

    /// Whether nothing changed.
    pub fn is_empty(&self) -> bool {
        self.facts.is_empty() && self.added.is_empty() && self.removed.is_empty() && self.rescoped.is_empty()
    }

    pub(crate) fn fact(&mut self, fact: Fact) {
        if !self.is_first {
            self.facts.push(Read { fact, keys: FieldSet::ALL });
        }
    }
    pub(crate) fn keys(&mut self, entity: EntityId, keys: FieldSet) {
        if !self.is_first {
            self.facts.push(Read { fact: Fact::Entity(entity), keys });
        }
    }
    /// Takes in what another change did.
    pub fn extend(&mut self, other: Changes) {
        self.facts.extend(other.facts);
        self.added.extend(other.added);
        self.removed.extend(other.removed);
        self.rescoped.extend(other.rescoped);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Clone, Copy, Debug, PartialEq)]
    struct Made(u32);

    fn entity(slot: u32) -> EntityId {
        EntityId { slot, generation: 0 }
    }

    #[test]
    fn what_is_made_once_is_kept_by_viewer_and_entity() {
        let recorder = Recorder::new(Some(entity(1)));
        assert_eq!(recorder.once(FileId(0), Some(entity(2)), || Made(1)), Made(1));
        assert_eq!(recorder.once(FileId(0), Some(entity(2)), || Made(2)), Made(1), "kept");
        assert_eq!(recorder.once(FileId(1), Some(entity(2)), || Made(3)), Made(3), "another plan sees it otherwise");
        assert_eq!(recorder.once(FileId(0), Some(entity(3)), || Made(4)), Made(4), "of another entity");
        assert_eq!(recorder.once(FileId(0), None, || Made(5)), Made(5), "of no entity");
    }

    #[test]
    fn a_recorder_about_nothing_keeps_nothing() {
        let recorder = Recorder::new(None);
        recorder.once(FileId(0), None, || Made(1));
        assert_eq!(recorder.once(FileId(0), None, || Made(2)), Made(2));
    }

    #[test]
    fn reads_are_kept_without_repetition_however_far_apart() {
        let recorder = Recorder::new(None);
        for round in 0..2 {
            for slot in 0..40 {
                recorder.keys(entity(slot), FieldSet::of(round));
                recorder.fact(Fact::Main(FileId(slot)));
            }
        }
        let reads = recorder.finish().other;
        assert_eq!(reads.len(), 80);
        let both = FieldSet::of(0).and(FieldSet::of(1));
        let of_entities = reads.iter().filter(|read| matches!(read.fact, Fact::Entity(_)));
        assert!(of_entities.into_iter().all(|read| read.keys == both));
    }
}
