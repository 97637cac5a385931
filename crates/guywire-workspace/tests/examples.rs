//! The examples of the docs and the published plans: sound where they shall be, and with exactly the faults planted.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "tests")]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_workspace::{Budget, DiskSource, Workspace};

/// Findings of a folder of the repository: rule, file, and the line where each begins.
fn found(folder: &str) -> Vec<(String, String, String)> {
    let root = repository().join(folder);
    let mut workspace = Workspace::load(Arc::new(DiskSource), &[root], jiff::civil::date(2026, 11, 25));
    workspace.settle(Budget::All, &AtomicBool::new(false));
    assert!(!workspace.files().is_empty(), "{folder} has no files");
    let mut found = Vec::new();
    for file in workspace.files() {
        let text = workspace.document(file).map(guywire_text::Document::whole_text).unwrap_or_default();
        for finding in workspace.findings(file).shown {
            let start = text[..finding.bytes.start].rfind('\n').map_or(0, |end| end + 1);
            let line = text[start..].lines().next().unwrap_or_default().trim().to_owned();
            found.push((finding.rule.to_owned(), workspace.shown_path(file), line));
        }
    }
    found
}

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// Rule, file, and how the line begins.
fn planted() -> Vec<(String, String, String)> {
    let path = repository().join("docs/examples/saltmarsh-with-faults/FAULTS.toml");
    let text = std::fs::read_to_string(path).unwrap();
    let document = toml_edit::Document::parse(text.as_str()).unwrap();
    let faults = document["fault"].as_array_of_tables().unwrap();
    let word = |fault: &toml_edit::Table, key: &str| fault[key].as_str().unwrap().to_owned();
    faults.iter().map(|fault| (word(fault, "rule"), word(fault, "file"), word(fault, "line"))).collect()
}

#[test]
fn the_harbor_is_sound() {
    assert_eq!(found("docs/examples/saltmarsh"), []);
}

#[test]
fn the_published_plans_are_sound() {
    assert_eq!(found("tests/fixtures/published"), []);
}

#[test]
fn the_faults_planted_are_found_and_nothing_else() {
    let (found, planted) = (found("docs/examples/saltmarsh-with-faults"), planted());
    let told = |all: &[(String, String, String)]| {
        all.iter().map(|(rule, file, _)| format!("{rule} in {file}")).collect::<Vec<_>>()
    };
    assert_eq!(told(&found), told(&planted));
    for ((rule, _, line), (_, _, begins)) in found.iter().zip(&planted) {
        // The line is left out of the message: one of them holds the material of a key.
        assert!(line.starts_with(begins.as_str()), "{rule} is not where a line begins with `{begins}`");
    }
}

/// ECC/DEC/(15)05 of 3 July 2015: 16 carriers 12.5 kHz apart, the first 446.00625 MHz.
#[test]
fn the_446_mhz_plan_has_the_carriers_of_the_decision() {
    let text = std::fs::read_to_string(repository().join("tests/fixtures/published/eu-446.plan.toml")).unwrap();
    let written: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("rx_mhz = ")).collect();
    let computed: Vec<String> = (0..16).map(|n| format!("446.{:05}", 625 + 1_250 * n)).collect();
    assert_eq!(written, [computed.clone(), computed].concat());
}
