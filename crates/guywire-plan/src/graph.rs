//! Which computation read what. Hand-kept: a computation is a node; a fact knows the nodes that read it.

use std::collections::hash_map::Entry;

use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use crate::entity::EntityId;
use crate::fact::{Bucket, Changes, Fact, Read, Reads, What};
use crate::language::FieldSet;

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

/// What a node read, by number: one list for entities, with the keys of each, one for all other facts. Sorted.
#[derive(Debug, Default)]
struct Kept {
    own: FieldSet,
    entities: Box<[(FactId, FieldSet)]>,
    others: Box<[FactId]>,
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
    dirty: bool,
    reads: Kept,
}

/// More readers than this are kept by hash.
const FEW: usize = 24;

/// The nodes that read a fact; of an entity, which keys.
#[derive(Debug)]
enum Readers {
    Few(SmallVec<[NodeId; 4]>),
    Many(FxHashSet<NodeId>),
    KeyedFew(SmallVec<[(NodeId, FieldSet); 1]>),
    KeyedMany(FxHashMap<NodeId, FieldSet>),
}

impl Readers {
    fn of(fact: &Fact) -> Readers {
        match fact {
            Fact::Entity(_) => Readers::KeyedFew(SmallVec::new()),
            _ => Readers::Few(SmallVec::new()),
        }
    }

    fn add(&mut self, node: NodeId, keys: FieldSet) {
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
                let mut many: FxHashMap<_, _> = few.drain(..).collect();
                many.insert(node, keys);
                *self = Readers::KeyedMany(many);
            }
            Readers::KeyedFew(few) => few.push((node, keys)),
            Readers::KeyedMany(many) => {
                many.insert(node, keys);
            }
        }
    }

    fn take(&mut self, node: NodeId) {
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
                if let Some(at) = few.iter().position(|(held, _)| *held == node) {
                    few.swap_remove(at);
                }
            }
            Readers::KeyedMany(many) => {
                many.remove(&node);
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
    fn meeting(&self, keys: FieldSet, found: &mut SmallVec<[NodeId; 8]>) {
        let meets = |(node, held): (&NodeId, &FieldSet)| held.meets(keys).then_some(*node);
        match self {
            Readers::Few(few) => found.extend(few.iter().copied()),
            Readers::Many(many) => found.extend(many.iter().copied()),
            Readers::KeyedFew(few) => found.extend(few.iter().filter_map(|(node, held)| meets((node, held)))),
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

    fn add(&mut self, number: FactId, node: NodeId, keys: FieldSet) {
        self.held[number.0 as usize].1.add(node, keys);
    }

    fn take(&mut self, number: FactId, node: NodeId) {
        self.held[number.0 as usize].1.take(node);
        self.drop_unread(number);
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

/// Calls `gone` for what is in the first sorted list only, and `new` for what is in the second only.
fn compare<T: Ord + Copy>(old: &[T], new: &[T], mut gone: impl FnMut(T), mut fresh: impl FnMut(T)) {
    let (mut a, mut b) = (old.iter().peekable(), new.iter().peekable());
    loop {
        match (a.peek(), b.peek()) {
            (None, None) => return,
            (Some(x), Some(y)) if x == y => {
                a.next();
                b.next();
            }
            (Some(x), y) if y.is_none_or(|y| *x < y) => {
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
    of_entity: Vec<SmallVec<[NodeId; 2]>>,
    of_file: FxHashMap<FileId, NodeId>,
    facts: Facts,
    dirty: [Vec<NodeId>; What::DERIVED.len() + 1],
    /// How many cells about something in a file are out of date, where any is.
    unsettled: FxHashMap<FileId, u32>,
    /// How often a node went out of date.
    marks: u64,
    /// For tests of the engine: a kind of fact that is forgotten.
    forget: Option<fn(&Fact) -> bool>,
}

impl Graph {
    /// For tests of the engine alone: readers of the facts that `forget` names are not remembered.
    #[doc(hidden)]
    pub fn forgetting(forget: fn(&Fact) -> bool) -> Self {
        Graph { forget: Some(forget), ..Graph::default() }
    }

    /// The key of a node.
    pub fn key(&self, node: NodeId) -> NodeKey {
        self.nodes[node.0 as usize].key
    }

    /// What a node read when it was last computed, in no order.
    pub fn reads(&self, node: NodeId) -> Reads {
        let kept = &self.nodes[node.0 as usize].reads;
        let entities = kept.entities.iter().map(|(number, keys)| Read { fact: self.facts.fact(*number), keys: *keys });
        let others = kept.others.iter().map(|number| Read { fact: self.facts.fact(*number), keys: FieldSet::ALL });
        Reads { own: kept.own, other: entities.chain(others).collect() }
    }

    /// Whether a node is there.
    pub fn is_live(&self, node: NodeId) -> bool {
        self.nodes[node.0 as usize].live
    }

    /// Whether a node is out of date.
    pub fn is_dirty(&self, node: NodeId) -> bool {
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
        if let Some(node) = self.find(key) {
            return node;
        }
        let node = Node { key, file, live: true, dirty: false, reads: Kept::default() };
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
        let reads = std::mem::take(&mut self.nodes[node.0 as usize].reads);
        reads.entities.iter().for_each(|(number, _)| self.facts.take(*number, node));
        reads.others.iter().for_each(|number| self.facts.take(*number, node));
        let held = &mut self.nodes[node.0 as usize];
        held.live = false;
        if !held.dirty {
            self.free.push(node);
        }
        // A dirty node's number is freed when the queue that holds it is drained.
    }

    /// Says what a node read now.
    pub fn set_reads(&mut self, node: NodeId, reads: Reads) {
        let mut entities: Vec<(FactId, FieldSet)> = Vec::new();
        let mut others: Vec<FactId> = Vec::with_capacity(reads.other.len());
        for read in reads.other.iter().filter(|read| !self.forget.is_some_and(|forget| forget(&read.fact))) {
            let number = self.facts.number(read.fact);
            match read.fact {
                Fact::Entity(_) => entities.push((number, read.keys)),
                _ => others.push(number),
            }
        }
        entities.sort_unstable_by_key(|(number, _)| *number);
        others.sort_unstable();
        let old = std::mem::take(&mut self.nodes[node.0 as usize].reads);
        let mut gone: Vec<(FactId, FieldSet)> = Vec::new();
        let mut fresh: Vec<(FactId, FieldSet)> = Vec::new();
        compare(&old.entities, &entities, |read| gone.push(read), |read| fresh.push(read));
        let all = |number| (number, FieldSet::ALL);
        compare(&old.others, &others, |number| gone.push(all(number)), |number| fresh.push(all(number)));
        // A node that reads other keys of an entity leaves its readers before it joins them again.
        gone.iter().for_each(|(number, _)| self.facts.held[number.0 as usize].1.take(node));
        fresh.iter().for_each(|(number, keys)| self.facts.add(*number, node, *keys));
        gone.iter().for_each(|(number, _)| self.facts.drop_unread(*number));
        self.nodes[node.0 as usize].reads = Kept { own: reads.own, entities: entities.into(), others: others.into() };
    }

    /// Marks a node out of date.
    pub fn mark(&mut self, node: NodeId) {
        let held = &mut self.nodes[node.0 as usize];
        if !held.dirty && held.live {
            held.dirty = true;
            self.marks += 1;
            if held.key.what == What::Cell {
                *self.unsettled.entry(held.file).or_default() += 1;
            }
            self.dirty[held.key.what as usize].push(node);
        }
    }

    /// Marks every node that read one of the facts.
    pub fn invalidate(&mut self, changes: &Changes) {
        for read in &changes.facts {
            self.invalidate_one(read);
        }
    }

    fn invalidate_one(&mut self, changed: &Read) {
        let mut marked: SmallVec<[NodeId; 8]> = SmallVec::new();
        if let Fact::Entity(entity) = changed.fact {
            let forgotten = self.forget.is_some_and(|forget| forget(&changed.fact));
            marked.extend(
                self.nodes_of(entity)
                    .iter()
                    .copied()
                    .filter(|node| !forgotten && self.key(*node).entity == Some(entity))
                    .filter(|node| self.nodes[node.0 as usize].reads.own.meets(changed.keys)),
            );
        }
        if let Some(readers) = self.facts.readers(&changed.fact) {
            readers.meeting(changed.keys, &mut marked);
        }
        marked.into_iter().for_each(|node| self.mark(node));
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

    /// Takes the out-of-date nodes of a kind, at most `most`; they count as up to date from now on.
    pub fn drain(&mut self, what: What, most: usize) -> Vec<NodeId> {
        let queue = &mut self.dirty[what as usize];
        let from = queue.len().saturating_sub(most);
        let mut taken = queue.split_off(from);
        taken.retain(|node| {
            let held = &mut self.nodes[node.0 as usize];
            held.dirty = false;
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
