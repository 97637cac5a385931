//! Few names out of very many: those that would be shown, without looking at a table for each. The letters of all names of
//! a kind in a file lie side by side, and are gathered anew only where such a name came or went.

use std::sync::{Arc, Mutex, PoisonError};

use guywire_plan::language::Kind;
use guywire_plan::{Db, EntityId, View};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::context::Asked;
use super::item::{closeness, lowered};

/// The names of one kind in one file, in no order.
#[derive(Debug, Default)]
struct List {
    /// The letters of all, small.
    letters: String,
    /// Where each ends, and its table.
    names: Vec<(usize, EntityId)>,
}

/// Lists, each with the tick of the names that it is of.
type Lists = FxHashMap<(FileId, Kind), (u64, Arc<List>)>;

/// What was gathered, as long as it is true.
#[derive(Debug, Default)]
pub(crate) struct Gathered(Mutex<Lists>);

impl Gathered {
    fn list(&self, db: &Db, view: View<'_>, file: FileId, kind: Kind) -> Arc<List> {
        let tick = db.name_tick(file, kind);
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((of, list)) = held.get(&(file, kind))
            && *of == tick
        {
            return list.clone();
        }
        let mut list = List::default();
        for id in view.tables_in(file, kind) {
            if let Some(name) = view.name_of(id) {
                list.letters.extend(lowered(name));
                list.names.push((list.letters.len(), id));
            }
        }
        let list = Arc::new(list);
        held.insert((file, kind), (tick, list.clone()));
        list
    }
}

/// A name that fits what is typed, best first.
#[derive(Debug, Clone, Copy)]
struct Fits<'l> {
    far: bool,
    close: u8,
    /// Its first letters, so that few are compared whole.
    first: [u8; 8],
    letters: &'l str,
    /// The file in order, so that of one name the nearer table counts.
    place: usize,
    id: EntityId,
}

impl<'l> Fits<'l> {
    fn order(&self, other: &Fits<'l>) -> std::cmp::Ordering {
        let key = |it: &Fits<'l>| (it.far, it.close, it.first, it.letters, it.place);
        key(self).cmp(&key(other))
    }
}

/// At least `most` of the names of tables of these kinds, each once, where there are so many that fit what is typed: those
/// that would be shown. `near` come first.
pub(crate) fn few<'w>(
    asked: &Asked<'w>,
    kinds: &[Kind],
    near: &FxHashSet<String>,
    typed: &[char],
    most: usize,
) -> Vec<(&'w str, EntityId)> {
    let files: Vec<FileId> = asked.view.names_seen_from(asked.file).collect();
    let gathered = &asked.workspace.gathered;
    let lists: Vec<Arc<List>> = kinds
        .iter()
        .flat_map(|kind| files.iter().map(|file| gathered.list(asked.db(), asked.view, *file, *kind)))
        .collect();
    let near: FxHashSet<String> = near.iter().map(|name| lowered(name).collect()).collect();
    let mut fits: Vec<Fits<'_>> = Vec::new();
    for (place, list) in lists.iter().enumerate() {
        let mut start = 0;
        for (end, id) in &list.names {
            let letters = &list.letters[start..*end];
            start = *end;
            if let Some(close) = closeness(letters, typed) {
                let far = near.is_empty() || !near.contains(letters);
                fits.push(Fits { far, close, first: first(letters), letters, place, id: *id });
            }
        }
    }
    let mut wanted = most;
    loop {
        let best = match wanted < fits.len() {
            true => fits.select_nth_unstable_by(wanted, Fits::order).0,
            false => &mut fits[..],
        };
        best.sort_unstable_by(Fits::order);
        let mut seen: FxHashSet<&str> = FxHashSet::default();
        let named = best.iter().filter_map(|it| Some((asked.view.name_of(it.id)?, it.id)));
        let named: Vec<(&'w str, EntityId)> = named.filter(|(name, _)| seen.insert(name)).collect();
        if named.len() >= most || wanted >= fits.len() {
            return named;
        }
        wanted *= 2;
    }
}

fn first(letters: &str) -> [u8; 8] {
    let mut first = [0; 8];
    for (at, byte) in first.iter_mut().zip(letters.bytes()) {
        *at = byte;
    }
    first
}
