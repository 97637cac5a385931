//! How channels that radios stand by on hear and answer, and which are alike in that. A fleet has few stances and many
//! channels, so what is asked of all that listen to a carrier is asked of each stance once.

use std::sync::Arc;

use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::Air;
use super::path::blocks;
use super::post::keys_for;
use super::receive::ANALOG_TOLERANCE;
use super::{Emission, Rays};
use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::{channel, signaling};
use crate::value::Row;
use crate::view::{Ref, View};

/// A channel that some radio stands by on, as far as it matters to what it hears and answers.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Stance {
    /// What it is on the air, whichever repeater makes it so.
    pub air: Air,
    /// Push-to-talk answers a group call for a while (see [`View::holds_after`]).
    pub holds: bool,
}

/// Where channels of a stance are found: a block of [`Bucket::BLOCK`], and a key of [`super::Ear`].
type Spot = (i64, u8);

/// The channels of a stance, each with the plan that sees it so.
type Channels = FxHashSet<(FileId, EntityId)>;

/// The stances of all channels that radios stand by on.
#[derive(Debug, Default)]
pub(crate) struct Stances {
    at: FxHashMap<Spot, FxHashMap<Arc<Stance>, Channels>>,
}

/// A stance of some channels.
#[derive(Debug, Clone, Copy)]
pub struct Attending<'v> {
    /// How they hear and answer.
    pub stance: &'v Stance,
    spot: Spot,
}

impl Stances {
    /// Adds a channel to those of a stance; how many stances and how many channels of this one there are now.
    pub fn add(&mut self, spot: Spot, stance: &Arc<Stance>, it: (FileId, EntityId)) -> (usize, usize) {
        let here = self.at.entry(spot).or_default();
        let channels = here.entry(stance.clone()).or_default();
        channels.insert(it);
        let of_stance = channels.len();
        (here.len(), of_stance)
    }

    /// Takes a channel from those of a stance; how many stances and how many channels of this one are left.
    pub fn take(&mut self, spot: Spot, stance: &Arc<Stance>, it: (FileId, EntityId)) -> (usize, usize) {
        let Some(here) = self.at.get_mut(&spot) else { return (0, 0) };
        let of_stance = here.get_mut(stance).map_or(0, |channels| {
            channels.remove(&it);
            channels.len()
        });
        if of_stance == 0 {
            here.remove(stance);
        }
        let stances = here.len();
        if stances == 0 {
            self.at.remove(&spot);
        }
        (stances, of_stance)
    }

    fn here(&self, spot: Spot) -> impl Iterator<Item = &Stance> {
        self.at.get(&spot).into_iter().flat_map(|here| here.keys().map(|stance| &**stance))
    }

    fn channels(&self, spot: Spot, stance: &Stance) -> impl Iterator<Item = (FileId, EntityId)> + '_ {
        self.at.get(&spot).and_then(|here| here.get(stance)).into_iter().flatten().copied()
    }
}

/// The stance of a channel that some radio stands by on. None where it sends announcements only: nobody answers those.
pub(super) fn stance(view: View<'_>, it: Ref<'_, channel::Table>, air: &Air) -> Option<Arc<Stance>> {
    let is_announce = it.text(channel::purpose).value().is_some_and(|word| view.symbol(word) == "announce");
    (!is_announce).then(|| {
        let air = Air { repeater: None, ..air.clone() };
        Arc::new(Stance { air, holds: view.holds_after(signaling::group_hang_ms) })
    })
}

impl<'v> View<'v> {
    /// Calls `visit` for every stance of channels that some radio stands by on and where one of the carriers could be heard,
    /// until it yields that it is done with that stance. Whether the radios there hear it is not asked. Channels for
    /// announcements are left out.
    pub fn each_stance(self, rays: &Rays, visit: &mut dyn FnMut(Attending<'v>, &Emission) -> bool) {
        let mut done: Vec<&Stance> = Vec::new();
        for ray in &rays.rays {
            for block in blocks(ray.emission.carrier, ANALOG_TOLERANCE) {
                for key in keys_for(&ray.emission) {
                    self.reads.fact(Bucket::Attends(block, key).fact());
                    for stance in self.db.derived.stances.here((block, key)) {
                        if !done.contains(&stance) && visit(Attending { stance, spot: (block, key) }, &ray.emission) {
                            done.push(stance);
                        }
                    }
                }
            }
        }
    }

    /// The channels of a stance, each with the plan that sees it so, in no order.
    pub fn attending(self, it: Attending<'v>) -> Vec<(FileId, EntityId)> {
        let (block, key) = it.spot;
        self.reads.fact(Bucket::attends_as(block, key, it.stance).fact());
        self.db.derived.stances.channels(it.spot, it.stance).collect()
    }
}
