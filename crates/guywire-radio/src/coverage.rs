//! Field trials against predictions, and what a number of passed points shows.

use crate::range::{OutOfRange, within};

/// Predicted and measured level of one trial, dBm, -200 to 100.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// By the model.
    pub predicted_dbm: f64,
    /// On the air.
    pub measured_dbm: f64,
}

/// Errors of a model, measured less predicted, dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelError {
    /// Mean.
    pub mean_db: f64,
    /// Sample standard deviation; `None` for a single trial.
    pub spread_db: Option<f64>,
    /// Root of the mean square.
    pub rms_db: f64,
}

/// A mean error up to this is acceptable, dB (common practice, no source).
pub const ACCEPTABLE_MEAN_DB: f64 = 3.0;
/// A spread up to this is acceptable, dB (common practice, no source).
pub const ACCEPTABLE_SPREAD_DB: f64 = 8.0;

impl ModelError {
    /// Whether the model serves: see the two constants.
    pub fn is_acceptable(self) -> bool {
        self.mean_db.abs() <= ACCEPTABLE_MEAN_DB && self.spread_db.is_none_or(|it| it <= ACCEPTABLE_SPREAD_DB)
    }
}

/// Errors of a model over some trials; `None` for none.
///
/// # Errors
/// [`OutOfRange`].
pub fn model_error(trials: &[Trial]) -> Result<Option<ModelError>, OutOfRange> {
    let level = |dbm| within("level", dbm, (-200.0, 100.0), "dBm");
    let error = |it: &Trial| Ok(level(it.measured_dbm)? - level(it.predicted_dbm)?);
    let errors = trials.iter().map(error).collect::<Result<Vec<f64>, OutOfRange>>()?;
    if errors.is_empty() {
        return Ok(None);
    }
    let count = errors.len() as f64;
    let mean_db = errors.iter().sum::<f64>() / count;
    let square = |from: f64| errors.iter().map(|it| (it - from).powi(2)).sum::<f64>();
    let spread_db = (errors.len() > 1).then(|| (square(mean_db) / (count - 1.0)).sqrt());
    Ok(Some(ModelError { mean_db, spread_db, rms_db: (square(0.0) / count).sqrt() }))
}

/// The chance of at least `passed` passes in `tried` (1 to 100,000) points if each passed with `share` (0.001 to 0.999):
/// exact binomial.
///
/// # Errors
/// [`OutOfRange`].
pub fn chance_of_passes(passed: u32, tried: u32, share: f64) -> Result<f64, OutOfRange> {
    let points = within("points tried", f64::from(tried), (1.0, 100_000.0), "points")?;
    within("points passed", f64::from(passed), (0.0, points), "points")?;
    let share = within("share", share, (0.001, 0.999), "of 1")?;
    let log_ways = |of: f64| libm::lgamma(points + 1.0) - libm::lgamma(of + 1.0) - libm::lgamma(points - of + 1.0);
    let chance = |of: u32| {
        let of = f64::from(of);
        (log_ways(of) + of * share.ln() + (points - of) * (1.0 - share).ln()).exp()
    };
    Ok((passed..=tried).map(chance).sum::<f64>().min(1.0))
}

/// Whether `passed` of `tried` points show, at `confidence` (0.5 to 0.9999), that at least `share` of all places pass.
///
/// # Errors
/// [`OutOfRange`].
pub fn shows_coverage(passed: u32, tried: u32, share: f64, confidence: f64) -> Result<bool, OutOfRange> {
    let confidence = within("confidence", confidence, (0.5, 0.9999), "of 1")?;
    Ok(chance_of_passes(passed, tried, share)? <= 1.0 - confidence)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::range::assert_near;
    use proptest::prelude::*;

    #[test]
    fn measured_less_predicted() {
        // Arithmetic: errors -4, 2, -7, -3.
        let levels = [(-80.0, -84.0), (-92.0, -90.0), (-101.0, -108.0), (-109.0, -112.0)];
        let trials = levels.map(|(predicted_dbm, measured_dbm)| Trial { predicted_dbm, measured_dbm });
        let found = model_error(&trials).unwrap().unwrap();
        assert_near(found.mean_db, -3.0, 1e-12);
        assert_near(found.spread_db.unwrap(), 3.741_657, 1e-6);
        assert_near(found.rms_db, 4.415_880, 1e-6);
        assert!(found.is_acceptable());
        assert!(!ModelError { mean_db: -3.1, ..found }.is_acceptable());
        assert!(!ModelError { spread_db: Some(8.1), ..found }.is_acceptable());
        assert!(ModelError { spread_db: None, ..found }.is_acceptable());
        assert_eq!(model_error(&[]), Ok(None));
        assert_eq!(model_error(&trials[..1]).unwrap().unwrap().spread_db, None);
        assert!(model_error(&[Trial { predicted_dbm: f64::NAN, measured_dbm: 0.0 }]).is_err());
    }

    #[test]
    fn fifty_nine_of_fifty_nine() {
        // 0.95^59 = 0.048495: the least that shows 95 % at 95 % confidence without a failure.
        assert_near(chance_of_passes(59, 59, 0.95).unwrap(), 0.048_495, 1e-6);
        assert_eq!(shows_coverage(59, 59, 0.95, 0.95), Ok(true));
        assert_eq!(shows_coverage(58, 58, 0.95, 0.95), Ok(false));
        assert_eq!(shows_coverage(58, 59, 0.95, 0.95), Ok(false));
        // Fair coin: 2 or 3 heads of 3 have chance 1/2.
        assert_near(chance_of_passes(2, 3, 0.5).unwrap(), 0.5, 1e-12);
        assert!(chance_of_passes(4, 3, 0.5).is_err() && chance_of_passes(0, 0, 0.5).is_err());
        assert!(shows_coverage(1, 1, f64::NAN, 0.95).is_err());
    }

    proptest! {
        #[test]
        fn more_passes_are_less_likely(tried in 1_u32..200, passed in 0_u32..200, share in 0.01_f64..0.99) {
            let passed = passed % tried;
            let chance = |of| chance_of_passes(of, tried, share).unwrap();
            prop_assert!(chance(passed + 1) <= chance(passed) + 1e-12);
            prop_assert!((chance(0) - 1.0).abs() < 1e-9);
        }
    }
}
