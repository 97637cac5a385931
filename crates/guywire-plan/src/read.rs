//! From a tree of the text to a record: each value is read as the language table says its key must be.

use std::hash::{Hash, Hasher};

use guywire_radio::{FrequencyError, Hertz};
use guywire_text::{BlockId, FileId, Item, Span, Table, Value};
use jiff::civil::Date;
use rustc_hash::FxHasher;

use crate::language::{TableSpec, Type};
use crate::shape::{self, Shape};
use crate::symbol::Symbols;
use crate::value::{Element, Extra, Local, Record, Slot, Stored, Why};

/// What reading needs from outside: names, and files by the path that a key holds.
pub(crate) struct Reader<'r> {
    pub symbols: &'r mut Symbols,
    /// The file of a path as written in a key of the file being read.
    pub file_of: &'r mut dyn FnMut(&str) -> FileId,
    /// The blocks of the entity; a place is kept as a number in this list.
    pub blocks: Vec<BlockId>,
}

impl Reader<'_> {
    fn local(&mut self, span: Span) -> Local {
        let block = match self.blocks.iter().rposition(|block| *block == span.block) {
            Some(at) => at,
            None => {
                self.blocks.push(span.block);
                self.blocks.len() - 1
            }
        };
        // A table of more than 65,535 blocks shows places of the last one wrongly, nothing worse.
        Local { block: block.min(u16::MAX as usize) as u16, start: span.start, end: span.end }
    }

    /// Reads a table. `at` is its header or the inline table.
    pub fn record(&mut self, spec: &'static TableSpec, table: &Table, at: Span) -> Record {
        let at = self.local(table.headers.first().copied().unwrap_or(at));
        let mut slots: Vec<Slot> = Vec::with_capacity(table.entries.len());
        let mut extras = Vec::new();
        for entry in &table.entries {
            let key = self.local(entry.key.span);
            let place = self.local(entry.value.span);
            match spec.field(&entry.key.text) {
                Some(field) => {
                    let about = spec.key(field);
                    let value = if about.secret {
                        self.secret(&about.value, &entry.value)
                    } else {
                        self.value(&about.value, &entry.value)
                    };
                    slots.push(Slot { field, key, at: place, value });
                }
                None => {
                    let name = self.symbols.intern(&entry.key.text);
                    let value = if spec.open {
                        self.value(&spec.open_value, &entry.value)
                    } else {
                        self.anything(&entry.value)
                    };
                    extras.push(Extra { name, key, at: place, value });
                }
            }
        }
        slots.sort_by_key(|slot| slot.field);
        slots.dedup_by_key(|slot| slot.field);
        Record { spec, at, slots: slots.into(), extras: extras.into(), broken: table.broken }
    }

    fn value(&mut self, form: &Type, item: &Item) -> Stored {
        match (form, &item.value) {
            (_, Value::Unreadable) => Stored::Unreadable(Why::Syntax),
            (Type::Name, Value::String(text)) => Stored::Text(self.symbols.intern(text)),
            (Type::Prose, Value::String(text)) => Stored::Hash(hash(text), shape::of_prose(text)),
            (Type::SheetPath, Value::String(text)) => Stored::File((self.file_of)(text)),
            (Type::Word(words), Value::String(text)) => {
                if words.contains(&&**text) {
                    Stored::Text(self.symbols.intern(text))
                } else {
                    Stored::Unreadable(Why::Form)
                }
            }
            (Type::Refer(..) | Type::Designator | Type::Text, Value::String(text)) => {
                Stored::Text(self.symbols.intern(text))
            }
            (Type::Tone, Value::String(text)) => self.tone(text, &[]),
            (Type::ToneOr(words), Value::String(text)) => self.tone(text, words),
            (Type::Path(_, built_in), Value::String(text)) => {
                if built_in.contains(&&**text) {
                    Stored::Text(self.symbols.intern(text))
                } else {
                    Stored::File((self.file_of)(text))
                }
            }
            (Type::Megahertz, Value::Integer(_) | Value::Float(_)) => frequency(item, Hertz::from_mhz_text),
            (Type::Kilohertz, Value::Integer(_) | Value::Float(_)) => frequency(item, Hertz::from_khz_text),
            (Type::Whole(low, high), Value::Integer(number)) => {
                if (*low..=*high).contains(number) {
                    Stored::Whole(*number)
                } else {
                    Stored::Unreadable(Why::Range)
                }
            }
            (Type::Number(low, high), Value::Integer(_) | Value::Float(_)) => match decimal(item) {
                Some(number) if (*low..=*high).contains(&number) => Stored::Number(number),
                Some(_) => Stored::Unreadable(Why::Range),
                None => Stored::Unreadable(Why::Form),
            },
            (Type::Truth, Value::Boolean(truth)) => Stored::Truth(*truth),
            (Type::Date, Value::Datetime(_)) => date(item).map_or(Stored::Unreadable(Why::Form), Stored::Date),
            (Type::List(form) | Type::OneOrMore(form), Value::Array(items)) => self.list(form, items),
            (Type::OneOrMore(form), _) => self.value(form, item),
            (Type::Part(spec), Value::Table(table)) => Stored::Part(Box::new(self.record(spec, table, item.span))),
            (Type::Parts(spec), Value::Array(items)) => self.list(&Type::Part(spec), items),
            (Type::Either(first, second), _) => match self.value(first, item) {
                Stored::Unreadable(Why::Type) => self.value(second, item),
                read => read,
            },
            (Type::Anything, _) => self.anything(item),
            _ => Stored::Unreadable(Why::Type),
        }
    }

    fn list(&mut self, form: &Type, items: &[Item]) -> Stored {
        let elements = items.iter().map(|item| Element { at: self.local(item.span), value: self.value(form, item) });
        Stored::List(Box::new(elements.collect()))
    }

    fn tone(&mut self, text: &str, words: &[&str]) -> Stored {
        if words.contains(&text) || text.parse::<guywire_radio::Tone>().is_ok() {
            Stored::Text(self.symbols.intern(text))
        } else {
            Stored::Unreadable(Why::Form)
        }
    }

    /// A secret: whatever it is, only that it is there, whether it changed and whether it is a pattern. A table of it
    /// (`held_in`) is no secret.
    fn secret(&mut self, form: &Type, item: &Item) -> Stored {
        match (form, &item.value) {
            (_, Value::Unreadable) => Stored::Unreadable(Why::Syntax),
            (Type::Either(first, _), Value::Table(_)) => self.value(first, item),
            (_, Value::String(text)) => {
                let material = shape::material(text);
                Stored::Hash(hash(&material), shape::of_secret(&material))
            }
            (_, value) => {
                let mut hasher = FxHasher::default();
                hash_value(value, &mut hasher);
                Stored::Hash(hasher.finish(), Shape::Plain)
            }
        }
    }

    /// A value of which nothing is known.
    fn anything(&mut self, item: &Item) -> Stored {
        match &item.value {
            Value::String(text) => Stored::Text(self.symbols.intern(text)),
            Value::Integer(number) => Stored::Whole(*number),
            Value::Float(_) => decimal(item).map_or(Stored::Unreadable(Why::Form), Stored::Number),
            Value::Boolean(truth) => Stored::Truth(*truth),
            Value::Datetime(_) => date(item).map_or(Stored::Unreadable(Why::Form), Stored::Date),
            Value::Array(items) => {
                let elements =
                    items.iter().map(|item| Element { at: self.local(item.span), value: self.anything(item) });
                Stored::List(Box::new(elements.collect()))
            }
            Value::Table(table) => Stored::Part(Box::new(self.record(&OPEN, table, item.span))),
            Value::Unreadable => Stored::Unreadable(Why::Syntax),
        }
    }
}

/// A table of which nothing is known: every key of it is data.
pub(crate) static OPEN: TableSpec = TableSpec {
    kind: crate::language::Kind::Part,
    name: "",
    file: crate::language::FileKind::Plan,
    many: crate::language::Many::Part,
    open: true,
    open_value: Type::Anything,
    open_names: &[],
    doc: "",
    keys: &[],
    one_of: &[],
};

fn hash(text: &str) -> u64 {
    let mut hasher = FxHasher::default();
    text.hash(&mut hasher);
    hasher.finish()
}

fn hash_value(value: &Value, hasher: &mut FxHasher) {
    match value {
        Value::String(text) | Value::Float(text) => text.hash(hasher),
        Value::Integer(number) => number.hash(hasher),
        Value::Boolean(truth) => truth.hash(hasher),
        Value::Datetime(when) => when.to_string().hash(hasher),
        Value::Array(items) => items.iter().for_each(|item| hash_value(&item.value, hasher)),
        Value::Table(table) => table.entries.iter().for_each(|entry| {
            entry.key.text.hash(hasher);
            hash_value(&entry.value.value, hasher);
        }),
        Value::Unreadable => {}
    }
}

/// The number as it is written.
fn written(item: &Item) -> Option<String> {
    match &item.value {
        Value::Integer(number) => Some(number.to_string()),
        Value::Float(text) => Some(text.to_string()),
        _ => None,
    }
}

fn decimal(item: &Item) -> Option<f64> {
    let text = written(item)?.replace('_', "");
    text.parse::<f64>().ok().filter(|number| number.is_finite())
}

fn frequency(item: &Item, read: fn(&str) -> Result<Hertz, FrequencyError>) -> Stored {
    let Some(text) = written(item) else { return Stored::Unreadable(Why::Type) };
    match read(&text) {
        Ok(hertz) => Stored::Frequency(hertz),
        Err(FrequencyError::BelowOneHertz { rounded, .. }) => Stored::Rounded(rounded),
        Err(FrequencyError::OtherUnit { .. }) => Stored::Unreadable(Why::NotMegahertz),
        Err(_) => Stored::Unreadable(Why::Range),
    }
}

fn date(item: &Item) -> Option<Date> {
    let Value::Datetime(when) = &item.value else { return None };
    let date = when.date?;
    Date::new(i16::try_from(date.year).ok()?, i8::try_from(date.month).ok()?, i8::try_from(date.day).ok()?).ok()
}
