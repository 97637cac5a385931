//! Numbers: those of a short range, the next free one, those that the plan has elsewhere under the same key.

use guywire_plan::language::{CHANNEL, CONTACT, FileKind, Kind, REPEATER, TableSpec, Type, model, repeater};
use guywire_plan::{EntityId, Known, Record, Ref, Row, Stored};
use guywire_radio::Hertz;
use rustc_hash::{FxHashMap, FxHashSet};

use super::context::{Asked, Want, slot};
use super::item::{Content, Draft, Written};
use super::known;
use crate::answer::CompletionKind;

/// Ranges of at most this many numbers are listed.
const SHORT: i64 = 16;
/// Tables that are looked at for what is usual: in larger plans the first met stand for all.
pub(crate) const LOOKED_AT: usize = 4_096;
/// Usual values that are offered.
const USUAL: usize = 6;
/// Names that are told with a number.
const TOLD: usize = 3;
/// Widths of land mobile channels, kHz (EN 300 086; ETSI TS 102 361-1 for 12.5).
const WIDTHS: [&str; 3] = ["12.5", "20", "25"];
/// Steps of synthesizers, kHz (common practice, no source).
const STEPS: [&str; 4] = ["2.5", "5", "6.25", "12.5"];
/// Of all sites of systems with a control channel (ETSI TS 102 361-4, from memory).
const SHARED_CODE: i64 = 15;

/// A whole number in a range.
pub(crate) fn whole(asked: &Asked<'_>, want: Want, low: i64, high: i64) -> Vec<Draft> {
    if want.key.is_some_and(|key| key.name == "id") {
        return ids(asked, want.table);
    }
    if want.is(&guywire_plan::language::PLAN, "mains_hz") {
        return [50, 60].map(|hertz| raw(hertz.to_string()).detail("Hz, the mains of many countries")).to_vec();
    }
    if high - low >= SHORT {
        return usual(asked, want);
    }
    let obvious = want.key.and_then(|key| known::obvious(asked, want.table, key.name));
    (low..=high)
        .map(|number| {
            let text = number.to_string();
            let preselect = obvious.as_ref() == Some(&text) || (obvious.is_none() && low == high);
            raw(text)
                .detail(about(asked, want, number))
                .doc(want.key.map(|key| key.doc).unwrap_or_default())
                .preselect(preselect)
        })
        .collect()
}

fn raw(text: impl Into<String>) -> Draft {
    Draft::of_raw(CompletionKind::Number, text)
}

/// What is known of a color code or slot: the repeaters that have it, what the repeater carries there.
fn about(asked: &Asked<'_>, want: Want, number: i64) -> String {
    if want.is(&CHANNEL, "slot") {
        let carried =
            known::repeater(asked).map(|repeater| known::carried(asked, repeater, number)).unwrap_or_default();
        return if carried.is_empty() { String::new() } else { format!("carries {}", told(&carried)) };
    }
    if want.is(&CHANNEL, "color_code") || want.is(&REPEATER, "color_code") {
        let having = repeaters_with(asked, number);
        return match (having.is_empty(), number) {
            (false, _) => format!("of {}", told(&having)),
            (true, SHARED_CODE) => "the code that systems with a control channel share".to_owned(),
            (true, _) => String::new(),
        };
    }
    String::new()
}

fn told(names: &[String]) -> String {
    let first = names.iter().take(TOLD).map(String::as_str).collect::<Vec<_>>().join(", ");
    if names.len() > TOLD { format!("{first} and {} more", names.len() - TOLD) } else { first }
}

fn repeaters_with(asked: &Asked<'_>, code: i64) -> Vec<String> {
    let view = asked.view;
    let repeaters = view.nameable(asked.file, Kind::Repeater).into_iter().filter_map(|id| view.get(id));
    let mut names: Vec<String> = repeaters
        .filter(|it: &Ref<'_, repeater::Table>| it.whole(repeater::color_code) == Known::Is(code))
        .filter_map(|it| Some(it.name()?.to_owned()))
        .collect();
    names.sort_unstable();
    names
}

// ---- ids --------------------------------------------------------------------------------------------

/// Kinds of table whose `id` is the address of a unit.
const UNITS: [Kind; 3] = [Kind::Radio, Kind::Station, Kind::Repeater];

fn ids(asked: &Asked<'_>, table: &'static TableSpec) -> Vec<Draft> {
    if std::ptr::eq(table, &CONTACT) {
        return units(asked);
    }
    let next = next_id(asked, table, usize::MAX);
    next.map(|id| raw(id.to_string()).detail("the next that is free").preselect(true)).into_iter().collect()
}

/// The first free id after the highest of its kind; none where the kind has no ids, none is written yet, or there are more
/// tables than `most` to look at.
pub(crate) fn next_id(asked: &Asked<'_>, table: &'static TableSpec, most: usize) -> Option<i64> {
    let key = table.field("id").map(|field| table.key(field))?;
    let Type::Whole(low, high) = key.value else { return None };
    let shared: &[Kind] = match table.kind {
        Kind::Talkgroup => &[Kind::Talkgroup],
        Kind::Key => &[Kind::Key],
        kind if UNITS.contains(&kind) => &UNITS,
        _ => return None,
    };
    let (mut used, mut own) = (FxHashSet::default(), None);
    for kind in shared {
        let tables = asked.view.nameable(asked.file, *kind);
        if tables.len() > most {
            return None;
        }
        for id in tables.into_iter().filter(|id| Some(*id) != asked.id) {
            let Some(number) = id_of(asked, id) else { continue };
            used.insert(number);
            if *kind == table.kind {
                own = own.max(Some(number));
            }
        }
    }
    // Where there is none of its kind yet, it goes on from the others.
    let last = own.or_else(|| used.iter().copied().max())?;
    let free = |number: &i64| !used.contains(number);
    (last + 1..=high).find(free).or_else(|| (low.max(1)..=high).find(free))
}

fn id_of(asked: &Asked<'_>, id: EntityId) -> Option<i64> {
    let record = &asked.db().entity(id)?.record;
    match slot(record, record.spec.field("id")?)? {
        Stored::Whole(number) => Some(*number),
        _ => None,
    }
}

/// The units that can be called: radios of the fleet and stations, by what others see of them.
fn units(asked: &Asked<'_>) -> Vec<Draft> {
    let mut found: Vec<(i64, &str, &str)> = Vec::new();
    for (kind, noun) in [(Kind::Radio, "radio"), (Kind::Station, "station")] {
        for id in asked.view.nameable(asked.file, kind) {
            if let Some(number) = id_of(asked, id) {
                found.push((number, asked.view.name_of(id).unwrap_or_default(), noun));
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    let draft = |(number, name, noun): (i64, &str, &str)| {
        let label = if name.is_empty() { number.to_string() } else { format!("{number}  {name}") };
        Draft::new(CompletionKind::Number, label, Content::Made(Written::of(&number.to_string()))).detail(noun)
    };
    found.into_iter().map(draft).collect()
}

// ---- what is usual ----------------------------------------------------------------------------------

/// What other tables have under the same key, the most frequent first; for widths what the models can be set to.
pub(crate) fn usual(asked: &Asked<'_>, want: Want) -> Vec<Draft> {
    let mut drafts = counted(asked, want);
    let known: FxHashSet<String> = drafts.iter().map(|draft| draft.label.clone()).collect();
    let beside = match want.key.map(|key| key.name) {
        Some("bandwidth_khz" | "bandwidths_khz" | "max_bandwidth_khz") => widths(asked),
        Some("step_khz" | "raster_step_khz") => STEPS.map(|step| raw(step).detail("kHz")).to_vec(),
        _ => Vec::new(),
    };
    drafts.extend(beside.into_iter().filter(|draft| !known.contains(&draft.label)));
    let obvious = want.key.and_then(|key| known::obvious(asked, want.table, key.name));
    if let Some(draft) = drafts.iter_mut().find(|draft| Some(&draft.label) == obvious.as_ref()) {
        draft.preselect = true;
        draft.rank = 0;
    }
    drafts
}

fn widths(asked: &Asked<'_>) -> Vec<Draft> {
    let mut found: Vec<(Hertz, String)> = Vec::new();
    if asked.kind == FileKind::Plan {
        for model in known::models(asked) {
            let Known::Is(widths) = model.list(model::bandwidths_khz) else { continue };
            for width in widths {
                let (Stored::Frequency(width), Some(name)) = (&width.value, model.name()) else { continue };
                match found.iter_mut().find(|(held, _)| held == width) {
                    Some((_, names)) => names.push_str(&format!(", {name}")),
                    None => found.push((*width, name.to_owned())),
                }
            }
        }
    }
    if found.is_empty() {
        return WIDTHS.map(|width| raw(width).detail("kHz")).to_vec();
    }
    found.into_iter().map(|(width, names)| raw(width.khz_text()).detail(format!("kHz, a width of {names}"))).collect()
}

fn counted(asked: &Asked<'_>, want: Want) -> Vec<Draft> {
    let (Some(id), Some(key)) = (asked.id, want.key) else { return Vec::new() };
    let Some(field) = want.table.field(key.name) else { return Vec::new() };
    let mut counts: FxHashMap<String, usize> = FxHashMap::default();
    let tables = asked.view.nameable(asked.file, asked.view.kind(id)).into_iter().filter(|other| *other != id);
    for other in tables.take(LOOKED_AT) {
        if let Some(entity) = asked.db().entity(other) {
            count(&entity.record, want.table, field, &mut counts);
        }
    }
    let mut found: Vec<(String, usize)> = counts.into_iter().collect();
    found.sort_by(|(a, so_often), (b, as_often)| {
        as_often.cmp(so_often).then_with(|| a.len().cmp(&b.len())).then_with(|| a.cmp(b))
    });
    let draft = |(text, count): (String, usize)| {
        raw(text).detail(if count == 1 { "as 1 other".to_owned() } else { format!("as {count} others") })
    };
    found.into_iter().take(USUAL).map(draft).collect()
}

/// Counts the values of a key in the tables of one kind, wherever they stand in a record.
fn count(record: &Record, table: &'static TableSpec, field: u8, counts: &mut FxHashMap<String, usize>) {
    if std::ptr::eq(record.spec, table) {
        if let Some(text) = slot(record, field).and_then(number_text) {
            *counts.entry(text).or_default() += 1;
        }
        return;
    }
    for slot in &record.slots {
        match &slot.value {
            Stored::Part(part) => count(part, table, field, counts),
            Stored::List(elements) => elements.iter().for_each(|element| {
                if let Stored::Part(part) = &element.value {
                    count(part, table, field, counts);
                }
            }),
            _ => {}
        }
    }
}

/// A number as it is written. Frequencies are those of keys in kHz.
fn number_text(value: &Stored) -> Option<String> {
    match value {
        Stored::Whole(number) => Some(number.to_string()),
        Stored::Number(number) => Some(number.to_string()),
        Stored::Frequency(width) => Some(width.khz_text()),
        _ => None,
    }
}
