//! Names and outlines with the engine that users get, in the forms that clients take.

use std::sync::Arc;
use std::time::Duration;

use guywire_rules::CATALOG;
use guywire_workspace::{MemorySource, Workspace};
use jiff::civil::date;
use serde_json::{Value, json};

use super::client::{Client, at, capabilities, span};
use crate::worker::{Pace, Source};

const HARBOR: &str = "file:///w/harbor.plan.toml";
const GROUPS: &str = "file:///w/common/groups.plan.toml";
const CRANES: &str = "file:///w/cranes.plan.toml";

// The symbol before the names takes two UTF-16 units and four bytes.
const HARBOR_TEXT: &str = r#"[plan]
shares = ["common/groups.plan.toml"] # 📻

[[channel]]
name = "Berths"
sends = "digital"
rx_mhz = 453.2125
call = "Böje 📻" # the group

[[channel]]
name = "Hook"
sends = "digital"
rx_mhz = 452.3125

[[zone]]
name = "Harbor"
channels = [
    "Berths",
    "Hook",
]
"#;

const GROUPS_TEXT: &str = "[[talkgroup]]\nname = \"Böje 📻\"\nid = 1201\n";

const CRANES_TEXT: &str = "[plan]\nshares = [\"common/groups.plan.toml\"]\n\n[[receive_group]]\nname = \"Quayside\"\ntalkgroups = ['Böje 📻']\n";

fn client(text_document: &Value, experimental: &Value) -> Client {
    // What rules say is not the matter here.
    let off: String = CATALOG.iter().map(|rule| format!("{} = \"off\"\n", rule.about().name)).collect();
    let settings = format!("[rules]\n{off}");
    let files = [
        ("/w/guywire.toml", settings.as_str()),
        ("/w/common/groups.plan.toml", GROUPS_TEXT),
        ("/w/harbor.plan.toml", HARBOR_TEXT),
        ("/w/cranes.plan.toml", CRANES_TEXT),
    ];
    let files = MemorySource::new(files);
    let source = Source {
        load: Box::new(move |roots, today| Workspace::load(Arc::new(files.clone()), roots, today)),
        today: Box::new(|| date(2026, 11, 25)),
        disk: Pace { pause: Duration::ZERO, share: 0 },
        untold: Duration::ZERO,
    };
    let mut declared = capabilities(&["utf-16"]);
    for (key, value) in text_document.as_object().expect("an object") {
        declared["textDocument"][key] = value.clone();
    }
    declared["experimental"] = experimental.clone();
    let body = json!({ "processId": null, "rootUri": "file:///w", "capabilities": declared });
    let mut client = Client::of(source, body);
    for (uri, text) in [(HARBOR, HARBOR_TEXT), (GROUPS, GROUPS_TEXT), (CRANES, CRANES_TEXT)] {
        client.open(uri, 1, text);
        client.diagnostics(uri);
    }
    client
}

fn plain() -> Client {
    client(&json!({}), &json!({}))
}

fn able() -> Client {
    let text_document = json!({
        "definition": { "linkSupport": true },
        "documentSymbol": { "hierarchicalDocumentSymbolSupport": true },
        "documentLink": { "tooltipSupport": true },
        "rename": { "prepareSupport": true },
        "foldingRange": { "rangeLimit": 2 },
    });
    client(&text_document, &json!({ "commands": ["guywire.showReferences"] }))
}

fn place(uri: &str, line: u32, character: u32) -> Value {
    json!({ "textDocument": { "uri": uri }, "position": at(line, character) })
}

fn of_file(uri: &str) -> Value {
    json!({ "textDocument": { "uri": uri } })
}

#[test]
fn a_definition_comes_as_the_client_takes_it() {
    let at_call = || place(HARBOR, 7, 10);
    let found = plain().request("textDocument/definition", at_call());
    assert_eq!(found, json!([{ "uri": GROUPS, "range": span(1, 8, 15) }]));
    let found = able().request("textDocument/definition", at_call());
    let whole = json!({ "start": at(0, 0), "end": at(2, 9) });
    let link = json!({
        "originSelectionRange": span(7, 8, 15), "targetUri": GROUPS,
        "targetRange": whole, "targetSelectionRange": span(1, 8, 15),
    });
    assert_eq!(found, json!([link]));
    assert_eq!(plain().request("textDocument/definition", place(HARBOR, 5, 2)), Value::Null);
}

#[test]
fn references_and_highlights_are_counted_in_the_clients_units() {
    let mut client = plain();
    let mut params = place(GROUPS, 1, 9);
    params["context"] = json!({ "includeDeclaration": false });
    let found = client.request("textDocument/references", params.clone());
    let uses = json!([{ "uri": CRANES, "range": span(5, 15, 22) }, { "uri": HARBOR, "range": span(7, 8, 15) }]);
    assert_eq!(found, uses);
    params["context"]["includeDeclaration"] = json!(true);
    let found = client.request("textDocument/references", params);
    assert_eq!(found.as_array().map(Vec::len), Some(3));
    let found = client.request("textDocument/documentHighlight", place(HARBOR, 17, 7));
    let wanted = json!([{ "range": span(4, 8, 14), "kind": 3 }, { "range": span(17, 5, 11), "kind": 2 }]);
    assert_eq!(found, wanted);
}

#[test]
fn a_rename_edits_every_file_and_names_the_versions() {
    let mut client = able();
    assert_eq!(client.server_info["capabilities"]["renameProvider"], json!({ "prepareProvider": true }));
    let told = client.request("textDocument/prepareRename", place(HARBOR, 7, 15));
    assert_eq!(told, json!({ "range": span(7, 8, 15), "placeholder": "Böje 📻" }));
    assert_eq!(client.request("textDocument/prepareRename", place(HARBOR, 5, 2)), Value::Null);
    let mut params = place(HARBOR, 7, 12);
    params["newName"] = json!("Quay \"A\"");
    let edit = client.request("textDocument/rename", params);
    let file = |uri: &str, range: Value, text: &str| json!({ "textDocument": { "uri": uri, "version": 1 }, "edits": [{ "range": range, "newText": text }] });
    let wanted = json!({ "documentChanges": [
        file(GROUPS, span(1, 7, 16), "\"Quay \\\"A\\\"\""),
        file(CRANES, span(5, 14, 23), "'Quay \"A\"'"),
        file(HARBOR, span(7, 7, 16), "\"Quay \\\"A\\\"\""),
    ] });
    assert_eq!(edit, wanted);
}

#[test]
fn a_refusal_says_why() {
    let mut client = plain();
    assert_eq!(client.server_info["capabilities"]["renameProvider"], json!(true));
    let mut params = place(HARBOR, 17, 7);
    params["newName"] = json!("Hook");
    let id = client.ask("textDocument/rename", params);
    let refused = client.response(id)["error"].clone();
    assert_eq!(refused["code"], -32803);
    assert_eq!(refused["message"], "harbor.plan.toml has a channel \"Hook\" already: choose another name");
}

#[test]
fn no_rename_touches_a_text_that_is_not_known() {
    let mut client = plain();
    client.notify("textDocument/didChange", json!({ "textDocument": { "uri": CRANES }, "contentChanges": [] }));
    client.told("window/showMessage");
    let mut params = place(GROUPS, 1, 9);
    params["newName"] = json!("Quay");
    let id = client.ask("textDocument/rename", params);
    assert_eq!(client.error(id), -32801);
}

#[test]
fn an_outline_is_a_tree_or_a_list() {
    let tree = able().request("textDocument/documentSymbol", of_file(HARBOR));
    let names = |items: &Value| -> Vec<String> {
        let items = items.as_array().expect("items");
        items.iter().map(|item| item["name"].as_str().expect("a name").to_owned()).collect()
    };
    assert_eq!(names(&tree), ["Plan", "Channels", "Harbor"]);
    assert_eq!(names(&tree[1]["children"]), ["Berths", "Hook"]);
    assert_eq!(names(&tree[2]["children"]), ["1 Berths", "2 Hook"]);
    assert_eq!(tree[1]["children"][0]["selectionRange"], span(4, 8, 14));
    let list = plain().request("textDocument/documentSymbol", of_file(HARBOR));
    assert_eq!(names(&list), ["Plan", "Berths", "Hook", "Harbor", "1 Berths", "2 Hook"]);
    assert_eq!(list[4]["containerName"], "Harbor");
    let found = plain().request("workspace/symbol", json!({ "query": "hk" }));
    let hook = json!({ "uri": HARBOR, "range": span(10, 8, 12) });
    assert_eq!(found, json!([{ "name": "Hook", "kind": 6, "location": hook, "containerName": "harbor.plan.toml" }]));
}

#[test]
fn folds_keep_the_closing_bracket_in_sight_and_the_clients_limit() {
    let lines = |found: &Value| -> Vec<(u64, u64)> {
        let line = |fold: &Value, key: &str| fold[key].as_u64().expect("a line");
        found.as_array().expect("folds").iter().map(|fold| (line(fold, "startLine"), line(fold, "endLine"))).collect()
    };
    let found = plain().request("textDocument/foldingRange", of_file(HARBOR));
    assert_eq!(lines(&found), [(0, 1), (3, 7), (9, 12), (14, 19), (16, 18)]);
    let found = able().request("textDocument/foldingRange", of_file(HARBOR));
    assert_eq!(lines(&found), [(0, 1), (3, 7)]);
}

#[test]
fn selections_links_and_lenses_have_their_places() {
    let mut client = able();
    let params = json!({ "textDocument": { "uri": HARBOR }, "positions": [at(17, 7)] });
    let found = client.request("textDocument/selectionRange", params);
    assert_eq!(found[0]["range"], span(17, 5, 11));
    assert_eq!(found[0]["parent"]["range"], span(17, 4, 12));
    let links = client.request("textDocument/documentLink", of_file(CRANES));
    let link = json!({ "range": span(1, 11, 34), "target": GROUPS, "tooltip": "Shared part: common/groups.plan.toml" });
    assert_eq!(links, json!([link]));
    let lenses = client.request("textDocument/codeLens", of_file(GROUPS));
    let places = json!([{ "uri": CRANES, "range": span(5, 15, 22) }, { "uri": HARBOR, "range": span(7, 8, 15) }]);
    let command =
        json!({ "title": "2 uses", "command": "guywire.showReferences", "arguments": [GROUPS, at(0, 0), places] });
    assert_eq!(lenses, json!([{ "range": span(0, 0, 13), "command": command }]));
    let lenses = plain().request("textDocument/codeLens", of_file(GROUPS));
    assert_eq!(lenses[0]["command"], json!({ "title": "2 uses", "command": "" }));
}
