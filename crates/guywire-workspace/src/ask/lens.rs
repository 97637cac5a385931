//! What stands above a table: how many use it.

use std::ops::Range;

use guywire_plan::language::{Kind, Tabled, profile, radio, zone};
use guywire_plan::{Db, Entity, EntityId, Known, NAMED, Recorder, Ref, Row, Stored, View};
use guywire_text::FileId;
use rustc_hash::FxHashSet;

use super::names::{self, FileBytes};
use crate::workspace::Workspace;

/// A line above a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lens {
    /// Bytes of the header that it stands above.
    pub bytes: Range<usize>,
    /// What it says.
    pub title: String,
    /// The places that it counts, in order of path and place.
    pub places: Vec<FileBytes>,
}

impl Workspace {
    /// The lines above the tables of a file that others name, in text order: the radios on a zone, the uses of the
    /// others.
    pub fn lenses(&self, file: FileId) -> Vec<Lens> {
        let db = &self.engine.db;
        let ids = db.tables_of(file);
        ids.into_iter().filter_map(|id| lens(db, id)).collect()
    }
}

fn lens(db: &Db, id: EntityId) -> Option<Lens> {
    let entity = db.entity(id)?;
    let counts = NAMED.contains(&entity.kind) && entity.name() != Known::Absent;
    let is_main = db.main(entity.file) == Some(id) && entity.kind != Kind::Plan;
    // Nothing names these.
    let unnamed = matches!(entity.kind, Kind::License | Kind::Kit | Kind::Workspace | Kind::Bench | Kind::Field);
    if unnamed || !(counts || is_main) {
        return None;
    }
    let bytes = db.bytes(entity, entity.record.at)?;
    if entity.kind == Kind::Zone {
        let places = radios_on(db, id, entity);
        return Some(Lens { bytes, title: format!("{} on this zone", count(places.len(), "radio")), places });
    }
    let places = names::uses_of(db, id);
    Some(Lens { bytes, title: count(places.len(), "use"), places })
}

fn count(number: usize, noun: &str) -> String {
    if number == 1 { format!("1 {noun}") } else { format!("{number} {noun}s") }
}

/// The radios that hold a zone by their own list or their profile's, in any plan that sees it.
fn radios_on(db: &Db, zone: EntityId, entity: &Entity) -> Vec<FileBytes> {
    let recorder = Recorder::silent();
    let mut radios: FxHashSet<EntityId> = FxHashSet::default();
    for viewer in db.readers(entity.file) {
        let view = View::new(db, viewer, &recorder);
        if view.get::<zone::Table>(zone).is_none() {
            continue;
        }
        radios.extend(holding::<radio::Table>(view, zone, radio::zones).map(|radio| radio.id()));
        for profile in holding::<profile::Table>(view, zone, profile::zones) {
            let by_profile = view.referrers::<radio::Table>(profile.id());
            radios.extend(by_profile.iter().filter(|radio| !radio.has(radio::zones)).map(Ref::id));
        }
    }
    let header = |id: &EntityId| {
        let entity = db.entity(*id)?;
        Some(FileBytes { file: entity.file, bytes: db.bytes(entity, entity.record.at)? })
    };
    let mut places: Vec<FileBytes> = radios.iter().filter_map(header).collect();
    names::put_in_order(db, &mut places);
    places
}

/// The tables whose list of zones names this one.
fn holding<'v, T: Tabled>(
    view: View<'v>,
    zone: EntityId,
    zones: guywire_plan::language::Field<T>,
) -> impl Iterator<Item = Ref<'v, T>> {
    let name = view.name_symbol(zone).value();
    view.referrers::<T>(zone).into_iter().filter(move |holder| match holder.list(zones) {
        Known::Is(elements) => elements.iter().any(|it| matches!(it.value, Stored::Text(held) if Some(held) == name)),
        _ => false,
    })
}
