//! How long a battery lasts by the share of time that a radio transmits, receives and stands by.

use crate::range::{OutOfRange, within};

/// Share of the time in each state, percent. The customary split is 5, 5, 90 (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duty {
    transmit_percent: f64,
    receive_percent: f64,
}

/// Current drawn in each state, mA.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// While transmitting at the power in question.
    pub transmit_ma: f64,
    /// While receiving with audio.
    pub receive_ma: f64,
    /// While standing by.
    pub standby_ma: f64,
}

/// The customary shares of transmitting and receiving, percent (common practice, no source).
pub const CUSTOMARY_DUTY_PERCENT: (f64, f64) = (5.0, 5.0);
/// What is left of a battery's capacity with age and cold (common practice, no source).
pub const AGE_AND_COLD: f64 = 0.8;

impl Duty {
    /// Transmitting and receiving shares, each 0 to 100, together at most 100; standing by is the rest.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn new(transmit_percent: f64, receive_percent: f64) -> Result<Duty, OutOfRange> {
        let transmit_percent = within("transmit share", transmit_percent, (0.0, 100.0), "%")?;
        let receive_percent = within("receive share", receive_percent, (0.0, 100.0 - transmit_percent), "%")?;
        Ok(Duty { transmit_percent, receive_percent })
    }

    /// Standing by, percent.
    pub fn standby_percent(self) -> f64 {
        100.0 - self.transmit_percent - self.receive_percent
    }

    /// Mean current, mA; each draw 0.001 to 100,000 mA.
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn mean_ma(self, draw: Draw) -> Result<f64, OutOfRange> {
        let current = |what, value| within(what, value, (0.001, 100_000.0), "mA");
        let transmit = self.transmit_percent * current("transmit current", draw.transmit_ma)?;
        let receive = self.receive_percent * current("receive current", draw.receive_ma)?;
        let standby = self.standby_percent() * current("standby current", draw.standby_ma)?;
        Ok((transmit + receive + standby) / 100.0)
    }

    /// Hours from a battery of `capacity_mah` (1 to 1,000,000), new and warm; see [`AGE_AND_COLD`].
    ///
    /// # Errors
    /// [`OutOfRange`].
    pub fn hours(self, capacity_mah: f64, draw: Draw) -> Result<f64, OutOfRange> {
        Ok(within("battery capacity", capacity_mah, (1.0, 1e6), "mAh")? / self.mean_ma(draw)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;
    use proptest::prelude::*;

    const DRAW: Draw = Draw { transmit_ma: 1500.0, receive_ma: 200.0, standby_ma: 60.0 };

    #[test]
    fn hours_by_split() {
        // I = sum of share * current; hours = mAh / I. Arithmetic.
        for (mah, draw, duty, ma, hours) in [
            (2000.0, DRAW, (5.0, 5.0), 139.0, 14.3885),
            (2000.0, Draw { transmit_ma: 700.0, ..DRAW }, (5.0, 5.0), 99.0, 20.2020),
            (2000.0, DRAW, (10.0, 10.0), 218.0, 9.1743),
            (2300.0, Draw { transmit_ma: 1600.0, receive_ma: 250.0, standby_ma: 75.0 }, (5.0, 5.0), 160.0, 14.3750),
        ] {
            let duty = Duty::new(duty.0, duty.1).unwrap();
            assert_near(duty.mean_ma(draw).unwrap(), ma, 1e-9);
            assert_near(duty.hours(mah, draw).unwrap(), hours, 1e-4);
        }
    }

    #[test]
    fn shares_total_a_hundred() {
        assert!(Duty::new(60.0, 41.0).is_err() && Duty::new(-1.0, 5.0).is_err() && Duty::new(f64::NAN, 5.0).is_err());
        assert_near(Duty::new(5.0, 5.0).unwrap().standby_percent(), 90.0, 1e-12);
        let duty = Duty::new(5.0, 5.0).unwrap();
        assert!(duty.hours(0.0, DRAW).is_err());
        assert!(duty.hours(2000.0, Draw { standby_ma: 0.0, ..DRAW }).is_err());
    }

    proptest! {
        #[test]
        fn more_transmitting_never_lasts_longer(transmit in 0.0_f64..50.0, more in 0.0_f64..40.0) {
            let hours = |share| Duty::new(share, 5.0).unwrap().hours(2000.0, DRAW).unwrap();
            prop_assert!(hours(transmit + more) <= hours(transmit));
        }
    }
}
