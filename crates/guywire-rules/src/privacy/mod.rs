//! Keys and what they protect.

pub mod key_in_clear;
