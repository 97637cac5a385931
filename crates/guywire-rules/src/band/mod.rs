//! Frequencies, bandwidths, power, licenses.

pub mod bandwidth_not_supported;
pub mod near_miss_frequency;
pub mod off_step;
mod offset;
pub mod offset_reversed;
pub mod offset_unusual;
pub mod outside_model_band;
pub mod power_level_unknown;
pub mod protected_frequency;
pub mod receive_only_keyed;
#[cfg(test)]
mod tests;
