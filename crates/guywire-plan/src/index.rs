//! The indexes over entities: by name, by what refers to a name, and what cannot be read.

use guywire_text::FileId;
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use crate::bag::Bag;
use crate::entity::{Entity, EntityId};
use crate::fact::{Changes, Fact};
use crate::language::Kind;
use crate::symbol::{Symbol, Symbols};

/// Kinds that tables refer to by name.
pub const NAMED: [Kind; 17] = [
    Kind::Site,
    Kind::License,
    Kind::Network,
    Kind::Repeater,
    Kind::Station,
    Kind::Talkgroup,
    Kind::Contact,
    Kind::ReceiveGroup,
    Kind::Key,
    Kind::Channel,
    Kind::ScanList,
    Kind::Zone,
    Kind::Emergency,
    Kind::Profile,
    Kind::Kit,
    Kind::Model,
    Kind::HouseRule,
];

#[derive(Debug, Default)]
pub(crate) struct Index {
    names: FxHashMap<(FileId, Kind, Symbol), SmallVec<[EntityId; 1]>>,
    /// How often a name of a kind came or went in a file.
    name_ticks: FxHashMap<(FileId, Kind), u64>,
    uses: FxHashMap<(FileId, Kind, Symbol), Bag>,
    /// The entities of each kind in a file.
    members: FxHashMap<(FileId, Kind), Bag>,
    name_gaps: FxHashMap<(FileId, Kind), u32>,
    use_gaps: FxHashMap<(FileId, Kind), u32>,
    /// Things in a file of which nothing at all is known: no text, tables without a readable header.
    opaque: FxHashMap<FileId, u32>,
}

impl Index {
    pub fn enter(&mut self, id: EntityId, entity: &Entity, symbols: &Symbols, changes: &mut Changes) {
        let file = entity.file;
        if let Some(name) = entity.name().value() {
            self.enter_name(id, (file, entity.kind, name), changes);
        }
        self.members.entry((file, entity.kind)).or_default().add(id);
        changes.fact(Fact::Count(file, entity.kind));
        uses_of(entity, symbols)
            .iter()
            .for_each(|(kind, name)| self.enter_use((id, entity.kind), (file, *kind, *name), changes));
        self.gaps(entity, true, changes);
    }

    pub fn leave(&mut self, id: EntityId, entity: &Entity, symbols: &Symbols, changes: &mut Changes) {
        let file = entity.file;
        if let Some(name) = entity.name().value() {
            self.leave_name(id, (file, entity.kind, name), changes);
        }
        if let Some(members) = self.members.get_mut(&(file, entity.kind)) {
            members.take(id);
        }
        changes.fact(Fact::Count(file, entity.kind));
        uses_of(entity, symbols)
            .iter()
            .for_each(|(kind, name)| self.leave_use((id, entity.kind), (file, *kind, *name), changes));
        self.gaps(entity, false, changes);
    }

    fn gaps(&mut self, entity: &Entity, up: bool, changes: &mut Changes) {
        let file = entity.file;
        if entity.is_opaque() {
            self.opaque_gap(file, up, changes);
        }
        if entity.name_gap() {
            step(&mut self.name_gaps, (file, entity.kind), up, Fact::NameGap(file, entity.kind), changes);
        }
        for kind in use_gaps_of(entity) {
            step(&mut self.use_gaps, (file, kind), up, Fact::UseGap(file, kind), changes);
        }
    }

    /// What is written in an entity changed; only what differs is a fact that changed.
    pub fn update(&mut self, id: EntityId, old: &Entity, new: &Entity, symbols: &Symbols, changes: &mut Changes) {
        let file = new.file;
        let (before, after) = (old.name().value(), new.name().value());
        if before != after {
            if let Some(name) = before {
                self.leave_name(id, (file, old.kind, name), changes);
            }
            if let Some(name) = after {
                self.enter_name(id, (file, new.kind, name), changes);
            }
        }
        let (before, after) = (uses_of(old, symbols), uses_of(new, symbols));
        if before != after {
            // New ones first, so that a use which stays is never seen to end.
            after.iter().for_each(|(kind, name)| self.enter_use((id, new.kind), (file, *kind, *name), changes));
            before.iter().for_each(|(kind, name)| self.leave_use((id, new.kind), (file, *kind, *name), changes));
        }
        if old.name_gap() != new.name_gap() {
            step(&mut self.name_gaps, (file, new.kind), new.name_gap(), Fact::NameGap(file, new.kind), changes);
        }
        let (before, after) = (use_gaps_of(old), use_gaps_of(new));
        for kind in after.iter().filter(|kind| !before.contains(kind)) {
            step(&mut self.use_gaps, (file, *kind), true, Fact::UseGap(file, *kind), changes);
        }
        for kind in before.iter().filter(|kind| !after.contains(kind)) {
            step(&mut self.use_gaps, (file, *kind), false, Fact::UseGap(file, *kind), changes);
        }
    }

    fn enter_name(&mut self, id: EntityId, key: (FileId, Kind, Symbol), changes: &mut Changes) {
        self.names.entry(key).or_default().push(id);
        *self.name_ticks.entry((key.0, key.1)).or_default() += 1;
        changes.fact(Fact::Name(key.0, key.1, key.2));
    }

    fn leave_name(&mut self, id: EntityId, key: (FileId, Kind, Symbol), changes: &mut Changes) {
        *self.name_ticks.entry((key.0, key.1)).or_default() += 1;
        if let Some(held) = self.names.get_mut(&key) {
            held.retain(|other| *other != id);
            if held.is_empty() {
                self.names.remove(&key);
            }
        }
        changes.fact(Fact::Name(key.0, key.1, key.2));
    }

    fn enter_use(&mut self, (id, from): (EntityId, Kind), key: (FileId, Kind, Symbol), changes: &mut Changes) {
        let bag = self.uses.entry(key).or_default();
        if bag.is_empty() {
            changes.fact(Fact::Used(key.0, key.1, key.2));
        }
        if bag.add(id) {
            changes.fact(Fact::Referrers(key.0, key.1, key.2, from));
        }
    }

    fn leave_use(&mut self, (id, from): (EntityId, Kind), key: (FileId, Kind, Symbol), changes: &mut Changes) {
        let Some(bag) = self.uses.get_mut(&key) else { return };
        if bag.take(id) {
            changes.fact(Fact::Referrers(key.0, key.1, key.2, from));
        }
        if bag.is_empty() {
            self.uses.remove(&key);
            changes.fact(Fact::Used(key.0, key.1, key.2));
        }
    }

    /// A file has lost its text, or got one.
    pub fn file_gap(&mut self, file: FileId, on: bool, changes: &mut Changes) {
        self.opaque_gap(file, on, changes);
    }

    fn opaque_gap(&mut self, file: FileId, on: bool, changes: &mut Changes) {
        let count = self.opaque.entry(file).or_insert(0);
        let before = *count > 0;
        *count = if on { *count + 1 } else { count.saturating_sub(1) };
        if before != (*count > 0) {
            for kind in NAMED {
                changes.fact(Fact::NameGap(file, kind));
                changes.fact(Fact::UseGap(file, kind));
            }
        }
    }

    pub fn name_tick(&self, file: FileId, kind: Kind) -> u64 {
        self.name_ticks.get(&(file, kind)).copied().unwrap_or_default()
    }

    pub fn named(&self, file: FileId, kind: Kind, name: Symbol) -> &[EntityId] {
        self.names.get(&(file, kind, name)).map_or(&[], |held| held)
    }

    pub fn referring(&self, file: FileId, kind: Kind, name: Symbol) -> Option<&Bag> {
        self.uses.get(&(file, kind, name))
    }

    pub fn used(&self, file: FileId, kind: Kind, name: Symbol) -> bool {
        self.uses.contains_key(&(file, kind, name))
    }

    pub fn name_gap(&self, file: FileId, kind: Kind) -> bool {
        self.is_opaque(file) || self.name_gaps.get(&(file, kind)).is_some_and(|count| *count > 0)
    }

    pub fn use_gap(&self, file: FileId, kind: Kind) -> bool {
        self.is_opaque(file) || self.use_gaps.get(&(file, kind)).is_some_and(|count| *count > 0)
    }

    pub fn count(&self, file: FileId, kind: Kind) -> usize {
        self.members(file, kind).map_or(0, Bag::len)
    }

    /// The entities of a kind in a file.
    pub fn members(&self, file: FileId, kind: Kind) -> Option<&Bag> {
        self.members.get(&(file, kind))
    }

    fn is_opaque(&self, file: FileId) -> bool {
        self.opaque.get(&file).is_some_and(|count| *count > 0)
    }
}

/// What an entity refers to, as often as it does, sorted so that two can be compared.
fn uses_of(entity: &Entity, symbols: &Symbols) -> SmallVec<[(Kind, Symbol); 8]> {
    let mut uses: SmallVec<[(Kind, Symbol); 8]> = SmallVec::new();
    entity.record.references(symbols, &mut |reference| {
        uses.extend(reference.kinds.iter().map(|kind| (*kind, reference.name)));
    });
    uses.sort_unstable_by_key(|(kind, name)| (*kind, name.number()));
    uses
}

fn use_gaps_of(entity: &Entity) -> Vec<Kind> {
    let mut gaps = Vec::new();
    entity.use_gaps(&mut gaps);
    gaps
}

fn step(counts: &mut FxHashMap<(FileId, Kind), u32>, key: (FileId, Kind), up: bool, fact: Fact, changes: &mut Changes) {
    let count = counts.entry(key).or_insert(0);
    let before = *count > 0;
    *count = if up { *count + 1 } else { count.saturating_sub(1) };
    if before != (*count > 0) {
        changes.fact(fact);
    }
}
