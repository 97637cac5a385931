//! Stratum 1 and 2: values computed from tables, and the buckets over them. Computed through the view like everything
//! else, so that what they read is known; kept here so that others can read them.

use std::sync::Arc;

use guywire_radio::Hertz;
use guywire_radio::regime::Regime;
use guywire_text::FileId;
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use crate::audience::{self, Air, Ear, Post, Relay, Stance, Stances, Status};
use crate::bag::Bag;
use crate::db::Db;
use crate::entity::EntityId;
use crate::fact::{Bucket, Recorder, Space, What};
use crate::graph::{Graph, NodeKey};
use crate::language::{Kind, channel, profile, radio, repeater, site, station, talkgroup, zone};
use crate::likeness;
use crate::mast::{self, Mast};
use crate::service::service;
use crate::value::{Known, Row, Stored};
use crate::view::{Found, Ref, View};
use crate::view_air::{Licenses, licenses};

/// What a channel sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sends {
    /// Digital (DMR).
    Digital,
    /// Analog FM.
    Analog,
    /// Nothing: receive only.
    Nothing,
}

/// A channel as the radio would use it: its repeater applied.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// What it sends.
    pub sends: Known<Sends>,
    /// What it receives on.
    pub rx: Known<Hertz>,
    /// What it transmits on; absent for receive only.
    pub tx: Known<Hertz>,
    /// Channel bandwidth.
    pub bandwidth: Known<Hertz>,
    /// Color code, 0 to 15 (ETSI TS 102 361-1).
    pub color_code: Known<i64>,
    /// Time slot, 1 or 2.
    pub slot: Known<i64>,
    /// It is set to TDMA direct mode (ETSI TS 102 361-2).
    pub tdma_direct: Known<bool>,
    /// A time-out timer is set; absent where nothing is said of one, unreadable also where it is off.
    pub timed: Known<()>,
    /// The repeater that it uses.
    pub repeater: Option<EntityId>,
    /// The models of the radios that hold it, in no order.
    pub models: Arc<[EntityId]>,
}

/// A computed value.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Of [`What::Service`]; none where the file cannot be read as a whole.
    Service(Option<Arc<Regime>>),
    /// Of [`What::Licenses`].
    Licenses(Arc<Licenses>),
    /// Of [`What::ProfileZones`].
    Zones(Known<Arc<[EntityId]>>),
    /// Of [`What::ProfileModels`] and [`What::ZoneModels`].
    Models(Arc<[EntityId]>),
    /// Of [`What::Channel`].
    Channel(Arc<Channel>),
    /// Of [`What::UnitIds`].
    UnitIds(Arc<[(Space, i64)]>),
    /// Of [`What::Air`]; none where the entity is no channel any more.
    Air(Option<Arc<Air>>),
    /// Of [`What::Home`].
    Home(Known<EntityId>),
    /// Of [`What::Post`].
    Post(Arc<Post>),
    /// Of [`What::Ear`].
    Ear(Arc<Ear>),
    /// Of [`What::Relay`].
    Relay(Arc<Relay>),
    /// Of [`What::Mast`]; none where it is not written where the repeater stands.
    Mast(Option<Arc<Mast>>),
    /// Of [`What::Rivals`].
    Rivals(Arc<[EntityId]>),
    /// Of [`What::Marks`].
    Marks(Arc<[Bucket]>),
}

/// What a value is: what is computed, the plan that sees it so, and of what.
type Place = (What, FileId, EntityId);

/// Computed values, by the slot of the entity that they are of.
#[derive(Debug, Default)]
struct Values {
    of_slot: Vec<OfEntity>,
}

/// The computed values of one entity, in order.
#[derive(Debug, Default)]
struct OfEntity {
    generation: u32,
    values: Vec<((What, FileId), Value)>,
}

impl OfEntity {
    fn find(&self, (what, viewer, _): Place) -> Result<usize, usize> {
        self.values.binary_search_by_key(&(what, viewer), |(place, _)| *place)
    }
}

impl Values {
    fn get(&self, place: Place) -> Option<&Value> {
        let held = self.of_slot.get(place.2.slot as usize).filter(|held| held.generation == place.2.generation)?;
        held.find(place).ok().map(|at| &held.values[at].1)
    }

    fn insert(&mut self, place: Place, value: Value) -> Option<Value> {
        let (what, viewer, EntityId { slot, generation }) = place;
        if self.of_slot.len() <= slot as usize {
            self.of_slot.resize_with(slot as usize + 1, OfEntity::default);
        }
        let held = &mut self.of_slot[slot as usize];
        if held.generation != generation {
            *held = OfEntity { generation, values: Vec::new() };
        }
        match held.find(place) {
            Ok(at) => Some(std::mem::replace(&mut held.values[at].1, value)),
            Err(at) => {
                held.values.insert(at, ((what, viewer), value));
                None
            }
        }
    }

    fn remove(&mut self, place: Place) -> Option<Value> {
        let held = self.of_slot.get_mut(place.2.slot as usize).filter(|held| held.generation == place.2.generation)?;
        let at = held.find(place).ok()?;
        Some(held.values.remove(at).1)
    }
}

/// Who is alike: what each plan sees in a table of its own, since those are small and asked for one after another.
#[derive(Debug, Default)]
struct Buckets {
    of_plan: Vec<FxHashMap<Bucket, Bag>>,
    of_all: FxHashMap<Bucket, Bag>,
}

impl Buckets {
    fn get(&self, bucket: Bucket) -> Option<&Bag> {
        match bucket.plan() {
            Some(plan) => self.of_plan.get(plan.0 as usize)?.get(&bucket),
            None => self.of_all.get(&bucket),
        }
    }

    fn table(&mut self, bucket: Bucket) -> &mut FxHashMap<Bucket, Bag> {
        let Some(plan) = bucket.plan() else { return &mut self.of_all };
        let number = plan.0 as usize;
        if self.of_plan.len() <= number {
            self.of_plan.resize_with(number + 1, FxHashMap::default);
        }
        &mut self.of_plan[number]
    }

    fn add(&mut self, graph: &mut Graph, bucket: Bucket, entity: EntityId) {
        let bag = self.table(bucket).entry(bucket).or_default();
        if bag.add(entity) {
            graph.invalidate_bucket(bucket, bag.len() - 1, bag.len());
        }
    }

    fn take(&mut self, graph: &mut Graph, bucket: Bucket, entity: EntityId) {
        let table = self.table(bucket);
        let Some(bag) = table.get_mut(&bucket) else { return };
        if bag.take(entity) {
            graph.invalidate_bucket(bucket, bag.len() + 1, bag.len());
        }
        if bag.is_empty() {
            table.remove(&bucket);
        }
    }
}

/// Computed values and buckets.
#[derive(Debug, Default)]
pub struct Derived {
    values: Values,
    buckets: Buckets,
    pub(crate) stances: Stances,
}

impl Derived {
    pub(crate) fn value(&self, what: What, viewer: FileId, entity: EntityId) -> Option<&Value> {
        self.values.get((what, viewer, entity))
    }

    pub(crate) fn is_crowded(&self, bucket: Bucket) -> bool {
        self.buckets.get(bucket).is_some_and(|bag| bag.len() > Bucket::FEW)
    }

    pub(crate) fn is_any(&self, bucket: Bucket) -> bool {
        self.buckets.get(bucket).is_some()
    }

    pub(crate) fn alike(&self, bucket: Bucket) -> impl Iterator<Item = EntityId> + '_ {
        self.buckets.get(bucket).into_iter().flat_map(Bag::iter)
    }
}

/// Computes a value as it is now, with a recorder of its own. Only derived nodes have one.
pub fn compute(db: &Db, key: NodeKey, recorder: &Recorder) -> Option<Value> {
    let entity = key.entity?;
    let view = View::new(db, key.viewer, recorder);
    Some(match key.what {
        What::Service => Value::Service(service(view, view.get(entity)?).map(Arc::new)),
        What::Licenses => Value::Licenses(Arc::new(licenses(view))),
        What::ProfileZones => Value::Zones(profile_zones(view, view.get(entity)?)),
        What::ProfileModels => Value::Models(models(profile_models(view, view.get(entity)?))),
        What::ZoneModels => Value::Models(models(zone_models(view, view.get(entity)?))),
        What::Channel => Value::Channel(Arc::new(channel_of(view, view.get(entity)?))),
        What::Air => Value::Air(audience::air(view, view.get(entity)?).map(Arc::new)),
        What::Home => Value::Home(audience::home(view, view.get(entity)?)),
        What::Post => Value::Post(Arc::new(audience::post(view, view.get(entity)?))),
        What::Ear => Value::Ear(Arc::new(audience::ear(view, view.get(entity)?))),
        What::Relay => Value::Relay(Arc::new(audience::relay(view, view.get(entity)?))),
        What::Mast => Value::Mast(mast::mast(view, view.get(entity)?).map(Arc::new)),
        What::Rivals => Value::Rivals(mast::rivals(view, view.get(entity)?)),
        What::UnitIds => Value::UnitIds(unit_ids(view, view.get(entity)?).into()),
        What::Marks => Value::Marks(marks(view, entity).into()),
        What::Cell => return None,
    })
}

/// What keeping a value changes beside it: the buckets and the stances that its entity leaves and joins.
#[derive(Debug)]
struct Moves {
    place: Place,
    gone: Vec<Bucket>,
    fresh: SmallVec<[Bucket; 3]>,
    left: Option<Box<Standing>>,
    joined: Option<Box<Standing>>,
}

/// The stance of a channel, and where it is found.
#[derive(Debug, PartialEq)]
struct Standing {
    block: i64,
    keys: SmallVec<[u8; 4]>,
    stance: Arc<Stance>,
}

impl Standing {
    fn of(value: Option<&Value>) -> Option<Box<Standing>> {
        let Some(Value::Ear(ear)) = value else { return None };
        let (rx, stance) = (ear.rx.value()?, ear.stance.clone()?);
        Some(Box::new(Standing { block: Bucket::block(rx), keys: SmallVec::from_slice(&ear.keys), stance }))
    }
}

impl Moves {
    fn between(place: Place, old: Option<&Value>, new: Option<&Value>) -> Moves {
        let (before, mut fresh) = (buckets_of(place.1, old), buckets_of(place.1, new));
        let gone = before.iter().filter(|bucket| !fresh.contains(bucket)).copied().collect();
        fresh.retain(|bucket| !before.contains(bucket));
        let (mut left, mut joined) = (Standing::of(old), Standing::of(new));
        if left == joined {
            (left, joined) = (None, None);
        }
        Moves { place, gone, fresh, left, joined }
    }

    fn make(self, buckets: &mut Buckets, stances: &mut Stances, graph: &mut Graph) {
        let (what, viewer, entity) = self.place;
        if let Some(Standing { block, keys, stance }) = self.left.as_deref() {
            for key in keys {
                let (here, left) = stances.take((*block, *key), stance, (viewer, entity));
                graph.invalidate_bucket(Bucket::attends_as(*block, *key, stance), left + 1, left);
                if left == 0 {
                    graph.invalidate_bucket(Bucket::Attends(*block, *key), here + 1, here);
                }
            }
        }
        if let Some(Standing { block, keys, stance }) = self.joined.as_deref() {
            for key in keys {
                let (here, channels) = stances.add((*block, *key), stance, (viewer, entity));
                graph.invalidate_bucket(Bucket::attends_as(*block, *key, stance), channels - 1, channels);
                if channels == 1 {
                    graph.invalidate_bucket(Bucket::Attends(*block, *key), here - 1, here);
                }
            }
        }
        self.fresh.iter().for_each(|bucket| buckets.add(graph, *bucket, entity));
        self.gone.iter().for_each(|bucket| buckets.take(graph, *bucket, entity));
        graph.invalidate_derived(NodeKey { what, viewer, entity: Some(entity) });
    }
}

/// Computed values that are not what they were, and what keeping them changes.
#[derive(Debug, Default)]
pub struct News {
    values: Vec<(Place, Value)>,
    moves: Vec<Moves>,
}

impl News {
    /// Takes a computed value in where it is not as it was.
    pub fn take(&mut self, db: &Db, key: NodeKey, value: Value) {
        let Some(entity) = key.entity else { return };
        let place = (key.what, key.viewer, entity);
        let old = db.derived.values.get(place);
        if old != Some(&value) {
            self.moves.push(Moves::between(place, old, Some(&value)));
            self.values.push((place, value));
        }
    }
}

/// Keeps many computed values of one kind, nothing having changed since they were compared with what they were, and marks
/// those who read the ones before.
pub fn keep_all(db: &mut Db, graph: &mut Graph, news: Vec<News>) {
    let Derived { values: held, buckets, stances } = &mut db.derived;
    let (values, moves): (Vec<_>, Vec<_>) = news.into_iter().map(|some| (some.values, some.moves)).unzip();
    rayon::join(
        || values.into_iter().flatten().for_each(|(place, value)| drop(held.insert(place, value))),
        || moves.into_iter().flatten().for_each(|moves| moves.make(buckets, stances, graph)),
    );
}

/// Keeps one computed value, and marks those who read the one before where it differs.
pub fn keep(db: &mut Db, graph: &mut Graph, key: NodeKey, value: Value) {
    let Some(entity) = key.entity else { return };
    let place = (key.what, key.viewer, entity);
    let Derived { values, buckets, stances } = &mut db.derived;
    let old = values.get(place);
    if old != Some(&value) {
        let moves = Moves::between(place, old, Some(&value));
        values.insert(place, value);
        moves.make(buckets, stances, graph);
    }
}

/// Forgets the value of a node that is taken out.
pub fn forget(db: &mut Db, graph: &mut Graph, key: NodeKey) {
    let Some(entity) = key.entity else { return };
    let place = (key.what, key.viewer, entity);
    let Derived { values, buckets, stances } = &mut db.derived;
    if let Some(old) = values.remove(place) {
        Moves::between(place, Some(&old), None).make(buckets, stances, graph);
    }
}

fn buckets_of(viewer: FileId, value: Option<&Value>) -> SmallVec<[Bucket; 3]> {
    match value {
        Some(Value::UnitIds(ids)) => ids.iter().map(|(space, id)| Bucket::UnitId(*space, *id)).collect(),
        Some(Value::Marks(marks)) => SmallVec::from_slice(marks),
        Some(Value::Air(Some(air))) => block(air.rx).map(Bucket::Receives).into_iter().collect(),
        Some(Value::Ear(ear)) => match ear.rx {
            Known::Is(rx) => {
                let block = Bucket::block(rx);
                let hears = ear.keys.iter().map(|key| Bucket::Hears(block, *key));
                hears.chain([Bucket::Listens(block)]).collect()
            }
            Known::Unreadable => SmallVec::from_slice(&[Bucket::ListensUnread]),
            Known::Absent => SmallVec::new(),
        },
        Some(Value::Mast(Some(mast))) => mast::buckets(viewer, mast),
        Some(Value::Relay(relay)) => block(relay.input).map(Bucket::RepeaterOn).into_iter().collect(),
        Some(Value::Post(post)) => match (post.status, post.stands_by) {
            (Known::Is(Status::Spare | Status::Away), _) => SmallVec::new(),
            (_, Known::Is(channel)) => SmallVec::from_slice(&[Bucket::StandsOn(viewer, channel)]),
            _ => SmallVec::new(),
        },
        Some(Value::Channel(channel)) => {
            let mut buckets: SmallVec<[Bucket; 3]> = match channel.sends {
                Known::Is(Sends::Digital) => direct_bucket(viewer, channel).into_iter().collect(),
                _ => analog_buckets(viewer, channel),
            };
            buckets.extend(timer_bucket(viewer, channel));
            buckets
        }
        _ => SmallVec::new(),
    }
}

fn block(frequency: Known<Hertz>) -> Option<i64> {
    frequency.value().map(Bucket::block)
}

/// Where channels that do not send digital send and listen.
fn analog_buckets(viewer: FileId, channel: &Channel) -> SmallVec<[Bucket; 3]> {
    let sent = match (channel.sends, channel.tx) {
        (_, Known::Unreadable) => Some(Bucket::CarrierUnread(viewer)),
        (Known::Is(Sends::Analog), Known::Is(tx)) => Some(Bucket::AnalogSent(viewer, tx)),
        _ => None,
    };
    sent.into_iter().chain(channel.rx.value().map(|rx| Bucket::AnalogHeard(viewer, rx))).collect()
}

/// Digital channels that send on the frequency that they receive, by mode.
fn direct_bucket(viewer: FileId, channel: &Channel) -> Option<Bucket> {
    let carrier = channel.tx.value().filter(|_| channel.rx == channel.tx)?;
    if channel.sends != Known::Is(Sends::Digital) {
        return None;
    }
    match channel.tdma_direct {
        Known::Is(true) => Some(Bucket::TdmaDirect(viewer, carrier)),
        Known::Is(false) | Known::Absent => Some(Bucket::Direct(viewer, carrier)),
        Known::Unreadable => None,
    }
}

/// Channels that send, by whether they have a time-out timer.
fn timer_bucket(viewer: FileId, channel: &Channel) -> Option<Bucket> {
    if !matches!(channel.sends, Known::Is(Sends::Digital | Sends::Analog)) {
        return None;
    }
    match channel.timed {
        Known::Is(()) => Some(Bucket::Timed(viewer)),
        Known::Absent => Some(Bucket::Untimed(viewer)),
        Known::Unreadable => None,
    }
}

/// The buckets of an entity by what is written in it.
fn marks(view: View<'_>, id: EntityId) -> Vec<Bucket> {
    let viewer = view.viewer();
    let number = |written: Known<i64>| match written {
        Known::Is(number) => Some(Bucket::Number(viewer, number)),
        Known::Absent => None,
        Known::Unreadable => Some(Bucket::NumberUnread(viewer)),
    };
    if view.kind(id) == Kind::Channel {
        return view.whole(id).and_then(|record| likeness::bucket(viewer, record)).into_iter().collect();
    }
    let mut marks = Vec::new();
    if let Some(it) = view.get::<repeater::Table>(id) {
        marks.extend(number(it.whole(repeater::id)));
        if let Known::Is(input) = it.frequency(repeater::rx_mhz) {
            let block = Bucket::block(input);
            marks.extend([Bucket::Input(viewer, input), Bucket::InputNear(viewer, block)]);
        }
        match it.frequency(repeater::tx_mhz) {
            Known::Is(output) => {
                marks.extend([Bucket::Output(viewer, output), Bucket::OutputNear(viewer, Bucket::block(output))]);
            }
            Known::Absent => {}
            Known::Unreadable => marks.push(Bucket::CarrierUnread(viewer)),
        }
    }
    if let Some(it) = view.get::<site::Table>(id)
        && let (Known::Is(latitude), Known::Is(longitude)) = (it.number(site::latitude), it.number(site::longitude))
    {
        let (row, column) = Bucket::map_block(latitude, longitude);
        marks.push(Bucket::SiteNear(viewer, row, column));
    }
    if let Some(it) = view.get::<station::Table>(id) {
        marks.extend(number(it.whole(station::id)));
    }
    if let Some(it) = view.get::<talkgroup::Table>(id) {
        marks.extend(it.whole(talkgroup::id).value().map(|number| Bucket::TalkgroupId(viewer, number)));
    }
    if let Some(it) = view.get::<radio::Table>(id) {
        marks.extend(it.text(radio::serial).value().map(|serial| Bucket::Serial(viewer, serial)));
        marks.extend(it.has(radio::loaded).then_some(Bucket::Loaded(viewer)));
        marks.extend(number(it.whole(radio::id)));
        match it.known(radio::ids) {
            Known::Is(Stored::Part(by_network)) => {
                marks.extend(by_network.extras.iter().map(|extra| match extra.value {
                    Stored::Whole(number) => Bucket::Number(viewer, number),
                    _ => Bucket::NumberUnread(viewer),
                }))
            }
            Known::Unreadable => marks.push(Bucket::NumberUnread(viewer)),
            _ => {}
        }
    }
    let mut kept: Vec<Bucket> = Vec::with_capacity(marks.len());
    marks.into_iter().for_each(|mark| {
        if !kept.contains(&mark) {
            kept.push(mark);
        }
    });
    kept
}

/// A set of models in an order that does not depend on how it was found: by identity, which is never shown.
fn models(mut found: Vec<EntityId>) -> Arc<[EntityId]> {
    found.sort_unstable_by_key(|id| (id.slot, id.generation));
    found.dedup();
    found.into()
}

/// The model that a key names, else the plan's.
fn model_or_plan(view: View<'_>, named: Known<FileId>) -> Option<EntityId> {
    match named {
        Known::Is(file) => view.main(file),
        Known::Absent => view.plan_model(),
        Known::Unreadable => None,
    }
}

fn profile_models(view: View<'_>, it: Ref<'_, profile::Table>) -> Vec<EntityId> {
    let radios = view.referrers::<radio::Table>(it.id());
    let mut found: Vec<EntityId> = Vec::new();
    let own = it.file(profile::model);
    if radios.is_empty() {
        found.extend(model_or_plan(view, own));
    }
    // A radio with zones of its own has none of its profile's.
    for radio in radios.into_iter().filter(|radio| !radio.has(radio::zones)) {
        found.extend(model_or_plan(view, radio.file(radio::model).or(own)));
    }
    found
}

fn profile_zones(view: View<'_>, it: Ref<'_, profile::Table>) -> Known<Arc<[EntityId]>> {
    view.named_all::<zone::Table, _>(it, profile::zones).map(|zones| zones.iter().map(Ref::id).collect())
}

fn zone_models(view: View<'_>, it: Ref<'_, zone::Table>) -> Vec<EntityId> {
    let mut found: Vec<EntityId> = Vec::new();
    let profiles = view.referrers::<profile::Table>(it.id());
    let radios = view.referrers::<radio::Table>(it.id());
    if profiles.is_empty() && radios.is_empty() {
        return view.plan_model().into_iter().collect();
    }
    for profile in profiles {
        found.extend(view.models(What::ProfileModels, profile.id()).iter().copied());
    }
    for radio in radios {
        let named = match radio.text(radio::profile) {
            Known::Is(name) => match view.find::<profile::Table>(radio.id(), name) {
                Found::One(profile) => radio.file(radio::model).or(profile.file(profile::model)),
                Found::Missing => radio.file(radio::model),
                Found::Ambiguous(_) | Found::Unreadable => radio.file(radio::model).or(Known::Unreadable),
            },
            Known::Absent => radio.file(radio::model),
            Known::Unreadable => radio.file(radio::model).or(Known::Unreadable),
        };
        found.extend(model_or_plan(view, named));
    }
    found
}

fn channel_of(view: View<'_>, it: Ref<'_, channel::Table>) -> Channel {
    let sends = it.text(channel::sends).map(|word| match view.symbol(word) {
        "analog" => Sends::Analog,
        "nothing" => Sends::Nothing,
        _ => Sends::Digital,
    });
    let used = match it.text(channel::repeater) {
        Known::Is(name) => match view.find::<repeater::Table>(it.id(), name) {
            Found::One(found) => Known::Is(found),
            _ => Known::Unreadable,
        },
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    };
    let talk_around = it.truth(channel::talk_around).value().unwrap_or(false);
    let rx = it.frequency(channel::rx_mhz).or(through(used, |found| found.frequency(repeater::tx_mhz)));
    let keyed = match used {
        Known::Absent => rx,
        _ if talk_around => rx,
        used => through(used, |found| found.frequency(repeater::rx_mhz)),
    };
    let tx = match sends {
        Known::Is(Sends::Nothing) => Known::Absent,
        _ => it.frequency(channel::tx_mhz).or(keyed),
    };
    Channel {
        sends,
        rx,
        tx,
        bandwidth: it
            .frequency(channel::bandwidth_khz)
            .or(through(used, |found| found.frequency(repeater::bandwidth_khz))),
        color_code: it.whole(channel::color_code).or(through(used, |found| found.whole(repeater::color_code))),
        slot: it.whole(channel::slot),
        tdma_direct: it.truth(channel::tdma_direct_mode),
        timed: match it.whole(channel::time_out_s) {
            Known::Is(0) | Known::Unreadable => Known::Unreadable,
            Known::Is(_) => Known::Is(()),
            Known::Absent => Known::Absent,
        },
        repeater: used.value().map(|found| found.id()),
        models: channel_models(view, it.id()),
    }
}

fn through<T>(
    used: Known<Ref<'_, repeater::Table>>,
    read: impl FnOnce(Ref<'_, repeater::Table>) -> Known<T>,
) -> Known<T> {
    match used {
        Known::Is(found) => read(found),
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    }
}

/// The models of the radios whose zones hold the channel; the plan's model where no zone does.
pub(crate) fn channel_models(view: View<'_>, channel: EntityId) -> Arc<[EntityId]> {
    let zones = view.referrers::<zone::Table>(channel);
    match zones.as_slice() {
        [] => view.plan_model().into_iter().collect(),
        [only] => view.models(What::ZoneModels, only.id()),
        many => models(many.iter().flat_map(|zone| view.models(What::ZoneModels, zone.id()).to_vec()).collect()),
    }
}

/// The unit ids of a radio: by network where it says so, else in its plan's only network, else in the plan's own space.
/// Spare and retired units hold none, so that a unit can be swapped for another.
fn unit_ids(view: View<'_>, it: Ref<'_, radio::Table>) -> Vec<(Space, i64)> {
    if let Known::Is(status) = it.text(radio::status)
        && matches!(view.symbol(status), "spare" | "retired")
    {
        return Vec::new();
    }
    let mut found = Vec::new();
    if let Known::Is(id) = it.whole(radio::id) {
        found.push((view.own_space(), id));
    }
    if let Known::Is(Stored::Part(by_network)) = it.known(radio::ids) {
        for extra in &by_network.extras {
            let Stored::Whole(id) = extra.value else { continue };
            if let Found::One(network) = view.find::<crate::language::network::Table>(it.id(), extra.name) {
                found.push((Space::Network(network.id()), id));
            }
        }
    }
    found.sort_unstable_by_key(|(_, id)| *id);
    found.dedup();
    found
}

/// Computes every value of a database from nothing: what a fresh start has, for tests and for one look at other plans.
pub fn settle(db: &mut Db) {
    let mut graph = Graph::default();
    for what in What::DERIVED {
        let mut keys: Vec<NodeKey> = Vec::new();
        for file in db.file_ids() {
            for id in db.entities_of(file) {
                let Some(kind) = db.entity(id).map(|entity| entity.kind) else { continue };
                if !What::of(kind).contains(&what) {
                    continue;
                }
                let viewers = if what == What::Service { vec![file] } else { db.viewers(file) };
                keys.extend(viewers.into_iter().map(|viewer| NodeKey { what, viewer, entity: Some(id) }));
            }
        }
        for key in keys {
            let Some(value) = compute(db, key, &Recorder::silent_about(key.entity)) else { continue };
            keep(db, &mut graph, key, value);
        }
    }
}
