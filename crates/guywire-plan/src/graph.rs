//! Which computation read what. Hand-kept: a computation is a node; a fact knows the nodes that read it.

use std::collections::hash_map::Entry;

use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use crate::entity::EntityId;
use crate::fact::{Bucket, Changes, Fact, Read, Reads, What};
use crate::language::FieldSet;
use crate::print::Print;

/// A computation: a derived value or the findings of an entity, as a plan sees it; or the findings of a file's text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct NodeKey {
    /// What is computed.
    pub what: What,
    /// The file through which it is seen.
    pub viewer: FileId,
    /// The entity; none for the text of the file itself.
    pub entity: Option<EntityId>,
}

/// A node's number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeId(pub u32);

/// Which quarters of a computation: a cell's rules are judged in four quarters, each out of date by itself; a derived
/// value is computed in the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Quarters(u8);

impl Quarters {
    /// How many there are.
    pub const COUNT: usize = 4;
    /// None.
    pub const NONE: Quarters = Quarters(0);
    /// All.
    pub const ALL: Quarters = Quarters((1 << Quarters::COUNT) - 1);
    /// The first.
    pub const FIRST: Quarters = Quarters(1);

    /// One, by its number below [`Quarters::COUNT`].
    pub const fn of(number: usize) -> Quarters {
        Quarters(1 << (number % Quarters::COUNT))
    }

    /// Both.
    pub const fn and(self, other: Quarters) -> Quarters {
        Quarters(self.0 | other.0)
    }

    /// These without others.
    pub const fn without(self, other: Quarters) -> Quarters {
        Quarters(self.0 & !other.0)
    }

    /// Whether one is among these.
    pub const fn has(self, number: usize) -> bool {
        self.0 & (1 << number) != 0
    }

    /// The numbers of these, in order.
    pub fn numbers(self) -> impl Iterator<Item = usize> {
        (0..Quarters::COUNT).filter(move |number| self.has(*number))
    }
}

/// A number below 2^28, and the quarters that it is about, in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct Tagged(u32);

impl Tagged {
    const fn new(number: u32, quarters: Quarters) -> Tagged {
        Tagged((number << Quarters::COUNT) | quarters.0 as u32)
    }

    const fn number(self) -> u32 {
        self.0 >> Quarters::COUNT
    }

    const fn quarters(self) -> Quarters {
        Quarters(self.0 as u8 & Quarters::ALL.0)
    }

    const fn fact(self) -> FactId {
        FactId(self.number())
    }

    const fn node(self) -> NodeId {
        NodeId(self.number())
    }
}

/// What a node read, by number: one list for entities, with the keys of each that a quarter read, one for all other facts.
/// Sorted.
#[derive(Debug, Default)]
struct Kept {
    /// The prints of what the quarters read.
    prints: [Option<Print>; Quarters::COUNT],
    own: [FieldSet; Quarters::COUNT],
    entities: Box<[(Tagged, FieldSet)]>,
    others: Box<[Tagged]>,
}

/// The number of a fact that some node read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct FactId(u32);

#[derive(Debug)]
struct Node {
    key: NodeKey,
    /// The file that holds what it is about.
    file: FileId,
    live: bool,
    dirty: Quarters,
    /// None where nothing was noted.
    reads: Option<Box<Kept>>,
}

/// More readers than this are kept by hash.
const FEW: usize = 24;

/// The nodes that read a fact; of an entity, which keys.
#[derive(Debug)]
enum Readers {
    Few(SmallVec<[Tagged; 4]>),
    Many(FxHashSet<Tagged>),
    KeyedFew(SmallVec<[(Tagged, FieldSet); 1]>),
    KeyedMany(FxHashSet<(Tagged, FieldSet)>),
}

impl Readers {
    fn of(fact: &Fact) -> Readers {
        match fact {
            Fact::Entity(_) => Readers::KeyedFew(SmallVec::new()),
            _ => Readers::Few(SmallVec::new()),
        }
    }

    fn add(&mut self, node: Tagged, keys: FieldSet) {
        match self {
            Readers::Few(few) if few.len() >= FEW => {
                let mut many: FxHashSet<_> = few.drain(..).collect();
                many.insert(node);
                *self = Readers::Many(many);
            }
            Readers::Few(few) => few.push(node),
            Readers::Many(many) => {
                many.insert(node);
            }
            Readers::KeyedFew(few) if few.len() >= FEW => {
                let mut many: FxHashSet<_> = few.drain(..).collect();
                many.insert((node, keys));
                *self = Readers::KeyedMany(many);
            }
            Readers::KeyedFew(few) => few.push((node, keys)),
            Readers::KeyedMany(many) => {
                many.insert((node, keys));
            }
        }
    }

    fn take(&mut self, node: Tagged, keys: FieldSet) {
        match self {
            Readers::Few(few) => {
                if let Some(at) = few.iter().position(|held| *held == node) {
                    few.swap_remove(at);
                }
            }
            Readers::Many(many) => {
                many.remove(&node);
            }
            Readers::KeyedFew(few) => {
                if let Some(at) = few.iter().position(|held| *held == (node, keys)) {
                    few.swap_remove(at);
                }
            }
            Readers::KeyedMany(many) => {
                many.remove(&(node, keys));
            }
        }
    }

    fn is_empty(&self) -> bool {
        match self {
            Readers::Few(few) => few.is_empty(),
            Readers::Many(many) => many.is_empty(),
            Readers::KeyedFew(few) => few.is_empty(),
            Readers::KeyedMany(many) => many.is_empty(),
        }
    }

    /// The nodes that read any of these keys.
    fn meeting(&self, keys: FieldSet, found: &mut SmallVec<[Tagged; 8]>) {
        let meets = |(node, held): &(Tagged, FieldSet)| held.meets(keys).then_some(*node);
        match self {
            Readers::Few(few) => found.extend(few.iter().copied()),
            Readers::Many(many) => found.extend(many.iter().copied()),
            Readers::KeyedFew(few) => found.extend(few.iter().filter_map(meets)),
            Readers::KeyedMany(many) => found.extend(many.iter().filter_map(meets)),
        }
    }
}

/// The facts that nodes read, by number, each with its readers.
#[derive(Debug, Default)]
struct Facts {
    numbers: FxHashMap<Fact, FactId>,
    held: Vec<(Fact, Readers)>,
    free: Vec<FactId>,
}

impl Facts {
    fn number(&mut self, fact: Fact) -> FactId {
        if let Some(number) = self.numbers.get(&fact) {
            return *number;
        }
        let entry = (fact, Readers::of(&fact));
        let number = match self.free.pop() {
            Some(number) => {
                self.held[number.0 as usize] = entry;
                number
            }
            None => {
                self.held.push(entry);
                FactId((self.held.len() - 1) as u32)
            }
        };
        self.numbers.insert(fact, number);
        number
    }

    fn fact(&self, number: FactId) -> Fact {
        self.held[number.0 as usize].0
    }

    fn readers(&self, fact: &Fact) -> Option<&Readers> {
        self.numbers.get(fact).map(|number| &self.held[number.0 as usize].1)
    }

    /// A node reads a fact in some quarters.
    fn add(&mut self, read: Tagged, node: NodeId, keys: FieldSet) {
        self.held[read.number() as usize].1.add(Tagged::new(node.0, read.quarters()), keys);
    }

    /// A node reads a fact in some quarters no more.
    fn take(&mut self, read: Tagged, node: NodeId, keys: FieldSet) {
        self.held[read.number() as usize].1.take(Tagged::new(node.0, read.quarters()), keys);
    }

    /// A fact that nobody reads is forgotten.
    fn drop_unread(&mut self, number: FactId) {
        let (fact, readers) = &self.held[number.0 as usize];
        if readers.is_empty() && self.numbers.get(fact) == Some(&number) {
            self.numbers.remove(fact);
            self.free.push(number);
        }
    }
}

/// Adds the quarters of one to those of another, where both are about the same.
fn join(held: &mut Tagged, next: Tagged) -> bool {
    let is_same = held.number() == next.number();
    if is_same {
        *held = Tagged::new(held.number(), held.quarters().and(next.quarters()));
    }
    is_same
}

/// The order of what is read of entities.
fn by_entity((read, keys): &(Tagged, FieldSet)) -> (u32, FieldSet, Quarters) {
    (read.number(), *keys, read.quarters())
}

/// Calls `gone` for what is in the first list only, and `fresh` for what is in the second only; both are in the order of
/// `by`.
fn compare<T: PartialEq + Copy, K: Ord>(
    old: &[T],
    new: &[T],
    by: impl Fn(&T) -> K,
    mut gone: impl FnMut(T),
    mut fresh: impl FnMut(T),
) {
    let (mut a, mut b) = (old.iter().peekable(), new.iter().peekable());
    loop {
        match (a.peek(), b.peek()) {
            (None, None) => return,
            (Some(x), Some(y)) if x == y => {
                a.next();
                b.next();
            }
            (Some(x), y) if y.is_none_or(|y| by(x) < by(y)) => {
                gone(**x);
                a.next();
            }
            (_, Some(y)) => {
                fresh(**y);
                b.next();
            }
            (Some(_), None) => unreachable!("the case before takes what is left of the first list"),
        }
    }
}

/// Every computation, what it read, and which are out of date.
#[derive(Debug, Default)]
pub struct Graph {
    nodes: Vec<Node>,
    free: Vec<NodeId>,
    /// The nodes about an entity, by the entity's slot.
    of_entity: Vec<SmallVec<[NodeId; 4]>>,
    of_file: FxHashMap<FileId, NodeId>,
    facts: Facts,
    dirty: [Vec<NodeId>; What::DERIVED.len() + 1],
    /// How many cells about something in a file are out of date, where any is.
    unsettled: FxHashMap<FileId, u32>,
    /// How often a node went out of date.
    marks: u64,
    /// Some node was handed out to be computed.
    is_begun: bool,
    /// For tests of the engine: a kind of fact that is forgotten.
    forget: Option<fn(&Fact) -> bool>,
}

impl Graph {
    /// For tests of the engine alone: readers of the facts that `forget` names are not remembered.
    #[doc(hidden)]
    pub fn forgetting(forget: fn(&Fact) -> bool) -> Self {
        Graph { forget: Some(forget), ..Graph::default() }
    }

    /// Whether some node was handed out to be computed. Before, nothing was read.
    pub fn is_begun(&self) -> bool {
        self.is_begun
    }

    /// Makes room for so many more nodes about so many more entities.
    pub fn reserve(&mut self, nodes: usize, entities: usize) {
        self.nodes.reserve(nodes);
        self.of_entity.reserve(entities);
    }

    /// The key of a node.
    pub fn key(&self, node: NodeId) -> NodeKey {
        self.nodes[node.0 as usize].key
    }

    /// What a quarter of a node read when it was last computed, in no order.
    pub fn reads(&self, node: NodeId, quarter: usize) -> Reads {
        let Some(kept) = &self.nodes[node.0 as usize].reads else { return Reads::default() };
        let in_quarter = |read: Tagged, keys: FieldSet| {
            read.quarters().has(quarter).then(|| Read { fact: self.facts.fact(read.fact()), keys })
        };
        let entities = kept.entities.iter().filter_map(|(read, keys)| in_quarter(*read, *keys));
        let others = kept.others.iter().filter_map(|read| in_quarter(*read, FieldSet::ALL));
        Reads { own: kept.own[quarter], other: entities.chain(others).collect() }
    }

    /// The file that what a node is about stands in.
    pub fn file(&self, node: NodeId) -> FileId {
        self.nodes[node.0 as usize].file
    }

    /// Whether it is known what a node read.
    pub fn is_watched(&self, node: NodeId) -> bool {
        self.nodes[node.0 as usize].reads.is_some()
    }

    /// Whether a node is there.
    pub fn is_live(&self, node: NodeId) -> bool {
        self.nodes[node.0 as usize].live
    }

    /// Which quarters of a node are out of date.
    pub fn dirty(&self, node: NodeId) -> Quarters {
        self.nodes[node.0 as usize].dirty
    }

    /// The node of a key.
    pub fn find(&self, key: NodeKey) -> Option<NodeId> {
        match key.entity {
            Some(entity) => self.nodes_of(entity).iter().copied().find(|node| self.key(*node) == key),
            None => self.of_file.get(&key.viewer).copied(),
        }
    }

    /// The nodes about an entity.
    pub fn nodes_of(&self, entity: EntityId) -> &[NodeId] {
        self.of_entity.get(entity.slot as usize).map_or(&[], |nodes| nodes)
    }

    /// Adds a node about something in a file, out of date; nothing where it is there already.
    pub fn add(&mut self, key: NodeKey, file: FileId) -> NodeId {
        self.find(key).unwrap_or_else(|| self.push(key, file))
    }

    /// Adds a node that is not there yet, out of date.
    pub fn push(&mut self, key: NodeKey, file: FileId) -> NodeId {
        let node = Node { key, file, live: true, dirty: Quarters::NONE, reads: None };
        let id = match self.free.pop() {
            Some(id) => {
                self.nodes[id.0 as usize] = node;
                id
            }
            None => {
                self.nodes.push(node);
                NodeId((self.nodes.len() - 1) as u32)
            }
        };
        match key.entity {
            Some(entity) => {
                let slot = entity.slot as usize;
                if self.of_entity.len() <= slot {
                    self.of_entity.resize_with(slot + 1, SmallVec::new);
                }
                self.of_entity[slot].push(id);
            }
            None => {
                self.of_file.insert(key.viewer, id);
            }
        }
        self.mark(id);
        id
    }

    /// Takes a node out.
    pub fn remove(&mut self, node: NodeId) {
        let key = self.key(node);
        match key.entity {
            Some(entity) => self.of_entity[entity.slot as usize].retain(|held| *held != node),
            None => {
                self.of_file.remove(&key.viewer);
            }
        }
        let reads = self.nodes[node.0 as usize].reads.take().unwrap_or_default();
        for (read, keys) in &reads.entities {
            self.facts.take(*read, node, *keys);
            self.facts.drop_unread(read.fact());
        }
        for read in &reads.others {
            self.facts.take(*read, node, FieldSet::ALL);
            self.facts.drop_unread(read.fact());
        }
        let held = &mut self.nodes[node.0 as usize];
        held.live = false;
        if held.dirty == Quarters::NONE {
            self.free.push(node);
        }
        // A dirty node's number is freed when the queue that holds it is drained.
    }

    /// Whether a quarter of a node read the same, in the same order, when it was last computed.
    pub fn has_read(&self, node: NodeId, quarter: usize, print: Print) -> bool {
        let kept = self.nodes[node.0 as usize].reads.as_ref();
        kept.is_some_and(|kept| kept.prints[quarter] == Some(print))
    }

    /// Says what quarters of a node read now, with the print of it. What the others read stays.
    pub fn set_reads(&mut self, node: NodeId, reads: &[(usize, Print, Reads)]) {
        let mut kept = self.nodes[node.0 as usize].reads.take().unwrap_or_default();
        let old = std::mem::take(&mut *kept);
        let now = reads.iter().fold(Quarters::NONE, |now, (quarter, ..)| now.and(Quarters::of(*quarter)));
        let rest = |read: Tagged| Tagged::new(read.number(), read.quarters().without(now));
        let mut own = old.own;
        let mut entities: Vec<(Tagged, FieldSet)> =
            old.entities.iter().map(|(read, keys)| (rest(*read), *keys)).collect();
        let mut others: Vec<Tagged> = old.others.iter().map(|read| rest(*read)).collect();
        let mut prints = old.prints;
        for (quarter, print, reads) in reads {
            prints[*quarter] = Some(*print);
            own[*quarter] = reads.own;
            for read in reads.other.iter().filter(|read| !self.forget.is_some_and(|forget| forget(&read.fact))) {
                let tagged = Tagged::new(self.facts.number(read.fact).0, Quarters::of(*quarter));
                match read.fact {
                    Fact::Entity(_) => entities.push((tagged, read.keys)),
                    _ => others.push(tagged),
                }
            }
        }
        entities.sort_unstable_by_key(|(read, keys)| (read.number(), *keys));
        entities.dedup_by(|next, held| held.1 == next.1 && join(&mut held.0, next.0));
        entities.retain(|(read, _)| read.quarters() != Quarters::NONE);
        others.sort_unstable_by_key(|read| read.number());
        others.dedup_by(|next, held| join(held, *next));
        others.retain(|read| read.quarters() != Quarters::NONE);
        self.tell_readers(node, &old, &entities, &others);
        *kept = Kept { prints, own, entities: entities.into(), others: others.into() };
        self.nodes[node.0 as usize].reads = Some(kept);
    }

    /// Tells the facts who reads them, where a node reads others than before.
    fn tell_readers(&mut self, node: NodeId, old: &Kept, entities: &[(Tagged, FieldSet)], others: &[Tagged]) {
        let mut gone: SmallVec<[(Tagged, FieldSet); 8]> = SmallVec::new();
        let mut fresh: SmallVec<[(Tagged, FieldSet); 8]> = SmallVec::new();
        compare(&old.entities, entities, by_entity, |read| gone.push(read), |read| fresh.push(read));
        let all = |read| (read, FieldSet::ALL);
        compare(&old.others, others, |read| *read, |read| gone.push(all(read)), |read| fresh.push(all(read)));
        // A node that reads a fact otherwise than before leaves its readers before it joins them again.
        gone.iter().for_each(|(read, keys)| self.facts.take(*read, node, *keys));
        fresh.iter().for_each(|(read, keys)| self.facts.add(*read, node, *keys));
        gone.iter().for_each(|(read, _)| self.facts.drop_unread(read.fact()));
    }

    /// Marks a node out of date.
    pub fn mark(&mut self, node: NodeId) {
        self.mark_some(node, Quarters::ALL);
    }

    /// Marks some quarters of a node out of date.
    pub fn mark_some(&mut self, node: NodeId, quarters: Quarters) {
        let held = &mut self.nodes[node.0 as usize];
        if !held.live || quarters == Quarters::NONE {
            return;
        }
        let is_first = held.dirty == Quarters::NONE;
        held.dirty = held.dirty.and(quarters);
        if is_first {
            self.marks += 1;
            if held.key.what == What::Cell {
                *self.unsettled.entry(held.file).or_default() += 1;
            }
            self.dirty[held.key.what as usize].push(node);
        }
    }

    /// Marks every node that read one of the facts.
    pub fn invalidate(&mut self, changes: &Changes) {
        if !self.is_begun {
            return;
        }
        for read in &changes.facts {
            self.invalidate_one(read);
        }
    }

    fn invalidate_one(&mut self, changed: &Read) {
        let mut marked: SmallVec<[Tagged; 8]> = SmallVec::new();
        if let Fact::Entity(entity) = changed.fact {
            let forgotten = self.forget.is_some_and(|forget| forget(&changed.fact));
            let own = self.nodes_of(entity).iter().filter(|node| !forgotten && self.key(**node).entity == Some(entity));
            marked.extend(own.map(|node| Tagged::new(node.0, self.own_quarters(*node, changed.keys))));
        }
        if let Some(readers) = self.facts.readers(&changed.fact) {
            readers.meeting(changed.keys, &mut marked);
        }
        marked.into_iter().for_each(|reader| self.mark_some(reader.node(), reader.quarters()));
    }

    /// The quarters of a node that read any of these keys of its own entity.
    fn own_quarters(&self, node: NodeId, keys: FieldSet) -> Quarters {
        let own = self.nodes[node.0 as usize].reads.as_ref().map(|kept| kept.own).unwrap_or_default();
        let reading = Quarters::ALL.numbers().filter(|quarter| own[*quarter].meets(keys));
        reading.fold(Quarters::NONE, |reading, quarter| reading.and(Quarters::of(quarter)))
    }

    /// Marks who read a computed value.
    pub fn invalidate_derived(&mut self, key: NodeKey) {
        if let Some(entity) = key.entity {
            let fact = Fact::Derived(key.what, key.viewer, entity);
            self.invalidate_one(&Read { fact, keys: FieldSet::ALL });
        }
    }

    /// Marks who read a bucket that now holds one more or less; `before` and `after` are how many it held and holds.
    pub fn invalidate_bucket(&mut self, bucket: Bucket, before: usize, after: usize) {
        self.invalidate_one(&Read { fact: bucket.fact(), keys: FieldSet::ALL });
        if (before > Bucket::FEW) != (after > Bucket::FEW) {
            self.invalidate_one(&Read { fact: bucket.crowd(), keys: FieldSet::ALL });
        }
        if (before == 0) != (after == 0) {
            self.invalidate_one(&Read { fact: bucket.any(), keys: FieldSet::ALL });
        }
    }

    /// Takes the out-of-date nodes of a kind, at most `most`, with the quarters that are; they count as up to date from now
    /// on.
    pub fn drain(&mut self, what: What, most: usize) -> Vec<(NodeId, Quarters)> {
        self.is_begun = true;
        let queue = &mut self.dirty[what as usize];
        let from = queue.len().saturating_sub(most);
        let mut taken: Vec<(NodeId, Quarters)> =
            queue.split_off(from).into_iter().map(|node| (node, Quarters::NONE)).collect();
        taken.retain_mut(|(node, quarters)| {
            let held = &mut self.nodes[node.0 as usize];
            *quarters = std::mem::replace(&mut held.dirty, Quarters::NONE);
            if what == What::Cell
                && let Entry::Occupied(mut count) = self.unsettled.entry(held.file)
            {
                *count.get_mut() -= 1;
                if *count.get() == 0 {
                    count.remove();
                }
            }
            if !held.live {
                self.free.push(*node);
            }
            held.live
        });
        taken
    }

    /// Puts the out-of-date nodes about something in files for which `first` holds where they are drained first.
    pub fn put_first(&mut self, what: What, first: impl Fn(FileId) -> bool) {
        let queue = std::mem::take(&mut self.dirty[what as usize]);
        let (first, rest): (Vec<_>, Vec<_>) =
            queue.into_iter().partition(|node| first(self.nodes[node.0 as usize].file));
        self.dirty[what as usize] = rest;
        self.dirty[what as usize].extend(first);
    }

    /// How many nodes of a kind are out of date (a few of them may be gone).
    pub fn dirty_count(&self, what: What) -> usize {
        self.dirty[what as usize].len()
    }

    /// How often a node went out of date: the order of the queues stands as long as none does.
    pub fn marks(&self) -> u64 {
        self.marks
    }

    /// Whether a cell about something in a file is out of date.
    pub fn is_unsettled(&self, file: FileId) -> bool {
        self.unsettled.contains_key(&file)
    }

    /// Every node of a kind.
    pub fn nodes(&self, what: What) -> impl Iterator<Item = NodeId> + '_ {
        (0..self.nodes.len() as u32)
            .map(NodeId)
            .filter(move |node| self.nodes[node.0 as usize].live && self.key(*node).what == what)
    }
}
