//! `guywire compare`: what a change does on the air, told from two commits.

#![allow(clippy::unwrap_used)]

mod common;

use std::path::Path;

use common::Folder;
use serde_json::Value;

/// The demo as the first commit of a repository.
fn harbor() -> Folder {
    let folder = Folder::new();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh").canonicalize().unwrap();
    let mut open = vec![demo.clone()];
    while let Some(at) = open.pop() {
        for entry in std::fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => open.push(path),
                false => folder.write(path.strip_prefix(&demo).unwrap(), &std::fs::read(&path).unwrap()),
            }
        }
    }
    folder.commit();
    folder
}

/// Writes a text of a file as another, where it stands once or more.
fn edit(folder: &Folder, file: &str, from: &str, to: &str) {
    let text = std::fs::read_to_string(folder.path().join(file)).unwrap();
    assert!(text.contains(from), "{file} does not say {from}");
    folder.write(file, text.replace(from, to).as_bytes());
}

fn compare(folder: &Folder, arguments: &[&str]) -> String {
    let run = folder.guywire(&[&["compare"], arguments].concat());
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
    without_commits(&run.out)
}

/// Names of commits are those of the machine's git.
fn without_commits(text: &str) -> String {
    let mut shown = String::new();
    for word in text.split_inclusive(|letter: char| !letter.is_ascii_alphanumeric()) {
        let name = word.trim_end_matches(|letter: char| !letter.is_ascii_alphanumeric());
        let is_commit = matches!(name.len(), 12 | 40) && name.bytes().all(|byte| byte.is_ascii_hexdigit());
        shown += &if is_commit { word.replace(name, "COMMIT") } else { word.to_owned() };
    }
    shown
}

/// Cranes move to slot 1.
fn move_cranes(folder: &Folder) {
    edit(folder, "cranes.plan.toml", "slot = 2\ncall = \"Cranes\"", "slot = 1\ncall = \"Cranes\"");
}

/// Some of everything.
fn change_much(folder: &Folder) {
    move_cranes(folder);
    edit(folder, "common/places.plan.toml", "color_code = 5", "color_code = 6");
    edit(folder, "harbor.plan.toml", "rx_mhz = 451.8375", "rx_mhz = 451.85");
    edit(folder, "harbor.plan.toml", "\"Ferry Mole\", \"Fish quay\"", "\"Fish quay\"");
    edit(folder, "harbor.plan.toml", "name = \"Boats\"", "name = \"Small craft\"");
    edit(folder, "harbor.plan.toml", "zones = [\"Boats\"", "zones = [\"Small craft\"");
    edit(folder, "harbor.plan.toml", "zone = \"Boats\"", "zone = \"Small craft\"");
    edit(folder, "rescue.plan.toml", "revision = \"2026-11\"", "revision = \"2026-12\"");
    edit(folder, "fleet.csv", "21004,Crane 4,HH-0004,crane,2026-11,issued", "21004,Crane 4,HH-0004,crane,2026-11,lost");
    edit(folder, "fleet.csv", "21012,Yard 2", "21017,Yard 2");
    edit(folder, "fleet.csv", "21091,", "21005,Crane 5,HH-0005,crane,2026-11,issued,C1\n21091,");
}

#[test]
fn a_slot_that_changes_is_told_with_who_must_be_written() {
    let folder = harbor();
    move_cranes(&folder);
    insta::assert_snapshot!("slot", compare(&folder, &["HEAD"]));
}

#[test]
fn a_large_change_is_told_for_people_programs_and_reviews() {
    let folder = harbor();
    change_much(&folder);
    folder.commit();
    insta::assert_snapshot!("much_text", compare(&folder, &["HEAD~1", "HEAD"]));
    insta::assert_snapshot!("much_markdown", compare(&folder, &["HEAD~1", "HEAD", "--format", "markdown"]));
    insta::assert_snapshot!("much_json", compare(&folder, &["HEAD~1", "HEAD", "--format", "json"]));
    // The working tree is that commit, so that it says the same.
    let text = |arguments: &[&str]| compare(&folder, arguments).lines().skip(1).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(text(&["HEAD~1"]), text(&["HEAD~1", "HEAD"]));
}

/// Alarms that leave elsewhere, answers that go elsewhere, and a report on another channel, beside push-to-talk that stays.
fn change_beside_calls(folder: &Folder) {
    edit(folder, "common/channels.plan.toml", "revert = \"Rescue\"", "revert = \"selected\"");
    edit(folder, "common/channels.plan.toml", "reply = \"last-heard\"", "reply = \"selected\"");
    edit(folder, "harbor.plan.toml", "channel = \"Mooring 1\"\nprofiles", "channel = \"Lines\"\nprofiles");
}

#[test]
fn alarms_answers_and_reports_are_told_beside_calls() {
    let folder = harbor();
    change_beside_calls(&folder);
    folder.commit();
    insta::assert_snapshot!("beside_text", compare(&folder, &["HEAD~1", "HEAD"]));
    insta::assert_snapshot!("beside_markdown", compare(&folder, &["HEAD~1", "HEAD", "--format", "markdown"]));
    let json: Value = serde_json::from_str(&compare(&folder, &["HEAD~1", "HEAD", "--format", "json"])).unwrap();
    let sent: std::collections::BTreeSet<&str> =
        json["pairs"].as_array().unwrap().iter().filter_map(|pair| pair["sent"].as_str()).collect();
    assert_eq!(sent.into_iter().collect::<Vec<_>>(), ["emergency", "report", "scan-answer"]);
}

/// Emergencies, scan lists, talkgroups and receive groups under other names are no change of who hears whom.
#[test]
fn a_name_that_changes_everywhere_changes_no_pair() {
    let folder = harbor();
    let files = ["cranes.plan.toml", "harbor.plan.toml", "rescue.plan.toml"];
    let shared = ["common/channels.plan.toml", "common/groups.plan.toml", "common/places.plan.toml"];
    for file in files.iter().chain(&shared) {
        let mut text = std::fs::read_to_string(folder.path().join(file)).unwrap();
        for name in ["Quay alarm", "Mole alarm", "Watch", "Mole watch", "Notices", "Rescue", "Pilotage"] {
            text = text.replace(&format!("\"{name}\""), &format!("\"{name} 2\""));
        }
        folder.write(file, text.as_bytes());
    }
    let json: Value = serde_json::from_str(&compare(&folder, &["HEAD", "--format", "json"])).unwrap();
    let groups = json["radios"]["write_again"].as_array().unwrap();
    assert!(!groups.is_empty() && groups.iter().all(|group| group["reach"] == "names"), "{json}");
    assert_eq!((&json["pairs"], &json["fixed"]), (&serde_json::json!([]), &serde_json::json!([])));
}

#[test]
fn nothing_is_told_where_nothing_changes() {
    let folder = harbor();
    let nothing = "From HEAD (COMMIT) to the working tree\n\nNothing changes on the air or in the hand.\n";
    assert_eq!(compare(&folder, &["HEAD"]), nothing);
    edit(&folder, "harbor.plan.toml", "title = \"Saltmarsh Harbor quays\"", "title = \"Quays\"");
    let one = "in the hand. 1 more table changed on paper only or in what no radio holds.\n";
    assert!(compare(&folder, &["HEAD"]).ends_with(one));
    let json: Value = serde_json::from_str(&compare(&folder, &["HEAD", "--format", "json"])).unwrap();
    assert_eq!(json["radios"]["write_again"].as_array().map(Vec::len), Some(0));
}

/// Neither the material of before nor that of now, nor a code, is written in any format.
#[test]
fn secrets_are_not_shown() {
    let (old, new) = ("5c0e9a7714d2b83f61e4c7a90b3d58f2", "1b0e9a7714d2b83f61e4c7a90b3d58aa");
    let plan = |material: &str, code: &str| {
        format!(
            "[plan]\n\n[security]\nprogramming_code = \"{code}\"\n\n[[key]]\nname = \"harbor\"\nid = 17\nalgorithm = \"aes-128\"\ncheck_value = \"9f3a77\"\nvalue = \"{material}\"\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\nprivacy = \"harbor\"\n\n[[zone]]\nname = \"Harbor\"\nchannels = [\"Berths\"]\n\n[[radio]]\nid = 21001\nalias = \"Crane 1\"\nzones = [\"Harbor\"]\n"
        )
    };
    let folder = Folder::with(&[("harbor.plan.toml", &plan(old, "0ddba1100ddba110"))]);
    folder.commit();
    folder.write("harbor.plan.toml", plan(new, "c0ffee11c0ffee11").replace("9f3a77", "8e2b66").as_bytes());
    for format in ["text", "json", "markdown"] {
        let told = compare(&folder, &["HEAD", "--format", format]);
        assert!(told.contains("Crane 1") && told.contains("value"), "{told}");
        for secret in [old, new, "0ddba11", "c0ffee11", "9f3a77", "8e2b66"] {
            assert!(!told.contains(secret), "{format}: {told}");
        }
    }
}

/// Text of a plan does nothing to a terminal, and makes no markup.
#[test]
fn text_of_a_plan_is_harmless() {
    let plan = |name: &str| {
        format!(
            "[plan]\n\n[[talkgroup]]\nname = \"{name}\"\nid = 9\n\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\ncall = \"{name}\"\n\n[[zone]]\nname = \"Harbor\"\nchannels = [\"Berths\"]\n\n[[radio]]\nid = 21001\nalias = \"<b>@all\"\nzones = [\"Harbor\"]\n"
        )
    };
    let folder = Folder::with(&[("harbor.plan.toml", &plan("Old"))]);
    folder.commit();
    folder.write("harbor.plan.toml", plan("\u{202E}[x](y)").as_bytes());
    let text = compare(&folder, &["HEAD"]);
    assert!(text.contains("<U+202E>") && !text.contains('\u{202E}'), "{text}");
    let markdown = compare(&folder, &["HEAD", "--format", "markdown"]);
    assert!(
        markdown.contains("\\[x\\](y)") && markdown.contains("\\<b\\>") && !markdown.contains("@all"),
        "{markdown}"
    );
}

#[test]
fn nothing_is_written_and_other_folders_do_not_count() {
    let folder = Folder::with(&[
        ("north/harbor.plan.toml", "[plan]\n\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n"),
        ("south/harbor.plan.toml", "[plan]\n"),
    ]);
    folder.commit();
    folder.write(
        "north/harbor.plan.toml",
        b"[plan]\n\n[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.225\n",
    );
    let before = folder.state();
    assert!(compare(&folder, &["HEAD", "--path", "south"]).contains("Nothing changes"));
    assert!(compare(&folder, &["HEAD", "--path", "north"]).contains("rx_mhz = 458.225 (was 458.2125)"));
    assert_eq!(folder.state(), before);
}

#[test]
fn what_cannot_be_compared_is_told_in_one_line() {
    let (folder, loose) = (harbor(), Folder::with(&[("harbor.plan.toml", "[plan]\n")]));
    let cases: &[(&Folder, &[&str], &str)] = &[
        (&folder, &["compare"], "<REV>"),
        (&folder, &["compare", "nowhere"], "no revision nowhere"),
        (&folder, &["compare", "HEAD", "HEAD~9"], "no revision HEAD~9"),
        (&folder, &["compare", "HEAD", "--path", "nowhere"], "nothing at nowhere"),
        (&folder, &["compare", "HEAD", "--format", "leaflet"], "--format"),
        (&loose, &["compare", "HEAD"], "no git repository"),
    ];
    for (folder, arguments, told) in cases {
        let run = folder.guywire(arguments);
        assert_eq!((run.code, run.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(run.err.starts_with("guywire: ") && run.err.contains(told), "{arguments:?}: {}", run.err);
        assert_eq!(run.err.matches('\n').count(), 1, "{}", run.err);
    }
}
