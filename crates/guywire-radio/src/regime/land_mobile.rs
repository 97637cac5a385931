//! 47 CFR Part 90, private land mobile.

use super::{
    Cited, Date, Identification, Licensing, Local, Period, PrivacyRule, ServiceBand, StabilityRule, Station,
    StationLimit, Terms, WidthRule,
};
use crate::convention::{PublishedRaster, land_mobile_pairs};
use crate::frequency::{Band, Hertz, Raster};
use crate::power::{PowerKind, PowerLimit};
use crate::source::Source;

const BASE: [Station; 3] = [Station::Base, Station::Repeater, Station::Fixed];
const MOVING: [Station; 3] = [Station::Handheld, Station::Mobile, Station::Control];
const NARROWBAND: Source = Source::confirmed("47 CFR 90.209(b)(5); FCC DA 12-2078");

pub(super) fn part_90() -> Terms {
    Terms {
        name: "us-part-90".into(),
        title: "private land mobile, 47 CFR Part 90".into(),
        licensing: Licensing::Assigned,
        shared: false,
        coverage: Source::memory("47 CFR Part 90"),
        bands: bands(),
        channels: Vec::new(),
        rasters: rasters(),
        pairs: land_mobile_pairs(),
        repeater_excluded: Vec::new(),
        repeaters: Cited::new(true, Source::memory("47 CFR 90.241, 90.243")),
        emissions: None,
        privacy: Cited::new(PrivacyRule::IdentifyInClear, Source::confirmed("47 CFR 90.425(a)")),
        // 15 minutes; 30 in the Public Safety Pool.
        identification: Some(Cited::new(
            Identification { every_min: 15, in_clear: true },
            Source::confirmed("47 CFR 90.425(a)"),
        )),
        removable_antenna: Cited::new(true, Source::memory("47 CFR Part 90")),
        longest_transmission_s: None,
    }
}

fn bands() -> Vec<ServiceBand> {
    let listed = Source::confirmed("47 CFR 90.210, 90.213 (tables)");
    let vhf =
        ServiceBand { widths: narrowband(), stability: stability(VHF_STABILITY), ..band(150, 174, listed.clone()) };
    let mut bands = vec![vhf];
    for (low, high) in [(421, 430), (450, 470), (470, 512)] {
        let wide = (low == 470).then(waived_band);
        bands.push(ServiceBand {
            widths: wide.unwrap_or_else(narrowband),
            stability: stability(UHF_STABILITY),
            ..band(low, high, listed.clone())
        });
    }
    bands[1].limits.extend(upper_421());
    bands.push(band(220, 222, Source::confirmed("47 CFR 90.715")));
    for (low, high) in [(25, 50), (72, 76), (763, 775), (793, 805), (806, 824), (851, 869), (896, 901), (935, 940)] {
        bands.push(ServiceBand { limits: Vec::new(), ..band(low, high, Source::memory("47 CFR Part 90")) });
    }
    bands
}

fn band(low_mhz: i64, high_mhz: i64, source: Source) -> ServiceBand {
    let ceiling = PowerLimit::fixed(PowerKind::Erp, 500.0);
    let limit = limit(&[], ceiling, Source::memory("47 CFR 90.205"));
    let band = Band::fixed(Hertz::mhz(low_mhz), Hertz::mhz(high_mhz));
    ServiceBand {
        band,
        local: Local::default(),
        widths: Vec::new(),
        limits: vec![limit],
        stability: Vec::new(),
        source,
    }
}

fn limit(stations: &[Station], limit: PowerLimit, source: Source) -> StationLimit {
    StationLimit { stations: stations.to_vec(), limit, period: Period::ALWAYS, source }
}

/// 421-430 MHz; base power falls further with antenna height above 152 m.
fn upper_421() -> [StationLimit; 2] {
    let source = Source::confirmed("47 CFR 90.279");
    [
        limit(&BASE, PowerLimit::fixed(PowerKind::Erp, 250.0), source.clone()),
        limit(&[Station::Control], PowerLimit::fixed(PowerKind::Output, 20.0), source),
    ]
}

/// Since 2013, 12.5 kHz or narrower, or equally efficient.
fn narrowband() -> Vec<WidthRule> {
    let deadline = Date::new(2013, 1, 1);
    let equal = "equipment of equal efficiency (one voice path in 12.5 kHz, or 4800 bit/s in 6.25 kHz) and paging";
    vec![
        WidthRule {
            most: Hertz(25_000),
            period: Period { from: None, until: deadline },
            except: None,
            source: NARROWBAND,
        },
        WidthRule {
            most: Hertz(12_500),
            period: Period { from: deadline, until: None },
            except: Some(equal.into()),
            source: NARROWBAND,
        },
    ]
}

/// 470-512 MHz was excused from the deadline by the order of 26 April 2012.
fn waived_band() -> Vec<WidthRule> {
    super::width(Hertz(25_000), Source::confirmed("FCC DA 12-1743"))
}

const READ: Source = Source::confirmed("47 CFR 90.213");
const UNREAD: Source = Source::memory("47 CFR 90.213");

/// Widest emission, parts in a million of base and fixed stations, and of the others.
type StabilityRow = (i64, (f64, Source), (f64, Source));

/// Mobiles up to 2 W at 25 kHz may have 50 ppm, so the 5 that bind the others are no basis for an error.
const VHF_STABILITY: [StabilityRow; 3] =
    [(25_000, (5.0, READ), (5.0, UNREAD)), (12_500, (2.5, READ), (5.0, UNREAD)), (6_250, (1.0, READ), (2.0, UNREAD))];

const UHF_STABILITY: [StabilityRow; 3] =
    [(25_000, (2.5, READ), (5.0, READ)), (12_500, (1.5, UNREAD), (2.5, UNREAD)), (6_250, (0.5, UNREAD), (1.0, UNREAD))];

fn stability(rows: [StabilityRow; 3]) -> Vec<StabilityRule> {
    let rule = |stations: &[Station], width: i64, (ppm, source): (f64, Source)| StabilityRule {
        stations: stations.to_vec(),
        up_to: Some(Hertz(width)),
        ppm,
        source,
    };
    let both = |(width, fixed, moving)| [rule(&BASE, width, fixed), rule(&MOVING, width, moving)];
    rows.into_iter().flat_map(both).collect()
}

fn rasters() -> Vec<PublishedRaster> {
    let raster = |low, high, step, source| {
        let band = Band::fixed(Hertz::mhz(low), Hertz::mhz(high));
        PublishedRaster { band, raster: Raster::fixed(Hertz::mhz(low), Hertz(step)), width: None, source }
    };
    vec![
        // Channels stand 7.5 kHz apart from several origins, all on multiples of 2.5 kHz.
        raster(150, 174, 2_500, Source::secondary("47 CFR 90.20, 90.35 (channel lists)")),
        raster(421, 430, 6_250, Source::memory("47 CFR 90.20, 90.35 (channel lists)")),
        raster(450, 470, 6_250, Source::secondary("47 CFR 90.20, 90.35 (channel lists)")),
        raster(470, 512, 6_250, Source::confirmed("47 CFR 90.311(a)")),
    ]
}
