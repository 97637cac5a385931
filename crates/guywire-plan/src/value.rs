//! What is kept of a table: the values of its keys, each with its place, and nothing of the parse.

use guywire_radio::Hertz;
use jiff::civil::Date;

use crate::language::{Field, TableSpec, Tabled};
use crate::shape::Shape;
use crate::symbol::Symbol;
use guywire_text::FileId;

/// A value is there, is not there, or is there and cannot be read. Nothing is concluded from what cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Known<T> {
    /// The key is not there.
    Absent,
    /// The value.
    Is(T),
    /// Something is there that cannot be read, or a broken line might be it.
    Unreadable,
}

impl<T> Known<T> {
    /// The value, if there is one.
    pub fn value(self) -> Option<T> {
        match self {
            Known::Is(value) => Some(value),
            Known::Absent | Known::Unreadable => None,
        }
    }
    /// The value changed, if there is one.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Known<U> {
        match self {
            Known::Is(value) => Known::Is(change(value)),
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        }
    }
    /// The value, or another where the key is not there.
    pub fn or(self, other: Known<T>) -> Known<T> {
        match self {
            Known::Absent => other,
            known => known,
        }
    }
    /// The value, or this one where the key is not there.
    pub fn or_value(self, value: T) -> Known<T> {
        self.or(Known::Is(value))
    }
}

/// Bytes of one of the blocks that an entity is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Local {
    /// Which of the entity's blocks.
    pub block: u16,
    /// First byte in the block.
    pub start: u32,
    /// Byte after the last.
    pub end: u32,
}

/// Why a value that is there cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Why {
    /// The text is no TOML value.
    Syntax,
    /// A value of another type than the key takes.
    Type,
    /// A text that is none of the words, or not in the form, that the key takes.
    Form,
    /// A number outside the range of the key.
    Range,
    /// A frequency that reads as kHz or Hz.
    NotMegahertz,
}

/// A value as it is kept. Text for people and secrets are kept as a hash only: enough to see a change, nothing to leak.
#[derive(Debug, Clone, PartialEq)]
pub enum Stored {
    /// A name, a reference, or a text in a form of its own (tone, designator).
    Text(Symbol),
    /// Text for people, or a secret: its hash and what it looks like.
    Hash(u64, Shape),
    /// A whole number.
    Whole(i64),
    /// A number.
    Number(f64),
    /// A frequency.
    Frequency(Hertz),
    /// A frequency with digits below one hertz, rounded.
    Rounded(Hertz),
    /// True or false.
    Truth(bool),
    /// A date.
    Date(Date),
    /// A file of the language, there or not.
    File(FileId),
    /// A list.
    List(Box<Vec<Element>>),
    /// A table with keys of its own.
    Part(Box<Record>),
    /// It is there and cannot be read.
    Unreadable(Why),
}

/// A value in a list.
#[derive(Debug, Clone)]
pub struct Element {
    /// Where.
    pub at: Local,
    /// What.
    pub value: Stored,
}

impl PartialEq for Element {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

/// A key of the table with its value and places.
#[derive(Debug, Clone)]
pub struct Slot {
    /// The number of the key.
    pub field: u8,
    /// Where the key is.
    pub key: Local,
    /// Where the value is.
    pub at: Local,
    /// The value.
    pub value: Stored,
}

/// A key that the table does not have.
#[derive(Debug, Clone)]
pub struct Extra {
    /// The key.
    pub name: Symbol,
    /// Where the key is.
    pub key: Local,
    /// Where the value is.
    pub at: Local,
    /// The value, as far as it can be read without knowing what it should be.
    pub value: Stored,
}

/// What is written in a table.
#[derive(Debug, Clone)]
pub struct Record {
    /// Which table it is.
    pub spec: &'static TableSpec,
    /// Where the table starts: its header, or the inline table.
    pub at: Local,
    /// The keys that the table knows, by number.
    pub slots: Box<[Slot]>,
    /// The keys that it does not know, in text order.
    pub extras: Box<[Extra]>,
    /// A line of it cannot be read: any key that is not there might be on it.
    pub broken: bool,
}

impl PartialEq for Record {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.spec, other.spec)
            && self.broken == other.broken
            && self.slots.len() == other.slots.len()
            && self.slots.iter().zip(&other.slots).all(|(a, b)| a.field == b.field && a.value == b.value)
            && self.extras.len() == other.extras.len()
            && self.extras.iter().zip(&other.extras).all(|(a, b)| a.name == b.name && a.value == b.value)
    }
}

impl Record {
    /// The slot of a key.
    pub fn slot(&self, field: u8) -> Option<&Slot> {
        self.slots.iter().find(|slot| slot.field == field)
    }

    /// The value of a key.
    pub fn known(&self, field: u8) -> Known<&Stored> {
        match self.slot(field).map(|slot| &slot.value) {
            Some(Stored::Unreadable(_)) => Known::Unreadable,
            Some(value) => Known::Is(value),
            None if self.broken => Known::Unreadable,
            None => Known::Absent,
        }
    }
}

/// A table seen through its type: an entity, or a part of one.
pub trait Row<T: Tabled> {
    /// The record, for reading these keys.
    fn record_for(&self, field: u8) -> &Record;

    /// The value of a key, whatever it is.
    fn known(&self, field: Field<T>) -> Known<&Stored> {
        self.record_for(field.number()).known(field.number())
    }
    /// Whether the key is written, readable or not.
    fn has(&self, field: Field<T>) -> bool {
        self.record_for(field.number()).slot(field.number()).is_some()
    }
    /// A name, a reference or a text in a form of its own.
    fn text(&self, field: Field<T>) -> Known<Symbol> {
        self.only(field, |value| if let Stored::Text(symbol) = value { Some(*symbol) } else { None })
    }
    /// A whole number.
    fn whole(&self, field: Field<T>) -> Known<i64> {
        self.only(field, |value| if let Stored::Whole(number) = value { Some(*number) } else { None })
    }
    /// A number.
    fn number(&self, field: Field<T>) -> Known<f64> {
        self.only(field, |value| match value {
            Stored::Number(number) => Some(*number),
            Stored::Whole(number) => Some(*number as f64),
            _ => None,
        })
    }
    /// A frequency.
    fn frequency(&self, field: Field<T>) -> Known<Hertz> {
        self.only(field, |value| match value {
            Stored::Frequency(hertz) | Stored::Rounded(hertz) => Some(*hertz),
            _ => None,
        })
    }
    /// True or false.
    fn truth(&self, field: Field<T>) -> Known<bool> {
        self.only(field, |value| if let Stored::Truth(truth) = value { Some(*truth) } else { None })
    }
    /// A date.
    fn date(&self, field: Field<T>) -> Known<Date> {
        self.only(field, |value| if let Stored::Date(date) = value { Some(*date) } else { None })
    }
    /// A file that the key names.
    fn file(&self, field: Field<T>) -> Known<FileId> {
        self.only(field, |value| if let Stored::File(file) = value { Some(*file) } else { None })
    }
    /// A list.
    fn list(&self, field: Field<T>) -> Known<&[Element]> {
        self.only(field, |value| if let Stored::List(elements) = value { Some(&elements[..]) } else { None })
    }
    /// A table in this one.
    fn part<P: Tabled>(&self, field: Field<T>) -> Known<Part<'_, P>> {
        self.only(field, |value| if let Stored::Part(record) = value { Some(Part::new(record)) } else { None })
    }
    /// The tables in this one under the key; those that cannot be read are left out.
    fn parts<P: Tabled>(&self, field: Field<T>) -> Vec<Part<'_, P>> {
        self.each_part(field).collect()
    }
    /// The tables of [`Row::parts`], one after another.
    fn each_part<'a, P: Tabled>(&'a self, field: Field<T>) -> impl Iterator<Item = Part<'a, P>>
    where
        T: 'a,
    {
        let (listed, only): (&[Element], Option<&Record>) = match self.known(field) {
            Known::Is(Stored::List(elements)) => (elements, None),
            Known::Is(Stored::Part(record)) => (&[], Some(record)),
            _ => (&[], None),
        };
        let part = |element: &'a Element| match &element.value {
            Stored::Part(record) => Some(Part::new(record)),
            _ => None,
        };
        listed.iter().filter_map(part).chain(only.map(Part::new))
    }
    /// The value where it has this form; a value of another form reads as absent.
    fn only<'a, V>(&'a self, field: Field<T>, pick: impl FnOnce(&'a Stored) -> Option<V>) -> Known<V>
    where
        T: 'a,
    {
        match self.known(field) {
            Known::Is(value) => pick(value).map_or(Known::Absent, Known::Is),
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        }
    }
}

/// A table inside an entity. Reading it was recorded when it was reached.
#[derive(Debug)]
pub struct Part<'v, T> {
    record: &'v Record,
    table: std::marker::PhantomData<fn() -> T>,
}

impl<T> Clone for Part<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Part<'_, T> {}

impl<'v, T: Tabled> Part<'v, T> {
    /// A record seen as the table `T`.
    pub fn new(record: &'v Record) -> Self {
        debug_assert!(std::ptr::eq(record.spec, T::SPEC), "a part is read as the table that it is");
        Self { record, table: std::marker::PhantomData }
    }
    /// What is written in it.
    pub fn record(self) -> &'v Record {
        self.record
    }
}

impl<T: Tabled> Row<T> for Part<'_, T> {
    fn record_for(&self, _field: u8) -> &Record {
        self.record
    }
}

/// A place inside a record: a key, then by turns the number in a list or the key of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct FieldPath {
    steps: [u32; 6],
    len: u8,
}

/// Marks a step as the number of an unknown key.
pub(crate) const EXTRA: u32 = 0x8000_0000;

impl FieldPath {
    /// A key of the record itself.
    pub const fn key(field: u8) -> Self {
        FieldPath { steps: [field as u32, 0, 0, 0, 0, 0], len: 1 }
    }
    /// The first step.
    pub fn first(self) -> Option<u8> {
        (self.len > 0 && self.steps[0] < 256).then_some(self.steps[0] as u8)
    }
    /// The steps.
    pub fn steps(&self) -> &[u32] {
        &self.steps[..self.len as usize]
    }
    /// One step further: the number in a list, or the key of a part. Steps past the sixth are dropped.
    pub fn then(mut self, step: usize) -> Self {
        if (self.len as usize) < self.steps.len() {
            self.steps[self.len as usize] = step.min(EXTRA as usize - 1) as u32;
            self.len += 1;
        }
        self
    }
    /// One step further: the unknown key of this number.
    pub fn then_extra(mut self, number: usize) -> Self {
        if (self.len as usize) < self.steps.len() {
            self.steps[self.len as usize] = EXTRA | number.min(EXTRA as usize - 1) as u32;
            self.len += 1;
        }
        self
    }
}

/// Where something is: the key and the value.
#[derive(Debug, Clone, Copy)]
pub struct Spot<'r> {
    /// The key; in a list, the element itself.
    pub key: Local,
    /// The value.
    pub at: Local,
    /// The value itself.
    pub value: &'r Stored,
}

impl Record {
    /// What stands at a path, if anything does.
    pub fn spot(&self, path: &FieldPath) -> Option<Spot<'_>> {
        let (first, rest) = path.steps().split_first()?;
        let mut spot = self.step(*first)?;
        for step in rest {
            spot = match spot.value {
                Stored::List(elements) => {
                    let element = elements.get(*step as usize)?;
                    Spot { key: element.at, at: element.at, value: &element.value }
                }
                Stored::Part(record) => record.step(*step)?,
                _ => return None,
            };
        }
        Some(spot)
    }

    fn step(&self, step: u32) -> Option<Spot<'_>> {
        if step & EXTRA != 0 {
            let extra = self.extras.get((step & !EXTRA) as usize)?;
            return Some(Spot { key: extra.key, at: extra.at, value: &extra.value });
        }
        let slot = self.slot(u8::try_from(step).ok()?)?;
        Some(Spot { key: slot.key, at: slot.at, value: &slot.value })
    }
}
