//! 47 CFR Part 97, the amateur service in ITU Region 2, VHF and UHF.

use super::{Cited, Identification, Licensing, Local, Period, PrivacyRule, ServiceBand, StationLimit, Terms};
use crate::convention::united_states_amateur_pairs;
use crate::frequency::{Band, Hertz};
use crate::power::{PowerKind, PowerLimit};
use crate::source::Source;

pub(super) fn part_97() -> Terms {
    let bands = Source::confirmed("47 CFR 97.301(a)");
    let memory = Source::memory("47 CFR 97.301(a)");
    let rows = [
        (28_000, 29_700, &memory),
        (50_000, 54_000, &memory),
        (144_000, 148_000, &bands),
        (219_000, 220_000, &bands),
        (222_000, 225_000, &bands),
        (420_000, 450_000, &bands),
        (902_000, 928_000, &memory),
        (1_240_000, 1_300_000, &memory),
    ];
    Terms {
        name: "us-part-97".into(),
        title: "amateur service, 47 CFR Part 97".into(),
        licensing: Licensing::Amateur,
        shared: true,
        coverage: memory.clone(),
        bands: rows.iter().map(|(low, high, source)| band(*low, *high, source)).collect(),
        channels: Vec::new(),
        rasters: Vec::new(),
        pairs: united_states_amateur_pairs(),
        repeater_excluded: repeater_excluded(),
        repeaters: Cited::new(true, Source::confirmed("47 CFR 97.205(b)")),
        emissions: None,
        privacy: Cited::new(PrivacyRule::Barred, Source::confirmed("47 CFR 97.113(a)(4)")),
        identification: Some(Cited::new(
            Identification { every_min: 10, in_clear: false },
            Source::confirmed("47 CFR 97.119"),
        )),
        removable_antenna: Cited::new(true, Source::memory("47 CFR Part 97")),
        longest_transmission_s: None,
    }
}

fn band(low_khz: i64, high_khz: i64, source: &Source) -> ServiceBand {
    let limit = StationLimit {
        stations: Vec::new(),
        limit: PowerLimit::fixed(PowerKind::PeakEnvelope, 1500.0),
        period: Period::ALWAYS,
        source: Source::confirmed("47 CFR 97.313(b)"),
    };
    let band = Band::fixed(Hertz::khz(low_khz), Hertz::khz(high_khz));
    ServiceBand {
        band,
        local: Local::default(),
        widths: Vec::new(),
        limits: vec![limit],
        stability: Vec::new(),
        source: source.clone(),
    }
}

/// Closed to repeater inputs and outputs alike.
fn repeater_excluded() -> Vec<Cited<Band>> {
    let segment =
        |(low, high)| Cited::new(Band::fixed(Hertz::khz(low), Hertz::khz(high)), Source::confirmed("47 CFR 97.205(b)"));
    let segments = [
        (28_000, 29_500),
        (50_000, 51_000),
        (144_000, 144_500),
        (145_500, 146_000),
        (222_000, 222_150),
        (431_000, 433_000),
        (435_000, 438_000),
    ];
    segments.into_iter().map(segment).collect()
}
