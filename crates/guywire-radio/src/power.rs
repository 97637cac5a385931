//! Power in watts and dBm. Transmitter output, ERP and EIRP are separate types, so they cannot be mixed.

use std::fmt;
use std::marker::PhantomData;

use crate::range::{OutOfRange, within};
use crate::source::Source;

/// Gain of a half-wave dipole over an isotropic radiator, dB. Exactly 10 log 1.64 = 2.1484; the trade and the rules use
/// 2.15.
pub const DIPOLE_GAIN_DBI: f64 = 2.15;

/// Where ERP and EIRP are defined by the two antennas.
pub const RADIATED_POWER_SOURCE: Source = Source::memory("47 CFR 2.1");

/// Watts from and to which conversions hold.
const WATTS: (f64, f64) = (1e-24, 1e9);
const DBM: (f64, f64) = (-210.0, 120.0);
/// Differences below this are rounding of a data sheet, not an excess, dB.
const SLACK_DB: f64 = 0.005;

/// dBm of `watts`, 1e-24 to 1e9 W.
///
/// # Errors
/// [`OutOfRange`].
pub fn dbm_from_w(watts: f64) -> Result<f64, OutOfRange> {
    within("power", watts, WATTS, "W").map(|it| 10.0 * it.log10() + 30.0)
}

/// Watts of `dbm`, -210 to 120 dBm.
///
/// # Errors
/// [`OutOfRange`].
pub fn w_from_dbm(dbm: f64) -> Result<f64, OutOfRange> {
    within("power", dbm, DBM, "dBm").map(|it| 10_f64.powf((it - 30.0) / 10.0))
}

/// Gain over a dipole as gain over an isotropic radiator.
pub const fn dbi_from_dbd(dbd: f64) -> f64 {
    dbd + DIPOLE_GAIN_DBI
}

/// At the transmitter's connector.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Output;
/// Effective radiated power: as if from a half-wave dipole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Erp;
/// Effective isotropically radiated power.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Eirp;

/// A power of kind `K`: [`Output`], [`Erp`] or [`Eirp`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Power<K> {
    dbm: f64,
    kind: PhantomData<K>,
}

impl<K> Power<K> {
    /// From watts, 1e-24 to 1e9.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn from_w(watts: f64) -> Result<Power<K>, OutOfRange> {
        dbm_from_w(watts).map(Power::of)
    }

    /// From dBm, -210 to 120.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn from_dbm(dbm: f64) -> Result<Power<K>, OutOfRange> {
        within("power", dbm, DBM, "dBm").map(Power::of)
    }

    fn of(dbm: f64) -> Power<K> {
        Power { dbm, kind: PhantomData }
    }

    /// In dBm.
    pub const fn dbm(self) -> f64 {
        self.dbm
    }

    /// In watts.
    pub fn w(self) -> f64 {
        10_f64.powf((self.dbm - 30.0) / 10.0)
    }
}

impl Power<Output> {
    /// What leaves the antenna.
    pub fn eirp(self, antenna: AntennaChain) -> Power<Eirp> {
        Power::of(self.dbm - antenna.loss_db + antenna.gain_dbi)
    }
}

impl Power<Eirp> {
    /// The same radiation, relative to a dipole.
    pub fn erp(self) -> Power<Erp> {
        Power::of(self.dbm - DIPOLE_GAIN_DBI)
    }
}

impl Power<Erp> {
    /// The same radiation, relative to an isotropic radiator.
    pub fn eirp(self) -> Power<Eirp> {
        Power::of(self.dbm + DIPOLE_GAIN_DBI)
    }
}

/// What stands between a connector and the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AntennaChain {
    gain_dbi: f64,
    loss_db: f64,
}

impl AntennaChain {
    /// An antenna of `gain_dbi` (-40 to 40) behind `loss_db` (0 to 60) of feedline, connectors and filters.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn new(gain_dbi: f64, loss_db: f64) -> Result<AntennaChain, OutOfRange> {
        let gain_dbi = within("antenna gain", gain_dbi, (-40.0, 40.0), "dBi")?;
        let loss_db = within("feedline loss", loss_db, (0.0, 60.0), "dB")?;
        Ok(AntennaChain { gain_dbi, loss_db })
    }

    /// Gain less losses, dB over an isotropic radiator.
    pub const fn net_dbi(self) -> f64 {
        self.gain_dbi - self.loss_db
    }
}

/// What a limit in a rule or a license is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PowerKind {
    /// Mean power at the connector.
    Output,
    /// Peak envelope power at the connector. For the constant envelope of FM and 4FSK it is the output while keyed.
    PeakEnvelope,
    /// Effective radiated power.
    Erp,
    /// Effective isotropically radiated power.
    Eirp,
}

impl fmt::Display for PowerKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            PowerKind::Output => "output",
            PowerKind::PeakEnvelope => "peak envelope power",
            PowerKind::Erp => "ERP",
            PowerKind::Eirp => "EIRP",
        })
    }
}

impl fmt::Display for PowerLimit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} W {}", self.watts, self.kind)
    }
}

/// A highest power of a stated kind. `Display` is `0.5 W ERP`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerLimit {
    kind: PowerKind,
    watts: f64,
}

/// How a station stands to a limit, like compared with like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LimitVerdict {
    /// At or under the limit.
    Within {
        /// The station's power in the limit's kind, W.
        actual_w: f64,
    },
    /// Over it by more than rounding.
    Over {
        /// The station's power in the limit's kind, W.
        actual_w: f64,
        /// How far over, dB.
        by_db: f64,
    },
    /// The limit is on radiated power and the antenna is not known.
    NotKnown,
}

impl PowerLimit {
    /// A limit of `watts` (1e-6 to 1e7) of `kind`.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn new(kind: PowerKind, watts: f64) -> Result<PowerLimit, OutOfRange> {
        Ok(PowerLimit { kind, watts: within("power limit", watts, (1e-6, 1e7), "W")? })
    }

    pub(crate) const fn fixed(kind: PowerKind, watts: f64) -> PowerLimit {
        assert!(watts >= 1e-6 && watts <= 1e7, "limit in range");
        PowerLimit { kind, watts }
    }

    /// What it limits.
    pub const fn kind(self) -> PowerKind {
        self.kind
    }

    /// The limit, W.
    pub const fn watts(self) -> f64 {
        self.watts
    }

    /// Judges a transmitter; `antenna` absent means not known.
    pub fn judge(self, output: Power<Output>, antenna: Option<AntennaChain>) -> LimitVerdict {
        let actual = match (self.kind, antenna) {
            (PowerKind::Output | PowerKind::PeakEnvelope, _) => output.dbm,
            (PowerKind::Eirp, Some(antenna)) => output.eirp(antenna).dbm,
            (PowerKind::Erp, Some(antenna)) => output.eirp(antenna).erp().dbm,
            (_, None) => return LimitVerdict::NotKnown,
        };
        let by_db = actual - Power::<Output>::of(10.0 * self.watts.log10() + 30.0).dbm;
        let actual_w = Power::<Output>::of(actual).w();
        if by_db > SLACK_DB { LimitVerdict::Over { actual_w, by_db } } else { LimitVerdict::Within { actual_w } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;
    use proptest::prelude::*;

    fn chain(gain_dbi: f64, loss_db: f64) -> AntennaChain {
        AntennaChain::new(gain_dbi, loss_db).unwrap()
    }

    #[test]
    fn dbm_table() {
        // dBm = 10 log(P / 1 mW), by definition.
        for (w, dbm) in [
            (0.0005, -3.0103),
            (0.001, 0.0),
            (0.1, 20.0),
            (0.5, 26.9897),
            (1.0, 30.0),
            (2.0, 33.0103),
            (4.0, 36.0206),
            (5.0, 36.9897),
            (25.0, 43.9794),
            (45.0, 46.5321),
            (50.0, 46.9897),
            (1500.0, 61.7609),
        ] {
            assert_near(dbm_from_w(w).unwrap(), dbm, 1e-4);
        }
        for (dbm, w) in [(27.0, 0.501_187), (33.0, 1.995_262), (37.0, 5.011_872), (47.0, 50.118_723)] {
            assert_near(w_from_dbm(dbm).unwrap(), w, 1e-6);
        }
    }

    #[test]
    fn radiated_power() {
        // EIRP = P - losses + G(dBi); ERP = EIRP - 2.15 dB.
        for (w, loss, gain, eirp_dbm, eirp_w, erp_dbm, erp_w) in [
            (45.0, 1.5, 5.0, 50.0321, 100.7425, 47.8821, 61.4062),
            (50.0, 2.0, 8.15, 53.1397, 206.0488, 50.9897, 125.5943),
            (25.0, 1.2, 6.0, 48.7794, 75.4988, 46.6294, 46.0193),
            (5.0, 0.0, -2.15, 34.8397, 3.0477, 32.6897, 1.8577),
        ] {
            let eirp = Power::<Output>::from_w(w).unwrap().eirp(chain(gain, loss));
            assert_near(eirp.dbm(), eirp_dbm, 1e-4);
            assert_near(eirp.w(), eirp_w, 1e-4);
            assert_near(eirp.erp().dbm(), erp_dbm, 1e-4);
            assert_near(eirp.erp().w(), erp_w, 1e-4);
        }
        let half_watt = Power::<Erp>::from_w(0.5).unwrap();
        assert_near(half_watt.eirp().dbm(), 29.1397, 1e-4);
        assert_near(half_watt.eirp().w(), 0.820_295, 1e-6);
        assert_near(DIPOLE_GAIN_DBI, 10.0 * 1.64_f64.log10(), 0.0017);
        assert_eq!(dbi_from_dbd(0.0), 2.15);
        assert_near(chain(8.15, 2.0).net_dbi(), 6.15, 1e-12);
    }

    #[test]
    fn limits_compare_like_with_like() {
        let output = Power::<Output>::from_w(2.0).unwrap();
        let judge = |kind, watts, antenna| PowerLimit::new(kind, watts).unwrap().judge(output, antenna);
        assert!(matches!(judge(PowerKind::Output, 2.0, None), LimitVerdict::Within { .. }));
        assert_eq!(judge(PowerKind::Erp, 2.0, None), LimitVerdict::NotKnown);
        // A dipole without loss radiates the output: on the limit, not over it.
        assert!(matches!(judge(PowerKind::Erp, 2.0, Some(chain(2.15, 0.0))), LimitVerdict::Within { .. }));
        let LimitVerdict::Over { actual_w, by_db } = judge(PowerKind::Eirp, 2.0, Some(chain(2.15, 0.0))) else {
            panic!("2 W into a dipole is more than 2 W EIRP");
        };
        assert_near(actual_w, 3.2812, 1e-4);
        assert_near(by_db, 2.15, 1e-9);
        assert!(matches!(judge(PowerKind::PeakEnvelope, 1.9, None), LimitVerdict::Over { .. }));
    }

    #[test]
    fn limits_as_text() {
        let text = |kind, watts| PowerLimit::new(kind, watts).unwrap().to_string();
        assert_eq!(text(PowerKind::Erp, 0.5), "0.5 W ERP");
        assert_eq!(text(PowerKind::Eirp, 4.0), "4 W EIRP");
        assert_eq!(text(PowerKind::Output, 50.0), "50 W output");
        assert_eq!(text(PowerKind::PeakEnvelope, 1500.0), "1500 W peak envelope power");
    }

    #[test]
    fn refusals() {
        for watts in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(dbm_from_w(watts).is_err() && Power::<Output>::from_w(watts).is_err());
            assert!(PowerLimit::new(PowerKind::Output, watts).is_err());
        }
        assert!(w_from_dbm(f64::NAN).is_err() && w_from_dbm(500.0).is_err());
        assert!(AntennaChain::new(99.0, 0.0).is_err() && AntennaChain::new(0.0, -1.0).is_err());
    }

    proptest! {
        #[test]
        fn watts_round_trip(dbm in -200.0_f64..110.0) {
            prop_assert!((dbm_from_w(w_from_dbm(dbm).unwrap()).unwrap() - dbm).abs() < 1e-9);
        }

        #[test]
        fn erp_and_eirp_are_inverse(dbm in -100.0_f64..100.0) {
            let eirp = Power::<Eirp>::from_dbm(dbm).unwrap();
            prop_assert!((eirp.erp().eirp().dbm() - dbm).abs() < 1e-9);
        }

        #[test]
        fn more_output_is_never_less_over(a in 0.1_f64..100.0, more in 0.0_f64..100.0, limit in 0.1_f64..100.0) {
            let limit = PowerLimit::new(PowerKind::Output, limit).unwrap();
            let over = |w| matches!(limit.judge(Power::from_w(w).unwrap(), None), LimitVerdict::Over { .. });
            prop_assert!(!over(a) || over(a + more));
        }
    }
}
