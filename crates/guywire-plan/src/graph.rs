//! Which computation read what. Hand-kept: a computation is a node; a fact knows the nodes that read it.

use guywire_text::FileId;
use rustc_hash::FxHashMap;
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

#[derive(Debug)]
struct Node {
    key: NodeKey,
    live: bool,
    dirty: bool,
    reads: Reads,
}

/// The nodes that read a fact; for entities, which keys.
#[derive(Debug)]
enum Readers {
    Few(SmallVec<[(NodeId, FieldSet); 2]>),
    Many(FxHashMap<NodeId, FieldSet>),
}

const FEW: usize = 24;

impl Readers {
    fn add(&mut self, node: NodeId, keys: FieldSet) {
        match self {
            Readers::Few(few) if few.len() >= FEW => {
                let mut many: FxHashMap<_, _> = few.drain(..).collect();
                many.insert(node, keys);
                *self = Readers::Many(many);
            }
            Readers::Few(few) => few.push((node, keys)),
            Readers::Many(many) => {
                many.insert(node, keys);
            }
        }
    }
    fn take(&mut self, node: NodeId) {
        match self {
            Readers::Few(few) => {
                if let Some(at) = few.iter().position(|(held, _)| *held == node) {
                    few.swap_remove(at);
                }
            }
            Readers::Many(many) => {
                many.remove(&node);
            }
        }
    }
    fn is_empty(&self) -> bool {
        match self {
            Readers::Few(few) => few.is_empty(),
            Readers::Many(many) => many.is_empty(),
        }
    }
}

/// The reads of one list that are not in another.
fn without<'r>(these: &'r [Read], those: &[Read]) -> Vec<&'r Read> {
    if these.len() * those.len() <= 1_024 {
        return these.iter().filter(|read| !those.contains(read)).collect();
    }
    let known: FxHashMap<Fact, FieldSet> = those.iter().map(|read| (read.fact, read.keys)).collect();
    these.iter().filter(|read| known.get(&read.fact) != Some(&read.keys)).collect()
}

/// Every computation, what it read, and which are out of date.
#[derive(Debug, Default)]
pub struct Graph {
    nodes: Vec<Node>,
    free: Vec<NodeId>,
    /// The nodes about an entity, by the entity's slot.
    of_entity: Vec<SmallVec<[NodeId; 2]>>,
    of_file: FxHashMap<FileId, NodeId>,
    readers: FxHashMap<Fact, Readers>,
    dirty: [Vec<NodeId>; What::DERIVED.len() + 1],
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

    /// What a node read when it was last computed.
    pub fn reads(&self, node: NodeId) -> &Reads {
        &self.nodes[node.0 as usize].reads
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

    /// Adds a node, out of date; nothing where it is there already.
    pub fn add(&mut self, key: NodeKey) -> NodeId {
        if let Some(node) = self.find(key) {
            return node;
        }
        let node = Node { key, live: true, dirty: false, reads: Reads::default() };
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
        reads.other.iter().for_each(|read| self.unread(node, &read.fact));
        let held = &mut self.nodes[node.0 as usize];
        held.live = false;
        if !held.dirty {
            self.free.push(node);
        }
        // A dirty node's number is freed when the queue that holds it is drained.
    }

    fn unread(&mut self, node: NodeId, fact: &Fact) {
        if let Some(readers) = self.readers.get_mut(fact) {
            readers.take(node);
            if readers.is_empty() {
                self.readers.remove(fact);
            }
        }
    }

    /// Says what a node read now.
    pub fn set_reads(&mut self, node: NodeId, reads: Reads) {
        let old = std::mem::take(&mut self.nodes[node.0 as usize].reads);
        if old.other != reads.other {
            for read in without(&old.other, &reads.other) {
                self.unread(node, &read.fact);
            }
            for read in without(&reads.other, &old.other) {
                if !self.forget.is_some_and(|forget| forget(&read.fact)) {
                    self.readers.entry(read.fact).or_insert_with(|| Readers::Few(SmallVec::new())).add(node, read.keys);
                }
            }
        }
        self.nodes[node.0 as usize].reads = reads;
    }

    /// Marks a node out of date.
    pub fn mark(&mut self, node: NodeId) {
        let held = &mut self.nodes[node.0 as usize];
        if !held.dirty && held.live {
            held.dirty = true;
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
                    .filter(|node| self.reads(*node).own.meets(changed.keys)),
            );
        }
        match self.readers.get(&changed.fact) {
            Some(Readers::Few(few)) => {
                marked.extend(few.iter().filter(|(_, keys)| keys.meets(changed.keys)).map(|(node, _)| *node));
            }
            Some(Readers::Many(many)) => {
                marked.extend(many.iter().filter(|(_, keys)| keys.meets(changed.keys)).map(|(node, _)| *node));
            }
            None => {}
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

    /// Marks who read a bucket.
    pub fn invalidate_bucket(&mut self, bucket: Bucket) {
        self.invalidate_one(&Read { fact: Fact::Bucket(bucket), keys: FieldSet::ALL });
    }

    /// Takes the out-of-date nodes of a kind, at most `most`; they count as up to date from now on.
    pub fn drain(&mut self, what: What, most: usize) -> Vec<NodeId> {
        let queue = &mut self.dirty[what as usize];
        let from = queue.len().saturating_sub(most);
        let mut taken = queue.split_off(from);
        taken.retain(|node| {
            let held = &mut self.nodes[node.0 as usize];
            held.dirty = false;
            if !held.live {
                self.free.push(*node);
            }
            held.live
        });
        taken
    }

    /// Puts the out-of-date nodes for which `first` holds where they are drained first.
    pub fn put_last(&mut self, what: What, first: impl Fn(NodeKey) -> bool) {
        let queue = std::mem::take(&mut self.dirty[what as usize]);
        let (first, rest): (Vec<_>, Vec<_>) = queue.into_iter().partition(|node| first(self.key(*node)));
        self.dirty[what as usize] = rest;
        self.dirty[what as usize].extend(first);
    }

    /// How many nodes of a kind are out of date (a few of them may be gone).
    pub fn dirty_count(&self, what: What) -> usize {
        self.dirty[what as usize].len()
    }

    /// The out-of-date nodes of a kind.
    pub fn dirty(&self, what: What) -> impl Iterator<Item = NodeId> + '_ {
        self.dirty[what as usize].iter().copied().filter(|node| self.nodes[node.0 as usize].live)
    }

    /// Every node of a kind.
    pub fn nodes(&self, what: What) -> impl Iterator<Item = NodeId> + '_ {
        (0..self.nodes.len() as u32)
            .map(NodeId)
            .filter(move |node| self.nodes[node.0 as usize].live && self.key(*node).what == what)
    }
}
