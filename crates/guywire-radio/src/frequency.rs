//! Whole hertz, bands, rasters and wavelength.

use std::fmt;
use std::ops::{Add, Neg, RangeInclusive, Sub};

use crate::decimal::{self, ScaleError};

/// Speed of light in vacuum, m/s: exact by definition (SI Brochure, 9th edition, 2.3.1).
pub const SPEED_OF_LIGHT_M_PER_S: f64 = 299_792_458.0;

/// Above this a number of MHz is a slip of unit or of digits: no land-mobile service lies there.
pub const HIGHEST_CARRIER: Hertz = Hertz(10_000_000_000);

/// Above this a bandwidth or step in kHz is a slip of unit or of digits.
pub const WIDEST_CHANNEL: Hertz = Hertz(1_000_000);

/// Below this a bandwidth or step in kHz may be meant in MHz.
const NARROWEST_CHANNEL: Hertz = Hertz(100);

/// Where a carrier must lie for its number to be taken for another unit. The ends are less than 1000 apart, so at most one
/// unit fits.
const LIKELY_CARRIER: RangeInclusive<Hertz> = Hertz(25_000_000)..=Hertz(1_300_000_000);

/// The same for a bandwidth or step.
const LIKELY_WIDTH: RangeInclusive<Hertz> = Hertz(2_500)..=Hertz(200_000);

/// A frequency, a width or a signed difference of frequencies, in whole hertz.
///
/// `Display` is MHz with at least four decimals and no further trailing zeros: `453.2125`, `446.00625`, `151.8200`.
/// Arithmetic saturates at the ends of `i64`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Hertz(pub i64);

/// Which unit a number seems to have been written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// hertz
    Hz,
    /// kilohertz
    Khz,
    /// megahertz
    Mhz,
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Unit::Hz => "Hz",
            Unit::Khz => "kHz",
            Unit::Mhz => "MHz",
        })
    }
}

/// Why a frequency, band or raster was refused. The texts name no place: the caller has it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FrequencyError {
    /// The text is no decimal number.
    #[error("not a decimal number; write {unit} as digits with a point, such as {example}")]
    NotANumber {
        /// The unit that the key asks for.
        unit: Unit,
        /// A well-formed value.
        example: &'static str,
    },
    /// The text has a decimal comma.
    #[error("decimal comma; write `{suggestion}`")]
    DecimalComma {
        /// The same number with a point.
        suggestion: String,
    },
    /// The number is below zero.
    #[error("a frequency or width cannot be negative; remove the sign")]
    Negative,
    /// Digits below 1 Hz, which no synthesizer can set.
    #[error("digits below 1 Hz; the nearest whole hertz is {suggestion} {unit}")]
    BelowOneHertz {
        /// The value rounded half up.
        rounded: Hertz,
        /// The rounded value in the unit that the key asks for.
        suggestion: String,
        /// The unit that the key asks for.
        unit: Unit,
    },
    /// The size fits another unit.
    #[error("looks like {looks_like} rather than {unit}; write `{suggestion}`")]
    OtherUnit {
        /// The unit that the number seems to be written in.
        looks_like: Unit,
        /// The unit that the key asks for.
        unit: Unit,
        /// The value read that way, in the unit that the key asks for.
        suggestion: String,
        /// The value read that way.
        meant: Hertz,
    },
    /// Too large, and likely in no other unit.
    #[error("too large, and no likely radio frequency in another unit; check the digits")]
    TooLarge,
    /// A carrier that must be above zero is not.
    #[error("the carrier must be above 0 Hz")]
    NotPositive,
    /// The lower edge is not below the upper.
    #[error("the lower edge {low} MHz is not below the upper edge {high} MHz; swap or correct them")]
    Inverted {
        /// Lower edge as given.
        low: Hertz,
        /// Upper edge as given.
        high: Hertz,
    },
    /// A raster without a step above zero.
    #[error("a raster needs a step above 0 Hz")]
    NoStep,
}

impl Hertz {
    /// `khz` whole kilohertz.
    pub const fn khz(khz: i64) -> Hertz {
        Hertz(khz.saturating_mul(1_000))
    }

    /// `mhz` whole megahertz.
    pub const fn mhz(mhz: i64) -> Hertz {
        Hertz(mhz.saturating_mul(1_000_000))
    }

    /// Reads a carrier, band edge or spacing written in MHz, exactly: `453.2125`, `+5`, `4.5e2`, `1_000.5`.
    ///
    /// # Errors
    /// See [`FrequencyError`]. Over [`HIGHEST_CARRIER`] the number is taken for kHz or Hz where that gives 25 to 1300 MHz.
    pub fn from_mhz_text(text: &str) -> Result<Hertz, FrequencyError> {
        let read = read(text, Unit::Mhz, "453.2125")?;
        if read.hertz > HIGHEST_CARRIER {
            let as_khz = other_unit(text, Unit::Khz, Unit::Mhz, LIKELY_CARRIER);
            let found = as_khz.or_else(|| other_unit(text, Unit::Hz, Unit::Mhz, LIKELY_CARRIER));
            return Err(found.unwrap_or(FrequencyError::TooLarge));
        }
        read.whole_hertz(Unit::Mhz)
    }

    /// Reads a bandwidth, step or deviation written in kHz, exactly: `12.5`, `6.25`, `25`.
    ///
    /// # Errors
    /// See [`FrequencyError`]. Over [`WIDEST_CHANNEL`] the number is taken for Hz, under 0.1 kHz for MHz, where that gives
    /// 2.5 to 200 kHz.
    pub fn from_khz_text(text: &str) -> Result<Hertz, FrequencyError> {
        let read = read(text, Unit::Khz, "12.5")?;
        if read.hertz > WIDEST_CHANNEL {
            let as_hz = other_unit(text, Unit::Hz, Unit::Khz, LIKELY_WIDTH);
            return Err(as_hz.unwrap_or(FrequencyError::TooLarge));
        }
        if read.hertz < NARROWEST_CHANNEL
            && let Some(error) = other_unit(text, Unit::Mhz, Unit::Khz, LIKELY_WIDTH)
        {
            return Err(error);
        }
        read.whole_hertz(Unit::Khz)
    }

    /// Whole hertz.
    pub const fn get(self) -> i64 {
        self.0
    }

    /// Hertz as a float, for physics only.
    pub fn as_hz(self) -> f64 {
        self.0 as f64
    }

    /// Megahertz as a float, for physics only.
    pub fn as_mhz(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Kilohertz without trailing zeros: `12.5`, `25`.
    pub fn khz_text(self) -> String {
        decimal::show(self.0, 3, 0)
    }

    /// Megahertz with at least four decimals, as `Display` shows it.
    pub fn mhz_text(self) -> String {
        decimal::show(self.0, 6, 4)
    }

    /// Size without the sign.
    pub const fn abs(self) -> Hertz {
        Hertz(self.0.saturating_abs())
    }

    /// Distance between two frequencies.
    pub const fn spacing(self, other: Hertz) -> Hertz {
        Hertz(self.0.saturating_sub(other.0)).abs()
    }

    /// `self` counted `times`.
    pub const fn times(self, times: i64) -> Hertz {
        Hertz(self.0.saturating_mul(times))
    }
}

impl Add for Hertz {
    type Output = Hertz;
    fn add(self, other: Hertz) -> Hertz {
        Hertz(self.0.saturating_add(other.0))
    }
}

impl Sub for Hertz {
    type Output = Hertz;
    fn sub(self, other: Hertz) -> Hertz {
        Hertz(self.0.saturating_sub(other.0))
    }
}

impl Neg for Hertz {
    type Output = Hertz;
    fn neg(self) -> Hertz {
        Hertz(self.0.saturating_neg())
    }
}

impl fmt::Display for Hertz {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.mhz_text())
    }
}

struct Read {
    hertz: Hertz,
    exact: bool,
}

impl Read {
    fn whole_hertz(self, unit: Unit) -> Result<Hertz, FrequencyError> {
        if self.exact {
            return Ok(self.hertz);
        }
        let suggestion = text_in(self.hertz, unit);
        Err(FrequencyError::BelowOneHertz { rounded: self.hertz, suggestion, unit })
    }
}

fn places(unit: Unit) -> u32 {
    match unit {
        Unit::Hz => 0,
        Unit::Khz => 3,
        Unit::Mhz => 6,
    }
}

fn text_in(hertz: Hertz, unit: Unit) -> String {
    decimal::show(hertz.0, places(unit) as usize, if unit == Unit::Mhz { 4 } else { 0 })
}

fn read(text: &str, unit: Unit, example: &'static str) -> Result<Read, FrequencyError> {
    match decimal::scale(text, places(unit)) {
        Ok(it) if it.negative && (it.whole != 0 || !it.exact) => Err(FrequencyError::Negative),
        Ok(it) => Ok(Read { hertz: Hertz(it.whole), exact: it.exact }),
        Err(ScaleError::TooLarge) => Ok(Read { hertz: Hertz(i64::MAX), exact: true }),
        Err(ScaleError::NotANumber) => {
            let pointed = text.trim().replacen(',', ".", 1);
            let has_comma = pointed != text.trim() && decimal::scale(&pointed, 0).is_ok();
            if has_comma {
                return Err(FrequencyError::DecimalComma { suggestion: pointed });
            }
            Err(FrequencyError::NotANumber { unit, example })
        }
    }
}

fn other_unit(text: &str, looks_like: Unit, unit: Unit, likely: RangeInclusive<Hertz>) -> Option<FrequencyError> {
    let meant = Hertz(decimal::scale(text, places(looks_like)).ok()?.whole);
    if !likely.contains(&meant) {
        return None;
    }
    Some(FrequencyError::OtherUnit { looks_like, unit, suggestion: text_in(meant, unit), meant })
}

/// A closed range of frequencies with the lower edge below the upper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Band {
    low: Hertz,
    high: Hertz,
}

impl Band {
    /// A band from `low` to `high`.
    ///
    /// # Errors
    /// [`FrequencyError::Inverted`] unless `low < high`.
    pub fn new(low: Hertz, high: Hertz) -> Result<Band, FrequencyError> {
        if low >= high {
            return Err(FrequencyError::Inverted { low, high });
        }
        Ok(Band { low, high })
    }

    pub(crate) const fn fixed(low: Hertz, high: Hertz) -> Band {
        assert!(low.0 < high.0, "band edges in order");
        Band { low, high }
    }

    /// What an emission `width` wide occupies around `carrier`. An odd width is rounded outward by half a hertz.
    ///
    /// # Errors
    /// [`FrequencyError::Inverted`] unless `width` is above zero.
    pub fn around(carrier: Hertz, width: Hertz) -> Result<Band, FrequencyError> {
        let half = Hertz(width.0.saturating_add(1) / 2);
        Band::new(carrier - half, carrier + half)
    }

    /// Lower edge.
    pub const fn low(self) -> Hertz {
        self.low
    }

    /// Upper edge.
    pub const fn high(self) -> Hertz {
        self.high
    }

    /// Whether `f` lies in the band, edges included.
    pub fn contains(self, f: Hertz) -> bool {
        self.low <= f && f <= self.high
    }

    /// Whether all of `inner` lies in the band.
    pub fn covers(self, inner: Band) -> bool {
        self.low <= inner.low && inner.high <= self.high
    }

    /// Whether the two share more than an edge.
    pub fn overlaps(self, other: Band) -> bool {
        self.low < other.high && other.low < self.high
    }
}

impl fmt::Display for Band {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{} MHz", self.low, self.high)
    }
}

/// Evenly spaced carriers through an origin, without end in both directions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Raster {
    origin: Hertz,
    step: Hertz,
}

impl Raster {
    /// Carriers at `origin + n * step` for every whole `n`.
    ///
    /// # Errors
    /// [`FrequencyError::NoStep`] unless `step` is above zero.
    pub fn new(origin: Hertz, step: Hertz) -> Result<Raster, FrequencyError> {
        if step.0 <= 0 {
            return Err(FrequencyError::NoStep);
        }
        Ok(Raster { origin, step })
    }

    pub(crate) const fn fixed(origin: Hertz, step: Hertz) -> Raster {
        assert!(step.0 > 0, "raster step above zero");
        Raster { origin, step }
    }

    /// One of the carriers.
    pub const fn origin(self) -> Hertz {
        self.origin
    }

    /// Distance between neighbors.
    pub const fn step(self) -> Hertz {
        self.step
    }

    /// Whether `f` is one of the carriers.
    pub fn on(self, f: Hertz) -> bool {
        self.nearest(f) == f
    }

    /// The carrier nearest to `f`; the upper one when `f` is halfway.
    pub fn nearest(self, f: Hertz) -> Hertz {
        let above = (f - self.origin).0.rem_euclid(self.step.0);
        let below = f - Hertz(above);
        if above.saturating_mul(2) >= self.step.0 { below + self.step } else { below }
    }
}

/// Free-space wavelength in meters, for a carrier above 0 Hz.
///
/// # Errors
/// [`FrequencyError::NotPositive`].
pub fn wavelength_m(carrier: Hertz) -> Result<f64, FrequencyError> {
    if carrier.0 <= 0 {
        return Err(FrequencyError::NotPositive);
    }
    Ok(SPEED_OF_LIGHT_M_PER_S / carrier.as_hz())
}

/// Free-space quarter wave in meters. A real whip is cut a few percent shorter (common practice, no source).
///
/// # Errors
/// [`FrequencyError::NotPositive`].
pub fn quarter_wave_m(carrier: Hertz) -> Result<f64, FrequencyError> {
    Ok(wavelength_m(carrier)? / 4.0)
}

#[cfg(test)]
#[path = "frequency_tests.rs"]
mod tests;
