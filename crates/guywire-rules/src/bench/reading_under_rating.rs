use crate::rule;
use crate::rule::Each;
use guywire_plan::language::reading;
use guywire_radio::bench::Verdict;

rule! {
    /// A reading at the bench is under what the level is rated at, whatever the meter's own error.
    ///
    /// The loss of cable and adapters is added first. A reading that the meter's error leaves open is left alone, and so is
    /// one without a meter whose error is written.
    ///
    /// ## On the air
    /// The radio reaches less far than the plan counts on.
    ///
    /// ## Source
    /// The model's data sheet; its tolerance, 1.5 dB where none is written (EN 300 086, from memory).
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
    /// watts = 2.0
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
    pub ReadingUnderRating = "reading-under-rating" {
        family: Bench, level: Warning, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<reading::Table>, view, out) {
        super::report_verdict(view, it, Verdict::Under, out);
    }
}
