use super::{is_averaged, is_in_bursts, key_of, measures, session, value};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{bench, bench__instrument, reading};
use guywire_plan::{FieldPath, Known};
use guywire_radio::air_interface::BURST_DUTY;

rule! {
    /// Digital power was read with a meter that averages.
    ///
    /// A radio in one slot is on for 27.5 of 60 ms, so such a meter shows 46 % of the power of the bursts. Where the plan does
    /// not say what the meter shows, a digital reading is reported that is as much too low. A repeater's output is continuous and
    /// is read as it is.
    ///
    /// ## On the air
    /// Nothing; but the reading is compared with a rating that means the power of the bursts.
    ///
    /// ## Source
    /// ETSI TS 102 361-1.
    ///
    /// ## Bad
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 5, accuracy_percent_of_full_scale = 5, measures = "average" }
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "digital"
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
    /// sends = "digital"
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
    pub AveragingMeterOnDigital = "averaging-meter-on-digital" {
        family: Bench, level: Information, judged: PerFile, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let percent = BURST_DUTY * 100.0;
        if let Some(bench) = view.get::<bench::Table>(it) {
            let Some(file) = view.file_of(it) else { return };
            let is_in_bursts = |reading| is_in_bursts(view, reading) == Known::Is(true);
            let has_digital = || view.members::<reading::Table>(file).into_iter().any(is_in_bursts);
            if measures(view, bench) != Known::Is("average") || !has_digital() {
                return;
            }
            let at = FieldPath::key(bench::instrument.number()).then(bench__instrument::measures.number() as usize);
            let message = format!(
                "this meter averages, and a radio in one slot is on for 27.5 of 60 ms: it shows {percent:.0} % of the power of digital bursts, so no digital reading here is held against the rating. Measure bursts, or analog",
            );
            out.report(Anchor::Value(it, at), message);
        }
        let Some(reading) = view.get::<reading::Table>(it) else { return };
        let says_nothing = session(view, reading).is_some_and(|session| measures(view, session) == Known::Absent);
        if says_nothing && is_averaged(view, reading) == Known::Is(true) {
            let message = format!(
                "this digital reading is about {percent:.0} % of the rating, as a meter that averages shows it of bursts of 27.5 in 60 ms. Say what the meter `measures`",
            );
            out.report(value(reading, reading::watts), message).about(&key_of(view, reading));
        }
    }
}
