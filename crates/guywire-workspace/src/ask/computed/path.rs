//! What is computed of places and of the paths between them.

use guywire_plan::language::{channel, repeater, site, trial, trial__position};
use guywire_plan::{Part, Ref, Row};
use guywire_radio::geodesy::Position;
use guywire_radio::path::{
    CARRIED_HEIGHT_M, FREE_SPACE_SOURCE, HORIZON_SOURCE, KNIFE_EDGE_SOURCE, KnifeEdge, free_space_db, horizon_km,
    path_loss_db,
};
use guywire_radio::power::{Eirp, Power};
use guywire_radio::{Caution, Hertz};

use super::super::figures::{kilometers, listed, meters, significant, tenth};
use super::super::page::Page;
use super::Ask;
use super::power::{radiated, say_exposure};
use crate::load::capital;

/// Other sites that are shown.
const SITES: usize = 8;

/// Where a site is.
fn position(row: Ref<'_, site::Table>) -> Option<Position> {
    Position::new(row.number(site::latitude).value()?, row.number(site::longitude).value()?).ok()
}

pub(super) fn say_site(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<site::Table>() else { return };
    if let Some(height) = row.number(site::antenna_m).value() {
        say_horizon(height, page);
    }
    if let Some(here) = position(row) {
        let mut others: Vec<(f64, String)> = Vec::new();
        for other in ask.view.all::<site::Table>().into_iter().filter(|other| other.id() != row.id()) {
            let (Some(there), Some(name)) = (position(other), other.name()) else { continue };
            let km = here.distance_km(there);
            others.push((km, format!("{name} {} at {}°", kilometers(km), significant(here.bearing_deg(there), 3))));
        }
        others.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
        let others: Vec<String> = others.into_iter().map(|(_, text)| text).collect();
        if !others.is_empty() {
            page.fact(format!("other sites, WGS 84: {}", listed(&others, SITES)));
        }
    }
    let repeaters = ask.sorted(ask.view.referrers::<repeater::Table>(row.id()));
    let names: Vec<String> = repeaters.iter().filter_map(|it| it.name().map(str::to_owned)).collect();
    if !names.is_empty() {
        page.fact(format!("here: {}", listed(&names, SITES)));
    }
    say_site_exposure(&repeaters, page);
}

pub(super) fn say_horizon(height: f64, page: &mut Page) {
    let Ok(km) = horizon_km(height, CARRIED_HEIGHT_M) else { return };
    page.fact(format!(
        "radio horizon {} to an antenna {CARRIED_HEIGHT_M} m above ground ({HORIZON_SOURCE})",
        kilometers(km)
    ));
    page.caution(Caution::Estimate);
}

/// How far people must stay from all repeaters of a site together: what each radiates is counted at the frequency of the
/// lowest, where the limit is lowest above 300 MHz.
fn say_site_exposure(repeaters: &[Ref<'_, repeater::Table>], page: &mut Page) {
    let on_air: Vec<(Power<Eirp>, Hertz)> =
        repeaters.iter().filter_map(|it| Some((radiated(*it)?.0, it.frequency(repeater::tx_mhz).value()?))).collect();
    let Some(lowest) = on_air.iter().map(|(_, carrier)| *carrier).min() else { return };
    let together: f64 = on_air.iter().map(|(eirp, _)| eirp.w()).sum();
    if let Ok(eirp) = Power::<Eirp>::from_w(together) {
        say_exposure(eirp, lowest, page);
    }
}

/// How high antennas must be for a distance.
pub(super) fn say_range(ask: &Ask<'_>, page: &mut Page) {
    let Some(km) = ask.number() else { return };
    let (Ok(both), Ok(one)) = (horizon_km(CARRIED_HEIGHT_M, CARRIED_HEIGHT_M), horizon_km(1.0, 1.0)) else { return };
    page.fact(format!(
        "two radios carried at {CARRIED_HEIGHT_M} m have a radio horizon of {} ({HORIZON_SOURCE})",
        kilometers(both)
    ));
    let needed = (km / one).powi(2);
    page.fact(format!("{} needs both antennas {} above smooth ground", kilometers(km), meters(needed)));
    page.caution(Caution::Estimate);
}

/// One end of a leg.
#[derive(Clone)]
struct End {
    called: String,
    at: Option<Position>,
    height_m: Option<f64>,
}

impl End {
    fn person(called: &str, part: Option<Part<'_, trial__position::Table>>) -> End {
        let at = part.and_then(|part| {
            let latitude = part.number(trial__position::latitude).value()?;
            Position::new(latitude, part.number(trial__position::longitude).value()?).ok()
        });
        let height_m = part.and_then(|part| part.number(trial__position::antenna_m).value());
        End { called: called.to_owned(), at, height_m }
    }

    fn site(row: Ref<'_, site::Table>) -> End {
        let called = row.name().unwrap_or("the site").to_owned();
        End { called, at: position(row), height_m: row.number(site::antenna_m).value() }
    }
}

/// A transmission between two ends.
struct Leg {
    from: End,
    to: End,
    carrier: Option<Hertz>,
    /// What is radiated, where it is known.
    eirp: Option<Power<Eirp>>,
    /// Where only the distance is written.
    km: Option<f64>,
}

pub(super) fn say_trial(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<trial::Table>() else { return };
    let view = ask.view;
    let from = match view.named::<site::Table, _>(row, trial::site).value() {
        Some(site) => End::site(site),
        None => End::person("sender", row.part(trial::from).value()),
    };
    let to = End::person("listener", row.part(trial::to).value());
    let channel = view.named::<channel::Table, _>(row, trial::channel).value();
    let on_air = channel.and_then(|channel| view.channel(channel.id()));
    let (tx, rx) = (on_air.and_then(|it| it.tx.value()), on_air.and_then(|it| it.rx.value()));
    let Some(via) = view.named::<repeater::Table, _>(row, trial::via).value() else {
        let km = row.number(trial::distance_km).value();
        let leg = Leg { from, to, carrier: tx, eirp: None, km };
        say_leg(&leg, row, page);
        return;
    };
    let mast = match view.named::<site::Table, _>(via, repeater::site).value() {
        Some(site) => End::site(site),
        None => End { called: via.name().unwrap_or("the repeater").to_owned(), at: None, height_m: None },
    };
    let up = Leg { from, to: mast.clone(), carrier: tx, eirp: None, km: None };
    let down = Leg { from: mast, to, carrier: rx, eirp: radiated(via).map(|(eirp, _)| eirp), km: None };
    say_leg(&up, row, page);
    say_leg(&down, row, page);
}

fn say_leg(leg: &Leg, row: Ref<'_, trial::Table>, page: &mut Page) {
    let (from, to) = (&leg.from, &leg.to);
    let ends = capital(&format!("{} to {}", from.called, to.called));
    let Some(km) = from.at.zip(to.at).map(|(a, b)| a.distance_km(b)).or(leg.km) else {
        page.heading(format!("{ends}: the distance is not known."));
        return;
    };
    page.heading(format!("{ends}: {}.", kilometers(km)));
    page.maybe(from.at.zip(to.at).map(|(a, b)| format!("bearing {}°, WGS 84", significant(a.bearing_deg(b), 3))));
    if let Some(Ok(horizon)) = from.height_m.zip(to.height_m).map(|(a, b)| horizon_km(a, b)) {
        let word = if km > horizon { "beyond" } else { "within" };
        page.fact(format!("{word} the radio horizon of {} ({HORIZON_SOURCE})", kilometers(horizon)));
    }
    let Some(carrier) = leg.carrier else { return };
    if let Ok(loss) = free_space_db(carrier, km) {
        page.fact(format!("free-space loss {} dB at {carrier} MHz ({FREE_SPACE_SOURCE})", tenth(loss)));
    }
    let half = km * 500.0;
    let middle = KnifeEdge { above_line_m: 0.0, distance_1_m: half, distance_2_m: half };
    if let Ok(radius) = middle.fresnel_radius_m(carrier) {
        page.fact(format!("first Fresnel zone {} in radius at the middle ({KNIFE_EDGE_SOURCE})", meters(radius)));
    }
    say_level(leg, km, carrier, row, page);
    page.caution(Caution::Estimate);
}

/// The level to expect where a repeater sends, against the one that was measured.
fn say_level(leg: &Leg, km: f64, carrier: Hertz, row: Ref<'_, trial::Table>, page: &mut Page) {
    let (Some(eirp), Some((a, b))) = (leg.eirp, leg.from.height_m.zip(leg.to.height_m)) else { return };
    let Ok(loss) = path_loss_db(carrier, km, a, b) else { return };
    let expected = eirp.dbm() - loss;
    let measured = row.number(trial::rssi_dbm).value().map(|it| {
        let word = if it > expected { "more" } else { "less" };
        format!("; measured {} dBm, {} dB {word}", significant(it, 4), significant((it - expected).abs(), 2))
    });
    page.fact(format!(
        "at most about {} dBm into an isotropic antenna: the larger of free-space and plane-earth loss{}",
        significant(expected, 2),
        measured.unwrap_or_default()
    ));
}
