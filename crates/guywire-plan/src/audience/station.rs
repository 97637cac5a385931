//! Stations that listen: consoles and recorders, which are written with what they hear.

use guywire_text::FileId;
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use super::path::blocks;
use super::receive::ANALOG_TOLERANCE;
use super::{Air, Called, Emission, Gear, Outcome, Rays, Reason, Signal, receive};
use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::{channel, station, talkgroup};
use crate::value::{Known, Row, Stored};
use crate::view::{Found, Ref, View};

/// A station of a plan, with what it listens to made out.
struct Station<'v> {
    plan: FileId,
    id: EntityId,
    unit: Option<i64>,
    listens: SmallVec<[ListensTo<'v>; 4]>,
}

/// What a station that has a channel near a transmission, or listens for its talkgroup, makes of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StationAnswer {
    /// The plan that it was met in.
    pub viewer: FileId,
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

/// The stations of some plans, and where to find those that a transmission may concern.
#[derive(Default)]
pub(super) struct Stations<'v> {
    all: Vec<Station<'v>>,
    by_called: FxHashMap<Called, Vec<usize>>,
    /// By the block that a channel receives in.
    by_block: FxHashMap<i64, Vec<usize>>,
    /// Those with a channel that cannot be read.
    unread: Vec<usize>,
}

impl<'v> Stations<'v> {
    /// The stations that each of some plans sees.
    pub fn of(views: impl Iterator<Item = View<'v>>) -> Self {
        let mut stations = Stations::default();
        for view in views {
            for it in view.all::<station::Table>() {
                stations.add(made_out(view, it));
            }
        }
        stations
    }

    fn add(&mut self, station: Station<'v>) {
        let number = self.all.len();
        if let Some(unit) = station.unit {
            self.by_called.entry(Called::Unit(unit)).or_default().push(number);
        }
        for listens in &station.listens {
            match listens {
                ListensTo::Group(group) => self.by_called.entry(*group).or_default().push(number),
                ListensTo::Channel(_, Air { rx: Known::Is(rx), .. }) => {
                    self.by_block.entry(Bucket::block(*rx)).or_default().push(number);
                }
                ListensTo::Channel(..) => self.unread.push(number),
            }
        }
        self.all.push(station);
    }

    /// The stations that may hear one of the rays, in their order.
    fn concerned(&self, rays: &Rays) -> impl Iterator<Item = &Station<'v>> {
        let mut numbers = self.unread.clone();
        for ray in &rays.rays {
            numbers.extend(ray.emission.called().and_then(|called| self.by_called.get(&called)).into_iter().flatten());
            for block in blocks(ray.emission.carrier, ANALOG_TOLERANCE) {
                numbers.extend(self.by_block.get(&block).into_iter().flatten());
            }
        }
        numbers.sort_unstable();
        numbers.dedup();
        numbers.into_iter().map(|number| &self.all[number])
    }
}

/// What stations that come near make of the rays, each once.
pub(super) fn near(stations: &Stations<'_>, rays: &Rays, unit: Option<i64>) -> Vec<StationAnswer> {
    let mut found: Vec<StationAnswer> = Vec::new();
    for it in stations.concerned(rays) {
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
    /// What it makes of the rays; none where it has nothing to do with them.
    fn answer(&self, rays: &Rays, unit: Option<i64>) -> Option<StationAnswer> {
        let (viewer, station) = (self.plan, self.id);
        if unit.is_some() && self.unit == unit {
            return Some(StationAnswer { viewer, station, on: None, outcome: Outcome::Heard });
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
        Some(StationAnswer { viewer, station, on, outcome })
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
