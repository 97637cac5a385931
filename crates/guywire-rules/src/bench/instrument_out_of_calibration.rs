use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{bench, bench__instrument};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The calibration of the meter had run out on the day of the session.
    ///
    /// It holds from the day `calibrated` for `calibration_months`, that day of the month included.
    ///
    /// ## On the air
    /// Nothing; but the meter's stated error no longer holds, and so no verdict of the session.
    ///
    /// ## Source
    /// The certificate of the instrument.
    ///
    /// ## Bad
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { calibrated = 2025-02-20, calibration_months = 12 }
    /// ```
    ///
    /// ## Good
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { calibrated = 2026-02-20, calibration_months = 12 }
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// stability_ppm = 1.5
    ///
    /// [[model.band]]
    /// low_mhz = 403
    /// high_mhz = 473
    ///
    /// [[model.power]]
    /// level = "high"
    /// watts = 4.0
    ///
    /// [[model.power]]
    /// level = "low"
    /// watts = 1.0
    /// ```
    pub InstrumentOutOfCalibration = "instrument-out-of-calibration" {
        family: Bench, level: Warning, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<bench::Table>, _view, out) {
        let Known::Is(day) = it.date(bench::date) else { return };
        let Known::Is(instrument) = it.part::<bench__instrument::Table>(bench::instrument) else { return };
        let (Known::Is(done), Known::Is(months)) =
            (instrument.date(bench__instrument::calibrated), instrument.whole(bench__instrument::calibration_months))
        else {
            return;
        };
        let month = |year: i16, month: i8| i64::from(year) * 12 + i64::from(month);
        let passed = month(day.year(), day.month()) - month(done.year(), done.month());
        if (passed, day.day()) <= (months, done.day()) {
            return;
        }
        let at = FieldPath::key(bench::instrument.number()).then(bench__instrument::calibrated.number() as usize);
        out.report(
            Anchor::Value(it.id(), at),
            format!("the meter was calibrated on {done} for {months} months, and this session is of {day}: its error is not known any more. Have it calibrated, and measure again"),
        );
    }
}
