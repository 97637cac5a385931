//! A walk over the values of a table that are not read as they stand, with what their keys take.

use guywire_plan::language::{KeySpec, Type};
use guywire_plan::{FieldPath, Record, Stored, View};

/// A value, and what it should be.
#[derive(Clone, Copy)]
pub(super) struct Held<'r> {
    /// Where it stands in the entity.
    pub path: FieldPath,
    /// The key as written; of an item in a list, that of the list.
    pub name: &'r str,
    /// The key in the language table; under a key that the table leaves open, the one that holds that table.
    pub key: Option<&'static KeySpec>,
    /// What it should be.
    pub form: Type,
    /// What is kept of it.
    pub value: &'r Stored,
}

/// Calls `found` for every value of a record that cannot be read or is read rounded, those of lists and of tables inside
/// it too. Values under keys that the language does not know are left out.
pub(super) fn each_unread<'r>(record: &'r Record, view: View<'r>, path: &FieldPath, found: &mut dyn FnMut(Held<'r>)) {
    in_record(record, None, view, path, found);
}

fn in_record<'r>(
    record: &'r Record,
    holder: Option<&'static KeySpec>,
    view: View<'r>,
    path: &FieldPath,
    found: &mut dyn FnMut(Held<'r>),
) {
    for slot in record.slots.iter().filter(|slot| may_be_unread(&slot.value)) {
        let key = record.spec.key(slot.field);
        let path = path.then(slot.field as usize);
        let held = Held { path, name: key.name, key: Some(key), form: key.value, value: &slot.value };
        in_value(held, view, found);
    }
    if !record.spec.open {
        return;
    }
    for (number, extra) in record.extras.iter().enumerate().filter(|(_, extra)| may_be_unread(&extra.value)) {
        let held = Held {
            path: path.then_extra(number),
            name: view.symbol(extra.name),
            key: holder,
            form: record.spec.open_value,
            value: &extra.value,
        };
        in_value(held, view, found);
    }
}

fn in_value<'r>(held: Held<'r>, view: View<'r>, found: &mut dyn FnMut(Held<'r>)) {
    match held.value {
        Stored::Part(part) => in_record(part, held.key, view, &held.path, found),
        Stored::List(elements) => {
            let Some(form) = item_of(held.form) else { return };
            for (number, element) in elements.iter().enumerate().filter(|(_, element)| may_be_unread(&element.value)) {
                in_value(Held { path: held.path.then(number), form, value: &element.value, ..held }, view, found);
            }
        }
        _ => found(held),
    }
}

/// Whether a value is unread, or holds one that may be. Most are not, and every table is walked by several rules.
fn may_be_unread(value: &Stored) -> bool {
    matches!(value, Stored::Unreadable(_) | Stored::Rounded(_) | Stored::List(_) | Stored::Part(_))
}

/// What the items of a list under a key of this form should be.
fn item_of(form: Type) -> Option<Type> {
    match form {
        Type::List(item) | Type::OneOrMore(item) => Some(*item),
        Type::Parts(spec) => Some(Type::Part(spec)),
        Type::Either(first, second) => item_of(*first).or_else(|| item_of(*second)),
        Type::Anything => Some(Type::Anything),
        _ => None,
    }
}
