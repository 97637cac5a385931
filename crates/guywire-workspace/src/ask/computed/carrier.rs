//! What is computed of carriers, ranges and widths.

use guywire_plan::language::{channel, model, repeater, site__other};
use guywire_plan::{Known, Ref, Row, Sends, Stored};
use guywire_radio::convention::{Force, PairConvention, PairVerdict, RadioKind, judge_pair};
use guywire_radio::emission::{NECESSARY_BANDWIDTH_SOURCE, occupied_band, peak_deviation};
use guywire_radio::frequency::{Band, quarter_wave_m, wavelength_m};
use guywire_radio::protected::{Protection, protected_by};
use guywire_radio::regime::{Place, Regime, built_in, built_in_names};
use guywire_radio::{Caution, Emission, Hertz};

use super::super::figures::{cited, edges, shift, significant, tenth};
use super::super::page::Page;
use super::{Ask, usual_emission};

/// Width of a channel of which nothing else is said: the digital one.
const WIDTH: Hertz = guywire_radio::air_interface::CHANNEL_WIDTH;

/// What is sent or heard at a carrier.
struct OnAir {
    digital: bool,
    width: Hertz,
    /// Parts in a million that the carrier may be off, where a model says so.
    ppm: Option<f64>,
    /// What a transmitter sends and receives on, and what kind of radio it is; none where only one is known.
    pair: Option<(Hertz, Hertz, RadioKind)>,
    /// Something is sent on this very carrier.
    is_sent: bool,
}

impl OnAir {
    fn emission(&self) -> Option<Emission> {
        usual_emission(self.digital, self.width)
    }
}

/// What is known of the use of a carrier that stands in a table; none where the table does not use it.
fn on_air(ask: &Ask<'_>, carrier: Hertz) -> Option<OnAir> {
    if let Some(row) = ask.row::<channel::Table>() {
        let channel = ask.view.channel(row.id())?;
        let tx = channel.tx.value();
        let models = ask.view.channel_models(row.id());
        let ppm = models.iter().filter_map(|it| it.number(model::stability_ppm).value());
        return Some(OnAir {
            digital: channel.sends == Known::Is(Sends::Digital),
            width: channel.bandwidth.value().unwrap_or(WIDTH),
            ppm: ppm.reduce(f64::max).filter(|_| tx == Some(carrier)),
            pair: tx.zip(channel.rx.value()).map(|(tx, rx)| (tx, rx, kind_of(ask, &models))),
            is_sent: tx == Some(carrier),
        });
    }
    if let Some(row) = ask.row::<repeater::Table>() {
        let output = row.frequency(repeater::tx_mhz).value();
        return Some(OnAir {
            // A dual one sends the wider emission too.
            digital: row.text(repeater::mode).value().is_none_or(|mode| ask.view.symbol(mode) == "digital"),
            width: row.frequency(repeater::bandwidth_khz).value().unwrap_or(WIDTH),
            ppm: None,
            pair: output.zip(row.frequency(repeater::rx_mhz).value()).map(|(tx, rx)| (tx, rx, RadioKind::Repeater)),
            is_sent: output == Some(carrier),
        });
    }
    let width = ask.part::<site__other::Table>()?.frequency(site__other::bandwidth_khz).value().unwrap_or(WIDTH);
    Some(OnAir { digital: false, width, ppm: None, pair: None, is_sent: true })
}

/// What kind of radio sends on a channel: a base where one of its models is, for which no order of a pair is wrong.
fn kind_of(ask: &Ask<'_>, models: &[Ref<'_, model::Table>]) -> RadioKind {
    let is_base = |it: &Ref<'_, model::Table>| {
        matches!(it.text(model::kind).map(|word| ask.view.symbol(word)), Known::Is("base" | "repeater"))
    };
    if models.iter().any(is_base) { RadioKind::Base } else { RadioKind::Handheld }
}

pub(super) fn say_carrier(ask: &Ask<'_>, page: &mut Page) {
    let Some(carrier) = ask.frequency() else { return };
    page.maybe(waves(carrier));
    let on_air = on_air(ask, carrier);
    let width = on_air.as_ref().map_or(WIDTH, |it| it.width);
    match ask.service() {
        Some(service) => {
            page.fact(place(service, carrier));
            page.maybe(raster(service, carrier, width));
            match on_air.as_ref().and_then(|it| it.pair) {
                Some((tx, rx, kind)) if tx != rx => page.maybe(pair(service, tx, rx, kind)),
                _ => page.maybe(expected_pair(service, carrier)),
            }
        }
        None => page.maybe(services_with(carrier)),
    }
    if let Some(on_air) = &on_air {
        page.maybe(occupied(carrier, on_air).map(|band| occupies(band, on_air)));
    }
    let band = on_air.as_ref().and_then(|it| occupied(carrier, it)).or_else(|| Band::around(carrier, width).ok());
    if let Some(band) = band {
        say_protected(band, on_air.is_none_or(|it| it.is_sent), page);
    }
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
            format!("channel {} of {title} ({}){note}", it.label, cited(&it.source))
        }
        Place::Band(it) => format!("in {} of {title} ({})", range(it.band), cited(&it.source)),
        Place::BetweenChannels(it) => {
            format!(
                "on no channel of {title}: the nearest is {} at {} MHz ({})",
                it.label,
                it.carrier,
                cited(&it.source)
            )
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
        format!("on the raster of {step} kHz ({})", cited(&found.source))
    } else {
        format!(
            "off the raster of {step} kHz: the nearest carrier is {} MHz ({})",
            found.raster.nearest(carrier),
            cited(&found.source)
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
        Force::Law => format!("set by rule ({})", cited(&convention.source)),
        Force::BandPlan => format!("by band plan ({})", cited(&convention.source)),
        Force::CommonPractice => "common practice, no source".to_owned(),
    }
}

/// The input that belongs to a carrier used as an output.
fn expected_pair(service: &Regime, carrier: Hertz) -> Option<String> {
    let found = service.terms().pairs.iter().find(|it| it.output.contains(carrier))?;
    Some(format!("as a repeater's output, its input is {} MHz, {}", carrier + found.shift, force(found)))
}

/// What is occupied, the carrier off as far as it may be.
fn occupied(carrier: Hertz, on_air: &OnAir) -> Option<Band> {
    let width = on_air.emission().map_or(on_air.width, Emission::bandwidth);
    occupied_band(carrier, width, on_air.ppm.unwrap_or(0.0)).ok()
}

fn occupies(band: Band, on_air: &OnAir) -> String {
    let of = on_air.emission().map_or(format!("{} kHz wide", on_air.width.khz_text()), |it| it.to_string());
    let off = on_air.ppm.map(|ppm| format!(", carrier off by up to {} ppm", significant(ppm, 3))).unwrap_or_default();
    format!("occupies {} ({of}{off})", edges(band))
}

/// Whether a band reaches into something that is kept clear.
fn say_protected(band: Band, is_sent: bool, page: &mut Page) {
    let Some(found) = protected_by(band) else { return };
    let unless = match found.protection {
        Protection::Never => "nothing else may be sent here",
        Protection::UnlessAssigned => "to be sent on only with an assignment that names it",
    };
    page.fact(format!("reaches into {}: {}, {unless} ({})", range(found.band), found.purpose, cited(&found.source)));
    if is_sent {
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
    let (digital, analog) = modes(ask);
    if digital && width == WIDTH {
        let usual = usual_emission(true, width).map(|it| it.to_string()).unwrap_or_default();
        page.fact(format!("digital voice in two slots: {usual}, measured, not computed (from memory)"));
    }
    if let (true, Some(usual), Some(deviation)) = (analog, usual_emission(false, width), peak_deviation(width)) {
        page.fact(format!(
            "analog voice: usually {usual}; necessary bandwidth 2 × 3 kHz + 2 × {} kHz of deviation ({})",
            deviation.khz_text(),
            cited(&NECESSARY_BANDWIDTH_SOURCE)
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
            cited(&rule.source)
        ));
    }
}

/// Which modes a width is for, digital and analog: both where the table does not say.
fn modes(ask: &Ask<'_>) -> (bool, bool) {
    if let Some(row) = ask.row::<channel::Table>() {
        return match ask.view.channel(row.id()).map(|it| it.sends) {
            Some(Known::Is(Sends::Digital)) => (true, false),
            Some(Known::Is(Sends::Analog)) => (false, true),
            _ => (true, true),
        };
    }
    match ask.row::<repeater::Table>().map(|row| row.text(repeater::mode).map(|mode| ask.view.symbol(mode))) {
        Some(Known::Is("analog")) => (false, true),
        Some(Known::Is("digital") | Known::Absent) => (true, false),
        _ => (true, true),
    }
}
