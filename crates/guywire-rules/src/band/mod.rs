//! Frequencies, bandwidths, power, services, licenses.

pub mod antenna_not_permitted;
pub mod bandwidth_not_permitted;
pub mod bandwidth_not_supported;
pub mod emission_not_permitted;
pub mod more_units_than_licensed;
pub mod near_miss_frequency;
pub mod not_licensed;
pub mod occupied_past_edge;
pub mod off_step;
mod offset;
pub mod offset_reversed;
pub mod offset_unusual;
pub mod outside_model_band;
pub mod outside_service;
pub mod power_level_unknown;
pub mod power_over_limit;
pub mod protected_frequency;
pub mod receive_only_keyed;
pub mod repeater_not_permitted;
pub(crate) mod sent;
#[cfg(test)]
mod service_tests;
pub mod site_outside_area;
pub mod station_identification;
#[cfg(test)]
mod tests;
pub mod transmission_too_long;
pub mod transmit_not_permitted;
