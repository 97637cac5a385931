//! Zones and knob positions.

pub mod zone_over_capacity;
