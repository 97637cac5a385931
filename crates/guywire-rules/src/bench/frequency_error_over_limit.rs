use super::{key_of, model_of, session, value};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{model, reading};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The carrier was further from its nominal frequency than the data sheet's stability allows.
    ///
    /// ## On the air
    /// The signal moves toward the next channel, and receivers hear it distorted or lose bits.
    ///
    /// ## Source
    /// The model's data sheet. What the radio service demands may be stricter, and decides.
    ///
    /// ## Bad
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 5, accuracy_percent_of_full_scale = 5, measures = "burst" }
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "high"
    /// watts = 4.1
    /// frequency_error_hz = 900
    /// ```
    ///
    /// ## Good
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 5, accuracy_percent_of_full_scale = 5, measures = "burst" }
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "high"
    /// watts = 4.1
    /// frequency_error_hz = -600
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
    pub FrequencyErrorOverLimit = "frequency-error-over-limit" {
        family: Bench, level: Warning, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<reading::Table>, view, out) {
        let (Known::Is(carrier), Known::Is(error_hz)) = (it.frequency(reading::mhz), it.number(reading::frequency_error_hz)) else {
            return;
        };
        let Some(model) = session(view, it).and_then(|session| model_of(view, session)) else { return };
        let Known::Is(ppm) = model.number(model::stability_ppm) else { return };
        let most_hz = ppm * carrier.as_mhz();
        if error_hz.abs() <= most_hz {
            return;
        }
        let message = format!(
            "the carrier was {error_hz} Hz off at {carrier} MHz, and {ppm} ppm are {most_hz:.0} Hz: it moves toward the next channel. Let the radio and the counter warm up and measure again, then have it aligned",
        );
        out.report(value(it, reading::frequency_error_hz), message).about(&key_of(view, it)).related(
            Anchor::Value(model.id(), FieldPath::key(model::stability_ppm.number())),
            format!("stability of {}", view.called(model.id())),
        );
    }
}
