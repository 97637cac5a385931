//! Maritime VHF, Radio Regulations Appendix 18 as 47 CFR Part 80 prints it.

use super::{ChannelUse, Cited, Licensing, Local, Period, PrivacyRule, ServiceChannel, StationLimit, Terms, width};
use crate::convention::{PublishedRaster, maritime_pairs};
use crate::emission::Kind;
use crate::frequency::{Band, Hertz, Raster};
use crate::power::{PowerKind, PowerLimit};
use crate::source::Source;

const CHANNELS: Source = Source::confirmed("47 CFR 80.871, 80.379; RR Appendix 18");
const UNREAD: Source = Source::memory("RR Appendix 18");
const COAST_ABOVE_SHIP: Hertz = Hertz(4_600_000);

/// One-frequency channels that were read in a table.
const SIMPLEX: [i64; 17] = [6, 8, 9, 10, 12, 13, 14, 15, 16, 17, 67, 70, 72, 73, 75, 76, 77];
/// One-frequency channels from memory.
const SIMPLEX_UNREAD: [i64; 5] = [11, 68, 69, 71, 74];
/// 1 W at most, from memory.
const ONE_WATT: [i64; 4] = [15, 17, 75, 76];

pub(super) fn maritime_vhf() -> Terms {
    let band = Band::fixed(Hertz::mhz(156), Hertz::khz(162_050));
    let raster = Raster::fixed(Hertz::mhz(156), Hertz(25_000));
    Terms {
        name: "maritime-vhf".into(),
        title: "maritime VHF, Radio Regulations Appendix 18".into(),
        licensing: Licensing::Ship,
        shared: true,
        coverage: UNREAD,
        bands: Vec::new(),
        channels: (1..=28).chain(60..=88).flat_map(channels).collect(),
        rasters: vec![PublishedRaster { band, raster, width: None, source: CHANNELS }],
        pairs: maritime_pairs(),
        repeater_excluded: Vec::new(),
        repeaters: Cited::new(false, UNREAD),
        emissions: Some(Cited::new(
            vec![Kind::of('F', '3', 'E'), Kind::of('G', '2', 'B')],
            Source::memory("RR Appendix 18; 47 CFR 80.207"),
        )),
        privacy: Cited::new(PrivacyRule::Unstated, UNREAD),
        identification: None,
        removable_antenna: Cited::new(true, UNREAD),
        longest_transmission_s: None,
    }
}

fn ship(number: i64) -> Hertz {
    if number < 60 { Hertz(156_050_000 + 50_000 * (number - 1)) } else { Hertz(156_025_000 + 50_000 * (number - 60)) }
}

fn channels(number: i64) -> Vec<ServiceChannel> {
    if SIMPLEX.contains(&number) || SIMPLEX_UNREAD.contains(&number) {
        return vec![channel(number, "", ship(number), ChannelUse::Simplex)];
    }
    let coast = ship(number) + COAST_ABOVE_SHIP;
    vec![
        channel(number, "", ship(number), ChannelUse::ShipSide),
        channel(number, " coast", coast, ChannelUse::CoastSide),
    ]
}

fn channel(number: i64, side: &str, carrier: Hertz, usage: ChannelUse) -> ServiceChannel {
    let watts = if ONE_WATT.contains(&number) { 1.0 } else { 25.0 };
    let limit = StationLimit {
        stations: Vec::new(),
        limit: PowerLimit::fixed(PowerKind::Output, watts),
        period: Period::ALWAYS,
        source: UNREAD,
    };
    ServiceChannel {
        label: format!("{number:02}{side}").into(),
        carrier,
        usage,
        stations: Cited::new(Vec::new(), UNREAD),
        widths: width(Hertz(25_000), Source::confirmed("47 CFR 80.205(b)")),
        limits: vec![limit],
        stability: Vec::new(),
        local: Local::default(),
        note: note(number, usage).map(Into::into),
        source: if SIMPLEX_UNREAD.contains(&number) { UNREAD } else { CHANNELS },
    }
}

const fn note(number: i64, usage: ChannelUse) -> Option<&'static str> {
    match (number, usage) {
        (16, _) => Some("distress, safety and calling"),
        (70, _) => Some("digital selective calling only, no voice"),
        (75 | 76, _) => Some("guard of channel 16, navigation only"),
        (13, _) => Some("bridge to bridge, safety of navigation"),
        (6, _) => Some("between ships, search and rescue"),
        (87 | 88, ChannelUse::CoastSide) => Some("automatic identification system only"),
        _ => None,
    }
}
