//! When it is computed: in slices, values before cells, the open files first; and what is known of what was read.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use guywire_plan::derived::News;
use guywire_plan::language::FileKind;
use guywire_plan::{Changes, Graph, NodeId, NodeKey, Print, Quarters, Reads, Recorder, What, derived};
use guywire_text::FileId;
use rayon::prelude::*;
use rustc_hash::FxHashSet;
use smallvec::SmallVec;

use super::Engine;
use crate::answer::{Budget, Progress};

/// Cells computed between two looks at the clock.
const SLICE: usize = 64;
/// Where so many wait, computations are spread over all cores; for fewer, waking those takes longer.
const MANY: usize = 512;
/// Nodes computed on all cores between two looks at the clock, at most.
const WIDE_SLICE: usize = 2_048;

/// So many values are computed by one core at a time.
const A_TASK: usize = 32;

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

/// How fast values are computed, cells, and what is done later.
#[derive(Debug)]
pub(super) struct Paces {
    values: Pace,
    cells: Pace,
    watching: Pace,
}

impl Default for Paces {
    fn default() -> Self {
        Paces { values: Pace(SLICE), cells: Pace(SLICE), watching: Pace(SLICE) }
    }
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

impl Engine {
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
        let width = self.paces.watching.of(waiting, budget);
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
        self.paces.watching.learn(done, began.elapsed(), budget);
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
        let nodes = self.graph.drain(what, self.paces.values.of(waiting, budget));
        if mode == Mode::Later {
            for (node, _) in &nodes {
                self.later_values.entry(self.graph.key(*node).viewer).or_default().push(*node);
            }
        }
        let done = nodes.len();
        self.compute_all(nodes, mode, waiting >= MANY);
        self.paces.values.learn(done, began.elapsed(), budget);
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
        let nodes = self.graph.drain(What::Cell, self.paces.cells.of(waiting, budget));
        if mode == Mode::Later {
            self.later.extend(nodes.iter().map(|(node, _)| *node));
        }
        let done = nodes.len();
        self.judge_all(nodes, mode, waiting >= MANY);
        self.paces.cells.learn(done, began.elapsed(), budget);
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

    /// Something changes: what was computed and not watched may have read it. A value only reads what its plan sees, and
    /// models and services, which any plan may name; a cell may read anything.
    pub(super) fn forget_the_unwatched(&mut self, changes: &Changes) {
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
}
