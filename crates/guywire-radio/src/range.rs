//! The one error of numeric arguments.

/// An argument outside the range in which a computation holds. NaN is outside every range.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{what} must be from {low} to {high} {unit}, not {value}")]
pub struct OutOfRange {
    /// What the argument means.
    pub what: &'static str,
    /// Least value, in `unit`.
    pub low: f64,
    /// Greatest value, in `unit`.
    pub high: f64,
    /// Unit of the three numbers.
    pub unit: &'static str,
    /// What was given.
    pub value: f64,
}

/// `value` if it lies in the closed range.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    (low, high): (f64, f64),
    unit: &'static str,
) -> Result<f64, OutOfRange> {
    if low <= value && value <= high { Ok(value) } else { Err(OutOfRange { what, low, high, unit, value }) }
}

#[cfg(test)]
pub(crate) fn assert_near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} within {tolerance}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nan_is_outside() {
        assert!(within("gain", f64::NAN, (0.0, 1.0), "dB").is_err());
        assert!(within("gain", f64::INFINITY, (0.0, 1.0), "dB").is_err());
        assert_eq!(within("gain", 1.0, (0.0, 1.0), "dB"), Ok(1.0));
        let error = within("gain", 2.5, (0.0, 1.0), "dB").unwrap_err();
        assert_eq!(error.to_string(), "gain must be from 0 to 1 dB, not 2.5");
    }
}
