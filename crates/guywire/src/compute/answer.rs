//! The answers, by the functions that hovers and rules use.

use guywire_radio::battery::{Draw, Duty};
use guywire_radio::bench::{Interval, Meter, Tolerance, Verdict, judge};
use guywire_radio::ctcss::{Ctcss, STANDARD_TONES};
use guywire_radio::dcs::Dcs;
use guywire_radio::emission::{Kind, fm_voice_bandwidth, occupied_band};
use guywire_radio::exposure::{AverageEirp, Exposed};
use guywire_radio::feedline::{Coax, Vswr, line_loss_db};
use guywire_radio::frequency::{quarter_wave_m, wavelength_m};
use guywire_radio::geodesy::Position;
use guywire_radio::interference::Carrier;
use guywire_radio::intermodulation::{Intermodulation, Order};
use guywire_radio::power::{AntennaChain, Eirp, Output, Power, dbm_from_w, w_from_dbm};
use guywire_radio::{Emission, Hertz, OutOfRange, Tone, coverage, link, path};
use serde_json::{Value, json};

use super::Refusal;
use super::request::{Khz, Line, Mhz, Request, Who, WithWidth};

type Answer = Result<Value, Refusal>;

/// Products that are listed; all are counted.
const PRODUCTS: usize = 20;

pub(super) fn answer(request: Request) -> Answer {
    use Request as R;
    match request {
        R::Wavelength { frequency_mhz } => wavelength(frequency_mhz),
        R::OccupiedBand { frequency_mhz, bandwidth_khz, ppm } => occupied(frequency_mhz, bandwidth_khz, ppm),
        R::Ctcss { hz } => ctcss(hz),
        R::Dcs { code } => dcs(&code),
        R::Designator { bandwidth_hz, kind } => designator(bandwidth_hz, &kind),
        R::Emission { designator } => emission(&designator),
        R::NecessaryBandwidth { modulating_hz, deviation_hz } => {
            let width = fm_voice_bandwidth(Hertz(modulating_hz), Hertz(deviation_hz)).map_err(Refusal::of)?;
            Ok(json!({ "bandwidth_hz": width.get() }))
        }
        R::Power { watts, dbm } => power(watts, dbm),
        R::RadiatedPower { watts, gain_dbi, loss_db } => radiated_power(watts, gain_dbi, loss_db),
        R::Exposure { frequency_mhz, eirp_w, exposed, transmit_share, burst_duty, reflecting } => {
            let average = AverageEirp::new(Power::<Eirp>::from_w(eirp_w)?, transmit_share, burst_duty)?;
            exposure(average, frequency_mhz, exposed, reflecting)
        }
        R::FreeSpaceLoss { frequency_mhz, distance_km } => loss(path::free_space_db(frequency_mhz.0, distance_km)),
        R::PlaneEarthLoss { distance_km, height_1_m, height_2_m } => {
            loss(path::plane_earth_db(distance_km, height_1_m, height_2_m))
        }
        R::PathLoss { frequency_mhz, distance_km, height_1_m, height_2_m } => {
            loss(path::path_loss_db(frequency_mhz.0, distance_km, height_1_m, height_2_m))
        }
        R::RadioHorizon { height_1_m, height_2_m } => {
            Ok(json!({ "distance_km": path::horizon_km(height_1_m, height_2_m)? }))
        }
        R::KnifeEdge { frequency_mhz, above_line_m, distance_1_m, distance_2_m } => {
            knife_edge(frequency_mhz, path::KnifeEdge { above_line_m, distance_1_m, distance_2_m })
        }
        R::Geodesic { from, to } => geodesic(from, to),
        R::NoiseFloor { bandwidth_khz, noise_figure_db } => {
            Ok(json!({ "dbm": link::noise_floor_dbm(bandwidth_khz.0, noise_figure_db)? }))
        }
        R::Microvolts { microvolts } => Ok(json!({ "dbm": link::dbm_from_microvolts(microvolts)? })),
        R::Reliability { margin_db, spread_db } => Ok(json!({ "share": link::reliability(margin_db, spread_db)? })),
        R::Passes { passed, tried, share } => {
            Ok(json!({ "chance": coverage::chance_of_passes(passed, tried, share)? }))
        }
        R::Intermodulation { carriers, receiver, fifth_order } => intermodulation(&carriers, receiver, fifth_order),
        R::Mismatch { forward_w, reflected_w } => mismatch(Vswr::from_powers(forward_w, reflected_w)?),
        R::FeedlineLoss { line, frequency_mhz, length_m } => {
            loss(line_loss_db(coax(line).loss_db_per_100_m(frequency_mhz.0)?, length_m))
        }
        R::Battery { mah, transmit_ma, receive_ma, standby_ma, transmit_percent, receive_percent } => {
            let duty = Duty::new(transmit_percent, receive_percent)?;
            let draw = Draw { transmit_ma, receive_ma, standby_ma };
            Ok(json!({ "mean_ma": duty.mean_ma(draw)?, "hours": duty.hours(mah, draw)? }))
        }
        R::BenchReading { watts, full_scale_w, accuracy_percent, path_loss_db, rated_w, tolerance_db } => {
            let at_radio = Meter::new(full_scale_w, accuracy_percent)?.at_radio(watts, path_loss_db)?;
            Ok(reading(at_radio, Tolerance::Decibels(tolerance_db).window(rated_w)?))
        }
    }
}

fn loss(db: Result<f64, OutOfRange>) -> Answer {
    Ok(json!({ "loss_db": db? }))
}

fn occupied(frequency: Mhz, bandwidth: Khz, ppm: f64) -> Answer {
    let band = occupied_band(frequency.0, bandwidth.0, ppm).map_err(Refusal::of)?;
    Ok(json!({ "low_hz": band.low().get(), "high_hz": band.high().get() }))
}

fn designator(bandwidth_hz: i64, kind: &str) -> Answer {
    let kind = Kind::parse(kind).map_err(Refusal::of)?;
    Ok(json!({ "designator": Emission::new(Hertz(bandwidth_hz), kind).map_err(Refusal::of)?.to_string() }))
}

fn emission(designator: &str) -> Answer {
    let emission: Emission = designator.parse().map_err(Refusal::of)?;
    let bandwidth = emission.bandwidth_millihertz() as f64 / 1000.0;
    Ok(json!({ "designator": emission.to_string(), "bandwidth_hz": bandwidth, "words": emission.in_words() }))
}

fn exposure(average: AverageEirp, frequency: Mhz, exposed: Who, reflecting: bool) -> Answer {
    let exposed = match exposed {
        Who::Public => Exposed::GeneralPublic,
        Who::Workers => Exposed::Occupational,
    };
    let limit = exposed.limit_mw_per_cm2(frequency.0)?;
    Ok(json!({ "limit_mw_per_cm2": limit, "distance_m": average.distance_m(frequency.0, exposed, reflecting)? }))
}

fn knife_edge(frequency: Mhz, edge: path::KnifeEdge) -> Answer {
    Ok(json!({
        "parameter": edge.parameter(frequency.0)?,
        "loss_db": edge.loss_db(frequency.0)?,
        "fresnel_radius_m": edge.fresnel_radius_m(frequency.0)?,
    }))
}

fn geodesic(from: [f64; 2], to: [f64; 2]) -> Answer {
    let (from, to) = (Position::new(from[0], from[1])?, Position::new(to[0], to[1])?);
    Ok(json!({ "distance_km": from.distance_km(to), "bearing_deg": from.bearing_deg(to) }))
}

fn mismatch(vswr: Vswr) -> Answer {
    Ok(json!({
        "vswr": vswr.ratio(),
        "return_loss_db": vswr.return_loss_db(),
        "mismatch_loss_db": vswr.mismatch_loss_db(),
        "reflected_percent": vswr.reflected_percent(),
    }))
}

fn coax(line: Line) -> Coax {
    match line {
        Line::Rg58 => Coax::Rg58,
        Line::Rg213 => Coax::Rg213,
        Line::Rg8Foam => Coax::Rg8Foam,
    }
}

fn reading(at_radio: Interval, window: Interval) -> Value {
    json!({
        "low_w": at_radio.low(), "high_w": at_radio.high(),
        "window_low_w": window.low(), "window_high_w": window.high(),
        "verdict": verdict(judge(at_radio, window)),
    })
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "pass",
        Verdict::Under => "under",
        Verdict::Over => "over",
        Verdict::Inconclusive => "inconclusive",
    }
}

fn wavelength(frequency: Mhz) -> Answer {
    let wave = wavelength_m(frequency.0).map_err(Refusal::of)?;
    Ok(json!({ "wavelength_m": wave, "quarter_wave_m": quarter_wave_m(frequency.0).map_err(Refusal::of)? }))
}

fn ctcss(hz: f64) -> Answer {
    let tone: Tone = format!("CTCSS {hz}").parse().map_err(Refusal::of)?;
    let Tone::Ctcss(tone) = tone else { return Err(Refusal::Value("not a tone".to_owned())) };
    let hertz = |tone: Ctcss| f64::from(tone.tenths()) / 10.0;
    let confused: Vec<f64> =
        STANDARD_TONES.iter().filter(|it| tone.confusable(it.tone)).map(|it| hertz(it.tone)).collect();
    Ok(json!({
        "hz": hertz(tone), "standard": tone.standard().is_some(),
        "nearest_hz": hertz(tone.nearest().tone), "confusable_hz": confused,
    }))
}

fn dcs(code: &str) -> Answer {
    let tone: Tone = format!("DCS {code}").parse().map_err(Refusal::of)?;
    let Tone::Dcs(code) = tone else { return Err(Refusal::Value("not a code".to_owned())) };
    let octal = |codes: Vec<u16>| codes.into_iter().map(|code| format!("{code:03o}")).collect::<Vec<_>>();
    Ok(json!({
        "code": code.to_string(), "word": format!("{:06X}", code.word()), "stream": code.stream().bits(),
        "same_on_the_air": code.listed_twin().as_ref().map(Dcs::to_string),
        "aliases": octal(code.aliases()), "twins": octal(code.twins()),
    }))
}

fn power(watts: Option<f64>, dbm: Option<f64>) -> Answer {
    match (watts, dbm) {
        (Some(watts), None) => Ok(json!({ "watts": watts, "dbm": dbm_from_w(watts)? })),
        (None, Some(dbm)) => Ok(json!({ "watts": w_from_dbm(dbm)?, "dbm": dbm })),
        _ => Err(Refusal::Value("give one of `watts` and `dbm`".to_owned())),
    }
}

fn radiated_power(watts: f64, gain_dbi: f64, loss_db: f64) -> Answer {
    let eirp = Power::<Output>::from_w(watts)?.eirp(AntennaChain::new(gain_dbi, loss_db)?);
    let erp = eirp.erp();
    Ok(json!({ "erp_w": erp.w(), "erp_dbm": erp.dbm(), "eirp_w": eirp.w(), "eirp_dbm": eirp.dbm() }))
}

fn intermodulation(carriers: &[WithWidth], receiver: WithWidth, fifth: bool) -> Answer {
    let carrier = |it: WithWidth| Carrier::new(it.frequency_mhz.0, it.bandwidth_khz.0);
    let site = Intermodulation::new(carriers.iter().map(|it| carrier(*it)).collect::<Result<Vec<_>, _>>()?);
    let (receiver, order) = (carrier(receiver)?, if fifth { Order::Fifth } else { Order::Third });
    let first: Vec<String> = site.first(receiver, order, PRODUCTS).iter().map(ToString::to_string).collect();
    Ok(json!({ "count": site.count(receiver, order), "first": first }))
}
