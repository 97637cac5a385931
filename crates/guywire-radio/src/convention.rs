//! Paired frequencies and rasters by service, as data, and how a plan's pair stands to them.

use std::borrow::Cow;

use crate::frequency::{Band, Hertz, Raster};
use crate::source::Source;

/// How binding a published pair is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Force {
    /// Pairs stand in a regulation.
    Law,
    /// A published band plan, which national plans may vary.
    BandPlan,
    /// A habit, often regional: never a reason to warn.
    CommonPractice,
}

/// Repeater outputs in a band and where their inputs lie.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PairConvention {
    /// Where outputs (what a repeater sends) lie.
    pub output: Band,
    /// Input minus output.
    pub shift: Hertz,
    /// How binding it is.
    pub force: Force,
    /// Where it stands, and what is said there.
    pub source: Source,
}

/// Carriers that a service assigns within a band.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublishedRaster {
    /// Where it holds.
    pub band: Band,
    /// The carriers.
    pub raster: Raster,
    /// Only for channels of this width; absent: for every width.
    pub width: Option<Hertz>,
    /// Where it stands.
    pub source: Source,
}

/// What kind of radio a pair is judged for: it decides which side is the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RadioKind {
    /// Carried by hand: sends on the input.
    Handheld,
    /// In a vehicle or vessel: sends on the input.
    Mobile,
    /// Fixed: may send on the output (as a base) or the input (as a control station), so no order is wrong.
    Base,
    /// Sends on the output.
    Repeater,
}

/// How a pair of carriers stands to the conventions of its service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PairVerdict<'c> {
    /// Sends where it receives.
    Simplex,
    /// As published.
    Usual(&'c PairConvention),
    /// The two carriers of a published pair, exchanged.
    Reversed(&'c PairConvention),
    /// In a band with published pairs, at another spacing; the nearest in spacing is given.
    Unusual(&'c PairConvention),
    /// No convention reaches this pair.
    NoConvention,
}

impl PairConvention {
    /// Whether `output` and `input` are a pair of this convention.
    pub fn fits(&self, output: Hertz, input: Hertz) -> bool {
        self.output.contains(output) && input - output == self.shift
    }
}

/// Judges the carriers that a radio of `kind` sends and receives on.
pub fn judge_pair<'c>(
    conventions: &'c [PairConvention],
    sends: Hertz,
    receives: Hertz,
    kind: RadioKind,
) -> PairVerdict<'c> {
    if sends == receives {
        return PairVerdict::Simplex;
    }
    let (output, input) = if kind == RadioKind::Repeater { (sends, receives) } else { (receives, sends) };
    let pairs = |output, input| conventions.iter().find(move |it| it.fits(output, input));
    if let Some(found) = pairs(output, input) {
        return PairVerdict::Usual(found);
    }
    if let Some(found) = pairs(input, output) {
        return if kind == RadioKind::Base { PairVerdict::Usual(found) } else { PairVerdict::Reversed(found) };
    }
    let here = conventions.iter().filter(|it| it.output.contains(output));
    let nearest = here.min_by_key(|it| it.shift.spacing(input - output));
    nearest.map_or(PairVerdict::NoConvention, PairVerdict::Unusual)
}

const fn pair(low: i64, high: i64, shift: i64, force: Force, source: Source) -> PairConvention {
    PairConvention { output: Band::fixed(Hertz(low), Hertz(high)), shift: Hertz(shift), force, source }
}

const fn cited(cite: &'static str, standing: crate::source::Standing) -> Source {
    Source { cite: Cow::Borrowed(cite), standing }
}

/// General mobile radio: 462 MHz outputs, inputs 5 MHz above.
pub fn general_mobile_pairs() -> Vec<PairConvention> {
    let source = Source::confirmed("47 CFR 95.1763");
    vec![pair(462_550_000, 462_725_000, 5_000_000, Force::Law, source)]
}

/// Private land mobile. None is published for 150-174 MHz.
pub fn land_mobile_pairs() -> Vec<PairConvention> {
    let mut pairs = vec![pair(220_000_000, 221_000_000, 1_000_000, Force::Law, Source::confirmed("47 CFR 90.715"))];
    for low in [450_000_000, 460_000_000] {
        let source = Source::secondary("47 CFR 90.20, 90.35 (paired lists)");
        pairs.push(pair(low, low + 5_000_000, 5_000_000, Force::Law, source));
    }
    for channel in 0..7 {
        let low = 470_000_000 + channel * 6_000_000;
        pairs.push(pair(low, low + 3_000_000, 3_000_000, Force::Law, Source::confirmed("47 CFR 90.311(a)")));
    }
    pairs
}

/// Maritime duplex channels: the coast station sends 4.6 MHz above the ship.
pub fn maritime_pairs() -> Vec<PairConvention> {
    vec![pair(160_625_000, 162_025_000, -4_600_000, Force::Law, Source::confirmed("47 CFR 80.871"))]
}

/// Amateur repeaters in the United States: habits, regional.
pub fn united_states_amateur_pairs() -> Vec<PairConvention> {
    let practice = || cited("regional amateur practice", crate::source::Standing::CommonPractice);
    let usual = |low, high, shift| pair(low, high, shift, Force::CommonPractice, practice());
    vec![
        usual(144_500_000, 147_000_000, -600_000),
        usual(147_000_000, 148_000_000, 600_000),
        usual(222_000_000, 225_000_000, -1_600_000),
        usual(440_000_000, 450_000_000, 5_000_000),
        usual(440_000_000, 450_000_000, -5_000_000),
    ]
}

/// Amateur repeaters in ITU Region 1.
pub fn region_1_amateur_pairs() -> Vec<PairConvention> {
    let plan = |low, high, shift| {
        pair(low, high, shift, Force::BandPlan, Source::confirmed("IARU Region 1 VHF and UHF band plans"))
    };
    vec![
        plan(145_600_000, 145_787_500, -600_000),
        plan(434_600_000, 434_975_000, -1_600_000),
        plan(434_600_000, 434_975_000, -2_000_000),
        plan(438_650_000, 439_425_000, -7_600_000),
    ]
}

/// Amateur repeaters in the United Kingdom, 70 cm: the opposite sense to the Region 1 plan. The shifts are from memory.
pub fn united_kingdom_amateur_pairs() -> Vec<PairConvention> {
    let practice = || cited("national amateur practice", crate::source::Standing::CommonPractice);
    let usual = |low, high, shift| pair(low, high, shift, Force::CommonPractice, practice());
    vec![
        usual(430_800_000, 431_000_000, 7_600_000),
        usual(433_000_000, 433_375_000, 1_600_000),
        usual(439_000_000, 440_000_000, -9_000_000),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mhz(text: &str) -> Hertz {
        Hertz::from_mhz_text(text).unwrap()
    }

    fn shift_of(verdict: PairVerdict<'_>) -> Option<Hertz> {
        match verdict {
            PairVerdict::Usual(it) => Some(it.shift),
            _ => None,
        }
    }

    #[test]
    fn shift_is_input_minus_output() {
        // 47 CFR 95.1763; IARU Region 1 band plans.
        let handheld = |pairs: &[PairConvention], receives, sends| {
            shift_of(judge_pair(pairs, mhz(sends), mhz(receives), RadioKind::Handheld))
        };
        assert_eq!(handheld(&general_mobile_pairs(), "462.550", "467.550"), Some(Hertz::mhz(5)));
        assert_eq!(handheld(&region_1_amateur_pairs(), "145.600", "145.000"), Some(Hertz::khz(-600)));
        assert_eq!(handheld(&region_1_amateur_pairs(), "438.650", "431.050"), Some(Hertz::khz(-7_600)));
        assert_eq!(handheld(&maritime_pairs(), "160.650", "156.050"), Some(Hertz::khz(-4_600)));
        assert_eq!(handheld(&land_mobile_pairs(), "471.5", "474.5"), Some(Hertz::mhz(3)));
    }

    #[test]
    fn the_kind_of_radio_decides_which_side_is_wrong() {
        let pairs = general_mobile_pairs();
        let (output, input) = (mhz("462.550"), mhz("467.550"));
        let judge = |sends, receives, kind| judge_pair(&pairs, sends, receives, kind);
        assert!(matches!(judge(output, input, RadioKind::Repeater), PairVerdict::Usual(_)));
        assert!(matches!(judge(output, input, RadioKind::Handheld), PairVerdict::Reversed(_)));
        assert!(matches!(judge(input, output, RadioKind::Repeater), PairVerdict::Reversed(_)));
        assert!(matches!(judge(output, input, RadioKind::Base), PairVerdict::Usual(_)));
        assert!(matches!(judge(input, output, RadioKind::Base), PairVerdict::Usual(_)));
        let region_1 = region_1_amateur_pairs();
        let off = judge_pair(&region_1, mhz("433.050"), mhz("434.650"), RadioKind::Handheld);
        assert_eq!(shift_of(off), Some(Hertz::khz(-1_600)));
        let off = judge_pair(&region_1, mhz("432.750"), mhz("434.650"), RadioKind::Handheld);
        // 1.9 MHz below: nearer to the 2.0 of the plan than to its 1.6.
        assert!(matches!(off, PairVerdict::Unusual(it) if it.shift == Hertz::khz(-2_000)));
        assert_eq!(judge(output, output, RadioKind::Mobile), PairVerdict::Simplex);
        assert!(matches!(judge(mhz("467.575"), output, RadioKind::Mobile), PairVerdict::Unusual(_)));
        assert_eq!(judge(mhz("155.1"), mhz("155.2"), RadioKind::Mobile), PairVerdict::NoConvention);
    }

    #[test]
    fn the_sense_of_a_shift_is_no_global_constant() {
        let (output, input) = (mhz("433.050"), mhz("434.650"));
        let uk = united_kingdom_amateur_pairs();
        let region_1 = region_1_amateur_pairs();
        assert!(matches!(judge_pair(&uk, input, output, RadioKind::Handheld), PairVerdict::Usual(_)));
        assert!(matches!(judge_pair(&region_1, input, output, RadioKind::Handheld), PairVerdict::Reversed(_)));
    }

    proptest! {
        #[test]
        fn exchanging_kind_and_carriers_changes_nothing(output in 440_000_000_i64..500_000_000, shift in -8_000_000_i64..8_000_000) {
            let pairs = land_mobile_pairs();
            let (output, input) = (Hertz(output), Hertz(output + shift));
            let mobile = judge_pair(&pairs, input, output, RadioKind::Mobile);
            prop_assert_eq!(mobile, judge_pair(&pairs, output, input, RadioKind::Repeater));
        }
    }
}
