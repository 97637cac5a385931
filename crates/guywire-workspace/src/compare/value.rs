//! Values as they are compared: free of places, of what numbers names and files, and of names that lead somewhere.

use std::hash::{Hash, Hasher};

use guywire_plan::{EntityId, FieldPath, FoundAny, Record, Recorder, Stored, View};
use guywire_text::FileId;
use jiff::civil::Date;
use rustc_hash::{FxHashMap, FxHasher};

use super::state::State;

/// A value.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) enum Value {
    Text(Box<str>),
    /// A hash: of text for people, or of a secret.
    Hash(u64),
    Whole(i64),
    Number(u64),
    Hertz(i64),
    Truth(bool),
    Date(Date),
    Path(Box<std::path::Path>),
    List(Vec<Value>),
    Part(Vec<(Value, Value)>),
    /// What a name leads to.
    Leads(u64),
    /// It cannot be read; the text.
    Unreadable(Box<str>),
}

impl Value {
    pub fn hashed(of: &impl Hash) -> u64 {
        let mut hasher = FxHasher::default();
        of.hash(&mut hasher);
        hasher.finish()
    }
}

/// Reads the values of one table as one plan sees it.
pub(crate) struct Values<'s, 'w> {
    state: &'s State<'w>,
    id: EntityId,
    /// What the names in it lead to, by their place.
    leads: FxHashMap<FieldPath, EntityId>,
    /// What stands for a table that a name leads to.
    number: &'s dyn Fn(EntityId) -> u64,
}

impl<'s, 'w> Values<'s, 'w> {
    pub fn of(state: &'s State<'w>, viewer: FileId, id: EntityId, number: &'s dyn Fn(EntityId) -> u64) -> Self {
        let leads = leads(state, viewer, id).into_iter().collect();
        Values { state, id, leads, number }
    }

    /// The values of its keys, by number; keys that the table does not know do nothing.
    pub fn all(&self) -> Vec<(u8, Value)> {
        let Some(entity) = self.state.db.entity(self.id) else { return Vec::new() };
        let slots = entity.record.slots.iter();
        slots.map(|slot| (slot.field, self.value(&slot.value, FieldPath::key(slot.field)))).collect()
    }

    fn value(&self, stored: &Stored, path: FieldPath) -> Value {
        if let Some(leads) = self.leads.get(&path) {
            return Value::Leads((self.number)(*leads));
        }
        let db = self.state.db;
        match stored {
            Stored::Text(text) => Value::Text(db.symbols.text(*text).into()),
            Stored::Hash(hash, _) => Value::Hash(*hash),
            Stored::Whole(number) => Value::Whole(*number),
            Stored::Number(number) => Value::Number(number.to_bits()),
            Stored::Frequency(hertz) | Stored::Rounded(hertz) => Value::Hertz(hertz.get()),
            Stored::Truth(truth) => Value::Truth(*truth),
            Stored::Date(date) => Value::Date(*date),
            Stored::File(file) => Value::Path(self.state.path(*file).into()),
            Stored::List(elements) => {
                let each = elements.iter().enumerate();
                Value::List(each.map(|(number, element)| self.value(&element.value, path.then(number))).collect())
            }
            Stored::Part(record) => Value::Part(self.part(record, path)),
            Stored::Unreadable(_) => Value::Unreadable(self.written(path).into()),
        }
    }

    fn part(&self, record: &Record, path: FieldPath) -> Vec<(Value, Value)> {
        let slots = record.slots.iter().map(|slot| {
            let name = Value::Text(record.spec.key(slot.field).name.into());
            (name, self.value(&slot.value, path.then(slot.field as usize)))
        });
        let extras = record.extras.iter().enumerate().filter(|_| record.spec.open).map(|(number, extra)| {
            let at = path.then_extra(number);
            let name = match self.leads.get(&at) {
                Some(leads) => Value::Leads((self.number)(*leads)),
                None => Value::Text(self.state.db.symbols.text(extra.name).into()),
            };
            // The name of an open key and its value share their place; a value that leads somewhere has a text of its own.
            (name, self.value(&extra.value, at.then(0)))
        });
        slots.chain(extras).collect()
    }

    fn written(&self, path: FieldPath) -> String {
        let db = self.state.db;
        let text = || {
            let entity = db.entity(self.id)?;
            let bytes = db.bytes(entity, entity.record.spot(&path)?.at)?;
            Some(db.document(entity.file)?.slice(bytes)?.into_owned())
        };
        text().unwrap_or_default()
    }
}

/// What the names in a table lead to, as a plan sees it: the first of several of one name.
pub(crate) fn leads(state: &State<'_>, viewer: FileId, id: EntityId) -> Vec<(FieldPath, EntityId)> {
    let recorder = Recorder::silent();
    let view = View::new(state.db, viewer, &recorder);
    let named = view.references(id).into_iter();
    named
        .filter_map(|name| match view.find_any(id, name.kinds, name.name) {
            FoundAny::Some(found) => Some((name.path, *found.first()?)),
            FoundAny::Missing | FoundAny::Unreadable => None,
        })
        .collect()
}
