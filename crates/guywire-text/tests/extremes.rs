//! Texts made to break readers: no panic, no overflow of the stack, and time in proportion to the length.

#![allow(clippy::expect_used, clippy::unwrap_used)]

mod common;

use common::generate;
use common::{Random, absolute};
use guywire_text::{Document, MAX_DEPTH, SyntaxErrorKind, Value, read_block};

/// Reads all there is, and checks that every place lies in the text on character boundaries.
fn read(text: &str) -> (Document, Vec<SyntaxErrorKind>) {
    let document = Document::new(text);
    let units = document.read_all();
    for (key, unit) in &units {
        absolute(&document, key, unit);
    }
    let kinds = units.iter().flat_map(|(_, unit)| &unit.errors).map(|error| error.kind).collect();
    (document, kinds)
}

#[test]
fn nesting_is_read_up_to_the_limit_and_refused_beyond() {
    let arrays = |depth: usize| format!("a = {}{}\nb = 1\n", "[".repeat(depth), "]".repeat(depth));
    let tables = |depth: usize| format!("a = {}1{}\nb = 1\n", "{ k = ".repeat(depth), " }".repeat(depth));
    let keys = |depth: usize| format!("{} = 1\nb = 1\n", vec!["k"; depth].join("."));
    let headers = |depth: usize| format!("[{}]\nb = 1\n", vec!["k"; depth].join("."));
    for make in [arrays, tables, keys, headers] {
        assert!(toml_edit::Document::parse(make(MAX_DEPTH)).is_ok());
        assert_eq!(read(&make(MAX_DEPTH)).1, []);
        assert!(toml_edit::Document::parse(make(MAX_DEPTH + 1)).is_err());
        assert_eq!(read(&make(MAX_DEPTH + 1)).1, [SyntaxErrorKind::TooDeep], "{}", make(MAX_DEPTH + 1));
        assert_eq!(read(&make(100_000)).1, [SyntaxErrorKind::TooDeep]);
    }
    for unclosed in ["[", "{", "{a=", "[{a=", "{a=["] {
        let text = format!("a = {}\nb = 1\n", unclosed.repeat(100_000));
        let (document, kinds) = read(&text);
        assert!(!kinds.is_empty() && kinds.len() < 3, "{unclosed} {kinds:?}");
        assert!(document.units().len() == 2, "the next line is read: {unclosed}");
    }
}

#[test]
fn long_lines_are_read() {
    let million = "x".repeat(1_000_000);
    for text in [
        million.clone(),
        format!("a = \"{million}\"\n"),
        format!("a = '{million}\n"),
        format!("[{million}]\n"),
        format!("\"{million}\" = 1\n"),
        format!("# {million}"),
        format!("a = \"{}\"\n", "\\u00e9".repeat(100_000)),
        format!("a = [{}]\n", "1, ".repeat(300_000)),
        format!("a = {}\n", "9".repeat(1_000_000)),
        format!("a = [\n{}", "[\n".repeat(200_000)),
        format!("a = [\n{}", "b.c\n".repeat(200_000)),
        " ".repeat(1_000_000),
        "\"".repeat(1_000_000),
        "'".repeat(1_000_000),
        "=".repeat(1_000_000),
        "\0".repeat(100_000),
        "\\".repeat(1_000_000),
    ] {
        read(&text);
    }
}

/// Many of what each costs a look at the rest of the text.
#[test]
fn many_broken_statements_take_time_in_proportion() {
    for line in [
        "a = [",
        "a = {",
        "a = {b = [",
        "a = {\nb",
        "[[a",
        "[a]",
        "[[a]]",
        "[[a.b]]",
        "a = \"\"\"",
        "b = '''",
        "x = \"\"\"\\\"\"\"",
        "a",
        "= 1",
        "a.b = 1",
        "\"",
        "a = [1,\n[b]",
        "[b.c]\n[[b]]",
        "a = 1\r",
    ] {
        read(&format!("{line}\n").repeat(10_000));
        read(&format!("[t]\n{}", format!("{line}\n").repeat(10_000)));
    }
    let many_keys: String = (0..60_000).map(|n| format!("k{n} = {n}\n")).collect();
    assert_eq!(read(&many_keys).1, []);
    assert_eq!(read(&format!("[t]\n{many_keys}")).1, []);
    let many_groups: String = (0..30_000).map(|n| format!("[[g{n}]]\n[g{n}.sub]\n")).collect();
    assert_eq!(read(&many_groups).1, []);
}

#[test]
fn any_text_reads_as_one_block() {
    for seed in 0..3_000 {
        let mut random = Random(seed);
        let bits = random.below(30);
        let text = generate::noise(&mut random, bits);
        let reading = read_block(&text);
        for error in reading.errors.iter().chain(reading.statements.iter().flat_map(|s| &s.errors)) {
            assert!(text.get(error.span.start as usize..error.span.end as usize).is_some(), "{text:?}");
        }
        for statement in &reading.statements {
            let span = statement.value.span;
            assert!(text.get(span.start as usize..span.end as usize).is_some(), "{text:?}");
            assert!(!matches!(statement.value.value, Value::Unreadable) || !statement.errors.is_empty(), "{text:?}");
        }
    }
}

#[test]
fn edits_in_a_text_full_of_open_strings_end() {
    let text = "[[a]]\nx = \"\"\"\\\"\"\"\n".repeat(3_000);
    let mut document = Document::new(&text);
    for n in 0..50 {
        let at = (n * 7919) % document.len();
        document.edit(at..at, "'").expect("a place in the text");
    }
    let fresh = Document::new(&document.whole_text());
    assert_eq!(document.block_count(), fresh.block_count());
}
