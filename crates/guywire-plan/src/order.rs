//! The order of entities wherever order is seen.

use std::cmp::Ordering;
use std::path::Path;

use guywire_text::FileId;

use crate::db::Db;
use crate::entity::EntityId;

/// Where an entity stands: path, place in the text, ordinal.
#[derive(Debug, Clone, Copy)]
pub struct Order<'d> {
    path: &'d Path,
    pub(crate) file: Option<FileId>,
    pub(crate) start: usize,
    pub(crate) ordinal: u32,
}

impl Ord for Order<'_> {
    fn cmp(&self, other: &Self) -> Ordering {
        // To compare paths takes long, and most are of one file.
        let path = if self.file == other.file { Ordering::Equal } else { self.path.cmp(other.path) };
        path.then_with(|| (self.start, self.ordinal).cmp(&(other.start, other.ordinal)))
    }
}

impl PartialOrd for Order<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Order<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Order<'_> {}

impl Db {
    /// What entities are ordered by wherever order is seen: path, place in the text, ordinal.
    pub fn order(&self, id: EntityId) -> Order<'_> {
        match self.entity(id) {
            Some(entity) => Order {
                path: &self.file(entity.file).path,
                file: Some(entity.file),
                start: self.header_start(id),
                ordinal: entity.ordinal,
            },
            None => Order { path: Path::new(""), file: None, start: usize::MAX, ordinal: 0 },
        }
    }

    /// Sorts entities in their [`Db::order`].
    pub fn sort(&self, ids: &mut [EntityId]) {
        match ids.len() {
            0..=1 => {}
            // Fewer comparisons than that are cheaper than to keep the places.
            2..=4 => ids.sort_by(|a, b| self.order(*a).cmp(&self.order(*b))),
            _ => ids.sort_by_cached_key(|id| self.order(*id)),
        }
    }
}
