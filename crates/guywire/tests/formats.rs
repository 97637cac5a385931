//! `guywire check` for programs: which folder paths start from, and exit codes.

#![allow(clippy::unwrap_used)]

mod common;

use common::{Folder, SOUND, WRONG};
use serde_json::Value;

const SETTINGS: &str = "[workspace]\nformat = 1\n";

fn check(folder: &Folder, arguments: &[&str], code: i32) -> Value {
    let run = folder.guywire(&[&["check", "--format"], arguments].concat());
    assert_eq!((run.code, run.err.as_str()), (Some(code), ""), "{run:?}");
    serde_json::from_str(&run.out).unwrap()
}

fn addresses(log: &Value) -> Vec<&str> {
    let results = log["runs"][0]["results"].as_array().unwrap();
    let uri = "/locations/0/physicalLocation/artifactLocation/uri";
    results.iter().map(|result| result.pointer(uri).and_then(Value::as_str).unwrap()).collect()
}

fn paths(document: &Value) -> Vec<&str> {
    document["findings"].as_array().unwrap().iter().filter_map(|finding| finding["path"].as_str()).collect()
}

fn harbors() -> Folder {
    Folder::with(&[
        (".git/HEAD", ""),
        ("north/guywire.toml", SETTINGS),
        ("north/quay 1/harbor.plan.toml", WRONG),
        ("south/guywire.toml", SETTINGS),
        ("south/harbor.plan.toml", WRONG),
    ])
}

#[test]
fn json_paths_start_from_the_workspace() {
    let folder = harbors();
    assert_eq!(paths(&check(&folder, &["json", "north"], 1)), ["quay 1/harbor.plan.toml"]);
    assert_eq!(paths(&check(&folder, &["json", "north/quay 1"], 1)), ["quay 1/harbor.plan.toml"]);
    let both = check(&folder, &["json", "south", "north"], 1);
    assert_eq!(paths(&both), ["north/quay 1/harbor.plan.toml", "south/harbor.plan.toml"]);
}

#[test]
fn sarif_addresses_start_from_the_repository() {
    let folder = harbors();
    assert_eq!(addresses(&check(&folder, &["sarif", "north"], 1)), ["north/quay%201/harbor.plan.toml"]);
    let both = check(&folder, &["sarif", "south", "north"], 1);
    assert_eq!(addresses(&both), ["north/quay%201/harbor.plan.toml", "south/harbor.plan.toml"]);
}

#[test]
fn nothing_found_is_a_whole_document_too() {
    let folder = Folder::with(&[("harbor.plan.toml", SOUND)]);
    assert_eq!(paths(&check(&folder, &["json"], 0)), [] as [&str; 0]);
    assert_eq!(addresses(&check(&folder, &["sarif"], 0)), [] as [&str; 0]);
}
