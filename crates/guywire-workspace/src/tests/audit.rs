//! The audit of the recorder, over every registered rule without work of its author.

use std::sync::atomic::AtomicBool;
use std::time::Duration;

use guywire_plan::language::{FieldSet, FileKind};
use guywire_plan::{Fact, Graph, NodeId, NodeKey, Quarters, Read, Reads, Recorder, What, derived};
use guywire_rules::{CATALOG, Finding};

use super::harbor;
use super::random::{Run, steps};
use crate::engine::Engine;
use crate::{Address, Budget, Workspace};

fn cells(workspace: &Workspace) -> Vec<NodeId> {
    workspace.engine.graph.nodes(What::Cell).collect()
}

fn sorted(mut reads: Reads) -> (FieldSet, Vec<String>) {
    reads.other.sort_by_key(|read| format!("{read:?}"));
    (reads.own, reads.other.iter().map(|read| format!("{read:?}")).collect())
}

/// What a cell finds as it is now, and what it reads for it.
fn judge(engine: &Engine, key: NodeKey) -> (Vec<Finding>, Vec<Reads>) {
    let mut findings = Vec::new();
    let reads = Quarters::ALL.numbers().map(|quarter| {
        let recorder = Recorder::new(key.entity);
        engine.judge(key, quarter, &recorder, &mut findings, None);
        recorder.finish()
    });
    let reads = reads.collect();
    (findings, reads)
}

/// What every cell and computed value says and read when it was last computed is what it says and reads now.
#[test]
fn nothing_is_out_of_date_after_settling() {
    let mut run = Run::new(7, Graph::default());
    for number in 0..steps(150, 4_000) {
        run.step();
        let engine = &run.workspace.engine;
        for node in cells(&run.workspace) {
            let (findings, reads) = judge(engine, engine.graph.key(node));
            assert_eq!(engine.cell(node), findings, "step {number}: {}", run.last);
            for (quarter, reads) in reads.into_iter().enumerate() {
                assert_eq!(sorted(engine.graph.reads(node, quarter)), sorted(reads), "step {number}: {}", run.last);
            }
        }
        for node in What::DERIVED.iter().flat_map(|what| engine.graph.nodes(*what)) {
            let key = engine.graph.key(node);
            let recorder = Recorder::new(key.entity);
            assert!(derived::compute(&engine.db, key, &recorder).is_some(), "{key:?} is gone");
            assert_eq!(sorted(engine.graph.reads(node, 0)), sorted(recorder.finish()), "step {number}: {}", run.last);
        }
    }
}

/// The engine relies on this when a change comes before it is known what values read. Models and services apart, which any
/// plan may name. Of the values that ask who is alike, both ask within their plan.
#[test]
fn a_value_reads_only_what_its_plan_sees() {
    let mut run = Run::new(11, Graph::default());
    let mut seen = 0;
    for number in 0..steps(60, 2_000) {
        run.step();
        let engine = &run.workspace.engine;
        for node in What::DERIVED.iter().flat_map(|what| engine.graph.nodes(*what)) {
            let key = engine.graph.key(node);
            for read in engine.graph.reads(node, 0).other {
                let is_seen = match read.fact {
                    Fact::Bucket(_) | Fact::Crowd(_) | Fact::Any(_) => matches!(key.what, What::Ear | What::Rivals),
                    fact => fact.file(&engine.db).is_none_or(|file| {
                        let is_of_all = matches!(engine.db.file(file).kind, Some(FileKind::Model | FileKind::Regime));
                        is_of_all || engine.db.scope(key.viewer).contains(&file)
                    }),
                };
                assert!(is_seen, "step {number}: {key:?} read {read:?}: {}", run.last);
                seen += 1;
            }
        }
    }
    assert!(seen > 0);
}

/// A change that comes before it is known what values read makes those out of date that may have read it, and no others.
#[test]
fn an_early_change_costs_the_plans_that_see_it() {
    let mut run = Run::new(0, Graph::default());
    run.workspace = run.workspace.fresh(CATALOG, 0);
    let (slice, stop) = (Budget::For(Duration::from_micros(100)), AtomicBool::new(false));
    while !run.workspace.settle(slice, &stop).settled {}
    let file = run.workspace.file(&Address::Disk(harbor::path("harbor.plan.toml"))).unwrap();
    let text = run.workspace.document(file).unwrap().whole_text();
    run.workspace.edit_text(file, 0..text.len(), &text.replace("color_code = 5", "color_code = 6"));
    let engine = &run.workspace.engine;
    let (viewers, mut lost, mut kept) = (engine.db.viewers(file), 0, 0);
    for node in What::DERIVED.iter().flat_map(|what| engine.graph.nodes(*what)) {
        let (is_lost, sees) =
            (engine.graph.dirty(node) != Quarters::NONE, viewers.contains(&engine.graph.key(node).viewer));
        assert_eq!(is_lost, sees, "{:?}", engine.graph.key(node));
        *(if is_lost { &mut lost } else { &mut kept }) += 1;
    }
    assert!(lost > 0 && kept > 0, "{lost} values are out of date, {kept} are not");
}

/// A rule that reads its table as a whole says so: else the rules beside it are judged again at every change of the table.
#[test]
fn only_the_first_quarter_of_a_cell_reads_its_table_as_a_whole() {
    let mut run = Run::new(9, Graph::default());
    for _ in 0..steps(100, 1_000) {
        run.step();
        let engine = &run.workspace.engine;
        for node in cells(&run.workspace) {
            for quarter in Quarters::ALL.numbers().skip(1) {
                let kind = engine.graph.key(node).entity.and_then(|id| engine.db.entity(id)).map(|entity| entity.kind);
                let reads = engine.graph.reads(node, quarter);
                assert_ne!(reads.own, FieldSet::ALL, "a rule in quarter {quarter} of {kind:?} wants `reads: Whole`");
            }
        }
    }
}

/// A cell judged twice says the same twice.
#[test]
fn judging_twice_says_the_same() {
    let mut run = Run::new(8, Graph::default());
    for _ in 0..steps(100, 1_000) {
        run.step();
        let engine = &run.workspace.engine;
        for node in cells(&run.workspace) {
            let key = engine.graph.key(node);
            let (first, second) = (judge(engine, key), judge(engine, key));
            assert_eq!(first.0, second.0);
            assert_eq!(first.1, second.1);
        }
    }
}

/// Neither the numbers of entities nor the order of loading is seen.
#[test]
fn numbers_and_order_of_loading_are_not_seen() {
    let mut run = Run::new(9, Graph::default());
    for number in 0..steps(150, 2_000) {
        run.step();
        let mut shuffled = run.workspace.shuffled(CATALOG, 1_000 + number as u32);
        harbor::settle(&mut shuffled);
        assert_eq!(harbor::lines(&run.workspace), harbor::lines(&shuffled), "step {number}: {}", run.last);
    }
}

/// Every cell that read a fact which an edit changed is out of date after it. Those that read none of them say what they
/// said: that is what the fresh run of the random edits shows.
#[test]
fn what_was_read_and_changed_is_out_of_date() {
    let mut run = Run::new(10, Graph::default());
    let mut met = 0;
    for number in 0..steps(200, 4_000) {
        let engine = &run.workspace.engine;
        let before: Vec<(NodeId, NodeKey, usize, Reads)> = cells(&run.workspace)
            .into_iter()
            .flat_map(|node| Quarters::ALL.numbers().map(move |quarter| (node, quarter)))
            .map(|(node, quarter)| (node, engine.graph.key(node), quarter, engine.graph.reads(node, quarter)))
            .collect();
        run.workspace.engine.heard.clear();
        run.take_in();
        let engine = &run.workspace.engine;
        for (node, key, quarter, reads) in before {
            let still = engine.graph.find(key) == Some(node);
            let meets = engine.heard.iter().any(|changed| read_meets(&reads, key.entity, changed));
            if still && meets {
                met += 1;
                assert!(engine.graph.dirty(node).has(quarter), "step {number}: {key:?} {}", run.last);
            }
        }
        harbor::settle(&mut run.workspace);
    }
    assert!(met > 100, "only {met} cells read what changed: the test sees nothing");
}

fn read_meets(reads: &Reads, own: Option<guywire_plan::EntityId>, changed: &Read) -> bool {
    let own_meets = matches!(changed.fact, Fact::Entity(id) if Some(id) == own) && reads.own.meets(changed.keys);
    own_meets || reads.other.iter().any(|read| read.fact == changed.fact && read.keys.meets(changed.keys))
}
