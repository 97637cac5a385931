//! The examples of the docs and the published plans: sound where they shall be, and with exactly the faults planted.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "tests")]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_workspace::{Address, Budget, Change, DiskSource, Workspace};

/// Findings of a folder of the repository: rule, file, and the line where each begins.
fn found(folder: &str) -> Vec<(String, String, String)> {
    let root = repository().join(folder);
    let mut workspace = load(&root);
    workspace.settle(Budget::All, &AtomicBool::new(false));
    assert!(!workspace.files().is_empty(), "{folder} has no files");
    told(&workspace)
}

fn load(root: &Path) -> Workspace {
    Workspace::load(Arc::new(DiskSource), &[root.to_owned()], jiff::civil::date(2026, 11, 25))
}

fn told(workspace: &Workspace) -> Vec<(String, String, String)> {
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
fn visitors_keep_to_the_service_of_the_house() {
    assert_eq!(found("docs/examples/house-service"), []);
}

/// The harbor's findings after `from` is written as `to` where it first stands in a file.
fn mistaken(file: &str, from: &str, to: &str) -> Vec<(String, String, String)> {
    let path = repository().join("docs/examples/saltmarsh").join(file);
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains(from), "{file} has no `{from}`");
    let mut workspace = load(&repository().join("docs/examples/saltmarsh"));
    workspace.apply(Change::Open { address: Address::Disk(path), version: 1, text: text.replacen(from, to, 1) });
    workspace.settle(Budget::All, &AtomicBool::new(false));
    told(&workspace)
}

/// Silence is worth something only where a mistake in each file is found.
#[test]
fn one_mistake_in_the_harbor_is_one_finding() {
    for (file, from, to, rule) in [
        ("common/channels.plan.toml", "call = \"Berths\"", "call = \"Berthsx\"", "undefined-name"),
        ("common/groups.plan.toml", "rotate_by = 2027", "rotate_by = 2025", "key-past-rotation"),
        ("common/handling.plan.toml", "press = \"long\"", "press = \"lnog\"", "value-out-of-form"),
        ("common/places.plan.toml", "site = \"North Mole\"", "site = \"Nroth Mole\"", "undefined-name"),
        ("common/channels.plan.toml", "rx_mhz = 464.4875", "rx_mhz = 464.4375", "not-licensed"),
        ("common/places.plan.toml", "power_w = 25", "power_w = 250", "not-licensed"),
        ("common/places.plan.toml", "2031-04-30", "2026-11-24", "not-licensed"),
        ("harbor.plan.toml", "slot = 2", "slot = 1", "slot-differs-from-repeater"),
        ("cranes.plan.toml", "id = 21025", "id = 21052", "contact-not-a-radio"),
        ("rescue.plan.toml", "model = \"models/mobile-uhf", "model = \"models/mobile-vhf", "file-missing"),
        ("fleet.csv", "HH-0001,crane,", "HH-0001,crabe,", "undefined-name"),
    ] {
        let rules: Vec<_> = mistaken(file, from, to).into_iter().map(|(rule, file, _)| (rule, file)).collect();
        assert_eq!(rules, [(rule.to_owned(), file.to_owned())], "`{to}` in {file}");
    }
}

#[test]
fn the_harbor_has_the_channels_and_radios_that_it_tells_of() {
    let workspace = load(&repository().join("docs/examples/saltmarsh"));
    let texts = workspace.files().into_iter().map(|file| {
        let text = workspace.document(file).map(guywire_text::Document::whole_text).unwrap_or_default();
        (workspace.shown_path(file), text)
    });
    let (mut channels, mut radios) = (0, 0);
    for (path, text) in texts {
        channels += text.matches("[[channel]]\n").count();
        radios += match path.ends_with(".csv") {
            true => text.lines().count() - 1,
            false => text.matches("[[radio]]\n").count(),
        };
    }
    assert_eq!((channels, radios), (60, 40));
}

#[test]
fn the_published_plans_are_sound() {
    assert_eq!(found("tests/fixtures/published"), []);
}

#[test]
fn the_faults_planted_are_found_and_nothing_else() {
    let (found, planted) = (found("docs/examples/saltmarsh-with-faults"), planted());
    let names = |all: &[(String, String, String)]| {
        all.iter().map(|(rule, file, _)| format!("{rule} in {file}")).collect::<Vec<_>>()
    };
    assert_eq!(names(&found), names(&planted));
    for ((rule, _, line), (_, _, begins)) in found.iter().zip(&planted) {
        // The line is left out of the message: one of them holds the material of a key.
        assert!(line.starts_with(begins.as_str()), "{rule} is not where a line begins with `{begins}`");
    }
}

/// One fault a rule; a fault of two ends stands in one file.
#[test]
fn each_rule_is_planted_once() {
    let planted = planted();
    assert!(planted.len() >= 25, "{} faults", planted.len());
    for (rule, file, _) in &planted {
        let places: Vec<_> = planted.iter().filter(|(other, ..)| other == rule).collect();
        let ends = if rule.starts_with("duplicate-") { 2 } else { 1 };
        assert_eq!(places.len(), ends, "{rule}");
        assert!(places.iter().all(|(_, other, _)| other == file), "{rule}");
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
