use super::{at_radio, key_of, rating, value};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::reading;
use guywire_plan::{Known, Row};
use guywire_radio::bench::{LevelOrder, level_order};

rule! {
    /// A lower power level puts out as much as a higher one, or more, at the same frequency and in the same mode.
    ///
    /// Which level is lower, the data sheet says. Readings whose error bars meet are left open.
    ///
    /// ## On the air
    /// Whoever turns the power down to save the battery, or to keep a limit, does not.
    ///
    /// ## Source
    /// Logic; the error is the meter's own.
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
    /// watts = 2.9
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "low"
    /// watts = 3.6
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
    /// watts = 2.9
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "low"
    /// watts = 1.1
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
    /// tolerance_db = 3
    ///
    /// [[model.power]]
    /// level = "low"
    /// watts = 1.0
    /// tolerance_db = 6
    /// ```
    pub LowNotBelowHigh = "low-not-below-high" {
        family: Bench, level: Error, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<reading::Table>, view, out) {
        let (Some(own), Some((own_w, _))) = (at_radio(view, it), rating(view, it)) else { return };
        let (Known::Is(carrier), Known::Is(sends)) = (it.frequency(reading::mhz), it.text(reading::sends)) else { return };
        let Some(file) = view.file_of(it.id()) else { return };
        for higher in view.members::<reading::Table>(file) {
            let alike = higher.frequency(reading::mhz) == Known::Is(carrier) && higher.text(reading::sends) == Known::Is(sends);
            if !alike || rating(view, higher).is_none_or(|(rated_w, _)| rated_w <= own_w) {
                continue;
            }
            let Some(its) = at_radio(view, higher) else { continue };
            if level_order(own, its) != LevelOrder::NotRising {
                continue;
            }
            let message = format!(
                "at {carrier} MHz this level puts out {:.2} W or more, and the higher level {:.2} W or less: who turns the power down turns it up. Check which was keyed, then have the radio serviced",
                own.low(),
                its.high(),
            );
            out.report(value(it, reading::watts), message)
                .about(&(key_of(view, it), key_of(view, higher)))
                .related(value(higher, reading::watts), "the higher level");
        }
    }
}
