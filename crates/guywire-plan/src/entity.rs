//! Entities: one for each top-level table, or entry of a top-level array of tables.

use guywire_text::{BlockId, FileId, UnitKey};

use crate::language::{FieldSet, Kind, Type};
use crate::symbol::Symbol;
use crate::value::{FieldPath, Known, Local, Record, Stored};

/// An entity. Identity follows the text as it is edited where it can; nothing visible depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct EntityId {
    pub(crate) slot: u32,
    pub(crate) generation: u32,
}

impl EntityId {
    /// A small number that no other entity has at the same time.
    pub fn slot(self) -> usize {
        self.slot as usize
    }
}

/// How the table is written, where that is not as the language has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// As it should be.
    Good,
    /// `[x]` where any number of `[[x]]` stand.
    SingleForMany,
    /// `[[x]]` where one `[x]` stands.
    ManyForSingle,
    /// A value that is no table.
    NotATable,
    /// The language has no such table in this kind of file.
    UnknownTable,
    /// The header cannot be read.
    UnreadableHeader,
}

/// What is known of an entity.
#[derive(Debug, Clone)]
pub struct Entity {
    /// The file that it stands in.
    pub file: FileId,
    /// What it is.
    pub kind: Kind,
    /// Where it was read from.
    pub unit: UnitKey,
    /// Which of the tables of the unit.
    pub ordinal: u32,
    /// How it is written.
    pub form: Form,
    /// The name of the table as written, and where.
    pub table: Option<(Symbol, Local)>,
    /// Its keys.
    pub record: Record,
    /// The blocks that its places are in.
    pub blocks: Box<[BlockId]>,
}

/// A name of another table, written in a table.
#[derive(Debug, Clone, Copy)]
pub struct Reference {
    /// The kinds of table that it may name.
    pub kinds: &'static [Kind],
    /// The name.
    pub name: Symbol,
    /// Where it stands in the table.
    pub path: FieldPath,
    /// The key itself is the name, not its value.
    pub in_key: bool,
}

impl Entity {
    /// Its name, where its table has names.
    pub fn name(&self) -> Known<Symbol> {
        let Some(field) = self.record.spec.name_field() else { return Known::Absent };
        match self.record.known(field) {
            Known::Is(Stored::Text(name)) => Known::Is(*name),
            Known::Is(_) | Known::Unreadable => Known::Unreadable,
            Known::Absent => Known::Absent,
        }
    }

    /// Whether a name that it should have cannot be read.
    pub(crate) fn name_gap(&self) -> bool {
        self.record.spec.name_field().is_some() && self.name() == Known::Unreadable
    }

    /// Whether nothing at all can be said of what it holds.
    pub fn is_opaque(&self) -> bool {
        self.kind == Kind::Unknown
    }

    /// Kinds that something unreadable in it might refer to.
    pub fn use_gaps(&self, found: &mut Vec<Kind>) {
        gaps_in(&self.record, found);
        found.sort_unstable();
        found.dedup();
    }
}

fn gaps_in(record: &Record, found: &mut Vec<Kind>) {
    if record.broken || (!record.extras.is_empty() && !record.spec.open) {
        for key in record.spec.keys {
            kinds_of(&key.value, found);
        }
    }
    for slot in &record.slots {
        gaps_in_value(&record.spec.key(slot.field).value, &slot.value, found);
    }
}

fn gaps_in_value(form: &'static Type, value: &Stored, found: &mut Vec<Kind>) {
    match value {
        Stored::Unreadable(_) => kinds_of(form, found),
        Stored::Part(record) => gaps_in(record, found),
        Stored::List(elements) => {
            let Some(form) = element_of(form) else { return };
            elements.iter().for_each(|element| gaps_in_value(form, &element.value, found));
        }
        _ => {}
    }
}

/// The kinds that values of a form refer to.
pub(crate) fn kinds_of(form: &Type, found: &mut Vec<Kind>) {
    match form {
        Type::Refer(kinds, _) => found.extend_from_slice(kinds),
        Type::List(form) | Type::OneOrMore(form) => kinds_of(form, found),
        Type::Part(spec) | Type::Parts(spec) => spec.keys.iter().for_each(|key| kinds_of(&key.value, found)),
        Type::Either(first, second) => {
            kinds_of(first, found);
            kinds_of(second, found);
        }
        _ => {}
    }
}

/// The form of the elements of a list of this form.
pub(crate) fn element_of(form: &'static Type) -> Option<&'static Type> {
    match form {
        Type::List(form) | Type::OneOrMore(form) => Some(form),
        Type::Parts(_) => Some(form),
        Type::Either(first, second) => element_of(first).or_else(|| element_of(second)),
        _ => None,
    }
}

impl Record {
    /// Calls `found` for every reference in it, parts included. A word that the key takes is no reference.
    pub(crate) fn references(&self, symbols: &crate::symbol::Symbols, found: &mut dyn FnMut(Reference)) {
        references_in(self, &FieldPath::default(), symbols, found);
    }
}

fn references_in(
    record: &Record,
    path: &FieldPath,
    symbols: &crate::symbol::Symbols,
    found: &mut dyn FnMut(Reference),
) {
    for slot in &record.slots {
        references_in_value(
            &record.spec.key(slot.field).value,
            &slot.value,
            path.then(slot.field as usize),
            symbols,
            found,
        );
    }
    if record.spec.open {
        for (number, extra) in record.extras.iter().enumerate() {
            let path = path.then_extra(number);
            if !record.spec.open_names.is_empty() {
                found(Reference { kinds: record.spec.open_names, name: extra.name, path, in_key: true });
            }
            references_in_value(&record.spec.open_value, &extra.value, path, symbols, found);
        }
    }
}

fn references_in_value(
    form: &'static Type,
    value: &Stored,
    path: FieldPath,
    symbols: &crate::symbol::Symbols,
    found: &mut dyn FnMut(Reference),
) {
    match value {
        Stored::Text(name) => {
            if let Some((kinds, words)) = refer(form)
                && !words.contains(&symbols.text(*name))
            {
                found(Reference { kinds, name: *name, path, in_key: false });
            }
        }
        Stored::Part(record) => references_in(record, &path, symbols, found),
        Stored::List(elements) => {
            let Some(form) = element_of(form) else { return };
            for (number, element) in elements.iter().enumerate() {
                references_in_value(form, &element.value, path.then(number), symbols, found);
            }
        }
        _ => {}
    }
}

/// What a text of this form refers to, and the words that are no reference.
pub(crate) fn refer(form: &'static Type) -> Option<(&'static [Kind], &'static [&'static str])> {
    match form {
        Type::Refer(kinds, words) => Some((kinds, words)),
        Type::OneOrMore(form) => refer(form),
        Type::Either(first, second) => refer(first).or_else(|| refer(second)),
        _ => None,
    }
}

/// The keys of two records of one table that differ by value.
pub(crate) fn difference(old: &Record, new: &Record) -> FieldSet {
    let mut changed = FieldSet::default();
    let (mut a, mut b) = (old.slots.iter().peekable(), new.slots.iter().peekable());
    loop {
        let field = match (a.peek(), b.peek()) {
            (None, None) => break,
            (Some(x), None) => x.field,
            (None, Some(y)) => y.field,
            (Some(x), Some(y)) => x.field.min(y.field),
        };
        let before = a.next_if(|slot| slot.field == field);
        let after = b.next_if(|slot| slot.field == field);
        if before.map(|slot| &slot.value) != after.map(|slot| &slot.value) {
            changed = changed.and(FieldSet::of(field));
        }
    }
    let extras_differ = old.extras.len() != new.extras.len()
        || old.extras.iter().zip(&new.extras).any(|(x, y)| x.name != y.name || x.value != y.value);
    if extras_differ {
        changed = changed.and(FieldSet::REST);
    }
    if old.broken != new.broken {
        // Any key that is not there reads as unreadable while a line is broken.
        changed = FieldSet::ALL;
    }
    changed
}
