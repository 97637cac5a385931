//! Requests and edits are answered in the order of the wire, whatever else goes on.

use std::sync::atomic::Ordering;
use std::time::Duration;

use serde_json::json;

use super::client::{Client, at};
use super::fake::World;

const A: &str = "file:///w/a.plan.toml";

/// A small generator of numbers, the same in each run. Source: Knuth, The Art of Computer Programming, volume 2,
/// section 3.3.4, the multiplier of MMIX (from memory).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("31 bits") % bound
    }
}

/// What the client has: lines of characters, one line feed between them.
struct Model(Vec<Vec<char>>);

impl Model {
    fn text(&self) -> String {
        let lines: Vec<String> = self.0.iter().map(|line| line.iter().collect()).collect();
        lines.join("\n")
    }

    /// A random edit in one line, as the protocol has it, applied here as well.
    fn edit(&mut self, numbers: &mut Numbers) -> serde_json::Value {
        let line = numbers.below(self.0.len());
        let length = self.0[line].len();
        let from = numbers.below(length + 1);
        let to = if length > 40 { length } else { (from + numbers.below(3)).min(length) };
        let text = ["x", "\u{1f4fb}", "", "ab", "\u{fc}"][numbers.below(5)];
        let units = |chars: &[char]| chars.iter().map(|char| char.len_utf16()).sum::<usize>();
        let (start, end) = (units(&self.0[line][..from]), units(&self.0[line][..to]));
        self.0[line].splice(from..to, text.chars());
        let position = |units| json!({ "line": line, "character": units });
        json!({ "range": { "start": position(start), "end": position(end) }, "text": text })
    }
}

#[test]
fn ten_thousand_rapid_edits_and_what_is_asked_between_them() {
    let mut client = Client::new(&World::default());
    let mut numbers = Numbers(17);
    let mut model = Model(vec![vec!['a'; 8], vec!['\u{1f4fb}'; 3], Vec::new(), vec!['z'; 20]]);
    client.open(A, 0, &model.text());
    let mut asked = Vec::new();
    for version in 1..=10_000 {
        let changes = [model.edit(&mut numbers), model.edit(&mut numbers)];
        client.change(A, version, json!(changes));
        if numbers.below(10) == 0 {
            let params = json!({ "textDocument": { "uri": A }, "position": at(0, 0) });
            asked.push((client.ask("textDocument/hover", params), model.text()));
        }
    }
    assert!(asked.len() > 500, "{} hovers", asked.len());
    for (id, text) in asked {
        assert_eq!(client.response(id)["result"]["contents"]["value"], format!("0 of {text}"));
    }
    assert_eq!(client.text(A), model.text());
    assert_eq!(client.diagnostics(A)["diagnostics"], json!([]));
}

#[test]
fn a_request_in_line_is_canceled_at_once() {
    let world = World::default();
    world.gate.store(true, Ordering::Release);
    let mut client = Client::new(&world);
    client.open(A, 1, "x");
    let ask = |client: &mut Client| {
        client.ask("textDocument/hover", json!({ "textDocument": { "uri": A }, "position": at(0, 0) }))
    };
    let running = ask(&mut client);
    let waiting: Vec<i64> = (0..400).map(|_| ask(&mut client)).collect();
    let last = ask(&mut client);
    for id in &waiting {
        client.notify("$/cancelRequest", json!({ "id": id }));
    }
    for id in &waiting {
        assert_eq!(client.error(*id), -32800);
    }
    client.change(A, 2, json!([{ "text": "y" }]));
    let after = ask(&mut client);
    world.gate.store(false, Ordering::Release);
    for (id, text) in [(running, "0 of x"), (last, "0 of x"), (after, "0 of y")] {
        assert_eq!(client.response(id)["result"]["contents"]["value"], text);
    }
    assert_eq!(world.hovers.load(Ordering::Acquire), 3, "what was canceled in line was never begun");
    assert_eq!(client.diagnostics(A)["diagnostics"], json!([]));
}

#[test]
fn a_request_under_way_is_canceled_at_once() {
    let world = World::default();
    world.gate.store(true, Ordering::Release);
    let mut client = Client::new(&world);
    client.open(A, 1, "x");
    let id = client.ask("textDocument/hover", json!({ "textDocument": { "uri": A }, "position": at(0, 0) }));
    while world.hovers.load(Ordering::Acquire) == 0 {
        std::thread::yield_now();
    }
    client.notify("$/cancelRequest", json!({ "id": id }));
    assert_eq!(client.error(id), -32800);
    world.gate.store(false, Ordering::Release);
    client.notify("$/cancelRequest", json!({ "id": id }));
    assert_eq!(client.text(A), "x");
    assert_eq!(client.diagnostics(A)["diagnostics"], json!([]));
}

#[test]
fn edits_and_requests_do_not_wait_for_checks() {
    let world = World::default();
    world.slow_us.store(500, Ordering::Release);
    let mut client = Client::new(&world);
    client.open(A, 1, "bad");
    for version in 2..50 {
        client.change(A, version, json!([{ "text": format!("bad {version}") }]));
        assert_eq!(client.text(A), format!("bad {version}"));
    }
    world.slow_us.store(0, Ordering::Release);
    let told = client.diagnostics(A);
    assert_eq!(told["version"], 49);
    assert_eq!(told["diagnostics"][0]["message"], "`bad` stands here");
}

#[test]
fn with_nothing_to_do_nothing_is_done() {
    let world = World::default();
    let mut client = Client::new(&world);
    client.open(A, 1, "x");
    client.diagnostics(A);
    client.text(A);
    let before = world.slices.load(Ordering::Acquire);
    for _ in 0..10 {
        client.text(A);
    }
    // Time in which a thread that does not wait would show.
    std::thread::sleep(Duration::from_millis(50));
    let slices = world.slices.load(Ordering::Acquire) - before;
    assert!(slices <= 11, "{slices} slices for ten requests");
}

#[test]
fn a_flood_that_nobody_reads_does_not_stop_the_server_from_reading() {
    let mut client = Client::new(&World::default());
    client.open(A, 1, &"x".repeat(1000));
    let params = json!({ "textDocument": { "uri": A }, "position": at(0, 0) });
    let asked: Vec<i64> = (0..2000).map(|_| client.ask("textDocument/hover", params.clone())).collect();
    for id in asked {
        assert!(client.response(id)["result"].is_object());
    }
    client.diagnostics(A);
}
