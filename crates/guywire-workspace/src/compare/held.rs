//! What a radio holds: the tables that are written into it, and which of their keys matter to it.

use std::rc::Rc;

use guywire_plan::language::{FieldSet, Kind, PROFILE, RADIO, TableSpec, channel, plan, profile, radio, repeater};
use guywire_plan::{EntityId, Known, Record, Stored};
use guywire_text::FileId;
use rustc_hash::FxHashMap;

use super::change::reach;
use super::state::State;
use super::value::leads;

/// Tables that are in every radio of a plan.
const PLAN_WIDE: [Kind; 7] =
    [Kind::Signaling, Kind::Controls, Kind::Security, Kind::Audio, Kind::Display, Kind::Shortcut, Kind::Message];

/// A table that a radio holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Hold {
    /// The keys that matter.
    pub keys: FieldSet,
    /// That it is there at all is told by no key of another table.
    pub by_itself: bool,
}

/// The tables of a radio.
pub(crate) type Held = FxHashMap<EntityId, Hold>;

/// Radios that hold the same: their profile, the keys that they have themselves, and the radio where that is not enough.
pub(crate) type ClassKey = (Option<EntityId>, FieldSet, Option<EntityId>);

/// Looks at what the radios of one plan hold.
pub(crate) struct Holder<'s, 'w> {
    state: &'s State<'w>,
    plan: FileId,
    classes: FxHashMap<ClassKey, Rc<Held>>,
    zones: FxHashMap<EntityId, Rc<Held>>,
    common: Option<Rc<Held>>,
}

impl<'s, 'w> Holder<'s, 'w> {
    pub fn new(state: &'s State<'w>, plan: FileId) -> Self {
        Holder { state, plan, classes: FxHashMap::default(), zones: FxHashMap::default(), common: None }
    }

    /// What a radio holds beside its own table, and what it shares that with.
    pub fn of(&mut self, radio: EntityId) -> (ClassKey, Rc<Held>) {
        let key = self.class(radio);
        if let Some(held) = self.classes.get(&key) {
            return (key, held.clone());
        }
        let held = Rc::new(self.look(radio, key.0));
        self.classes.insert(key, held.clone());
        (key, held)
    }

    fn record(&self, id: EntityId) -> Option<&'s Record> {
        self.state.db.entity(id).map(|entity| &entity.record)
    }

    fn kind(&self, id: EntityId) -> Kind {
        self.state.db.entity(id).map_or(Kind::Unknown, |entity| entity.kind)
    }

    fn class(&self, radio: EntityId) -> ClassKey {
        let profile = self.led_by(radio, radio::profile.number()).into_iter().next();
        let Some(record) = self.record(radio) else { return (profile, FieldSet::default(), Some(radio)) };
        let shared = |name: &str| name != "button" && name != "notes" && PROFILE.field(name).is_some();
        let own = record.slots.iter().map(|slot| slot.field).filter(|field| shared(RADIO.key(*field).name));
        let own = super::matching::keys_of(own);
        let fetched = [radio::zones.number(), radio::keys.number(), radio::model.number()];
        let alone = fetched.iter().any(|field| own.meets(FieldSet::of(*field)));
        (profile, own, alone.then_some(radio))
    }

    /// What the names under one key of a table lead to.
    fn led_by(&self, id: EntityId, field: u8) -> Vec<EntityId> {
        let all = leads(self.state, self.plan, id).into_iter();
        all.filter(|(path, _)| path.first() == Some(field)).map(|(_, found)| found).collect()
    }

    fn look(&mut self, radio: EntityId, profile: Option<EntityId>) -> Held {
        let mut held = Held::default();
        let own = self.record(radio);
        let has = |field: u8| own.is_some_and(|record| record.slot(field).is_some());
        let of_profile =
            |own_field: u8, field: u8| if has(own_field) { (Some(radio), own_field) } else { (profile, field) };
        if let Some(profile) = profile {
            hold(&mut held, profile, Hold { keys: profile_keys(own), by_itself: false });
        }
        let named = [
            of_profile(radio::zones.number(), profile::zones.number()),
            of_profile(radio::keys.number(), profile::keys.number()),
        ];
        for (table, field) in named {
            for found in table.map(|table| self.led_by(table, field)).unwrap_or_default() {
                let more = if self.kind(found) == Kind::Zone { self.zone(found) } else { Rc::new(one(found)) };
                more.iter().for_each(|(id, what)| hold(&mut held, *id, *what));
            }
        }
        self.model(of_profile(radio::model.number(), profile::model.number()), &mut held);
        let common = self.common();
        common.iter().for_each(|(id, what)| hold(&mut held, *id, *what));
        self.reports(profile, &mut held);
        held
    }

    /// The tables of the file of a radio's model, and the plan's `model` where neither radio nor profile names one.
    fn model(&self, (table, field): (Option<EntityId>, u8), held: &mut Held) {
        let named = |table: EntityId, field: u8| match self.record(table)?.known(field) {
            Known::Is(Stored::File(file)) => Some(*file),
            _ => None,
        };
        let own = table.filter(|table| self.record(*table).is_some_and(|record| record.slot(field).is_some()));
        let file = match own {
            Some(table) => named(table, field),
            None => {
                let Some(main) = self.state.db.main(self.plan) else { return };
                hold(held, main, Hold { keys: FieldSet::of(plan::model.number()), by_itself: false });
                named(main, plan::model.number())
            }
        };
        let tables = file.map(|file| self.state.tables(file)).unwrap_or_default();
        for id in tables.iter().copied() {
            hold(held, id, Hold { keys: FieldSet::ALL, by_itself: true });
        }
    }

    /// The tables that every radio of the plan holds.
    fn common(&mut self) -> Rc<Held> {
        if let Some(common) = &self.common {
            return common.clone();
        }
        let mut held = Held::default();
        for file in self.state.db.scope(self.plan).to_vec() {
            for id in self.state.tables(file).iter().copied() {
                if PLAN_WIDE.contains(&self.kind(id)) {
                    self.follow(id, &mut held);
                    hold(&mut held, id, Hold { keys: FieldSet::ALL, by_itself: true });
                }
            }
        }
        let common = Rc::new(held);
        self.common = Some(common.clone());
        common
    }

    /// The reports that a radio sends: those on its channels, for its class or for all.
    fn reports(&self, profile: Option<EntityId>, held: &mut Held) {
        use guywire_plan::language::report;
        for file in self.state.db.scope(self.plan) {
            for id in self.state.db.entities_of(*file).filter(|id| self.kind(*id) == Kind::Report) {
                let on = self.led_by(id, report::channel.number());
                let limited = self.record(id).is_some_and(|record| record.slot(report::profiles.number()).is_some());
                let meant =
                    !limited || profile.is_some_and(|own| self.led_by(id, report::profiles.number()).contains(&own));
                if meant && on.iter().any(|channel| held.contains_key(channel)) {
                    hold(held, id, Hold { keys: FieldSet::ALL, by_itself: true });
                }
            }
        }
    }

    fn zone(&mut self, zone: EntityId) -> Rc<Held> {
        if let Some(held) = self.zones.get(&zone) {
            return held.clone();
        }
        let mut held = Held::default();
        self.follow(zone, &mut held);
        let held = Rc::new(held);
        self.zones.insert(zone, held.clone());
        held
    }

    /// A table and all that the radio needs to do what it says.
    fn follow(&self, from: EntityId, held: &mut Held) {
        let mut open = vec![from];
        while let Some(id) = open.pop() {
            if held.contains_key(&id) {
                continue;
            }
            hold(held, id, Hold { keys: FieldSet::ALL, by_itself: false });
            let Some(record) = self.record(id) else { continue };
            for (path, found) in leads(self.state, self.plan, id) {
                let reaches = path.first().is_some_and(|field| reach(record.spec, field).is_some());
                match self.kind(found) {
                    _ if !reaches => {}
                    Kind::Repeater => {
                        hold(held, found, Hold { keys: repeater_keys(self.state, record), by_itself: false })
                    }
                    // These are not in a radio: it knows of them by number only.
                    Kind::Station | Kind::Network | Kind::Site | Kind::Profile => {}
                    _ => open.push(found),
                }
            }
        }
    }
}

fn hold(held: &mut Held, id: EntityId, what: Hold) {
    let known = held.entry(id).or_insert(Hold { keys: FieldSet::default(), by_itself: false });
    known.keys = known.keys.and(what.keys);
    known.by_itself |= what.by_itself;
}

fn one(id: EntityId) -> Held {
    Held::from_iter([(id, Hold { keys: FieldSet::ALL, by_itself: false })])
}

/// The keys of a profile that a radio does not have itself. Buttons count by place and press, so both do.
fn profile_keys(radio: Option<&Record>) -> FieldSet {
    let overridden = |name: &str| {
        let field = RADIO.field(name).filter(|_| name != "button");
        field.is_some_and(|field| radio.is_some_and(|record| record.slot(field).is_some()))
    };
    keys_where(&PROFILE, |name| !overridden(name))
}

/// The keys of a repeater that a channel takes over.
fn repeater_keys(state: &State<'_>, channel: &Record) -> FieldSet {
    let has = |field: guywire_plan::language::Field<channel::Table>| channel.slot(field.number()).is_some();
    let is = |field: guywire_plan::language::Field<channel::Table>, word: &str| match channel.known(field.number()) {
        Known::Is(Stored::Text(text)) => state.db.symbols.text(*text) == word,
        Known::Is(Stored::Truth(truth)) => *truth && word == "true",
        _ => false,
    };
    let one_mode = !has(channel::receives);
    let (digital_only, analog_only) =
        (one_mode && is(channel::sends, "digital"), one_mode && is(channel::sends, "analog"));
    let sends_there = !has(channel::tx_mhz) && !is(channel::talk_around, "true") && !is(channel::sends, "nothing");
    let (has_rx_tone, has_both) = (has(channel::rx_tone), has(channel::rx_tone) && has(channel::tx_tone));
    let taken = [
        (repeater::tx_mhz, !has(channel::rx_mhz)),
        (repeater::rx_mhz, sends_there),
        (repeater::bandwidth_khz, !has(channel::bandwidth_khz)),
        (repeater::color_code, !has(channel::color_code) && !analog_only),
        (repeater::input_tones, !has_both && !digital_only),
        (repeater::output_tone, !has_rx_tone && !digital_only),
    ];
    super::matching::keys_of(taken.into_iter().filter(|(_, taken)| *taken).map(|(field, _)| field.number()))
}

fn keys_where(spec: &TableSpec, wanted: impl Fn(&str) -> bool) -> FieldSet {
    let fields = (0..spec.keys.len() as u8).filter(|field| wanted(spec.key(*field).name));
    super::matching::keys_of(fields)
}
