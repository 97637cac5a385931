use super::{at_radio, is_averaged, rating, value};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{bench, reading};
use guywire_plan::{Known, Ref, Row, View};
use std::collections::BTreeMap;

rule! {
    /// One level in one mode puts out clearly more at one end of the band than at the other.
    ///
    /// Reported where the difference is over `most_db` whatever the meter's error, once a level and mode, at the session.
    ///
    /// ## On the air
    /// The range of the radio depends on the channel.
    ///
    /// ## Options
    /// `most_db`: difference that is left alone, in dB; 1 unless set.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml hh-0041.bench.toml
    /// [bench]
    /// date = 2026-11-03
    /// model = "models/hh-uhf.model.toml"
    /// instrument = { full_scale_w = 5, accuracy_percent_of_full_scale = 5, measures = "burst" }
    ///
    /// [[reading]]
    /// mhz = 410.0
    /// sends = "analog"
    /// level = "high"
    /// watts = 4.6
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "high"
    /// watts = 3.1
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
    /// mhz = 410.0
    /// sends = "analog"
    /// level = "high"
    /// watts = 4.6
    ///
    /// [[reading]]
    /// mhz = 453.0
    /// sends = "analog"
    /// level = "high"
    /// watts = 4.4
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
    pub PowerVariesOverBand = "power-varies-over-band" {
        family: Bench, level: Information, judged: PerFile, since: "0.1.0",
        options: &[OptionSpec { name: "most_db", default: 1.0, doc: "Difference that is left alone, in dB." }],
    }
    fn check(it: Each<bench::Table>, view, out) {
        let Some(file) = view.file_of(it.id()) else { return };
        let mut groups: BTreeMap<(&str, &str), Vec<Ref<'_, reading::Table>>> = BTreeMap::new();
        for reading in view.members::<reading::Table>(file) {
            let word = |field| reading.text(field).value().map(|word| view.symbol(word));
            // A reading that cannot be judged, or that is below its rating anyway, says nothing of the band.
            if is_averaged(view, reading) != Known::Is(false) || rating(view, reading).is_none() {
                continue;
            }
            if let (Some(level), Some(sends)) = (word(reading::level), word(reading::sends)) {
                groups.entry((level, sends)).or_default().push(reading);
            }
        }
        let most_db = out.option("most_db");
        for ((level, sends), readings) in groups {
            let Some((weakest, strongest)) = ends(view, &readings) else { continue };
            let apart_db = 10.0 * (strongest.1 / weakest.1).log10();
            if apart_db <= most_db {
                continue;
            }
            let message = format!(
                "\"{level}\" puts out at least {apart_db:.1} dB less at {} MHz than at {} MHz in {sends} (limit {most_db} dB): the range depends on the channel. Have the radio aligned",
                mhz(weakest.0), mhz(strongest.0),
            );
            // At the session: of readings that are equal in everything, none is the weakest.
            let mut found = out.report(Anchor::Header(it.id()), message).about(&(level, sends));
            for reading in &readings {
                let Some(means) = at_radio(view, *reading) else { continue };
                let said = format!("at {} MHz: {:.2} to {:.2} W", mhz(*reading), means.low(), means.high());
                found = found.related(value(*reading, reading::watts), said);
            }
        }
    }
}

/// A reading, and a power that it may mean, W.
type End<'v> = (Ref<'v, reading::Table>, f64);

/// The weakest reading with the most that it may mean, and the strongest with the least, W. Of as many, the lower frequency.
fn ends<'v>(view: View<'v>, readings: &[Ref<'v, reading::Table>]) -> Option<(End<'v>, End<'v>)> {
    let mut known: Vec<_> = readings.iter().filter_map(|it| Some((*it, at_radio(view, *it)?))).collect();
    known.sort_by_key(|(it, _)| it.frequency(reading::mhz).value());
    let weakest = known.iter().min_by(|a, b| a.1.high().total_cmp(&b.1.high()))?;
    let strongest = known.iter().min_by(|a, b| b.1.low().total_cmp(&a.1.low()))?;
    (weakest.1.high() > 0.0 && strongest.1.low() > weakest.1.high())
        .then(|| ((weakest.0, weakest.1.high()), (strongest.0, strongest.1.low())))
}

fn mhz(it: Ref<'_, reading::Table>) -> String {
    it.frequency(reading::mhz).value().map(|carrier| carrier.mhz_text()).unwrap_or_default()
}
