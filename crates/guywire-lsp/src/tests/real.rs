//! The same with the engine that users get.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use guywire_rules::CATALOG;
use guywire_workspace::{MemorySource, Workspace};
use jiff::civil::date;
use serde_json::{Value, json};

use super::client::{Client, at, capabilities, span};
use crate::worker::{Pace, Source};

pub(crate) const HARBOR: &str = "file:///w/harbor.plan.toml";
const GROUPS: &str = "file:///w/common/groups.plan.toml";
const SETTINGS: &str = "file:///w/guywire.toml";

pub(crate) const HARBOR_TEXT: &str = r#"# ünder the 📻
[plan]
title = "Saltmarsh Harbor"
model = "hh-uhf.model.toml"
shares = ["common/groups.plan.toml"]

[[channel]]
name = "Berths"
sends = "digital"
rx_mhz = 453.2125
color_code = 5
slot = 1
call = "Berths"

[[channel]]
name = "Cranes"
sends = "digital"
rx_mhz = 451.8375
color_code = 5
slot = 2
call = "Cranes"

[[zone]]
name = "Harbor"
channels = ["Berths", "Cranes"]

[[radio]]
id = 21007
alias = "Crane 2"
zones = ["Harbor"]
"#;

pub(crate) const GROUPS_TEXT: &str = r#"[[talkgroup]]
name = "Berths"
id = 1201

[[talkgroup]]
name = "Cranes"
id = 1202
"#;

const MODEL_TEXT: &str = r#"[model]
name = "hh-uhf"
kind = "handheld"
sends = ["digital"]

[[model.band]]
low_mhz = 403
high_mhz = 473
"#;

/// Settings that leave only the rules that these texts are written for: what rules to come say is not the matter here.
fn settings() -> String {
    let wanted = ["undefined-name", "unused-definition", "duplicate-name", "toml-syntax", "key-in-clear"];
    let names: Vec<&str> = CATALOG.iter().map(|rule| rule.about().name).collect();
    assert!(wanted.iter().all(|rule| names.contains(rule)), "a rule was renamed");
    let others = names.iter().filter(|rule| !wanted.contains(rule));
    let off: String = others.map(|rule| format!("{rule} = \"off\"\n")).collect();
    format!("[workspace]\nas_of = 2026-11-25\n[rules]\n{off}")
}

fn client_with(harbor: &str, groups: &str) -> Client {
    client_that(capabilities(&["utf-16"]), harbor, groups)
}

/// A client that can do so much.
pub(crate) fn client_that(capabilities: Value, harbor: &str, groups: &str) -> Client {
    let settings = settings();
    let files = [
        ("/w/guywire.toml", settings.as_str()),
        ("/w/hh-uhf.model.toml", MODEL_TEXT),
        ("/w/common/groups.plan.toml", groups),
        ("/w/harbor.plan.toml", harbor),
    ];
    let files = MemorySource::new(files);
    let source = Source {
        load: Box::new(move |roots, today| Workspace::load(Arc::new(files.clone()), roots, today)),
        today: Box::new(|| date(2026, 11, 25)),
        disk: Pace { pause: Duration::ZERO, share: 0 },
        untold: Duration::ZERO,
    };
    let body = json!({ "processId": null, "rootUri": "file:///w", "capabilities": capabilities });
    Client::of(source, body)
}

fn codes(told: &Value) -> Vec<&str> {
    let list = told["diagnostics"].as_array().expect("a list");
    list.iter().filter_map(|diagnostic| diagnostic["code"].as_str()).collect()
}

/// The edit that makes one text out of another, as small as characters allow.
fn replaced(text: &str, from: &str, to: &str) -> (Value, String) {
    let start = text.find(from).expect("a part of the text");
    let position = |byte: usize| {
        let before = &text[..byte];
        let line = before.rfind('\n').map_or(0, |end| end + 1);
        json!({ "line": before.matches('\n').count(), "character": before[line..].encode_utf16().count() })
    };
    let range = json!({ "start": position(start), "end": position(start + from.len()) });
    (json!([{ "range": range, "text": to }]), text.replacen(from, to, 1))
}

#[test]
fn a_misspelled_name_is_found_and_mended() {
    let mut client = client_with(HARBOR_TEXT, GROUPS_TEXT);
    client.open(HARBOR, 1, HARBOR_TEXT);
    assert_eq!(client.diagnostics(HARBOR), json!({ "uri": HARBOR, "version": 1, "diagnostics": [] }));

    let (typed, wrong) = replaced(HARBOR_TEXT, "call = \"Berths\"", "call = \"Berhts\"");
    client.change(HARBOR, 2, typed);
    let told = client.diagnostics(HARBOR);
    assert_eq!(told["version"], 2);
    let found = told["diagnostics"][0].clone();
    assert_eq!((&found["code"], &found["severity"]), (&json!("undefined-name"), &json!(1)));
    assert_eq!(found["range"], span(12, 7, 15));
    assert_eq!(codes(&client.diagnostics(GROUPS)), ["unused-definition"]);

    let fixes = client.actions(HARBOR, span(12, 9, 9));
    let fix = &fixes[0];
    assert!(fix["title"].as_str().is_some_and(|title| title.contains("Berths")), "{fix}");
    assert_eq!(fix["diagnostics"], json!([found]));
    let edits = fix["edit"]["documentChanges"][0]["edits"].as_array().expect("edits").clone();
    assert_eq!(fix["edit"]["documentChanges"][0]["textDocument"], json!({ "uri": HARBOR, "version": 2 }));
    let changes = edits.iter().map(|edit| json!({ "range": edit["range"], "text": edit["newText"] })).collect();
    assert_eq!(wrong.replacen("Berhts", "Berths", 1), HARBOR_TEXT);
    client.change(HARBOR, 3, changes);
    assert_eq!(client.diagnostics(HARBOR), json!({ "uri": HARBOR, "version": 3, "diagnostics": [] }));
    assert_eq!(codes(&client.diagnostics(GROUPS)), [] as [&str; 0]);
}

#[test]
fn an_edit_here_is_found_there() {
    let mut client = client_with(HARBOR_TEXT, GROUPS_TEXT);
    client.open(GROUPS, 1, GROUPS_TEXT);
    client.diagnostics(GROUPS);
    let (typed, _) = replaced(GROUPS_TEXT, "\"Cranes\"", "\"Crane\"");
    client.change(GROUPS, 2, typed);
    let told = client.diagnostics(HARBOR);
    assert_eq!((codes(&told), told.get("version")), (vec!["undefined-name"], None));
    let mut lists = BTreeMap::new();
    client.close(GROUPS);
    client.until(&mut lists, |lists| lists.get(HARBOR).is_some_and(|told| codes(told).is_empty()));
    client.until(&mut lists, |lists| lists.get(GROUPS).is_none_or(|told| codes(told).is_empty()));
}

#[test]
fn settings_count_as_they_are_typed() {
    let mut client = client_with(&HARBOR_TEXT.replace("call = \"Berths\"", "call = \"Berhts\""), GROUPS_TEXT);
    let mut lists = BTreeMap::new();
    client.until(&mut lists, |lists| lists.get(HARBOR).is_some_and(|told| codes(told).contains(&"undefined-name")));
    client.open(SETTINGS, 1, &format!("{}undefined-name = \"hint\"\n", settings()));
    let severity = |lists: &BTreeMap<String, Value>| {
        let list = lists[HARBOR]["diagnostics"].as_array().expect("a list").clone();
        list.iter().find(|found| found["code"] == "undefined-name").map(|found| found["severity"].clone())
    };
    client.until(&mut lists, |lists| severity(lists) == Some(json!(4)));
    client.change(SETTINGS, 2, json!([{ "text": format!("{}undefined-name = \"off\"\n", settings()) }]));
    client.until(&mut lists, |lists| severity(lists).is_none());
    client.until(&mut lists, |lists| lists.contains_key(SETTINGS));
}

#[test]
fn a_buffer_that_was_never_saved_is_checked_alone_and_shadows_nothing() {
    let mut client = client_with(HARBOR_TEXT, GROUPS_TEXT);
    let text = "[plan]\ntitle = \"x\"\n[[channel]]\nname = \"A\"\ncall = \"Berths\"\n";
    for (uri, language) in [("untitled:/w/harbor.plan.toml", "toml"), ("untitled:Untitled-1", "toml.guywire")] {
        client.open_as(uri, language, 1, text);
        let told = client.diagnostics(uri);
        assert!(codes(&told).contains(&"undefined-name"), "no other file is seen from there: {told}");
        client.open(HARBOR, 1, HARBOR_TEXT);
        assert_eq!(client.diagnostics(HARBOR), json!({ "uri": HARBOR, "version": 1, "diagnostics": [] }));
        client.close(HARBOR);
        client.close(uri);
        assert_eq!(client.diagnostics(uri), json!({ "uri": uri, "diagnostics": [] }));
    }
    client.nothing_new(HARBOR);
}

#[test]
fn a_hover_says_something_and_no_key() {
    let secret = "C3A1905E77D24BF8136A0E9D5B82F047";
    let text = format!("{HARBOR_TEXT}\n[[key]]\nname = \"k\"\nalgorithm = \"aes-128\"\nvalue = \"{secret}\"\n");
    let mut client = client_with(&text, GROUPS_TEXT);
    client.open(HARBOR, 1, &text);
    let mut lists = BTreeMap::new();
    client.until(&mut lists, |lists| lists.get(HARBOR).is_some_and(|told| told["version"] == 1));
    let told = &lists[HARBOR];
    assert!(codes(told).contains(&"key-in-clear"), "{told}");
    assert!(!told.to_string().contains(secret), "{told}");
    let lines = u32::try_from(text.lines().count()).expect("few lines");
    let mut said = 0;
    for line in 0..lines {
        for character in [0, 2, 12, 20] {
            let hover = client.hover(HARBOR, line, character);
            said += usize::from(!hover.is_null());
            assert!(!hover.to_string().contains(secret), "{hover}");
        }
        let all = json!({ "start": at(line, 0), "end": at(line, 99) });
        let fixes = client.actions(HARBOR, all);
        let shown =
            fixes.as_array().expect("a list").iter().map(|fix| format!("{}{}", fix["title"], fix["diagnostics"]));
        assert!(!shown.collect::<String>().contains(secret), "{fixes}");
    }
    assert!(said > 0, "no hover says anything");
}

#[test]
fn all_safe_fixes_are_taken_at_once() {
    let mut client = client_with(HARBOR_TEXT, GROUPS_TEXT);
    client.open(SETTINGS, 1, "[workspace]\nas_of = 2026-11-25\n");
    let wrong =
        HARBOR_TEXT.replace("rx_mhz = 453.2125", "rx_mhz = \"453.2125\" # 📻").replace("slot = 2", "slot = \"2\"");
    client.open(HARBOR, 3, &wrong);
    let offered = client.actions_only(HARBOR, span(0, 0, 0), json!(["source.fixAll.guywire"]));
    let edit = &offered[0]["edit"]["documentChanges"][0];
    assert_eq!(edit["textDocument"], json!({ "uri": HARBOR, "version": 3 }), "{offered}");
    let edits = edit["edits"].as_array().expect("edits").iter();
    client.change(HARBOR, 4, edits.map(|edit| json!({ "range": edit["range"], "text": edit["newText"] })).collect());
    let mended = wrong.replace("\"453.2125\"", "453.2125").replace("\"2\"", "2");
    let offered = client.actions_only(HARBOR, span(0, 0, 0), json!(["source.fixAll.guywire"]));
    assert_eq!(offered, json!([]), "twice is once");

    let mut lists = BTreeMap::new();
    client.until(&mut lists, |lists| lists.get(HARBOR).is_some_and(|told| told["version"] == 4));
    let mut fresh = client_with(&mended, GROUPS_TEXT);
    fresh.open(SETTINGS, 1, "[workspace]\nas_of = 2026-11-25\n");
    fresh.open(HARBOR, 4, &mended);
    let mut expected = BTreeMap::new();
    fresh.until(&mut expected, |lists| lists.get(HARBOR).is_some_and(|told| told["version"] == 4));
    assert_eq!(lists[HARBOR], expected[HARBOR], "the text is the one meant");
}

/// Findings depend on the text as it is now: after any edits they equal those of a session that begins with that text.
#[test]
fn a_session_of_edits_ends_as_a_fresh_one_begins() {
    for seed in 1..=6_u64 {
        let mut client = client_with(HARBOR_TEXT, GROUPS_TEXT);
        client.open(HARBOR, 0, HARBOR_TEXT);
        client.open(GROUPS, 0, GROUPS_TEXT);
        let mut texts = [HARBOR_TEXT.to_owned(), GROUPS_TEXT.to_owned()];
        let mut state = seed;
        let mut below = |bound: usize| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            usize::try_from(state >> 33).expect("31 bits") % bound
        };
        for version in 1..60 {
            let file = below(2);
            let (typed, after) = random_edit(&texts[file], &mut below);
            client.change([HARBOR, GROUPS][file], version, typed);
            texts[file] = after;
        }
        let expected = findings(&mut client_with(&texts[0], &texts[1]), &texts, 1000);
        assert_eq!(findings(&mut client, &texts, 1000), expected, "seed {seed}, texts {texts:?}");
    }
}

/// Takes a line out, or puts a piece of a line in.
fn random_edit(text: &str, below: &mut impl FnMut(usize) -> usize) -> (Value, String) {
    let lines: Vec<&str> = text.split('\n').collect();
    let number = below(lines.len());
    let pieces = ["call = \"Cranes\"\n", "\"", "[[talkgroup]]\n", "name = \"Berths\"\n", "#", "'''", "x", "[[zone]]\n"];
    let (end, put) = if below(3) == 0 && number + 1 < lines.len() {
        (json!({ "line": number + 1, "character": 0 }), "")
    } else {
        (json!({ "line": number, "character": 0 }), pieces[below(pieces.len())])
    };
    let start = lines[..number].iter().map(|line| line.len() + 1).sum::<usize>();
    let taken = if put.is_empty() { lines[number].len() + 1 } else { 0 };
    let mut after = text.to_owned();
    after.replace_range(start..start + taken, put);
    (json!([{ "range": { "start": { "line": number, "character": 0 }, "end": end }, "text": put }]), after)
}

/// The findings of both files, once all is settled: each is opened anew, which is always told of, and the last told of
/// each is taken.
fn findings(client: &mut Client, texts: &[String; 2], version: i32) -> [Value; 2] {
    let mut lists = BTreeMap::new();
    for round in 0..2 {
        for (uri, text) in [HARBOR, GROUPS].into_iter().zip(texts) {
            client.open(uri, version + round, text);
        }
        let both = |lists: &BTreeMap<String, Value>| {
            [HARBOR, GROUPS].iter().all(|uri| lists.get(*uri).is_some_and(|told| told["version"] == version + round))
        };
        client.until(&mut lists, both);
    }
    [lists[HARBOR]["diagnostics"].clone(), lists[GROUPS]["diagnostics"].clone()]
}
