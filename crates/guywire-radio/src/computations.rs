//! Every fact and formula that the checks and hovers rest on, with its source: what `docs/computations.md` prints. A test
//! holds that no constant and no source of this crate is missing here.

use std::fmt::Write as _;

use crate::caution::Caution;
use crate::convention::{Force, PairConvention};
use crate::frequency::{HIGHEST_CARRIER, SPEED_OF_LIGHT_M_PER_S, WIDEST_CHANNEL};
use crate::protected::{PROTECTED, Protection};
use crate::regime::{Regime, built_in, built_in_names};
use crate::source::Source;
use crate::{
    address, air_interface, battery, bench, coverage, ctcss, dcs, emission, exposure, feedline, interference, key,
    link, mask, path, power,
};

/// One fact or formula.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What it is.
    pub what: &'static str,
    /// Its value with the unit, or the formula.
    pub value: String,
    /// What uses it: hovers, rules, or a request of `guywire compute`.
    pub used: &'static str,
    /// Where it stands, and how well it is established.
    pub source: Source,
}

fn fact(what: &'static str, value: impl Into<String>, used: &'static str, source: Source) -> Fact {
    Fact { what, value: value.into(), used, source }
}

/// The facts under their headings.
pub fn facts() -> Vec<(&'static str, Vec<Fact>)> {
    vec![
        ("Frequencies", frequencies()),
        ("Squelch", squelch()),
        ("Air interface, addresses, keys", signaling()),
        ("Emissions", emissions()),
        ("Power and exposure", powers()),
        ("Paths", paths()),
        ("Receivers and interference", receivers()),
        ("Bench, batteries, field trials", measurements()),
    ]
}

fn frequencies() -> Vec<Fact> {
    let unit = Source::confirmed("SI Brochure, 9th edition, 2.3.1");
    let guard = Source::common_practice;
    vec![
        fact("speed of light", format!("c = {SPEED_OF_LIGHT_M_PER_S} m/s"), "hover of carriers", unit.clone()),
        fact("wavelength", "c / f; a quarter of it for a whip, before it is cut shorter", "hover; `wavelength`", unit),
        fact("highest number taken for MHz", format!("{HIGHEST_CARRIER} MHz"), "reading of frequencies", guard()),
        fact("widest number taken for kHz", format!("{} kHz", WIDEST_CHANNEL.khz_text()), "reading of widths", guard()),
        fact(
            "band occupied",
            "carrier ± half the necessary bandwidth ± stability times carrier, rounded outward",
            "hover; rules of bands and protected frequencies; `occupied-band`",
            Source::computed("definition of the terms, ITU Radio Regulations, Article 1"),
        ),
        fact("raster", "origin + n × step, in whole hertz", "hover; rules of bands", Source::computed("arithmetic")),
    ]
}

fn squelch() -> Vec<Fact> {
    let per_mille = f64::from(ctcss::CONFUSABLE_BELOW_PER_MILLE) / 10.0;
    let mains = f64::from(ctcss::MAINS_WITHIN_TENTHS) / 10.0;
    let turn_off = f64::from(ctcss::DCS_TURN_OFF_TENTHS) / 10.0;
    let code =
        format!("{} codes of {} bits at {} bit/s", dcs::STANDARD_CODES.len(), dcs::DCS_WORD_BITS, dcs::DCS_BITS_PER_S);
    vec![
        fact("CTCSS tones", "37, in groups A, B and C", "hover; rules of tones; `ctcss`", ctcss::EIA_SOURCE),
        fact("further CTCSS tones", "97.4, 69.3, 206.5, 229.1, 254.1 Hz", "hover; rules of tones", ctcss::EXTRA_SOURCE),
        fact(
            "close CTCSS tones",
            format!("8, of {} in all", ctcss::STANDARD_TONES.len()),
            "hover; rules of tones",
            ctcss::CLOSE_SOURCE,
        ),
        fact(
            "tones that are confused",
            format!("less than {per_mille} % apart"),
            "hover; rules of tones",
            Source::common_practice(),
        ),
        fact(
            "tones near the mains",
            format!("within {mains} Hz of a harmonic"),
            "hover; rules of tones",
            ctcss::EIA_SOURCE,
        ),
        fact("end of a DCS transmission", format!("{turn_off} Hz"), "hover", Source::memory("TIA-603")),
        fact("DCS codes", code, "hover; rules of tones; `dcs`", dcs::DCS_SOURCE),
        fact(
            "DCS word",
            "11 bits of parity, 100, 9 bits of code; parity = code × x^11 mod x^11+x^10+x^6+x^5+x^4+x^2+1",
            "hover; `dcs`",
            dcs::DCS_SOURCE,
        ),
        fact(
            "DCS codes that are one on the air",
            "words that are rotations of each other; inverted codes send the complement",
            "hover; rules of tones; `dcs`",
            Source::computed("TIA-603"),
        ),
        fact(
            "further DCS codes",
            format!("{}", dcs::EXTRA_CODES.len()),
            "hover; rules of tones",
            dcs::DCS_EXTRA_SOURCE,
        ),
    ]
}

fn signaling() -> Vec<Fact> {
    use address::{ALL_CALL, HIGHEST_ADDRESS, HIGHEST_ORDINARY};
    use air_interface::*;
    let air = |what, value: String| fact(what, value, "hover; rules of slots", AIR_INTERFACE_SOURCE);
    vec![
        air("channel width", format!("{} kHz", CHANNEL_WIDTH.khz_text())),
        air("rate", format!("{BITS_PER_S} bit/s, {SYMBOLS_PER_S} symbols/s")),
        air("deviation of the symbols", format!("±{} and ±{} Hz", OUTER_DEVIATION.get(), INNER_DEVIATION.get())),
        air("slot and frame", format!("{SLOT_MS} and {FRAME_MS} ms")),
        air("burst", format!("{BURST_BITS} bits in {BURST_MS} ms")),
        air("late entry", format!("within {SUPERFRAME_MS} ms")),
        air("share of a unit in one slot", format!("{BURST_MS} / {FRAME_MS} = {:.4}", BURST_DUTY)),
        fact("color code", "0 to 15", "hover; rules of slots", address::COLOR_CODE_SOURCE),
        fact("color code 15", "every site, in trunked systems", "hover", address::ALL_SITES_SOURCE),
        fact(
            "addresses",
            format!("1 to {HIGHEST_ORDINARY} of {HIGHEST_ADDRESS}"),
            "hover; rules of identity",
            address::BOUNDS_SOURCE,
        ),
        fact("all call", format!("{ALL_CALL}"), "hover; rules of identity", address::BOUNDS_SOURCE),
        fact("null address", "0", "hover; rules of identity", address::ZERO_SOURCE),
        fact(
            "named identities",
            format!("{}", address::NAMED_ADDRESSES.len()),
            "hover; rules of identity",
            address::NAMED_SOURCE,
        ),
        fact(
            "lengths of keys",
            "10, 32 or 64 hexadecimal digits; identifiers 1 to 255",
            "hover; rules of privacy",
            key::KEY_SOURCE,
        ),
    ]
}

fn emissions() -> Vec<Fact> {
    vec![
        fact(
            "designator",
            "three digits and a letter, half rounded up, then symbols",
            "hover; rules; `designator`",
            emission::DESIGNATOR_SOURCE,
        ),
        fact("modulation of the carrier", "first symbol", "hover; `emission`", emission::MODULATION_SOURCE),
        fact("signal and information", "second and third symbol", "hover; `emission`", emission::SIGNAL_SOURCE),
        fact(
            "necessary bandwidth of FM telephony",
            "2M + 2D",
            "hover; `necessary-bandwidth`",
            emission::NECESSARY_BANDWIDTH_SOURCE,
        ),
        fact(
            "peak deviation",
            "2.5, 4, 5 kHz in 12.5, 20, 25 kHz",
            "hover",
            Source::memory("EN 300 086; 47 CFR 95.1775"),
        ),
        fact(
            "digital voice and data",
            format!("{}, {}", emission::TWO_SLOT_VOICE, emission::TWO_SLOT_DATA),
            "hover; rules of licenses",
            Source::memory("customary designators"),
        ),
        fact(
            "mask D",
            "7.27 (offset in kHz − 2.88) dB from 5.625 to 12.5 kHz, then 50 + 10 log P, at most 70 dB",
            "no check yet",
            mask::MASK_D_SOURCE,
        ),
    ]
}

fn powers() -> Vec<Fact> {
    use exposure::{FAR_FIELD_SOURCE, GROUND_REFLECTION, LIMIT_SOURCE};
    vec![
        fact("dBm", "10 log(P / 1 mW)", "hover; `power`", Source::computed("definition")),
        fact(
            "EIRP",
            "output − losses + gain over isotropic",
            "hover; rules of power; `radiated-power`",
            power::RADIATED_POWER_SOURCE,
        ),
        fact(
            "ERP",
            format!("EIRP − {} dB", power::DIPOLE_GAIN_DBI),
            "hover; rules of power; `radiated-power`",
            power::RADIATED_POWER_SOURCE,
        ),
        fact(
            "feedline loss",
            "by type, along a power law between 150 and 450 MHz",
            "`feedline-loss`",
            feedline::FEEDLINE_SOURCE,
        ),
        fact(
            "standing wave ratio",
            "(1 + √(Pr/Pf)) / (1 − √(Pr/Pf))",
            "hover; `mismatch`",
            Source::computed("transmission-line theory"),
        ),
        fact(
            "limit of exposure, general public",
            "0.2 mW/cm² at 30 to 300 MHz, f/1500 to 1500 MHz, 30 min",
            "hover; `exposure`",
            LIMIT_SOURCE,
        ),
        fact(
            "limit of exposure, workers",
            "1.0 mW/cm² at 30 to 300 MHz, f/300 to 1500 MHz, 6 min",
            "hover; `exposure`",
            LIMIT_SOURCE,
        ),
        fact("power density", "EIRP / (4πR²), averaged over that time", "hover; `exposure`", FAR_FIELD_SOURCE),
        fact(
            "reflection from the ground",
            format!("× {GROUND_REFLECTION} at worst"),
            "hover; `exposure`",
            FAR_FIELD_SOURCE,
        ),
    ]
}

fn paths() -> Vec<Fact> {
    let horizon = format!("{} (√h1 + √h2) km, heights in m", path::HORIZON_KM_PER_SQRT_M);
    let edge = format!("6.9 + 20 log(√((v − 0.1)² + 1) + v − 0.1) dB for v > {}", path::NO_KNIFE_EDGE_LOSS_BELOW);
    vec![
        fact("free-space loss", "20 log(4πdf / c)", "hover; `free-space-loss`", path::FREE_SPACE_SOURCE),
        fact(
            "plane-earth loss",
            "40 log d − 20 log(h1 h2), in m",
            "hover; `plane-earth-loss`",
            path::PLANE_EARTH_SOURCE,
        ),
        fact("path loss", "the larger of both", "hover; `path-loss`", path::PLANE_EARTH_SOURCE),
        fact("radio horizon", horizon, "hover; `radio-horizon`", path::HORIZON_SOURCE),
        fact("knife edge", edge, "`knife-edge`", path::KNIFE_EDGE_SOURCE),
        fact("first Fresnel zone", "√(λ d1 d2 / (d1 + d2))", "hover; `knife-edge`", path::KNIFE_EDGE_SOURCE),
        fact(
            "radio that is carried",
            format!("{} m above ground", path::CARRIED_HEIGHT_M),
            "hover",
            Source::common_practice(),
        ),
        fact(
            "distance and bearing",
            "geodesic on the WGS 84 ellipsoid",
            "hover; `geodesic`",
            Source::computed("WGS 84"),
        ),
    ]
}

fn receivers() -> Vec<Fact> {
    use interference::{ADJACENT_CHANNEL_NARROW_DB, ADJACENT_CHANNEL_SOURCE, ADJACENT_CHANNEL_WIDE_DB};
    let noise = format!("10 log(kTB) + noise figure, k = {:e} J/K, T = {} K", link::BOLTZMANN, link::REFERENCE_K);
    let adjacent =
        format!("{ADJACENT_CHANNEL_NARROW_DB} dB in 12.5 kHz, {ADJACENT_CHANNEL_WIDE_DB} dB in 20 and 25 kHz");
    let spread =
        format!("{} dB in mixed terrain, {} dB for planning", link::MIXED_TERRAIN_SPREAD_DB, link::PLANNING_SPREAD_DB);
    let reuse = format!("{} dB over the unwanted", interference::CO_CHANNEL_PROTECTION_DB);
    vec![
        fact("noise", noise, "`noise-floor`", Source::computed("SI Brochure, 9th edition")),
        fact("level of a voltage", "U² / 50 ohms", "hover; `microvolts`", Source::computed("definition")),
        fact("delivered audio quality", "grades 1, 2, 3, 3.4, 4, 4.5, 5", "hover", link::AUDIO_QUALITY_SOURCE),
        fact(
            "level for an audio quality",
            "sensitivity + allowance for fading",
            "hover",
            link::CARRIER_TO_NOISE_SOURCE,
        ),
        fact("reliability", "Φ(margin / spread)", "`reliability`", Source::computed("log-normal distribution")),
        fact("spread of levels", spread, "no check yet", Source::memory("TIA TSB-88")),
        fact("wanted level on a shared frequency", reuse, "rules of interference", interference::CO_CHANNEL_SOURCE),
        fact("adjacent-channel power", adjacent, "no check yet", ADJACENT_CHANNEL_SOURCE),
        fact(
            "harmonics",
            format!("2 to {} times the carrier", interference::HIGHEST_HARMONIC),
            "rules of interference",
            Source::computed("definition"),
        ),
        fact(
            "intermodulation",
            "2A − B, A + B − C, 3A − 2B; as wide as its carriers together",
            "rules of interference; `intermodulation`",
            Source::computed("textbook"),
        ),
    ]
}

fn measurements() -> Vec<Fact> {
    let (transmit, receive) = battery::CUSTOMARY_DUTY_PERCENT;
    let duty = format!("{transmit} % transmitting, {receive} % receiving");
    let practice = Source::common_practice;
    let model =
        format!("mean within {} dB, spread within {} dB", coverage::ACCEPTABLE_MEAN_DB, coverage::ACCEPTABLE_SPREAD_DB);
    vec![
        fact(
            "power at the radio",
            "(reading ± error of full scale) × 10^(loss / 10)",
            "hover; `bench-reading`",
            Source::computed("arithmetic"),
        ),
        fact(
            "tolerance of a level",
            format!("± {} dB", bench::USUAL_TOLERANCE_DB),
            "hover",
            bench::POWER_TOLERANCE_SOURCE,
        ),
        fact("least reading of use", format!("{} of full scale", bench::LEAST_USABLE_SHARE), "hover", practice()),
        fact("battery", "charge / mean current", "hover; `battery`", Source::computed("arithmetic")),
        fact("customary duty", duty, "hover", practice()),
        fact("age and cold", format!("× {}", battery::AGE_AND_COLD), "hover", practice()),
        fact(
            "passed points",
            "chance of at least as many, exact binomial",
            "`passes`",
            Source::computed("binomial distribution"),
        ),
        fact("acceptable path model", model, "no check yet", practice()),
    ]
}

/// The page `docs/computations.md`.
pub fn render_computations() -> String {
    let mut page = String::from(INTRODUCTION);
    for (heading, facts) in facts() {
        let _ = write!(
            page,
            "\n## {heading}\n\n| fact | value or formula | used by | source | standing |\n| --- | --- | --- | --- | --- |\n"
        );
        for it in facts {
            let cells = [it.what, &it.value, it.used, &it.source.cite, &it.source.standing.to_string()].map(cell);
            let _ = writeln!(page, "| {} |", cells.join(" | "));
        }
    }
    page.push_str(SERVICES);
    built_in_names().filter_map(built_in).for_each(|service| render_service(&mut page, service));
    page.push_str(CLEAR);
    for it in &PROTECTED {
        let may = match it.protection {
            Protection::Never => "never",
            Protection::UnlessAssigned => "with an assignment",
        };
        let _ = writeln!(
            page,
            "| {} | {} | {may} | {} | {} |",
            it.band,
            it.purpose,
            cell(&it.source.cite),
            it.source.standing
        );
    }
    page.push_str(CAUTIONS);
    for caution in Caution::ALL {
        let _ = writeln!(page, "- {caution}");
    }
    page
}

fn render_service(page: &mut String, service: &Regime) {
    let terms = service.terms();
    let mut row = |what: String, source: &Source| {
        let _ = writeln!(page, "| `{}` | {} | {} | {} |", terms.name, cell(&what), cell(&source.cite), source.standing);
    };
    let (bands, channels) = (terms.bands.len(), terms.channels.len());
    row(format!("{}: {bands} bands, {channels} channels", terms.title), &terms.coverage);
    for pair in &terms.pairs {
        row(pair_in_words(pair), &pair.source);
    }
    for it in &terms.rasters {
        row(format!("raster of {} kHz in {}", it.raster.step().khz_text(), it.band), &it.source);
    }
}

fn pair_in_words(pair: &PairConvention) -> String {
    let force = match pair.force {
        Force::Law => "rule",
        Force::BandPlan => "band plan",
        Force::CommonPractice => "practice",
    };
    let sign = if pair.shift.get() < 0 { '−' } else { '+' };
    format!("outputs {}, inputs {sign}{} MHz ({force})", pair.output, pair.shift.abs())
}

/// Text as a cell of a Markdown table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

const INTRODUCTION: &str = "\
# Computations and their sources

Rendered from the constants that the checks, the hovers and `guywire compute` use.

*Standing* says how well a value is established: `confirmed`, read in the named text or a faithful extract; `confirmed,
secondary`, seen in a quotation or summary of it; `computed`, follows by arithmetic; `from memory`, general knowledge of the
trade that was not checked; `common practice`, neither law nor standard. No finding is an error on the ground of the last two.
Regulations change and differ by country: your license and local codes decide.
";

const SERVICES: &str = "
## Radio services

Each band and channel has sources of its own, which hovers and findings show.

| service | what | source | standing |
| --- | --- | --- | --- |
";

const CLEAR: &str = "
## Frequencies that are kept clear

| range | for | to be sent on | source | standing |
| --- | --- | --- | --- | --- |
";

const CAUTIONS: &str = "
## Cautions

They stand beside the values that need them:

";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_is_what_the_code_says() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/computations.md");
        let rendered = render_computations();
        if std::env::var_os("GUYWIRE_BLESS").is_some() {
            std::fs::write(path, &rendered).unwrap();
        }
        let printed = std::fs::read_to_string(path).unwrap_or_default().replace("\r\n", "\n");
        assert!(printed == rendered, "docs/computations.md is out of date; run the tests with GUYWIRE_BLESS=1");
    }

    /// Constants with a value that a reader could look up.
    fn constants(text: &str) -> Vec<String> {
        let text = text.split("#[cfg(test)]").next().unwrap_or_default();
        text.lines()
            .filter_map(|line| line.trim_start().strip_prefix("pub const "))
            .filter_map(|line| line.split_once(": "))
            .filter(|(_, rest)| {
                let kinds = ["f64 ", "u8 ", "u16 ", "u32 ", "Hertz ", "Source ", "Emission ", "(f64, f64) "];
                kinds.iter().any(|kind| rest.starts_with(kind))
            })
            .map(|(name, _)| name.to_owned())
            .collect()
    }

    #[test]
    fn no_constant_and_no_source_is_missing() {
        let folder = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src"));
        let listed = std::fs::read_to_string(folder.join("computations.rs")).unwrap();
        let mut open = vec![folder.to_path_buf()];
        let mut seen = 0;
        while let Some(folder) = open.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    open.push(path);
                } else {
                    for name in constants(&std::fs::read_to_string(&path).unwrap()) {
                        seen += 1;
                        let is_word =
                            |rest: &str| !rest.starts_with(|letter: char| letter.is_alphanumeric() || letter == '_');
                        let named = listed.match_indices(&name).any(|(at, _)| is_word(&listed[at + name.len()..]));
                        assert!(named, "{name} of {} is not in computations.rs", path.display());
                    }
                }
            }
        }
        assert!(seen > 60, "{seen}");
    }
}
