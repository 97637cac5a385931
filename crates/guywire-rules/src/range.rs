//! Numbers outside the range of a key that has a rule of its own for that.

use guywire_plan::{FieldPath, Record, Stored, Why};

use crate::text::has_own_rule;
use crate::text::unknown_key::for_parts;

/// Calls `found` with the place of every number under the key `name` that is outside the key's range, parts included.
pub(crate) fn out_of_range(record: &Record, name: &str, path: &FieldPath, found: &mut dyn FnMut(FieldPath)) {
    let is_out = |value: &Stored| *value == Stored::Unreadable(Why::Range);
    for slot in &record.slots {
        let key = record.spec.key(slot.field);
        if key.name != name || !has_own_rule(key) {
            continue;
        }
        let at = path.then(slot.field as usize);
        match &slot.value {
            value if is_out(value) => found(at),
            Stored::Part(part) => {
                let others = part.extras.iter().enumerate().filter(|(_, extra)| is_out(&extra.value));
                others.for_each(|(number, _)| found(at.then_extra(number)));
            }
            _ => {}
        }
    }
    for_parts(record, path, &mut |part, at| out_of_range(part, name, &at, found));
}
