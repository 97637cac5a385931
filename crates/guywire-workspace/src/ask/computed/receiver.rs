//! What is computed of receivers, stability, batteries and audio quality.

use guywire_plan::language::{battery, bench, model, model__band, receiver, requirements, requirements__duty};
use guywire_plan::{Known, Row};
use guywire_radio::battery::{AGE_AND_COLD, CUSTOMARY_DUTY_PERCENT, Draw, Duty};
use guywire_radio::link::{
    AUDIO_QUALITY_SOURCE, AudioQuality, CARRIER_TO_NOISE_SOURCE, LinkMode, dbm_from_microvolts, microvolts_from_dbm,
    required_dbm,
};

use super::super::figures::{cited, significant, tenth};
use super::super::page::Page;
use super::Ask;

pub(super) fn say_sensitivity(ask: &Ask<'_>, page: &mut Page) {
    let Some(dbm) = ask.number() else { return };
    if let Ok(volts) = microvolts_from_dbm(dbm) {
        page.fact(format!("{} dBm = {} µV into 50 ohms", significant(dbm, 4), significant(volts, 2)));
    }
    let digital = ask.path.first() == Some(receiver::digital_dbm.number());
    let mode = if digital { LinkMode::TwoSlot } else { LinkMode::AnalogNarrow };
    let needed = |quality| required_dbm(dbm, mode, quality).ok().flatten();
    if let (Some(readable), Some(clear)) = (needed(AudioQuality::Three), needed(AudioQuality::ThreeFour)) {
        page.fact(format!(
            "while moving, about {} dBm for DAQ 3 and {} dBm for DAQ 3.4 in 12.5 kHz ({})",
            tenth(readable),
            tenth(clear),
            cited(&CARRIER_TO_NOISE_SOURCE)
        ));
    }
}

pub(super) fn say_microvolts(ask: &Ask<'_>, page: &mut Page) {
    let Some(Ok(dbm)) = ask.number().map(dbm_from_microvolts) else { return };
    page.fact(format!("{} dBm into 50 ohms", tenth(dbm)));
    let rated = session_model(ask)
        .and_then(|model| ask.view.file_of(model.id()))
        .and_then(|file| ask.view.only::<receiver::Table>(file)?.number(receiver::analog_dbm).value());
    if let Some(rated) = rated {
        let by = dbm - rated;
        let sheet = format!("the {} dBm of the data sheet", significant(rated, 4));
        page.fact(match by {
            ..-0.05 => format!("{} dB better than {sheet}", tenth(-by)),
            0.05.. => format!("{} dB worse than {sheet}", tenth(by)),
            _ => format!("as {sheet}"),
        });
    }
}

/// The model of the unit on the bench.
pub(super) fn session_model<'v>(ask: &Ask<'v>) -> Option<guywire_plan::Ref<'v, model::Table>> {
    let session = ask.view.get::<bench::Table>(ask.view.main(ask.file()?)?)?;
    ask.view.get(ask.view.main(session.file(bench::model).value()?)?)
}

pub(super) fn say_stability(ask: &Ask<'_>, page: &mut Page) {
    let (Some(ppm), Some(row)) = (ask.number(), ask.row::<model::Table>()) else { return };
    for band in row.parts::<model__band::Table>(model::band) {
        let Known::Is(top) = band.frequency(model__band::high_mhz) else { continue };
        page.fact(format!(
            "off by up to {} Hz at {} MHz, the top of its band",
            significant(ppm * top.as_mhz(), 3),
            significant(top.as_mhz(), 9)
        ));
    }
}

pub(super) fn say_battery(ask: &Ask<'_>, page: &mut Page) {
    if let Some(row) = ask.row::<battery::Table>() {
        let (transmit, receive) = CUSTOMARY_DUTY_PERCENT;
        page.maybe(hours(row, transmit, receive).map(|it| format!("{it} (common practice, no source)")));
        return;
    }
    let Some(row) = ask.row::<requirements::Table>() else { return };
    let duty = row.part::<requirements__duty::Table>(requirements::duty).value();
    let share = |field| duty.and_then(|duty| duty.number(field).value());
    let transmit = share(requirements__duty::transmit_percent).unwrap_or(CUSTOMARY_DUTY_PERCENT.0);
    let receive = share(requirements__duty::receive_percent).unwrap_or(CUSTOMARY_DUTY_PERCENT.1);
    let Some(model) = ask.view.plan_model() else { return };
    let battery = ask.view.file_of(model).and_then(|file| ask.view.only::<battery::Table>(file));
    let told = battery.and_then(|battery| hours(battery, transmit, receive));
    page.maybe(told.map(|told| format!("{}: {told}", ask.view.called(model))));
}

/// How long a battery lasts.
fn hours(row: guywire_plan::Ref<'_, battery::Table>, transmit: f64, receive: f64) -> Option<String> {
    let draw = Draw {
        transmit_ma: row.number(battery::transmit_ma).value()?,
        receive_ma: row.number(battery::receive_ma).value()?,
        standby_ma: row.number(battery::standby_ma).value()?,
    };
    let duty = Duty::new(transmit, receive).ok()?;
    let hours = duty.hours(row.number(battery::mah).value()?, draw).ok()?;
    Some(format!(
        "{} h new and warm, about {} h aged or cold, at {} mA on the average: {} % transmitting, {} % receiving",
        significant(hours, 3),
        significant(hours * AGE_AND_COLD, 2),
        significant(duty.mean_ma(draw).ok()?, 3),
        significant(transmit, 3),
        significant(receive, 3)
    ))
}

pub(super) fn say_quality(ask: &Ask<'_>, page: &mut Page) {
    let Some(number) = ask.number() else { return };
    page.fact(match AudioQuality::from_number(number) {
        Some(grade) => format!("{} ({AUDIO_QUALITY_SOURCE})", grade.meaning()),
        None => format!("between the grades 1, 2, 3, 3.4, 4, 4.5 and 5 ({AUDIO_QUALITY_SOURCE})"),
    });
}
