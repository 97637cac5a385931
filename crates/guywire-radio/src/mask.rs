//! How far a transmitter must keep its skirts down: emission mask D for 12.5 kHz channels.

use crate::frequency::Hertz;
use crate::range::{OutOfRange, within};
use crate::source::Source;

/// Which mask belongs to which width; the formula of mask D is from memory.
pub const MASK_D_SOURCE: Source = Source::memory("47 CFR 90.210(d)");

/// Attenuation under the unmodulated carrier, dB, that mask D asks for at `offset` (0 to 1 MHz, either side) from a carrier of
/// `watts` (0.001 to 1000).
///
/// # Errors
/// [`OutOfRange`].
pub fn mask_d_db(offset: Hertz, watts: f64) -> Result<f64, OutOfRange> {
    let khz = within("offset", offset.abs().as_hz(), (0.0, 1e6), "Hz")? / 1000.0;
    let watts = within("power", watts, (0.001, 1000.0), "W")?;
    Ok(match khz {
        ..=5.625 => 0.0,
        ..=12.5 => 7.27 * (khz - 2.88),
        _ => (50.0 + 10.0 * watts.log10()).min(70.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;

    #[test]
    fn mask_d() {
        // 47 CFR 90.210(d), formula from memory.
        for (hz, watts, db) in [
            (5_000, 5.0, 0.0),
            (6_000, 5.0, 22.6824),
            (8_000, 5.0, 37.2224),
            (10_000, 5.0, 51.7624),
            (12_500, 5.0, 69.9374),
            (12_600, 5.0, 56.9897),
            (20_000, 50.0, 66.9897),
            (20_000, 100.0, 70.0),
            (20_000, 1000.0, 70.0),
        ] {
            assert_near(mask_d_db(Hertz(hz), watts).unwrap(), db, 1e-4);
            assert_eq!(mask_d_db(Hertz(-hz), watts), mask_d_db(Hertz(hz), watts));
        }
        assert!(mask_d_db(Hertz(0), 0.0).is_err() && mask_d_db(Hertz::mhz(2), 5.0).is_err());
    }
}
