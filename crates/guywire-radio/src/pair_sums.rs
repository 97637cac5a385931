//! How many pairs of carriers add up to a frequency: a histogram on the raster that the carriers share, or an ordered map
//! where they share none that is coarse enough.

use std::collections::BTreeMap;

use crate::interference::Carrier;

/// Beyond this many bins (4 MB a class), or this many for each pair, the ordered map is used.
const MOST_BINS: i64 = 1_000_000;
const MOST_BINS_A_PAIR: i64 = 16;

/// The raster of all pair sums of a set of carriers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Grid {
    low: i64,
    step: i64,
    bins: i64,
}

impl Grid {
    /// `None` when the set is empty or its raster too fine for its spread and size.
    fn of(carriers: &[Carrier]) -> Option<Grid> {
        let hertz = || carriers.iter().map(|it| it.frequency().get());
        let (low, high) = (hertz().min()?, hertz().max()?);
        let step = hertz().fold(0, |step, it| greatest_common_divisor(step, it - low)).max(1);
        let bins = 2 * (high - low) / step + 1;
        let pairs = (carriers.len() * (carriers.len() + 1) / 2) as i64;
        (bins <= MOST_BINS.min(MOST_BINS_A_PAIR * pairs)).then_some(Grid { low: 2 * low, step, bins })
    }

    fn bin(self, sum: i64) -> Option<usize> {
        let above = sum - self.low;
        let on = above >= 0 && above % self.step == 0 && above / self.step < self.bins;
        on.then(|| (above / self.step) as usize)
    }
}

fn greatest_common_divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

#[derive(Debug, Clone)]
enum Counts {
    Dense(Vec<u32>),
    Sparse(BTreeMap<i64, u32>),
}

/// Pair sums whose two widths add up to the same.
#[derive(Debug, Clone)]
struct Class {
    width_sum: i64,
    counts: Counts,
}

/// Sums of all unordered pairs of a set of carriers, each with itself included.
#[derive(Debug, Clone)]
pub(crate) struct PairSums {
    grid: Option<Grid>,
    classes: Vec<Class>,
}

impl PairSums {
    pub(crate) fn of(carriers: &[Carrier]) -> PairSums {
        let mut sums = PairSums { grid: Grid::of(carriers), classes: Vec::new() };
        for (at, carrier) in carriers.iter().enumerate() {
            sums.change(*carrier, &carriers[..=at], true);
        }
        sums
    }

    /// Whether `carrier` can be added without a new raster.
    pub(crate) fn has_room_for(&self, carrier: Carrier) -> bool {
        let twice = 2 * carrier.frequency().get();
        self.grid.is_none_or(|grid| grid.bin(twice).is_some() && (twice - grid.low) % (2 * grid.step) == 0)
    }

    /// Adds or takes away the pairs of `carrier` with each of `partners`, which hold it once.
    pub(crate) fn change(&mut self, carrier: Carrier, partners: &[Carrier], add: bool) {
        for partner in partners {
            let sum = carrier.frequency().get() + partner.frequency().get();
            let width_sum = carrier.width().get() + partner.width().get();
            self.count_in(width_sum, sum, add);
        }
    }

    fn count_in(&mut self, width_sum: i64, sum: i64, add: bool) {
        let at = match self.classes.iter().position(|it| it.width_sum == width_sum) {
            Some(at) => at,
            None => {
                let counts =
                    self.grid.map_or(Counts::Sparse(BTreeMap::new()), |it| Counts::Dense(vec![0; it.bins as usize]));
                self.classes.push(Class { width_sum, counts });
                self.classes.len() - 1
            }
        };
        let by = |count: u32| if add { count.saturating_add(1) } else { count.saturating_sub(1) };
        match (&mut self.classes[at].counts, self.grid) {
            (Counts::Dense(bins), Some(grid)) => {
                if let Some(count) = grid.bin(sum).and_then(|bin| bins.get_mut(bin)) {
                    *count = by(*count);
                }
            }
            (Counts::Sparse(map), _) => {
                let count = map.entry(sum).or_insert(0);
                *count = by(*count);
                if *count == 0 {
                    map.remove(&sum);
                }
            }
            (Counts::Dense(_), None) => {}
        }
    }

    /// Pairs whose sum is within half of (`width` and the widths of the pair) of `target`, edges included.
    pub(crate) fn near(&self, target: i64, width: i64) -> u64 {
        let in_class = |class: &Class| {
            let reach = class.width_sum + width;
            let (low, high) = ((2 * target - reach + 1).div_euclid(2), (2 * target + reach).div_euclid(2));
            match (&class.counts, self.grid) {
                (Counts::Dense(bins), Some(grid)) => dense_count(bins, grid, low, high),
                (Counts::Sparse(map), _) => map.range(low..=high).map(|it| u64::from(*it.1)).sum(),
                (Counts::Dense(_), None) => 0,
            }
        };
        self.classes.iter().map(in_class).sum()
    }
}

fn dense_count(bins: &[u32], grid: Grid, low: i64, high: i64) -> u64 {
    let first = (low - grid.low + grid.step - 1).div_euclid(grid.step).max(0);
    let last = (high - grid.low).div_euclid(grid.step).min(grid.bins - 1);
    if first > last {
        return 0;
    }
    bins[first as usize..=last as usize].iter().map(|it| u64::from(*it)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frequency::Hertz;
    use proptest::prelude::*;

    fn brute(carriers: &[Carrier], target: i64, width: i64) -> u64 {
        let mut count = 0;
        for (at, a) in carriers.iter().enumerate() {
            for b in &carriers[at..] {
                let apart = (a.frequency().get() + b.frequency().get() - target).abs();
                count += u64::from(2 * apart <= a.width().get() + b.width().get() + width);
            }
        }
        count
    }

    proptest! {
        #[test]
        fn agrees_with_counting_every_pair(
            fine: bool,
            picks in proptest::collection::btree_map(0_i64..60, 0_usize..3, 1..12),
            target in 899_000_000_i64..902_000_000,
            width in 1_i64..60_000,
        ) {
            let spread = if fine { 1_000_000_001 } else { 0 };
            let carriers: Vec<Carrier> = picks
                .into_iter()
                .map(|(at, w)| Carrier::new(Hertz(450_000_000 + at * 6_250 + (at % 2) * spread), Hertz([7_600, 11_200, 16_001][w])).unwrap())
                .collect();
            let sums = PairSums::of(&carriers);
            prop_assert_eq!(sums.near(target, width), brute(&carriers, target, width));
        }
    }

    fn narrow(hz: i64) -> Carrier {
        Carrier::new(Hertz(hz), Hertz(1)).unwrap()
    }

    #[test]
    fn the_histogram_is_on_the_common_raster() {
        let carriers = [450_000_000, 450_012_500, 450_031_250].map(narrow);
        assert_eq!(Grid::of(&carriers), Some(Grid { low: 900_000_000, step: 6_250, bins: 11 }));
        let grid = Grid::of(&carriers).unwrap();
        assert_eq!((grid.bin(900_000_000), grid.bin(900_062_500)), (Some(0), Some(10)));
        assert_eq!([899_993_750, 900_068_750, 900_000_001].map(|it| grid.bin(it)), [None; 3]);
        let sums = PairSums::of(&carriers);
        assert!(sums.has_room_for(narrow(450_018_750)) && sums.has_room_for(narrow(450_031_250)));
        // Half a step, below, above.
        for hz in [450_003_125, 449_993_750, 450_037_500] {
            assert!(!sums.has_room_for(narrow(hz)), "{hz}");
        }
    }

    #[test]
    fn an_odd_reach_is_halved_inward() {
        // One pair, sum 200; widths 1, 1 and 1 reach 1.5 Hz.
        let sums = PairSums::of(&[narrow(100)]);
        let counts: Vec<u64> = (197..=203).map(|target| sums.near(target, 1)).collect();
        assert_eq!(counts, [0, 0, 1, 1, 1, 0, 0]);
    }

    #[test]
    fn a_fine_raster_over_a_wide_spread_uses_the_map() {
        let carrier = |hz| Carrier::new(Hertz(hz), Hertz(10_000)).unwrap();
        let carriers = [carrier(150_000_001), carrier(470_000_000), carrier(470_000_003)];
        assert_eq!(Grid::of(&carriers), None);
        let sums = PairSums::of(&carriers);
        assert_eq!(sums.near(620_000_001, 1), brute(&carriers, 620_000_001, 1));
        assert_eq!(Grid::of(&[]), None);
        assert_eq!(PairSums::of(&[]).near(1, 1), 0);
    }
}
