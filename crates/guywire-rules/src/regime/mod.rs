//! Files that describe a radio service. Where one of the errors here is in a file, plans are not checked against it.

mod conditions;
pub mod regime_bands_overlap;
pub mod regime_carrier_twice;
pub mod regime_dates_inverted;
pub mod regime_edges_inverted;
pub mod regime_emission_unknown;
pub mod regime_empty;
pub mod regime_limit_empty;
pub mod regime_raster_incomplete;
pub mod regime_value_zero;
#[cfg(test)]
mod tests;
