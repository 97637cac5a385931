//! The radios that must be written again, those that are new or gone, and those of another status.

use std::collections::BTreeMap;
use std::rc::Rc;

use guywire_plan::language::{FieldSet, Kind, radio, radio__ids};
use guywire_plan::{EntityId, Known, Part, Recorder, Row, Stored, View};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::change::{Both, Ledger, header, name};
use super::held::{ClassKey, Held, Holder};
use super::state::State;
use super::{Became, Cause, Comparison, RadioName, Reached, Rewrite, Side, StatusChange};

/// Statuses of a radio; an absent one is the first.
const STATUSES: [&str; 4] = ["issued", "spare", "lost", "retired"];

/// Why a radio must be written again: what it holds, and the keys of its own table.
type Why = (Vec<Cause>, Vec<&'static str>);

/// What the plans that see a radio say of it.
#[derive(Default)]
struct Seen {
    /// Some plan sees it on both sides.
    compared: bool,
    own: Option<usize>,
    causes: Vec<Cause>,
}

/// Compares the radios of all plans.
pub(crate) fn compare(ledger: &mut Ledger<'_, '_>, comparison: &mut Comparison) {
    let states = ledger.states;
    let mut seen: BTreeMap<u32, Seen> = BTreeMap::new();
    for plan in states.plans().filter(|plan| states.can_differ(*plan)).collect::<Vec<_>>() {
        of_plan(ledger, plan, &mut seen);
    }
    let mut seen: Vec<(u32, Seen)> = seen.into_iter().collect();
    seen.sort_by_cached_key(|(number, _)| place(ledger, *number));
    let mut groups: FxHashMap<Why, Vec<(RadioName, Option<usize>)>> = FxHashMap::default();
    for (number, seen) in seen {
        let (was, is) = ledger.matched.pair(number);
        if !seen.compared {
            comparison.gone.extend(was.and_then(|id| named(&states.before, Side::Before, id)));
            comparison.added.extend(is.and_then(|id| named(&states.after, Side::After, id)));
            continue;
        }
        let (Some(was), Some(is)) = (was, is) else { continue };
        let Some(radio) = named(&states.after, Side::After, is) else { continue };
        let status = (status(&states.before, was), status(&states.after, is));
        if status.0 != status.1 {
            comparison.statuses.push(StatusChange { radio: radio.clone(), status });
        }
        let own = own_keys(ledger, seen.own);
        // Nobody can write a radio that is away.
        if (!own.is_empty() || !seen.causes.is_empty()) && !matches!(status.1, "lost" | "retired") {
            groups.entry((seen.causes, own)).or_default().push((radio, seen.own));
        }
    }
    comparison.radios = count(&states.after);
    comparison.rewrites =
        groups.into_iter().map(|((causes, own), radios)| rewrite(ledger, causes, own, radios)).collect();
    let order = |group: &Rewrite| {
        let first = group.radios.first().map(|(radio, _)| (states.after.path(radio.at.file), radio.at.bytes.start));
        (group.reach == Reached::Names, std::cmp::Reverse(group.radios.len()), first)
    };
    comparison.rewrites.sort_by(|a, b| order(a).cmp(&order(b)));
}

fn of_plan(ledger: &mut Ledger<'_, '_>, plan: Both<FileId>, seen: &mut BTreeMap<u32, Seen>) {
    let states = ledger.states;
    let mut holders =
        (plan.0.map(|plan| Holder::new(&states.before, plan)), plan.1.map(|plan| Holder::new(&states.after, plan)));
    let mut known: FxHashMap<(ClassKey, ClassKey), Rc<[Cause]>> = FxHashMap::default();
    for number in ledger.seen_by(plan, &[Kind::Radio]) {
        let (was, is) = ledger.matched.pair(number);
        let sees = |state: &State<'_>, plan: Option<FileId>, id: Option<EntityId>| {
            let file = id.and_then(|id| state.db.entity(id)).map(|entity| entity.file);
            plan.zip(file).is_some_and(|(plan, file)| state.db.scope(plan).contains(&file))
        };
        let seen_here = seen.entry(number).or_default();
        let (Some(was), Some(is), Some(before), Some(after)) = (was, is, &mut holders.0, &mut holders.1) else {
            continue;
        };
        if !sees(&states.before, plan.0, Some(was)) || !sees(&states.after, plan.1, Some(is)) {
            continue;
        }
        seen_here.compared = true;
        let ((old_class, old), (new_class, new)) = (before.of(was), after.of(is));
        let causes = match known.get(&(old_class, new_class)) {
            Some(causes) => causes.clone(),
            None => {
                let causes: Rc<[Cause]> = causes(ledger, plan, &old, &new).into();
                known.insert((old_class, new_class), causes.clone());
                causes
            }
        };
        for cause in causes.iter().filter(|cause| !seen_here.causes.contains(cause)).cloned().collect::<Vec<_>>() {
            seen_here.causes.push(cause);
        }
        seen_here.own = seen_here.own.or(ledger.change(plan, number));
    }
}

/// The tables of both sides that changed in keys which matter.
fn causes(ledger: &mut Ledger<'_, '_>, plan: Both<FileId>, old: &Held, new: &Held) -> Vec<Cause> {
    let mut held: BTreeMap<u32, (FieldSet, bool)> = BTreeMap::new();
    for (side, tables) in [(Side::Before, old), (Side::After, new)] {
        for (id, hold) in tables {
            let Some(number) = ledger.matched.number(side, *id) else { continue };
            let known = held.entry(number).or_default();
            *known = (known.0.and(hold.keys), known.1 || hold.by_itself);
        }
    }
    let mut found = Vec::new();
    for (number, (keys, by_itself)) in held {
        let Some(table) = ledger.change(plan, number) else { continue };
        let change = ledger.table(table);
        if change.became != Became::Changed {
            found.extend(by_itself.then(|| Cause { table, keys: Vec::new() }));
            continue;
        }
        let matters = |(_, key): &(usize, &super::KeyChange)| keys.meets(FieldSet::of(key.field));
        let keys: Vec<usize> = change.keys.iter().enumerate().filter(matters).map(|(at, _)| at).collect();
        if !keys.is_empty() {
            found.push(Cause { table, keys });
        }
    }
    found.sort_by_key(|cause| cause.table);
    found
}

/// The keys of a radio's own table that changed. Its status is told apart: nothing of it is in the radio.
fn own_keys(ledger: &Ledger<'_, '_>, own: Option<usize>) -> Vec<&'static str> {
    let keys = own.map(|own| ledger.table(own).keys.iter()).into_iter().flatten();
    keys.filter(|key| key.field != radio::status.number()).map(|key| key.key).collect()
}

fn rewrite(
    ledger: &Ledger<'_, '_>,
    causes: Vec<Cause>,
    own: Vec<&'static str>,
    radios: Vec<(RadioName, Option<usize>)>,
) -> Rewrite {
    let of_cause = |cause: &Cause| {
        let table = ledger.table(cause.table);
        // That a table is there or not is seen in the hand at least; what it says may be on the air.
        if cause.keys.is_empty() {
            Some(Reached::Air)
        } else {
            cause.keys.iter().map(|key| table.keys[*key].reach).max()
        }
    };
    let keys = radios.first().and_then(|(_, own)| *own).map(|own| ledger.table(own).keys.iter()).into_iter().flatten();
    let of_own = keys.filter(|key| own.contains(&key.key)).map(|key| key.reach).max();
    let reach = causes.iter().filter_map(of_cause).chain(of_own).max().unwrap_or(Reached::Names);
    let radios = radios.into_iter().map(|(radio, table)| (radio, table.filter(|_| !own.is_empty()))).collect();
    Rewrite { radios, own, causes, reach }
}

fn place(ledger: &Ledger<'_, '_>, number: u32) -> (std::path::PathBuf, usize, u32) {
    let (was, is) = ledger.matched.pair(number);
    let (state, id) = match (was, is) {
        (_, Some(is)) => (&ledger.states.after, is),
        (Some(was), None) => (&ledger.states.before, was),
        (None, None) => return (std::path::PathBuf::new(), 0, number),
    };
    let Some(entity) = state.db.entity(id) else { return (std::path::PathBuf::new(), 0, number) };
    (state.path(entity.file).to_path_buf(), state.db.header_start(id), entity.ordinal)
}

/// A radio as it is told.
pub(crate) fn named(state: &State<'_>, side: Side, id: EntityId) -> Option<RadioName> {
    let record = &state.db.entity(id)?.record;
    let mut units: Vec<i64> = Vec::new();
    if let Known::Is(Stored::Whole(unit)) = record.known(radio::id.number()) {
        units.push(*unit);
    }
    if let Known::Is(Stored::Part(part)) = record.known(radio::ids.number()) {
        let part = Part::<radio__ids::Table>::new(part);
        units.extend(part.record().extras.iter().filter_map(|extra| match extra.value {
            Stored::Whole(unit) => Some(unit),
            _ => None,
        }));
    }
    Some(RadioName { alias: name(state, id), units, at: header(state, side, id)?, id })
}

fn status(state: &State<'_>, id: EntityId) -> &'static str {
    let recorder = Recorder::silent();
    let file = state.db.entity(id).map(|entity| entity.file);
    let written = file.and_then(|file| {
        let view = View::new(state.db, file, &recorder);
        let radio = view.get::<radio::Table>(id)?;
        Some(view.symbol(radio.text(radio::status).value()?).to_owned())
    });
    let written = written.unwrap_or_default();
    STATUSES.into_iter().find(|status| *status == written).unwrap_or(STATUSES[0])
}

/// Radios that some plan sees.
fn count(state: &State<'_>) -> usize {
    let plans = state.db.file_ids().filter(|file| state.db.is_plan(*file));
    let files: FxHashSet<FileId> = plans.flat_map(|plan| state.db.scope(plan).to_vec()).collect();
    let tables = files.into_iter().flat_map(|file| state.db.entities_of(file).collect::<Vec<_>>());
    tables.filter(|id| state.db.entity(*id).is_some_and(|entity| entity.kind == Kind::Radio)).count()
}
