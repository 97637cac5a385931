//! Lines and columns. Source: Language Server Protocol 3.17, `Position`, `PositionEncodingKind`, and the note that lines
//! end at `\n`, `\r\n` and `\r`.

#![allow(clippy::expect_used, clippy::unwrap_used)]

mod common;

use common::generate::{self, Kind};
use common::{Random, absolute_error, errors_of};
use guywire_text::{Document, Encoding, Position};

const ENCODINGS: [Encoding; 3] = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32];

/// The position of a byte found by walking the text from its start.
fn walked(text: &str, byte: usize, encoding: Encoding) -> Position {
    let (mut line, mut character) = (0, 0);
    let mut rest = text.char_indices().peekable();
    while let Some((at, c)) = rest.next() {
        if at + c.len_utf8() > byte {
            break;
        }
        let in_pair = c == '\r' && rest.peek().is_some_and(|(_, next)| *next == '\n');
        if c == '\n' || (c == '\r' && !in_pair) {
            (line, character) = (line + 1, 0);
        } else if !in_pair {
            character += match encoding {
                Encoding::Utf8 => c.len_utf8(),
                Encoding::Utf16 => c.len_utf16(),
                Encoding::Utf32 => 1,
            };
        }
    }
    Position { line, character: character as u32 }
}

#[test]
fn positions_agree_with_a_walk_through_the_text() {
    for seed in 0..12 {
        let mut random = Random(seed);
        let text = generate::noise(&mut random, 60) + &generate::document(&mut random, Kind::Hard, 3);
        let document = Document::new(&text);
        for encoding in ENCODINGS {
            for byte in 0..=text.len() {
                let position = document.to_protocol(byte, encoding);
                assert_eq!(position, walked(&text, byte, encoding), "{byte} {encoding:?} {text:?}");
                let inside_pair = byte > 0 && text.as_bytes()[byte - 1..].starts_with(b"\r\n");
                if text.is_char_boundary(byte) && !inside_pair {
                    assert_eq!(document.from_protocol(position, encoding), byte, "{byte} {encoding:?} {text:?}");
                }
            }
        }
    }
}

#[test]
fn lines_end_at_lf_crlf_and_cr_only() {
    let document = Document::new("a\nb\r\nc\rd\u{2028}e\u{b}f\u{c}g\u{85}h\n");
    assert_eq!(document.line_count(), 5);
    let lines: Vec<String> =
        (0..5).map(|n| document.slice(document.line_range(n).unwrap()).unwrap().into_owned()).collect();
    assert_eq!(lines, ["a", "b", "c", "d\u{2028}e\u{b}f\u{c}g\u{85}h", ""]);
    assert_eq!(document.line_range(5), None);
    assert_eq!(document.line_range(u32::MAX), None);
}

#[test]
fn positions_past_an_end_count_as_that_end() {
    let document = Document::new("ab\r\n\u{1F4FB}c");
    for encoding in ENCODINGS {
        let at = |line, character| document.from_protocol(Position { line, character }, encoding);
        assert_eq!(at(0, 3), 2, "before the line end, not within or after it");
        assert_eq!(at(0, u32::MAX), 2);
        assert_eq!(at(1, u32::MAX), 9);
        assert_eq!(at(2, 0), 9);
        assert_eq!(at(u32::MAX, u32::MAX), 9);
    }
    assert_eq!(document.to_protocol(usize::MAX, Encoding::Utf16), Position { line: 1, character: 3 });
    assert_eq!(document.to_protocol(3, Encoding::Utf16), Position { line: 0, character: 2 }, "between CR and LF");
}

#[test]
fn positions_inside_a_character_count_as_its_start() {
    let document = Document::new("x\u{1F4FB}y\u{e9}");
    assert_eq!(document.from_protocol(Position { line: 0, character: 2 }, Encoding::Utf16), 1, "inside the pair");
    for character in 2..5 {
        assert_eq!(document.from_protocol(Position { line: 0, character }, Encoding::Utf8), 1);
    }
    assert_eq!(document.from_protocol(Position { line: 0, character: 7 }, Encoding::Utf8), 6);
    assert_eq!(document.to_protocol(3, Encoding::Utf16), Position { line: 0, character: 1 });
}

#[test]
fn the_line_ending_is_the_first_one_met() {
    for (text, expected) in
        [("", "\n"), ("a", "\n"), ("a\nb\r\n", "\n"), ("a\r\nb\n", "\r\n"), ("a\rb\n", "\r"), ("\n", "\n")]
    {
        assert_eq!(Document::new(text).line_ending(), expected, "{text:?}");
    }
}

#[test]
fn the_first_line_of_a_range_ends_before_the_end_of_a_line() {
    // Longer than what a rope keeps in one piece.
    let text = "name = 'é'\r\n# a note\rnext\n\nlast".repeat(400);
    let document = Document::new(&text);
    for start in (0..text.len()).step_by(7) {
        for long in [0, 1, 5, 13, 40, 3_000] {
            let range = start..(start + long).min(text.len());
            let wanted = match text.as_bytes()[range.clone()].iter().position(|byte| matches!(byte, b'\n' | b'\r')) {
                Some(end) => start..start + end,
                None => range.clone(),
            };
            assert_eq!(document.first_line(range.clone()), wanted, "{range:?}");
        }
    }
    let out = text.len() - 2..text.len() + 1;
    assert_eq!(document.first_line(out.clone()), out);
}

#[test]
fn slices_and_spans_out_of_range_are_none() {
    let document = Document::new("a = \"\u{e9}\"\n");
    assert_eq!(document.slice(0..3).as_deref(), Some("a ="));
    assert_eq!(document.slice(5..6), None);
    assert_eq!(document.slice(0..99), None);
    let reversed = std::ops::Range { start: 3, end: 1 };
    assert_eq!(document.slice(reversed), None);
    let (block, offset) = document.at(99);
    assert_eq!(offset as usize, document.len());
    let span = |start, end| guywire_text::Span { block, start, end };
    assert_eq!(document.text(span(0, 1)).as_deref(), Some("a"));
    assert_eq!(document.text(span(5, 6)), None);
    assert_eq!(document.range(span(0, 99)), None);
    assert_eq!(document.range(span(2, 1)), None);
    let alone = guywire_text::Span { block: guywire_text::BlockId::ALONE, start: 0, end: 0 };
    assert_eq!(document.range(alone), None);
}

#[test]
fn a_byte_order_mark_stays_in_the_text_and_out_of_the_keys() {
    let text = "\u{feff}name = 1\r\n[a]\r\n";
    let document = Document::new(text);
    assert_eq!(document.whole_text(), text);
    let (_, unit) = document.read_all().swap_remove(0);
    let name = unit.tables[0].name.as_ref().expect("a key");
    assert_eq!((document.range(name.span), &*name.text), (Some(3..7), "name"));
    assert!(errors_of(&Document::new("a = 1\n\u{feff}b = 2\n")).len() == 1, "a mark elsewhere is none");
}

#[test]
fn a_carriage_return_alone_is_an_error_once_a_block() {
    let document = Document::new("[a]\rx = 1\ry = 2\r");
    let (_, unit) = document.read_all().swap_remove(0);
    let told: Vec<String> = unit.errors.iter().map(|error| absolute_error(&document, error)).collect();
    assert_eq!(told, ["ControlCharacter 3..4 None"]);
    let guywire_text::Value::Table(table) = &unit.tables[0].value.value else { panic!("a table") };
    assert_eq!(table.entries.len(), 2);
}
