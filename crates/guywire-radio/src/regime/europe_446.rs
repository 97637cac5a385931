//! European 446 MHz, ECC/DEC/(15)05: license-exempt hand-portable radios.

use super::{
    ChannelUse, Cited, Licensing, Local, Period, PrivacyRule, ServiceChannel, Station, StationLimit, Terms, width,
};
use crate::convention::PublishedRaster;
use crate::frequency::{Band, Hertz, Raster};
use crate::power::{PowerKind, PowerLimit};
use crate::source::Source;

const DECISION: Source = Source::confirmed("ECC/DEC/(15)05");

pub(super) fn europe_446() -> Terms {
    let grids = [(16, 446_006_250, 12_500), (32, 446_003_125, 6_250)];
    Terms {
        name: "eu-446".into(),
        title: "European 446 MHz, ECC/DEC/(15)05".into(),
        licensing: Licensing::ByRule,
        shared: true,
        coverage: DECISION,
        bands: Vec::new(),
        channels: grids.iter().flat_map(|(count, first, step)| grid(*count, *first, *step)).collect(),
        rasters: grids.iter().map(|(_, first, step)| raster(*first, *step)).collect(),
        pairs: Vec::new(),
        repeater_excluded: Vec::new(),
        repeaters: Cited::new(false, DECISION),
        emissions: None,
        privacy: Cited::new(PrivacyRule::Unstated, DECISION),
        identification: None,
        removable_antenna: Cited::new(false, DECISION),
        longest_transmission_s: Some(Cited::new(180, Source::confirmed("EN 300 296, scope"))),
    }
}

fn raster(first: i64, step: i64) -> PublishedRaster {
    PublishedRaster {
        band: Band::fixed(Hertz(446_000_000), Hertz(446_200_000)),
        raster: Raster::fixed(Hertz(first), Hertz(step)),
        width: Some(Hertz(step)),
        source: DECISION,
    }
}

/// Two series of numbers are in use for the digital channels, so the label has the width and no one should key on it.
fn grid(count: i64, first: i64, step: i64) -> impl Iterator<Item = ServiceChannel> {
    (1..=count).map(move |number| ServiceChannel {
        label: format!("{number} ({} kHz)", Hertz(step).khz_text()).into(),
        carrier: Hertz(first + step * (number - 1)),
        usage: ChannelUse::Simplex,
        stations: Cited::new(vec![Station::Handheld], DECISION),
        widths: width(Hertz(step), DECISION),
        limits: vec![half_watt()],
        stability: Vec::new(),
        local: Local::default(),
        note: None,
        source: DECISION,
    })
}

/// A revision to 1 W ERP is in consultation (work item FM62_03), so the limit is data with a period.
fn half_watt() -> StationLimit {
    let limit = PowerLimit::fixed(PowerKind::Erp, 0.5);
    StationLimit { stations: Vec::new(), limit, period: Period::ALWAYS, source: DECISION }
}
