//! Where repeaters stand, and which of them share a frequency within reach of each other. Kept apart from the tables, so
//! that a repeater far away is no matter to those who ask.

use std::sync::Arc;

use guywire_radio::Hertz;
use guywire_radio::geodesy::Position;
use guywire_radio::path::horizon_km;
use smallvec::SmallVec;

use crate::audience::ANALOG_TOLERANCE;
use crate::derived::Value;
use crate::entity::EntityId;
use crate::fact::{Bucket, What};
use crate::language::{repeater, site};
use crate::value::{Known, Row};
use crate::view::{Ref, View};

/// The antenna of a repeater whose site is written with its position, and what the repeater is on.
#[derive(Debug, Clone, PartialEq)]
pub struct Mast {
    /// The site.
    pub site: EntityId,
    /// Where that is.
    pub position: Position,
    /// Height of the antenna above ground, m, where it is written.
    pub height_m: Option<f64>,
    /// What the repeater hears on.
    pub input: Known<Hertz>,
    /// What the repeater sends on.
    pub output: Known<Hertz>,
}

/// Computes where the antenna of a repeater is.
pub(crate) fn mast(view: View<'_>, it: Ref<'_, repeater::Table>) -> Option<Mast> {
    let site = view.named::<site::Table, _>(it, repeater::site).value()?;
    Some(Mast {
        site: site.id(),
        position: view.position(site)?,
        height_m: site.number(site::antenna_m).value(),
        input: it.frequency(repeater::rx_mhz),
        output: it.frequency(repeater::tx_mhz),
    })
}

/// The buckets of a mast: who is on its frequencies near it.
pub(crate) fn buckets(viewer: guywire_text::FileId, mast: &Mast) -> SmallVec<[Bucket; 3]> {
    let (row, column) = Bucket::region(mast.position);
    let output = mast.output.value().map(|output| Bucket::OutputAround(viewer, output, row, column));
    let input = mast.input.value().map(|input| Bucket::InputAround(viewer, Bucket::block(input), row, column));
    output.into_iter().chain(input).collect()
}

/// Computes the other repeaters that a radio may open together with this one: their inputs meet and so do their horizons,
/// and no network has both. In an order that does not depend on how they were found, and is never shown.
pub(crate) fn rivals(view: View<'_>, it: Ref<'_, repeater::Table>) -> Arc<[EntityId]> {
    let Some(here) = view.mast(it.id()) else { return Arc::new([]) };
    let (Known::Is(input), Some(height_m)) = (here.input, here.height_m) else { return Arc::new([]) };
    // One carrier may be off to either side.
    let apart = Hertz(2 * ANALOG_TOLERANCE.0);
    let meets = |there: &Mast| {
        let horizon = there.height_m.and_then(|other_m| horizon_km(height_m, other_m).ok());
        there.input.value().is_some_and(|other| other.spacing(input) <= apart)
            && horizon.is_some_and(|reach_km| here.position.distance_km(there.position) <= reach_km)
    };
    let mut found: Vec<EntityId> = Vec::new();
    for block in Bucket::block(input - apart)..=Bucket::block(input + apart) {
        let around = |row, column| Bucket::InputAround(view.viewer(), block, row, column);
        found.extend(view.masts_around(here.position, around).into_iter().filter_map(|(other, there)| {
            (other != it.id() && meets(there) && !view.in_one_network(it.id(), other)).then_some(other)
        }));
    }
    found.sort_unstable_by_key(|id| (id.slot, id.generation));
    found.into()
}

impl<'v> View<'v> {
    /// Where the antenna of a repeater is; none where that is not written, or the entity is no repeater.
    pub fn mast(self, repeater: EntityId) -> Option<&'v Mast> {
        match self.derived(What::Mast, repeater) {
            Some(Value::Mast(mast)) => mast.as_deref(),
            _ => None,
        }
    }

    /// The other repeaters that a radio may open together with this one: their inputs meet and so do their horizons, and no
    /// network has both. Only those that this plan sees and whose sites are written with position and antenna height; in
    /// no order.
    pub fn rivals(self, repeater: EntityId) -> &'v [EntityId] {
        match self.derived(What::Rivals, repeater) {
            Some(Value::Rivals(rivals)) => rivals,
            _ => &[],
        }
    }

    /// The other repeaters on the output of one, with their antennas: all nearer than [`Bucket::REGION_REACH_KM`] and some
    /// beyond, in no order.
    pub fn masts_on_output(self, repeater: EntityId) -> Vec<(EntityId, &'v Mast)> {
        let Some(here) = self.mast(repeater) else { return Vec::new() };
        let Known::Is(output) = here.output else { return Vec::new() };
        let around = |row, column| Bucket::OutputAround(self.viewer(), output, row, column);
        let mut found = self.masts_around(here.position, around);
        found.retain(|(other, _)| *other != repeater);
        found
    }

    fn masts_around(self, here: Position, bucket: impl Fn(i32, i32) -> Bucket) -> Vec<(EntityId, &'v Mast)> {
        let regions = Bucket::regions_around(here).into_iter();
        let found = regions.flat_map(|(row, column)| self.alike(bucket(row, column)));
        found.filter_map(|id| Some((id, self.mast(id)?))).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever is nearer than the reach stands in one of the regions around, whichever way it lies, also past the 180th
    /// meridian and over a pole.
    #[test]
    fn near_positions_stand_in_the_regions_around() {
        let mut met = 0;
        for latitude in (-90..=90).step_by(9).map(f64::from) {
            for longitude in [-180.0, -179.99, -68.8113, -0.001, 5.999, 180.0] {
                let here = Position::new(latitude, longitude).unwrap();
                let regions = Bucket::regions_around(here);
                let mut once = regions.to_vec();
                once.dedup();
                assert_eq!(once.as_slice(), regions.as_slice(), "no region twice");
                for north in [-4.97, -4.0, -2.1, -0.01, 0.0, 0.5, 3.3, 4.9] {
                    for east in (-180..180).step_by(3).map(|east| f64::from(east) + 0.37) {
                        let mut there = (latitude + north, longitude + east);
                        if there.1 > 180.0 {
                            there.1 -= 360.0;
                        } else if there.1 < -180.0 {
                            there.1 += 360.0;
                        }
                        let Ok(there) = Position::new(there.0, there.1) else { continue };
                        if here.distance_km(there) >= Bucket::REGION_REACH_KM {
                            continue;
                        }
                        met += 1;
                        assert!(regions.contains(&Bucket::region(there)), "{here:?} {there:?}");
                    }
                }
            }
        }
        assert!(met > 2_000, "only {met} pairs are near");
    }

    /// No horizon of the language's antennas is farther, nor that of a listener as high as an option may say.
    #[test]
    fn no_horizon_is_beyond_the_reach() {
        assert!(horizon_km(1_000.0, 10_000.0).unwrap() < Bucket::REGION_REACH_KM);
    }
}
