//! The text itself: syntax, tables, keys, names, files.

pub mod below_one_hertz;
pub mod duplicate_name;
pub mod file_empty;
pub mod file_missing;
pub mod file_unreadable;
pub mod format_too_new;
mod levels;
mod mending;
pub mod missing_key;
pub mod not_in_megahertz;
mod respell;
pub mod share_cycle;
pub mod share_shadowed;
pub mod sheet_column_missing;
pub mod sheet_syntax;
#[cfg(test)]
mod tests;
pub mod toml_syntax;
pub mod undefined_name;
pub mod unknown_key;
pub mod unknown_table;
pub mod unused_definition;
pub mod value_out_of_form;
mod values;
pub mod wrong_type;

use guywire_plan::language::{KeySpec, Type};

/// Keys whose numbers have a range of their own in the air interface, and a rule that says what happens on the air past
/// it: `color-code-range`, `slot-range`, `address-range`, `key-id-range`. Rules about the form of a value leave them out
/// where the number is outside its range.
const OWN_RANGES: [&str; 4] = ["color_code", "slot", "id", "ids"];

/// Whether a number outside the range of this key is told by a rule of its own.
pub(crate) fn has_own_rule(key: &KeySpec) -> bool {
    OWN_RANGES.contains(&key.name) && matches!(key.value, Type::Whole(..) | Type::Part(_))
}
