//! Who listens without turning the knob: what rules ask, a channel at a time.

use std::ops::ControlFlow;

use guywire_text::FileId;

use super::path::blocks;
use super::post::keys_for;
use super::receive::ANALOG_TOLERANCE;
use super::{Called, Emission, Gear, Outcome, Rays, Reason, Role, Signal, receive};
use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::{channel, scan_list, zone};
use crate::value::{Known, Row, Stored};
use crate::view::{Found, View};

/// Somebody who listens without turning the knob.
#[derive(Debug, Clone, Copy)]
pub struct Listener {
    /// The plan of the radio.
    pub viewer: FileId,
    /// The radio; none where all that listen to the channel fail for the same reason.
    pub radio: Option<EntityId>,
    /// The channel that it listens to.
    pub channel: EntityId,
    /// Standing by or scanning.
    pub role: Role,
    /// What it makes of the ray.
    pub outcome: Outcome,
}

impl<'v> View<'v> {
    /// Calls `visit` for every radio in use that stands by or scans where one of the carriers could be heard, with what it
    /// makes of it, until it says to stop; once for a channel that no radio hears it on. Those on the channel `first` come
    /// first. Records only what was looked at, so a rule that stops early is judged again seldom.
    pub fn each_listener(
        self,
        rays: &Rays,
        first: Option<EntityId>,
        visit: &mut dyn FnMut(Listener) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        if let Some(first) = first {
            rays.rays.iter().try_for_each(|ray| self.listeners_on(first, &ray.emission, visit))?;
        }
        for ray in &rays.rays {
            for block in blocks(ray.emission.carrier, ANALOG_TOLERANCE) {
                for key in keys_for(&ray.emission) {
                    let others = self.alike(Bucket::Hears(block, key)).filter(|it| first != Some(*it));
                    for channel in others {
                        self.listeners_on(channel, &ray.emission, visit)?;
                    }
                }
            }
        }
        ControlFlow::Continue(())
    }

    /// Calls `visit` like [`View::each_listener`] for all who listen near one of the carriers, whatever their mode, color
    /// code and slot: to say why a call is missed.
    pub fn each_nearby(self, rays: &Rays, visit: &mut dyn FnMut(Listener)) {
        for ray in &rays.rays {
            for block in blocks(ray.emission.carrier, ANALOG_TOLERANCE) {
                for channel in self.alike(Bucket::Listens(block)) {
                    let _ = self.listeners_on(channel, &ray.emission, &mut |listener| {
                        visit(listener);
                        ControlFlow::Continue(())
                    });
                }
            }
        }
    }

    fn listeners_on(
        self,
        channel: EntityId,
        ray: &Emission,
        visit: &mut dyn FnMut(Listener) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        let Some(file) = self.file_of(channel) else { return ControlFlow::Continue(()) };
        for viewer in self.viewers_of(file) {
            let view = self.at(viewer);
            let (Some(ear), Some(air)) = (view.ear(channel), view.air(channel)) else { continue };
            let Some((_, best)) = ear.homes.iter().min_by_key(|(_, role)| *role) else { continue };
            // What no radio hears is not asked of each.
            match receive(ray, air, &Gear::UNWRITTEN, true) {
                Outcome::No(Reason::Frequency) => continue,
                outcome @ Outcome::No(reason) if reason != Reason::Key && !is_to_one(ray) => {
                    visit(Listener { viewer, radio: None, channel, role: *best, outcome })?;
                    continue;
                }
                _ => {}
            }
            for (home, role) in ear.homes.iter() {
                for radio in view.alike(Bucket::StandsOn(viewer, *home)) {
                    let Some(post) = view.post(radio) else { continue };
                    let outcome = receive(ray, air, &post.gear, view.is_called(radio, ray));
                    visit(Listener { viewer, radio: Some(radio), channel, role: *role, outcome })?;
                }
            }
        }
        ControlFlow::Continue(())
    }

    /// Whether an individual call is for this radio.
    fn is_called(self, radio: EntityId, ray: &Emission) -> bool {
        match ray.signal {
            Signal::Digital(super::Digital { called: Called::Unit(unit), .. }) => {
                self.unit_ids(radio).iter().any(|(_, id)| *id == unit)
            }
            _ => false,
        }
    }

    /// The channels of a zone, in the order of the knob. What leads nowhere is left out.
    pub fn zone_channels(self, zone: EntityId) -> Vec<EntityId> {
        let Some(it) = self.get::<zone::Table>(zone) else { return Vec::new() };
        let Known::Is(elements) = it.list(zone::channels) else { return Vec::new() };
        let named = elements.iter().filter_map(|element| match element.value {
            Stored::Text(name) if !self.symbol(name).is_empty() => Some(name),
            _ => None,
        });
        named
            .filter_map(|name| match self.find::<channel::Table>(zone, name) {
                Found::One(channel) => Some(channel.id()),
                Found::Missing | Found::Ambiguous(_) | Found::Unreadable => None,
            })
            .collect()
    }

    /// The channels that are scanned while the knob is on one.
    pub fn scanned_at(self, channel: EntityId) -> Vec<EntityId> {
        let Some(it) = self.get::<channel::Table>(channel) else { return Vec::new() };
        let Known::Is(list) = self.named::<scan_list::Table, _>(it, channel::scan_list) else { return Vec::new() };
        match self.named_members(list) {
            Known::Is(mut members) => {
                members.retain(|member| *member != channel);
                members
            }
            Known::Absent | Known::Unreadable => Vec::new(),
        }
    }
}

fn is_to_one(ray: &Emission) -> bool {
    matches!(ray.signal, Signal::Digital(super::Digital { called: Called::Unit(_), .. }))
}
