//! What is computed of powers, gains and losses. Output, ERP and EIRP are never mixed.

use guywire_plan::language::{
    antenna, channel, license, license__assignment, model, model__power, regime__band, regime__channel, repeater,
};
use guywire_plan::{EntityId, Known, Ref, Row};
use guywire_radio::bench::{POWER_TOLERANCE_SOURCE, Tolerance, USUAL_TOLERANCE_DB};
use guywire_radio::convention::RadioKind;
use guywire_radio::exposure::{AverageEirp, Exposed, FAR_FIELD_SOURCE, LIMIT_SOURCE};
use guywire_radio::power::{AntennaChain, DIPOLE_GAIN_DBI, Eirp, Erp, Output, Power};
use guywire_radio::regime::Station;
use guywire_radio::{Caution, Hertz};

use super::super::figures::{cited, meters, significant, tenth, watts, watts_and_dbm};
use super::super::page::Page;
use super::Ask;

pub(super) fn say_power(ask: &Ask<'_>, page: &mut Page) {
    page.maybe(ask.number().map(watts_and_dbm));
}

/// The chain between a repeater's transmitter and the air; none where the gain of the antenna is not known.
fn chain(row: Ref<'_, repeater::Table>) -> Option<(AntennaChain, bool)> {
    let gain = row.number(repeater::antenna_gain_dbi).value()?;
    let loss = row.number(repeater::feedline_loss_db).value();
    Some((AntennaChain::new(gain, loss.unwrap_or(0.0)).ok()?, loss.is_some()))
}

/// What a repeater radiates, and whether all of the chain is known.
pub(in crate::ask) fn radiated(row: Ref<'_, repeater::Table>) -> Option<(Power<Eirp>, bool)> {
    let output = Power::<Output>::from_w(row.number(repeater::power_w).value()?).ok()?;
    let (chain, whole) = chain(row)?;
    Some((output.eirp(chain), whole))
}

pub(super) fn say_radiated(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<repeater::Table>() else { return };
    let Known::Is(output) = row.number(repeater::power_w) else {
        page.fact("what is radiated is not known: `power_w` is missing");
        return;
    };
    page.fact(format!("output {}", watts_and_dbm(output)));
    let Some((eirp, whole)) = radiated(row) else {
        page.fact("what is radiated is not known: `antenna_gain_dbi` is missing");
        return;
    };
    page.fact(erp_and_eirp(eirp, if whole { "" } else { ", feedline loss not counted" }));
    let Known::Is(carrier) = row.frequency(repeater::tx_mhz) else { return };
    say_service_limits(ask, carrier, &[Station::Repeater], page);
    say_license_limits(ask, carrier, &["repeater", "base"], page);
    say_exposure(eirp, carrier, page);
}

/// ERP and EIRP in watts and dBm.
pub(super) fn erp_and_eirp(eirp: Power<Eirp>, besides: &str) -> String {
    let erp = eirp.erp();
    format!(
        "radiates {} ERP ({} dBm), {} EIRP ({} dBm){besides}",
        watts(erp.w()),
        tenth(erp.dbm()),
        watts(eirp.w()),
        tenth(eirp.dbm())
    )
}

/// The limits that the service puts on stations at a carrier.
fn say_service_limits(ask: &Ask<'_>, carrier: Hertz, stations: &[Station], page: &mut Page) {
    let (Some(service), Some(day)) = (ask.service(), ask.day()) else { return };
    for station in stations {
        for limit in service.place(carrier).power_limits(*station, day) {
            page.fact(format!(
                "limit of the service for a {station} station: {} ({})",
                limit.limit,
                cited(&limit.source)
            ));
            page.caution(Caution::License);
        }
    }
}

/// The limits that the licenses of the plan put on some classes of station at a carrier.
fn say_license_limits(ask: &Ask<'_>, carrier: Hertz, classes: &[&str], page: &mut Page) {
    for license in ask.sorted(ask.view.all::<license::Table>()) {
        let kind = kind_of(ask, license.text(license::power_kind));
        for part in license.parts::<license__assignment::Table>(license::assignment) {
            let class = part.text(license__assignment::station).value().map(|it| ask.view.symbol(it));
            let is_meant = class.is_none_or(|class| classes.contains(&class));
            let here = part.frequency(license__assignment::tx_mhz) == Known::Is(carrier);
            if let (true, Known::Is(most)) = (here && is_meant, part.number(license__assignment::max_power_w)) {
                let name = license.name().unwrap_or("a license");
                page.fact(format!("limit of license \"{name}\": {} {kind}", watts(most)));
                page.caution(Caution::License);
            }
        }
    }
}

fn kind_of(ask: &Ask<'_>, kind: Known<guywire_plan::Symbol>) -> &'static str {
    match kind.map(|it| ask.view.symbol(it)) {
        Known::Is("erp") => "ERP",
        Known::Is("eirp") => "EIRP",
        Known::Is("output") => "output",
        Known::Is("pep") => "peak envelope power",
        _ => "of a kind that is not said",
    }
}

/// How far people must stay, at worst: keyed all of the time, the ground reflecting.
pub(super) fn say_exposure(eirp: Power<Eirp>, carrier: Hertz, page: &mut Page) {
    let Ok(average) = AverageEirp::new(eirp, 1.0, 1.0) else { return };
    let at = |exposed| average.distance_m(carrier, exposed, true).map(meters);
    let (Ok(public), Ok(worker)) = (at(Exposed::GeneralPublic), at(Exposed::Occupational)) else { return };
    page.fact(format!(
        "exposure limit met {public} away (public, {} min) and {worker} (workers, {} min): keyed all that time, main beam, \
         reflecting ground ({LIMIT_SOURCE}; {FAR_FIELD_SOURCE})",
        Exposed::GeneralPublic.averaging_min(),
        Exposed::Occupational.averaging_min()
    ));
    page.caution(Caution::Exposure);
}

/// A limit with its kind, and the same radiation counted the other way.
pub(super) fn say_limit(ask: &Ask<'_>, page: &mut Page) {
    let Some(limit) = ask.number() else { return };
    let kind = if let Some(row) = ask.row::<license::Table>() {
        row.text(license::power_kind)
    } else if let Some(row) = ask.row::<regime__band::Table>() {
        row.text(regime__band::power_kind)
    } else if let Some(row) = ask.row::<regime__channel::Table>() {
        row.text(regime__channel::power_kind)
    } else {
        Known::Absent
    };
    page.fact(format!("{} {}", watts_and_dbm(limit), kind_of(ask, kind)));
    page.maybe(match kind.map(|it| ask.view.symbol(it)) {
        Known::Is("erp") => Power::<Erp>::from_w(limit)
            .ok()
            .map(|it| format!("the same as {} EIRP (2.15 dB more)", watts(it.eirp().w()))),
        Known::Is("eirp") => Power::<Eirp>::from_w(limit)
            .ok()
            .map(|it| format!("the same as {} ERP (2.15 dB less)", watts(it.erp().w()))),
        _ => None,
    });
    page.caution(Caution::License);
}

/// The antenna that a model comes with.
fn model_antenna(ask: &Ask<'_>, model: EntityId) -> Option<AntennaChain> {
    let antenna = ask.view.only::<antenna::Table>(ask.view.file_of(model)?)?;
    AntennaChain::new(antenna.number(antenna::gain_dbi).value()?, 0.0).ok()
}

pub(super) fn say_rating(ask: &Ask<'_>, page: &mut Page) {
    let Some(level) = ask.part::<model__power::Table>() else { return };
    let Known::Is(rated) = level.number(model__power::watts) else { return };
    page.fact(watts_and_dbm(rated));
    let written = level.number(model__power::tolerance_db).value();
    let source = if written.is_some() { String::new() } else { format!(" ({})", cited(&POWER_TOLERANCE_SOURCE)) };
    let by = written.unwrap_or(USUAL_TOLERANCE_DB);
    if let Ok(window) = Tolerance::Decibels(by).window(rated) {
        page.fact(format!("{} to {} within {by} dB{source}", watts(window.low()), watts(window.high())));
    }
    if let (Some(antenna), Ok(output)) = (model_antenna(ask, ask.id), Power::<Output>::from_w(rated)) {
        page.fact(erp_and_eirp(output.eirp(antenna), " with the antenna that it comes with"));
    }
}

/// What a level is on each model that holds the channel.
pub(super) fn say_level(ask: &Ask<'_>, page: &mut Page) {
    let (Some(row), Some(level)) = (ask.row::<channel::Table>(), ask.text()) else { return };
    let most = row.number(channel::power_at_most_w).value();
    for model in ask.view.channel_models(row.id()) {
        let rated = model.parts::<model__power::Table>(model::power).into_iter().find_map(|part| {
            let named = part.text(model__power::level).map(|it| ask.view.symbol(it));
            (named == Known::Is(level)).then(|| part.number(model__power::watts).value()).flatten()
        });
        let name = model.name().unwrap_or("a model");
        let Some(rated) = rated else {
            page.fact(format!("{name} has no level of that name"));
            continue;
        };
        let output = most.map_or(rated, |most| rated.min(most));
        let capped = if output < rated { ", held down by `power_at_most_w`" } else { "" };
        let mut text = format!("{name}: {}{capped}", watts_and_dbm(output));
        if let (Some(antenna), Ok(power)) = (model_antenna(ask, model.id()), Power::<Output>::from_w(output)) {
            text += &format!(", {} ERP with its antenna", watts(power.eirp(antenna).erp().w()));
        }
        page.fact(text);
    }
    let Some(carrier) = ask.view.channel(row.id()).and_then(|it| it.tx.value()) else { return };
    let mut stations: Vec<Station> = Vec::new();
    for model in ask.view.channel_models(row.id()) {
        stations.extend(stations_of(model.text(model::kind).value().map(|word| ask.view.symbol(word))));
    }
    stations.sort_unstable();
    stations.dedup();
    say_service_limits(ask, carrier, &stations, page);
    say_license_limits(ask, carrier, &["mobile"], page);
}

/// What a model of a kind may be used as.
fn stations_of(kind: Option<&str>) -> &'static [Station] {
    Station::possible(match kind {
        Some("handheld") => RadioKind::Handheld,
        Some("mobile") => RadioKind::Mobile,
        Some("base") => RadioKind::Base,
        Some("repeater") => RadioKind::Repeater,
        _ => return &[],
    })
}

pub(super) fn say_gain(ask: &Ask<'_>, page: &mut Page) {
    let Some(gain) = ask.number() else { return };
    page.fact(format!(
        "{} dBi = {} dB over a half-wave dipole (2.15 dBi)",
        significant(gain, 3),
        significant(gain - DIPOLE_GAIN_DBI, 3)
    ));
}

pub(super) fn say_loss(ask: &Ask<'_>, page: &mut Page) {
    let Some(loss) = ask.number() else { return };
    page.fact(format!(
        "{} dB: {} % of the power is left",
        significant(loss, 3),
        significant(100.0 * 10_f64.powf(-loss / 10.0), 2)
    ));
}
