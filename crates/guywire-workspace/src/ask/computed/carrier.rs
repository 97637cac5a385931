//! What is computed of carriers, ranges and widths.

use guywire_plan::language::{channel, repeater, site__other};
use guywire_plan::{Known, Row, Sends, Stored};
use guywire_radio::convention::{Force, PairConvention, PairVerdict, RadioKind, judge_pair};
use guywire_radio::emission::{occupied_band, peak_deviation};
use guywire_radio::frequency::{Band, quarter_wave_m, wavelength_m};
use guywire_radio::protected::{Protection, protected_by};
use guywire_radio::regime::{Place, Regime, built_in, built_in_names};
use guywire_radio::{Caution, Emission, Hertz};

use super::super::figures::{edges, shift, significant, tenth};
use super::super::page::Page;
use super::{Ask, usual_emission};

/// Width of a channel of which nothing else is said: the digital one.
const WIDTH: Hertz = guywire_radio::air_interface::CHANNEL_WIDTH;

/// What is sent or heard at a carrier.
pub(super) struct OnAir {
    pub digital: bool,
    pub width: Hertz,
    /// Parts in a million that the carrier may be off, where a model says so.
    pub ppm: Option<f64>,
    /// What a transmitter sends and receives on, and what kind of radio it is; none where only one is known.
    pub pair: Option<(Hertz, Hertz, RadioKind)>,
    /// Something is sent on this very carrier.
    pub is_sent: bool,
}

impl OnAir {
    pub(super) fn emission(&self) -> Option<Emission> {
        usual_emission(self.digital, self.width)
    }
}

/// What is known of the use of a carrier that stands in a table.
pub(super) fn on_air(ask: &Ask<'_>, carrier: Hertz) -> OnAir {
    let unknown = OnAir { digital: true, width: WIDTH, ppm: None, pair: None, is_sent: true };
    if let Some(row) = ask.row::<channel::Table>() {
        let Some(channel) = ask.view.channel(row.id()) else { return unknown };
        let tx = channel.tx.value();
        let models = ask.view.channel_models(row.id());
        let ppm = models.iter().filter_map(|it| it.number(guywire_plan::language::model::stability_ppm).value());
        return OnAir {
            digital: channel.sends == Known::Is(Sends::Digital),
            width: channel.bandwidth.value().unwrap_or(WIDTH),
            ppm: ppm.reduce(f64::max),
            pair: tx.zip(channel.rx.value()).map(|(tx, rx)| (tx, rx, RadioKind::Handheld)),
            is_sent: tx == Some(carrier),
        };
    }
    if let Some(row) = ask.row::<repeater::Table>() {
        let output = row.frequency(repeater::tx_mhz).value();
        return OnAir {
            digital: row.text(repeater::mode).value().is_none_or(|mode| ask.view.symbol(mode) != "analog"),
            width: row.frequency(repeater::bandwidth_khz).value().unwrap_or(WIDTH),
            ppm: None,
            pair: output.zip(row.frequency(repeater::rx_mhz).value()).map(|(tx, rx)| (tx, rx, RadioKind::Repeater)),
            is_sent: output == Some(carrier),
        };
    }
    let other = ask.part::<site__other::Table>().and_then(|part| part.frequency(site__other::bandwidth_khz).value());
    OnAir { digital: false, width: other.unwrap_or(WIDTH), ..unknown }
}

pub(super) fn say_carrier(ask: &Ask<'_>, page: &mut Page) {
    let Some(carrier) = ask.frequency() else { return };
    page.maybe(waves(carrier));
    let on_air = on_air(ask, carrier);
    match ask.service() {
        Some(service) => {
            page.fact(place(service, carrier));
            page.maybe(raster(service, carrier, on_air.width));
            page.maybe(on_air.pair.and_then(|(tx, rx, kind)| pair(service, tx, rx, kind)));
            if on_air.pair.is_none_or(|(tx, rx, _)| tx == rx) {
                page.maybe(expected_pair(service, carrier));
            }
        }
        None => page.maybe(services_with(carrier)),
    }
    say_occupied(carrier, &on_air, page);
}

/// Wavelength and quarter wave.
fn waves(carrier: Hertz) -> Option<String> {
    let (wave, quarter) = (wavelength_m(carrier).ok()?, quarter_wave_m(carrier).ok()?);
    Some(format!(
        "wavelength {} m, quarter wave {} cm in free space (c / f); a whip is cut a few percent shorter",
        significant(wave, 3),
        significant(quarter * 100.0, 3)
    ))
}

/// Where a service has a carrier.
pub(super) fn place(service: &Regime, carrier: Hertz) -> String {
    let title = &service.terms().title;
    match service.place(carrier) {
        Place::Channel(it) => {
            let note = it.note.as_ref().map(|note| format!("; {note}")).unwrap_or_default();
            format!("channel {} of {title} ({}){note}", it.label, it.source)
        }
        Place::Band(it) => format!("in {} of {title} ({})", range(it.band), it.source),
        Place::BetweenChannels(it) => {
            format!("on no channel of {title}: the nearest is {} at {} MHz ({})", it.label, it.carrier, it.source)
        }
        Place::Outside => format!("outside {title}"),
    }
}

/// A range in words, in whole or broken MHz.
fn range(band: Band) -> String {
    format!("{} to {} MHz", significant(band.low().as_mhz(), 9), significant(band.high().as_mhz(), 9))
}

/// The built-in services that have a carrier, where the plan names none.
fn services_with(carrier: Hertz) -> Option<String> {
    let has = |service: &&Regime| !matches!(service.place(carrier), Place::Outside | Place::BetweenChannels(_));
    let found: Vec<String> =
        built_in_names().filter_map(built_in).filter(has).map(|service| service.terms().title.to_string()).collect();
    (!found.is_empty()).then(|| format!("no service is named here; this carrier is in {}", found.join("; in ")))
}

fn raster(service: &Regime, carrier: Hertz, width: Hertz) -> Option<String> {
    let found = service.raster(carrier, width)?;
    let step = found.raster.step().khz_text();
    Some(if found.raster.on(carrier) {
        format!("on the raster of {step} kHz ({})", found.source)
    } else {
        format!(
            "off the raster of {step} kHz: the nearest carrier is {} MHz ({})",
            found.raster.nearest(carrier),
            found.source
        )
    })
}

/// How a pair stands to what the service publishes.
pub(super) fn pair(service: &Regime, tx: Hertz, rx: Hertz, kind: RadioKind) -> Option<String> {
    let offset = |it: &PairConvention| format!("{}: {}", shift(it.shift), force(it));
    match judge_pair(&service.terms().pairs, tx, rx, kind) {
        PairVerdict::Simplex | PairVerdict::NoConvention => None,
        PairVerdict::Usual(it) => {
            Some(format!("the usual pair: input {} of the output, {}", shift(it.shift), force(it)))
        }
        PairVerdict::Reversed(it) => Some(format!("output and input are exchanged: usual is {}", offset(it))),
        PairVerdict::Unusual(it) => Some(format!("not the usual pair here: usual is {}", offset(it))),
    }
}

fn force(convention: &PairConvention) -> String {
    match convention.force {
        Force::Law => format!("set by rule ({})", convention.source),
        Force::BandPlan => format!("by band plan ({})", convention.source),
        Force::CommonPractice => "common practice, no source".to_owned(),
    }
}

/// The input that belongs to a carrier used as an output.
fn expected_pair(service: &Regime, carrier: Hertz) -> Option<String> {
    let found = service.terms().pairs.iter().find(|it| it.output.contains(carrier))?;
    Some(format!("as a repeater's output, its input is {} MHz, {}", carrier + found.shift, force(found)))
}

/// What is occupied, and whether that reaches into something protected.
fn say_occupied(carrier: Hertz, on_air: &OnAir, page: &mut Page) {
    let emission = on_air.emission();
    let width = emission.map_or(on_air.width, Emission::bandwidth);
    let Ok(band) = occupied_band(carrier, width, on_air.ppm.unwrap_or(0.0)) else { return };
    let of = emission.map_or(format!("{} kHz wide", width.khz_text()), |it| it.to_string());
    let off = on_air.ppm.map(|ppm| format!(", carrier off by up to {} ppm", significant(ppm, 3))).unwrap_or_default();
    page.fact(format!("occupies {} ({of}{off})", edges(band)));
    let Some(found) = protected_by(band) else { return };
    let unless = match found.protection {
        Protection::Never => "nothing else may be sent here",
        Protection::UnlessAssigned => "only with an assignment that names it",
    };
    page.fact(format!("reaches into {}: {}, {unless} ({})", range(found.band), found.purpose, found.source));
    if on_air.is_sent {
        page.caution(Caution::Distress);
    }
}

/// The range that the edges of a table make: the values of its keys that are edges.
pub(super) fn say_edge(ask: &Ask<'_>, page: &mut Page) {
    let is_edge = |field: u8| ask.record.spec.key(field).computed.contains(&guywire_plan::language::Computed::Edge);
    let edges = ask.record.slots.iter().filter(|slot| is_edge(slot.field)).filter_map(|slot| match slot.value {
        Stored::Frequency(hertz) | Stored::Rounded(hertz) => Some(hertz),
        _ => None,
    });
    let edges: Vec<Hertz> = edges.collect();
    let (Some(low), Some(high)) = (edges.iter().min(), edges.iter().max()) else { return };
    let Ok(band) = Band::new(*low, *high) else {
        page.maybe(waves(*low));
        return;
    };
    let (width, middle) = (band.high() - band.low(), (band.low().as_mhz() + band.high().as_mhz()) / 2.0);
    page.fact(format!(
        "{}: {} MHz wide, {} % of the middle at {} MHz",
        range(band),
        significant(width.as_mhz(), 9),
        tenth(width.as_mhz() / middle * 100.0),
        significant(middle, 7)
    ));
    if let (Ok(long), Ok(short)) = (quarter_wave_m(band.low()), quarter_wave_m(band.high())) {
        let cm = |m: f64| significant(m * 100.0, 3);
        page.fact(format!("quarter wave from {} cm down to {} cm in free space (c / f)", cm(long), cm(short)));
    }
}

pub(super) fn say_width(ask: &Ask<'_>, page: &mut Page) {
    let Some(width) = ask.frequency() else { return };
    if width == WIDTH {
        let digital = usual_emission(true, width).map(|it| it.to_string()).unwrap_or_default();
        page.fact(format!("digital voice in two slots: {digital}, measured, not computed (from memory)"));
    }
    if let (Some(usual), Some(deviation)) = (usual_emission(false, width), peak_deviation(width)) {
        page.fact(format!(
            "analog voice: usually {usual}, about 2 × 3 kHz + 2 × {} kHz of deviation (47 CFR 2.202(g), from memory)",
            deviation.khz_text()
        ));
    }
    let carrier = match (ask.row::<channel::Table>(), ask.row::<repeater::Table>()) {
        (Some(row), _) => ask.view.channel(row.id()).and_then(|it| it.tx.or(it.rx).value()),
        (_, Some(row)) => row.frequency(repeater::tx_mhz).value(),
        _ => None,
    };
    if let (Some(service), Some(carrier), Some(day)) = (ask.service(), carrier, ask.day())
        && let Some(rule) = service.place(carrier).width_rule(day)
    {
        let except = rule.except.as_ref().map(|it| format!(", except {it}")).unwrap_or_default();
        page.fact(format!(
            "the service permits emissions up to {} kHz{except} ({})",
            rule.most.khz_text(),
            rule.source
        ));
    }
}
