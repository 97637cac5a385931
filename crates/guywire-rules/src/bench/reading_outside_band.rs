use super::{key_of, model_of, session, value};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{model, model__band, reading};
use guywire_plan::{Known, Row};

rule! {
    /// A reading was taken at a frequency that the model does not tune.
    ///
    /// ## On the air
    /// Nothing; but either the frequency is mistyped or the reading is of another radio.
    ///
    /// ## Source
    /// The model's data sheet.
    ///
    /// ## Bad
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 5, accuracy_percent_of_full_scale = 5, measures = "burst" }
    ///
    /// [[reading]]
    /// mhz = 543.0
    /// sends = "analog"
    /// level = "high"
    /// watts = 4.1
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
    pub ReadingOutsideBand = "reading-outside-band" {
        family: Bench, level: Error, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<reading::Table>, view, out) {
        let Known::Is(carrier) = it.frequency(reading::mhz) else { return };
        let Some(model) = session(view, it).and_then(|session| model_of(view, session)) else { return };
        let bands = model.parts::<model__band::Table>(model::band);
        let may_hold = |band: &guywire_plan::Part<'_, model__band::Table>| {
            let edges = (band.frequency(model__band::low_mhz).value(), band.frequency(model__band::high_mhz).value());
            edges.0.zip(edges.1).is_none_or(|(low, high)| (low..=high).contains(&carrier) || low >= high)
        };
        if bands.is_empty() || bands.iter().any(may_hold) {
            return;
        }
        let message = format!(
            "{} does not tune {carrier} MHz, so the reading is of another frequency or another radio. Correct one of them",
            view.called(model.id()),
        );
        out.report(value(it, reading::mhz), message).about(&key_of(view, it));
    }
}
