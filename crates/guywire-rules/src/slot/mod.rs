//! Color codes, time slots, repeaters.

pub mod color_code_differs_from_repeater;
pub mod same_channel_twice;
