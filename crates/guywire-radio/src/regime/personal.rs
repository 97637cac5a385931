//! 47 CFR Part 95: the family, general mobile and multi-use radio services.

use super::{
    ChannelUse, Cited, Identification, Licensing, Local, Period, PrivacyRule, ServiceChannel, StabilityRule, Station,
    StationLimit, Terms, width,
};
use crate::convention::general_mobile_pairs;
use crate::emission::Kind;
use crate::frequency::Hertz;
use crate::power::{PowerKind, PowerLimit};
use crate::source::Source;

const HANDHELD: [Station; 1] = [Station::Handheld];
const VOICE_MOBILES: [Station; 3] = [Station::Handheld, Station::Mobile, Station::Base];
const MAIN: [Station; 5] = [Station::Handheld, Station::Mobile, Station::Repeater, Station::Base, Station::Fixed];
const MAIN_INPUT: [Station; 4] = [Station::Handheld, Station::Mobile, Station::Control, Station::Fixed];
const VOICE_OBSCURING: Source = Source::memory("47 CFR 95.381");

/// Carriers that the family and the general mobile service share.
fn interstitial(number: i64) -> Hertz {
    let (origin, first) = if number <= 7 { (462_562_500, 1) } else { (467_562_500, 8) };
    Hertz(origin + 25_000 * (number - first))
}

fn main_channel(number: i64) -> Hertz {
    Hertz(462_550_000 + 25_000 * (number - 15))
}

fn kinds(list: &str) -> Vec<Kind> {
    list.split(' ').filter_map(|it| Kind::parse(it).ok()).collect()
}

/// Rows of widest emission, none for every width, and ppm.
fn stability(rows: &[(Option<i64>, f64)], source: &Source) -> Vec<StabilityRule> {
    let rule = |(up_to, ppm): &(Option<i64>, f64)| StabilityRule {
        stations: Vec::new(),
        up_to: up_to.map(Hertz),
        ppm: *ppm,
        source: source.clone(),
    };
    rows.iter().map(rule).collect()
}

struct Row {
    label: String,
    carrier: Hertz,
    usage: ChannelUse,
    stations: &'static [Station],
    width: i64,
    power: PowerLimit,
}

struct Sources {
    tables: Source,
    widths: Source,
    powers: Source,
    stability: Vec<StabilityRule>,
}

fn channel(row: Row, from: &Sources) -> ServiceChannel {
    let (limit, source) = (row.power, from.powers.clone());
    let limit = StationLimit { stations: Vec::new(), limit, period: Period::ALWAYS, source };
    ServiceChannel {
        label: row.label.into(),
        carrier: row.carrier,
        usage: row.usage,
        stations: Cited::new(row.stations.to_vec(), from.tables.clone()),
        widths: width(Hertz(row.width), from.widths.clone()),
        limits: vec![limit],
        stability: from.stability.clone(),
        local: Local::default(),
        note: None,
        source: from.tables.clone(),
    }
}

pub(super) fn family() -> Terms {
    let from = Sources {
        tables: Source::confirmed("47 CFR 95.563"),
        widths: Source::secondary("47 CFR Part 95 subpart B"),
        powers: Source::secondary("47 CFR 95.567"),
        stability: stability(&[(None, 2.5)], &Source::memory("47 CFR 95.565")),
    };
    let row = |number: i64| Row {
        label: number.to_string(),
        carrier: if number < 15 { interstitial(number) } else { main_channel(number) },
        usage: ChannelUse::Simplex,
        stations: &HANDHELD,
        width: 12_500,
        power: PowerLimit::fixed(PowerKind::Erp, if (8..=14).contains(&number) { 0.5 } else { 2.0 }),
    };
    Terms {
        name: "us-part-95-family".into(),
        title: "family radio service, 47 CFR Part 95 subpart B".into(),
        licensing: Licensing::ByRule,
        shared: true,
        coverage: from.tables.clone(),
        bands: Vec::new(),
        channels: (1..=22).map(|it| channel(row(it), &from)).collect(),
        rasters: Vec::new(),
        pairs: Vec::new(),
        repeater_excluded: Vec::new(),
        repeaters: Cited::new(false, Source::secondary("47 CFR Part 95 subpart B")),
        emissions: Some(Cited::new(kinds("F3E G3E F2D G2D"), Source::secondary("47 CFR 95.571"))),
        privacy: Cited::new(PrivacyRule::Barred, VOICE_OBSCURING),
        identification: None,
        removable_antenna: Cited::new(false, Source::confirmed("47 CFR 95.587(b)")),
        longest_transmission_s: None,
    }
}

pub(super) fn general_mobile() -> Terms {
    let from = Sources {
        tables: Source::confirmed("47 CFR 95.1763"),
        widths: Source::confirmed("47 CFR 95.1773"),
        powers: Source::secondary("47 CFR 95.1767"),
        stability: stability(&[(None, 5.0), (Some(12_500), 2.5)], &Source::secondary("47 CFR 95.1765")),
    };
    let emissions = "A1D F1D G1D H1D J1D R1D A3E F3E G3E H3E J3E R3E F2D G2D";
    Terms {
        name: "us-part-95-general".into(),
        title: "general mobile radio service, 47 CFR Part 95 subpart E".into(),
        licensing: Licensing::Personal,
        shared: true,
        coverage: from.tables.clone(),
        bands: Vec::new(),
        channels: general_mobile_channels(&from),
        rasters: Vec::new(),
        pairs: general_mobile_pairs(),
        repeater_excluded: Vec::new(),
        repeaters: Cited::new(true, from.tables),
        emissions: Some(Cited::new(kinds(emissions), Source::secondary("47 CFR 95.1771"))),
        privacy: Cited::new(PrivacyRule::Barred, Source::confirmed("47 CFR 95.1733(a)(3)")),
        identification: Some(Cited::new(
            Identification { every_min: 15, in_clear: false },
            Source::secondary("47 CFR 95.1751"),
        )),
        removable_antenna: Cited::new(true, Source::memory("47 CFR Part 95 subpart E")),
        longest_transmission_s: None,
    }
}

fn general_mobile_channels(from: &Sources) -> Vec<ServiceChannel> {
    let between = |number: i64| {
        let low = number <= 7;
        Row {
            label: number.to_string(),
            carrier: interstitial(number),
            usage: ChannelUse::Simplex,
            stations: if low { &VOICE_MOBILES } else { &HANDHELD },
            width: if low { 20_000 } else { 12_500 },
            power: PowerLimit::fixed(PowerKind::Erp, if low { 5.0 } else { 0.5 }),
        }
    };
    let main = |number: i64, input: bool| Row {
        label: format!("{number}{}", if input { "R" } else { "" }),
        carrier: main_channel(number) + if input { Hertz::mhz(5) } else { Hertz(0) },
        usage: if input { ChannelUse::RepeaterInput } else { ChannelUse::OutputOrSimplex },
        stations: if input { &MAIN_INPUT } else { &MAIN },
        width: 20_000,
        power: PowerLimit::fixed(PowerKind::Output, 50.0),
    };
    let mains = (15..=22).flat_map(|it| [main(it, false), main(it, true)]);
    let mut channels: Vec<_> = (1..=14).map(between).chain(mains).map(|it| channel(it, from)).collect();
    for it in channels.iter_mut().filter(|it| it.usage != ChannelUse::Simplex) {
        it.limits.push(StationLimit {
            stations: vec![Station::Fixed],
            limit: PowerLimit::fixed(PowerKind::Output, 15.0),
            period: Period::ALWAYS,
            source: Source::secondary("47 CFR 95.1767(a)(2)"),
        });
        // 462.650, 462.700 and their inputs.
        if matches!(it.label.trim_end_matches('R'), "19" | "21") {
            it.note = Some("barred north of Line A and east of Line C (FCC service page)".into());
        }
    }
    channels
}

pub(super) fn multi_use() -> Terms {
    let from = Sources {
        tables: Source::confirmed("47 CFR 95.2763"),
        widths: Source::secondary("47 CFR 95.2773"),
        powers: Source::secondary("47 CFR 95.2767"),
        stability: stability(&[(None, 5.0), (Some(6_250), 2.0)], &Source::confirmed("47 CFR 95.2765")),
    };
    let row = |(number, khz, width): (usize, i64, i64)| Row {
        label: number.to_string(),
        carrier: Hertz::khz(khz),
        usage: ChannelUse::Simplex,
        stations: &[],
        width,
        power: PowerLimit::fixed(PowerKind::Output, 2.0),
    };
    let rows =
        [(1, 151_820, 11_250), (2, 151_880, 11_250), (3, 151_940, 11_250), (4, 154_570, 20_000), (5, 154_600, 20_000)];
    let emissions = "A1D A2B A2D A3E F2B F1D F2D F3E G3E";
    Terms {
        name: "us-part-95-multi-use".into(),
        title: "multi-use radio service, 47 CFR Part 95 subpart J".into(),
        licensing: Licensing::ByRule,
        shared: true,
        coverage: from.tables.clone(),
        bands: Vec::new(),
        channels: rows.into_iter().map(|it| channel(row(it), &from)).collect(),
        rasters: Vec::new(),
        pairs: Vec::new(),
        repeater_excluded: Vec::new(),
        repeaters: Cited::new(false, Source::secondary("47 CFR Part 95 subpart J")),
        emissions: Some(Cited::new(kinds(emissions), Source::confirmed("47 CFR 95.2771"))),
        privacy: Cited::new(PrivacyRule::Barred, VOICE_OBSCURING),
        identification: None,
        removable_antenna: Cited::new(true, Source::secondary("47 CFR 95.2741")),
        longest_transmission_s: None,
    }
}
