//! Positions in every encoding, and edits of every shape that the protocol allows.

use serde_json::{Value, json};

use super::client::{Client, at, capabilities, span};
use super::fake::World;

const A: &str = "file:///w/a.plan.toml";
/// One, two, three and four bytes a character; one and two UTF-16 units; every line end.
const TEXT: &str = "a\u{fc}\u{20ac}\u{1f4fb}z\r\n\u{1f4fb}\u{1f4fb}bad\rlast\n";

fn client(encoding: &str) -> Client {
    let mut client = Client::with(&World::default(), capabilities(&[encoding]));
    assert_eq!(client.server_info["capabilities"]["positionEncoding"], encoding);
    client.open(A, 1, TEXT);
    client
}

#[test]
fn places_come_and_go_in_the_encoding_agreed_on() {
    for (encoding, z, bad) in [("utf-8", 10, 8), ("utf-16", 5, 4), ("utf-32", 4, 2)] {
        let mut client = client(encoding);
        assert_eq!(client.diagnostics(A)["diagnostics"][0]["range"], span(1, bad, bad + 3), "{encoding}");
        let hover = client.hover(A, 0, z);
        assert_eq!(hover["range"], span(0, z, z + 1), "{encoding}");
        assert!(hover["contents"]["value"].as_str().is_some_and(|said| said.starts_with("10 of ")), "{encoding}");
        let action = &client.actions(A, span(1, bad, bad))[0];
        assert_eq!(action["edit"]["documentChanges"][0]["edits"][0]["range"], span(1, bad, bad + 3), "{encoding}");
    }
}

#[test]
fn edits_are_read_in_the_encoding_agreed_on() {
    for (encoding, radio, z) in [("utf-8", 6, 10), ("utf-16", 3, 5), ("utf-32", 3, 4)] {
        let mut client = client(encoding);
        client.diagnostics(A);
        client.change(A, 2, json!([{ "range": span(0, radio, z), "text": "\u{1f6a2}\u{1f6a2}" }]));
        let after = TEXT.replacen("\u{1f4fb}z", "\u{1f6a2}\u{1f6a2}z", 1);
        assert_eq!(client.text(A), after, "{encoding}");
    }
}

fn after(changes: &Value) -> String {
    let mut client = client("utf-16");
    client.diagnostics(A);
    client.change(A, 2, changes.clone());
    let text = client.text(A);
    if text.contains("bad") && changes.to_string().contains("bad") {
        client.diagnostics(A);
    }
    text
}

fn range(start: Value, end: Value, text: &str) -> Value {
    json!({ "range": { "start": start, "end": end }, "text": text })
}

#[test]
fn changes_of_one_message_apply_one_after_another() {
    let changes =
        json!([range(at(2, 0), at(2, 4), "first"), range(at(2, 5), at(2, 5), "!"), range(at(2, 0), at(2, 1), "")]);
    assert_eq!(after(&changes), TEXT.replace("last", "irst!"));
    let mixed = json!([range(at(0, 0), at(0, 1), "gone"), { "text": "whole" }, range(at(0, 5), at(0, 5), "!")]);
    let mut client = client("utf-16");
    client.diagnostics(A);
    client.change(A, 2, mixed);
    assert_eq!(client.text(A), "whole!");
    assert_eq!(client.diagnostics(A)["diagnostics"], json!([]));
}

#[test]
fn places_beyond_an_end_or_inside_a_character_are_clamped() {
    assert_eq!(after(&json!([range(at(2, 99), at(2, 4_294_967_295_u32), "!")])), TEXT.replace("last", "last!"));
    assert_eq!(after(&json!([range(at(99, 0), at(99, 9), "end")])), format!("{TEXT}end"));
    assert_eq!(after(&json!([range(at(0, 4), at(0, 5), "")])), TEXT.replacen("\u{1f4fb}z", "z", 1));
    assert_eq!(after(&json!([range(at(0, 7), at(0, 7), "!")])), TEXT.replacen("z\r\n", "z!\r\n", 1));
}

#[test]
fn a_reversed_range_is_turned_about() {
    assert_eq!(after(&json!([range(at(2, 4), at(2, 1), "")])), TEXT.replace("last", "l"));
}

#[test]
fn an_edit_without_changes_is_one() {
    let mut client = client("utf-16");
    client.diagnostics(A);
    client.change(A, 2, json!([]));
    assert_eq!(client.text(A), TEXT);
}

#[test]
fn lines_break_where_the_protocol_says_only() {
    let mut client = Client::new(&World::default());
    client.open(A, 1, "a\u{2028}b\u{c}c\u{b}d\u{85}e\nbad");
    assert_eq!(client.diagnostics(A)["diagnostics"][0]["range"], span(1, 0, 3));
}

#[test]
fn versions_that_go_back_are_taken_as_they_come() {
    let mut client = Client::new(&World::default());
    client.open(A, 7, "");
    client.diagnostics(A);
    for (version, text) in [(7, "a bad"), (3, "bad"), (-1, "still bad")] {
        client.change(A, version, json!([{ "text": text }]));
        assert_eq!(client.text(A), text);
        assert_eq!(client.diagnostics(A)["version"], version);
    }
}

#[test]
fn an_edit_that_cannot_be_read_is_told_to_the_user() {
    let mut client = Client::new(&World::default());
    client.open(A, 1, "bad");
    client.diagnostics(A);
    client.change(
        A,
        2,
        json!([{ "range": { "start": { "line": -1, "character": 0 }, "end": at(0, 0) }, "text": "x" }]),
    );
    client.told("window/showMessage");
    assert_eq!(client.diagnostics(A)["diagnostics"], json!([]));
    client.nothing_known(A);
    client.close(A);
    client.open(A, 1, "bad again");
    assert_eq!(client.text(A), "bad again");
    assert_eq!(client.diagnostics(A)["diagnostics"].as_array().map(Vec::len), Some(1));
}

#[test]
fn opening_twice_starts_over() {
    let mut client = Client::new(&World::default());
    client.open(A, 4, "one");
    client.diagnostics(A);
    client.open(A, 1, "two");
    assert_eq!(client.diagnostics(A)["version"], 1);
    client.change(A, 2, json!([range(at(0, 3), at(0, 3), "!")]));
    assert_eq!(client.text(A), "two!");
}

#[test]
fn edits_of_what_is_not_open_are_left_alone() {
    let mut client = Client::new(&World::default());
    client.change(A, 2, json!([{ "text": "bad" }]));
    client.close(A);
    assert_eq!(client.hover(A, 0, 0), json!(null));
    client.open(A, 1, "x");
    client.diagnostics(A);
    client.close(A);
    client.change(A, 2, json!([{ "text": "bad" }]));
    assert_eq!(client.hover(A, 0, 0), json!(null));
}
