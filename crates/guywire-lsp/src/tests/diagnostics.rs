//! What is told unasked, and the fixes.

use serde_json::{Value, json};

use super::client::{Client, at, capabilities, span};
use super::fake::World;

const A: &str = "file:///w/a.plan.toml";
const B: &str = "file:///w/b.plan.toml";

fn count(told: &Value) -> usize {
    told["diagnostics"].as_array().expect("a list").len()
}

fn insert(line: u32, character: u32, text: &str) -> Value {
    json!([{ "range": { "start": at(line, character), "end": at(line, character) }, "text": text }])
}

#[test]
fn a_diagnostic_carries_all_that_the_client_can_show() {
    let mut client = Client::new(&World::default());
    client.open(A, 5, "see\nbad spare quiet");
    let related = json!([{ "location": { "uri": A, "range": span(0, 0, 3) }, "message": "look here" }]);
    let told = json!({
        "uri": A,
        "version": 5,
        "diagnostics": [
            {
                "range": span(1, 0, 3),
                "severity": 1,
                "code": "no-bad",
                "source": "guywire",
                "message": "`bad` stands here",
                "relatedInformation": related,
                "data": "00000000000000000000000000000000",
            },
            {
                "range": span(1, 4, 9),
                "severity": 4,
                "code": "no-spare",
                "source": "guywire",
                "message": "`spare` stands here",
                "relatedInformation": related,
                "tags": [1],
                "data": "00000000000000000000000000000000",
            },
        ],
    });
    assert_eq!(client.diagnostics(A), told);
}

#[test]
fn a_diagnostic_carries_nothing_that_the_client_does_not_declare() {
    let mut client = Client::with(&World::default(), json!({}));
    assert_eq!(client.server_info["capabilities"].get("positionEncoding"), None);
    assert_eq!(client.server_info["capabilities"]["codeActionProvider"], json!(false));
    client.open(A, 5, "see spare");
    let bare = json!({
        "range": span(0, 4, 9),
        "severity": 4,
        "code": "no-spare",
        "source": "guywire",
        "message": "`spare` stands here",
    });
    assert_eq!(client.diagnostics(A)["diagnostics"], json!([bare]));
    client.change(A, 6, json!([{ "text": "bad" }]));
    client.diagnostics(A);
    assert_eq!(client.actions(A, span(0, 0, 3)), json!([]));
}

#[test]
fn files_that_are_not_open_are_told_of_until_they_are_mended() {
    let world = World::with(&[("/w/a.plan.toml", "bad"), ("/w/b.plan.toml", "bad"), ("/w/c.plan.toml", "fine")]);
    let mut client = Client::new(&world);
    for uri in [A, B] {
        let told = client.diagnostics(uri);
        assert_eq!((count(&told), told.get("version")), (1, None));
    }
    world.write("/w/a.plan.toml", "good");
    world.remove("/w/b.plan.toml");
    let changes = json!([{ "uri": A, "type": 2 }, { "uri": B, "type": 3 }]);
    client.notify("workspace/didChangeWatchedFiles", json!({ "changes": changes }));
    for uri in [A, B] {
        assert_eq!(client.diagnostics(uri), json!({ "uri": uri, "diagnostics": [] }));
    }
    client.nothing_new(A);
}

#[test]
fn nothing_is_told_twice() {
    let world = World::with(&[("/w/b.plan.toml", "bad")]);
    let mut client = Client::new(&world);
    client.diagnostics(B);
    client.open(A, 1, "fine");
    assert_eq!(client.diagnostics(A), json!({ "uri": A, "version": 1, "diagnostics": [] }));
    client.change(A, 2, insert(0, 0, "very "));
    client.nothing_new(A);
    client.change(A, 3, insert(0, 0, "bad\n\n"));
    assert_eq!(client.diagnostics(A)["version"], 3);
    client.change(A, 4, insert(2, 0, "not "));
    client.nothing_new(A);
    client.change(A, 5, insert(0, 3, " "));
    assert_eq!(client.diagnostics(A)["version"], 5, "the editor's mark may be damaged");
    client.notify("textDocument/didSave", json!({ "textDocument": { "uri": A } }));
    client.nothing_new(A);
}

#[test]
fn a_closed_file_is_as_the_disk_has_it() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    let mut client = Client::new(&world);
    assert_eq!(count(&client.diagnostics(A)), 1);
    client.open(A, 1, "bad");
    assert_eq!(client.diagnostics(A)["version"], 1);
    client.change(A, 2, json!([{ "text": "bad bad" }]));
    assert_eq!(count(&client.diagnostics(A)), 2);
    client.close(A);
    let told = client.diagnostics(A);
    assert_eq!((count(&told), told.get("version")), (1, None));
    client.nothing_new(A);
    client.open(B, 1, "bad");
    assert_eq!(count(&client.diagnostics(B)), 1);
    client.close(B);
    assert_eq!(client.diagnostics(B), json!({ "uri": B, "diagnostics": [] }), "it was never written");
    client.nothing_new(A);
}

#[test]
fn the_open_text_wins_over_the_disk() {
    let world = World::with(&[("/w/a.plan.toml", "fine")]);
    let mut client = Client::new(&world);
    client.open(A, 1, "bad");
    assert_eq!(count(&client.diagnostics(A)), 1);
    world.write("/w/a.plan.toml", "fine still");
    client.notify("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": A, "type": 2 }] }));
    client.nothing_new(A);
    assert_eq!(client.text(A), "bad");
}

#[test]
fn answers_spell_an_address_as_the_client_does() {
    let spelled = "file:///w/%61%2Eplan.toml";
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    let mut client = Client::new(&world);
    client.diagnostics(A);
    let asked = client.actions(spelled, span(0, 0, 3));
    assert_eq!(asked[0]["edit"]["documentChanges"][0]["textDocument"], json!({ "uri": spelled, "version": null }));
    client.open(spelled, 3, "see bad");
    assert_eq!(client.diagnostics(A), json!({ "uri": A, "diagnostics": [] }), "it goes by another address now");
    let told = client.diagnostics(spelled);
    assert_eq!(told["version"], 3);
    assert_eq!(told["diagnostics"][0]["relatedInformation"][0]["location"]["uri"], spelled);
    let asked = client.actions(spelled, span(0, 4, 4));
    assert_eq!(asked[0]["edit"]["documentChanges"][0]["textDocument"], json!({ "uri": spelled, "version": 3 }));
    client.close(spelled);
    assert_eq!(count(&client.diagnostics(spelled)), 1);
    client.nothing_new(A);
}

#[test]
fn one_file_open_under_two_addresses() {
    let other = "file:///w/%61.plan.toml";
    let mut client = Client::new(&World::default());
    client.open(A, 1, "fine");
    client.diagnostics(A);
    client.open(other, 8, "bad");
    assert_eq!(client.diagnostics(other)["version"], 8);
    let told = client.diagnostics(A);
    assert_eq!((count(&told), told.get("version")), (1, None), "it is about the other text");
    client.close(other);
    assert_eq!(client.diagnostics(other), json!({ "uri": other, "diagnostics": [] }));
    assert_eq!(client.text(A), "bad");
    client.change(A, 2, json!([{ "text": "bad bad" }]));
    assert_eq!(client.diagnostics(A)["version"], 2);
}

#[test]
fn buffers_that_were_never_saved_are_checked_and_shadow_nothing() {
    let world = World::with(&[("/w/a.plan.toml", "fine")]);
    let mut client = Client::new(&world);
    for (uri, language) in [("untitled:/w/a.plan.toml", "toml"), ("untitled:Untitled-1", "toml.guywire")] {
        client.open_as(uri, language, 1, "bad");
        assert_eq!(count(&client.diagnostics(uri)), 1);
        assert_eq!(client.text(A), "fine");
        client.close(uri);
        assert_eq!(client.diagnostics(uri), json!({ "uri": uri, "diagnostics": [] }));
    }
    client.nothing_new(A);
}

#[test]
fn texts_beside_a_file_are_left_alone() {
    let world = World::with(&[("/w/a.plan.toml", "fine")]);
    let mut client = Client::new(&world);
    for uri in ["git:/w/a.plan.toml?%7B%22ref%22%3A%22~%22%7D", "vault:/w/a.plan.toml", "untitled:Untitled-1"] {
        client.open(uri, 1, "bad");
        assert_eq!(client.hover(uri, 0, 0), json!(null));
        assert_eq!(client.text(A), "fine");
        client.change(uri, 2, json!([{ "text": "bad bad" }]));
        client.close(uri);
    }
    client.nothing_new(A);
}

#[test]
fn files_are_known_by_name() {
    let mut client = Client::new(&World::default());
    let other = "file:///w/other.toml";
    client.open(other, 1, "bad");
    client.change(other, 2, json!([{ "text": "bad" }]));
    client.close(other);
    client.nothing_new(other);
    client.open("file:///w/guywire.toml", 1, "bad");
    assert_eq!(count(&client.diagnostics("file:///w/guywire.toml")), 1);
}

#[test]
fn what_the_cap_keeps_back_is_counted() {
    let mut client = Client::new(&World::default());
    client.open(A, 1, &"bad ".repeat(12));
    let told = client.diagnostics(A);
    assert_eq!(count(&told), 10);
    let last = &told["diagnostics"][9];
    assert_eq!(last["severity"], 3);
    assert!(last["message"].as_str().is_some_and(|text| text.starts_with("3 more findings")), "{last}");
}

#[test]
fn the_disk_is_looked_at_for_a_client_that_does_not_watch_it() {
    let world = World::default();
    let mut client = Client::new(&world);
    client.nothing_new(A);
    world.write("/w/a.plan.toml", "bad");
    client.open(B, 1, "");
    assert_eq!(count(&client.diagnostics(A)), 1);
    client.diagnostics(B);
    world.write("/w/a.plan.toml", "bad bad");
    assert_eq!(client.text(A), "bad bad");
    assert_eq!(count(&client.diagnostics(A)), 2);
    world.write("/w/a.plan.toml", "fine");
    client.notify("textDocument/didSave", json!({ "textDocument": { "uri": B } }));
    assert_eq!(count(&client.diagnostics(A)), 0);
}

fn watching() -> Value {
    let mut all = capabilities(&["utf-16"]);
    all["workspace"]["didChangeWatchedFiles"] = json!({ "dynamicRegistration": true });
    all
}

#[test]
fn a_client_that_watches_files_is_asked_to() {
    let world = World::default();
    let mut client = Client::with(&world, watching());
    let asked = client.told("client/registerCapability");
    let registration = &asked["params"]["registrations"][0];
    assert_eq!(registration["method"], "workspace/didChangeWatchedFiles");
    let patterns: Vec<&str> = registration["registerOptions"]["watchers"]
        .as_array()
        .expect("watchers")
        .iter()
        .filter_map(|watcher| watcher["globPattern"].as_str())
        .collect();
    assert_eq!(patterns, ["**/*.{plan,model,regime,bench,field}.toml", "**/guywire.toml", "**/*.csv"]);
    client.nothing_new(A);
    world.write("/w/a.plan.toml", "bad");
    assert_eq!(client.hover(A, 0, 0), json!(null), "no answer is waited for, and the disk is not looked at");
    client.send(&json!({ "jsonrpc": "2.0", "id": asked["id"], "result": null }));
    client.notify("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": A, "type": 1 }] }));
    assert_eq!(count(&client.diagnostics(A)), 1);
}

#[test]
fn a_client_that_refuses_to_watch_files_has_them_looked_at() {
    let world = World::default();
    let mut client = Client::with(&world, watching());
    let asked = client.told("client/registerCapability");
    let error = json!({ "code": -32601, "message": "no" });
    client.send(&json!({ "jsonrpc": "2.0", "id": asked["id"], "error": error }));
    client.nothing_new(A);
    world.write("/w/a.plan.toml", "bad");
    // The refusal is dealt with beside the requests, not before them.
    while client.hover(A, 0, 0).is_null() {}
    assert_eq!(count(&client.diagnostics(A)), 1);
}

#[test]
fn a_fix_is_offered_with_its_diagnostic() {
    let mut client = Client::new(&World::default());
    client.open(A, 4, "x bad bad");
    let told = client.diagnostics(A);
    let actions = client.actions(A, span(0, 2, 4));
    let edits = json!([{ "range": span(0, 2, 5), "newText": "good" }]);
    let fix = json!({
        "title": "Make it good",
        "kind": "quickfix",
        "diagnostics": [told["diagnostics"][0]],
        "edit": { "documentChanges": [{ "textDocument": { "uri": A, "version": 4 }, "edits": edits }] },
        "isPreferred": true,
    });
    assert_eq!(actions, json!([fix]));
    assert_eq!(client.actions(A, span(0, 9, 2)).as_array().map(Vec::len), Some(2), "a reversed range is one, too");
    assert_eq!(client.actions(A, span(0, 0, 0)), json!([]));
}

#[test]
fn a_fix_is_offered_in_the_old_form_to_old_clients() {
    let mut old = capabilities(&["utf-16"]);
    old["workspace"] = json!({});
    old["textDocument"]["codeAction"]["isPreferredSupport"] = json!(false);
    let mut client = Client::with(&World::default(), old);
    client.open(A, 4, "bad");
    client.diagnostics(A);
    let fix = &client.actions(A, span(0, 0, 0))[0];
    assert_eq!(fix["edit"], json!({ "changes": { A: [{ "range": span(0, 0, 3), "newText": "good" }] } }));
    assert_eq!(fix.get("isPreferred"), None);
}

/// The kinds of the actions that are offered.
fn kinds(offered: &serde_json::Value) -> Vec<&str> {
    offered.as_array().expect("a list").iter().filter_map(|action| action["kind"].as_str()).collect()
}

#[test]
fn actions_are_offered_only_where_their_kinds_are_wanted() {
    let mut client = Client::new(&World::default());
    client.open(A, 4, "bad");
    client.diagnostics(A);
    let (fix, all) = ("quickfix", "source.fixAll.guywire");
    let cases: [(_, &[&str]); 6] = [
        (json!(["quickfix"]), &[fix]),
        (json!(["source"]), &[all]),
        (json!(["source.fixAll"]), &[all]),
        (json!([all]), &[all]),
        (json!(["source.organizeImports"]), &[]),
        (json!(["refactor", ""]), &[fix, all]),
    ];
    for (only, offered) in cases {
        assert_eq!(kinds(&client.actions_only(A, span(0, 0, 3), only.clone())), offered, "{only}");
    }
    let asked = |by: i32| json!({ "diagnostics": [], "triggerKind": by });
    assert_eq!(kinds(&client.actions_of(A, span(0, 0, 3), asked(1))), [fix, all], "the user asks");
    assert_eq!(kinds(&client.actions_of(A, span(0, 0, 3), asked(2))), [fix], "the cursor moves");
}

#[test]
fn all_safe_fixes_are_one_edit_wherever_the_cursor_is() {
    let mut client = Client::new(&World::default());
    client.open(A, 7, "bad x bad");
    client.diagnostics(A);
    let edits = json!([{ "range": span(0, 0, 9), "newText": "good x good" }]);
    let all = json!({
        "title": "Apply all safe fixes of this file",
        "kind": "source.fixAll.guywire",
        "edit": { "documentChanges": [{ "textDocument": { "uri": A, "version": 7 }, "edits": edits }] },
    });
    for cursor in [span(0, 0, 0), span(0, 4, 4), span(0, 0, 9)] {
        assert_eq!(client.actions_only(A, cursor, json!(["source.fixAll"])), json!([all]));
    }
    client.change(A, 8, json!([{ "text": "x" }]));
    assert_eq!(client.actions_only(A, span(0, 0, 1), json!(["source.fixAll"])), json!([]), "nothing to fix");
    client.diagnostics(A);
}

#[test]
fn a_hover_comes_in_the_form_that_the_client_likes() {
    for (formats, kind, value) in [
        (json!(["markdown", "plaintext"]), "markdown", "**0** of x"),
        (json!(["plaintext", "markdown"]), "plaintext", "0 of x"),
        (json!(null), "plaintext", "0 of x"),
    ] {
        let mut liked = capabilities(&["utf-16"]);
        liked["textDocument"]["hover"]["contentFormat"] = formats;
        let mut client = Client::with(&World::default(), liked);
        client.open(A, 1, "x");
        client.diagnostics(A);
        let hover = json!({ "contents": { "kind": kind, "value": value }, "range": span(0, 0, 1) });
        assert_eq!(client.hover(A, 0, 0), hover);
        assert_eq!(client.hover(A, 0, 9), json!(null));
    }
}
