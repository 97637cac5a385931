//! What a user sees of a check that takes long, and how it is stopped.

use std::sync::atomic::Ordering;

use serde_json::{Value, json};

use super::client::{Client, capabilities};
use super::fake::World;

const A: &str = "file:///w/a.plan.toml";

fn showing() -> Value {
    let mut all = capabilities(&["utf-16"]);
    all["window"] = json!({ "workDoneProgress": true });
    all
}

/// The next value told under a token, and the token.
fn told(client: &mut Client) -> (Value, Value) {
    let params = client.told("$/progress")["params"].clone();
    (params["value"].clone(), params["token"].clone())
}

/// Takes reports until the end.
fn until_the_end(client: &mut Client, token: &Value) {
    let mut before = 0;
    loop {
        let (value, of) = told(client);
        assert_eq!(of, *token);
        if value["kind"] == "end" {
            return;
        }
        assert_eq!(value["kind"], "report");
        let percentage = value["percentage"].as_u64().expect("a number");
        assert!(before <= percentage && percentage <= 100, "{before} then {percentage}");
        before = percentage;
    }
}

#[test]
fn a_long_check_shows_its_progress() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    world.slow_us.store(500, Ordering::Release);
    let mut client = Client::with(&world, showing());
    let token = client.answer("window/workDoneProgress/create", json!(null))["token"].clone();
    let (begin, of) = told(&mut client);
    let expected = json!({ "kind": "begin", "title": "Checking plans", "cancellable": true, "percentage": 0 });
    assert_eq!((begin, &of), (expected, &token));
    assert_eq!(client.text(A), "bad", "requests do not wait for it");
    world.slow_us.store(0, Ordering::Release);
    until_the_end(&mut client, &token);
    client.diagnostics(A);
}

#[test]
fn a_client_that_shows_no_progress_is_told_of_none() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    world.slow_us.store(500, Ordering::Release);
    let mut client = Client::new(&world);
    for _ in 0..50 {
        client.nothing_new(A);
    }
    world.slow_us.store(0, Ordering::Release);
    client.diagnostics(A);
}

#[test]
fn a_client_that_refuses_progress_is_told_of_none() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    world.slow_us.store(500, Ordering::Release);
    let mut client = Client::with(&world, showing());
    let asked = client.told("window/workDoneProgress/create");
    client.send(&json!({ "jsonrpc": "2.0", "id": asked["id"], "error": { "code": -32601, "message": "no" } }));
    for _ in 0..50 {
        client.nothing_new(A);
    }
    world.slow_us.store(0, Ordering::Release);
    client.diagnostics(A);
    client.nothing_new(A);
}

#[test]
fn the_check_of_what_is_not_open_can_be_stopped() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    world.slow_us.store(500, Ordering::Release);
    let mut client = Client::with(&world, showing());
    let token = client.answer("window/workDoneProgress/create", json!(null))["token"].clone();
    told(&mut client);
    client.notify("window/workDoneProgress/cancel", json!({ "token": token }));
    until_the_end(&mut client, &token);
    let before = world.slices.load(Ordering::Acquire);
    client.nothing_new(A);
    client.nothing_new(A);
    let slices = world.slices.load(Ordering::Acquire) - before;
    assert!(slices <= 6, "{slices} slices for two requests");
    world.slow_us.store(0, Ordering::Release);
    client.open("file:///w/b.plan.toml", 1, "bad");
    client.diagnostics("file:///w/b.plan.toml");
    client.notify("textDocument/didSave", json!({ "textDocument": { "uri": A } }));
    client.diagnostics(A);
}

#[test]
fn how_long_a_check_may_take_untold_is_the_clients_to_set() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    world.slow_us.store(500, Ordering::Release);
    let body = json!({
        "processId": null, "rootUri": "file:///w", "capabilities": showing(),
        "initializationOptions": { "limits": { "progressAfterMilliseconds": 60_000 } },
    });
    let mut client = Client::introduced(&world, body);
    for _ in 0..50 {
        client.nothing_new(A);
    }
    let settings = json!({ "guywire": { "limits": { "progressAfterMilliseconds": 0 } } });
    client.notify("workspace/didChangeConfiguration", json!({ "settings": settings }));
    let token = client.answer("window/workDoneProgress/create", json!(null))["token"].clone();
    told(&mut client);
    world.slow_us.store(0, Ordering::Release);
    until_the_end(&mut client, &token);
    client.diagnostics(A);
}

#[test]
fn what_waits_for_a_check_that_is_stopped_is_not_answered() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    world.slow_us.store(500, Ordering::Release);
    let mut all = showing();
    all["textDocument"]["diagnostic"] = json!({});
    all["workspace"]["diagnostics"] = json!({ "refreshSupport": true });
    let mut client = Client::with(&world, all);
    let token = client.answer("window/workDoneProgress/create", json!(null))["token"].clone();
    let file = json!({ "textDocument": { "uri": A } });
    let waiting = [
        client.ask("textDocument/diagnostic", file.clone()),
        client.ask("workspace/diagnostic", json!({ "previousResultIds": [] })),
    ];
    client.notify("window/workDoneProgress/cancel", json!({ "token": token }));
    for id in waiting {
        let refused = client.response(id);
        assert_eq!(refused["error"]["code"], -32802);
        assert_eq!(refused["error"]["data"], json!({ "retriggerRequest": false }));
    }
    told(&mut client);
    until_the_end(&mut client, &token);
    let asked = client.ask("textDocument/diagnostic", file);
    let token = client.answer("window/workDoneProgress/create", json!(null))["token"].clone();
    world.slow_us.store(0, Ordering::Release);
    assert_eq!(client.response(asked)["result"]["items"].as_array().map(Vec::len), Some(1), "to ask is to go on");
    told(&mut client);
    until_the_end(&mut client, &token);
}

#[test]
fn what_is_done_is_traced_when_asked_for() {
    let world = World::default();
    let mut client = Client::new(&world);
    client.open(A, 1, "bad");
    client.diagnostics(A);
    client.nothing_new(A);
    client.notify("$/setTrace", json!({ "value": "messages" }));
    client.change(A, 2, json!([{ "text": "fine" }]));
    client.diagnostics(A);
    let trace = client.told("$/logTrace")["params"].clone();
    assert!(trace["message"].as_str().is_some_and(|text| text.ends_with("told of 1 files")), "{trace}");
    assert_eq!(trace.get("verbose"), None);
    client.notify("$/setTrace", json!({ "value": "verbose" }));
    client.change(A, 3, json!([{ "text": "bad" }]));
    client.diagnostics(A);
    assert_eq!(client.told("$/logTrace")["params"]["verbose"], "a.plan.toml");
    client.notify("$/setTrace", json!({ "value": "off" }));
    client.change(A, 4, json!([{ "text": "fine" }]));
    client.diagnostics(A);
    client.nothing_new(A);
}

/// The number of findings in the next list.
fn count(client: &mut Client) -> Option<usize> {
    client.diagnostics(A)["diagnostics"].as_array().map(Vec::len)
}

#[test]
fn limits_are_the_clients_to_set() {
    let world = World::default();
    let body = json!({
        "processId": null, "rootUri": "file:///w", "capabilities": capabilities(&["utf-16"]),
        "initializationOptions": { "limits": { "findingsPerFile": 2 } },
    });
    let mut client = Client::introduced(&world, body);
    client.open(A, 1, &"bad ".repeat(12));
    assert_eq!(count(&mut client), Some(3), "two and a word on the rest");
    let settings = json!({ "guywire": { "limits": { "findingsPerFile": 5 } } });
    client.notify("workspace/didChangeConfiguration", json!({ "settings": settings }));
    assert_eq!(count(&mut client), Some(6));
    for settings in [json!(null), json!({}), json!({ "other": 1 }), json!({ "guywire": null })] {
        client.notify("workspace/didChangeConfiguration", json!({ "settings": settings }));
        client.nothing_new(A);
    }
    let folder = json!({ "uri": "file:///v", "name": "" });
    let event = json!({ "added": [folder], "removed": [] });
    client.notify("workspace/didChangeWorkspaceFolders", json!({ "event": event }));
    client.nothing_new(A);
}

#[test]
fn a_client_that_can_be_asked_for_its_settings_is() {
    let world = World::default();
    let mut all = capabilities(&["utf-16"]);
    all["workspace"]["configuration"] = json!(true);
    all["workspace"]["didChangeConfiguration"] = json!({ "dynamicRegistration": true });
    let mut client = Client::with(&world, all);
    let registered = client.answer("client/registerCapability", json!(null));
    assert_eq!(registered["registrations"][0]["method"], "workspace/didChangeConfiguration");
    assert_eq!(registered["registrations"][0]["registerOptions"], json!({ "section": "guywire" }));
    let asked = client.answer("workspace/configuration", json!([{ "limits": { "findingsPerFile": 1 } }]));
    assert_eq!(asked, json!({ "items": [{ "section": "guywire" }] }));
    client.open(A, 1, "bad bad bad");
    while count(&mut client) != Some(2) {}
    client.notify("workspace/didChangeConfiguration", json!({ "settings": null }));
    client.answer("workspace/configuration", json!([{ "limits": { "findingsPerFile": 2 } }]));
    while count(&mut client) != Some(3) {}
    client.notify("workspace/didChangeConfiguration", json!({ "settings": null }));
    let asked = client.told("workspace/configuration");
    client.send(&json!({ "jsonrpc": "2.0", "id": asked["id"], "error": { "code": -32603, "message": "no" } }));
    client.nothing_new(A);
}

#[test]
fn files_that_the_client_moves_are_read_where_they_are() {
    let world = World::with(&[("/w/a.plan.toml", "bad")]);
    let mut all = capabilities(&["utf-16"]);
    all["workspace"]["fileOperations"] = json!({ "didCreate": true, "didRename": true, "didDelete": true });
    // It says that it watches, and is not asked to look at the disk again.
    all["workspace"]["didChangeWatchedFiles"] = json!({ "dynamicRegistration": true });
    let mut client = Client::with(&world, all);
    client.answer("client/registerCapability", json!(null));
    let offered = &client.server_info["capabilities"]["workspace"]["fileOperations"];
    for what in ["didCreate", "didRename", "didDelete"] {
        let globs = offered[what]["filters"].as_array().expect("filters").iter();
        let globs: Vec<_> = globs.filter_map(|filter| filter["pattern"]["glob"].as_str()).collect();
        assert_eq!(globs, ["**/*.{plan,model,regime,bench,field}.toml", "**/guywire.toml", "**/*.csv", "**"]);
    }
    assert_eq!(count(&mut client), Some(1));
    world.remove("/w/a.plan.toml");
    world.write("/w/b.plan.toml", "bad");
    let b = "file:///w/b.plan.toml";
    client.notify("workspace/didRenameFiles", json!({ "files": [{ "oldUri": A, "newUri": b }] }));
    assert_eq!(count(&mut client), Some(0));
    client.diagnostics(b);
    world.write("/w/c.plan.toml", "bad");
    client.notify("workspace/didCreateFiles", json!({ "files": [{ "uri": "file:///w/c.plan.toml" }] }));
    client.diagnostics("file:///w/c.plan.toml");
    world.remove("/w/b.plan.toml");
    client.notify("workspace/didDeleteFiles", json!({ "files": [{ "uri": b }] }));
    assert_eq!(client.diagnostics(b), json!({ "uri": b, "diagnostics": [] }));
    assert_eq!(client.hover(A, 0, 0), json!(null));
}
