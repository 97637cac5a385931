//! Shared by the tests: seeded random documents and edits, and trees that both this crate and `toml_edit` can be read
//! into.
#![allow(dead_code, clippy::expect_used)]

pub mod generate;

use std::collections::BTreeMap;
use std::ops::Range;

use guywire_text::{Document, Item, SyntaxError, TopTable, Unit, UnitKey, Value};

/// Splitmix64, so that a seed gives the same documents everywhere. Source: Steele, Lea, Flood, "Fast splittable
/// pseudorandom number generators", OOPSLA 2014 (constants from memory).
pub struct Random(pub u64);

impl Random {
    pub fn word(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.word() % n.max(1) as u64) as usize
    }

    pub fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    pub fn pick<'a, T: ?Sized>(&mut self, from: &[&'a T]) -> &'a T {
        from[self.below(from.len())]
    }
}

/// A value with absolute places. Places that the two readers define differently are left out.
#[derive(Clone, PartialEq, Debug)]
pub enum Tree {
    Scalar(String, Range<usize>),
    Array(Vec<Tree>),
    Table(BTreeMap<String, (Range<usize>, Tree)>, Option<Range<usize>>),
}

/// The whole document as this crate reads it, from all its units.
pub fn tree_of(document: &Document) -> Tree {
    let mut root: BTreeMap<String, (Range<usize>, Tree)> = BTreeMap::new();
    for key in document.units() {
        for table in document.read_unit(&key).expect("a unit that is listed").tables {
            let name = table.name.as_ref().expect("a readable header");
            let tree = item_tree(document, &table.value);
            let place = document.range(name.span).expect("a place in the text");
            if !table.array {
                assert!(root.insert(name.text.to_string(), (place, tree)).is_none(), "one table a name");
                continue;
            }
            match &mut root.entry(name.text.to_string()).or_insert((place, Tree::Array(Vec::new()))).1 {
                Tree::Array(items) => items.push(tree),
                other => panic!("not a list: {other:?}"),
            }
        }
    }
    Tree::Table(root, None)
}

fn item_tree(document: &Document, item: &Item) -> Tree {
    let place = document.range(item.span).expect("a place in the text");
    match &item.value {
        Value::String(text) => Tree::Scalar(format!("string {text}"), place),
        Value::Integer(value) => Tree::Scalar(format!("integer {value}"), place),
        Value::Float(text) => Tree::Scalar(float(text), place),
        Value::Boolean(value) => Tree::Scalar(format!("boolean {value}"), place),
        Value::Datetime(value) => Tree::Scalar(format!("date {value}"), place),
        Value::Array(items) => Tree::Array(items.iter().map(|item| item_tree(document, item)).collect()),
        Value::Table(table) => {
            let entry = |entry: &guywire_text::Entry| {
                let place = document.range(entry.key.span).expect("a place in the text");
                (entry.key.text.to_string(), (place, item_tree(document, &entry.value)))
            };
            let entries: BTreeMap<_, _> = table.entries.iter().map(entry).collect();
            assert_eq!(entries.len(), table.entries.len(), "keys are unique");
            Tree::Table(entries, Some(place))
        }
        Value::Unreadable => panic!("unreadable in a valid text"),
    }
}

fn float(text: &str) -> String {
    let value: f64 = text.replace('_', "").parse().expect("a float");
    format!("float {:?}", if value.is_nan() { f64::NAN.abs() } else { value })
}

/// The whole document as `toml_edit` reads it.
pub fn oracle(text: &str) -> Option<Tree> {
    let document = toml_edit::Document::parse(text).ok()?;
    let Tree::Table(entries, _) = table_tree(text, document.as_table()) else { unreachable!("a table") };
    Some(Tree::Table(entries, None))
}

fn table_tree(text: &str, table: &toml_edit::Table) -> Tree {
    let mut entries = BTreeMap::new();
    for (key, item) in table.iter() {
        let (key_text, _) = (key, item);
        let place = table.get_key_value(key).expect("a key it lists").0.span().expect("a place");
        let tree = match item {
            toml_edit::Item::None => continue,
            toml_edit::Item::Value(value) => value_tree(text, value),
            toml_edit::Item::Table(table) => table_tree(text, table),
            toml_edit::Item::ArrayOfTables(tables) => Tree::Array(tables.iter().map(|t| table_tree(text, t)).collect()),
        };
        entries.insert(key_text.to_string(), (place, tree));
    }
    Tree::Table(entries, table.span())
}

fn value_tree(text: &str, value: &toml_edit::Value) -> Tree {
    let place = value.span().expect("a place");
    match value {
        toml_edit::Value::String(value) => Tree::Scalar(format!("string {}", value.value()), place),
        toml_edit::Value::Integer(value) => Tree::Scalar(format!("integer {}", value.value()), place),
        toml_edit::Value::Float(_) => Tree::Scalar(float(&text[place.clone()]), place),
        toml_edit::Value::Boolean(value) => Tree::Scalar(format!("boolean {}", value.value()), place),
        toml_edit::Value::Datetime(value) => Tree::Scalar(format!("date {}", value.value()), place),
        toml_edit::Value::Array(items) => Tree::Array(items.iter().map(|item| value_tree(text, item)).collect()),
        toml_edit::Value::InlineTable(table) => {
            let mut entries = BTreeMap::new();
            for (key, value) in table.iter() {
                let place = table.get_key_value(key).expect("a key it lists").0.span().expect("a place");
                entries.insert(key.to_string(), (place, value_tree(text, value)));
            }
            Tree::Table(entries, Some(place))
        }
    }
}

/// All errors of a document with absolute places.
pub fn errors_of(document: &Document) -> Vec<SyntaxError> {
    document.units().iter().flat_map(|key| document.read_unit(key).expect("a unit that is listed").errors).collect()
}

/// A unit with everything that names a block replaced by absolute places, to compare documents of different pasts.
pub fn absolute(document: &Document, key: &UnitKey, unit: &Unit) -> String {
    let name = match key {
        UnitKey::Entry(block) => format!("entry at {:?}", document.start(*block)),
        UnitKey::Group(name) => format!("group {name}"),
        UnitKey::Unnamed(block) => format!("unnamed at {:?}", document.start(*block)),
    };
    let tables: Vec<String> = unit.tables.iter().map(|table| absolute_table(document, table)).collect();
    let errors: Vec<String> = unit.errors.iter().map(|error| absolute_error(document, error)).collect();
    format!("{name}\n{}\n{}", tables.join("\n"), errors.join("\n"))
}

pub fn absolute_error(document: &Document, error: &SyntaxError) -> String {
    let place = document.range(error.span).expect("an error lies in its block");
    assert!(document.text(error.span).is_some(), "an error lies on character boundaries");
    let related = error.related.map(|span| document.range(span).expect("the other place lies in its block"));
    format!("{:?} {place:?} {related:?}", error.kind)
}

fn absolute_table(document: &Document, table: &TopTable) -> String {
    let name = table.name.as_ref().map(|key| (&key.text, document.range(key.span).expect("a place")));
    format!("{name:?} {} {} {}", table.array, table.ordinal, absolute_item(document, &table.value))
}

fn absolute_item(document: &Document, item: &Item) -> String {
    let place = document.range(item.span).expect("an item lies in its block");
    assert!(document.text(item.span).is_some(), "an item lies on character boundaries");
    let value = match &item.value {
        Value::Array(items) => {
            let items: Vec<String> = items.iter().map(|item| absolute_item(document, item)).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Table(table) => {
            let headers: Vec<_> = table.headers.iter().map(|span| document.range(*span).expect("a place")).collect();
            let entry = |entry: &guywire_text::Entry| {
                let key = document.range(entry.key.span).expect("a place");
                format!("{}@{key:?} = {}", entry.key.text, absolute_item(document, &entry.value))
            };
            let entries: Vec<String> = table.entries.iter().map(entry).collect();
            format!("{headers:?} broken={} {{{}}}", table.broken, entries.join(", "))
        }
        other => format!("{other:?}"),
    };
    format!("{place:?} {value}")
}
