//! Completions in the form that each client declares.

use std::sync::Arc;
use std::time::Duration;

use guywire_rules::CATALOG;
use guywire_workspace::{MemorySource, Workspace};
use jiff::civil::date;
use serde_json::{Value, json};

use super::client::{Client, at, span};
use crate::worker::{Pace, Source};

const HARBOR: &str = "file:///w/harbor.plan.toml";
/// A letter of two bytes and a symbol of two UTF-16 units stand before the cursor of the calls below.
const TEXT: &str = "[plan]\ntitle = \"Saltmarsh Harbor\"\nregime = \"maritime-vhf\"\n\n[[talkgroup]]\nname = \"Lötsen 🛟\"\nid = 1202\n\n[[channel]]\nname = \"Port\"\nreceive_group = [\"Lötsen 🛟\", \"\nrx_mhz = \n";

fn client(text: &str, completion: Value) -> Client {
    // What the rules say of a text that is half typed is not the matter here.
    let off: String = CATALOG.iter().map(|rule| format!("{} = \"off\"\n", rule.about().name)).collect();
    let settings = format!("[rules]\n{off}");
    let files = MemorySource::new([("/w/harbor.plan.toml", text), ("/w/guywire.toml", settings.as_str())]);
    let source = Source {
        load: Box::new(move |roots, today| Workspace::load(Arc::new(files.clone()), roots, today)),
        today: Box::new(|| date(2026, 11, 25)),
        disk: Pace { pause: Duration::ZERO, share: 0 },
        untold: Duration::ZERO,
    };
    let capabilities = json!({ "textDocument": { "completion": completion } });
    let mut client =
        Client::of(source, json!({ "processId": null, "rootUri": "file:///w", "capabilities": capabilities }));
    client.open(HARBOR, 1, text);
    client.diagnostics(HARBOR);
    client
}

fn complete(client: &mut Client, position: Value, context: Value) -> Value {
    let params = json!({ "textDocument": { "uri": HARBOR }, "position": position, "context": context });
    client.request("textDocument/completion", params)
}

/// The items at a place, by their label.
fn item(found: &Value, label: &str) -> Value {
    let items = found["items"].as_array().expect("a list");
    let labels: Vec<&str> = items.iter().filter_map(|item| item["label"].as_str()).collect();
    items.iter().find(|item| item["label"] == label).unwrap_or_else(|| panic!("{label} among {labels:?}")).clone()
}

#[test]
fn a_client_that_can_gets_all() {
    let item_of = json!({
        "snippetSupport": true, "documentationFormat": ["markdown"], "preselectSupport": true,
        "labelDetailsSupport": true, "insertTextModeSupport": { "valueSet": [1, 2] },
    });
    let mut client = client(TEXT, json!({ "completionItem": item_of }));
    let options = &client.server_info["capabilities"]["completionProvider"];
    assert!(options["triggerCharacters"].as_array().is_some_and(|all| all.contains(&json!("["))));
    let found = complete(&mut client, at(12, 0), json!({ "triggerKind": 1 }));
    assert_eq!(found["isIncomplete"], json!(false));
    let header = item(&found, "[[zone]]");
    assert_eq!(header["insertTextFormat"], 2);
    assert_eq!(header["insertTextMode"], 1);
    assert_eq!(header["textEdit"]["newText"], "[[zone]]\nname = \"$1\"\nchannels = [$2]");
    assert_eq!(header["documentation"]["kind"], "markdown");
    assert_eq!(header["labelDetails"]["description"], "any number of tables");
    let carrier = complete(&mut client, at(11, 9), json!({ "triggerKind": 1 }));
    let carrier = item(&carrier, "161.7000 (22 as ship)");
    assert_eq!(carrier["textEdit"], json!({ "range": span(11, 9, 9), "newText": "161.7000" }));
    let more = json!([{ "range": span(12, 0, 0), "newText": "tx_mhz = 157.1000\nbandwidth_khz = 25\n" }]);
    assert_eq!(carrier["additionalTextEdits"], more);
}

#[test]
fn a_client_that_declares_nothing_gets_plain_text() {
    let mut client = client(TEXT, json!({}));
    let found = complete(&mut client, at(12, 0), Value::Null);
    let header = item(&found, "[[zone]]");
    assert_eq!(header["insertTextFormat"], 1);
    assert_eq!(header["textEdit"]["newText"], "[[zone]]\nname = \"\"\nchannels = []");
    assert_eq!(header["documentation"], "Channels under one turn of the knob.");
    let kinds: Vec<i64> =
        found["items"].as_array().expect("a list").iter().filter_map(|it| it["kind"].as_i64()).collect();
    assert!(!kinds.is_empty() && kinds.iter().all(|kind| *kind <= 18), "{kinds:?}");
    for absent in ["preselect", "labelDetails", "insertTextMode", "additionalTextEdits"] {
        assert!(found["items"].as_array().expect("a list").iter().all(|item| item.get(absent).is_none()), "{absent}");
    }
}

#[test]
fn places_are_counted_as_agreed() {
    let text = TEXT.replace("receive_group", "privacy_receive = [\"🛟\", \"\ncall = \"Löt\nreceive_group");
    let mut client = client(&text, json!({}));
    let found = complete(&mut client, at(11, 11), json!({ "triggerKind": 1 }));
    let name = item(&found, "Lötsen 🛟");
    assert_eq!(name["textEdit"], json!({ "range": span(11, 8, 11), "newText": "Lötsen 🛟\"" }));
    assert_eq!((&name["filterText"], &name["detail"]), (&json!("Lötsen 🛟"), &json!("talkgroup, id 1202")));
}

#[test]
fn a_character_that_begins_nothing_is_not_answered() {
    let mut client = client(&TEXT.replace("id = 1202", "id = 1202 "), json!({}));
    let context = json!({ "triggerKind": 2, "triggerCharacter": " " });
    // After the value of `id`, and after the equals sign of `rx_mhz`.
    assert_eq!(complete(&mut client, at(6, 10), context.clone())["items"], json!([]));
    assert_ne!(complete(&mut client, at(11, 9), context)["items"], json!([]));
}
