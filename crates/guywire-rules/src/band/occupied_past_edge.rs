use super::sent::{
    Licensed, Sent, Term, UNKNOWN, barred, is_told_elsewhere, level_of, licensed, named, sent, table_speaks,
};
use crate::finding::{Anchor, Level};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::model;
use guywire_plan::{Assignment, Row, View};
use guywire_radio::emission::occupied_band;
use guywire_radio::regime::{Place, Station};
use guywire_radio::{Band, Hertz};

rule! {
    /// The carrier of a channel or repeater lies inside the range that a license or a radio service gives, and what is
    /// sent reaches past the edge.
    ///
    /// What counts is the necessary bandwidth around the carrier, moved by the frequency tolerance: that of the model
    /// where its file states one, else the most that the service allows. Ranges that meet count as one. An assignment that
    /// names the carrier decides over the service. A warning where the edge, or a tolerance without which the edge would
    /// be kept, is from memory.
    ///
    /// ## On the air
    /// Half of the transmission is somebody else's spectrum: it disturbs them, and no license covers it.
    ///
    /// ## Source
    /// Necessary bandwidth: 47 CFR 2.202. The edges: the license, or the service's rule, which the message names.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// low_mhz = 451.8
    /// high_mhz = 451.9
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "analog"
    /// rx_mhz = 451.9
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// low_mhz = 451.8
    /// high_mhz = 451.9
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "analog"
    /// rx_mhz = 451.8875
    /// ```
    pub OccupiedPastEdge = "occupied-past-edge" { family: Band, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let all = sent(view, it);
        let mut told = Vec::new();
        for sent in all.iter().filter(|sent| sent.tells_carrier()) {
            let Some(past) = past(view, sent).filter(|_| !told.contains(&sent.given)) else { continue };
            told.push(sent.given);
            out.report(
                Anchor::Value(it, sent.at),
                format!(
                    "{} {} on {} MHz, which occupies {}, and {} ends at {} MHz: the rest is somebody else's. Move it inward",
                    sent.does(view),
                    sent.mode_word(),
                    sent.carrier,
                    past.occupied,
                    past.whose,
                    past.edge,
                ),
            )
            .about(&sent.carrier.0)
            .level(past.level);
        }
    }
}

/// An edge that an emission passes.
struct Past {
    occupied: Band,
    edge: Hertz,
    whose: String,
    level: Level,
}

fn past<'v>(view: View<'v>, sent: &Sent<'v>) -> Option<Past> {
    let width = sent.necessary()?;
    let license_ranges = || view.each_assignment().filter_map(Assignment::range).collect();
    // Mostly the emission is well inside, and it need not be asked what is granted.
    if sent.service.is_none() && over_edge(view, sent, width, license_ranges(), String::new, Level::Error).is_none() {
        return None;
    }
    if let Licensed::Granted(granted) = licensed(view, sent, UNKNOWN)
        && !granted.iter().any(|it| it.names(sent.carrier))
    {
        let license = || granted.first().map(|it| view.called(it.license.id())).unwrap_or_default();
        return over_edge(view, sent, width, license_ranges(), license, Level::Error)
            .filter(|_| !is_told_elsewhere(view, sent));
    }
    let Place::Band(band) = sent.place()? else { return None };
    let service = sent.service?;
    let ranges = service.terms().bands.iter().map(|it| it.band).collect();
    let whose = || format!("{} ({})", named(service), band.source);
    let found = over_edge(view, sent, width, ranges, whose, level_of(&band.source))?;
    let is_told = is_told_elsewhere(view, sent)
        || barred(Place::Band(band), UNKNOWN).is_some()
        || !table_speaks(view, sent, UNKNOWN, Term::Carrier);
    (!is_told).then_some(found)
}

fn over_edge<'v>(
    view: View<'v>,
    sent: &Sent<'v>,
    width: Hertz,
    ranges: Vec<Band>,
    whose: impl FnOnce() -> String,
    level: Level,
) -> Option<Past> {
    let (ppm, is_sure) = tolerance_ppm(view, sent, width);
    let occupied = occupied_band(sent.carrier, width, ppm).ok()?;
    let range = around(sent.carrier, ranges)?;
    if range.covers(occupied) {
        return None;
    }
    let edge = if occupied.low() < range.low() { range.low() } else { range.high() };
    let exact = occupied_band(sent.carrier, width, 0.0).ok()?;
    let level = if is_sure || !range.covers(exact) { level } else { level.min(Level::Warning) };
    Some(Past { occupied, edge, whose: whose(), level })
}

/// All ranges that meet around a carrier, as one.
fn around(carrier: Hertz, mut ranges: Vec<Band>) -> Option<Band> {
    ranges.sort_unstable();
    let mut joined: Vec<Band> = Vec::new();
    for range in ranges {
        match joined.last_mut() {
            Some(last) if range.low() <= last.high() => {
                *last = Band::new(last.low(), last.high().max(range.high())).ok()?
            }
            _ => joined.push(range),
        }
    }
    joined.into_iter().find(|range| range.contains(carrier))
}

/// How far the carrier may be off, parts in a million, and whether that is well established.
fn tolerance_ppm(view: View<'_>, sent: &Sent<'_>, width: Hertz) -> (f64, bool) {
    let models = sent.channel.into_iter().flat_map(|channel| view.channel_models(channel.id()));
    let own = models.filter_map(|model| model.number(model::stability_ppm).value()).reduce(f64::max);
    if let Some(own) = own {
        return (own, true);
    }
    let stations: &[Station] = if sent.given == super::sent::Given::Output {
        &[Station::Repeater]
    } else {
        &[Station::Mobile, Station::Handheld]
    };
    let rules = stations.iter().filter_map(|station| sent.place()?.stability(*station, width));
    rules
        .min_by(|a, b| a.ppm.total_cmp(&b.ppm))
        .map_or((0.0, true), |rule| (rule.ppm, rule.source.standing.supports_error()))
}
