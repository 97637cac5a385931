//! What was measured at the bench and heard in the field, and how far people must stay from an antenna.

pub mod averaging_meter_on_digital;
pub mod beyond_horizon;
pub mod exposure_distance;
pub mod frequency_error_over_limit;
pub mod instrument_out_of_calibration;
pub mod load_over_rating;
pub mod low_not_below_high;
pub mod power_varies_over_band;
pub mod quality_below_target;
pub mod reading_below_meter;
pub mod reading_outside_band;
pub mod reading_over_rating;
pub mod reading_under_rating;
#[cfg(test)]
mod tests;

use guywire_plan::language::{Field, bench, bench__instrument, model, model__power, reading};
use guywire_plan::{FieldPath, Known, Part, Ref, Row, View};
use guywire_radio::bench::{Interval, Meter, Tolerance, Verdict, judge, looks_averaged};

use crate::finding::{Anchor, Sink};

/// What a level may be off where a sheet does not say (EN 300 086, from memory).
const TOLERANCE_DB: f64 = 1.5;

/// The session that a reading belongs to.
fn session<'v>(view: View<'v>, it: Ref<'v, reading::Table>) -> Option<Ref<'v, bench::Table>> {
    view.get(view.main(view.file_of(it.id())?)?)
}

/// The model that a session measured.
fn model_of<'v>(view: View<'v>, session: Ref<'v, bench::Table>) -> Option<Ref<'v, model::Table>> {
    view.get(view.main(session.file(bench::model).value()?)?)
}

/// The meter of a session, where its error is written.
fn meter(session: Ref<'_, bench::Table>) -> Option<Meter> {
    let instrument = session.part::<bench__instrument::Table>(bench::instrument).value()?;
    let full_scale_w = instrument.number(bench__instrument::full_scale_w).value()?;
    let percent = instrument.number(bench__instrument::accuracy_percent_of_full_scale).value()?;
    Meter::new(full_scale_w, percent).ok()
}

/// What the meter of a session shows of a carrier in bursts, where that is written.
fn measures<'v>(view: View<'v>, session: Ref<'v, bench::Table>) -> Known<&'v str> {
    match session.part::<bench__instrument::Table>(bench::instrument) {
        Known::Is(instrument) => instrument.text(bench__instrument::measures).map(|word| view.symbol(word)),
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    }
}

/// The powers at the radio that a reading may mean.
fn at_radio<'v>(view: View<'v>, it: Ref<'v, reading::Table>) -> Option<Interval> {
    let session = session(view, it)?;
    let loss_db = session.number(bench::path_loss_db).or_value(0.0).value()?;
    meter(session)?.at_radio(it.number(reading::watts).value()?, loss_db).ok()
}

/// The rated power of a reading's level and the powers that its tolerance allows, both W.
fn rating<'v>(view: View<'v>, it: Ref<'v, reading::Table>) -> Option<(f64, Interval)> {
    let model = model_of(view, session(view, it)?)?;
    let level = it.text(reading::level).value()?;
    let is_it = |part: &Part<'_, model__power::Table>| part.text(model__power::level) == Known::Is(level);
    let part = model.parts::<model__power::Table>(model::power).into_iter().find(is_it)?;
    let rated_w = part.number(model__power::watts).value()?;
    let tolerance_db = part.number(model__power::tolerance_db).or_value(TOLERANCE_DB).value()?;
    Some((rated_w, Tolerance::Decibels(tolerance_db).window(rated_w).ok()?))
}

/// Whether the mode of a reading is digital: a radio in one slot is on for 27.5 of 60 ms. A repeater's output is continuous.
fn is_in_bursts<'v>(view: View<'v>, it: Ref<'v, reading::Table>) -> Known<bool> {
    let kind = session(view, it).and_then(|session| model_of(view, session));
    let kind = kind.map_or(Known::Absent, |model| model.text(model::kind).map(|word| view.symbol(word)));
    match (it.text(reading::sends).map(|word| view.symbol(word)), kind) {
        (Known::Is("digital"), Known::Is("repeater")) => Known::Is(false),
        (_, Known::Unreadable) => Known::Unreadable,
        (sends, _) => sends.map(|word| word == "digital"),
    }
}

/// Whether the meter shows less than the power of a burst: it averages, or what it shows is not written and the reading
/// looks like an average.
fn is_averaged<'v>(view: View<'v>, it: Ref<'v, reading::Table>) -> Known<bool> {
    let Some(session) = session(view, it) else { return Known::Unreadable };
    match (is_in_bursts(view, it), measures(view, session)) {
        (Known::Is(false), _) => Known::Is(false),
        (Known::Is(true), Known::Is(word)) => Known::Is(word == "average"),
        (Known::Is(true), Known::Absent) => {
            let (Some(found), Some((_, window))) = (at_radio(view, it), rating(view, it)) else { return Known::Absent };
            Known::Is(looks_averaged(found, window))
        }
        _ => Known::Unreadable,
    }
}

/// What a reading proves of its level's rating; none where the meter's error or the rating is not known, or the meter
/// averages bursts.
fn verdict<'v>(view: View<'v>, it: Ref<'v, reading::Table>) -> Option<Judged> {
    if !matches!(is_averaged(view, it), Known::Is(false) | Known::Absent) {
        return None;
    }
    let (found, (rated_w, window)) = (at_radio(view, it)?, rating(view, it)?);
    Some(Judged { verdict: judge(found, window), found, rated_w, window })
}

/// A reading held against a rating.
struct Judged {
    verdict: Verdict,
    found: Interval,
    rated_w: f64,
    window: Interval,
}

/// Reports a reading that is on one side of its rating, whatever the meter's error.
fn report_verdict<'v>(view: View<'v>, it: Ref<'v, reading::Table>, wanted: Verdict, out: &mut Sink<'_>) {
    let Some(judged) = verdict(view, it).filter(|judged| judged.verdict == wanted) else { return };
    let (side, then) = match wanted {
        Verdict::Under => (
            "under",
            "the radio reaches less far than the plan counts on. Charge the battery, check the load and the cable, then have the radio serviced",
        ),
        _ => (
            "over",
            "a power limit may be broken, and the battery is empty sooner. Check the meter and its element, then have the radio serviced",
        ),
    };
    let message = format!(
        "this reading means {:.2} to {:.2} W at the radio with the meter's own error, {side} the {:.2} to {:.2} W that {} W allow: {then}",
        judged.found.low(),
        judged.found.high(),
        judged.window.low(),
        judged.window.high(),
        judged.rated_w,
    );
    out.report(value(it, reading::watts), message).about(&key_of(view, it));
}

/// Where a key of a reading is written.
fn value(it: Ref<'_, reading::Table>, field: Field<reading::Table>) -> Anchor {
    Anchor::Value(it.id(), FieldPath::key(field.number()))
}

/// What tells readings of a session apart, which have no names: carrier, mode and level.
fn key_of<'v>(view: View<'v>, it: Ref<'v, reading::Table>) -> (Option<i64>, Option<&'v str>, Option<&'v str>) {
    let word = |field| it.text(field).value().map(|word| view.symbol(word));
    let carrier = it.frequency(reading::mhz).value().map(|carrier| carrier.get());
    (carrier, word(reading::sends), word(reading::level))
}
