//! `guywire check --since REV`: what a change brought in.

#![allow(clippy::unwrap_used)]

mod common;

use common::{Folder, SOUND, WRONG};
use serde_json::Value;

const SETTINGS: &str = "[workspace]\nas_of = 2026-11-25\n";
/// Two errors of one rule at two keys.
const WORSE: &str = "[plan]\ntitel = \"Saltmarsh Harbor handhelds\"\nrevison = \"2026-11\"\n";

fn rules_at(folder: &Folder, arguments: &[&str]) -> Vec<(String, u64)> {
    let run = folder.guywire(&[&["check", "--format", "json"], arguments].concat());
    assert_eq!(run.err, "");
    let document: Value = serde_json::from_str(&run.out).unwrap();
    let findings = document["findings"].as_array().unwrap();
    let of =
        |finding: &Value| (finding["path"].as_str().unwrap().to_owned(), finding["start"]["line"].as_u64().unwrap());
    findings.iter().map(of).collect()
}

#[test]
fn only_what_is_new_is_shown_and_counts() {
    let folder = Folder::with(&[("guywire.toml", SETTINGS), ("harbor.plan.toml", WRONG)]);
    folder.commit();
    let none = folder.guywire(&["check", "--since", "HEAD"]);
    assert_eq!((none.code, none.out.as_str(), none.err.as_str()), (Some(0), "", ""));
    folder.write("harbor.plan.toml", format!("# moved\n\n{WORSE}").as_bytes());
    let some = folder.guywire(&["check", "--since", "HEAD"]);
    assert_eq!((some.code, some.err.as_str()), (Some(1), ""));
    assert!(some.out.starts_with("harbor.plan.toml:5:1: error[unknown-key]: "), "{}", some.out);
    assert!(some.out.ends_with("\n1 error in 1 of 2 files, not there at HEAD.\n"), "{}", some.out);
    assert!(!some.out.contains("titel ="), "{}", some.out);
    assert_eq!(folder.guywire(&["check"]).out.matches("error[unknown-key]").count(), 2);
}

/// Of findings that only their number tells apart, as many are left as there are more.
#[test]
fn equal_findings_are_counted() {
    let unnamed = "[[channel]]\nsends = \"digital\"\nrx_mhz = 453.2125\n\n";
    let folder = Folder::with(&[("harbor.plan.toml", &format!("{SOUND}\n{unnamed}"))]);
    folder.commit();
    folder.write("harbor.plan.toml", format!("{SOUND}\n{unnamed}{unnamed}{unnamed}").as_bytes());
    let found = |arguments: &[&str]| rules_at(&folder, arguments).len();
    let (all, new) = (found(&[]), found(&["--since", "HEAD"]));
    assert!(all > new && new > 0 && all % 3 == 0 && all / 3 * 2 == new, "{all} {new}");
}

#[test]
fn a_renamed_file_keeps_its_findings_and_is_named() {
    let folder = Folder::with(&[("guywire.toml", SETTINGS), ("harbor.plan.toml", WORSE), ("quay.plan.toml", WRONG)]);
    folder.commit();
    // One is renamed and edited, which git must be told; the other only moves.
    folder.git(&["mv", "harbor.plan.toml", "north.plan.toml"]);
    folder.write("north.plan.toml", format!("{WORSE}mdoel = \"x\"\n").as_bytes());
    folder.git(&["add", "--all"]);
    std::fs::rename(folder.path().join("quay.plan.toml"), folder.path().join("south.plan.toml")).unwrap();
    assert_eq!(rules_at(&folder, &["--since", "HEAD"]), [("north.plan.toml".to_owned(), 4)]);
    let text = folder.guywire(&["check", "--since", "main"]).out;
    let named = "north.plan.toml was harbor.plan.toml at main\nsouth.plan.toml was quay.plan.toml at main\n";
    assert!(text.contains(named), "{text}");
}

#[test]
fn programs_are_told_since_when() {
    let folder = Folder::with(&[("guywire.toml", SETTINGS), ("harbor.plan.toml", SOUND)]);
    folder.commit();
    folder.write("harbor.plan.toml", WRONG.as_bytes());
    let document = |form: &str| -> Value {
        let run = folder.guywire(&["check", "--since", "main", "--format", form]);
        assert_eq!((run.code, run.err.as_str()), (Some(1), ""));
        serde_json::from_str(&run.out).unwrap()
    };
    let json = document("json");
    assert_eq!(
        (json["since"]["revision"].as_str(), json["findings"].as_array().map(Vec::len)),
        (Some("main"), Some(1))
    );
    assert!(json["since"]["object"].as_str().is_some_and(|object| object.len() == 40), "{json}");
    assert_eq!(document("sarif")["runs"][0]["results"][0]["baselineState"], "new");
}

/// What a waiver accepted then, and what was found then and is waived now, is no news.
#[test]
fn of_what_is_waived_only_what_is_new_is_told() {
    let channel = |name: &str, waiver: &str| {
        format!("[[channel]]\nname = \"{name}\"\nsends = \"digital\"\nrx_mhz = 453.2125\n{waiver}color_code = 15\n\n")
    };
    let waiver = "# waive(color-code-15): agreed with the neighbors\n";
    let plan = |channels: &[String]| format!("{SOUND}\n{}", channels.concat());
    let folder = Folder::with(&[("harbor.plan.toml", &plan(&[channel("Yard", waiver), channel("Gate", "")]))]);
    folder.commit();
    let now = plan(&[channel("Yard", waiver), channel("Gate", waiver), channel("Quay", waiver)]);
    folder.write("harbor.plan.toml", now.as_bytes());
    let waived = |arguments: &[&str]| {
        let run = folder.guywire(&[&["check", "--format", "json"], arguments].concat());
        let document: Value = serde_json::from_str(&run.out).unwrap();
        document["waived"].as_array().unwrap().len()
    };
    assert_eq!((waived(&[]), waived(&["--since", "HEAD"])), (3, 1));
}

/// The state of then is judged by the day of now: a date that passes is nobody's change.
#[test]
fn both_states_are_judged_by_one_day() {
    let plan = "[plan]\n\n[[key]]\nname = \"harbor-2026\"\nid = 17\nalgorithm = \"aes-256\"\nheld_in = \"vault:harbor/radio/17\"\nrotate_by = 2027-01-12\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\nprivacy = \"harbor-2026\"\n";
    let folder = Folder::with(&[("harbor.plan.toml", plan)]);
    folder.commit();
    let late = ["check", "--fail-on", "warning", "--as-of", "2027-01-13"];
    assert_eq!(folder.guywire(&late).code, Some(1));
    assert_eq!(folder.guywire(&[&late[..], &["--since", "HEAD"]].concat()).code, Some(0));
}

/// A workspace below the top of its repository, which holds another, is compared with itself.
#[test]
fn a_workspace_may_be_a_part_of_its_repository() {
    let folder = Folder::with(&[
        ("north/guywire.toml", SETTINGS),
        ("north/harbor.plan.toml", WRONG),
        ("south/harbor.plan.toml", SOUND),
    ]);
    folder.commit();
    folder.write("south/harbor.plan.toml", WRONG.as_bytes());
    assert_eq!(folder.guywire(&["check", "north", "--since", "HEAD"]).code, Some(0));
    assert_eq!(folder.guywire(&["check", "north", "south", "--since", "HEAD"]).code, Some(1));
    assert_eq!(folder.guywire(&["check", "south/harbor.plan.toml", "--since", "HEAD"]).code, Some(1));
}

#[test]
fn nothing_is_written() {
    let folder = Folder::with(&[("guywire.toml", SETTINGS), ("harbor.plan.toml", WRONG)]);
    folder.commit();
    folder.write("harbor.plan.toml", WORSE.as_bytes());
    let before = folder.state();
    folder.guywire(&["check", "--since", "HEAD"]);
    assert_eq!(folder.state(), before);
}

#[test]
fn what_cannot_be_compared_is_told_in_one_line() {
    let (folder, other, loose) = (Folder::new(), Folder::new(), Folder::new());
    for folder in [&folder, &other, &loose] {
        folder.write("harbor.plan.toml", WRONG.as_bytes());
    }
    folder.commit();
    other.commit();
    let elsewhere = other.path().to_str().unwrap();
    let told = |folder: &Folder, arguments: &[&str], words: &str| {
        let run = folder.guywire(arguments);
        assert_eq!((run.code, run.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(run.err.starts_with("guywire: ") && run.err.contains(words), "{}", run.err);
        assert_eq!(run.err.matches('\n').count(), 1, "{}", run.err);
    };
    told(&folder, &["check", "--since", "nowhere"], "no revision nowhere");
    told(&folder, &["check", "--since=--all"], "no revision --all");
    told(&folder, &["check", "--since", "HEAD", ".", elsewhere], "different git repositories");
    told(&loose, &["check", "--since", "HEAD"], "no git repository");
    let mut without = folder.command();
    without.env("PATH", loose.path()).args(["check", "--since", "HEAD"]);
    let run = common::run(&mut without);
    assert!(run.code == Some(2) && run.err.contains("none is on the PATH"), "{run:?}");
}
