//! Frequencies on which nothing may be sent but what they are for.

use crate::frequency::{Band, Hertz};
use crate::source::Source;

/// Whether anything can make a transmission there right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Protection {
    /// Distress and safety: never to be waived.
    Never,
    /// Only with an assignment that names the channel.
    UnlessAssigned,
}

/// A protected range.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Protected {
    /// Spectrum that must be kept clear.
    pub band: Band,
    /// What it is for.
    pub purpose: &'static str,
    /// Whether an assignment can allow it.
    pub protection: Protection,
    /// Where it stands.
    pub source: Source,
}

const fn range(low: i64, high: i64, purpose: &'static str, protection: Protection, source: Source) -> Protected {
    Protected { band: Band::fixed(Hertz(low), Hertz(high)), purpose, protection, source }
}

/// A channel of 25 kHz.
const fn spot(carrier: i64, purpose: &'static str, protection: Protection, source: Source) -> Protected {
    range(carrier - 12_500, carrier + 12_500, purpose, protection, source)
}

/// What is protected, the never-waivable first.
pub static PROTECTED: [Protected; 22] = {
    use Protection::{Never, UnlessAssigned};
    const DISTRESS: Source = Source::confirmed("RR Article 31, Appendix 15; 47 CFR 80.313, 87.195");
    const MARITIME: Source = Source::confirmed("RR Appendices 15 and 18; 47 CFR 80.313, 80.379");
    const AERONAUTICAL: Source = Source::secondary("RR Article 5");
    const WEATHER: Source = Source::confirmed("national weather service, list of broadcast frequencies");
    [
        spot(121_500_000, "aeronautical distress", Never, DISTRESS),
        spot(243_000_000, "aeronautical distress", Never, DISTRESS),
        range(406_000_000, 406_100_000, "distress beacons to satellite", Never, DISTRESS),
        spot(156_525_000, "digital selective calling for distress (channel 70)", Never, MARITIME),
        spot(161_975_000, "automatic identification system 1", Never, MARITIME),
        spot(162_025_000, "automatic identification system 2", Never, MARITIME),
        spot(156_800_000, "maritime distress and calling (channel 16)", UnlessAssigned, MARITIME),
        spot(123_100_000, "aeronautical search and rescue", UnlessAssigned, DISTRESS),
        spot(156_775_000, "guard of channel 16 (channel 75)", UnlessAssigned, MARITIME),
        spot(156_825_000, "guard of channel 16 (channel 76)", UnlessAssigned, MARITIME),
        spot(156_650_000, "bridge to bridge (channel 13)", UnlessAssigned, MARITIME),
        spot(156_300_000, "ships in search and rescue (channel 6)", UnlessAssigned, MARITIME),
        range(108_000_000, 117_975_000, "aeronautical navigation", UnlessAssigned, AERONAUTICAL),
        range(117_975_000, 137_000_000, "aeronautical voice", UnlessAssigned, AERONAUTICAL),
        spot(162_400_000, "weather broadcast", UnlessAssigned, WEATHER),
        spot(162_425_000, "weather broadcast", UnlessAssigned, WEATHER),
        spot(162_450_000, "weather broadcast", UnlessAssigned, WEATHER),
        spot(162_475_000, "weather broadcast", UnlessAssigned, WEATHER),
        spot(162_500_000, "weather broadcast", UnlessAssigned, WEATHER),
        spot(162_525_000, "weather broadcast", UnlessAssigned, WEATHER),
        spot(162_550_000, "weather broadcast", UnlessAssigned, WEATHER),
        range(406_100_000, 410_000_000, "radio astronomy", UnlessAssigned, Source::memory("RR Article 5")),
    ]
};

/// The protected range that a transmission occupying `occupied` reaches into, the never-waivable first.
pub fn protected_by(occupied: Band) -> Option<&'static Protected> {
    PROTECTED.iter().find(|it| it.band.overlaps(occupied))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(mhz: &str, khz: &str) -> Option<Protection> {
        let carrier = Hertz::from_mhz_text(mhz).unwrap();
        let width = Hertz::from_khz_text(khz).unwrap();
        protected_by(Band::around(carrier, width).unwrap()).map(|it| it.protection)
    }

    #[test]
    fn never_and_unless_assigned() {
        // RR Article 31 and Appendices 15 and 18; 47 CFR 80.313, 80.379, 87.195.
        for mhz in ["121.5", "243.0", "406.025", "406.05", "156.525", "161.975", "162.025"] {
            assert_eq!(judged(mhz, "6"), Some(Protection::Never), "{mhz}");
        }
        for mhz in ["156.8", "156.775", "118.0", "123.1", "108.1", "162.55", "156.65"] {
            assert_eq!(judged(mhz, "16"), Some(Protection::UnlessAssigned), "{mhz}");
        }
        // An emission half a channel away still reaches into channel 16.
        assert_eq!(judged("156.8125", "25"), Some(Protection::UnlessAssigned));
        assert_eq!(judged("151.820", "11.25"), None);
        assert_eq!(judged("453.2125", "11.2"), None);
    }

    #[test]
    fn never_comes_first_and_no_range_stands_twice() {
        assert!(PROTECTED.is_sorted_by_key(|it| it.protection));
        for (at, it) in PROTECTED.iter().enumerate() {
            assert!(PROTECTED[at + 1..].iter().all(|other| other.band != it.band), "{}", it.band);
        }
        let never = PROTECTED.iter().filter(|it| it.protection == Protection::Never);
        assert!(never.clone().all(|it| it.source.standing.supports_error()) && never.count() == 6);
    }
}
