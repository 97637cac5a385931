//! The outline of a file, what folds, what a selection grows to, links and lenses.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

mod common;

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Arc;

use common::{Scene, at_cursor, file, shown, shown_all};
use guywire_text::{Encoding, FileId};
use guywire_workspace::{FileBytes, MemorySource, OutlineItem, Workspace};
use jiff::civil::date;

const MODEL: &str = r#"[model]
name = "hh-uhf"
sends = ["digital"]

[[model.band]]
low_mhz = 403
high_mhz = 473

[[model.power]]
level = "high"
watts = 4.0

[capacity]
zones = 8

[[button]]
place = "side-upper"
presses = ["short", "long"]

[[button]]
place = "side-lower"
"#;

const HARBOR: &str = r#"# The handhelds.
# Nothing else.
[plan]
title = "Saltmarsh Harbor handhelds"
revision = "2026-11"
model = "models/hh-uhf.model.toml"
regime = "us-part-90"
shares = [
    "common/groups.plan.toml",
    # Not written yet.
    "common/sites.plan.toml",
]

[[license]]
name = "harbor-uhf"
expires = 2031-04-30

[[license.assignment]]
tx_mhz = 453.2125
emission = ["7K60FXE", "7K60FXD"]
max_power_w = 35

[[license.assignment]]
low_mhz = 458
high_mhz = 459

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
slot = 1
call = "Berths"

# Between two cranes.
# It needs no repeater.
[[channel]]
name = "Hook"
sends = "digital"
rx_mhz = 452.3125
color_code = 8

[[zone]]
name = "Harbor"
channels = ["Berths", "", "Hook"]

[[key]]
name = "harbor-2026"
id = 17
algorithm = "aes-256"
held_in = "vault:harbor/radio/17"
value = "5EC2E7"
notes = """
# no comment
# either
"""

[[profile]]
name = "quay"
zones = ["Harbor"]

[[radio]]
id = 21007
alias = "Quay 2"
profile = "quay"
stands_by = { zone = "Harbor", channel = "Berths" }

[[radio]]
id = 21008

[radios]
from = "fleet.csv"
columns = { id = "Unit", alias = "Name", profile = "Class" }

[security]
power_on_code = "1793"

[[channel]]
name = "Late"
sends = "nothing"
rx_mhz = 453.2125
"#;

const GROUPS: &str = r#"[[talkgroup]]
name = "Berths"
id = 1201

[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5
slot_1 = { talkgroups = ["Berths"], only_listed = true }
"#;

const FLEET: &str = "Unit,Name,Class\n21030,Lock 1,quay\n21031,\"Lock 2, south\",quay\n";

const BENCH: &str = "[bench]\ndate = 2026-11-03\nmodel = \"models/hh-uhf.model.toml\"\n\n[[reading]]\nmhz = 403.0\nsends = \"digital\"\nlevel = \"high\"\nwatts = 3.7\n";

const FILES: [(&str, &str); 5] = [
    ("common/groups.plan.toml", GROUPS),
    ("fleet.csv", FLEET),
    ("harbor.plan.toml", HARBOR),
    ("models/hh-uhf.model.toml", MODEL),
    ("november.bench.toml", BENCH),
];

fn scene_of(path: &str, from: &str, to: &str) -> Scene {
    let mut files: Vec<(&str, String)> = FILES.iter().map(|(path, text)| (*path, (*text).to_owned())).collect();
    let (_, text) = files.iter_mut().find(|(known, _)| *known == path).expect("a file of the scene");
    assert!(text.contains(from), "{from}");
    *text = text.replacen(from, to, 1);
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (*path, text.as_str())).collect();
    at_cursor(&files)
}

fn whole() -> Workspace {
    scene_of("harbor.plan.toml", "[plan]", "▮[plan]").workspace
}

fn lines(workspace: &Workspace, file: FileId, bytes: &std::ops::Range<usize>) -> String {
    let document = workspace.document(file).expect("a text");
    let line = |byte| document.to_protocol(byte, Encoding::Utf8).line + 1;
    let (first, last) = (line(bytes.start), line(bytes.end));
    if first == last { first.to_string() } else { format!("{first}-{last}") }
}

fn outline(workspace: &Workspace, path: &str) -> String {
    fn write(workspace: &Workspace, file: FileId, items: &[OutlineItem], depth: usize, page: &mut String) {
        for item in items {
            assert!(item.bytes.start <= item.name_bytes.start && item.name_bytes.end <= item.bytes.end, "{item:?}");
            let detail = if item.detail.is_empty() { String::new() } else { format!(" | {}", item.detail) };
            let place = lines(workspace, file, &item.bytes);
            let _ = writeln!(page, "{}{}{detail} [{place}]", "  ".repeat(depth), item.name);
            write(workspace, file, &item.children, depth + 1, page);
        }
    }
    let file = file(workspace, path);
    let mut page = format!("{path}\n");
    write(workspace, file, &workspace.outline(file), 1, &mut page);
    page
}

#[test]
fn the_outline_groups_tables_and_shows_positions() {
    let workspace = whole();
    let page: String = FILES.iter().map(|(path, _)| outline(&workspace, path)).collect();
    assert!(!page.contains("5EC2E7") && !page.contains("1793") && !page.contains("vault"), "{page}");
    insta::assert_snapshot!(page);
}

#[test]
fn an_outline_does_not_wait_for_checks() {
    let source = MemorySource::new(FILES.map(|(path, text)| (PathBuf::from("/harbor").join(path), text)));
    let fresh = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    assert_eq!(outline(&fresh, "harbor.plan.toml"), outline(&whole(), "harbor.plan.toml"));
}

#[test]
fn an_outline_goes_on_where_the_text_is_broken() {
    let scene = scene_of("harbor.plan.toml", "[[zone]]\nname = \"Harbor\"", "[[zo\nname = \"Har▮bor");
    insta::assert_snapshot!(outline(&scene.workspace, "harbor.plan.toml"));
}

#[test]
fn names_are_found_by_their_letters() {
    let workspace = whole();
    let mut page = String::new();
    for query in ["", "b", "HAR", "q2", "ck", "zzz"] {
        let _ = writeln!(page, "{query:?}");
        for found in workspace.find_names(query) {
            let _ = writeln!(page, "  {} {}", found.kind.noun(), shown(&workspace, &found.at));
        }
    }
    insta::assert_snapshot!(page);
}

#[test]
fn tables_values_and_comments_fold() {
    let workspace = whole();
    let mut page = String::new();
    for (path, _) in FILES {
        let _ = writeln!(page, "{path}");
        let file = file(&workspace, path);
        for fold in workspace.folds(file) {
            let _ = writeln!(page, "  {:?} {}", fold.kind, lines(&workspace, file, &fold.bytes));
        }
    }
    insta::assert_snapshot!(page);
}

#[test]
fn line_ends_of_two_bytes_change_no_fold() {
    let folds = |files: &[(&str, &str)]| {
        let scene = at_cursor(files);
        let all = scene.workspace.folds(scene.file);
        all.iter().map(|fold| lines(&scene.workspace, scene.file, &fold.bytes)).collect::<Vec<_>>()
    };
    let plain = HARBOR.replace("[plan]", "▮[plan]");
    assert_eq!(folds(&[("harbor.plan.toml", &plain)]), folds(&[("harbor.plan.toml", &plain.replace('\n', "\r\n"))]));
}

#[test]
fn a_selection_grows_from_the_word_to_the_file() {
    let mut page = String::new();
    for (path, from, to) in [
        ("harbor.plan.toml", "\"\", \"Hook\"]", "\"\", \"Ho▮ok\"]"),
        ("harbor.plan.toml", "max_power_w = 35", "max_power_w = 3▮5"),
        ("harbor.plan.toml", "channel = \"Berths\" }", "chan▮nel = \"Berths\" }"),
        ("harbor.plan.toml", "# It needs no", "# It nee▮ds no"),
        ("harbor.plan.toml", "[[zone]]", "[[zone]]▮"),
        ("harbor.plan.toml", "color_code = 8", "color_▮c"),
        ("fleet.csv", "Lock 1", "Lo▮ck 1"),
    ] {
        let scene = scene_of(path, from, to);
        let document = scene.workspace.document(scene.file).unwrap();
        let around = scene.workspace.selections(scene.file, scene.byte);
        assert_eq!(around.last(), Some(&(0..document.len())));
        let _ = writeln!(page, "{to}");
        for bytes in around {
            let text = document.slice(bytes.clone()).unwrap();
            let said = if text.contains('\n') {
                format!("lines {}", lines(&scene.workspace, scene.file, &bytes))
            } else {
                text.into_owned()
            };
            let _ = writeln!(page, "  {said}");
        }
    }
    insta::assert_snapshot!(page);
}

#[test]
fn paths_are_links_to_what_is_there() {
    let workspace = whole();
    let mut page = String::new();
    for path in ["harbor.plan.toml", "november.bench.toml", "models/hh-uhf.model.toml"] {
        let file = file(&workspace, path);
        for link in workspace.links(file) {
            let place = shown(&workspace, &FileBytes { file, bytes: link.bytes });
            let _ = writeln!(page, "{place}\n  -> {} ({})", workspace.shown_path(link.target), link.tooltip);
        }
    }
    insta::assert_snapshot!(page);
}

#[test]
fn uses_are_counted_above_what_is_used() {
    let workspace = whole();
    let mut page = String::new();
    for (path, _) in FILES {
        let file = file(&workspace, path);
        for lens in workspace.lenses(file) {
            let _ = writeln!(page, "{}\n  {}", shown(&workspace, &FileBytes { file, bytes: lens.bytes }), lens.title);
            let places = shown_all(&workspace, &lens.places);
            page.extend(places.lines().map(|line| format!("    {line}\n")));
        }
    }
    insta::assert_snapshot!(page);
}
