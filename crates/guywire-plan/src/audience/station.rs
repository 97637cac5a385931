//! Stations that listen: consoles and recorders, which are written with what they hear.

use guywire_text::FileId;
use smallvec::SmallVec;

use super::{Air, Called, Emission, Gear, Outcome, Rays, Reason, Signal, receive};
use crate::entity::EntityId;
use crate::language::{channel, station, talkgroup};
use crate::value::{Known, Row, Stored};
use crate::view::{Found, Ref, View};

/// A station of a plan, with what it listens to made out.
pub(super) struct Station<'v> {
    plan: FileId,
    id: EntityId,
    unit: Option<i64>,
    listens: SmallVec<[ListensTo<'v>; 4]>,
}

/// What a station that has a channel near a transmission, or listens for its talkgroup, makes of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StationAnswer {
    /// The station.
    pub station: EntityId,
    /// The channel that comes nearest, where it is one.
    pub on: Option<EntityId>,
    /// What it makes of it.
    pub outcome: Outcome,
}

/// One thing that a station listens to.
enum ListensTo<'v> {
    /// A talkgroup, wherever it is called.
    Group(Called),
    /// What a channel hears.
    Channel(EntityId, &'v Air),
}

/// The stations that a plan sees.
pub(super) fn stations(view: View<'_>) -> Vec<Station<'_>> {
    view.all::<station::Table>().into_iter().map(|it| made_out(view, it)).collect()
}

/// The stations that listen to one of the rays, or are the unit that is called, each once, with the plan it was met in.
pub(super) fn listening(stations: &[Station<'_>], rays: &Rays, unit: Option<i64>) -> Vec<(FileId, EntityId)> {
    let mut found: Vec<(FileId, EntityId)> = Vec::new();
    for it in stations {
        let is_called = unit.is_some() && it.unit == unit;
        if (is_called || it.hears(rays)) && !found.iter().any(|(_, held)| *held == it.id) {
            found.push((it.plan, it.id));
        }
    }
    found
}

/// What stations that come near make of the rays, each once.
pub(super) fn near(stations: &[Station<'_>], rays: &Rays, unit: Option<i64>) -> Vec<StationAnswer> {
    let mut found: Vec<StationAnswer> = Vec::new();
    for it in stations {
        let Some(answer) = it.answer(rays, unit) else { continue };
        match found.iter_mut().find(|held| held.station == it.id) {
            Some(held) if held.outcome.depth() < answer.outcome.depth() => *held = answer,
            Some(_) => {}
            None => found.push(answer),
        }
    }
    found
}

fn made_out<'v>(view: View<'v>, it: Ref<'v, station::Table>) -> Station<'v> {
    let mut listens = SmallVec::new();
    if let Known::Is(elements) = it.list(station::hears) {
        let names = elements.iter().filter_map(|element| match element.value {
            Stored::Text(name) => Some(name),
            _ => None,
        });
        listens.extend(names.filter_map(|name| match view.find::<talkgroup::Table>(it.id(), name) {
            Found::One(group) => group.whole(talkgroup::id).value().map(Called::Group).map(ListensTo::Group),
            _ => match view.find::<channel::Table>(it.id(), name) {
                Found::One(channel) => view.air(channel.id()).map(|air| ListensTo::Channel(channel.id(), air)),
                _ => None,
            },
        }));
    }
    Station { plan: view.viewer(), id: it.id(), unit: it.whole(station::id).value(), listens }
}

impl Station<'_> {
    fn hears(&self, rays: &Rays) -> bool {
        self.listens.iter().any(|listens| rays.rays.iter().any(|ray| listens.makes_of(&ray.emission) == Outcome::Heard))
    }

    /// What it makes of the rays; none where it has nothing to do with them.
    fn answer(&self, rays: &Rays, unit: Option<i64>) -> Option<StationAnswer> {
        let station = self.id;
        if unit.is_some() && self.unit == unit {
            return Some(StationAnswer { station, on: None, outcome: Outcome::Heard });
        }
        let each = self.listens.iter().flat_map(|listens| {
            let on = match listens {
                ListensTo::Group(_) => None,
                ListensTo::Channel(channel, _) => Some(*channel),
            };
            rays.rays.iter().map(move |ray| (on, listens.makes_of(&ray.emission)))
        });
        let near = each.filter(|(_, outcome)| *outcome != Outcome::No(Reason::Frequency));
        let (on, outcome) = near.max_by_key(|(_, outcome)| outcome.depth())?;
        Some(StationAnswer { station, on, outcome })
    }
}

impl ListensTo<'_> {
    fn makes_of(&self, ray: &Emission) -> Outcome {
        match (self, ray.signal) {
            (ListensTo::Group(group), Signal::Digital(digital)) if digital.called == *group => Outcome::Heard,
            (ListensTo::Group(_), _) => Outcome::No(Reason::Frequency),
            (ListensTo::Channel(_, air), _) => receive(ray, air, &Gear::UNWRITTEN, false),
        }
    }
}
