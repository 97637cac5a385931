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

/// The indexes of every file, by its number: most questions are about one file after another, and its tables are small.
#[derive(Debug, Default)]
pub(crate) struct Index {
    files: Vec<OfFile>,
}

/// The indexes over the entities of one file.
#[derive(Debug, Default)]
struct OfFile {
    names: FxHashMap<(Kind, Symbol), SmallVec<[EntityId; 1]>>,
    /// How often a name of a kind came or went.
    name_ticks: FxHashMap<Kind, u64>,
    uses: FxHashMap<(Kind, Symbol), Bag>,
    /// The entities of each kind.
    members: FxHashMap<Kind, Bag>,
    name_gaps: FxHashMap<Kind, u32>,
    use_gaps: FxHashMap<Kind, u32>,
    /// Things of which nothing at all is known: no text, tables without a readable header.
    opaque: u32,
}

impl Index {
    fn file(&self, file: FileId) -> Option<&OfFile> {
        self.files.get(file.0 as usize)
    }

    fn file_mut(&mut self, file: FileId) -> &mut OfFile {
        let number = file.0 as usize;
        if self.files.len() <= number {
            self.files.resize_with(number + 1, OfFile::default);
        }
        &mut self.files[number]
    }

    pub fn enter(&mut self, id: EntityId, entity: &Entity, symbols: &Symbols, changes: &mut Changes) {
        let file = entity.file;
        let held = self.file_mut(file);
        if let Some(name) = entity.name().value() {
            held.enter_name(id, (file, entity.kind, name), changes);
        }
        held.members.entry(entity.kind).or_default().add(id);
        changes.fact(Fact::Count(file, entity.kind));
        uses_of(entity, symbols)
            .iter()
            .for_each(|(kind, name)| held.enter_use((id, entity.kind), (file, *kind, *name), changes));
        held.gaps(entity, true, changes);
    }

    pub fn leave(&mut self, id: EntityId, entity: &Entity, symbols: &Symbols, changes: &mut Changes) {
        let file = entity.file;
        let held = self.file_mut(file);
        if let Some(name) = entity.name().value() {
            held.leave_name(id, (file, entity.kind, name), changes);
        }
        if let Some(members) = held.members.get_mut(&entity.kind) {
            members.take(id);
        }
        changes.fact(Fact::Count(file, entity.kind));
        uses_of(entity, symbols)
            .iter()
            .for_each(|(kind, name)| held.leave_use((id, entity.kind), (file, *kind, *name), changes));
        held.gaps(entity, false, changes);
    }

    /// What is written in an entity changed; only what differs is a fact that changed.
    pub fn update(&mut self, id: EntityId, old: &Entity, new: &Entity, symbols: &Symbols, changes: &mut Changes) {
        let file = new.file;
        let held = self.file_mut(file);
        let (before, after) = (old.name().value(), new.name().value());
        if before != after {
            if let Some(name) = before {
                held.leave_name(id, (file, old.kind, name), changes);
            }
            if let Some(name) = after {
                held.enter_name(id, (file, new.kind, name), changes);
            }
        }
        let (before, after) = (uses_of(old, symbols), uses_of(new, symbols));
        if before != after {
            // New ones first, so that a use which stays is never seen to end.
            after.iter().for_each(|(kind, name)| held.enter_use((id, new.kind), (file, *kind, *name), changes));
            before.iter().for_each(|(kind, name)| held.leave_use((id, new.kind), (file, *kind, *name), changes));
        }
        if old.name_gap() != new.name_gap() {
            step(&mut held.name_gaps, new.kind, new.name_gap(), Fact::NameGap(file, new.kind), changes);
        }
        let (before, after) = (use_gaps_of(old), use_gaps_of(new));
        for kind in after.iter().filter(|kind| !before.contains(kind)) {
            step(&mut held.use_gaps, *kind, true, Fact::UseGap(file, *kind), changes);
        }
        for kind in before.iter().filter(|kind| !after.contains(kind)) {
            step(&mut held.use_gaps, *kind, false, Fact::UseGap(file, *kind), changes);
        }
    }

    /// A file has lost its text, or got one.
    pub fn file_gap(&mut self, file: FileId, on: bool, changes: &mut Changes) {
        self.file_mut(file).opaque_gap(file, on, changes);
    }

    pub fn name_tick(&self, file: FileId, kind: Kind) -> u64 {
        self.file(file).and_then(|held| held.name_ticks.get(&kind)).copied().unwrap_or_default()
    }

    pub fn named(&self, file: FileId, kind: Kind, name: Symbol) -> &[EntityId] {
        self.file(file).and_then(|held| held.names.get(&(kind, name))).map_or(&[], |held| held)
    }

    pub fn referring(&self, file: FileId, kind: Kind, name: Symbol) -> Option<&Bag> {
        self.file(file)?.uses.get(&(kind, name))
    }

    pub fn used(&self, file: FileId, kind: Kind, name: Symbol) -> bool {
        self.file(file).is_some_and(|held| held.uses.contains_key(&(kind, name)))
    }

    pub fn name_gap(&self, file: FileId, kind: Kind) -> bool {
        self.file(file).is_some_and(|held| held.opaque > 0 || is_over(&held.name_gaps, kind))
    }

    pub fn use_gap(&self, file: FileId, kind: Kind) -> bool {
        self.file(file).is_some_and(|held| held.opaque > 0 || is_over(&held.use_gaps, kind))
    }

    pub fn count(&self, file: FileId, kind: Kind) -> usize {
        self.members(file, kind).map_or(0, Bag::len)
    }

    /// The entities of a kind in a file.
    pub fn members(&self, file: FileId, kind: Kind) -> Option<&Bag> {
        self.file(file)?.members.get(&kind)
    }
}

impl OfFile {
    fn gaps(&mut self, entity: &Entity, up: bool, changes: &mut Changes) {
        let file = entity.file;
        if entity.is_opaque() {
            self.opaque_gap(file, up, changes);
        }
        if entity.name_gap() {
            step(&mut self.name_gaps, entity.kind, up, Fact::NameGap(file, entity.kind), changes);
        }
        for kind in use_gaps_of(entity) {
            step(&mut self.use_gaps, kind, up, Fact::UseGap(file, kind), changes);
        }
    }

    fn enter_name(&mut self, id: EntityId, (file, kind, name): (FileId, Kind, Symbol), changes: &mut Changes) {
        self.names.entry((kind, name)).or_default().push(id);
        *self.name_ticks.entry(kind).or_default() += 1;
        changes.fact(Fact::Name(file, kind, name));
    }

    fn leave_name(&mut self, id: EntityId, (file, kind, name): (FileId, Kind, Symbol), changes: &mut Changes) {
        *self.name_ticks.entry(kind).or_default() += 1;
        if let Some(held) = self.names.get_mut(&(kind, name)) {
            held.retain(|other| *other != id);
            if held.is_empty() {
                self.names.remove(&(kind, name));
            }
        }
        changes.fact(Fact::Name(file, kind, name));
    }

    fn enter_use(
        &mut self,
        (id, from): (EntityId, Kind),
        (file, kind, name): (FileId, Kind, Symbol),
        changes: &mut Changes,
    ) {
        let bag = self.uses.entry((kind, name)).or_default();
        if bag.is_empty() {
            changes.fact(Fact::Used(file, kind, name));
        }
        if bag.add(id) {
            changes.fact(Fact::Referrers(file, kind, name, from));
        }
    }

    fn leave_use(
        &mut self,
        (id, from): (EntityId, Kind),
        (file, kind, name): (FileId, Kind, Symbol),
        changes: &mut Changes,
    ) {
        let Some(bag) = self.uses.get_mut(&(kind, name)) else { return };
        if bag.take(id) {
            changes.fact(Fact::Referrers(file, kind, name, from));
        }
        if bag.is_empty() {
            self.uses.remove(&(kind, name));
            changes.fact(Fact::Used(file, kind, name));
        }
    }

    fn opaque_gap(&mut self, file: FileId, on: bool, changes: &mut Changes) {
        let before = self.opaque > 0;
        self.opaque = if on { self.opaque + 1 } else { self.opaque.saturating_sub(1) };
        if before != (self.opaque > 0) {
            for kind in NAMED {
                changes.fact(Fact::NameGap(file, kind));
                changes.fact(Fact::UseGap(file, kind));
            }
        }
    }
}

fn is_over(counts: &FxHashMap<Kind, u32>, kind: Kind) -> bool {
    counts.get(&kind).is_some_and(|count| *count > 0)
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

fn step(counts: &mut FxHashMap<Kind, u32>, key: Kind, up: bool, fact: Fact, changes: &mut Changes) {
    let count = counts.entry(key).or_insert(0);
    let before = *count > 0;
    *count = if up { *count + 1 } else { count.saturating_sub(1) };
    if before != (*count > 0) {
        changes.fact(fact);
    }
}
