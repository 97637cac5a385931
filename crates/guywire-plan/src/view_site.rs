//! The view of what the rules about places and about the handling of radios share: who transmits at a site, which sites
//! are near, which models and buttons a plan has.

use guywire_radio::Hertz;
use guywire_radio::geodesy::Position;
use guywire_radio::interference::Carrier;
use rustc_hash::FxHashSet;

use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::{
    Field, Tabled, controls, controls__button, model, network, profile, radio, repeater, site, site__other,
};
use crate::value::{FieldPath, Known, Part, Row, Stored};
use crate::view::{Ref, View};

/// Width of a repeater's channel that says none (ETSI TS 102 361-1).
const CHANNEL: Hertz = Hertz(12_500);

/// A transmitter that stays where it is: a repeater's, or a co-tenant's.
#[derive(Debug, Clone, Copy)]
pub struct Transmitter {
    /// The repeater; none for a co-tenant.
    pub repeater: Option<EntityId>,
    /// The table and key that say its frequency.
    pub at: (EntityId, FieldPath),
    /// Its carrier.
    pub frequency: Hertz,
    /// The width of it; none where a co-tenant's is not written.
    pub width: Option<Hertz>,
    /// Its output, W.
    pub power_w: Option<f64>,
}

impl Transmitter {
    /// The carrier with its width; 1 Hz wide where that is not written, so that nothing is said because of a guess.
    pub fn carrier(self) -> Option<Carrier> {
        Carrier::new(self.frequency, self.width.unwrap_or(Hertz(1))).ok()
    }
}

impl<'v> View<'v> {
    // ---- sites ----------------------------------------------------------------------------------

    /// Where a site is, where that is written.
    pub fn position(self, site: Ref<'v, site::Table>) -> Option<Position> {
        let (latitude, longitude) = (site.number(site::latitude).value()?, site.number(site::longitude).value()?);
        Position::new(latitude, longitude).ok()
    }

    /// A site and those of this plan nearer than `near_m` meters (at most [`Bucket::SITE_REACH_M`]), in no order. Blocks
    /// of the map with a crowd of sites are left alone.
    pub fn sites_near(self, site: Ref<'v, site::Table>, near_m: f64) -> Vec<Ref<'v, site::Table>> {
        let mut near = vec![site];
        let Some(here) = self.position(site) else { return near };
        let (row, _) = Bucket::map_block(here.latitude(), here.longitude());
        for row in row - 1..=row + 1 {
            let column = Bucket::map_column(row, here.longitude());
            for column in column - 1..=column + 1 {
                let bucket = Bucket::SiteNear(self.viewer(), row, column);
                if self.is_crowded(bucket) {
                    continue;
                }
                near.extend(self.alike_of::<site::Table>(bucket).into_iter().filter(|other| {
                    let apart = self.position(*other).map(|there| here.distance_km(there) * 1_000.0);
                    other.id() != site.id() && apart.is_some_and(|apart| apart < near_m)
                }));
            }
        }
        near
    }

    /// The receiver of a repeater: its input and the width of its channel.
    pub fn receiver(self, repeater: Ref<'v, repeater::Table>) -> Option<Carrier> {
        let width = repeater.frequency(repeater::bandwidth_khz).or_value(CHANNEL).value()?;
        Carrier::new(repeater.frequency(repeater::rx_mhz).value()?, width).ok()
    }

    /// The transmitter of a repeater.
    pub fn transmitter(self, repeater: Ref<'v, repeater::Table>) -> Option<Transmitter> {
        Some(Transmitter {
            repeater: Some(repeater.id()),
            at: (repeater.id(), FieldPath::key(repeater::tx_mhz.number())),
            frequency: repeater.frequency(repeater::tx_mhz).value()?,
            width: Some(repeater.frequency(repeater::bandwidth_khz).or_value(CHANNEL).value()?),
            power_w: repeater.number(repeater::power_w).value(),
        })
    }

    /// The transmitters at a site whose carrier can be read, by rising frequency.
    pub fn transmitters_at(self, site: Ref<'v, site::Table>) -> Vec<Transmitter> {
        let repeaters = self.referrers::<repeater::Table>(site.id());
        let mut found: Vec<Transmitter> = repeaters.into_iter().filter_map(|it| self.transmitter(it)).collect();
        if let Known::Is(others) = site.list(site::other) {
            let at = FieldPath::key(site::other.number());
            found.extend(others.iter().enumerate().filter_map(|(number, other)| {
                let Stored::Part(record) = &other.value else { return None };
                let part = Part::<site__other::Table>::new(record);
                Some(Transmitter {
                    repeater: None,
                    at: (site.id(), at.then(number).then(site__other::tx_mhz.number() as usize)),
                    frequency: part.frequency(site__other::tx_mhz).value()?,
                    width: part.frequency(site__other::bandwidth_khz).value(),
                    power_w: part.number(site__other::power_w).value(),
                })
            }));
        }
        found.sort_by_key(|it| it.frequency);
        found
    }

    /// How a transmitter is called in a message.
    pub fn transmitter_called(self, it: Transmitter) -> String {
        match it.repeater {
            Some(repeater) => self.called(repeater),
            None => format!("a co-tenant of {}", self.called(it.at.0)),
        }
    }

    /// Whether two repeaters are members of one network.
    pub fn in_one_network(self, one: EntityId, other: EntityId) -> bool {
        let of_other = self.referrers::<network::Table>(other);
        self.referrers::<network::Table>(one).iter().any(|of| of_other.iter().any(|found| found.id() == of.id()))
    }

    // ---- classes of radios ----------------------------------------------------------------------

    /// The models of the radios of this plan: those of its profiles, its own where it has none, each once, in no order.
    pub fn plan_models(self) -> Vec<Ref<'v, model::Table>> {
        let profiles = self.all::<profile::Table>();
        if profiles.is_empty() {
            return self.plan_model().and_then(|id| self.get(id)).into_iter().collect();
        }
        let mut models: Vec<Ref<'v, model::Table>> = Vec::new();
        for found in profiles.iter().flat_map(|profile| self.profile_models(profile.id())) {
            if !models.iter().any(|known| known.id() == found.id()) {
                models.push(found);
            }
        }
        models
    }

    /// How many radios in use are of these profiles, or hold the channel where none are named.
    pub fn units_reporting(self, channel: EntityId, profiles: Option<&[Ref<'v, profile::Table>]>) -> usize {
        let units: FxHashSet<EntityId> = match profiles {
            Some(profiles) => {
                let radios = profiles.iter().flat_map(|profile| self.referrers::<radio::Table>(profile.id()));
                radios.map(|radio| radio.id()).collect()
            }
            None => self.holding(channel),
        };
        let in_use = |radio| self.is_in_use(radio) == Known::Is(true);
        units.into_iter().filter_map(|id| self.get::<radio::Table>(id)).filter(|radio| in_use(*radio)).count()
    }

    /// The buttons written in a table of controls, a profile or a radio, each with its number. None where one cannot be
    /// read.
    pub fn buttons(self, it: EntityId) -> Option<Vec<(usize, Button<'v>)>> {
        if let Some(controls) = self.get::<controls::Table>(it) {
            return self.buttons_in(controls, controls::button);
        }
        if let Some(profile) = self.get::<profile::Table>(it) {
            return self.buttons_in(profile, profile::button);
        }
        self.get::<radio::Table>(it).and_then(|radio| self.buttons_in(radio, radio::button))
    }

    fn buttons_in<T: Tabled>(self, of: Ref<'v, T>, field: Field<T>) -> Option<Vec<(usize, Button<'v>)>> {
        let elements = match of.list(field) {
            Known::Is(elements) => elements,
            Known::Absent => return Some(Vec::new()),
            Known::Unreadable => return None,
        };
        let button = |(number, element): (usize, &crate::value::Element)| {
            let Stored::Part(record) = &element.value else { return None };
            let part = Part::<controls__button::Table>::new(record);
            let word = |field| Some(self.symbol(part.text(field).value()?));
            let (place, press) = (word(controls__button::place)?, word(controls__button::press)?);
            Some((number, Button { place, press, action: word(controls__button::action)? }))
        };
        elements.iter().enumerate().map(button).collect()
    }
}

/// A button and what a press of it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Button<'v> {
    /// Where it is, in the model's words.
    pub place: &'v str,
    /// `short` or `long`.
    pub press: &'v str,
    /// What then happens.
    pub action: &'v str,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever is nearer than the reach stands in the same block or in one beside it, whichever way it lies.
    #[test]
    fn near_positions_stand_in_neighboring_blocks() {
        let mut met = 0;
        for latitude in [-89.8, -84.0, -75.0, -60.003, -0.001, 0.0, 44.1021, 59.999, 60.001, 74.99, 75.01, 84.01, 89.7]
        {
            for longitude in [-179.0, -68.8113, -0.0001, 0.0, 12.34, 151.999] {
                let here = Position::new(latitude, longitude).unwrap();
                for (north, east) in [(0.008, 0.0), (-0.008, 0.001), (0.0, 0.0125), (0.004, -0.02), (0.001, 0.09)] {
                    let there = Position::new(latitude + north, longitude + east).unwrap();
                    if here.distance_km(there) * 1_000.0 >= Bucket::SITE_REACH_M {
                        continue;
                    }
                    met += 1;
                    let (row, _) = Bucket::map_block(here.latitude(), here.longitude());
                    let (other_row, other_column) = Bucket::map_block(there.latitude(), there.longitude());
                    assert!((row - other_row).abs() <= 1, "{here:?} {there:?}");
                    let column = Bucket::map_column(other_row, here.longitude());
                    assert!((column - other_column).abs() <= 1, "{here:?} {there:?}");
                }
            }
        }
        assert!(met > 150, "only {met} pairs are near");
    }
}
