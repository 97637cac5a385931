use super::{key_of, meter, session, value, verdict};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{bench, bench__instrument, reading};
use guywire_plan::{Known, Row};
use guywire_radio::bench::{LEAST_USABLE_SHARE, Verdict};

rule! {
    /// A reading is in the lowest tenth of the meter's scale.
    ///
    /// Where it proves something all the same, it is left alone.
    ///
    /// ## On the air
    /// Nothing; but the meter's error, a share of its full scale, is as large as the reading: it says nothing of the radio.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 25, accuracy_percent_of_full_scale = 5 }
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "low"
    /// watts = 1.0
    /// ```
    ///
    /// ## Good
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 5, accuracy_percent_of_full_scale = 5 }
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "low"
    /// watts = 1.0
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
    pub ReadingBelowMeter = "reading-below-meter" {
        family: Bench, level: Warning, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<reading::Table>, view, out) {
        let Some(session) = session(view, it) else { return };
        let Some(meter) = meter(session) else { return };
        let Known::Is(shown_w) = it.number(reading::watts) else { return };
        let Known::Is(instrument) = session.part::<bench__instrument::Table>(bench::instrument) else { return };
        let Known::Is(full_scale_w) = instrument.number(bench__instrument::full_scale_w) else { return };
        if shown_w >= full_scale_w * LEAST_USABLE_SHARE {
            return;
        }
        if verdict(view, it).is_some_and(|judged| judged.verdict != Verdict::Inconclusive) {
            return;
        }
        let message = format!(
            "{shown_w} W on a scale of {full_scale_w} W may be off by {:.2} W: the reading says little of the radio. Use an element of a smaller scale",
            meter.error_w(),
        );
        out.report(value(it, reading::watts), message).about(&key_of(view, it));
    }
}
