//! Intermodulation of the transmitters of one site: 2A-B and A+B-C, on request 3A-2B.
//!
//! A product is as wide as its carriers together, each as often as it counts. On any evenly spaced raster every equally
//! spaced triple is a hit, so only carriers that radiate from one place belong into one [`Intermodulation`].

use std::collections::BTreeMap;
use std::fmt;

use crate::frequency::Hertz;
use crate::interference::Carrier;
use crate::pair_sums::PairSums;

/// A product of carriers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Product {
    /// 2A - B, third order.
    TwoSignalThird {
        /// A.
        doubled: Carrier,
        /// B.
        subtracted: Carrier,
    },
    /// A + B - C, third order, A below B.
    ThreeSignalThird {
        /// A and B.
        added: [Carrier; 2],
        /// C.
        subtracted: Carrier,
    },
    /// 3A - 2B, fifth order.
    TwoSignalFifth {
        /// A.
        tripled: Carrier,
        /// B.
        doubled: Carrier,
    },
}

impl Product {
    /// Center of the product; may be negative.
    pub fn frequency(self) -> Hertz {
        match self {
            Product::TwoSignalThird { doubled, subtracted } => doubled.frequency().times(2) - subtracted.frequency(),
            Product::ThreeSignalThird { added: [a, b], subtracted } => {
                a.frequency() + b.frequency() - subtracted.frequency()
            }
            Product::TwoSignalFifth { tripled, doubled } => tripled.frequency().times(3) - doubled.frequency().times(2),
        }
    }

    /// Width of the product.
    pub fn width(self) -> Hertz {
        match self {
            Product::TwoSignalThird { doubled, subtracted } => doubled.width().times(2) + subtracted.width(),
            Product::ThreeSignalThird { added: [a, b], subtracted } => a.width() + b.width() + subtracted.width(),
            Product::TwoSignalFifth { tripled, doubled } => tripled.width().times(3) + doubled.width().times(2),
        }
    }

    /// Whether it falls on `receiver`: |P - fr| <= (its width + the receiver's) / 2.
    pub fn hits(self, receiver: Carrier) -> bool {
        receiver.is_hit_by(self.frequency(), self.width())
    }
}

impl fmt::Display for Product {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Product::TwoSignalThird { doubled, subtracted } => {
                write!(f, "2 x {} - {}", doubled.frequency(), subtracted.frequency())
            }
            Product::ThreeSignalThird { added: [a, b], subtracted } => {
                write!(f, "{} + {} - {}", a.frequency(), b.frequency(), subtracted.frequency())
            }
            Product::TwoSignalFifth { tripled, doubled } => {
                write!(f, "3 x {} - 2 x {}", tripled.frequency(), doubled.frequency())
            }
        }
    }
}

/// Up to which order products count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Order {
    /// 2A-B and A+B-C.
    #[default]
    Third,
    /// Also 3A-2B.
    Fifth,
}

/// The carriers of one site and the sums of their pairs. Carriers on one frequency count once, with the largest width.
#[derive(Debug, Clone)]
pub struct Intermodulation {
    widths: BTreeMap<Hertz, BTreeMap<Hertz, usize>>,
    carriers: Vec<Carrier>,
    widest: Hertz,
    sums: PairSums,
}

impl Intermodulation {
    /// The site with `carriers`; n carriers take time and up to space by n squared.
    pub fn new(carriers: impl IntoIterator<Item = Carrier>) -> Intermodulation {
        let mut widths: BTreeMap<Hertz, BTreeMap<Hertz, usize>> = BTreeMap::new();
        for it in carriers {
            *widths.entry(it.frequency()).or_default().entry(it.width()).or_default() += 1;
        }
        let carriers = effective(&widths);
        let sums = PairSums::of(&carriers);
        Intermodulation { widest: widest(&carriers), widths, carriers, sums }
    }

    /// One carrier a frequency, rising.
    pub fn carriers(&self) -> &[Carrier] {
        &self.carriers
    }

    /// Adds a carrier: O(n) while it fits the site's raster.
    pub fn insert(&mut self, carrier: Carrier) {
        *self.widths.entry(carrier.frequency()).or_default().entry(carrier.width()).or_default() += 1;
        self.settle(carrier.frequency());
    }

    /// Takes away one carrier of this frequency and width, O(n); false if there is none.
    pub fn remove(&mut self, carrier: Carrier) -> bool {
        let Some(widths) = self.widths.get_mut(&carrier.frequency()) else {
            return false;
        };
        let Some(count) = widths.get_mut(&carrier.width()) else {
            return false;
        };
        *count -= 1;
        if *count == 0 {
            widths.remove(&carrier.width());
        }
        if widths.is_empty() {
            self.widths.remove(&carrier.frequency());
        }
        self.settle(carrier.frequency());
        true
    }

    /// Brings the carrier at `frequency` and its pair sums in line with `widths`.
    fn settle(&mut self, frequency: Hertz) {
        let found = self.carriers.binary_search_by_key(&frequency, |it| it.frequency());
        let old = found.ok().map(|at| self.carriers[at]);
        let new = self.widths.get(&frequency).and_then(|it| widest_at(frequency, it));
        if old == new {
            return;
        }
        if let (Some(old), Ok(at)) = (old, found) {
            self.sums.change(old, &self.carriers, false);
            self.carriers.remove(at);
        }
        if let Some(new) = new {
            let at = self.carriers.partition_point(|it| it.frequency() < frequency);
            self.carriers.insert(at, new);
            if self.sums.has_room_for(new) {
                self.sums.change(new, &self.carriers, true);
            } else {
                self.sums = PairSums::of(&self.carriers);
            }
        }
        self.widest = widest(&self.carriers);
    }

    /// How many products up to `order` fall on `receiver`. O(n) a width class for the third order.
    pub fn count(&self, receiver: Carrier, order: Order) -> u64 {
        let third: u64 = self.carriers.iter().map(|it| self.third_less(*it, receiver)).sum();
        third + if order == Order::Fifth { self.fifth(receiver).count() as u64 } else { 0 }
    }

    /// How many of the products that [`Self::count`] counts have the site's carrier at `frequency` in them: O(n log n). What
    /// a change of one carrier adds or takes away.
    pub fn count_with(&self, frequency: Hertz, receiver: Carrier, order: Order) -> u64 {
        let Ok(at) = self.carriers.binary_search_by_key(&frequency, |it| it.frequency()) else {
            return 0;
        };
        let it = self.carriers[at];
        let doubled = self.two_signal(it, receiver).count() as u64;
        let added: u64 = self
            .carriers
            .iter()
            .filter(|other| **other != it)
            .map(|other| self.three_signal(it, *other, receiver).count() as u64)
            .sum();
        let with = |it: &Product| matches!(it, Product::TwoSignalFifth { tripled, doubled } if tripled.frequency() == frequency || doubled.frequency() == frequency);
        let fifth = if order == Order::Fifth { self.fifth(receiver).filter(with).count() as u64 } else { 0 };
        self.third_less(it, receiver) + doubled + added + fifth
    }

    /// The first products that fall on `receiver`, at most `most`: 2A-B, then A+B-C, then 3A-2B, each by rising carriers.
    pub fn first(&self, receiver: Carrier, order: Order, most: usize) -> Vec<Product> {
        let wanted = usize::try_from(self.count(receiver, Order::Third)).unwrap_or(usize::MAX).min(most);
        let two = self.carriers.iter().flat_map(|a| self.two_signal(*a, receiver));
        let three = self
            .carriers
            .iter()
            .enumerate()
            .flat_map(|(at, a)| self.carriers[at + 1..].iter().flat_map(|b| self.three_signal(*a, *b, receiver)));
        let mut products: Vec<Product> = two.chain(three).take(wanted).collect();
        if order == Order::Fifth {
            products.extend(self.fifth(receiver).take(most - products.len()));
        }
        products
    }

    /// Third-order products with `c` taken away: pairs that add up to it and the receiver, less those that hold `c` itself,
    /// which only give back the other carrier.
    fn third_less(&self, c: Carrier, receiver: Carrier) -> u64 {
        let target = c.frequency() + receiver.frequency();
        let all = self.sums.near(target.get(), (c.width() + receiver.width()).get());
        let idle = |b: &&Carrier| receiver.is_hit_by(b.frequency(), b.width() + c.width().times(2));
        let reach = self.widest + c.width().times(2) + receiver.width();
        all - self.around(receiver.frequency(), reach).iter().filter(idle).count() as u64
    }

    fn two_signal(&self, a: Carrier, receiver: Carrier) -> impl Iterator<Item = Product> {
        let reach = a.width().times(2) + self.widest + receiver.width();
        let near = self.around(a.frequency().times(2) - receiver.frequency(), reach).iter().filter(move |b| **b != a);
        near.map(move |b| Product::TwoSignalThird { doubled: a, subtracted: *b }).filter(move |it| it.hits(receiver))
    }

    fn three_signal(&self, a: Carrier, b: Carrier, receiver: Carrier) -> impl Iterator<Item = Product> {
        let reach = a.width() + b.width() + self.widest + receiver.width();
        let near = self.around(a.frequency() + b.frequency() - receiver.frequency(), reach).iter();
        near.filter(move |c| **c != a && **c != b)
            .map(move |c| Product::ThreeSignalThird { added: [a.min(b), a.max(b)], subtracted: *c })
            .filter(move |it| it.hits(receiver))
    }

    fn fifth(&self, receiver: Carrier) -> impl Iterator<Item = Product> {
        self.carriers.iter().flat_map(move |a| {
            let middle = Hertz((a.frequency().times(3) - receiver.frequency()).get().div_euclid(2));
            let reach = a.width().times(3) + self.widest.times(2) + receiver.width();
            let near = self.around(middle, reach).iter().filter(move |b| *b != a);
            near.map(move |b| Product::TwoSignalFifth { tripled: *a, doubled: *b }).filter(move |it| it.hits(receiver))
        })
    }

    /// Carriers within half of `reach` of `frequency`.
    fn around(&self, frequency: Hertz, reach: Hertz) -> &[Carrier] {
        let half = Hertz(reach.get() / 2 + 1);
        let from = self.carriers.partition_point(|it| it.frequency() < frequency - half);
        let to = self.carriers.partition_point(|it| it.frequency() <= frequency + half);
        &self.carriers[from..to]
    }
}

fn effective(widths: &BTreeMap<Hertz, BTreeMap<Hertz, usize>>) -> Vec<Carrier> {
    widths.iter().filter_map(|(frequency, it)| widest_at(*frequency, it)).collect()
}

fn widest_at(frequency: Hertz, widths: &BTreeMap<Hertz, usize>) -> Option<Carrier> {
    let width = widths.last_key_value()?.0;
    Carrier::new(frequency, *width).ok()
}

fn widest(carriers: &[Carrier]) -> Hertz {
    carriers.iter().map(|it| it.width()).max().unwrap_or_default()
}

#[cfg(test)]
#[path = "intermodulation_tests.rs"]
mod tests;
