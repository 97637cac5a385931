//! The engine: which computations are out of date, and what the rules said. Rules read through the view, which records
//! what they read; an edit makes out of date only what read what it changed.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use guywire_plan::derived::News;
use guywire_plan::language::{FileKind, Kind};
use guywire_plan::{
    Changes, Db, EntityId, Graph, NodeId, NodeKey, Print, Quarters, Reads, Recorder, View, What, derived,
};
use guywire_rules::{
    About, Anchor, ErasedRule, Family, Finding, Fix, Judged, Level, On, Reading, RuleId, Sink, Target,
};
use guywire_text::FileId;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use crate::answer::{Budget, Progress};

/// Cells computed between two looks at the clock.
const SLICE: usize = 64;
/// Where so many wait, computations are spread over all cores; for fewer, waking those takes longer.
const MANY: usize = 512;
/// Nodes computed on all cores between two looks at the clock, at most.
const WIDE_SLICE: usize = 2_048;

/// So many values are computed by one core at a time.
const A_TASK: usize = 32;
/// Room for so many nodes is made for each table that comes.
const NODES_EACH: usize = 3;

/// How many nodes are computed between two looks at the clock, so that what is typed meanwhile need not wait long.
#[derive(Debug, Clone, Copy)]
struct Pace(usize);

impl Pace {
    /// As many as a quarter of the time allowed was enough for, by the last ones.
    fn learn(&mut self, done: usize, took: Duration, budget: Budget) {
        let Budget::For(most) = budget else { return };
        if done >= SLICE {
            let wanted = done as f64 * most.as_secs_f64() / (4.0 * took.as_secs_f64().max(1e-9));
            self.0 = (wanted as usize).clamp(SLICE, WIDE_SLICE);
        }
    }

    /// How many of those that wait are computed next.
    fn of(self, waiting: usize, budget: Budget) -> usize {
        match budget {
            _ if waiting < MANY => SLICE,
            Budget::For(_) => self.0,
            Budget::All | Budget::Once => WIDE_SLICE,
        }
    }
}

/// A rule that looks at tables.
#[derive(Clone, Copy)]
struct Runs {
    id: RuleId,
    rule: &'static dyn ErasedRule,
    judged: Judged,
}

/// Which pace is that of what.
const VALUES: usize = 0;
const CELLS: usize = 1;
const WATCHING: usize = 2;

/// Rules by the quarter of a cell that they are judged in.
type ByQuarter = [Vec<Runs>; Quarters::COUNT];

/// The rules to run, sorted by what they look at.
pub(crate) struct Dispatch {
    rules: &'static [&'static dyn ErasedRule],
    text: Vec<RuleId>,
    /// Those for tables of every kind.
    any: ByQuarter,
    /// Those for a kind of tables, after those for every kind; a kind without rules of its own is not here.
    by_kind: FxHashMap<Kind, ByQuarter>,
}

/// The quarter of a cell that a rule is judged in: with the rules that mostly read what it reads. Which one it is changes
/// how much of a cell is judged again after an edit, and nothing that is found.
fn quarter_of(about: &About) -> usize {
    match about.family {
        _ if about.reads == Reading::Whole => 0,
        _ if about.reads == Reading::Audience => 3,
        Family::Text | Family::Waiver | Family::Model | Family::Regime => 0,
        Family::Band | Family::Tone | Family::Interference | Family::Bench => 1,
        Family::Slot | Family::Zone | Family::Scan | Family::Timing | Family::Controls | Family::Identity => 2,
        Family::Group | Family::Privacy | Family::Emergency => 3,
    }
}

impl Dispatch {
    pub fn new(rules: &'static [&'static dyn ErasedRule]) -> Self {
        let mut dispatch = Dispatch { rules, text: Vec::new(), any: Default::default(), by_kind: FxHashMap::default() };
        // The catalog has a few hundred rules.
        let numbered = || rules.iter().enumerate().map(|(number, rule)| (RuleId(number as u16), *rule));
        let runs = |id, rule: &'static dyn ErasedRule| {
            (quarter_of(rule.about()), Runs { id, rule, judged: rule.about().judged })
        };
        for (id, rule) in numbered() {
            match rule.on() {
                On::Text => dispatch.text.push(id),
                On::Any => {
                    let (quarter, runs) = runs(id, rule);
                    dispatch.any[quarter].push(runs);
                }
                On::Kind(_) => {}
            }
        }
        for (id, rule) in numbered() {
            if let On::Kind(kind) = rule.on() {
                let (quarter, runs) = runs(id, rule);
                dispatch.by_kind.entry(kind).or_insert_with(|| dispatch.any.clone())[quarter].push(runs);
            }
        }
        dispatch
    }

    pub fn rule(&self, id: RuleId) -> &'static dyn ErasedRule {
        self.rules[id.0 as usize]
    }

    fn for_kind(&self, kind: Kind, quarter: usize) -> &[Runs] {
        &self.by_kind.get(&kind).unwrap_or(&self.any)[quarter]
    }

    /// The quarter of the cell that found something. What is wrong with a text is found in the first.
    fn quarter(&self, node: NodeKey, finding: &Finding) -> usize {
        if node.entity.is_none() { 0 } else { quarter_of(self.rule(finding.rule).about()) }
    }
}

/// Options of rules by number: what settings say, else the rule's default.
pub(crate) type Options = FxHashMap<(RuleId, &'static str), f64>;

/// What a cell found, and the files that its findings are in.
struct Kept {
    findings: Box<[Finding]>,
    files: Vec<FileId>,
}

/// What a quarter of a node read, with the print of it.
type Fresh = (usize, Print, Reads);

/// Whether it is noted what computations read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mode {
    Watched,
    /// Faster and smaller, for a state that will not change.
    Unwatched,
    /// As fast, to be done again and watched when there is time.
    Later,
}

impl Mode {
    fn recorder(self, key: NodeKey) -> Recorder {
        match self {
            Mode::Watched => Recorder::new(key.entity),
            Mode::Unwatched | Mode::Later => Recorder::silent_about(key.entity),
        }
    }

    /// What a quarter of a node read, where that is wanted and is not what it read before.
    fn reads(self, graph: &Graph, node: NodeId, quarter: usize, recorder: Recorder) -> Option<Fresh> {
        if self != Mode::Watched {
            return None;
        }
        let print = recorder.print();
        (!graph.has_read(node, quarter, print)).then(|| (quarter, print, recorder.finish()))
    }
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
    /// How fast values are computed, cells, and what is done later.
    paces: [Pace; 3],
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
            paces: [Pace(SLICE); 3],
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

    // ---- settling -------------------------------------------------------------------------------

    /// Computes a slice of what is out of date: computed values in order of stratum, then cells.
    pub fn settle(&mut self, budget: Budget, stop: &AtomicBool, first: impl Fn(FileId) -> bool) -> Progress {
        let began = Instant::now();
        let mode = |is_cold| match budget {
            Budget::Once => Mode::Unwatched,
            Budget::For(_) if is_cold => Mode::Later,
            Budget::For(_) | Budget::All => Mode::Watched,
        };
        if budget == Budget::All {
            (self.are_values_cold, self.are_cells_cold) = (false, false);
        }
        let was_settled = self.progress().settled;
        let out_of_time = |done: bool| match budget {
            Budget::All | Budget::Once => false,
            Budget::For(most) => done && began.elapsed() >= most,
        };
        for what in What::DERIVED {
            while self.graph.dirty_count(what) > 0 {
                if stop.load(Ordering::Relaxed) || out_of_time(true) {
                    return self.progress();
                }
                self.settle_derived(what, mode(self.are_values_cold), budget);
            }
        }
        self.are_values_cold = false;
        let is_in_order = self.ordered.is_some_and(|then| self.graph.marks() - then <= SLICE as u64);
        if self.graph.dirty_count(What::Cell) > SLICE && !is_in_order {
            self.graph.put_first(What::Cell, first);
            self.ordered = Some(self.graph.marks());
        }
        while self.graph.dirty_count(What::Cell) > 0 {
            if stop.load(Ordering::Relaxed) || out_of_time(true) {
                return self.progress();
            }
            self.settle_cells(mode(self.are_cells_cold), budget);
        }
        self.are_cells_cold = false;
        // What is found is to be seen before this goes on.
        let is_time = budget == Budget::All || (budget.is_slice() && was_settled);
        while is_time && self.unwatched_later() > 0 {
            if stop.load(Ordering::Relaxed) || out_of_time(true) {
                break;
            }
            self.watch_later(budget);
        }
        self.progress()
    }

    fn unwatched_later(&self) -> usize {
        self.later_values.values().map(Vec::len).sum::<usize>() + self.later.len()
    }

    /// Computes some values or cells once more, to know what they read.
    fn watch_later(&mut self, budget: Budget) {
        let began = Instant::now();
        let viewer = self.later_values.keys().next().copied();
        let waiting = self.unwatched_later();
        let width = self.paces[WATCHING].of(waiting, budget);
        let queue = match viewer {
            Some(viewer) => self.later_values.entry(viewer).or_default(),
            None => &mut self.later,
        };
        let nodes = queue.split_off(queue.len().saturating_sub(width));
        if queue.is_empty()
            && let Some(viewer) = viewer
        {
            self.later_values.remove(&viewer);
        }
        let graph = &self.graph;
        let is_due = |node: &NodeId| {
            let is_same = graph.is_live(*node) && (graph.key(*node).what == What::Cell) == viewer.is_none();
            is_same && graph.dirty(*node) == Quarters::NONE && !graph.is_watched(*node)
        };
        let nodes: Vec<_> = nodes.into_iter().filter(is_due).map(|node| (node, Quarters::ALL)).collect();
        let done = nodes.len();
        match viewer {
            Some(_) => self.compute_all(nodes, Mode::Watched, waiting >= MANY),
            None => self.judge_all(nodes, Mode::Watched, waiting >= MANY),
        }
        self.paces[WATCHING].learn(done, began.elapsed(), budget);
    }

    /// Computes the values that are out of date, and no cell.
    pub fn settle_values(&mut self) {
        for what in What::DERIVED {
            while self.graph.dirty_count(what) > 0 {
                self.settle_derived(what, Mode::Unwatched, Budget::Once);
            }
        }
    }

    fn progress(&self) -> Progress {
        let remaining: usize =
            What::DERIVED.iter().chain(&[What::Cell]).map(|what| self.graph.dirty_count(*what)).sum();
        Progress { settled: remaining == 0, remaining, unwatched: self.unwatched_later() }
    }

    /// Whether all computed values are up to date. Until they are, it is not known which cells are not.
    pub fn values_are_settled(&self) -> bool {
        What::DERIVED.iter().all(|what| self.graph.dirty_count(*what) == 0)
    }

    fn settle_derived(&mut self, what: What, mode: Mode, budget: Budget) {
        let began = Instant::now();
        let waiting = self.graph.dirty_count(what);
        let nodes = self.graph.drain(what, self.paces[VALUES].of(waiting, budget));
        if mode == Mode::Later {
            for (node, _) in &nodes {
                self.later_values.entry(self.graph.key(*node).viewer).or_default().push(*node);
            }
        }
        let done = nodes.len();
        self.compute_all(nodes, mode, waiting >= MANY);
        self.paces[VALUES].learn(done, began.elapsed(), budget);
    }

    fn compute_all(&mut self, nodes: Vec<(NodeId, Quarters)>, mode: Mode, is_wide: bool) {
        self.unwatched |= mode == Mode::Unwatched;
        if is_wide {
            return self.compute_wide(&nodes, mode);
        }
        for (node, _) in nodes {
            let key = self.graph.key(node);
            let recorder = mode.recorder(key);
            let Some(value) = derived::compute(&self.db, key, &recorder) else { continue };
            if let Some(reads) = mode.reads(&self.graph, node, 0, recorder) {
                self.graph.set_reads(node, &[reads]);
            }
            derived::keep(&mut self.db, &mut self.graph, key, value);
        }
    }

    /// Computes many values on all cores.
    fn compute_wide(&mut self, nodes: &[(NodeId, Quarters)], mode: Mode) {
        let (db, graph) = (&self.db, &self.graph);
        let some = |nodes: &[(NodeId, Quarters)]| {
            let (mut news, mut reads) = (News::default(), Vec::new());
            for (node, _) in nodes {
                let key = graph.key(*node);
                let recorder = mode.recorder(key);
                let Some(value) = derived::compute(db, key, &recorder) else { continue };
                news.take(db, key, value);
                reads.extend(mode.reads(graph, *node, 0, recorder).map(|reads| (*node, reads)));
            }
            (news, reads)
        };
        let (news, reads): (Vec<News>, Vec<_>) = nodes.par_chunks(A_TASK).map(some).unzip();
        for (node, reads) in reads.into_iter().flatten() {
            self.graph.set_reads(node, &[reads]);
        }
        derived::keep_all(&mut self.db, &mut self.graph, news);
    }

    fn settle_cells(&mut self, mode: Mode, budget: Budget) {
        let began = Instant::now();
        let waiting = self.graph.dirty_count(What::Cell);
        let nodes = self.graph.drain(What::Cell, self.paces[CELLS].of(waiting, budget));
        if mode == Mode::Later {
            self.later.extend(nodes.iter().map(|(node, _)| *node));
        }
        let done = nodes.len();
        self.judge_all(nodes, mode, waiting >= MANY);
        self.paces[CELLS].learn(done, began.elapsed(), budget);
    }

    fn judge_all(&mut self, nodes: Vec<(NodeId, Quarters)>, mode: Mode, is_wide: bool) {
        let engine = &*self;
        let one = |(node, quarters): &(NodeId, Quarters)| {
            let key = engine.graph.key(*node);
            let mut findings = Vec::new();
            let mut reads: SmallVec<[Fresh; 1]> = SmallVec::new();
            for quarter in quarters.numbers() {
                let recorder = mode.recorder(key);
                engine.judge(key, quarter, &recorder, &mut findings, None);
                reads.extend(mode.reads(&engine.graph, *node, quarter, recorder));
            }
            (*node, *quarters, findings, reads)
        };
        let judged: Vec<_> =
            if is_wide { nodes.par_iter().map(one).collect() } else { nodes.iter().map(one).collect() };
        for (node, quarters, findings, reads) in judged {
            if !reads.is_empty() {
                self.graph.set_reads(node, &reads);
            }
            self.keep_findings(node, quarters, findings);
        }
        self.unwatched |= mode == Mode::Unwatched;
    }

    /// Runs the rules of a quarter of one cell; with `fixes`, collects them too (by the number of their finding).
    pub fn judge(
        &self,
        key: NodeKey,
        quarter: usize,
        recorder: &Recorder,
        findings: &mut Vec<Finding>,
        mut fixes: Option<&mut Vec<(usize, Fix)>>,
    ) {
        let view = View::new(&self.db, key.viewer, recorder);
        match key.entity {
            // The rules of a text are judged in the first quarter; a sheet that no plan names any more, by nothing.
            None if quarter > 0 || !view.is_read(key.viewer) => {}
            None => {
                for rule in &self.dispatch.text {
                    let known = self.dispatch.rule(*rule);
                    self.run(*rule, known, Target::Text(key.viewer), view, findings, fixes.as_deref_mut());
                }
            }
            Some(id) => {
                let Some(entity) = self.db.entity(id) else { return };
                let (own, plan) = (entity.file == key.viewer, self.db.is_plan(key.viewer));
                for Runs { id: rule, rule: known, judged } in self.dispatch.for_kind(entity.kind, quarter) {
                    let runs = match judged {
                        Judged::PerFile => own,
                        Judged::PerPlan => plan,
                    };
                    if runs {
                        self.run(*rule, *known, Target::Table(id), view, findings, fixes.as_deref_mut());
                    }
                }
            }
        }
    }

    /// What a cell finds as it is now, and the fixes by the number of their finding.
    pub fn judge_whole(&self, key: NodeKey, fixes: &mut Vec<(usize, Fix)>) -> Vec<Finding> {
        let mut findings = Vec::new();
        for quarter in Quarters::ALL.numbers() {
            self.judge(key, quarter, &Recorder::silent_about(key.entity), &mut findings, Some(fixes));
        }
        findings
    }

    fn run<'v>(
        &self,
        rule: RuleId,
        known: &'static dyn ErasedRule,
        target: Target,
        view: View<'v>,
        findings: &mut Vec<Finding>,
        fixes: Option<&mut Vec<(usize, Fix)>>,
    ) {
        if self.asleep[rule.0 as usize] {
            return;
        }
        let viewer = view.viewer();
        let options = |name: &'static str| {
            let set = self.options.get(&viewer).and_then(|options| options.get(&(rule, name)));
            let default =
                || known.about().options.iter().find(|option| option.name == name).map(|option| option.default);
            set.copied().or_else(default).unwrap_or(f64::NAN)
        };
        known.run(target, view, &mut Sink::new(rule, findings, fixes, &options));
    }

    /// Keeps what quarters of a cell found, beside what its others did.
    fn keep_findings(&mut self, node: NodeId, quarters: Quarters, mut findings: Vec<Finding>) {
        if let Some(kept) = self.cells.get(&node) {
            let key = self.graph.key(node);
            let quarter = |finding: &Finding| self.dispatch.quarter(key, finding);
            findings.extend(kept.findings.iter().filter(|finding| !quarters.has(quarter(finding))).cloned());
            findings.sort_by_key(quarter);
        }
        if self.cells.get(&node).map_or(findings.is_empty(), |kept| *kept.findings == *findings) {
            return;
        }
        self.ticks += 1;
        if let Some(old) = self.cells.remove(&node) {
            for file in old.files {
                self.touched.insert(file);
                if let Some(nodes) = self.by_file.get_mut(&file) {
                    nodes.remove(&node);
                }
            }
        }
        if findings.is_empty() {
            return;
        }
        let mut files: Vec<FileId> = findings.iter().filter_map(|finding| self.anchor_file(&finding.at)).collect();
        files.sort_unstable();
        files.dedup();
        for file in &files {
            self.touched.insert(*file);
            self.by_file.entry(*file).or_default().insert(node);
        }
        self.cells.insert(node, Kept { findings: findings.into(), files });
    }

    /// The cells that found something in a file, with what they found; in no order.
    pub fn found_in(&self, file: FileId) -> impl Iterator<Item = (NodeKey, &Finding)> + '_ {
        self.by_file
            .get(&file)
            .into_iter()
            .flatten()
            .flat_map(|node| {
                self.cells
                    .get(node)
                    .into_iter()
                    .flat_map(|kept| kept.findings.iter())
                    .map(|finding| (self.graph.key(*node), finding))
            })
            .filter(move |(_, finding)| self.anchor_file(&finding.at) == Some(file))
    }

    /// The file that an anchor is in, where what it names is still there.
    pub fn anchor_file(&self, anchor: &Anchor) -> Option<FileId> {
        match anchor {
            Anchor::Bytes(place) => Some(place.file),
            Anchor::File(file) => Some(*file),
            Anchor::Header(id) | Anchor::Value(id, _) | Anchor::Key(id, _) => {
                self.db.entity(*id).map(|entity| entity.file)
            }
        }
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

    /// Something changes: what was computed and not watched may have read it. A value only reads what its plan sees, and
    /// models and services, which any plan may name; a cell may read anything.
    fn forget_the_unwatched(&mut self, changes: &Changes) {
        if std::mem::take(&mut self.unwatched) {
            self.mark_all();
        }
        if !self.later_values.is_empty() {
            let (changed, seeing) = self.changed_files(changes);
            let mut kinds = changed.iter().map(|file| self.db.file(*file).kind);
            let is_of_all = kinds.any(|kind| matches!(kind, Some(FileKind::Model | FileKind::Regime)));
            self.later_values.retain(|viewer, nodes| {
                let is_lost = is_of_all || seeing.contains(viewer);
                if is_lost {
                    nodes.iter().for_each(|node| self.graph.mark(*node));
                }
                !is_lost
            });
        }
        let later = std::mem::take(&mut self.later);
        self.are_cells_cold &= later.is_empty();
        later.into_iter().for_each(|node| self.graph.mark(node));
    }

    /// The files in which something changed, and those that see them.
    fn changed_files(&self, changes: &Changes) -> (FxHashSet<FileId>, FxHashSet<FileId>) {
        let facts = changes.facts.iter().filter_map(|read| read.fact.file(&self.db));
        let added = changes.added.iter().filter_map(|id| self.db.entity(*id)).map(|entity| entity.file);
        let nodes = changes.removed.iter().flat_map(|id| self.graph.nodes_of(*id));
        let removed = nodes.map(|node| self.graph.file(*node));
        let files: FxHashSet<FileId> =
            facts.chain(added).chain(removed).chain(changes.rescoped.iter().copied()).collect();
        let seeing = files.iter().flat_map(|file| self.db.viewers(*file).into_iter().chain([*file])).collect();
        (files, seeing)
    }

    /// Makes everything out of date: it is not known what read what changed.
    fn mark_all(&mut self) {
        for what in What::DERIVED {
            let nodes: Vec<NodeId> = self.graph.nodes(what).collect();
            nodes.into_iter().for_each(|node| self.graph.mark(node));
        }
        self.mark_all_cells();
    }

    /// Makes every cell out of date: settings that rules read have changed.
    pub fn mark_all_cells(&mut self) {
        self.later.clear();
        let cells: Vec<NodeId> = self.graph.nodes(What::Cell).collect();
        cells.into_iter().for_each(|node| self.graph.mark(node));
    }

    /// What a cell found when last computed.
    #[cfg(test)]
    pub fn cell(&self, node: NodeId) -> &[Finding] {
        self.cells.get(&node).map_or(&[], |kept| &kept.findings)
    }
}
