//! Carriers with their widths: overlap, harmonics, and how far apart two users of one frequency must be.

use crate::frequency::{Band, Hertz};
use crate::path::{distance_for_loss_km, horizon_km};
use crate::power::{Eirp, Power};
use crate::range::{OutOfRange, within};
use crate::source::Source;

/// Wanted over unwanted on one frequency that an analog receiver needs for clear speech, dB. A tone, code, slot or color
/// code does not help: it mutes the loudspeaker, the carrier still interferes.
pub const CO_CHANNEL_PROTECTION_DB: f64 = 17.0;
/// Basis of [`CO_CHANNEL_PROTECTION_DB`].
pub const CO_CHANNEL_SOURCE: Source = Source::memory("land-mobile planning practice");
/// Adjacent-channel power under the carrier that a transmitter must keep at 12.5 kHz, dB.
pub const ADJACENT_CHANNEL_NARROW_DB: f64 = 60.0;
/// The same at 20 and 25 kHz, dB.
pub const ADJACENT_CHANNEL_WIDE_DB: f64 = 70.0;
/// Basis of the adjacent-channel figures.
pub const ADJACENT_CHANNEL_SOURCE: Source = Source::memory("EN 300 086");
/// Harmonics are looked for up to this multiple.
pub const HIGHEST_HARMONIC: u8 = 5;

/// A transmitted carrier, or a receiver, with its width.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Carrier {
    frequency: Hertz,
    width: Hertz,
}

impl Carrier {
    /// A carrier from 1 Hz to 100 GHz, 1 Hz to 100 MHz wide.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn new(frequency: Hertz, width: Hertz) -> Result<Carrier, OutOfRange> {
        within("carrier", frequency.as_hz(), (1.0, 1e11), "Hz")?;
        within("width", width.as_hz(), (1.0, 1e8), "Hz")?;
        Ok(Carrier { frequency, width })
    }

    /// Its center.
    pub const fn frequency(self) -> Hertz {
        self.frequency
    }

    /// Its width.
    pub const fn width(self) -> Hertz {
        self.width
    }

    /// The band that it occupies.
    ///
    /// # Errors
    /// None for a carrier made by [`Carrier::new`].
    pub fn band(self) -> Result<Band, crate::frequency::FrequencyError> {
        Band::around(self.frequency, self.width)
    }

    /// Whether the two share spectrum: closer than half the sum of their widths.
    pub fn overlaps(self, other: Carrier) -> bool {
        self.frequency.spacing(other.frequency).times(2) < self.width + other.width
    }

    /// Whether a product at `frequency`, `width` wide, falls on this receiver; edges that touch count.
    pub fn is_hit_by(self, frequency: Hertz, width: Hertz) -> bool {
        frequency.spacing(self.frequency).times(2) <= width + self.width
    }

    /// The lowest harmonic, 2 to [`HIGHEST_HARMONIC`], that falls on `receiver`. An n-th harmonic is n times as wide.
    pub fn harmonic_on(self, receiver: Carrier) -> Option<u8> {
        (2..=HIGHEST_HARMONIC)
            .find(|n| receiver.is_hit_by(self.frequency.times(i64::from(*n)), self.width.times(i64::from(*n))))
    }
}

/// How a field falls with distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Decay {
    /// By the square.
    FreeSpace,
    /// By the fourth power.
    PlaneEarth,
}

/// Wanted over unwanted level for equal stations at two distances (0.001 to 20,000 km), dB.
///
/// # Errors
/// [`OutOfRange`].
pub fn carrier_to_interference_db(wanted_km: f64, unwanted_km: f64, decay: Decay) -> Result<f64, OutOfRange> {
    let wanted_km = within("wanted distance", wanted_km, (0.001, 20_000.0), "km")?;
    let unwanted_km = within("unwanted distance", unwanted_km, (0.001, 20_000.0), "km")?;
    let per_decade = match decay {
        Decay::FreeSpace => 20.0,
        Decay::PlaneEarth => 40.0,
    };
    Ok(per_decade * (unwanted_km / wanted_km).log10())
}

/// An unwanted station and the receiver that it may disturb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoChannel {
    /// The shared frequency.
    pub frequency: Hertz,
    /// What the unwanted station radiates.
    pub unwanted: Power<Eirp>,
    /// Its antenna above ground, m.
    pub unwanted_height_m: f64,
    /// The receiver's antenna above ground, m.
    pub receiver_height_m: f64,
    /// The weakest wanted level that is to be heard, dBm at an isotropic antenna.
    pub wanted_dbm: f64,
    /// Wanted over unwanted that is needed, dB, such as [`CO_CHANNEL_PROTECTION_DB`].
    pub protection_db: f64,
}

impl CoChannel {
    /// Nearer than this the unwanted station disturbs, km: where the path loss leaves it `protection_db` under the weakest
    /// wanted level, and no farther than the radio horizon, beyond which the loss over smooth earth grows fast.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn reuse_distance_km(self) -> Result<f64, OutOfRange> {
        let wanted_dbm = within("wanted level", self.wanted_dbm, (-200.0, 0.0), "dBm")?;
        let protection_db = within("protection", self.protection_db, (0.0, 60.0), "dB")?;
        let needed = (self.unwanted.dbm() - wanted_dbm + protection_db).max(0.0);
        let heights = (self.unwanted_height_m, self.receiver_height_m);
        let by_loss = distance_for_loss_km(self.frequency, needed, heights.0, heights.1)?;
        Ok(by_loss.min(horizon_km(heights.0, heights.1)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;
    use proptest::prelude::*;

    fn carrier(mhz: &str, khz: &str) -> Carrier {
        Carrier::new(Hertz::from_mhz_text(mhz).unwrap(), Hertz::from_khz_text(khz).unwrap()).unwrap()
    }

    #[test]
    fn overlap() {
        // |f1 - f2| < (BW1 + BW2) / 2.
        assert!(!carrier("446.00625", "11").overlaps(carrier("446.01875", "11")));
        assert!(carrier("462.5500", "20").overlaps(carrier("462.5625", "12.5")));
        assert!(carrier("156.8125", "16").overlaps(carrier("156.800", "16")));
        assert!(!carrier("446.00625", "12.5").overlaps(carrier("446.01875", "12.5")));
        assert_eq!(carrier("156.800", "16").band().unwrap().high(), Hertz(156_808_000));
    }

    #[test]
    fn harmonics() {
        // Multiples that land on channels of 47 CFR 95.1763 and ECC/DEC/(15)05.
        for (sends, receives, harmonic) in [
            ("154.200", "462.600", Some(3)),
            ("148.66875", "446.00625", Some(3)),
            ("155.340", "466.020", Some(3)),
            ("151.820", "303.640", Some(2)),
            ("151.820", "455.460", Some(3)),
            ("155.000", "462.600", None),
        ] {
            assert_eq!(carrier(sends, "11").harmonic_on(carrier(receives, "11")), harmonic, "{sends}");
        }
        // A third harmonic is three times as wide.
        assert_eq!(carrier("154.200", "10").harmonic_on(carrier("462.6199", "10")), Some(3));
        assert_eq!(carrier("154.200", "10").harmonic_on(carrier("462.6201", "10")), None);
    }

    #[test]
    fn distance_ratio() {
        for (wanted, unwanted, plane_earth, free_space) in
            [(5.0, 20.0, 24.0824, 12.0412), (8.0, 35.0, 25.6391, 12.8196)]
        {
            let found = |decay| carrier_to_interference_db(wanted, unwanted, decay).unwrap();
            assert_near(found(Decay::PlaneEarth), plane_earth, 1e-4);
            assert_near(found(Decay::FreeSpace), free_space, 1e-4);
        }
        assert!(carrier_to_interference_db(0.0, 1.0, Decay::FreeSpace).is_err());
    }

    #[test]
    fn reuse_distance() {
        let mut clash = CoChannel {
            frequency: Hertz::mhz(446),
            unwanted: Power::from_dbm(30.0).unwrap(),
            unwanted_height_m: 1.5,
            receiver_height_m: 1.5,
            wanted_dbm: -80.0,
            protection_db: 20.0,
        };
        // 130 dB over plane earth at 1.5 m and 1.5 m: 2667.4 m.
        assert_near(clash.reuse_distance_km().unwrap(), 2.6674, 1e-4);
        clash.wanted_dbm = -150.0;
        assert_near(clash.reuse_distance_km().unwrap(), horizon_km(1.5, 1.5).unwrap(), 1e-9);
        clash.protection_db = f64::NAN;
        assert!(clash.reuse_distance_km().is_err());
    }

    #[test]
    fn refusals() {
        assert!(Carrier::new(Hertz(0), Hertz(1)).is_err() && Carrier::new(Hertz(1), Hertz(0)).is_err());
        assert!(Carrier::new(Hertz(i64::MAX), Hertz(1)).is_err());
    }

    proptest! {
        #[test]
        fn overlap_is_symmetric_and_falls_with_spacing(f in 1_000_000_i64..2_000_000, apart in 0_i64..50_000, a in 1_i64..30_000, b in 1_i64..30_000) {
            let it = |f, w| Carrier::new(Hertz(f), Hertz(w)).unwrap();
            let (x, y) = (it(f, a), it(f + apart, b));
            prop_assert_eq!(x.overlaps(y), y.overlaps(x));
            prop_assert!(x.overlaps(y) || !x.overlaps(it(f + apart + 1, b)));
            prop_assert!(!x.overlaps(y) || x.is_hit_by(y.frequency(), y.width()));
        }

        #[test]
        fn more_power_reaches_no_less_far(dbm in 0.0_f64..60.0, more in 0.0_f64..20.0) {
            let reach = |dbm| CoChannel {
                frequency: Hertz::mhz(446),
                unwanted: Power::from_dbm(dbm).unwrap(),
                unwanted_height_m: 30.0,
                receiver_height_m: 1.5,
                wanted_dbm: -100.0,
                protection_db: CO_CHANNEL_PROTECTION_DB,
            }.reuse_distance_km().unwrap();
            prop_assert!(reach(dbm + more) >= reach(dbm));
        }
    }
}
