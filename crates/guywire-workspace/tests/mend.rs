//! Mending takes the safe fixes and nothing else, keeps every byte outside them, and taking it twice is taking it once.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

use std::path::PathBuf;
use std::sync::Arc;

use guywire_text::FileId;
use guywire_workspace::{MemorySource, Mending, Workspace};
use jiff::civil::date;

fn mend(text: &str, rule: Option<&str>) -> (Mending, Workspace, Vec<FileId>) {
    let source = MemorySource::new([("/harbor/harbor.plan.toml", text)]);
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    let files = workspace.files();
    let mending = workspace.mend(&files, rule);
    (mending, workspace, files)
}

const ODD: &str = "\u{feff}[plan]\r\ntitle = \"Saltmarsh Harbor\" # the title\r\n\r\n[[channel]]\r\nname   = \"Berths\"\r\nsends = \"digital\"\r\nrx_mhz = \"453.2125\"   # as text\r\nslot = 1\r\nnotes = \"Größe ⚓\"";

#[test]
fn safe_fixes_are_taken_and_nothing_else_changes() {
    let (mending, ..) = mend(ODD, None);
    assert_eq!(mending.files.len(), 1, "{mending:?}");
    assert_eq!(mending.files[0].after, ODD.replace("\"453.2125\"", "453.2125"));
    assert!(mending.circle.is_empty());
}

#[test]
fn twice_is_once() {
    let (first, ..) = mend(ODD, None);
    let (second, ..) = mend(&first.files[0].after, None);
    assert_eq!(second, Mending::default());
}

#[test]
fn what_changes_the_air_is_left_to_people() {
    let text = "[plan]\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\ncolour_code = 5\n";
    let (mending, ..) = mend(text, None);
    assert_eq!(mending, Mending::default());
}

#[test]
fn one_rule_can_be_chosen() {
    let (mending, ..) = mend(ODD, Some("not-in-megahertz"));
    assert_eq!(mending, Mending::default());
}

#[test]
fn a_file_open_in_an_editor_gets_one_edit() {
    let source = MemorySource::new([("/harbor/harbor.plan.toml", ODD)]);
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    let file = workspace.files()[0];
    let edit = workspace.fix_all(file).expect("something to fix");
    let mut text = ODD.to_owned();
    text.replace_range(edit.bytes, &edit.text);
    assert_eq!(text, ODD.replace("\"453.2125\"", "453.2125"));
    workspace.mend(&[file], None);
    assert_eq!(workspace.fix_all(file), None);
}
