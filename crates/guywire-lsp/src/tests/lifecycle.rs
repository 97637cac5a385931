//! Beginning, end, and what goes wrong between.

use std::path::PathBuf;
use std::sync::atomic::Ordering;

use serde_json::json;

use super::client::{Client, at};
use super::fake::World;
use crate::Ended;

const A: &str = "file:///w/a.plan.toml";
const B: &str = "file:///w/b.plan.toml";

#[test]
fn says_what_it_can_do() {
    let client = Client::new(&World::default());
    let info = &client.server_info;
    assert_eq!(info["serverInfo"]["name"], "guywire");
    let can = &info["capabilities"];
    assert_eq!(can["positionEncoding"], "utf-16");
    assert_eq!(can["textDocumentSync"], json!({ "openClose": true, "change": 2, "save": { "includeText": false } }));
    assert_eq!(can["hoverProvider"], true);
    assert_eq!(
        can["codeActionProvider"],
        json!({ "codeActionKinds": ["quickfix", "refactor.rewrite", "source.fixAll.guywire"] })
    );
    assert_eq!(can["workspace"]["workspaceFolders"], json!({ "supported": true, "changeNotifications": true }));
}

#[test]
fn exit_ends_the_server_though_the_pipe_stays_open() {
    let mut client = Client::new(&World::default());
    client.request("shutdown", json!(null));
    client.notify("exit", json!(null));
    assert_eq!(client.ended(), Ended::AfterShutdown);
    assert_eq!(Ended::AfterShutdown.code(), 0);
}

#[test]
fn exit_right_behind_shutdown_still_answers_it() {
    let mut client = Client::new(&World::default());
    let id = client.ask("shutdown", json!(null));
    client.notify("exit", json!(null));
    assert_eq!(client.response(id)["result"], json!(null));
    assert_eq!(client.ended(), Ended::AfterShutdown);
}

#[test]
fn exit_without_shutdown_is_abrupt() {
    let mut client = Client::new(&World::default());
    client.notify("exit", json!(null));
    assert_eq!(client.ended(), Ended::Abruptly);
    assert_eq!(Ended::Abruptly.code(), 1);
    let mut client = Client::silent(&World::default());
    client.notify("exit", json!(null));
    assert_eq!(client.ended(), Ended::Abruptly);
}

#[test]
fn exit_ends_the_server_in_the_middle_of_a_request() {
    let world = World::default();
    world.gate.store(true, Ordering::Release);
    let mut client = Client::new(&world);
    client.open(A, 1, "x");
    client.diagnostics(A);
    let id = client.ask("textDocument/hover", json!({ "textDocument": { "uri": A }, "position": at(0, 0) }));
    client.request("shutdown", json!(null));
    client.notify("exit", json!(null));
    assert_eq!(client.error(id), -32800);
    assert_eq!(client.ended(), Ended::AfterShutdown);
    world.gate.store(false, Ordering::Release);
}

#[test]
fn the_end_of_the_input_ends_the_server() {
    let mut client = Client::new(&World::default());
    client.hang_up();
    assert_eq!(client.ended(), Ended::Abruptly);
    let mut client = Client::new(&World::default());
    client.request("shutdown", json!(null));
    client.hang_up();
    assert_eq!(client.ended(), Ended::AfterShutdown);
    let mut client = Client::silent(&World::default());
    client.send_raw(b"Content-Length: 100\r\n\r\n{\"half\":");
    client.hang_up();
    assert_eq!(client.ended(), Ended::Abruptly);
}

#[test]
fn nothing_is_done_before_initialize_or_after_shutdown() {
    let world = World::default();
    let mut client = Client::silent(&world);
    client.open(A, 1, "bad");
    let hover = json!({ "textDocument": { "uri": A }, "position": at(0, 0) });
    let early = client.ask("textDocument/hover", hover.clone());
    assert_eq!(client.error(early), -32002);
    let early = client.ask("shutdown", json!(null));
    assert_eq!(client.error(early), -32002);

    client.request("initialize", json!({ "processId": null, "rootUri": null, "capabilities": {} }));
    client.notify("initialized", json!({}));
    assert_eq!(client.request("textDocument/hover", hover.clone()), json!(null));
    let again = client.ask("initialize", json!({ "processId": null, "rootUri": null, "capabilities": {} }));
    assert_eq!(client.error(again), -32600);

    client.request("shutdown", json!(null));
    let changes = world.changes.load(Ordering::Acquire);
    client.open(A, 1, "bad");
    let late = client.ask("textDocument/hover", hover);
    assert_eq!(client.error(late), -32600);
    client.notify("exit", json!(null));
    assert_eq!(client.ended(), Ended::AfterShutdown);
    assert_eq!(world.changes.load(Ordering::Acquire), changes);
}

#[test]
fn what_is_not_known_is_refused_or_left_alone() {
    let mut client = Client::new(&World::default());
    client.notify("initialized", json!({}));
    client.notify("$/setTrace", json!({ "value": "verbose" }));
    client.notify("workspace/didChangeConfiguration", json!({ "settings": {} }));
    client.notify("no/such", json!({}));
    let id = client.ask("no/such", json!({}));
    assert_eq!(client.error(id), -32601);
    let id = client.ask("textDocument/didOpen", json!({}));
    assert_eq!(client.error(id), -32600);
    let id = client.ask("textDocument/hover", json!({ "textDocument": "5EC2E7" }));
    let refused = client.response(id);
    assert_eq!(refused["error"]["code"], -32602);
    assert!(!refused.to_string().contains("5EC2E7"), "{refused}");
    client.nothing_new(A);
}

#[test]
fn a_message_that_is_none_costs_that_message_only() {
    let mut client = Client::new(&World::default());
    let half_a_pair = r#"{"jsonrpc":"2.0","method":"textDocument/didSave","params":{"text":"\ud83d"}}"#;
    for (body, code) in [("{", -32700), ("[]", -32600), (half_a_pair, -32700)] {
        client.send_raw(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
        let refused = client.response_to_nothing();
        assert_eq!(refused["error"]["code"], code, "{refused}");
    }
    client.send_raw(b"nonsense\r\n");
    assert_eq!(client.response_to_nothing()["error"]["code"], -32700);
    client.nothing_new(A);
}

#[test]
fn a_panic_in_a_request_is_an_error_and_the_server_goes_on() {
    let mut client = Client::new(&World::default());
    client.open(A, 1, "explode on hover");
    client.diagnostics(A);
    let hover = json!({ "textDocument": { "uri": A }, "position": at(0, 0) });
    let id = client.ask("textDocument/hover", hover);
    let failed = client.response(id);
    assert_eq!(failed["error"]["code"], -32603);
    assert!(!failed.to_string().contains("5EC2E7"), "{failed}");
    client.change(A, 2, json!([{ "text": "fine" }]));
    assert_eq!(client.text(A), "fine");
}

#[test]
fn a_panic_in_an_edit_costs_that_text_until_it_comes_whole() {
    let world = World::default();
    let mut client = Client::new(&world);
    client.open(A, 1, "bad");
    client.diagnostics(A);
    client.open(B, 1, "bad");
    client.diagnostics(B);
    let insert = |text: &str| json!([{ "range": { "start": at(0, 0), "end": at(0, 0) }, "text": text }]);
    client.change(A, 2, insert("explode on edit"));
    let told = client.told("window/showMessage");
    assert!(told["params"]["message"].as_str().is_some_and(|text| text.contains("a.plan.toml")), "{told}");
    assert_eq!(client.diagnostics(A), json!({ "uri": A, "diagnostics": [] }));
    client.change(A, 3, insert("more"));
    client.nothing_known(A);

    client.change(B, 2, insert("good "));
    assert_eq!(client.text(B), "good bad");
    assert_eq!(client.diagnostics(B)["version"], 2);

    client.change(A, 4, json!([{ "text": "whole and bad" }]));
    assert_eq!(client.text(A), "whole and bad");
    assert_eq!(client.diagnostics(A)["version"], 4);
    client.change(A, 5, insert("x "));
    assert_eq!(client.text(A), "x whole and bad");
    assert_eq!(client.diagnostics(A)["version"], 5);
    assert_eq!(world.loads.lock().expect("not poisoned").len(), 2);
}

#[test]
fn a_panic_in_a_check_stops_the_checks_until_the_text_changes() {
    let world = World::default();
    let mut client = Client::new(&world);
    client.open(A, 1, "explode on check");
    assert_eq!(client.text(A), "explode on check");
    assert_eq!(client.text(A), "explode on check");
    let before = world.slices.load(Ordering::Acquire);
    client.text(A);
    client.text(A);
    let slices = world.slices.load(Ordering::Acquire) - before;
    assert!(slices <= 6, "{slices} slices for two requests");
    client.change(A, 2, json!([{ "text": "explode on check still" }]));
    client.change(A, 3, json!([{ "text": "bad" }]));
    assert_eq!(client.diagnostics(A)["version"], 3);
    client.told("window/showMessage");
    client.nothing_new(A);
}

#[test]
fn a_panic_while_telling_costs_that_telling_only() {
    let mut client = Client::new(&World::default());
    client.open(A, 1, "explode on telling");
    client.nothing_new(A);
    client.change(A, 2, json!([{ "text": "bad" }]));
    assert_eq!(client.diagnostics(A)["version"], 2);
}

#[test]
fn folders_come_and_go_and_open_texts_stay() {
    let world = World::with(&[("/w/a.plan.toml", "bad"), ("/v/b.plan.toml", "bad")]);
    let mut client = Client::new(&world);
    assert_eq!(client.diagnostics(A)["diagnostics"].as_array().map(Vec::len), Some(1));
    client.open("file:///w/c.plan.toml", 3, "bad c");
    client.diagnostics("file:///w/c.plan.toml");
    let folder = |path: &str| json!({ "uri": path, "name": "" });
    let event = json!({ "added": [folder("file:///v")], "removed": [folder("file:///w")] });
    client.notify("workspace/didChangeWorkspaceFolders", json!({ "event": event }));
    assert_eq!(client.diagnostics(A), json!({ "uri": A, "diagnostics": [] }));
    assert_eq!(client.diagnostics("file:///v/b.plan.toml")["diagnostics"].as_array().map(Vec::len), Some(1));
    assert_eq!(client.text("file:///w/c.plan.toml"), "bad c");
    assert_eq!(*world.loads.lock().expect("not poisoned"), [[PathBuf::from("/w")], [PathBuf::from("/v")]]);
    client.nothing_new(A);
}

#[test]
fn a_new_day_is_noticed() {
    let world = World::default();
    let mut client = Client::new(&world);
    client.nothing_new(A);
    assert_eq!(*world.dates.lock().expect("not poisoned"), []);
    world.day.store(4, Ordering::Release);
    client.nothing_new(A);
    client.nothing_new(A);
    assert_eq!(*world.dates.lock().expect("not poisoned"), [jiff::civil::date(2026, 11, 5)]);
}
