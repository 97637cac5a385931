//! Continuous tones below the speech band (CTCSS).

use std::fmt;

use crate::source::Source;
use crate::tone::ToneError;

/// Groups A, B and C of the 37 tones.
pub const EIA_SOURCE: Source = Source::confirmed("TIA-603");
/// The values 97.4, 69.3, 206.5, 229.1 and 254.1 Hz.
pub const EXTRA_SOURCE: Source = Source::secondary("common tone lists of 38 and 42 tones");
/// The eight tones spaced 1.5 %.
pub const CLOSE_SOURCE: Source = Source::memory("tone lists of 50 tones");

/// Two tones closer than this open each other's receivers: decoders work within about 0.5 % and drift adds up
/// (common practice, no source). In tenths of a percent.
pub const CONFUSABLE_BELOW_PER_MILLE: u32 = 25;

/// A harmonic of the mains this near a tone may open the receiver: the distance at which a published tone list stars
/// 100.0, 118.8, 151.4 and 179.9 Hz. In tenths of a hertz.
pub const MAINS_WITHIN_TENTHS: u16 = 20;

/// The turn-off tone that ends a DCS transmission, in tenths of a hertz (from memory).
pub const DCS_TURN_OFF_TENTHS: u16 = 1344;

/// Which published or customary list a tone belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ToneSet {
    /// EIA group A: tones of one group are at least 7 % apart.
    GroupA,
    /// EIA group B.
    GroupB,
    /// EIA group C.
    GroupC,
    /// The 38th tone, 97.4 Hz.
    Extra38,
    /// The four that complete lists of 42.
    Extra42,
    /// The eight that complete lists of 50, about 1.5 % from their neighbors: many radios lack them.
    Extra50,
}

impl ToneSet {
    /// Where the values of this set are published.
    pub const fn source(self) -> Source {
        match self {
            ToneSet::GroupA | ToneSet::GroupB | ToneSet::GroupC => EIA_SOURCE,
            ToneSet::Extra38 | ToneSet::Extra42 => EXTRA_SOURCE,
            ToneSet::Extra50 => CLOSE_SOURCE,
        }
    }
}

/// A tone in tenths of a hertz, 50.0 to 300.0 Hz; not necessarily one of the standard fifty.
/// `Display` is hertz with one decimal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Ctcss(u16);

/// A standard tone and the list that it is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct StandardTone {
    /// The tone.
    pub tone: Ctcss,
    /// Its list.
    pub set: ToneSet,
}

/// The harmonic of the mains near a tone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct MainsNeighbor {
    /// Frequency of the harmonic, Hz.
    pub harmonic_hz: u16,
    /// Tone minus harmonic, tenths of a hertz.
    pub offset_tenths: i16,
}

const fn tone(tenths: u16, set: ToneSet) -> StandardTone {
    StandardTone { tone: Ctcss(tenths), set }
}

/// The fifty tones in rising order; sources by [`ToneSet::source`].
pub const STANDARD_TONES: [StandardTone; 50] = {
    use ToneSet::{Extra38, Extra42, Extra50, GroupA, GroupB, GroupC};
    [
        tone(670, GroupA),
        tone(693, Extra42),
        tone(719, GroupB),
        tone(744, GroupC),
        tone(770, GroupA),
        tone(797, GroupC),
        tone(825, GroupB),
        tone(854, GroupC),
        tone(885, GroupA),
        tone(915, GroupC),
        tone(948, GroupB),
        tone(974, Extra38),
        tone(1000, GroupA),
        tone(1035, GroupB),
        tone(1072, GroupA),
        tone(1109, GroupB),
        tone(1148, GroupA),
        tone(1188, GroupB),
        tone(1230, GroupA),
        tone(1273, GroupB),
        tone(1318, GroupA),
        tone(1365, GroupB),
        tone(1413, GroupA),
        tone(1462, GroupB),
        tone(1514, GroupA),
        tone(1567, GroupB),
        tone(1598, Extra50),
        tone(1622, GroupA),
        tone(1655, Extra50),
        tone(1679, GroupB),
        tone(1713, Extra50),
        tone(1738, GroupA),
        tone(1773, Extra50),
        tone(1799, GroupB),
        tone(1835, Extra50),
        tone(1862, GroupA),
        tone(1899, Extra50),
        tone(1928, GroupB),
        tone(1966, Extra50),
        tone(1995, Extra50),
        tone(2035, GroupA),
        tone(2065, Extra42),
        tone(2107, GroupB),
        tone(2181, GroupA),
        tone(2257, GroupB),
        tone(2291, Extra42),
        tone(2336, GroupA),
        tone(2418, GroupB),
        tone(2503, GroupA),
        tone(2541, Extra42),
    ]
};

impl Ctcss {
    /// A tone of `tenths` of a hertz.
    ///
    /// # Errors
    /// [`ToneError::MissingPoint`] when a tenth of the value is a standard tone, else [`ToneError::OutOfRange`] outside
    /// 50.0 to 300.0 Hz.
    pub fn from_tenths(tenths: u32) -> Result<Ctcss, ToneError> {
        if let Ok(small @ 500..=3000) = u16::try_from(tenths) {
            return Ok(Ctcss(small));
        }
        let tenth = u16::try_from(tenths / 10).ok().map(Ctcss).filter(|it| it.standard().is_some());
        match tenth {
            Some(meant) if tenths.is_multiple_of(10) => {
                Err(ToneError::MissingPoint { suggestion: format!("CTCSS {meant}") })
            }
            _ => Err(ToneError::OutOfRange),
        }
    }

    /// Tenths of a hertz.
    pub const fn tenths(self) -> u16 {
        self.0
    }

    /// The table entry, unless the tone is not one of the fifty.
    pub fn standard(self) -> Option<StandardTone> {
        STANDARD_TONES.iter().find(|it| it.tone == self).copied()
    }

    /// The nearest of the fifty; the lower one when halfway.
    pub fn nearest(self) -> StandardTone {
        let near = |a: StandardTone, b: StandardTone| {
            if self.0.abs_diff(b.tone.0) < self.0.abs_diff(a.tone.0) { b } else { a }
        };
        STANDARD_TONES.iter().copied().fold(STANDARD_TONES[0], near)
    }

    /// Whether the two differ by less than [`CONFUSABLE_BELOW_PER_MILLE`] of the lower. Equal tones are not confusable,
    /// they are the same.
    pub fn confusable(self, other: Ctcss) -> bool {
        let apart = u32::from(self.0.abs_diff(other.0));
        apart != 0 && apart * 1000 < CONFUSABLE_BELOW_PER_MILLE * u32::from(self.0.min(other.0))
    }

    /// How far `other` is from `self`, in percent of the lower.
    pub fn separation_percent(self, other: Ctcss) -> f64 {
        f64::from(self.0.abs_diff(other.0)) * 100.0 / f64::from(self.0.min(other.0))
    }

    /// The harmonic of `mains_hz` (40 to 70 Hz; anything else has none) within 2 Hz of the tone.
    pub fn near_mains(self, mains_hz: u16) -> Option<MainsNeighbor> {
        if !(40..=70).contains(&mains_hz) {
            return None;
        }
        let step = mains_hz * 10;
        let harmonic = (self.0 + step / 2) / step * step;
        let offset_tenths = self.0.cast_signed() - harmonic.cast_signed();
        let near = harmonic > 0 && offset_tenths.unsigned_abs() <= MAINS_WITHIN_TENTHS;
        near.then_some(MainsNeighbor { harmonic_hz: harmonic / 10, offset_tenths })
    }

    /// Whether the tone is confusable with the tone that ends a DCS transmission (from memory: information at most).
    pub fn near_dcs_turn_off(self) -> bool {
        self.confusable(Ctcss(DCS_TURN_OFF_TENTHS))
    }
}

impl fmt::Display for Ctcss {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.0 / 10, self.0 % 10)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn hz(tenths: u32) -> Ctcss {
        Ctcss::from_tenths(tenths).unwrap()
    }

    #[test]
    fn the_lists_have_their_published_sizes() {
        // TIA-603: 37 tones in groups A, B and C; common lists of 38, 42 and 50.
        let count = |sets: &[ToneSet]| STANDARD_TONES.iter().filter(|it| sets.contains(&it.set)).count();
        assert_eq!(count(&[ToneSet::GroupA, ToneSet::GroupB, ToneSet::GroupC]), 37);
        assert_eq!(count(&[ToneSet::Extra38]), 1);
        assert_eq!(count(&[ToneSet::Extra42]), 4);
        assert_eq!(count(&[ToneSet::Extra50]), 8);
        assert!(STANDARD_TONES.is_sorted_by_key(|it| it.tone));
    }

    #[test]
    fn closest_pair_inside_one_group() {
        // TIA-603 groups: 107.2 and 114.8 Hz, 7.09 %.
        let mut closest = (f64::MAX, STANDARD_TONES[0].tone, STANDARD_TONES[0].tone);
        for set in [ToneSet::GroupA, ToneSet::GroupB, ToneSet::GroupC] {
            let group: Vec<_> = STANDARD_TONES.iter().filter(|it| it.set == set).map(|it| it.tone).collect();
            for pair in group.windows(2) {
                let apart = pair[0].separation_percent(pair[1]);
                if apart < closest.0 {
                    closest = (apart, pair[0], pair[1]);
                }
            }
        }
        assert_eq!((closest.1, closest.2), (hz(1072), hz(1148)));
        assert!((closest.0 - 7.09).abs() < 0.005);
    }

    #[test]
    fn twenty_neighbors_are_confusable() {
        // Computed from the table.
        let close: Vec<_> = STANDARD_TONES
            .windows(2)
            .filter(|pair| pair[0].tone.confusable(pair[1].tone))
            .map(|pair| pair[0].tone.tenths())
            .collect();
        assert_eq!(close.len(), 20);
        assert_eq!((close[0], close[16]), (1567, 2065));
        assert_eq!(close[17..], [2257, 2291, 2503]);
        assert!(hz(2035).confusable(hz(2065)) && !hz(2035).confusable(hz(2107)) && !hz(885).confusable(hz(915)));
    }

    #[test]
    fn mains_neighbors() {
        // A published tone list stars 100.0, 118.8, 151.4 and 179.9; the same 2 Hz adds three.
        let starred: Vec<_> = STANDARD_TONES
            .iter()
            .map(|it| it.tone)
            .filter(|it| it.near_mains(50).is_some() || it.near_mains(60).is_some())
            .map(Ctcss::tenths)
            .collect();
        assert_eq!(starred, [1000, 1188, 1514, 1799, 1995, 2418, 2503]);
        assert_eq!(hz(1188).near_mains(60), Some(MainsNeighbor { harmonic_hz: 120, offset_tenths: -12 }));
        assert_eq!(hz(1188).near_mains(50), None);
        assert_eq!(hz(1000).near_mains(0), None);
    }

    #[test]
    fn turn_off_tone_is_near_two() {
        let near: Vec<_> = STANDARD_TONES.iter().filter(|it| it.tone.near_dcs_turn_off()).map(|it| it.tone).collect();
        assert_eq!(near, [hz(1318), hz(1365)]);
    }

    proptest! {
        #[test]
        fn nearest_is_the_nearest(tenths in 500_u32..=3000) {
            let near = hz(tenths).nearest();
            for it in &STANDARD_TONES {
                prop_assert!(it.tone.tenths().abs_diff(tenths as u16) >= near.tone.tenths().abs_diff(tenths as u16));
            }
        }

        #[test]
        fn confusable_is_symmetric_and_agrees_with_percent(a in 500_u32..=3000, b in 500_u32..=3000) {
            let (a, b) = (hz(a), hz(b));
            prop_assert_eq!(a.confusable(b), b.confusable(a));
            prop_assert_eq!(a.confusable(b), a != b && a.separation_percent(b) < 2.5 - 1e-9);
        }
    }
}
