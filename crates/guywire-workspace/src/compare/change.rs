//! Which keys of a matched table have other values, and the list of all that changed.

use guywire_plan::language::{FieldSet, Kind, Reach, TableSpec, Type};
use guywire_plan::{Entity, EntityId, Slot, Stored};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::matching::Matched;
use super::state::{State, States};
use super::value::{Value, Values};
use super::{Became, Bytes, Comparison, KeyChange, Reached, Side, TableChange};

/// Both sides of something, where they have it.
pub(crate) type Both<T> = (Option<T>, Option<T>);

/// What changed, each table once, however many plans see it change.
pub(crate) struct Ledger<'s, 'w> {
    pub states: &'s States<'w>,
    pub matched: &'s Matched,
    tables: Vec<TableChange>,
    /// The number of each table in the match.
    numbers: Vec<u32>,
    /// By the table's number and the keys that changed.
    known: FxHashMap<(u32, FieldSet), usize>,
    /// What was found of a table as a plan sees it.
    seen: FxHashMap<(Both<FileId>, u32), Option<usize>>,
    /// Tables that changed on paper only.
    paper: FxHashSet<u32>,
}

impl<'s, 'w> Ledger<'s, 'w> {
    pub fn new(states: &'s States<'w>, matched: &'s Matched) -> Self {
        Ledger {
            states,
            matched,
            tables: Vec::new(),
            numbers: Vec::new(),
            known: FxHashMap::default(),
            seen: FxHashMap::default(),
            paper: FxHashSet::default(),
        }
    }

    /// What changed in a table as a plan sees it; none where nothing did that reaches further than paper.
    pub fn change(&mut self, plan: Both<FileId>, number: u32) -> Option<usize> {
        if let Some(found) = self.seen.get(&(plan, number)) {
            return *found;
        }
        let found = self.look(plan, number);
        self.seen.insert((plan, number), found);
        found
    }

    /// A change by its number.
    pub fn table(&self, number: usize) -> &TableChange {
        &self.tables[number]
    }

    /// All changes so far, with the number of each table in the match.
    pub fn changed(&self) -> Vec<(u32, usize)> {
        self.numbers.iter().copied().zip(0..).collect()
    }

    fn look(&mut self, plan: Both<FileId>, number: u32) -> Option<usize> {
        let (was, is) = self.matched.pair(number);
        let (keys, on_paper) = match (was, is) {
            (Some(was), Some(is)) => {
                let old = self.values(Side::Before, plan.0, was);
                let new = self.values(Side::After, plan.1, is);
                self.keys((was, old), (is, new))
            }
            _ => (Vec::new(), false),
        };
        if was.is_some() && is.is_some() && keys.is_empty() {
            if on_paper {
                self.paper.insert(number);
            }
            return None;
        }
        let set = keys.iter().fold(FieldSet::default(), |set, key| set.and(FieldSet::of(key.field)));
        if let Some(known) = self.known.get(&(number, set)) {
            return Some(*known);
        }
        let table = self.told((was, is), keys)?;
        self.tables.push(table);
        self.numbers.push(number);
        self.known.insert((number, set), self.tables.len() - 1);
        Some(self.tables.len() - 1)
    }

    fn values(&self, side: Side, viewer: Option<FileId>, id: EntityId) -> Vec<(u8, Value)> {
        let state = self.states.of(side);
        let Some(entity) = state.db.entity(id) else { return Vec::new() };
        let number = |id: EntityId| self.matched.number(side, id).map_or(u64::MAX, u64::from);
        Values::of(state, viewer.unwrap_or_else(|| state.viewer(entity.file)), id, &number).all()
    }

    /// The keys that differ in what reaches further than paper, and whether others do.
    fn keys(&self, was: (EntityId, Vec<(u8, Value)>), is: (EntityId, Vec<(u8, Value)>)) -> (Vec<KeyChange>, bool) {
        let (before, after) = (&self.states.before, &self.states.after);
        let (Some(old), Some(new)) = (before.db.entity(was.0), after.db.entity(is.0)) else {
            return (Vec::new(), false);
        };
        let spec = new.record.spec;
        if !std::ptr::eq(spec, old.record.spec) {
            return (Vec::new(), false);
        }
        let mut on_paper = false;
        let mut keys = Vec::new();
        for field in 0..spec.keys.len() as u8 {
            let find =
                |values: &[(u8, Value)]| values.iter().find(|(of, _)| *of == field).map(|(_, value)| value.clone());
            let values = (find(&was.1), find(&is.1));
            if values.0 == values.1 {
                continue;
            }
            match reach(spec, field) {
                Some(reach) => keys.push(self.key(spec, field, reach, (old, new), values)),
                None => on_paper = true,
            }
        }
        (keys, on_paper)
    }

    fn key(
        &self,
        spec: &'static TableSpec,
        field: u8,
        reach: Reached,
        (old, new): (&Entity, &Entity),
        values: (Option<Value>, Option<Value>),
    ) -> KeyChange {
        let (before, after) = (&self.states.before, &self.states.after);
        let is_secret = spec.keys.iter().any(|key| key.secret);
        let slots = (old.record.slot(field), new.record.slot(field));
        let shown = |state, side, entity: &Entity, slot: Option<&Slot>| {
            slot.filter(|_| !is_secret).and_then(|slot| bytes(state, side, entity, slot.at))
        };
        let elements = match (values, slots) {
            ((Some(Value::List(old_values)), Some(Value::List(new_values))), (Some(was), Some(is))) if !is_secret => {
                let gained = missing(&new_values, &old_values, is);
                let lost = missing(&old_values, &new_values, was);
                let of = |state, side, entity: &Entity, found: Vec<guywire_plan::Local>| -> Vec<Bytes> {
                    found.into_iter().filter_map(|at| bytes(state, side, entity, at)).collect()
                };
                Some((of(after, Side::After, new, gained), of(before, Side::Before, old, lost)))
            }
            _ => None,
        };
        KeyChange {
            field,
            key: spec.key(field).name,
            reach,
            before: shown(before, Side::Before, old, slots.0),
            after: shown(after, Side::After, new, slots.1),
            elements,
            is_secret,
        }
    }

    /// A table as it is told. A table that is new or gone and reaches no further than paper is not.
    fn told(&mut self, (was, is): Both<EntityId>, keys: Vec<KeyChange>) -> Option<TableChange> {
        let (side, id) = match (was, is) {
            (_, Some(is)) => (Side::After, is),
            (Some(was), None) => (Side::Before, was),
            (None, None) => return None,
        };
        let state = self.states.of(side);
        let entity = state.db.entity(id)?;
        let became = match (was, is) {
            (Some(_), Some(_)) => Became::Changed,
            (None, _) => Became::Added,
            (Some(_), None) => Became::Gone,
        };
        let reaches = |slot: &Slot| reach(entity.record.spec, slot.field).is_some();
        if became != Became::Changed && !entity.record.slots.iter().any(reaches) {
            return None;
        }
        let name = |side: Side, id: Option<EntityId>| name(self.states.of(side), id?);
        Some(TableChange {
            kind: entity.kind,
            name: (name(Side::Before, was), name(Side::After, is)),
            at: header(state, side, id)?,
            became,
            keys,
        })
    }

    /// Repeaters, networks and stations that changed.
    pub fn fixed_stations(&mut self, comparison: &mut Comparison) {
        let plans: Vec<Both<FileId>> = self.states.plans().filter(|plan| self.states.can_differ(*plan)).collect();
        for plan in plans {
            for number in self.seen_by(plan, &[Kind::Repeater, Kind::Network, Kind::Station]) {
                let is_in_both = matches!(self.matched.pair(number), (Some(_), Some(_)));
                // Of a plan that is new or gone: what others see too leads elsewhere for them, and is no change.
                if plan.0.is_some() && plan.1.is_some() || !is_in_both {
                    comparison.fixed.extend(self.change(plan, number));
                }
            }
        }
        comparison.fixed.sort_unstable();
        comparison.fixed.dedup();
    }

    /// The tables of some kinds that a plan sees, by number.
    pub fn seen_by(&self, plan: Both<FileId>, kinds: &[Kind]) -> Vec<u32> {
        let of = |side: Side, plan: Option<FileId>| {
            let state = self.states.of(side);
            let files = plan.map(|plan| state.db.scope(plan).to_vec()).unwrap_or_default();
            let tables = files.into_iter().flat_map(|file| state.tables(file).to_vec());
            let kind = |id: &EntityId| state.db.entity(*id).is_some_and(|entity| kinds.contains(&entity.kind));
            tables.filter(kind).filter_map(|id| self.matched.number(side, id)).collect::<Vec<u32>>()
        };
        super::matching::distinct(of(Side::Before, plan.0).into_iter().chain(of(Side::After, plan.1)))
    }

    /// How many tables changed of which nothing is told: on paper only, or in what no radio holds.
    fn others(&mut self, told: &[usize]) -> usize {
        let told: FxHashSet<u32> = told.iter().map(|table| self.numbers[*table]).collect();
        let states = self.states;
        let kind = |side: Side, id: Option<EntityId>| {
            let entity = id.and_then(|id| states.of(side).db.entity(id))?;
            (states.differs(side, entity.file) && entity.kind != Kind::Radio).then_some(entity)
        };
        let is_other = |it: &mut Self, number: u32| {
            let (was, is) = it.matched.pair(number);
            let changed = match (kind(Side::Before, was), kind(Side::After, is)) {
                (None, None) => return false,
                _ if was.is_none() || is.is_none() => true,
                _ => it.change((None, None), number).is_some() || it.paper.contains(&number),
            };
            changed && !told.contains(&number)
        };
        (0..self.matched.len()).filter(|number| is_other(self, *number)).count()
    }

    /// Puts the changes in order of path and place, and tells their numbers anew. What nothing holds is left out.
    pub fn close(mut self, comparison: &mut Comparison) {
        let states = self.states;
        let mut used: Vec<usize> = comparison.fixed.clone();
        for group in &comparison.rewrites {
            used.extend(group.causes.iter().map(|cause| cause.table));
            used.extend(group.radios.iter().filter_map(|(_, own)| *own));
        }
        used.extend(comparison.pairs.iter().flat_map(|pair| pair.because.iter().copied()));
        used.sort_unstable();
        used.dedup();
        let others = self.others(&used);
        used.sort_by_cached_key(|number| {
            let at = &self.tables[*number].at;
            (states.of(at.side).path(at.file).to_path_buf(), at.bytes.start, at.side)
        });
        let new: FxHashMap<usize, usize> = used.iter().enumerate().map(|(new, old)| (*old, new)).collect();
        for group in &mut comparison.rewrites {
            group.causes.iter_mut().for_each(|cause| cause.table = new[&cause.table]);
            group.causes.sort_by_key(|cause| cause.table);
            group.radios.iter_mut().for_each(|(_, own)| *own = own.map(|own| new[&own]));
        }
        for pair in &mut comparison.pairs {
            pair.because.iter_mut().for_each(|table| *table = new[table]);
            pair.because.sort_unstable();
        }
        comparison.fixed.iter_mut().for_each(|number| *number = new[number]);
        comparison.fixed.sort_unstable();
        comparison.others = others;
        comparison.tables = used.into_iter().map(|number| self.tables[number].clone()).collect();
    }
}

/// What a change of a key reaches; none: paper only.
pub(crate) fn reach(spec: &TableSpec, field: u8) -> Option<Reached> {
    let key = spec.key(field);
    match (key.reach, &key.value) {
        (Reach::Paper, _) => None,
        (Reach::Hand, Type::Name) => Some(Reached::Names),
        (Reach::Hand, _) => Some(Reached::Hand),
        (Reach::Air, _) => Some(Reached::Air),
    }
}

/// The places of the elements that `other` does not have, each as often as it is missing.
fn missing(values: &[Value], other: &[Value], slot: &Slot) -> Vec<guywire_plan::Local> {
    let Stored::List(elements) = &slot.value else { return Vec::new() };
    let mut there: FxHashMap<&Value, usize> = FxHashMap::default();
    other.iter().for_each(|value| *there.entry(value).or_default() += 1);
    let mut found = Vec::new();
    for (value, element) in values.iter().zip(elements.iter()) {
        match there.get_mut(value) {
            Some(left) if *left > 0 => *left -= 1,
            _ => found.push(element.at),
        }
    }
    found
}

fn bytes(state: &State<'_>, side: Side, entity: &Entity, at: guywire_plan::Local) -> Option<Bytes> {
    Some(Bytes { side, file: entity.file, bytes: state.db.bytes(entity, at)? })
}

/// The place of a table.
pub(crate) fn header(state: &State<'_>, side: Side, id: EntityId) -> Option<Bytes> {
    let entity = state.db.entity(id)?;
    bytes(state, side, entity, entity.record.at)
}

/// The name of a table.
pub(crate) fn name(state: &State<'_>, id: EntityId) -> Option<String> {
    state.db.entity(id)?.name().value().map(|name| state.db.symbols.text(name).to_owned())
}
