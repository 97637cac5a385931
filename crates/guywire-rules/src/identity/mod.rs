//! Unit ids, aliases, serials.

pub mod alias_characters;
pub mod alias_too_long;
pub mod duplicate_alias;
pub mod duplicate_radio_id;
pub mod duplicate_serial;
pub mod radio_behind_plan;
pub mod radio_id_scheme;
pub mod repeater_id_clash;

use guywire_plan::language::radio;
use guywire_plan::{Known, Ref, Row, View};

/// Whether a radio is out of use for good, or may be.
pub(crate) fn is_retired(view: View<'_>, it: Ref<'_, radio::Table>) -> bool {
    match it.text(radio::status) {
        Known::Is(status) => view.symbol(status) == "retired",
        Known::Absent => false,
        Known::Unreadable => true,
    }
}
