//! Trade computations and published tables for two-way radio plans. Pure: no text, no plan, no input or output.
//!
//! Every table and constant names its published source and its [`source::Standing`]. Arguments outside a function's
//! stated range are typed errors, never NaN.

pub mod address;
pub mod air_interface;
pub mod battery;
pub mod bench;
pub mod caution;
pub mod computations;
pub mod convention;
pub mod coverage;
pub mod ctcss;
pub mod dcs;
mod decimal;
pub mod emission;
pub mod exposure;
pub mod feedline;
pub mod frequency;
pub mod geodesy;
pub mod interference;
pub mod intermodulation;
pub mod key;
pub mod link;
pub mod mask;
mod pair_sums;
pub mod path;
pub mod power;
pub mod protected;
pub mod range;
pub mod regime;
pub mod source;
pub mod tone;

pub use address::{AddressError, ColorCode, Slot, TalkgroupId, UnitId};
pub use caution::Caution;
pub use emission::{Emission, EmissionError};
pub use frequency::{Band, FrequencyError, Hertz};
pub use range::OutOfRange;
pub use source::{Source, Standing};
pub use tone::{Tone, ToneError};
