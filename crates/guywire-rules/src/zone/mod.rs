//! Zones, knob positions and the names on the display.

pub mod channel_in_no_zone;
pub mod channel_twice_in_zone;
pub mod channels_over_capacity;
mod lists;
pub mod name_characters;
pub mod name_too_long;
pub mod names_look_alike;
pub mod no_fallback;
pub mod position_means_different_things;
#[cfg(test)]
mod tests;
pub mod zone_empty;
pub mod zone_over_capacity;
pub mod zones_over_capacity;
