//! Who hears whom in the demo, as a page of an editor and for its views.

#![allow(clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use guywire_report::{audience_view, markdown_audience};
use guywire_workspace::{Address, DiskSource, PlanMatrix, Workspace};
use jiff::civil::date;

fn shown(plan: &str) -> PlanMatrix {
    let demo = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh").canonicalize().unwrap();
    let mut workspace = Workspace::load(Arc::new(DiskSource), std::slice::from_ref(&demo), date(2026, 11, 25));
    workspace.settle_values();
    let file = workspace.file(&Address::Disk(demo.join(Path::new(plan)))).unwrap();
    workspace.audience_of(file).unwrap()
}

#[test]
fn a_plan_is_a_page() {
    insta::assert_snapshot!(markdown_audience("rescue.plan.toml", &shown("rescue.plan.toml")));
}

#[test]
fn a_view_has_a_cell_for_each_column() {
    let view = audience_view(&shown("cranes.plan.toml"));
    let columns = view["columns"].as_array().unwrap().len();
    let rows = view["rows"].as_array().unwrap();
    assert!(columns > 3 && rows.len() > 3, "{view}");
    for row in rows {
        let cells = row["cells"].as_array().unwrap();
        assert_eq!(cells.len(), columns);
        for cell in cells {
            let answer = cell.as_str().or(cell["answer"].as_str()).unwrap();
            assert!(["hears", "hears if scanning", "could tune", "unknown", "noise", "no"].contains(&answer), "{cell}");
            assert!(answer != "no" || cell["why"].is_string(), "a reason for each: {row}");
        }
    }
    let hook = rows.iter().find(|row| row["name"] == "Hook A").unwrap();
    let heard = hook["cells"].as_array().unwrap().iter().filter(|cell| **cell == "hears").count();
    assert_eq!(heard, 1, "{hook}");
}

#[test]
fn names_make_no_markup_and_a_plan_without_radios_says_so() {
    let mut it = shown("rescue.plan.toml");
    it.matrix.senders[0].channels = vec!["a|b *c*".to_owned()];
    let page = markdown_audience("<x>.plan.toml", &it);
    assert!(page.starts_with("# Who hears whom: \\<x\\>.plan.toml\n"), "{page}");
    assert!(page.contains("\n|a\\|b \\*c\\* "), "{page}");
    it.matrix.senders.clear();
    assert!(markdown_audience("x", &it).contains("No radio sends anything here."));
}
