//! A plan as rows of cells, read by another parser than the linter's.

use std::collections::BTreeMap;
use std::ops::Range;

use guywire_radio::{Hertz, Tone};
use toml_edit::{Item, Table, Value};

/// A value, or an item of a list: its text without quotes, and where that stands.
#[derive(Debug, Clone)]
pub struct Cell {
    pub text: String,
    pub bytes: Range<usize>,
}

/// One table of a plan.
#[derive(Debug)]
pub struct Row {
    pub table: String,
    pub keys: BTreeMap<String, Vec<Cell>>,
}

impl Row {
    pub fn all(&self, key: &str) -> impl Iterator<Item = &str> {
        self.keys.get(key).into_iter().flatten().map(|cell| cell.text.as_str())
    }

    pub fn get(&self, key: &str) -> Option<&str> {
        self.all(key).next()
    }

    pub fn hertz(&self, key: &str) -> Option<Hertz> {
        Hertz::from_mhz_text(self.get(key)?).ok()
    }

    pub fn tone(&self, key: &str) -> Option<Tone> {
        self.get(key)?.parse().ok()
    }

    pub fn whole(&self, key: &str) -> Option<i64> {
        self.get(key)?.parse().ok()
    }
}

/// The tables of a text, those inside others too, in order.
pub fn rows(text: &str) -> Vec<Row> {
    let document = toml_edit::Document::parse(text).unwrap();
    let mut rows = Vec::new();
    read_table("", document.as_table(), text, &mut rows);
    rows
}

fn read_table(name: &str, table: &Table, text: &str, rows: &mut Vec<Row>) {
    let mut row = Row { table: name.to_owned(), keys: BTreeMap::new() };
    let mut inner = Vec::new();
    for (key, item) in table {
        let path = if name.is_empty() { key.to_owned() } else { format!("{name}.{key}") };
        match item {
            Item::Value(value) => {
                row.keys.insert(key.to_owned(), cells(value, text));
            }
            Item::Table(table) => read_table(&path, table, text, &mut inner),
            Item::ArrayOfTables(tables) => tables.iter().for_each(|table| read_table(&path, table, text, &mut inner)),
            Item::None => {}
        }
    }
    rows.push(row);
    rows.append(&mut inner);
}

fn cells(value: &Value, text: &str) -> Vec<Cell> {
    match value {
        Value::Array(items) => items.iter().flat_map(|item| cells(item, text)).collect(),
        Value::InlineTable(_) => Vec::new(),
        _ => {
            let span = value.span().unwrap();
            let quote = usize::from(text[span.clone()].starts_with('"'));
            let bytes = span.start + quote..span.end - quote;
            vec![Cell { text: text[bytes.clone()].to_owned(), bytes }]
        }
    }
}
