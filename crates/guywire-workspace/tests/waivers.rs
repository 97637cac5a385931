//! Waivers: what they cover, what is said of them, and how one is offered.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_workspace::{Address, Budget, MemorySource, Workspace};
use jiff::civil::date;

fn workspace(files: &[(&str, &str)]) -> Workspace {
    let source = MemorySource::new(files.iter().map(|(path, text)| (PathBuf::from("/harbor").join(path), *text)));
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    assert!(workspace.settle(Budget::All, &AtomicBool::new(false)).settled);
    workspace
}

fn file(workspace: &Workspace) -> guywire_text::FileId {
    workspace.file(&Address::Disk(PathBuf::from("/harbor/harbor.plan.toml"))).unwrap()
}

fn rules(text: &str) -> Vec<&'static str> {
    let workspace = workspace(&[("harbor.plan.toml", text)]);
    workspace.findings(file(&workspace)).shown.iter().map(|shown| shown.rule).collect()
}

/// A sound plan but for two channels with color code 15.
fn plan(before_table: &str, before_key: &str, on_line: &str) -> String {
    format!(
        "[plan]\ntitle = \"Harbor\"\n\n{before_table}[[channel]]\nname = \"Yard\"\nsends = \"digital\"\nrx_mhz = 453.2125\n{before_key}color_code = 15{on_line}\n\n[[channel]]\nname = \"Gate\"\nsends = \"digital\"\nrx_mhz = 453.4625\ncolor_code = 15\n\n[[zone]]\nname = \"Harbor\"\nchannels = [\"Yard\", \"Gate\"]\n"
    )
}

const WAIVER: &str = "# waive(color-code-15) until 2027-01-31: agreed with the neighbors";

#[test]
fn a_waiver_covers_a_key_or_a_table_and_no_more() {
    assert_eq!(rules(&plan("", "", "")), ["color-code-15", "color-code-15"]);
    for text in [
        plan(&format!("{WAIVER}\n"), "", ""),
        plan("", &format!("{WAIVER}\n"), ""),
        plan("", &format!("  {WAIVER}\n# and more to say\n"), ""),
        plan("", "", &format!("  {WAIVER}")),
    ] {
        assert_eq!(rules(&text), ["color-code-15"], "{text}");
        let waived = workspace(&[("harbor.plan.toml", &text)]);
        assert_eq!(waived.waived(file(&waived)).len(), 1);
        assert_eq!(rules(&text.replace('\n', "\r\n")), ["color-code-15"], "{text}");
    }
}

#[test]
fn words_that_are_no_comment_waive_nothing() {
    let text = plan("", "notes = \"# waive(color-code-15): no\"\n", "");
    assert_eq!(rules(&text), ["color-code-15", "color-code-15"]);
    let text = plan("# a waiver is written as waive(rule)\n", "", "");
    assert_eq!(rules(&text), ["color-code-15", "color-code-15"]);
}

#[test]
fn what_is_wrong_with_a_waiver_is_told() {
    let only = |comment: &str| {
        let found = rules(&plan("", &format!("{comment}\n"), ""));
        found.into_iter().filter(|rule| rule.starts_with("waiver-")).collect::<Vec<_>>()
    };
    assert_eq!(only(WAIVER), [""; 0]);
    assert_eq!(only("# waive(color-code-15) until 2027-01-31"), ["waiver-without-reason"]);
    assert_eq!(only("# waive(color-code-15) until 2026-11-24: why"), ["waiver-expired"]);
    assert_eq!(only("# waive(color-code-15) until 2026-11-25: why"), [""; 0]);
    assert_eq!(only("# waive(color-code-51): why"), ["waiver-unused"]);
    assert_eq!(only("# waive(slot-range): why"), ["waiver-unused"]);
    assert_eq!(only("# waive(color-code-15, slot-range): why"), [""; 0]);
}

#[test]
fn an_expired_waiver_turns_no_build_red() {
    let text = plan("", "# waive(color-code-15) until 2026-01-31: why\n", "");
    assert_eq!(rules(&text), ["waiver-expired", "color-code-15"]);
}

#[test]
fn what_is_never_waived_stays() {
    let text = "[plan]\ntitle = \"Harbor\"\n\n[[key]]\nname = \"K\"\nid = 3\nalgorithm = \"arc4-40\"\n# waive(key-in-clear): we know\nvalue = \"9F3A77C201\"\n";
    let found = rules(text);
    assert!(found.contains(&"key-in-clear") && found.contains(&"waiver-unused"), "{found:?}");
}

#[test]
fn settings_say_what_a_waiver_must_say() {
    let text = plan("", "# waive(color-code-15) until 2028-01-31\n", "");
    let settings = "[waivers]\nreason_required = false\nlongest_days = 180\n";
    let workspace = workspace(&[("harbor.plan.toml", &text), ("guywire.toml", settings)]);
    let found: Vec<_> = workspace.findings(file(&workspace)).shown.iter().map(|shown| shown.rule).collect();
    assert_eq!(found, ["waiver-too-long", "color-code-15"]);
}

#[test]
fn a_waiver_is_offered_and_asks_for_its_reason() {
    let text = plan("", "", "");
    let mut workspace = workspace(&[("harbor.plan.toml", &text)]);
    let plan = file(&workspace);
    let at = workspace.findings(plan).shown[0].bytes.clone();
    let offered = workspace.waiver_offers(plan, at);
    let [offer] = offered.as_slice() else { panic!("{offered:?}") };
    assert_eq!(offer.edits[0].text, "# waive(color-code-15) until 2027-02-23: \n");
    let mut changed = text.clone();
    changed.replace_range(offer.edits[0].bytes.clone(), &offer.edits[0].text);
    workspace = self::workspace(&[("harbor.plan.toml", &changed)]);
    let found: Vec<_> = workspace.findings(plan).shown.iter().map(|shown| shown.rule).collect();
    assert_eq!(found, ["waiver-without-reason", "color-code-15"]);
    assert!(workspace.waiver_offers(plan, 0..0).is_empty());
}
