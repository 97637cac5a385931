//! Diagnostics for clients that ask for them.

use std::sync::atomic::Ordering;

use serde_json::{Value, json};

use super::client::{Client, at, capabilities, span};
use super::fake::World;

const A: &str = "file:///w/a.plan.toml";
const B: &str = "file:///w/b.plan.toml";
const C: &str = "file:///w/c.plan.toml";

/// A client that asks for diagnostics, watches files, and asks again when told to.
fn asking() -> Value {
    let mut all = capabilities(&["utf-16"]);
    all["textDocument"]["diagnostic"] = json!({ "dynamicRegistration": true });
    all["workspace"]["diagnostics"] = json!({ "refreshSupport": true });
    all
}

fn client(world: &World) -> Client {
    Client::with(world, asking())
}

fn one(uri: &str, previous: Option<&str>) -> Value {
    json!({ "textDocument": { "uri": uri }, "identifier": "guywire", "previousResultId": previous })
}

fn all(previous: &[(&str, &str)], token: Option<&str>) -> Value {
    let previous: Vec<Value> = previous.iter().map(|(uri, value)| json!({ "uri": uri, "value": value })).collect();
    match token {
        Some(token) => json!({ "previousResultIds": previous, "partialResultToken": token }),
        None => json!({ "previousResultIds": previous }),
    }
}

fn pull(client: &mut Client, uri: &str, previous: Option<&str>) -> Value {
    client.request("textDocument/diagnostic", one(uri, previous))
}

fn id(report: &Value) -> &str {
    report["resultId"].as_str().expect("an id")
}

fn messages(report: &Value) -> Vec<&str> {
    let items = report["items"].as_array().expect("a full report");
    items.iter().filter_map(|item| item["message"].as_str()).collect()
}

/// The only part of the next partial result.
fn part(client: &mut Client, token: &str) -> Value {
    let told = client.told("$/progress");
    assert_eq!(told["params"]["token"], token);
    let items = told["params"]["value"]["items"].as_array().expect("parts");
    assert_eq!(items.len(), 1, "{told}");
    items[0].clone()
}

fn write(client: &mut Client, world: &World, path: &str, text: &str) {
    world.write(path, text);
    let changes = json!([{ "uri": format!("file://{path}"), "type": 2 }]);
    client.notify("workspace/didChangeWatchedFiles", json!({ "changes": changes }));
}

fn refreshed(client: &mut Client) {
    assert_eq!(client.answer("workspace/diagnostic/refresh", json!(null)), Value::Null);
}

#[test]
fn a_client_that_asks_has_nothing_pushed() {
    let world = World::with(&[("/w/b.plan.toml", "bad")]);
    let mut client = client(&world);
    let offered = json!({ "identifier": "guywire", "interFileDependencies": true, "workspaceDiagnostics": true });
    assert_eq!(client.server_info["capabilities"]["diagnosticProvider"], offered);
    client.open(A, 5, "see\nbad");
    let report = pull(&mut client, A, None);
    assert_eq!(report["kind"], "full");
    let found = json!({
        "range": span(1, 0, 3),
        "severity": 1,
        "code": "no-bad",
        "source": "guywire",
        "message": "`bad` stands here",
        "relatedInformation": [{ "location": { "uri": A, "range": span(0, 0, 3) }, "message": "look here" }],
        "data": "00000000000000000000000000000000",
    });
    assert_eq!(report["items"], json!([found]));
    assert_eq!(messages(&pull(&mut client, B, None)), ["`bad` stands here"], "it need not be open");
    client.nothing_new(A);
}

#[test]
fn a_client_that_does_not_ask_again_has_all_pushed() {
    for without in ["/textDocument/diagnostic", "/workspace/diagnostics"] {
        let mut declared = asking();
        *declared.pointer_mut(without).expect("declared") = Value::Null;
        let mut client = Client::with(&World::default(), declared);
        assert_eq!(client.server_info["capabilities"].get("diagnosticProvider"), None);
        client.open(A, 1, "bad");
        assert_eq!(client.diagnostics(A)["version"], 1);
        let refused = client.ask("textDocument/diagnostic", one(A, None));
        assert_eq!(client.error(refused), -32601);
        let refused = client.ask("workspace/diagnostic", all(&[], None));
        assert_eq!(client.error(refused), -32601);
        client.nothing_new(A);
    }
}

#[test]
fn what_the_client_has_is_not_sent_again() {
    let mut client = client(&World::default());
    client.open(A, 1, "bad");
    let first = pull(&mut client, A, None);
    assert_eq!(pull(&mut client, A, Some(id(&first))), json!({ "kind": "unchanged", "resultId": id(&first) }));
    client.change(A, 2, json!([{ "range": { "start": at(0, 3), "end": at(0, 3) }, "text": " more" }]));
    assert_eq!(pull(&mut client, A, Some(id(&first)))["kind"], "unchanged", "the list is the same");
    client.change(A, 3, json!([{ "text": "so bad" }]));
    let second = pull(&mut client, A, Some(id(&first)));
    assert_eq!((&second["kind"], &second["items"][0]["range"]), (&json!("full"), &span(0, 3, 6)));
    assert_ne!(id(&first), id(&second));
    client.change(A, 4, json!([{ "text": "bad" }]));
    assert_eq!(pull(&mut client, A, Some(id(&first)))["kind"], "unchanged", "an id stands for a list");
    client.nothing_new(A);
}

#[test]
fn what_is_no_file_of_ours_has_no_findings() {
    let mut client = client(&World::default());
    client.open("file:///w/other.toml", 1, "bad");
    for uri in ["file:///w/other.toml", C] {
        let report = pull(&mut client, uri, None);
        assert_eq!((&report["kind"], &report["items"]), (&json!("full"), &json!([])));
    }
    client.nothing_new(A);
}

#[test]
fn a_request_waits_for_the_checks_and_other_requests_do_not() {
    let world = World::default();
    world.slow_us.store(500, Ordering::Release);
    let mut client = client(&world);
    client.open(A, 1, "bad");
    let waiting = client.ask("textDocument/diagnostic", one(A, None));
    let whole = client.ask("workspace/diagnostic", all(&[], None));
    assert_eq!(client.text(A), "bad");
    client.nothing_new(A);
    world.slow_us.store(0, Ordering::Release);
    assert_eq!(messages(&client.response(waiting)["result"]), ["`bad` stands here"]);
    assert_eq!(messages(&client.response(whole)["result"]["items"][0]), ["`bad` stands here"]);
}

#[test]
fn a_request_is_never_answered_from_a_later_text() {
    let world = World::default();
    world.slow_us.store(500, Ordering::Release);
    let mut client = client(&world);
    client.open(A, 1, "bad");
    client.open(B, 1, "bad");
    let early = client.ask("textDocument/diagnostic", one(A, None));
    let other = client.ask("textDocument/diagnostic", one(B, None));
    client.change(A, 2, json!([{ "text": "bad bad" }]));
    let late = client.ask("textDocument/diagnostic", one(A, None));
    let outdated = client.response(early);
    assert_eq!(outdated["error"]["code"], -32802, "ServerCancelled");
    assert_eq!(outdated["error"]["data"], json!({ "retriggerRequest": true }));
    world.slow_us.store(0, Ordering::Release);
    assert_eq!(messages(&client.response(late)["result"]).len(), 2);
    assert_eq!(messages(&client.response(other)["result"]).len(), 1);
    client.nothing_new(A);
}

#[test]
fn a_request_that_waits_is_canceled_at_once() {
    let world = World::default();
    world.slow_us.store(500, Ordering::Release);
    let mut client = client(&world);
    client.open(A, 1, "bad");
    let waiting = [
        client.ask("textDocument/diagnostic", one(A, None)),
        client.ask("workspace/diagnostic", all(&[], None)),
        client.ask("workspace/diagnostic", all(&[], Some("parts"))),
    ];
    for id in waiting {
        client.notify("$/cancelRequest", json!({ "id": id }));
        assert_eq!(client.error(id), -32800);
    }
    world.slow_us.store(0, Ordering::Release);
    client.nothing_new(A);
}

#[test]
fn what_another_file_changes_is_asked_for_again() {
    let world = World::with(&[("/w/b.plan.toml", "bad"), ("/w/c.plan.toml", "fine")]);
    let mut client = client(&world);
    client.open(B, 1, "bad");
    pull(&mut client, B, None);
    client.change(B, 2, json!([{ "text": "bad bad" }]));
    client.nothing_new(A);
    pull(&mut client, B, None);
    client.nothing_new(A);
    // The first file of another address is the same file: an edit there changes what is known here.
    let other = "file:///w/%62.plan.toml";
    client.open(other, 1, "fine");
    refreshed(&mut client);
    assert_eq!(messages(&pull(&mut client, B, None)), [] as [&str; 0]);
    write(&mut client, &world, "/w/c.plan.toml", "bad");
    client.nothing_new(A);
}

#[test]
fn one_refresh_at_a_time_is_asked_for() {
    let world = World::with(&[("/w/c.plan.toml", "fine")]);
    let mut client = client(&world);
    client.request("workspace/diagnostic", all(&[], None));
    write(&mut client, &world, "/w/c.plan.toml", "bad");
    let first = client.told("workspace/diagnostic/refresh");
    client.request("workspace/diagnostic", all(&[], None));
    write(&mut client, &world, "/w/c.plan.toml", "bad bad");
    client.nothing_new(A);
    client.send(&json!({ "jsonrpc": "2.0", "id": first["id"], "result": null }));
    refreshed(&mut client);
    write(&mut client, &world, "/w/c.plan.toml", "fine");
    client.nothing_new(A);
}

#[test]
fn all_files_are_answered_for_at_once() {
    let world = World::with(&[("/w/b.plan.toml", "bad"), ("/w/c.plan.toml", "fine")]);
    let mut client = client(&world);
    client.open(A, 3, "bad");
    let mut items = client.request("workspace/diagnostic", all(&[], None))["items"].clone();
    let parts = items.as_array_mut().expect("parts");
    parts.sort_by_key(|part| part["uri"].to_string());
    let told: Vec<_> =
        parts.iter().map(|part| (part["uri"].as_str(), &part["version"], messages(part).len())).collect();
    assert_eq!(told, [(Some(A), &json!(3), 1), (Some(B), &json!(null), 1), (Some(C), &json!(null), 0)]);
    let known = [(A, id(&parts[0])), (B, id(&parts[1])), ("file:///w/gone.plan.toml", "7")];
    world.write("/w/b.plan.toml", "fine");
    let mut items = client.request("workspace/diagnostic", all(&known, None))["items"].clone();
    let parts = items.as_array_mut().expect("parts");
    parts.sort_by_key(|part| part["uri"].to_string());
    let told: Vec<_> = parts.iter().map(|part| (part["uri"].as_str(), part["kind"].as_str())).collect();
    let gone = Some("file:///w/gone.plan.toml");
    let expected = [(Some(A), "unchanged"), (Some(B), "full"), (Some(C), "full"), (gone, "full")];
    assert_eq!(told, expected.map(|(uri, kind)| (uri, Some(kind))));
    assert_eq!((messages(&parts[1]).len(), messages(&parts[3]).len()), (0, 0));
}

#[test]
fn a_client_that_takes_parts_is_told_as_things_change() {
    let world = World::with(&[("/w/b.plan.toml", "bad"), ("/w/c.plan.toml", "fine")]);
    let mut client = client(&world);
    let held = client.ask("workspace/diagnostic", all(&[], Some("parts")));
    let first = part(&mut client, "parts");
    assert_eq!((&first["uri"], &first["kind"], messages(&first).len()), (&json!(B), &json!("full"), 1));
    client.nothing_new(A);
    write(&mut client, &world, "/w/c.plan.toml", "bad");
    assert_eq!(part(&mut client, "parts")["uri"], C);
    client.open(A, 7, "bad");
    let opened = part(&mut client, "parts");
    assert_eq!((&opened["uri"], &opened["version"]), (&json!(A), &json!(7)));
    client.close(A);
    assert_eq!(part(&mut client, "parts")["items"], json!([]));
    client.nothing_new(A);
    client.notify("$/cancelRequest", json!({ "id": held }));
    assert_eq!(client.error(held), -32800);
    write(&mut client, &world, "/w/c.plan.toml", "fine");
    client.nothing_new(A);

    // It asks again and says what it has: what is the same is not told, what changed meanwhile is.
    let known = [(B, id(&first)), (C, "0123456789abcdef"), ("file:///w/gone.plan.toml", "7")];
    let held = client.ask("workspace/diagnostic", all(&known, Some("more")));
    let told: Vec<Value> = (0..2).map(|_| part(&mut client, "more")).collect();
    let told: Vec<_> = told.iter().map(|part| (part["uri"].as_str(), messages(part).len())).collect();
    assert_eq!(told, [(Some("file:///w/gone.plan.toml"), 0), (Some(C), 0)]);
    client.nothing_new(A);
    let newer = client.ask("workspace/diagnostic", all(&[], Some("newer")));
    assert_eq!(client.response(held)["result"], json!({ "items": [] }));
    assert_eq!(part(&mut client, "newer")["uri"], B);
    client.request("shutdown", json!(null));
    client.notify("exit", json!(null));
    assert_eq!(client.error(newer), -32800);
    client.ended();
}

#[test]
fn an_open_file_that_is_asked_for_is_told_of_again_once_it_is_closed() {
    let world = World::with(&[("/w/a.plan.toml", "fine")]);
    let mut client = client(&world);
    let held = client.ask("workspace/diagnostic", all(&[], Some("parts")));
    client.open(A, 1, "fine");
    let opened = part(&mut client, "parts");
    assert_eq!((&opened["uri"], &opened["items"]), (&json!(A), &json!([])));
    pull(&mut client, A, None);
    client.change(A, 2, json!([{ "text": "bad" }]));
    assert_eq!(messages(&pull(&mut client, A, None)).len(), 1);
    client.nothing_new(A);
    client.close(A);
    let closed = part(&mut client, "parts");
    assert_eq!((&closed["uri"], &closed["items"]), (&json!(A), &json!([])), "it was never saved");
    client.nothing_new(A);
    client.notify("$/cancelRequest", json!({ "id": held }));
    assert_eq!(client.error(held), -32800);
}

#[test]
fn a_text_that_is_not_known_has_no_diagnostics() {
    let mut client = client(&World::default());
    client.open(A, 1, "bad");
    pull(&mut client, A, None);
    client.change(A, 2, json!([{ "range": { "start": at(0, 0), "end": at(0, 0) }, "text": "explode on edit" }]));
    client.told("window/showMessage");
    let refused = client.ask("textDocument/diagnostic", one(A, None));
    assert_eq!(client.error(refused), -32801);
    client.change(A, 3, json!([{ "text": "bad" }]));
    assert_eq!(messages(&pull(&mut client, A, None)).len(), 1);
}

#[test]
fn checks_that_fail_are_an_error_and_no_wait() {
    let mut client = client(&World::default());
    client.open(A, 1, "explode on check");
    let failed = client.ask("textDocument/diagnostic", one(A, None));
    assert_eq!(client.error(failed), -32603);
    client.told("window/showMessage");
    client.change(A, 2, json!([{ "text": "explode on telling" }]));
    let failed = client.ask("textDocument/diagnostic", one(A, None));
    assert_eq!(client.error(failed), -32603);
    client.change(A, 3, json!([{ "text": "bad" }]));
    assert_eq!(messages(&pull(&mut client, A, None)).len(), 1);
}
