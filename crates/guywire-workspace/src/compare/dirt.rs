//! What changed, as far as it can matter to who hears whom.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use guywire_plan::audience::{Called, Emission, Mode};
use guywire_plan::language::{FieldSet, Kind, repeater, scan_list, station, talkgroup};
use guywire_plan::{Entity, EntityId, Known, Recorder, Row, Stored};
use guywire_radio::Hertz;
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::asked::Asked;
use super::change::Ledger;
use super::matching::{Matched, keys_of};
use super::state::{State, States};
use super::value::leads;
use super::{Comparison, Reached, Side};

/// No receiver is open this far from its frequency.
const REACH: Hertz = Hertz(2_000);

/// Changes of tables and of what they need.
type Behind = FxHashMap<(Side, EntityId), Arc<[usize]>>;

/// Tables that others need to be understood.
type Next = FxHashMap<(Side, EntityId), Rc<[EntityId]>>;

/// What changed, as far as it can matter to hearing.
pub(crate) struct Dirt {
    /// Changes by the number of their table, with the keys that changed; all of a table that is new or gone.
    tables: FxHashMap<u32, (usize, FieldSet)>,
    /// Radios that changed otherwise than by their channels.
    radios: FxHashSet<u32>,
    /// Whom calls are for that stations listen to which changed.
    heard_at_stations: FxHashSet<Called>,
    /// Changes of each radio's own table, and of each station's: those that move it, and those of its unit ids alone.
    pub own: (FxHashMap<u32, usize>, FxHashMap<u32, usize>),
    /// Changes of the profile, zones and model of each radio.
    pub causes: FxHashMap<u32, Vec<usize>>,
    /// Radios whose status changed: what they hear is told by that.
    pub restated: FxHashSet<u32>,
    /// Some hang time, or whether there is one, changed.
    pub hang: bool,
    /// Frequencies on which somebody may hear otherwise than before, in order.
    frequencies: Vec<Hertz>,
    /// The changes of each channel of a plan and of what it needs, where there are any; none before they are made out.
    channels: Option<Behind>,
}

/// What somebody may hear otherwise.
#[derive(Default)]
struct Found {
    frequencies: Vec<Hertz>,
    /// Calls that a station listens for wherever they are made.
    called: Vec<Called>,
}

/// Looks at what changed, for one thread.
pub(crate) struct Digger<'d> {
    pub dirt: &'d Dirt,
    /// The changes of a table and of what it needs.
    behind: RefCell<Behind>,
    /// The tables that one needs to be understood.
    next: RefCell<Next>,
    /// Whether somebody may hear otherwise what is sent on a carrier.
    near: RefCell<FxHashMap<(Side, Hertz, Mode), bool>>,
}

impl Dirt {
    pub fn of(ledger: &Ledger<'_, '_>, comparison: &Comparison) -> Dirt {
        let mut dirt = Dirt {
            tables: FxHashMap::default(),
            radios: FxHashSet::default(),
            heard_at_stations: FxHashSet::default(),
            own: Default::default(),
            causes: FxHashMap::default(),
            restated: FxHashSet::default(),
            hang: false,
            frequencies: Vec::new(),
            channels: None,
        };
        for (number, change) in ledger.changed() {
            let table = ledger.table(change);
            let matters = table.keys.is_empty() || table.keys.iter().any(|key| key.reach > Reached::Names);
            if matters {
                let keys = table.keys.iter().map(|key| key.field);
                let keys = if table.keys.is_empty() { FieldSet::ALL } else { keys_of(keys) };
                dirt.tables.entry(number).or_insert((change, keys));
            }
            dirt.hang |= matters && table.kind == Kind::Signaling;
            if matters && table.kind == Kind::Station {
                dirt.own.0.insert(number, change);
            }
            if matters && table.kind == Kind::Radio {
                dirt.radios.insert(number);
                let only_ids =
                    table.keys.iter().all(|key| key.reach == Reached::Names || matches!(key.key, "id" | "ids"));
                let own = if only_ids { &mut dirt.own.1 } else { &mut dirt.own.0 };
                own.insert(number, change);
            }
        }
        for group in &comparison.rewrites {
            let other = |table: &usize| {
                let is_other =
                    matches!(ledger.table(*table).kind, Kind::Profile | Kind::Zone | Kind::Model | Kind::Plan);
                is_other && dirt.tables.values().any(|(known, _)| known == table)
            };
            let causes: Vec<usize> = group.causes.iter().map(|cause| cause.table).filter(other).collect();
            for (radio, _) in group.radios.iter().filter(|_| !causes.is_empty()) {
                let Some(number) = ledger.matched.number(Side::After, radio.id) else { continue };
                dirt.radios.insert(number);
                dirt.causes.entry(number).or_default().extend(&causes);
            }
        }
        let others = comparison.added.iter().map(|radio| (Side::After, radio.id));
        let others = others.chain(comparison.gone.iter().map(|radio| (Side::Before, radio.id)));
        dirt.radios.extend(others.filter_map(|(side, id)| ledger.matched.number(side, id)));
        let restated = comparison.statuses.iter().filter_map(|it| ledger.matched.number(Side::After, it.radio.id));
        dirt.restated.extend(restated);
        dirt
    }

    /// Makes out the channels that changed and where somebody may hear otherwise.
    pub fn find_frequencies(&mut self, states: &States<'_>, matched: &Matched) {
        let dirt = &*self;
        let of = |side: Side| {
            let recorder = Recorder::silent();
            let asked = Asked::new(side, states.of(side), matched, &recorder);
            let digger = Digger::new(dirt);
            let mut found = Found::default();
            for plan in asked.hearing.plans() {
                digger.of_plan(&asked, *plan, &mut found);
            }
            let mut behind = digger.behind.into_inner();
            behind.retain(|_, changes| !changes.is_empty());
            (found, behind)
        };
        let ((was, before), (is, after)) = rayon::join(|| of(Side::Before), || of(Side::After));
        self.frequencies = was.frequencies.into_iter().chain(is.frequencies).collect();
        self.frequencies.sort_unstable();
        self.frequencies.dedup();
        self.heard_at_stations = was.called.into_iter().chain(is.called).collect();
        self.channels = Some(before.into_iter().chain(after).collect());
    }

    /// Whether a station may hear otherwise some calls wherever they are made.
    pub fn stations_differ(&self) -> bool {
        !self.heard_at_stations.is_empty()
    }

    /// The change of a table, where one of these keys is among what changed.
    pub fn change(&self, number: u32, keys: FieldSet) -> Option<usize> {
        self.tables.get(&number).filter(|(_, changed)| changed.meets(keys)).map(|(change, _)| *change)
    }
}

impl<'d> Digger<'d> {
    pub fn new(dirt: &'d Dirt) -> Self {
        Digger { dirt, behind: RefCell::default(), next: RefCell::default(), near: RefCell::default() }
    }

    fn of_plan(&self, asked: &Asked<'_>, plan: FileId, found: &mut Found) {
        let view = asked.at(plan);
        let hears_on = |channel: EntityId| view.channel(channel).and_then(|channel| channel.rx.value());
        for file in asked.state.db.scope(plan) {
            for id in asked.state.db.entities_of(*file) {
                let kind = asked.state.db.entity(id).map_or(Kind::Unknown, |entity| entity.kind);
                match kind {
                    Kind::Channel if self.is_dirty(asked, id) => {
                        found.frequencies.extend(hears_on(id));
                        found.frequencies.extend(view.scanned_at(id).into_iter().filter_map(hears_on));
                    }
                    Kind::Repeater if self.dirt.tables.contains_key(&asked.number(id)) => {
                        let keys = [repeater::rx_mhz, repeater::tx_mhz];
                        found.frequencies.extend(keys.into_iter().filter_map(|key| match view.known(id, key) {
                            Known::Is(Stored::Frequency(hertz) | Stored::Rounded(hertz)) => Some(*hertz),
                            _ => None,
                        }));
                    }
                    Kind::Station if !self.behind(asked.state, asked.side, asked.matched, id).is_empty() => {
                        let leads = leads(asked.state, plan, id).into_iter().map(|(_, id)| id);
                        for id in leads {
                            found.frequencies.extend(hears_on(id));
                            found
                                .called
                                .extend(view.get(id).and_then(|it| it.whole(talkgroup::id).value()).map(Called::Group));
                        }
                        found
                            .called
                            .extend(view.get(id).and_then(|it| it.whole(station::id).value()).map(Called::Unit));
                    }
                    _ => {}
                }
            }
        }
        for class in asked.hearing.classes(plan) {
            if class.radios.iter().any(|radio| self.dirt.radios.contains(&asked.number(*radio)))
                && let Known::Is(zones) = &class.post.zones
            {
                let channels = zones.iter().flat_map(|zone| view.zone_channels(*zone));
                let home = class.post.stands_by.value();
                let scanned = home.map(|home| view.scanned_at(home)).unwrap_or_default();
                found.frequencies.extend(channels.chain(home).chain(scanned).filter_map(hears_on));
            }
        }
    }

    /// Whether a channel, or what it needs to be understood, changed.
    pub fn is_dirty(&self, asked: &Asked<'_>, channel: EntityId) -> bool {
        !self.behind(asked.state, asked.side, asked.matched, channel).is_empty()
    }

    /// The changes of a table and of what it needs to be understood.
    pub fn behind(&self, state: &State<'_>, side: Side, matched: &Matched, of: EntityId) -> Arc<[usize]> {
        let is_channel = || state.db.entity(of).is_some_and(|entity| entity.kind == Kind::Channel);
        if let Some(channels) = self.dirt.channels.as_ref().filter(|_| is_channel()) {
            return channels.get(&(side, of)).cloned().unwrap_or_default();
        }
        if let Some(known) = self.behind.borrow().get(&(side, of)) {
            return known.clone();
        }
        let mut seen: FxHashSet<EntityId> = FxHashSet::default();
        let mut open: Vec<(EntityId, usize)> = vec![(of, 0)];
        let mut found: Vec<usize> = Vec::new();
        while let Some((id, steps)) = open.pop() {
            let Some(entity) = state.db.entity(id).filter(|_| seen.insert(id)) else { continue };
            // How a list answers is told of the answers.
            let keys = match entity.kind {
                Kind::ScanList => keys_of([scan_list::channels.number()]),
                _ => FieldSet::ALL,
            };
            found.extend(matched.number(side, id).and_then(|number| self.dirt.change(number, keys)));
            if steps < 2 && matches!(entity.kind, Kind::Channel | Kind::ReceiveGroup | Kind::Repeater | Kind::Station) {
                let next = self.next(state, side, id, entity);
                open.extend(next.iter().map(|id| (*id, steps + 1)));
            }
        }
        found.sort_unstable();
        found.dedup();
        let found: Arc<[usize]> = found.into();
        self.behind.borrow_mut().insert((side, of), found.clone());
        found
    }

    /// The tables that one needs to be understood.
    fn next(&self, state: &State<'_>, side: Side, id: EntityId, entity: &Entity) -> Rc<[EntityId]> {
        if let Some(known) = self.next.borrow().get(&(side, id)) {
            return known.clone();
        }
        let next = leads(state, state.viewer(entity.file), id).into_iter().map(|(_, id)| id);
        let matters = |id: &EntityId| state.db.entity(*id).is_some_and(|entity| entity.kind != Kind::Emergency);
        let next: Rc<[EntityId]> = next.filter(matters).collect();
        // A channel is asked for once; what channels need, for each of them.
        if entity.kind != Kind::Channel {
            self.next.borrow_mut().insert((side, id), next.clone());
        }
        next
    }

    /// Whether a transmission on a channel may be heard otherwise than before; none: nothing that can be followed.
    pub fn touches(&self, asked: &Asked<'_>, channel: EntityId, emission: Option<&Emission>) -> bool {
        let is_near = |it: &Emission| {
            let is_for = |called: Called| self.dirt.heard_at_stations.contains(&called);
            it.called().is_some_and(is_for) || self.is_near(asked, it.carrier, it.mode())
        };
        emission.is_some_and(is_near) || self.is_dirty(asked, channel)
    }

    /// Whether somebody may hear otherwise what is sent on a carrier, or what repeaters make of it.
    fn is_near(&self, asked: &Asked<'_>, carrier: Hertz, mode: Mode) -> bool {
        let key = (asked.side, carrier, mode);
        if let Some(known) = self.near.borrow().get(&key) {
            return *known;
        }
        let near = |carrier: &Hertz| {
            let known = &self.dirt.frequencies;
            let from = known.partition_point(|known| *known < *carrier - REACH);
            known.get(from).is_some_and(|known| *known <= *carrier + REACH)
        };
        let found = asked.anywhere().within_reach(carrier, mode).iter().any(near);
        self.near.borrow_mut().insert(key, found);
        found
    }
}
