//! One accident in a text costs what it touches and nearly nothing else.

#![allow(clippy::expect_used, clippy::unwrap_used)]

mod common;

use std::collections::HashMap;

use common::Random;
use common::generate::{self, Kind};
use guywire_text::{Document, Item, SyntaxErrorKind, Unit, UnitKey, Value};

/// What a unit says, without places.
fn content(unit: &Unit) -> Vec<String> {
    let named = |name: &Option<guywire_text::Key>| name.as_ref().map_or(String::new(), |key| key.text.to_string());
    unit.tables.iter().map(|table| format!("{} {}", named(&table.name), item_content(&table.value))).collect()
}

fn item_content(item: &Item) -> String {
    match &item.value {
        Value::Array(items) => format!("{:?}", items.iter().map(item_content).collect::<Vec<_>>()),
        Value::Table(table) => {
            let entry = |entry: &guywire_text::Entry| format!("{} = {}", entry.key.text, item_content(&entry.value));
            format!("{:?}", table.entries.iter().map(entry).collect::<Vec<_>>())
        }
        other => format!("{other:?}"),
    }
}

#[derive(Default, Debug)]
struct Tally {
    damages: usize,
    tables: usize,
    lost: usize,
    errors: usize,
    most_lost: usize,
}

/// Damages a document again and again, each time from the sound text, and counts the tables lost among those that the
/// damage does not touch.
fn damage_one_place_at_a_time(kind: Kind, seed: u64, damages: usize) -> Tally {
    let mut random = Random(seed);
    let text = generate::document(&mut random, kind, 1_000);
    let mut document = Document::new(&text);
    let mut tally = Tally::default();
    let mut sound: HashMap<UnitKey, Unit> = document.read_all().into_iter().collect();
    let all: usize = sound.values().map(|unit| unit.tables.len()).sum();
    for _ in 0..damages {
        let damaged = generate::damage(&mut random, &text);
        let at = text.bytes().zip(damaged.bytes()).take_while(|(a, b)| a == b).count();
        let block = document.at(at).0;
        let before = document.start(block).and_then(|start| start.checked_sub(1)).map(|byte| document.at(byte).0);
        let touched: Vec<UnitKey> =
            [Some(block), before].into_iter().flatten().flat_map(|block| document.units_of(block)).collect();
        let delta = document.replace(&damaged);
        let mut found: HashMap<String, usize> = HashMap::new();
        for unit in document.read_units(&delta.read).into_iter().flatten() {
            tally.errors += unit.errors.len();
            content(&unit).into_iter().for_each(|table| *found.entry(table).or_default() += 1);
        }
        let mut lost = 0;
        let old = delta.gone.iter().chain(&delta.read).filter(|key| !touched.contains(key));
        for table in old.filter_map(|key| sound.get(key)).flat_map(content) {
            match found.get_mut(&table).filter(|n| **n > 0) {
                Some(n) => *n -= 1,
                None => lost += 1,
            }
        }
        tally.damages += 1;
        tally.tables += all;
        tally.lost += lost;
        tally.most_lost = tally.most_lost.max(lost);
        sound.retain(|key, _| !delta.gone.contains(key));
        let mended = document.replace(&text);
        sound.retain(|key, _| !mended.gone.contains(key));
        for (key, unit) in mended.read.iter().zip(document.read_units(&mended.read)) {
            sound.insert(key.clone(), unit.expect("a unit to be read"));
        }
    }
    assert!(document.read_all().into_iter().all(|(key, unit)| sound.get(&key) == Some(&unit)), "mended is as it was");
    tally
}

#[test]
fn nearly_every_table_outlives_damage_elsewhere() {
    for kind in [Kind::Plain, Kind::Hard] {
        let mut sum = Tally::default();
        for seed in 0..6 {
            let tally = damage_one_place_at_a_time(kind, 40 + seed, 150);
            sum.damages += tally.damages;
            sum.tables += tally.tables;
            sum.lost += tally.lost;
            sum.errors += tally.errors;
            sum.most_lost = sum.most_lost.max(tally.most_lost);
        }
        let kept = 1.0 - sum.lost as f64 / sum.tables as f64;
        println!("{kind:?}: {:.4} % kept, {sum:?}", kept * 100.0);
        assert!(kept >= 0.999, "{kind:?}: {kept} {sum:?}");
    }
}

/// All keys of the only table that can be read, with an error's kind and the text it marks for each error.
fn read_one(text: &str) -> (Vec<String>, Vec<String>) {
    let document = Document::new(text);
    let units = document.read_all();
    let mut keys = Vec::new();
    let mut errors = Vec::new();
    for (_, unit) in &units {
        for table in &unit.tables {
            let Value::Table(table) = &table.value.value else { continue };
            let readable = table.entries.iter().filter(|entry| !matches!(entry.value.value, Value::Unreadable));
            keys.extend(readable.map(|entry| entry.key.text.to_string()));
        }
        for error in &unit.errors {
            errors.push(format!("{:?} {:?}", error.kind, document.text(error.span).expect("its text")));
        }
    }
    (keys, errors)
}

#[test]
fn a_broken_line_costs_its_own_key() {
    // What is typed between two sound lines, and what is said of it.
    let cases: &[(&str, &[&str])] = &[
        ("rx", &["MissingEquals \"rx\""]),
        ("rx =", &["MissingValue \"=\""]),
        ("rx = # later", &["MissingValue \"=\""]),
        ("rx = 146.52 0", &["TextAfterValue \"0\""]),
        ("rx = 1.2.3", &["UnreadableNumber \"1.2.3\""]),
        ("rx = 012", &["UnreadableNumber \"012\""]),
        ("rx = 99999999999999999999", &["OutOfRange \"99999999999999999999\""]),
        ("rx = 0xFFFFFFFFFFFFFFFFFF", &["OutOfRange \"0xFFFFFFFFFFFFFFFFFF\""]),
        ("rx = 1e999", &["OutOfRange \"1e999\""]),
        ("rx = high", &["UnreadableValue \"high\""]),
        ("rx = \"Dock", &["UnclosedString \"\\\"Dock\""]),
        ("rx = 'Dock", &["UnclosedString \"'Dock\""]),
        ("rx = \"\"\"Dock", &["UnclosedString \"\\\"\\\"\\\"Dock\""]),
        ("rx = '''Dock", &["UnclosedString \"'''Dock\""]),
        ("rx = \"a\\q\"", &["BadEscape \"\\\\q\""]),
        ("rx = \"a\u{7}\"", &["ControlCharacter \"\\u{7}\""]),
        ("rx = 1 # \u{0}", &["ControlCharacter \"\\0\""]),
        ("rx = 2026-13-01", &["UnreadableDate \"2026-13-01\""]),
        ("rx = 25:00:00", &["UnreadableDate \"25:00:00\""]),
        ("rx = [", &["UnclosedBracket \"[\""]),
        ("rx = [1,\n  2", &["UnclosedBracket \"[\""]),
        ("rx = { a = 1", &["UnclosedBracket \"{\""]),
        ("rx = { a = 1,", &["UnclosedBracket \"{\""]),
        ("rx = [[1], [2", &["UnclosedBracket \"[\""]),
        ("rx = ]", &["MissingValue \"=\""]),
        ("rx = = 1", &["UnreadableValue \"=\""]),
        ("rx tx = 1", &["MissingEquals \"rx\""]),
        ("= 1", &["UnreadableKey \"= 1\""]),
        ("rx. = 1", &["UnreadableKey \"rx. = 1\""]),
        ("\u{e9} = 1", &["UnreadableKey \"\u{e9} = 1\""]),
        ("\"rx = 1", &["UnclosedString \"\\\"rx = 1\""]),
        ("name = 1", &["DuplicateKey \"name\""]),
        ("name.x = 1", &["ValueAndTable \"name\""]),
    ];
    for (line, expected) in cases {
        let text = format!("[[channel]]\nname = 1\n{line}\nscan = 2\n[[channel]]\nlast = 3\n");
        let (mut keys, errors) = read_one(&text);
        keys.retain(|key| key != "rx");
        assert_eq!(keys, ["name", "scan", "last"], "{line}");
        assert_eq!(errors, *expected, "{line}");
    }
}

#[test]
fn an_unclosed_bracket_takes_no_later_line_though_one_would_close_it() {
    let (keys, errors) = read_one("[t]\nrx = [1,\nname = 2\nscan = 3 ]\nlast = 4\n");
    assert_eq!(keys, ["name", "last"]);
    assert_eq!(errors, ["UnclosedBracket \"[\"", "TextAfterValue \"]\""]);
}

#[test]
fn a_broken_element_costs_itself() {
    let cases: &[(&str, &str, &[&str])] = &[
        ("[1, x, 3]", "[1, ?, 3]", &["UnreadableValue \"x\""]),
        ("[1,, 3]", "[1, 3]", &["ExtraComma \",\""]),
        ("[1 3]", "[1, 3]", &["MissingComma \"3\""]),
        ("[1}, 3]", "[1, 3]", &["StrayBracket \"}\""]),
        ("{ a = 1, b, c = 3 }", "{a: 1, b: ?, c: 3}", &["MissingEquals \"b\""]),
        ("{ a = 1, b = , c = 3 }", "{a: 1, b: ?, c: 3}", &["MissingValue \"=\""]),
        ("{ a = 1, a = 2 }", "{a: 1}", &["DuplicateKey \"a\""]),
        ("{ a = 1, a.b = 2 }", "{a: 1}", &["ValueAndTable \"a\""]),
        ("{ a = {}, a.b = 2 }", "{a: ?}", &["ValueAndTable \"a\""]),
    ];
    for (value, expected, told) in cases {
        let document = Document::new(&format!("[t]\nv = {value}\n"));
        let (_, unit) = document.read_all().swap_remove(0);
        let Value::Table(table) = &unit.tables[0].value.value else { panic!("a table") };
        assert_eq!(sketch(&table.get("v").expect("v").value), *expected, "{value}");
        let place = |error: &guywire_text::SyntaxError| document.text(error.span).expect("its text").into_owned();
        let errors: Vec<String> =
            unit.errors.iter().map(|error| format!("{:?} {:?}", error.kind, place(error))).collect();
        assert_eq!(errors, *told, "{value}");
    }
}

fn sketch(value: &Value) -> String {
    match value {
        Value::Integer(value) => value.to_string(),
        Value::Array(items) => {
            let items: Vec<String> = items.iter().map(|item| sketch(&item.value)).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Table(table) if !table.entries.is_empty() => {
            let entry = |entry: &guywire_text::Entry| format!("{}: {}", entry.key.text, sketch(&entry.value.value));
            format!("{{{}}}", table.entries.iter().map(entry).collect::<Vec<_>>().join(", "))
        }
        _ => "?".into(),
    }
}

#[test]
fn clashes_keep_the_first_and_name_both_places() {
    let cases: &[(&str, &[&str], &str)] = &[
        ("[a]\nx = 1\n[a]\ny = 2\n", &["x"], "DuplicateTable \"a\" after \"[a]\""),
        ("[a]\nx.y = 1\n[a.x]\nz = 1\n", &["x"], "DuplicateTable \"x\" after \"x\""),
        ("[a.b]\nx = 1\n[a]\nb.y = 1\n", &["b"], "DuplicateTable \"b\" after \"b\""),
        ("[a]\nx = 1\n[a.x]\n", &["x"], "ValueAndTable \"x\" after \"x\""),
        ("[a]\nx = 1\n[a.x.y]\n", &["x"], "ValueAndTable \"x\" after \"1\""),
        ("[a]\n[[a.x]]\n[a.x]\n", &["x"], "ArrayAndTable \"x\" after \"x\""),
        ("[a]\n[a.x]\n[[a.x]]\n", &["x"], "ArrayAndTable \"x\" after \"x\""),
        ("[a]\nx = []\n[[a.x]]\n", &["x"], "ValueAndTable \"x\" after \"x\""),
    ];
    for (text, keys, told) in cases {
        let document = Document::new(text);
        let (_, unit) = document.read_all().swap_remove(0);
        let Value::Table(table) = &unit.tables[0].value.value else { panic!("a table") };
        assert_eq!(table.entries.iter().map(|entry| &*entry.key.text).collect::<Vec<_>>(), *keys, "{text}");
        let place = |span| document.text(span).expect("its text").into_owned();
        let [error] = unit.errors.as_slice() else { panic!("one error: {text} {:?}", unit.errors) };
        let related = error.related.map(place).expect("the first place");
        assert_eq!(format!("{:?} {:?} after {related:?}", error.kind, place(error.span)), *told, "{text}");
    }
}

#[test]
fn a_second_table_marks_the_first_as_not_all_there() {
    let (_, unit) = Document::new("[a]\nx = 1\n[a]\ny = 2\n").read_all().swap_remove(0);
    let Value::Table(table) = &unit.tables[0].value.value else { panic!("a table") };
    assert!(table.broken);
}

#[test]
fn a_list_stays_a_list_whatever_strays_into_it() {
    for (stray, kind) in [
        ("channel = 1\n", SyntaxErrorKind::ValueAndTable),
        ("channel.x = 1\n", SyntaxErrorKind::ValueAndTable),
        ("[channel.sub]\n", SyntaxErrorKind::BeforeEntries),
        ("[channel]\n", SyntaxErrorKind::ArrayAndTable),
    ] {
        let text = format!("{stray}[[channel]]\na = 1\n[channel.sub]\n[[channel]]\na = 2\n");
        let document = Document::new(&text);
        let units = document.read_all();
        let [(UnitKey::Group(_), unit)] = units.as_slice() else { panic!("one group: {stray}") };
        let kinds: Vec<SyntaxErrorKind> = unit.errors.iter().map(|error| error.kind).collect();
        assert_eq!(kinds, [kind], "{stray}");
        let arrays: Vec<bool> = unit.tables.iter().map(|table| table.array).collect();
        assert_eq!(arrays, [false, true, true], "{stray}");
        assert_eq!(unit.tables.iter().map(|table| table.ordinal).collect::<Vec<_>>(), [0, 1, 2]);
    }
}

#[test]
fn headers_that_cannot_be_read_keep_their_keys() {
    for header in ["[[channel", "[channel]]", "[]", "[a b]", "[[a]", "[\"a]", "[a.]", "[ [a]]"] {
        let text = format!("{header}\nname = 1\n[[channel]]\nlast = 2\n");
        let document = Document::new(&text);
        let units = document.read_all();
        let [(UnitKey::Unnamed(_), unit), (UnitKey::Entry(_), _)] = units.as_slice() else {
            panic!("{header}: {units:?}")
        };
        assert!(unit.tables[0].name.is_none(), "{header}");
        let Value::Table(table) = &unit.tables[0].value.value else { panic!("a table") };
        assert!(table.get("name").is_some(), "{header}");
        assert_eq!(document.text(table.headers[0]).as_deref(), Some(header));
        assert_eq!(unit.errors.len(), 1, "{header}");
    }
}

#[test]
fn what_belongs_to_no_key_at_the_root_has_its_own_unit() {
    let document = Document::new("a = 1\n= 2\n");
    let units = document.read_all();
    let [(UnitKey::Group(name), a), (UnitKey::Unnamed(_), rest)] = units.as_slice() else { panic!("{units:?}") };
    assert_eq!((&**name, a.tables.len(), a.errors.len()), ("a", 1, 0));
    assert_eq!((rest.tables.len(), rest.errors.len()), (1, 1));
    assert!(matches!(&rest.tables[0].value.value, Value::Table(table) if table.broken));
    // A wrong comment is an error, but hides no key.
    let units = Document::new("# \u{1}\n[a]\n").read_all();
    assert_eq!((units[0].1.tables.len(), units[0].1.errors.len()), (0, 1));
}

#[test]
fn messages_say_what_to_do_and_quote_nothing() {
    let text = "[[channel]]\nkey = \"s3cret\nkey2 = s3cret\nkey3 = 's3cret' s3cret\ns3cret\n[s3cret\n";
    let units = Document::new(text).read_all();
    let errors: Vec<String> = units.iter().flat_map(|(_, unit)| &unit.errors).map(ToString::to_string).collect();
    assert_eq!(errors.len(), 5);
    for error in errors {
        assert!(!error.contains("s3cret") && error.contains(": "), "{error}");
    }
}
