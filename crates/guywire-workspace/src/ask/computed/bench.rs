//! What is computed of readings at the bench and of the meter that they were taken with.

use guywire_plan::language::{bench, bench__instrument, model, model__power, reading};
use guywire_plan::{Known, Part, Ref, Row};
use guywire_radio::Caution;
use guywire_radio::air_interface::BURST_DUTY;
use guywire_radio::bench::{
    Interval, LEAST_USABLE_SHARE, Meter, Tolerance, USUAL_TOLERANCE_DB, Verdict, judge, looks_averaged,
};
use guywire_radio::feedline::Vswr;
use jiff::ToSpan;

use super::super::figures::{significant, tenth, watts, watts_and_dbm};
use super::super::page::Page;
use super::Ask;
use super::receiver::session_model;

fn session<'v>(ask: &Ask<'v>) -> Option<Ref<'v, bench::Table>> {
    ask.view.get(ask.view.main(ask.file()?)?)
}

fn meter(instrument: Part<'_, bench__instrument::Table>) -> Option<Meter> {
    let full_scale = instrument.number(bench__instrument::full_scale_w).value()?;
    Meter::new(full_scale, instrument.number(bench__instrument::accuracy_percent_of_full_scale).value()?).ok()
}

pub(super) fn say_reading(ask: &Ask<'_>, page: &mut Page) {
    let (Some(row), Some(shown)) = (ask.row::<reading::Table>(), ask.number()) else { return };
    page.fact(format!("the meter showed {}", watts_and_dbm(shown)));
    page.caution(Caution::Bench);
    let Some(session) = session(ask) else { return };
    let instrument = session.part::<bench__instrument::Table>(bench::instrument).value();
    let Some(meter) = instrument.and_then(meter) else {
        page.fact("its error is not known: `full_scale_w` and `accuracy_percent_of_full_scale` say it");
        return;
    };
    let loss = session.number(bench::path_loss_db).value().unwrap_or(0.0);
    let Ok(at_radio) = meter.at_radio(shown, loss) else { return };
    page.fact(format!(
        "{} to {} at the radio: ±{} of the meter, {} dB of cable and adapters",
        watts(at_radio.low()),
        watts(at_radio.high()),
        watts(meter.error_w()),
        significant(loss, 3)
    ));
    if meter.is_off_scale(shown) {
        page.fact("outside the part of the scale that means much (common practice, no source)");
    }
    say_verdict(ask, row, at_radio, page);
}

/// Whether a reading is within what its level is rated at.
fn say_verdict(ask: &Ask<'_>, row: Ref<'_, reading::Table>, at_radio: Interval, page: &mut Page) {
    let Some(model) = session_model(ask) else { return };
    let level = row.text(reading::level).value();
    let rating = model
        .parts::<model__power::Table>(model::power)
        .into_iter()
        .find(|part| level.is_some() && part.text(model__power::level).value() == level);
    let Some(Known::Is(rated)) = rating.map(|part| part.number(model__power::watts)) else { return };
    let by = rating.and_then(|part| part.number(model__power::tolerance_db).value()).unwrap_or(USUAL_TOLERANCE_DB);
    let Ok(window) = Tolerance::Decibels(by).window(rated) else { return };
    let verdict = match judge(at_radio, window) {
        Verdict::Pass => "within",
        Verdict::Under => "under",
        Verdict::Over => "over",
        Verdict::Inconclusive => "the meter cannot tell whether it is within",
    };
    page.fact(format!(
        "{verdict} the {} to {} that {} ± {} dB allow",
        watts(window.low()),
        watts(window.high()),
        watts(rated),
        significant(by, 3)
    ));
    let is_digital = row.text(reading::sends).map(|word| ask.view.symbol(word)) == Known::Is("digital");
    if is_digital && looks_averaged(at_radio, window) {
        page.fact(format!(
            "an averaging meter reads {} % of the power of one-slot bursts (27.5 of 60 ms, ETSI TS 102 361-1): that fits",
            significant(BURST_DUTY * 100.0, 2)
        ));
    }
}

pub(super) fn say_reflected(ask: &Ask<'_>, page: &mut Page) {
    let (Some(row), Some(back)) = (ask.row::<reading::Table>(), ask.number()) else { return };
    let Some(Ok(vswr)) = row.number(reading::watts).value().map(|forward| Vswr::from_powers(forward, back)) else {
        return;
    };
    let back = vswr.return_loss_db().map(|db| format!(", return loss {} dB", tenth(db))).unwrap_or_default();
    page.fact(format!(
        "standing wave ratio {} to 1{back}, mismatch loss {} dB: {} % comes back",
        significant(vswr.ratio(), 3),
        significant(vswr.mismatch_loss_db(), 2),
        significant(vswr.reflected_percent(), 2)
    ));
}

pub(super) fn say_frequency_error(ask: &Ask<'_>, page: &mut Page) {
    let (Some(row), Some(error)) = (ask.row::<reading::Table>(), ask.number()) else { return };
    let Known::Is(carrier) = row.frequency(reading::mhz) else { return };
    if carrier.get() <= 0 {
        return;
    }
    let ppm = error / carrier.as_mhz();
    let rated = session_model(ask).and_then(|model| model.number(model::stability_ppm).value());
    let against = rated.map(|rated| {
        let word = if ppm.abs() <= rated { "within" } else { "over" };
        format!(", {word} the {} ppm of the data sheet", significant(rated, 3))
    });
    page.fact(format!("{} ppm at {carrier} MHz{}", significant(ppm, 2), against.unwrap_or_default()));
}

pub(super) fn say_meter(ask: &Ask<'_>, page: &mut Page) {
    let Some(instrument) = ask.part::<bench__instrument::Table>() else { return };
    let Some(meter) = meter(instrument) else { return };
    let Known::Is(full_scale) = instrument.number(bench__instrument::full_scale_w) else { return };
    let least = full_scale * LEAST_USABLE_SHARE;
    page.fact(format!("any reading is off by up to ±{}", watts(meter.error_w())));
    page.fact(format!(
        "of use from {}, where the error is {} % of the reading (common practice, no source)",
        watts(least),
        significant(meter.error_w() / least * 100.0, 2)
    ));
}

pub(super) fn say_calibration(ask: &Ask<'_>, page: &mut Page) {
    let Some(instrument) = ask.part::<bench__instrument::Table>() else { return };
    let (Known::Is(done), Known::Is(months)) =
        (instrument.date(bench__instrument::calibrated), instrument.whole(bench__instrument::calibration_months))
    else {
        return;
    };
    let Some(ends) = i32::try_from(months).ok().and_then(|months| done.checked_add(months.months()).ok()) else {
        return;
    };
    let held = session(ask).and_then(|session| session.date(bench::date).value()).map(|day| {
        if (done..=ends).contains(&day) {
            format!(", valid on the day of the session, {day}")
        } else {
            format!(", not valid on the day of the session, {day}")
        }
    });
    page.fact(format!("valid from {done} to {ends}{}", held.unwrap_or_default()));
}
