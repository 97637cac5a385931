//! Which table of one state is which of the other: by name within kind and file; else by what it says, names left out;
//! else the same in another file. Whatever is matched is then compared key by key, so a doubtful match is never taken for
//! "nothing changed".

use std::collections::BTreeMap;
use std::hash::Hash;

use guywire_plan::language::{FieldSet, Kind, Type, radio};
use guywire_plan::{EntityId, Stored};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::Side;
use super::state::{State, States};
use super::value::{Value, Values};

/// Steps that a difference of content is followed through names.
const ROUNDS: usize = 4;
/// How often matching by content is tried again with what it has found.
const TRIES: usize = 3;

/// A table of both states, or of one.
pub(crate) type Pair = (Option<EntityId>, Option<EntityId>);

/// The numbers of the tables of one state, by slot.
#[derive(Default)]
struct Numbers(Vec<Option<(EntityId, u32)>>);

impl Numbers {
    fn get(&self, id: EntityId) -> Option<u32> {
        self.0.get(id.slot()).copied().flatten().filter(|(held, _)| *held == id).map(|(_, number)| number)
    }

    fn insert(&mut self, id: EntityId, number: u32) {
        if self.0.len() <= id.slot() {
            self.0.resize(id.slot() + 1, None);
        }
        self.0[id.slot()] = Some((id, number));
    }
}

/// The tables of both states, numbered together.
#[derive(Default)]
pub(crate) struct Matched {
    before: Numbers,
    after: Numbers,
    pairs: Vec<Pair>,
}

impl Matched {
    /// The number of a table, the same on both sides where it is in both.
    pub fn number(&self, side: Side, id: EntityId) -> Option<u32> {
        match side {
            Side::Before => self.before.get(id),
            Side::After => self.after.get(id),
        }
    }

    /// The tables of a number.
    pub fn pair(&self, number: u32) -> Pair {
        self.pairs[number as usize]
    }

    /// How many numbers there are.
    pub fn len(&self) -> u32 {
        self.pairs.len() as u32
    }

    fn join(&mut self, was: EntityId, is: EntityId) {
        let number = self.pairs.len() as u32;
        self.before.insert(was, number);
        self.after.insert(is, number);
        self.pairs.push((Some(was), Some(is)));
    }

    fn close(&mut self, before: impl Iterator<Item = EntityId>, after: impl Iterator<Item = EntityId>) {
        for id in before {
            if self.before.get(id).is_none() {
                self.before.insert(id, self.len());
                self.pairs.push((Some(id), None));
            }
        }
        for id in after {
            if self.after.get(id).is_none() {
                self.after.insert(id, self.len());
                self.pairs.push((None, Some(id)));
            }
        }
    }
}

/// Tables of one side that have no partner yet, with the number of the pair of files that each stands in.
type Left = Vec<(usize, EntityId)>;

struct Matching<'s, 'w> {
    states: &'s States<'w>,
    matched: Matched,
    before: Left,
    after: Left,
}

/// Matches the tables of both states.
pub(crate) fn matched(states: &States<'_>) -> Matched {
    let tables = |side: Side| -> Left {
        let mut found = Vec::new();
        for (number, (was, is)) in states.files.iter().enumerate() {
            let file = if side == Side::Before { was } else { is };
            let tables = file.iter().flat_map(|file| states.of(side).tables(*file).to_vec());
            found.extend(tables.map(|id| (number, id)));
        }
        found
    };
    let (before, after) = (tables(Side::Before), tables(Side::After));
    let matched = Matched::default();
    let mut matching = Matching { states, matched, before: before.clone(), after: after.clone() };
    matching.by_name();
    if states.differ() {
        for _ in 0..TRIES {
            let found = matching.matched.pairs.len();
            matching.by_content();
            matching.by_shape();
            if matching.matched.pairs.len() == found {
                break;
            }
        }
        matching.radios_by_unit();
        matching.elsewhere();
        matching.nameless();
    }
    let mut matched = matching.matched;
    matched.close(before.into_iter().map(|(_, id)| id), after.into_iter().map(|(_, id)| id));
    matched
}

impl Matching<'_, '_> {
    /// Joins tables of one key, in the order of the text. `only`: where a key has one table on each side; else where it has
    /// as many on both.
    fn join_by<K: Hash + Eq + Ord>(&mut self, only: bool, key: impl Fn(&Self, Side, usize, EntityId) -> Option<K>) {
        let grouped = |side: Side, left: &Left| -> BTreeMap<K, Vec<EntityId>> {
            let mut grouped: BTreeMap<K, Vec<EntityId>> = BTreeMap::new();
            for (file, id) in left {
                if let Some(key) = key(self, side, *file, *id) {
                    grouped.entry(key).or_default().push(*id);
                }
            }
            grouped
        };
        let (before, mut after) = (grouped(Side::Before, &self.before), grouped(Side::After, &self.after));
        for (key, was) in before {
            let Some(is) = after.remove(&key) else { continue };
            if was.len() == is.len() && (!only || was.len() == 1) {
                was.into_iter().zip(is).for_each(|(was, is)| self.matched.join(was, is));
            }
        }
        let (known_before, known_after) = (&self.matched.before, &self.matched.after);
        self.before.retain(|(_, id)| known_before.get(*id).is_none());
        self.after.retain(|(_, id)| known_after.get(*id).is_none());
    }

    fn state(&self, side: Side) -> &State<'_> {
        self.states.of(side)
    }

    fn kind(&self, side: Side, id: EntityId) -> Kind {
        self.state(side).db.entity(id).map_or(Kind::Unknown, |entity| entity.kind)
    }

    fn name(&self, side: Side, id: EntityId) -> Option<String> {
        let db = self.state(side).db;
        db.entity(id)?.name().value().map(|name| db.symbols.text(name).to_owned())
    }

    fn by_name(&mut self) {
        self.join_by(false, |it, side, file, id| Some((file, it.kind(side, id), it.name(side, id)?)));
    }

    /// By what tables say and what their names lead to say, followed some steps.
    fn by_content(&mut self) {
        let (before, after) = (self.hashes(Side::Before, ROUNDS), self.hashes(Side::After, ROUNDS));
        self.join_by(false, |it, side, file, id| {
            let hashes = if side == Side::Before { &before } else { &after };
            Some((file, it.kind(side, id), *hashes.get(&id)?))
        });
    }

    /// By what tables say, where a name leads to a table that is not matched left out: a table that differs elsewhere.
    fn by_shape(&mut self) {
        let (before, after) = (self.hashes(Side::Before, 0), self.hashes(Side::After, 0));
        self.join_by(true, |it, side, file, id| {
            it.name(side, id)?;
            let hashes = if side == Side::Before { &before } else { &after };
            Some((file, it.kind(side, id), *hashes.get(&id)?))
        });
    }

    /// Radios whose aliases changed, by unit id.
    fn radios_by_unit(&mut self) {
        let unit = |it: &Self, side: Side, id: EntityId| match it.state(side).db.entity(id) {
            Some(entity) if entity.kind == Kind::Radio => match entity.record.slot(radio::id.number()) {
                Some(slot) => match slot.value {
                    Stored::Whole(number) => Some(number),
                    _ => None,
                },
                None => None,
            },
            _ => None,
        };
        self.join_by(true, move |it, side, file, id| Some((file, unit(it, side, id)?)));
        self.join_by(true, move |it, side, _, id| unit(it, side, id));
    }

    /// Tables that moved to another file: the same, or of one name.
    fn elsewhere(&mut self) {
        let (before, after) = (self.hashes(Side::Before, ROUNDS), self.hashes(Side::After, ROUNDS));
        self.join_by(true, |it, side, _, id| {
            let hashes = if side == Side::Before { &before } else { &after };
            Some((it.kind(side, id), it.name(side, id)?, *hashes.get(&id)?))
        });
        self.join_by(true, |it, side, _, id| Some((it.kind(side, id), it.name(side, id)?)));
    }

    /// Tables that have no name, in the order of the text.
    fn nameless(&mut self) {
        let is_nameless = |it: &Self, side: Side, id: EntityId| {
            it.state(side).db.entity(id).is_some_and(|entity| entity.record.spec.name_field().is_none())
        };
        self.join_by(true, |it, side, file, id| is_nameless(it, side, id).then(|| (file, it.kind(side, id))));
        let places = |left: &Left, it: &Self, side: Side| -> FxHashMap<EntityId, usize> {
            let mut counts: FxHashMap<(usize, Kind), usize> = FxHashMap::default();
            let count = |(file, id): &(usize, EntityId)| {
                let count = counts.entry((*file, it.kind(side, *id))).or_default();
                *count += 1;
                (*id, *count)
            };
            left.iter().map(count).collect()
        };
        let (before, after) = (places(&self.before, self, Side::Before), places(&self.after, self, Side::After));
        self.join_by(true, |it, side, file, id| {
            let places = if side == Side::Before { &before } else { &after };
            is_nameless(it, side, id).then(|| (file, it.kind(side, id), places.get(&id).copied()))
        });
    }

    /// What the tables without a partner say, their own names left out. A name that leads to a table with a partner counts
    /// as that partner, another as what it led to one round before.
    fn hashes(&self, side: Side, rounds: usize) -> FxHashMap<EntityId, u64> {
        let (state, left) = (self.state(side), if side == Side::Before { &self.before } else { &self.after });
        let mut hashes: FxHashMap<EntityId, u64> = FxHashMap::default();
        for _ in 0..=rounds {
            let number = |id: EntityId| match self.matched.number(side, id) {
                Some(number) => u64::from(number) << 1,
                None => hashes.get(&id).copied().unwrap_or_default() | 1,
            };
            let next = left.iter().map(|(_, id)| (*id, content(state, *id, &number))).collect();
            hashes = next;
        }
        hashes
    }
}

/// A hash of what a table says, its own name left out.
fn content(state: &State<'_>, id: EntityId, number: &dyn Fn(EntityId) -> u64) -> u64 {
    let Some(entity) = state.db.entity(id) else { return 0 };
    let viewer: FileId = state.viewer(entity.file);
    let is_name = |field: u8| matches!(entity.record.spec.key(field).value, Type::Name);
    let values = Values::of(state, viewer, id, number).all();
    let values: Vec<(u8, Value)> = values.into_iter().filter(|(field, _)| !is_name(*field)).collect();
    Value::hashed(&(entity.kind, values))
}

/// Keys of a table as a set, for those who look at several.
pub(crate) fn keys_of(fields: impl IntoIterator<Item = u8>) -> FieldSet {
    fields.into_iter().fold(FieldSet::default(), |set, field| set.and(FieldSet::of(field)))
}

/// Numbers without repetition, in their order.
pub(crate) fn distinct(numbers: impl IntoIterator<Item = u32>) -> Vec<u32> {
    let mut seen: FxHashSet<u32> = FxHashSet::default();
    numbers.into_iter().filter(|number| seen.insert(*number)).collect()
}
