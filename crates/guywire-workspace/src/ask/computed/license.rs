//! What is computed of days, licenses, assignments and emission designators.

use guywire_plan::language::{channel, license, license__assignment, repeater};
use guywire_plan::{Known, Part, Row, Sends, Stored};
use guywire_radio::emission::{Cover, DESIGNATOR_SOURCE, Kind, best_cover};
use guywire_radio::frequency::Band;
use guywire_radio::{Caution, Emission, Hertz};
use jiff::civil::Date;

use super::super::figures::{counted, edges, listed};
use super::super::page::Page;
use super::{Ask, usual_emission};

/// Names of a list that are shown.
const NAMED: usize = 6;
/// In a plan with more channels, what a license covers is not counted beside the text.
const CHANNELS: usize = 5_000;

/// How far a day is from the one by which the plan is judged.
pub(super) fn days_until(ask: &Ask<'_>, day: Date) -> Option<String> {
    let today = ask.view.today()?;
    let days = today.until(day).ok()?.get_days();
    Some(match days {
        0 => format!("today, judged on {today}"),
        1.. => format!("in {}, judged on {today}", counted(days.unsigned_abs() as usize, "day")),
        _ => format!("{} ago, judged on {today}", counted(days.unsigned_abs() as usize, "day")),
    })
}

pub(super) fn say_emission(ask: &Ask<'_>, page: &mut Page) {
    let Some(text) = ask.text() else { return };
    match text.parse::<Emission>() {
        Ok(emission) => {
            page.fact(format!("{} ({DESIGNATOR_SOURCE})", emission.in_words()));
            let carrier = ask.part::<license__assignment::Table>();
            let carrier = carrier.and_then(|part| part.frequency(license__assignment::tx_mhz).value());
            page.maybe(carrier.and_then(|carrier| around(carrier, emission)));
        }
        Err(_) => {
            page.maybe(Kind::parse(text).ok().map(|kind| format!("{} ({DESIGNATOR_SOURCE})", kind.in_words())));
        }
    }
}

fn around(carrier: Hertz, emission: Emission) -> Option<String> {
    let band = Band::around(carrier, emission.bandwidth()).ok()?;
    Some(format!("occupies {}", edges(band)))
}

pub(super) fn say_license(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<license::Table>() else { return };
    if let Known::Is(last) = row.date(license::expires) {
        page.maybe(days_until(ask, last).map(|days| format!("last day {last}, {days}")));
    }
    let assignments = row.parts::<license__assignment::Table>(license::assignment);
    page.fact(counted(assignments.len(), "assignment"));
    let mut covered: Vec<String> = assignments.iter().flat_map(|part| covered(ask, *part)).collect();
    say_covered(&mut covered, page);
}

pub(super) fn say_assignment(ask: &Ask<'_>, page: &mut Page) {
    let Some(part) = this_assignment(ask) else { return };
    let carrier = part.frequency(license__assignment::tx_mhz).value();
    for emission in emissions(ask, part) {
        let edges = carrier.and_then(|carrier| around(carrier, emission)).map(|edges| format!(", {edges}"));
        page.fact(format!("{emission}: {}{}", emission.in_words(), edges.unwrap_or_default()));
    }
    let mut covered = covered(ask, part);
    say_covered(&mut covered, page);
}

/// The assignment that the value stands in, or is.
fn this_assignment<'v>(ask: &Ask<'v>) -> Option<Part<'v, license__assignment::Table>> {
    ask.part().or_else(|| match ask.value {
        Some(Stored::Part(record)) => Some(Part::new(record)),
        _ => None,
    })
}

fn emissions(ask: &Ask<'_>, part: Part<'_, license__assignment::Table>) -> Vec<Emission> {
    let read = |value: &Stored| match value {
        Stored::Text(text) => ask.view.symbol(*text).parse::<Emission>().ok(),
        _ => None,
    };
    match part.known(license__assignment::emission) {
        Known::Is(Stored::List(elements)) => elements.iter().filter_map(|element| read(&element.value)).collect(),
        Known::Is(value) => read(value).into_iter().collect(),
        _ => Vec::new(),
    }
}

fn say_covered(covered: &mut Vec<String>, page: &mut Page) {
    covered.sort_unstable();
    covered.dedup();
    page.fact(match covered.as_slice() {
        [] => "covers nothing that this plan sends".to_owned(),
        _ => format!("covers {}", listed(covered, NAMED)),
    });
    page.caution(Caution::License);
}

/// The channels and repeaters of the plan whose carrier and usual emission an assignment grants.
fn covered(ask: &Ask<'_>, part: Part<'_, license__assignment::Table>) -> Vec<String> {
    let emissions = emissions(ask, part);
    let grants = |carrier: Hertz, sent: Option<Emission>| {
        let low = part.frequency(license__assignment::low_mhz).value();
        let high = part.frequency(license__assignment::high_mhz).value();
        let within = low.zip(high).is_some_and(|(low, high)| (low..=high).contains(&carrier));
        let carrier_fits = within || part.frequency(license__assignment::tx_mhz) == Known::Is(carrier);
        let emission_fits =
            emissions.is_empty() || sent.is_some_and(|sent| best_cover(&emissions, sent) == Some(Cover::Covered));
        carrier_fits && emission_fits
    };
    let class = part.text(license__assignment::station).map(|class| ask.view.symbol(class));
    let mut found = Vec::new();
    if matches!(class, Known::Is("repeater" | "base") | Known::Absent) {
        for it in ask.view.all::<repeater::Table>() {
            let digital = it.text(repeater::mode).value().is_none_or(|mode| ask.view.symbol(mode) != "analog");
            let width =
                it.frequency(repeater::bandwidth_khz).value().unwrap_or(guywire_radio::air_interface::CHANNEL_WIDTH);
            if let Known::Is(output) = it.frequency(repeater::tx_mhz)
                && grants(output, usual_emission(digital, width))
            {
                found.extend(it.name().map(|name| format!("repeater {name}")));
            }
        }
    }
    if matches!(class, Known::Is("mobile") | Known::Absent) && ask.view.count::<channel::Table>() <= CHANNELS {
        for it in ask.view.all::<channel::Table>() {
            let Some(effective) = ask.view.channel(it.id()) else { continue };
            let digital = effective.sends == Known::Is(Sends::Digital);
            let width = effective.bandwidth.value().unwrap_or(guywire_radio::air_interface::CHANNEL_WIDTH);
            if let Known::Is(tx) = effective.tx
                && grants(tx, usual_emission(digital, width))
            {
                found.extend(it.name().map(str::to_owned));
            }
        }
    }
    found
}
