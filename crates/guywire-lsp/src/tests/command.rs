//! The commands.

use std::sync::atomic::Ordering;

use serde_json::{Value, json};

use super::client::{Client, capabilities};
use super::fake::World;

fn shows() -> Value {
    let mut all = capabilities(&["utf-16"]);
    all["window"] = json!({ "showDocument": { "support": true } });
    all
}

fn run(client: &mut Client, arguments: Value) -> Value {
    client.request("workspace/executeCommand", json!({ "command": "guywire.why", "arguments": arguments }))
}

#[test]
fn the_page_of_a_rule_is_answered_and_shown() {
    let mut client = Client::with(&World::default(), shows());
    let offered = &client.server_info["capabilities"]["executeCommandProvider"]["commands"];
    assert_eq!(*offered, json!(["guywire.audience", "guywire.compare", "guywire.why"]));
    let page = run(&mut client, json!(["undefined-name"]))["markdown"].clone();
    assert!(page.as_str().is_some_and(|page| page.starts_with("# undefined-name\n")), "{page}");
    let shown = client.answer("window/showDocument", json!({ "success": true }));
    assert_eq!((&shown["takeFocus"], &shown["external"]), (&json!(true), &json!(false)));
    let uri: tower_lsp::lsp_types::Url = shown["uri"].as_str().expect("an address").parse().expect("well-formed");
    let path = uri.to_file_path().expect("a file");
    assert_eq!(path.file_name().and_then(|name| name.to_str()), Some("guywire-undefined-name.md"));
    assert_eq!(Some(std::fs::read_to_string(&path).expect("it can be read").as_str()), page.as_str());
    drop(client);
    assert!(!path.exists(), "it goes with the server");
}

#[test]
fn without_a_name_it_is_the_catalog() {
    let mut client = Client::new(&World::default());
    for arguments in [json!([]), json!([null]), json!([{ "show": false }])] {
        let page = run(&mut client, arguments)["markdown"].clone();
        assert!(page.as_str().is_some_and(|page| page.starts_with("# Rules\n")), "{page}");
    }
    client.nothing_new("file:///w/a.plan.toml");
}

#[test]
fn a_page_is_not_shown_to_a_client_that_does_not_want_it() {
    let mut client = Client::with(&World::default(), shows());
    run(&mut client, json!(["undefined-name", { "show": false }]));
    client.nothing_new("file:///w/a.plan.toml");
}

#[test]
fn what_is_wrong_is_refused_with_the_reason() {
    let mut client = Client::with(&World::default(), shows());
    for (command, arguments, why) in [
        ("guywire.why", json!(["undefined-nme"]), "did you mean `undefined-name`?"),
        ("guywire.why", json!(["/etc/passwd"]), "there is no such rule"),
        ("guywire.why", json!([3]), "the name of a rule"),
        ("guywire.what", json!([]), "there are: guywire.audience, guywire.compare, guywire.why"),
        ("guywire.audience", json!([]), "the address of a file comes first"),
        ("guywire.audience", json!(["a plan"]), "the address of a file comes first"),
        ("guywire.audience", json!(["file:///w/none.plan.toml"]), "no plan that the server knows"),
        ("guywire.compare", json!(["file:///w/a.plan.toml"]), "[address, revision]"),
        ("guywire.compare", json!(["file:///w/a.plan.toml", 3]), "a revision is a commit"),
        ("guywire.compare", json!(["file:///w/a.plan.toml", { "show": false }]), "[address, revision]"),
        ("guywire.compare", json!(["untitled:new", "HEAD"]), "save this one"),
        ("guywire.compare", json!(["file:///w/a.plan.toml", "HEAD"]), "cannot be read"),
    ] {
        let id = client.ask("workspace/executeCommand", json!({ "command": command, "arguments": arguments }));
        let refused = client.response(id);
        assert_eq!(refused["error"]["code"], -32803, "{refused}");
        assert!(refused["error"]["message"].as_str().is_some_and(|text| text.contains(why)), "{refused}");
    }
    client.nothing_new("file:///w/a.plan.toml");
}

const A: &str = "file:///w/a.plan.toml";

fn ask_for_audience(client: &mut Client) -> i64 {
    client
        .ask("workspace/executeCommand", json!({ "command": "guywire.audience", "arguments": [A, { "show": false }] }))
}

#[test]
fn who_asks_for_an_audience_waits_for_the_values_and_others_do_not() {
    let world = World::with(&[("/w/a.plan.toml", "fine")]);
    world.slow_us.store(500, Ordering::Release);
    let mut client = Client::new(&world);
    let asked = ask_for_audience(&mut client);
    assert_eq!(client.text(A), "fine");
    client.nothing_new(A);
    world.slow_us.store(0, Ordering::Release);
    let refused = client.response(asked);
    assert_eq!(refused["error"]["code"], -32803, "the engine of the tests has none: {refused}");
    assert!(refused["error"]["message"].as_str().is_some_and(|text| text.contains("open a plan")), "{refused}");
}

#[test]
fn who_waits_for_an_audience_is_told_when_the_check_is_stopped() {
    let world = World::with(&[("/w/a.plan.toml", "fine")]);
    world.slow_us.store(500, Ordering::Release);
    let mut client = Client::new(&world);
    let (canceled, asked) = (ask_for_audience(&mut client), ask_for_audience(&mut client));
    client.notify("$/cancelRequest", json!({ "id": canceled }));
    assert_eq!(client.error(canceled), -32800);
    client.notify("window/workDoneProgress/cancel", json!({ "token": "another" }));
    client.nothing_new(A);
    client.notify("window/workDoneProgress/cancel", json!({ "token": "guywire/check/1" }));
    let refused = client.response(asked);
    assert!(refused["error"]["message"].as_str().is_some_and(|text| text.contains("stopped")), "{refused}");
    world.slow_us.store(0, Ordering::Release);
}
