//! What an edit changes in what is shown beside another text.

use serde_json::{Value, json};

use super::air::pulling;
use super::client::{Client, at};
use super::real::{GROUPS_TEXT, HARBOR, HARBOR_TEXT, client_that};

const GROUPS: &str = "file:///w/common/groups.plan.toml";
const HINTS: &str = "workspace/inlayHint/refresh";
const LENSES: &str = "workspace/codeLens/refresh";

fn asking() -> Value {
    let mut all = pulling();
    all["workspace"]["inlayHint"] = json!({ "refreshSupport": true });
    all["workspace"]["codeLens"] = json!({ "refreshSupport": true });
    all
}

fn lenses(client: &mut Client, url: &str) -> Vec<String> {
    let told = client.request("textDocument/codeLens", json!({ "textDocument": { "uri": url } }));
    let told = told.as_array().expect("a list").iter();
    told.map(|lens| lens["command"]["title"].as_str().expect("a title").to_owned()).collect()
}

fn hints(client: &mut Client, url: &str) -> String {
    let range = json!({ "start": at(0, 0), "end": at(99, 0) });
    client.request("textDocument/inlayHint", json!({ "textDocument": { "uri": url }, "range": range })).to_string()
}

#[test]
fn lines_above_tables_follow_an_edit_of_another_file() {
    let mut client = client_that(asking(), HARBOR_TEXT, GROUPS_TEXT);
    client.open(HARBOR, 1, HARBOR_TEXT);
    client.open(GROUPS, 1, GROUPS_TEXT);
    let before = lenses(&mut client, GROUPS);
    let other = HARBOR_TEXT.replace("call = \"Cranes\"", "call = \"Berths\"");
    client.change(HARBOR, 2, json!([{ "text": other }]));
    client.answer(LENSES, json!(null));
    let after = lenses(&mut client, GROUPS);
    assert_ne!(before, after);
    // What changes nothing there, and what the client changes there itself, is no news.
    client.change(HARBOR, 3, json!([{ "text": other.replace("Saltmarsh Harbor", "Harbor") }]));
    client.nothing_new(HARBOR);
    client.change(GROUPS, 2, json!([{ "text": GROUPS_TEXT.replace("1201", "1203") }]));
    client.nothing_new(HARBOR);
    client.change(HARBOR, 4, json!([{ "text": HARBOR_TEXT }]));
    client.nothing_new(HARBOR);
}

#[test]
fn hints_follow_an_edit_of_another_file_and_one_request_is_enough() {
    let mut client = client_that(asking(), HARBOR_TEXT, GROUPS_TEXT);
    client.open(HARBOR, 1, HARBOR_TEXT);
    client.open(GROUPS, 1, GROUPS_TEXT);
    let before = hints(&mut client, HARBOR);
    assert!(before.contains("1201"), "{before}");
    client.change(GROUPS, 2, json!([{ "text": GROUPS_TEXT.replace("1201", "1203") }]));
    let asked = client.told(HINTS);
    client.change(GROUPS, 3, json!([{ "text": GROUPS_TEXT.replace("1201", "1204") }]));
    client.nothing_new(HARBOR);
    client.send(&json!({ "jsonrpc": "2.0", "id": asked["id"], "result": null }));
    // The client has not asked again since, so that it has the old ones is still so.
    client.answer(HINTS, json!(null));
    assert!(hints(&mut client, HARBOR).contains("1204"));
    client.nothing_new(HARBOR);
}

#[test]
fn a_client_that_does_not_ask_again_is_not_told_to() {
    let mut client = client_that(pulling(), HARBOR_TEXT, GROUPS_TEXT);
    client.open(HARBOR, 1, HARBOR_TEXT);
    client.open(GROUPS, 1, GROUPS_TEXT);
    hints(&mut client, HARBOR);
    lenses(&mut client, HARBOR);
    client.change(GROUPS, 2, json!([{ "text": GROUPS_TEXT.replace("1201", "1203") }]));
    client.nothing_new(HARBOR);
    client.nothing_new(HARBOR);
}
