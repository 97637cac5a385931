//! Hovers and fixes at a cursor: `▮` in the text is the cursor.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_text::{Document, FileId};
use guywire_workspace::{Address, Budget, MemorySource, TextEdit, Workspace};
use jiff::civil::date;

const MODEL: &str = "[model]\nname = \"hh-uhf\"\n\n[[model.band]]\nlow_mhz = 403\nhigh_mhz = 473\n";

/// A workspace of the text without its cursor, the file, and the byte of the cursor.
fn at_cursor(text: &str) -> (Workspace, FileId, usize) {
    let byte = text.find('▮').expect("a cursor in the text");
    let plain = text.replace('▮', "");
    let files = [("/harbor/harbor.plan.toml", plain.as_str()), ("/harbor/models/hh-uhf.model.toml", MODEL)];
    let source = MemorySource::new(files);
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    workspace.settle(Budget::All, &AtomicBool::new(false));
    let file = workspace.file(&Address::Disk(PathBuf::from("/harbor/harbor.plan.toml"))).expect("the plan");
    (workspace, file, byte)
}

/// The hover with what it is about between brackets.
fn hover(text: &str) -> String {
    let (workspace, file, byte) = at_cursor(text);
    match workspace.hover(file, byte) {
        Some(hover) => {
            let about = workspace.document(file).and_then(|document| document.slice(hover.bytes)).unwrap_or_default();
            format!("[{about}]\n{}", hover.markdown)
        }
        None => "nothing".to_owned(),
    }
}

/// The titles of the fixes, and the lines that the first of them changes.
fn fixes(text: &str) -> String {
    let (workspace, file, byte) = at_cursor(text);
    let offered = workspace.fixes(file, byte..byte);
    let mut page = String::new();
    for fix in &offered {
        let mark = if fix.preferred { "preferred" } else { "offered" };
        let _ = writeln!(page, "{mark}, {:?}: {}", fix.safety, fix.title);
    }
    if let Some(first) = offered.first() {
        let before = workspace.document(file).map(Document::whole_text).unwrap_or_default();
        let after = apply(&before, &first.edits);
        let _ = write!(page, "{}", changed_lines(&before, &after));
    }
    page
}

fn apply(text: &str, edits: &[TextEdit]) -> String {
    let mut text = text.to_owned();
    for edit in edits.iter().rev() {
        text.replace_range(edit.bytes.clone(), &edit.text);
    }
    text
}

fn changed_lines(before: &str, after: &str) -> String {
    let (old, new): (Vec<&str>, Vec<&str>) = (before.split('\n').collect(), after.split('\n').collect());
    let same_start = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let same_end =
        old[same_start..].iter().rev().zip(new[same_start..].iter().rev()).take_while(|(a, b)| a == b).count();
    let mut page = String::new();
    for line in &old[same_start..old.len() - same_end] {
        let _ = writeln!(page, "- {}", line.escape_debug());
    }
    for line in &new[same_start..new.len() - same_end] {
        let _ = writeln!(page, "+ {}", line.escape_debug());
    }
    page
}

const PLAN: &str = r#"[plan]
title = "Saltmarsh Harbor handhelds"
model = "models/hh-uhf.model.toml"

[[talkgroup]]
name = "Berths"
id = 1201

[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
slot = 1
call = "Berths"

[[zone]]
name = "Harbor"
channels = ["Berths"]

[[profile]]
name = "crane"
zones = ["Harbor"]

[[radio]]
id = 21007
alias = "Crane 2"
profile = "crane"

[[key]]
name = "harbor-2026"
value = "5EC2E7"
"#;

fn with(from: &str, to: &str) -> String {
    assert!(PLAN.contains(from), "{from}");
    PLAN.replacen(from, to, 1)
}

#[test]
fn a_key_says_what_it_is_for_and_what_it_takes() {
    insta::assert_snapshot!(hover(&with("slot = 1", "sl▮ot = 1")));
}

#[test]
fn a_frequency_says_its_wavelength() {
    insta::assert_snapshot!(hover(&with("tx_mhz = 453.2125", "tx_mhz = 453.▮2125")));
}

#[test]
fn a_reference_says_what_it_leads_to() {
    insta::assert_snapshot!(hover(&with("call = \"Berths\"", "call = \"Be▮rths\"")));
    insta::assert_snapshot!(hover(&with("channels = [\"Berths\"]", "channels = [\"▮Berths\"]")));
    insta::assert_snapshot!(hover(&with("call = \"Berths\"", "call = \"Nob▮ody\"")));
}

#[test]
fn the_header_of_a_channel_says_what_it_comes_to() {
    insta::assert_snapshot!(hover(&with("[[channel]]", "[[cha▮nnel]]")));
}

#[test]
fn a_secret_is_not_shown() {
    let said = hover(&with("value = \"5EC2E7\"", "value = \"5E▮C2E7\""));
    assert!(!said.split('\n').skip(1).any(|line| line.contains("5EC2E7")), "{said}");
    let (workspace, file, byte) = at_cursor(&with("value = \"5EC2E7\"", "value = \"5E▮C2E7\""));
    assert!(workspace.secrets(file).iter().any(|secret| secret.contains(&byte)));
}

#[test]
fn beside_the_text_there_is_nothing() {
    assert_eq!(hover(&with("\n[[zone]]", "▮\n\n[[zone]]")), "nothing");
}

#[test]
fn a_misspelled_name_is_mended() {
    insta::assert_snapshot!(fixes(&with("repeater = \"beacon\"", "repeater = \"be▮acn\"")));
}

#[test]
fn a_wrong_color_code_is_mended_and_counts_the_radios() {
    insta::assert_snapshot!(fixes(&with("slot = 1", "color_code = ▮3")));
}

#[test]
fn a_fix_keeps_the_line_ends_of_the_file() {
    let text = with("sends = \"digital\"\n", "").replace("[[channel]]", "[[chan▮nel]]").replace('\n', "\r\n");
    insta::assert_snapshot!(fixes(&text));
}

#[test]
fn an_unused_table_is_taken_out_whole() {
    insta::assert_snapshot!(fixes(&with(
        "[[repeater]]",
        "[[talk▮group]]\nname = \"Pilots\"\nid = 1202\n\n[[repeater]]"
    )));
}

#[test]
fn the_material_of_a_key_is_taken_out() {
    let said = fixes(&with("value = \"5EC2E7\"", "val▮ue = \"5EC2E7\""));
    let kept: Vec<&str> = said.lines().filter(|line| !line.starts_with("- ")).collect();
    assert!(kept.iter().all(|line| !line.contains("5EC2E7")), "{said}");
    insta::assert_snapshot!(kept.join("\n"));
}
