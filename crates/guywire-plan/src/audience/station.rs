//! Stations that listen: consoles and recorders, which are written with what they hear.

use guywire_text::FileId;
use smallvec::SmallVec;

use super::{Air, Called, Emission, Gear, Outcome, Rays, Signal, receive};
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

/// One thing that a station listens to.
enum ListensTo<'v> {
    /// A talkgroup, wherever it is called.
    Group(Called),
    /// What a channel hears.
    Channel(&'v Air),
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
                Found::One(channel) => view.air(channel.id()).map(ListensTo::Channel),
                _ => None,
            },
        }));
    }
    Station { plan: view.viewer(), id: it.id(), unit: it.whole(station::id).value(), listens }
}

impl Station<'_> {
    fn hears(&self, rays: &Rays) -> bool {
        self.listens.iter().any(|listens| rays.rays.iter().any(|ray| listens.hears(&ray.emission)))
    }
}

impl ListensTo<'_> {
    fn hears(&self, ray: &Emission) -> bool {
        match (self, ray.signal) {
            (ListensTo::Group(group), Signal::Digital(digital)) => digital.called == *group,
            (ListensTo::Group(_), Signal::Analog(_)) => false,
            (ListensTo::Channel(air), _) => receive(ray, air, &Gear::UNWRITTEN, false) == Outcome::Heard,
        }
    }
}
