//! What seven editors say of themselves, cut down to what matters here, and what each gets for it.
//! Source: the first message that each editor sent, recorded.

use serde_json::{Value, json};

use super::client::{Client, span};
use super::fake::World;

const A: &str = "file:///w/a.plan.toml";

/// What an editor gets.
#[derive(Debug, PartialEq, Eq)]
struct Gets {
    encoding: Option<&'static str>,
    /// Where the word behind one character outside the basic plane is said to begin.
    column: u32,
    hover: &'static str,
    related: bool,
    tags: bool,
    data: bool,
    document_changes: bool,
    preferred: bool,
    asked_to_watch: bool,
    /// Diagnostics are answered with, not pushed.
    pulls: bool,
}

fn session(body: &str) -> Gets {
    let mut body: Value = serde_json::from_str(body).expect("a recorded body");
    // Progress is another matter, and would come in between.
    body["initializationOptions"] = json!({ "limits": { "progressAfterMilliseconds": 60_000 } });
    let watches = body["capabilities"]["workspace"]["didChangeWatchedFiles"]["dynamicRegistration"] == true;
    let configured = body["capabilities"]["workspace"]["configuration"] == true;
    let world = World::with(&[("/w/b.plan.toml", "bad")]);
    let mut client = Client::introduced(&world, body);
    if watches {
        client.answer("client/registerCapability", json!(null));
    }
    if configured {
        client.answer("workspace/configuration", json!([null]));
    }
    let pulls = client.server_info["capabilities"].get("diagnosticProvider").is_some();
    let found = |client: &mut Client, uri: &str| {
        if pulls {
            let report = client.request("textDocument/diagnostic", json!({ "textDocument": { "uri": uri } }));
            return report["items"].clone();
        }
        client.diagnostics(uri)["diagnostics"].clone()
    };
    assert_eq!(found(&mut client, "file:///w/b.plan.toml").as_array().map(Vec::len), Some(1));
    client.open(A, 1, "see \u{1f4fb}spare bad");
    let told = found(&mut client, A);
    let (bad, spare) = (&told[0], &told[1]);
    let column = u32::try_from(spare["range"]["start"]["character"].as_u64().expect("a number")).expect("a column");
    let hover = client.hover(A, 0, 0);
    let fix = client.actions(A, span(0, 0, 99))[0].clone();
    let edits = json!([{ "range": bad["range"], "newText": "good" }]);
    let edit = if fix["edit"].get("documentChanges").is_some() {
        json!({ "documentChanges": [{ "textDocument": { "uri": A, "version": 1 }, "edits": edits }] })
    } else {
        json!({ "changes": { A: edits } })
    };
    assert_eq!(fix["edit"], edit);
    assert_eq!(fix["diagnostics"], json!([bad]));
    Gets {
        encoding: match client.server_info["capabilities"]["positionEncoding"].as_str() {
            None => None,
            Some("utf-8") => Some("utf-8"),
            Some("utf-16") => Some("utf-16"),
            Some(other) => panic!("{other} is not asked for"),
        },
        column,
        hover: if hover["contents"]["kind"] == "markdown" { "markdown" } else { "plaintext" },
        related: bad.get("relatedInformation").is_some(),
        tags: spare.get("tags").is_some(),
        data: bad.get("data").is_some(),
        document_changes: fix["edit"].get("documentChanges").is_some(),
        preferred: fix["isPreferred"] == true,
        asked_to_watch: watches,
        pulls,
    }
}

#[test]
fn code_server() {
    let gets = session(include_str!("../../fixtures/clients/code-server-4.139.1.json"));
    let expected = Gets {
        encoding: Some("utf-16"),
        column: 6,
        hover: "markdown",
        related: true,
        tags: true,
        data: true,
        document_changes: true,
        preferred: true,
        asked_to_watch: true,
        pulls: true,
    };
    assert_eq!(gets, expected);
}

#[test]
fn emacs_eglot() {
    let gets = session(include_str!("../../fixtures/clients/emacs-28.2-eglot-1.9.json"));
    let expected = Gets {
        encoding: None,
        column: 6,
        hover: "plaintext",
        related: false,
        tags: true,
        data: false,
        document_changes: true,
        preferred: true,
        asked_to_watch: true,
        pulls: false,
    };
    assert_eq!(gets, expected);
}

#[test]
fn kakoune() {
    let gets = session(include_str!("../../fixtures/clients/kakoune-kak-lsp-22.json"));
    let expected = Gets {
        encoding: Some("utf-8"),
        column: 8,
        hover: "markdown",
        related: true,
        tags: true,
        data: false,
        document_changes: true,
        preferred: false,
        asked_to_watch: false,
        pulls: false,
    };
    assert_eq!(gets, expected);
}

#[test]
fn kate() {
    let gets = session(include_str!("../../fixtures/clients/kate-22.12.3.json"));
    let expected = Gets {
        encoding: None,
        column: 6,
        hover: "markdown",
        related: true,
        tags: false,
        data: false,
        document_changes: false,
        preferred: false,
        asked_to_watch: false,
        pulls: false,
    };
    assert_eq!(gets, expected);
}

#[test]
fn neovim() {
    let gets = session(include_str!("../../fixtures/clients/neovim-0.11.4.json"));
    let expected = Gets {
        encoding: Some("utf-8"),
        column: 8,
        hover: "markdown",
        related: true,
        tags: true,
        data: true,
        document_changes: false,
        preferred: true,
        asked_to_watch: false,
        pulls: false,
    };
    assert_eq!(gets, expected);
}

#[test]
fn neovim_of_old() {
    let gets = session(include_str!("../../fixtures/clients/neovim-0.7.2.json"));
    let expected = Gets {
        encoding: None,
        column: 6,
        hover: "markdown",
        related: true,
        tags: true,
        data: false,
        document_changes: false,
        preferred: false,
        asked_to_watch: false,
        pulls: false,
    };
    assert_eq!(gets, expected);
}

#[test]
fn vim_ale() {
    let gets = session(include_str!("../../fixtures/clients/vim-ale-3.3.0.json"));
    let expected = Gets {
        encoding: None,
        column: 6,
        hover: "plaintext",
        related: true,
        tags: false,
        data: false,
        document_changes: false,
        preferred: false,
        asked_to_watch: false,
        pulls: false,
    };
    assert_eq!(gets, expected);
}
