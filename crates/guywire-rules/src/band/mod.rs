//! Frequencies, bandwidths, power, licenses.

pub mod outside_model_band;
