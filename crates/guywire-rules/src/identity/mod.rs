//! Unit ids, aliases, serials.

pub mod duplicate_radio_id;
