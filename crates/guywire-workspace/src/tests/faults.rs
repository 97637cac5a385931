//! Seeded faults: an engine that forgets one kind of fact must be caught by the random edits. If one of these is not
//! caught, the edits have stopped looking.

use guywire_plan::{Fact, Graph, What};

use super::harbor;
use super::random::Run;

fn is_caught(name: &str, forget: fn(&Fact) -> bool) {
    for seed in 1..=4 {
        let mut run = Run::new(seed, Graph::forgetting(forget));
        for _ in 0..1_500 {
            run.step();
            if harbor::lines(&run.workspace) != run.fresh_lines() {
                return;
            }
        }
    }
    panic!("an engine that forgets {name} is not caught");
}

#[test]
fn forgetting_keys_is_caught() {
    is_caught("keys of tables", |fact| matches!(fact, Fact::Entity(_)));
}

#[test]
fn forgetting_names_is_caught() {
    is_caught("names", |fact| matches!(fact, Fact::Name(..)));
}

#[test]
fn forgetting_referrers_is_caught() {
    is_caught("referrers", |fact| matches!(fact, Fact::Referrers(..)));
}

#[test]
fn forgetting_uses_is_caught() {
    is_caught("uses", |fact| matches!(fact, Fact::Used(..)));
}

#[test]
fn forgetting_gaps_is_caught() {
    is_caught("gaps", |fact| matches!(fact, Fact::NameGap(..) | Fact::UseGap(..)));
}

#[test]
fn forgetting_buckets_is_caught() {
    is_caught("buckets", |fact| matches!(fact, Fact::Bucket(_)));
}

#[test]
fn forgetting_computed_values_is_caught() {
    is_caught("computed values", |fact| matches!(fact, Fact::Derived(..)));
}

#[test]
fn forgetting_services_is_caught() {
    is_caught("services", |fact| matches!(fact, Fact::Derived(What::Service, ..)));
}

#[test]
fn forgetting_counts_is_caught() {
    is_caught("counts", |fact| matches!(fact, Fact::Count(..)));
}

#[test]
fn forgetting_files_is_caught() {
    is_caught("files", |fact| matches!(fact, Fact::Main(_) | Fact::Errors(_)));
}
