//! The engine: which computations are out of date, and what the rules said. Rules read through the view, which records
//! what they read; an edit makes out of date only what read what it changed.

mod dispatch;
mod judge;
mod settle;

use guywire_plan::language::Kind;
use guywire_plan::{Changes, Db, EntityId, Graph, NodeId, NodeKey, Quarters, What, derived};
use guywire_rules::{ErasedRule, Finding, Level, RuleId};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use self::dispatch::Dispatch;
use self::settle::Paces;

/// Room for so many nodes is made for each table that comes.
const NODES_EACH: usize = 3;

/// Options of rules by number: what settings say, else the rule's default.
pub(crate) type Options = FxHashMap<(RuleId, &'static str), f64>;

/// What a cell found, and the files that its findings are in.
struct Kept {
    findings: Box<[Finding]>,
    files: Vec<FileId>,
}

/// Computations and what came of them.
pub(crate) struct Engine {
    pub db: Db,
    pub graph: Graph,
    pub dispatch: Dispatch,
    /// Rules, by number, that are off everywhere: they are not run.
    pub asleep: Vec<bool>,
    /// Options of rules by the file through which plans are seen.
    pub options: FxHashMap<FileId, Options>,
    cells: FxHashMap<NodeId, Kept>,
    /// Cells that found something in a file.
    by_file: FxHashMap<FileId, FxHashSet<NodeId>>,
    /// Counts every change of a text or a finding: what was shown before the last one may be out of date.
    pub ticks: u64,
    /// How often a node had gone out of date when the cells to be judged first were put first. A few that go out of date
    /// later are judged before them.
    ordered: Option<u64>,
    /// Values are computed for the first time, cells are: the first findings are wanted soon, and what was read for them is
    /// not wanted before a change.
    are_values_cold: bool,
    are_cells_cold: bool,
    /// Cells that were judged and not watched, to be judged again when there is time.
    later: Vec<NodeId>,
    /// Values that are to be computed again before, by the plan that sees them.
    later_values: FxHashMap<FileId, Vec<NodeId>>,
    paces: Paces,
    /// Something was computed and not watched: what it read is not known.
    unwatched: bool,
    /// Files whose findings may have changed.
    pub touched: FxHashSet<FileId>,
    /// The facts that were said to have changed.
    #[cfg(test)]
    pub heard: Vec<guywire_plan::Read>,
}

impl Engine {
    pub fn new(db: Db, graph: Graph, rules: &'static [&'static dyn ErasedRule]) -> Self {
        Engine {
            db,
            graph,
            dispatch: Dispatch::new(rules),
            asleep: rules.iter().map(|rule| rule.about().level == Level::Off).collect(),
            options: FxHashMap::default(),
            cells: FxHashMap::default(),
            by_file: FxHashMap::default(),
            ticks: 0,
            ordered: None,
            are_values_cold: true,
            are_cells_cold: true,
            later: Vec::new(),
            later_values: FxHashMap::default(),
            paces: Paces::default(),
            unwatched: false,
            touched: FxHashSet::default(),
            #[cfg(test)]
            heard: Vec::new(),
        }
    }

    /// Takes in what changed in the database: nodes come and go, and those that read what changed are out of date.
    pub fn take(&mut self, changes: &Changes) {
        self.ticks += 1;
        if !changes.is_empty() {
            self.forget_the_unwatched(changes);
        }
        for id in &changes.removed {
            self.remove_nodes_of(*id);
        }
        self.graph.reserve(NODES_EACH * changes.added.len(), changes.added.len());
        let anew = self.rescope(&changes.rescoped);
        let is_left = |id: &EntityId| self.db.entity(*id).is_some_and(|entity| !anew.contains(&entity.file));
        let left: Vec<EntityId> = changes.added.iter().copied().filter(is_left).collect();
        self.add_nodes_of(left);
        self.graph.invalidate(changes);
        #[cfg(test)]
        self.heard.extend_from_slice(&changes.facts);
    }

    /// Sees that the text of a file is judged.
    pub fn watch_text(&mut self, file: FileId) {
        if self.db.is_read(file) {
            self.graph.add(NodeKey { what: What::Cell, viewer: file, entity: None }, file);
        }
    }

    fn remove_nodes_of(&mut self, id: EntityId) {
        for node in self.graph.nodes_of(id).to_vec() {
            if self.graph.key(node).entity == Some(id) {
                self.remove_node(node);
            }
        }
    }

    fn remove_node(&mut self, node: NodeId) {
        let key = self.graph.key(node);
        if key.what == What::Cell {
            self.keep_findings(node, Quarters::ALL, Vec::new());
        } else {
            derived::forget(&mut self.db, &mut self.graph, key);
        }
        self.graph.remove(node);
    }

    /// Adds the nodes of entities, most of which stand in the file of the one before.
    fn add_nodes_of(&mut self, ids: impl IntoIterator<Item = EntityId>) {
        let mut seen_by: Option<(FileId, Vec<FileId>)> = None;
        for id in ids {
            let Some((kind, file)) = self.db.entity(id).map(|entity| (entity.kind, entity.file)) else { continue };
            let viewers = match seen_by.take().filter(|(of, _)| *of == file) {
                Some((_, viewers)) => viewers,
                None => self.db.viewers(file),
            };
            self.add_nodes(id, kind, file, &viewers);
            seen_by = Some((file, viewers));
        }
    }

    fn add_nodes(&mut self, id: EntityId, kind: Kind, file: FileId, viewers: &[FileId]) {
        let is_new = self.graph.nodes_of(id).is_empty();
        let mut add = |what, viewer| {
            let key = NodeKey { what, viewer, entity: Some(id) };
            if is_new {
                self.graph.push(key, file)
            } else {
                self.graph.add(key, file)
            };
        };
        for viewer in viewers {
            What::of(kind).iter().chain(&[What::Cell]).for_each(|what| add(*what, *viewer));
        }
        if !viewers.contains(&file) {
            // A service is the same to every plan that names it.
            if kind == Kind::Regime {
                add(What::Service, file);
            }
            add(What::Cell, file);
        }
    }

    /// What these files see has changed: their nodes are made anew. Yields the files of which every table has its nodes.
    fn rescope(&mut self, viewers: &[FileId]) -> FxHashSet<FileId> {
        let mut seen: FxHashSet<FileId> = FxHashSet::default();
        if viewers.is_empty() {
            return seen;
        }
        let old: Vec<NodeId> = What::DERIVED
            .iter()
            .chain(&[What::Cell])
            .flat_map(|what| self.graph.nodes(*what).collect::<Vec<_>>())
            .filter(|node| {
                let key = self.graph.key(*node);
                key.entity.is_some() && viewers.contains(&key.viewer)
            })
            .collect();
        for node in old {
            self.remove_node(node);
        }
        for viewer in viewers {
            seen.extend(self.db.scope(*viewer));
        }
        for file in &seen {
            self.add_nodes_of(self.db.entities_of(*file).collect::<Vec<_>>());
        }
        seen
    }

    /// Other files are to be judged first from now on.
    pub fn reorder(&mut self) {
        self.ordered = None;
    }

    /// Wakes the rules that are off by default and that some settings turn on; the others of them sleep.
    pub fn wake(&mut self, is_on: impl Fn(RuleId) -> bool) {
        let asleep: Vec<bool> = (0..self.asleep.len())
            .map(|number| RuleId(number as u16))
            .map(|rule| self.dispatch.rule(rule).about().level == Level::Off && !is_on(rule))
            .collect();
        if asleep != self.asleep {
            self.asleep = asleep;
            self.mark_all_cells();
        }
    }

    /// What a cell found when last computed.
    #[cfg(test)]
    pub fn cell(&self, node: NodeId) -> &[Finding] {
        self.cells.get(&node).map_or(&[], |kept| &kept.findings)
    }
}
