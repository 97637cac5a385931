//! The commands.

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
    assert_eq!(*offered, json!(["guywire.why"]));
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
        ("guywire.what", json!([]), "there are: guywire.why"),
    ] {
        let id = client.ask("workspace/executeCommand", json!({ "command": command, "arguments": arguments }));
        let refused = client.response(id);
        assert_eq!(refused["error"]["code"], -32803, "{refused}");
        assert!(refused["error"]["message"].as_str().is_some_and(|text| text.contains(why)), "{refused}");
    }
    client.nothing_new("file:///w/a.plan.toml");
}
