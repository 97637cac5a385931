//! Data sheets of models: numbers that cannot all be right.

pub mod model_band_inverted;
pub mod model_capacity_inconsistent;
pub mod model_power_order;
