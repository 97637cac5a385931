//! Which channels are the same in all but their names.

use std::hash::{Hash, Hasher};

use guywire_text::FileId;
use rustc_hash::FxHasher;

use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::{channel, zone};
use crate::value::{Known, Record, Row, Slot, Stored};
use crate::view::{Found, Ref, View};

/// A position of a zone that holds a channel like another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// Its number in the zone's list, from 0.
    pub number: usize,
    /// The channel.
    pub channel: EntityId,
}

/// The keys of a channel that tell it from others: all but the name and the notes.
fn compared(record: &Record) -> impl Iterator<Item = &Slot> {
    let is_compared = |slot: &&Slot| slot.field != channel::name.number() && slot.field != channel::notes.number();
    record.slots.iter().filter(is_compared)
}

fn is_readable(record: &Record) -> bool {
    !record.broken && !record.slots.iter().any(|slot| matches!(slot.value, Stored::Unreadable(_)))
}

fn are_alike(one: &Record, other: &Record) -> bool {
    let same = |(a, b): (&Slot, &Slot)| a.field == b.field && a.value == b.value;
    compared(one).count() == compared(other).count() && compared(one).zip(compared(other)).all(same)
}

/// Where channels like this one are found; none where something in it cannot be read.
pub(crate) fn bucket(viewer: FileId, record: &Record) -> Option<Bucket> {
    let mut hasher = FxHasher::default();
    for slot in compared(record).filter(|_| is_readable(record)) {
        slot.field.hash(&mut hasher);
        match &slot.value {
            Stored::Text(text) => text.hash(&mut hasher),
            Stored::Whole(number) => number.hash(&mut hasher),
            Stored::Frequency(frequency) => frequency.hash(&mut hasher),
            Stored::Truth(is) => is.hash(&mut hasher),
            // What is left out here is compared with those that are found.
            _ => {}
        }
    }
    is_readable(record).then(|| Bucket::Alike(viewer, hasher.finish()))
}

impl<'v> View<'v> {
    /// The positions of zones that hold a channel, each with those of the same zone whose channel is another one that is the
    /// same in all but name and notes. Positions without such are left out; zones are in no order.
    pub fn twins(self, it: Ref<'v, channel::Table>) -> Vec<(Ref<'v, zone::Table>, Position, Vec<Position>)> {
        let mut found = Vec::new();
        let Some(own) = self.whole(it.id()) else { return found };
        let Some(bucket) = bucket(self.viewer(), own) else { return found };
        // Where very many are alike, only those of the same zone are looked at.
        let is_crowded = self.is_crowded(bucket);
        let near: Vec<EntityId> = if is_crowded { Vec::new() } else { self.alike(bucket).collect() };
        if !is_crowded && !near.iter().any(|other| *other != it.id()) {
            return found;
        }
        let is_twin = |position: &Position| {
            let other = position.channel;
            let is_near = other != it.id() && (is_crowded || near.contains(&other));
            is_near && self.whole(other).is_some_and(|other| is_readable(other) && are_alike(own, other))
        };
        for zone in self.referrers::<zone::Table>(it.id()) {
            let positions = self.positions(zone);
            let twins: Vec<Position> = positions.iter().copied().filter(is_twin).collect();
            if !twins.is_empty() {
                let own = positions.into_iter().filter(|position| position.channel == it.id());
                found.extend(own.map(|own| (zone, own, twins.clone())));
            }
        }
        found
    }

    /// The positions of a zone whose names lead to channels.
    fn positions(self, zone: Ref<'v, zone::Table>) -> Vec<Position> {
        let Known::Is(elements) = zone.list(zone::channels) else { return Vec::new() };
        let position = |(number, element): (usize, &crate::value::Element)| {
            let Stored::Text(name) = element.value else { return None };
            let Found::One(channel) = self.find::<channel::Table>(zone.id(), name) else { return None };
            Some(Position { number, channel: channel.id() })
        };
        elements.iter().enumerate().filter_map(position).collect()
    }
}
