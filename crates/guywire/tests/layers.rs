//! Data flows one way: text, blocks, fields, strata, findings, surface. No crate knows one to its right.

#![allow(clippy::unwrap_used)] // A test that cannot go on says so.

use std::path::Path;

/// From the left to the right; those of one line know nothing of each other.
const LAYERS: [&[&str]; 7] = [
    &["guywire-radio", "guywire-text"],
    &["guywire-plan"],
    &["guywire-rules"],
    &["guywire-workspace"],
    &["guywire-report"],
    &["guywire-lsp"],
    &["guywire"],
];

fn layer(name: &str) -> usize {
    LAYERS.iter().position(|layer| layer.contains(&name)).unwrap_or_else(|| panic!("{name} has no layer"))
}

/// The crates of this workspace that a manifest depends on; what only its tests use does not count.
fn arrows(manifest: &str) -> Vec<String> {
    let mut section = "";
    let mut found = Vec::new();
    for line in manifest.lines() {
        if line.starts_with('[') {
            section = line;
        } else if section == "[dependencies]" && line.starts_with("guywire") {
            let name: String =
                line.chars().take_while(|letter| letter.is_ascii_alphanumeric() || *letter == '-').collect();
            found.push(name);
        }
    }
    found
}

#[test]
fn no_arrow_points_back() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut names: Vec<String> = std::fs::read_dir(crates)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(names.len(), LAYERS.iter().map(|layer| layer.len()).sum::<usize>(), "{names:?}");
    let mut seen = 0;
    for name in &names {
        let manifest = std::fs::read_to_string(crates.join(name).join("Cargo.toml")).unwrap();
        for to in arrows(&manifest) {
            seen += 1;
            assert!(layer(&to) < layer(name), "{name} must not depend on {to}");
        }
    }
    assert!(seen > 10, "only {seen} arrows found: the manifests are read wrongly");
}

#[test]
fn only_the_server_knows_the_protocol_and_no_rule_opens_a_file() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    for name in LAYERS.concat() {
        let manifest = std::fs::read_to_string(crates.join(name).join("Cargo.toml")).unwrap();
        let knows = |what: &str| manifest.lines().any(|line| line.starts_with(what));
        assert_eq!(knows("tower-lsp"), name == "guywire-lsp", "{name}");
        assert!(!knows("clap") || name == "guywire", "{name}");
        assert!(!knows("ignore") || name == "guywire-workspace", "{name}");
    }
}
