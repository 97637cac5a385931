//! Power readings at the bench: what the meter's own error leaves of a verdict.

use crate::air_interface::BURST_DUTY;
use crate::feedline::before_loss_w;
use crate::range::{OutOfRange, within};
use crate::source::Source;

/// Rated power within 1.5 dB at normal conditions.
pub const POWER_TOLERANCE_SOURCE: Source = Source::memory("EN 300 086, EN 300 113");
/// How far a level may be from its rating where a data sheet does not say, dB ([`POWER_TOLERANCE_SOURCE`]).
pub const USUAL_TOLERANCE_DB: f64 = 1.5;
/// Below this share of full scale a directional wattmeter says little (common practice, no source).
pub const LEAST_USABLE_SHARE: f64 = 0.1;

/// A range of powers, W: what a reading may mean, or what a rating allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    low: f64,
    high: f64,
}

impl Interval {
    /// Least power, W.
    pub const fn low(self) -> f64 {
        self.low
    }

    /// Greatest power, W.
    pub const fn high(self) -> f64 {
        self.high
    }

    fn overlaps(self, other: Interval) -> bool {
        self.low <= other.high && other.low <= self.high
    }
}

/// A wattmeter whose error is a share of its full scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    full_scale_w: f64,
    accuracy_percent: f64,
}

impl Meter {
    /// Full scale 0.001 to 1e6 W; error 0.01 to 50 % of it.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn new(full_scale_w: f64, accuracy_percent: f64) -> Result<Meter, OutOfRange> {
        let full_scale_w = within("full scale", full_scale_w, (0.001, 1e6), "W")?;
        let accuracy_percent = within("accuracy", accuracy_percent, (0.01, 50.0), "% of full scale")?;
        Ok(Meter { full_scale_w, accuracy_percent })
    }

    /// Error of any reading, W.
    pub fn error_w(self) -> f64 {
        self.full_scale_w * self.accuracy_percent / 100.0
    }

    /// Whether `watts` is too small a part of the full scale to mean much, or too large for the scale.
    pub fn is_off_scale(self, watts: f64) -> bool {
        !(LEAST_USABLE_SHARE * self.full_scale_w..=self.full_scale_w).contains(&watts)
    }

    /// What a reading of `watts` (0 to 1e6) behind `path_loss_db` (0 to 100) of cable and adapters says of the radio.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn at_radio(self, watts: f64, path_loss_db: f64) -> Result<Interval, OutOfRange> {
        let watts = within("reading", watts, (0.0, 1e6), "W")?;
        let low = before_loss_w((watts - self.error_w()).max(0.0), path_loss_db)?;
        Ok(Interval { low, high: before_loss_w((watts + self.error_w()).min(1e6), path_loss_db)? })
    }
}

/// How far from its rating a power may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tolerance {
    /// The same both ways, dB, 0.01 to 20.
    Decibels(f64),
    /// Percent of the rating over (0 to 1000) and under (0 to 100).
    Percent {
        /// Over.
        over: f64,
        /// Under.
        under: f64,
    },
}

impl Tolerance {
    /// The powers allowed at a rating of `rated_w` (1e-6 to 1e5 W).
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn window(self, rated_w: f64) -> Result<Interval, OutOfRange> {
        let rated_w = within("rated power", rated_w, (1e-6, 1e5), "W")?;
        let (up, down) = match self {
            Tolerance::Decibels(db) => {
                let ratio = 10_f64.powf(within("tolerance", db, (0.01, 20.0), "dB")? / 10.0);
                (ratio, 1.0 / ratio)
            }
            Tolerance::Percent { over, under } => {
                let over = within("tolerance over", over, (0.0, 1000.0), "%")?;
                (1.0 + over / 100.0, 1.0 - within("tolerance under", under, (0.0, 100.0), "%")? / 100.0)
            }
        };
        Ok(Interval { low: rated_w * down, high: rated_w * up })
    }
}

/// What a reading proves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// Inside the window, whatever the meter's error.
    Pass,
    /// Under it, whatever the meter's error.
    Under,
    /// Over it, whatever the meter's error.
    Over,
    /// The meter's error decides.
    Inconclusive,
}

/// Judges what a reading may mean against what the rating allows.
pub fn judge(reading: Interval, window: Interval) -> Verdict {
    if reading.high < window.low {
        return Verdict::Under;
    }
    if reading.low > window.high {
        return Verdict::Over;
    }
    let inside = window.low <= reading.low && reading.high <= window.high;
    if inside { Verdict::Pass } else { Verdict::Inconclusive }
}

/// Whether a low level is below a high one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LevelOrder {
    /// It is.
    Rising,
    /// It is not.
    NotRising,
    /// The error bars meet.
    Inconclusive,
}

/// Compares two readings of the same radio and frequency.
pub fn level_order(low_level: Interval, high_level: Interval) -> LevelOrder {
    if low_level.overlaps(high_level) {
        return LevelOrder::Inconclusive;
    }
    if low_level.high < high_level.low { LevelOrder::Rising } else { LevelOrder::NotRising }
}

/// Whether `reading` fails the `window` of its rating but would be inside or near it as the average of one-slot bursts,
/// which is [`BURST_DUTY`] of their power.
pub fn looks_averaged(reading: Interval, window: Interval) -> bool {
    let average = Interval { low: window.low * BURST_DUTY, high: window.high * BURST_DUTY };
    judge(reading, window) == Verdict::Under && reading.overlaps(average)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;
    use proptest::prelude::*;

    const US: Tolerance = Tolerance::Percent { over: 20.0, under: 10.0 };

    fn meter(full_scale: f64) -> Meter {
        Meter::new(full_scale, 5.0).unwrap()
    }

    #[test]
    fn error_of_full_scale() {
        // 5 % of a 15 W scale is 0.75 W at every reading (common practice for directional wattmeters).
        for (reading, percent, up_db, down_db) in [
            (1.5, 50.0, 1.761, -3.010),
            (3.0, 25.0, 0.969, -1.249),
            (5.0, 15.0, 0.607, -0.706),
            (10.0, 7.5, 0.314, -0.339),
            (15.0, 5.0, 0.212, -0.223),
        ] {
            let found = meter(15.0).at_radio(reading, 0.0).unwrap();
            assert_near(100.0 * meter(15.0).error_w() / reading, percent, 1e-9);
            assert_near(10.0 * (found.high() / reading).log10(), up_db, 1e-3);
            assert_near(10.0 * (found.low() / reading).log10(), down_db, 1e-3);
        }
        assert!(meter(15.0).is_off_scale(1.4) && meter(15.0).is_off_scale(15.1) && !meter(15.0).is_off_scale(1.5));
    }

    #[test]
    fn windows() {
        for (rated, db, us, even) in [
            (1.0, (0.7079, 1.4125), (0.9, 1.2), (0.8, 1.2)),
            (4.0, (2.8318, 5.6502), (3.6, 4.8), (3.2, 4.8)),
            (5.0, (3.5397, 7.0627), (4.5, 6.0), (4.0, 6.0)),
            (25.0, (17.6986, 35.3134), (22.5, 30.0), (20.0, 30.0)),
            (45.0, (31.8576, 63.5642), (40.5, 54.0), (36.0, 54.0)),
        ] {
            for (tolerance, (low, high)) in
                [(Tolerance::Decibels(1.5), db), (US, us), (Tolerance::Percent { over: 20.0, under: 20.0 }, even)]
            {
                let window = tolerance.window(rated).unwrap();
                assert_near(window.low(), low, 1e-4);
                assert_near(window.high(), high, 1e-4);
            }
        }
    }

    #[test]
    fn three_way_verdicts() {
        let judged = |scale, reading| judge(meter(scale).at_radio(reading, 0.0).unwrap(), US.window(5.0).unwrap());
        assert_eq!(judged(15.0, 5.3), Verdict::Inconclusive);
        assert_eq!(judged(15.0, 3.0), Verdict::Under);
        assert_eq!(judged(10.0, 5.2), Verdict::Pass);
        assert_eq!(judged(10.0, 7.0), Verdict::Over);
    }

    #[test]
    fn order_of_levels() {
        let reading = |watts| meter(10.0).at_radio(watts, 0.0).unwrap();
        assert_eq!(level_order(reading(1.0), reading(4.0)), LevelOrder::Rising);
        assert_eq!(level_order(reading(4.0), reading(1.0)), LevelOrder::NotRising);
        assert_eq!(level_order(reading(4.0), reading(4.5)), LevelOrder::Inconclusive);
    }

    #[test]
    fn averaged_bursts() {
        // 27.5 of 60 ms, ETSI TS 102 361-1: 5 W reads 2.29 W.
        assert_near(5.0 * BURST_DUTY, 2.29, 0.002);
        let window = Tolerance::Decibels(1.5).window(5.0).unwrap();
        let reading = |watts| meter(5.0).at_radio(watts, 0.0).unwrap();
        assert!(looks_averaged(reading(2.29), window));
        assert!(!looks_averaged(reading(4.8), window) && !looks_averaged(reading(0.5), window));
    }

    #[test]
    fn refusals() {
        assert!(Meter::new(0.0, 5.0).is_err() && Meter::new(10.0, f64::NAN).is_err());
        assert!(meter(10.0).at_radio(-1.0, 0.0).is_err() && meter(10.0).at_radio(1.0, -0.1).is_err());
        assert!(Tolerance::Decibels(0.0).window(5.0).is_err() && US.window(0.0).is_err());
    }

    proptest! {
        #[test]
        fn the_rated_power_is_in_its_window(rated in 0.01_f64..1000.0, db in 0.01_f64..10.0) {
            let window = Tolerance::Decibels(db).window(rated).unwrap();
            prop_assert!(window.low() < rated && rated < window.high());
        }

        #[test]
        fn a_better_meter_never_turns_a_verdict_around(reading in 0.5_f64..10.0, error in 0.1_f64..10.0) {
            let judged = |error| {
                let meter = Meter::new(10.0, error).unwrap();
                judge(meter.at_radio(reading, 0.0).unwrap(), US.window(5.0).unwrap())
            };
            let (worse, better) = (judged(error * 2.0), judged(error));
            prop_assert!(worse == Verdict::Inconclusive || worse == better);
        }
    }
}
