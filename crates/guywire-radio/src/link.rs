//! Noise, sensitivity, margin and reliability of a link.

use std::f64::consts::SQRT_2;

use crate::frequency::Hertz;
use crate::range::{OutOfRange, within};
use crate::source::Source;

/// Spread of received levels about the median in mixed terrain, dB (TIA TSB-88, from memory).
pub const MIXED_TERRAIN_SPREAD_DB: f64 = 8.0;
/// Spread used for public-safety planning, dB (TIA TSB-88, from memory).
pub const PLANNING_SPREAD_DB: f64 = 5.6;
/// Source of the required carrier-to-noise figures.
pub const CARRIER_TO_NOISE_SOURCE: Source = Source::memory("TIA TSB-88");
/// Source of the scale of delivered audio quality.
pub const AUDIO_QUALITY_SOURCE: Source = Source::confirmed("TIA TSB-88");

/// Boltzmann's constant, J/K: exact by definition (SI Brochure, 9th edition).
pub(crate) const BOLTZMANN: f64 = 1.380_649e-23;
pub(crate) const REFERENCE_K: f64 = 290.0;
const LEVEL_DBM: (f64, f64) = (-200.0, 100.0);

fn level(dbm: f64) -> Result<f64, OutOfRange> {
    within("level", dbm, LEVEL_DBM, "dBm")
}

/// Thermal noise at 290 K in `bandwidth` (1 Hz to 10 GHz) behind a receiver's `noise_figure_db` (0 to 60), dBm.
///
/// # Errors
/// [`OutOfRange`].
pub fn noise_floor_dbm(bandwidth: Hertz, noise_figure_db: f64) -> Result<f64, OutOfRange> {
    let hz = within("bandwidth", bandwidth.as_hz(), (1.0, 1e10), "Hz")?;
    let noise_figure_db = within("noise figure", noise_figure_db, (0.0, 60.0), "dB")?;
    Ok(10.0 * (BOLTZMANN * REFERENCE_K * 1000.0).log10() + 10.0 * hz.log10() + noise_figure_db)
}

/// Sum of powers given in dBm; `None` for none.
///
/// # Errors
/// [`OutOfRange`], each -200 to 100 dBm.
pub fn power_sum_dbm(levels: &[f64]) -> Result<Option<f64>, OutOfRange> {
    if levels.is_empty() {
        return Ok(None);
    }
    let milliwatts = levels.iter().try_fold(0.0, |sum, it| Ok(sum + 10_f64.powf(level(*it)? / 10.0)))?;
    Ok(Some(10.0 * f64::log10(milliwatts)))
}

/// Level of `microvolts` (1e-6 to 1e9) across a 50 ohm load, dBm.
///
/// # Errors
/// [`OutOfRange`].
pub fn dbm_from_microvolts(microvolts: f64) -> Result<f64, OutOfRange> {
    let volts = within("voltage", microvolts, (1e-6, 1e9), "uV")? * 1e-6;
    Ok(10.0 * (volts * volts / 50.0 * 1000.0).log10())
}

/// Microvolts across a 50 ohm load at `dbm`, -200 to 100.
///
/// # Errors
/// [`OutOfRange`].
pub fn microvolts_from_dbm(dbm: f64) -> Result<f64, OutOfRange> {
    Ok((10_f64.powf(level(dbm)? / 10.0) / 1000.0 * 50.0).sqrt() * 1e6)
}

/// Level of `db_microvolts` of electromotive force (-100 to 180) behind 50 ohm, dBm: half of it reaches a matched load,
/// 6.02 dB less.
///
/// # Errors
/// [`OutOfRange`].
pub fn dbm_from_db_microvolts_emf(db_microvolts: f64) -> Result<f64, OutOfRange> {
    let emf = within("electromotive force", db_microvolts, (-100.0, 180.0), "dBuV")?;
    dbm_from_microvolts(10_f64.powf(emf / 20.0) / 2.0)
}

/// Delivered audio quality on the scale of TIA TSB-88. Ordered; never to be averaged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AudioQuality {
    /// 1: speech present, cannot be understood.
    One,
    /// 2: understood with considerable effort, frequent repeats.
    Two,
    /// 3: slight effort, occasional repeats.
    Three,
    /// 3.4: understood without repeats, some noise or distortion.
    ThreeFour,
    /// 4: easily understood, little noise or distortion.
    Four,
    /// 4.5: easily understood, impairment rare.
    FourFive,
    /// 5: no noticeable impairment.
    Five,
}

impl AudioQuality {
    const SCALE: [(AudioQuality, f64, &'static str); 7] = [
        (AudioQuality::One, 1.0, "speech present, cannot be understood"),
        (AudioQuality::Two, 2.0, "understood with considerable effort, frequent repeats"),
        (AudioQuality::Three, 3.0, "slight effort, occasional repeats"),
        (AudioQuality::ThreeFour, 3.4, "understood without repeats, some noise or distortion"),
        (AudioQuality::Four, 4.0, "easily understood, little noise or distortion"),
        (AudioQuality::FourFive, 4.5, "easily understood, impairment rare"),
        (AudioQuality::Five, 5.0, "no noticeable impairment"),
    ];

    /// The grade with this number; `None` between grades.
    pub fn from_number(number: f64) -> Option<AudioQuality> {
        AudioQuality::SCALE.iter().find(|it| (it.1 - number).abs() < 1e-9).map(|it| it.0)
    }

    /// The number of the grade.
    pub fn number(self) -> f64 {
        AudioQuality::SCALE[self as usize].1
    }

    /// What a listener hears.
    pub fn meaning(self) -> &'static str {
        AudioQuality::SCALE[self as usize].2
    }
}

/// A kind of transmission with its own need of carrier over noise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LinkMode {
    /// FM with 5 kHz of deviation.
    AnalogWide,
    /// FM with 2.5 kHz of deviation.
    AnalogNarrow,
    /// Two-slot digital voice.
    TwoSlot,
}

/// Carrier over noise that a fading link needs for an audio quality, less what the sensitivity test needs, dB; `None` for
/// grades that the source does not tabulate. [`CARRIER_TO_NOISE_SOURCE`]: from memory, so information only.
pub const fn fading_allowance_db(mode: LinkMode, quality: AudioQuality) -> Option<f64> {
    let (at_sensitivity, three, three_four, four) = match mode {
        LinkMode::AnalogWide => (4.0, 17.0, 20.0, 27.0),
        LinkMode::AnalogNarrow => (7.0, 23.0, 26.0, 33.0),
        LinkMode::TwoSlot => (5.3, 14.3, 15.6, 19.4),
    };
    match quality {
        AudioQuality::Three => Some(three - at_sensitivity),
        AudioQuality::ThreeFour => Some(three_four - at_sensitivity),
        AudioQuality::Four => Some(four - at_sensitivity),
        _ => None,
    }
}

/// Level that a fading link needs for an audio quality, dBm, from the receiver's sensitivity (-200 to 100 dBm); `None` as
/// in [`fading_allowance_db`].
///
/// # Errors
/// [`OutOfRange`].
pub fn required_dbm(sensitivity_dbm: f64, mode: LinkMode, quality: AudioQuality) -> Result<Option<f64>, OutOfRange> {
    let sensitivity_dbm = within("sensitivity", sensitivity_dbm, LEVEL_DBM, "dBm")?;
    Ok(fading_allowance_db(mode, quality).map(|it| sensitivity_dbm + it))
}

/// Share of places, 0 to 1, where a link with `margin_db` (-200 to 200) over its need works when levels spread log-normally
/// by `spread_db` (0.1 to 30).
///
/// # Errors
/// [`OutOfRange`].
pub fn reliability(margin_db: f64, spread_db: f64) -> Result<f64, OutOfRange> {
    let margin_db = within("margin", margin_db, (-200.0, 200.0), "dB")?;
    let spread_db = within("spread", spread_db, (0.1, 30.0), "dB")?;
    Ok(normal_share(margin_db / spread_db))
}

/// Margin, dB, for a share of places of 0.0001 to 0.9999; the inverse of [`reliability`].
///
/// # Errors
/// [`OutOfRange`].
pub fn margin_for_db(share: f64, spread_db: f64) -> Result<f64, OutOfRange> {
    let share = within("share of places", share, (0.0001, 0.9999), "of 1")?;
    let spread_db = within("spread", spread_db, (0.1, 30.0), "dB")?;
    let (mut low, mut high) = (-4.0, 4.0);
    while high - low > 1e-12 {
        let middle = f64::midpoint(low, high);
        if normal_share(middle) < share { low = middle } else { high = middle }
    }
    Ok(f64::midpoint(low, high) * spread_db)
}

fn normal_share(z: f64) -> f64 {
    libm::erfc(-z / SQRT_2) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;
    use proptest::prelude::*;

    #[test]
    fn thermal_noise() {
        // kTB at 290 K: -173.9752 dBm/Hz.
        for (hz, figure, dbm) in [
            (1, 0.0, -173.9752),
            (6_000, 0.0, -136.1937),
            (7_600, 0.0, -135.1671),
            (11_250, 0.0, -133.4637),
            (12_500, 0.0, -133.0061),
            (16_000, 0.0, -131.9340),
            (8_500, 6.0, -128.6810),
            (12_500, 8.0, -125.0061),
        ] {
            assert_near(noise_floor_dbm(Hertz(hz), figure).unwrap(), dbm, 1e-4);
        }
        assert_near(power_sum_dbm(&[-119.0, -118.0]).unwrap().unwrap(), -115.4610, 1e-4);
        assert_eq!(power_sum_dbm(&[]), Ok(None));
    }

    #[test]
    fn volts_across_50_ohm() {
        for (microvolts, dbm) in [
            (0.18, -121.8842),
            (0.22, -120.1412),
            (0.25, -119.0309),
            (0.35, -116.1083),
            (0.5, -113.0103),
            (1.0, -106.9897),
        ] {
            assert_near(dbm_from_microvolts(microvolts).unwrap(), dbm, 1e-4);
        }
        assert_near(microvolts_from_dbm(-119.0).unwrap(), 0.25089, 1e-5);
        assert_near(dbm_from_db_microvolts_emf(6.0).unwrap(), -107.0103, 1e-4);
        assert_near(dbm_from_db_microvolts_emf(3.0).unwrap(), -110.0103, 1e-4);
    }

    #[test]
    fn required_level_by_quality() {
        // required = sensitivity - Cs/N + Cf/N, TIA TSB-88 (from memory), sensitivity -119 dBm.
        for (mode, three, three_four, four) in [
            (LinkMode::AnalogWide, -106.0, -103.0, -96.0),
            (LinkMode::AnalogNarrow, -103.0, -100.0, -93.0),
            (LinkMode::TwoSlot, -110.0, -108.7, -104.9),
        ] {
            let needs = |quality| required_dbm(-119.0, mode, quality).unwrap().unwrap();
            assert_near(needs(AudioQuality::Three), three, 1e-9);
            assert_near(needs(AudioQuality::ThreeFour), three_four, 1e-9);
            assert_near(needs(AudioQuality::Four), four, 1e-9);
        }
        assert_eq!(required_dbm(-119.0, LinkMode::TwoSlot, AudioQuality::Five), Ok(None));
    }

    #[test]
    fn grades() {
        for number in [1.0, 2.0, 3.0, 3.4, 4.0, 4.5, 5.0] {
            assert_eq!(AudioQuality::from_number(number).unwrap().number(), number);
        }
        assert_eq!(AudioQuality::from_number(3.5), None);
        assert!(AudioQuality::Three < AudioQuality::ThreeFour);
        assert_eq!(AudioQuality::Two.meaning(), "understood with considerable effort, frequent repeats");
    }

    #[test]
    fn margins() {
        // Normal quantiles; statistics.NormalDist of Python.
        for (share, z) in
            [(0.5, 0.0), (0.8, 0.841_621), (0.9, 1.281_552), (0.95, 1.644_854), (0.97, 1.880_794), (0.99, 2.326_348)]
        {
            assert_near(margin_for_db(share, 1.0).unwrap(), z, 1e-6);
        }
        assert_near(margin_for_db(0.95, 8.0).unwrap(), 13.1588, 1e-4);
        for (margin, spread, share) in [
            (5.0, 8.0, 0.734_014),
            (10.0, 8.0, 0.894_350),
            (8.0, 5.6, 0.923_436),
            (17.0334, 8.0, 0.983_380),
            (-2.0515, 8.0, 0.398_807),
            (28.2451, 8.0, 0.999_793),
        ] {
            assert_near(reliability(margin, spread).unwrap(), share, 1e-6);
        }
    }

    #[test]
    fn refusals() {
        assert!(noise_floor_dbm(Hertz(0), 0.0).is_err() && noise_floor_dbm(Hertz(1), f64::NAN).is_err());
        assert!(power_sum_dbm(&[f64::INFINITY]).is_err() && dbm_from_microvolts(0.0).is_err());
        assert!(reliability(1.0, 0.0).is_err() && margin_for_db(1.0, 8.0).is_err());
        assert!(required_dbm(f64::NAN, LinkMode::TwoSlot, AudioQuality::Four).is_err());
    }

    proptest! {
        #[test]
        fn margin_and_reliability_are_inverse(share in 0.0002_f64..0.9998, spread in 1.0_f64..15.0) {
            let margin = margin_for_db(share, spread).unwrap();
            prop_assert!((reliability(margin, spread).unwrap() - share).abs() < 1e-9);
        }

        #[test]
        fn volts_round_trip(dbm in -150.0_f64..50.0) {
            prop_assert!((dbm_from_microvolts(microvolts_from_dbm(dbm).unwrap()).unwrap() - dbm).abs() < 1e-9);
        }

        #[test]
        fn a_sum_is_over_its_parts(a in -150.0_f64..0.0, b in -150.0_f64..0.0) {
            let sum = power_sum_dbm(&[a, b]).unwrap().unwrap();
            prop_assert!(sum > a.max(b) && sum <= a.max(b) + 3.0103);
        }
    }
}
