//! Limits of exposure to radio frequency fields, and the distance at which a station meets them.
//!
//! The far field of one antenna, 47 CFR 1.1310 and OET Bulletin 65. An estimate, no evaluation: hand-held radios against
//! the body are judged by absorption (47 CFR 2.1093), and local codes and a licensed practitioner decide.

use std::f64::consts::PI;

use crate::frequency::Hertz;
use crate::power::{Eirp, Power};
use crate::range::{OutOfRange, within};
use crate::source::Source;

/// The limits.
pub const LIMIT_SOURCE: Source = Source::confirmed("47 CFR 1.1310, table 1");
/// The far-field formula and the factor for ground reflection.
pub const FAR_FIELD_SOURCE: Source = Source::confirmed("OET Bulletin 65, equation 3");

/// What reflection from the ground multiplies the power density by, at worst (OET Bulletin 65: 1.6 squared).
pub const GROUND_REFLECTION: f64 = 2.56;

/// Who is exposed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Exposed {
    /// Those who work with the station and know of it.
    Occupational,
    /// Everyone else.
    GeneralPublic,
}

impl Exposed {
    /// Minutes over which exposure is averaged.
    pub const fn averaging_min(self) -> f64 {
        match self {
            Exposed::Occupational => 6.0,
            Exposed::GeneralPublic => 30.0,
        }
    }

    /// Highest power density, mW/cm2, at 3 to 1500 MHz.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn limit_mw_per_cm2(self, f: Hertz) -> Result<f64, OutOfRange> {
        let mhz = within("frequency", f.as_mhz(), (3.0, 1500.0), "MHz")?;
        let (below_30, below_300, above_300) = match self {
            Exposed::Occupational => (900.0, 1.0, 300.0),
            Exposed::GeneralPublic => (180.0, 0.2, 1500.0),
        };
        Ok(match mhz {
            ..30.0 => below_30 / (mhz * mhz),
            ..300.0 => below_300,
            _ => mhz / above_300,
        })
    }
}

/// Power radiated on the average over the averaging time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AverageEirp {
    milliwatts: f64,
}

impl AverageEirp {
    /// `keyed` is radiated for `transmit_share` (0 to 1) of the averaging time, with the carrier on for `burst_duty`
    /// (0 to 1) of that: 1 for FM and repeaters, [`crate::air_interface::BURST_DUTY`] for a unit in one slot.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn new(keyed: Power<Eirp>, transmit_share: f64, burst_duty: f64) -> Result<AverageEirp, OutOfRange> {
        let transmit_share = within("transmit share", transmit_share, (0.0, 1.0), "of 1")?;
        let burst_duty = within("burst duty", burst_duty, (0.0, 1.0), "of 1")?;
        Ok(AverageEirp { milliwatts: keyed.w() * 1000.0 * transmit_share * burst_duty })
    }

    /// Milliwatts.
    pub const fn milliwatts(self) -> f64 {
        self.milliwatts
    }

    /// Power density at `meters` (0.01 to 100,000), mW/cm2; `reflecting` for a worst case over ground.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn density_mw_per_cm2(self, meters: f64, reflecting: bool) -> Result<f64, OutOfRange> {
        let cm = within("distance", meters, (0.01, 100_000.0), "m")? * 100.0;
        Ok(self.milliwatts * reflection(reflecting) / (4.0 * PI * cm * cm))
    }

    /// Distance at which the limit is met, m; `reflecting` for a worst case over ground.
    ///
    /// # Errors
    /// [`OutOfRange`], for the frequency.
    pub fn distance_m(self, f: Hertz, exposed: Exposed, reflecting: bool) -> Result<f64, OutOfRange> {
        let limit = exposed.limit_mw_per_cm2(f)?;
        Ok((self.milliwatts * reflection(reflecting) / (4.0 * PI * limit)).sqrt() / 100.0)
    }
}

const fn reflection(reflecting: bool) -> f64 {
    if reflecting { GROUND_REFLECTION } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air_interface::BURST_DUTY;
    use crate::power::{AntennaChain, Output};
    use crate::range::assert_near;
    use proptest::prelude::*;

    fn average(watts: f64, gain_dbi: f64, share: f64) -> AverageEirp {
        let keyed = Power::<Output>::from_w(watts).unwrap().eirp(AntennaChain::new(gain_dbi, 0.0).unwrap());
        AverageEirp::new(keyed, share, 1.0).unwrap()
    }

    #[test]
    fn limits() {
        // 47 CFR 1.1310 table 1; the 29 MHz values are in a published worked case.
        for (mhz, occupational, public) in [
            (155.0, 1.0, 0.2),
            (446.0, 1.486_67, 0.297_33),
            (462.55, 1.541_83, 0.308_37),
            (300.0, 1.0, 0.2),
            (29.0, 1.070_154_6, 0.214_030_9),
        ] {
            let f = Hertz((mhz * 1e6) as i64);
            assert_near(Exposed::Occupational.limit_mw_per_cm2(f).unwrap(), occupational, 5e-6);
            assert_near(Exposed::GeneralPublic.limit_mw_per_cm2(f).unwrap(), public, 5e-6);
        }
        assert!(Exposed::GeneralPublic.limit_mw_per_cm2(Hertz::mhz(2400)).is_err());
    }

    #[test]
    fn published_worked_case() {
        // OET Bulletin 65 method, published case: 60 W, 50 % and 20 %, 2.2 dBi, 6 ft, over ground, 29 MHz.
        let station = average(60.0, 2.2, 0.5 * 0.2);
        assert_near(station.density_mw_per_cm2(6.0 * 0.3048, true).unwrap(), 0.060_652_530_6, 1e-10);
        let feet = |exposed| station.distance_m(Hertz::mhz(29), exposed, true).unwrap() / 0.3048;
        assert_near(feet(Exposed::Occupational), 1.428_408_6, 1e-6);
        assert_near(feet(Exposed::GeneralPublic), 3.194_018_7, 1e-6);
    }

    #[test]
    fn distances() {
        for (watts, gain, share, mhz, milliwatts, occupational, public, over_ground) in [
            (5.0, 2.15, 0.5, 155.0, 4_101.474, 0.1807, 0.4040, 0.6464),
            (5.0, 2.15, 0.5, 446.0, 4_101.474, 0.1482, 0.3313, 0.5301),
            (50.0, 8.15, 1.0, 155.0, 326_565.276, 1.6121, 3.6047, 5.7675),
            (50.0, 8.15, 1.0, 462.55, 326_565.276, 1.2983, 2.9030, 4.6448),
        ] {
            let station = average(watts, gain, share);
            let f = Hertz((mhz * 1e6) as i64);
            assert_near(station.milliwatts(), milliwatts, 1e-3);
            assert_near(station.distance_m(f, Exposed::Occupational, false).unwrap(), occupational, 1e-4);
            assert_near(station.distance_m(f, Exposed::GeneralPublic, false).unwrap(), public, 1e-4);
            assert_near(station.distance_m(f, Exposed::GeneralPublic, true).unwrap(), over_ground, 1e-4);
        }
    }

    #[test]
    fn a_unit_in_one_slot_exposes_less() {
        let keyed = Power::from_w(5.0).unwrap();
        let burst = AverageEirp::new(keyed, 0.5, BURST_DUTY).unwrap();
        let continuous = AverageEirp::new(keyed, 0.5, 1.0).unwrap();
        assert_near(burst.milliwatts() / continuous.milliwatts(), 27.5 / 60.0, 1e-12);
        assert!(AverageEirp::new(keyed, 1.5, 1.0).is_err() && AverageEirp::new(keyed, 1.0, f64::NAN).is_err());
        assert!(burst.density_mw_per_cm2(0.0, false).is_err());
    }

    proptest! {
        #[test]
        fn the_density_at_the_distance_is_the_limit(watts in 0.1_f64..1000.0, mhz in 30_i64..1500, reflecting: bool) {
            let station = average(watts, 2.15, 1.0);
            let f = Hertz::mhz(mhz);
            for exposed in [Exposed::Occupational, Exposed::GeneralPublic] {
                let meters = station.distance_m(f, exposed, reflecting).unwrap();
                let density = station.density_mw_per_cm2(meters, reflecting).unwrap();
                prop_assert!((density / exposed.limit_mw_per_cm2(f).unwrap() - 1.0).abs() < 1e-9);
            }
        }

        #[test]
        fn the_public_stays_farther_away(watts in 0.1_f64..1000.0, mhz in 3_i64..1500) {
            let meters = |exposed| average(watts, 2.15, 1.0).distance_m(Hertz::mhz(mhz), exposed, false).unwrap();
            prop_assert!(meters(Exposed::GeneralPublic) > meters(Exposed::Occupational));
        }
    }
}
