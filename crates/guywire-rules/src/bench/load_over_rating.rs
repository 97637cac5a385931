use super::{at_radio, key_of, session, value};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{bench, bench__load, reading};
use guywire_plan::{Known, Row};

rule! {
    /// A dummy load got more power than it stands, or stood its power for longer than it may.
    ///
    /// Where the load's rating holds for a time only, a keying longer than that is reported as soon as the energy is more than
    /// rated power for rated time.
    ///
    /// ## On the air
    /// A hot load changes its resistance and then breaks: readings drift, the transmitter may be damaged, and hands are burned.
    /// Let it cool.
    ///
    /// ## Source
    /// The rating of the load.
    ///
    /// ## Bad
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 5, accuracy_percent_of_full_scale = 5, measures = "burst" }
    /// load = { rated_w = 2 }
    ///
    /// [[reading]]
    /// mhz = 453.0
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
    /// load = { rated_w = 25 }
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
    pub LoadOverRating = "load-over-rating" {
        family: Bench, level: Error, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<reading::Table>, view, out) {
        let Some(session) = session(view, it) else { return };
        let Known::Is(load) = session.part::<bench__load::Table>(bench::load) else { return };
        let Known::Is(rated_w) = load.number(bench__load::rated_w) else { return };
        let Some(least_w) = at_radio(view, it).map(|found| found.low()) else { return };
        let called = format!("the load stands {rated_w} W");
        let told = match (load.whole(bench__load::rated_s), it.whole(reading::keyed_s)) {
            _ if least_w > rated_w => format!("{called} and got {least_w:.2} W or more"),
            (Known::Is(rated_s), Known::Is(keyed_s))
                if keyed_s > rated_s && least_w * keyed_s as f64 > rated_w * rated_s as f64 =>
            {
                format!("{called} for {rated_s} s and got {least_w:.2} W or more for {keyed_s} s")
            }
            _ => return,
        };
        let message = format!(
            "{told}: it gets hot, readings drift, and it or the radio breaks. Use a larger load, or key for a shorter time and let it cool",
        );
        out.report(value(it, reading::watts), message).about(&key_of(view, it));
    }
}
