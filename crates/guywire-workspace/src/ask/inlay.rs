//! Computed values within the text: few, short, and only those that are looked up all the time. The language table says
//! what is computed of a key; here is which of that stands inside the line.

use std::ops::Range;

use guywire_plan::audience::{Answer, Hearing};
use guywire_plan::language::{
    Computed, Field, Kind, Tabled, Type, channel, contact, model, model__power, repeater, talkgroup,
};
use guywire_plan::{Db, EntityId, FieldPath, FoundAny, Known, Recorder, Row, Sends, Stored, View};
use guywire_radio::Hertz;
use guywire_text::FileId;
use rustc_hash::FxHashSet;

use super::computed::{Ask, number_in_list, radiated, usual_emission};
use super::figures::{shift, watts};
use super::hover::viewer;
use crate::workspace::Workspace;

/// A value that a client shows within a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InlayHint {
    /// The byte that it stands at.
    pub at: usize,
    /// What it shows, short.
    pub label: String,
    /// It belongs to what follows, not to what stands before it.
    pub before: bool,
    /// What it is.
    pub tooltip: &'static str,
}

impl Workspace {
    /// The computed values that stand within these bytes of a file, in text order.
    pub fn inlay_hints(&self, file: FileId, bytes: Range<usize>) -> Vec<InlayHint> {
        let db = &self.engine.db;
        let recorder = Recorder::silent();
        let view = View::new(db, viewer(db, file), &recorder);
        let mut hints = Vec::new();
        let hearing = Hearing::new(view);
        for id in tables_in(db, file, &bytes) {
            hints_of(db, view, id, &mut hints);
            hints.extend(listeners(db, view, &hearing, id));
        }
        hints.retain(|hint| (bytes.start..=bytes.end).contains(&hint.at));
        hints.sort_by(|a, b| (a.at, &a.label).cmp(&(b.at, &b.label)));
        hints
    }
}

/// The tables of the units of text that some bytes are in.
fn tables_in(db: &Db, file: FileId, bytes: &Range<usize>) -> Vec<EntityId> {
    let Some(document) = db.document(file) else { return Vec::new() };
    let (mut seen, mut tables) = (FxHashSet::default(), Vec::new());
    let mut byte = bytes.start.min(document.len());
    loop {
        let (block, _) = document.at(byte);
        for unit in document.units_of(block) {
            tables.extend(db.entities_of_unit(file, &unit).iter().filter(|id| seen.insert(**id)));
        }
        let length = document.block_text(block).map_or(0, |text| text.len());
        let next = document.start(block).map_or(byte, |start| start + length);
        if next <= byte || next > bytes.end.min(document.len()) {
            return tables;
        }
        byte = next;
    }
}

fn hints_of(db: &Db, view: View<'_>, id: EntityId, hints: &mut Vec<InlayHint>) {
    let Some(entity) = db.entity(id) else { return };
    for slot in &entity.record.slots {
        let key = entity.record.spec.key(slot.field);
        if key.secret {
            continue;
        }
        let path = FieldPath::key(slot.field);
        match &slot.value {
            Stored::List(elements) if key.computed.contains(&Computed::Position) => {
                for (number, element) in elements.iter().enumerate() {
                    let ask = Ask::of_key(db, view, id, path.then(number));
                    let label = ask.and_then(|ask| number_in_list(&ask)).map(|number| (number + 1).to_string());
                    if let (Some(bytes), Some(label)) = (db.bytes(entity, element.at), label) {
                        hints.push(InlayHint { at: bytes.start, label, before: true, tooltip: "position of the knob" });
                    }
                }
            }
            Stored::List(_) | Stored::Part(_) | Stored::Unreadable(_) => {}
            _ => {
                let Some(ask) = Ask::of_key(db, view, id, path) else { continue };
                let found = key.computed.iter().find_map(|computed| computed_hint(*computed, &ask));
                let found = found.or_else(|| matches!(key.value, Type::Refer(..)).then(|| target_hint(&ask))?);
                if let (Some(bytes), Some((label, tooltip))) = (db.bytes(entity, slot.at), found) {
                    hints.push(InlayHint { at: bytes.end, label, before: false, tooltip });
                }
            }
        }
    }
}

/// How many listen to a channel, beside its name.
fn listeners(db: &Db, view: View<'_>, hearing: &Hearing<'_>, id: EntityId) -> Option<InlayHint> {
    let emission = view.air(id)?.push_to_talk().ok()?;
    let entity = db.entity(id)?;
    let slot = entity.record.slot(channel::name.number())?;
    let audience = hearing.near(&emission, None);
    let counts = [(Answer::Hears, "hear"), (Answer::IfScanning, "if scanning")];
    let said: Vec<String> = counts
        .into_iter()
        .filter_map(|(answer, word)| match audience.count(answer) {
            0 => None,
            count => Some(format!("{count} {word}")),
        })
        .collect();
    let label = match (said.is_empty(), audience.total(), audience.stations.is_empty()) {
        (_, 0, true) => return None,
        (true, _, true) => "nobody hears".to_owned(),
        (true, _, false) => "a station hears".to_owned(),
        (false, ..) => said.join(", "),
    };
    Some(InlayHint { at: db.bytes(entity, slot.at)?.end, label, before: false, tooltip: "who hears push-to-talk here" })
}

type Hint = (String, &'static str);

/// What stands beside a value by what is computed of it.
fn computed_hint(computed: Computed, ask: &Ask<'_>) -> Option<Hint> {
    match computed {
        Computed::Carrier => split(ask),
        Computed::Width => designator(ask),
        Computed::Radiated => erp(ask),
        Computed::Level => level(ask),
        _ => None,
    }
}

/// What stands beside a name by what it leads to: the id of a talkgroup or contact, the carriers of a repeater.
fn target_hint(ask: &Ask<'_>) -> Option<Hint> {
    let references = ask.view.references(ask.id);
    let reference = references.iter().find(|it| it.path == ask.path && !it.in_key)?;
    let FoundAny::Some(found) = ask.view.find_any(ask.id, reference.kinds, reference.name) else { return None };
    let [target] = found.as_slice() else { return None };
    match ask.view.kind(*target) {
        Kind::Talkgroup => number(ask, *target, talkgroup::id, "id of the talkgroup"),
        Kind::Contact => number(ask, *target, contact::id, "address of the contact"),
        Kind::Repeater => {
            let row = ask.view.get::<repeater::Table>(*target)?;
            let (tx, rx) = (row.frequency(repeater::tx_mhz).value()?, row.frequency(repeater::rx_mhz).value()?);
            Some((format!("{tx} {}", shift(rx - tx)), "output of the repeater and its split"))
        }
        _ => None,
    }
}

fn number<T: Tabled>(ask: &Ask<'_>, target: EntityId, field: Field<T>, tooltip: &'static str) -> Option<Hint> {
    match ask.view.known(target, field) {
        Known::Is(Stored::Whole(number)) => Some((number.to_string(), tooltip)),
        _ => None,
    }
}

/// The split, beside the carrier that is not received by radios.
fn split(ask: &Ask<'_>) -> Option<Hint> {
    let carrier = ask.frequency()?;
    let (tx, rx) = if let Some(row) = ask.row::<channel::Table>() {
        let channel = ask.view.channel(row.id())?;
        (channel.tx.value()?, channel.rx.value()?)
    } else {
        let row = ask.row::<repeater::Table>()?;
        (row.frequency(repeater::rx_mhz).value()?, row.frequency(repeater::tx_mhz).value()?)
    };
    (tx == carrier && tx != rx).then(|| (shift(tx - rx), "split: what radios send less what they receive"))
}

fn designator(ask: &Ask<'_>) -> Option<Hint> {
    let width: Hertz = ask.frequency()?;
    let digital = if let Some(row) = ask.row::<channel::Table>() {
        match ask.view.channel(row.id())?.sends {
            Known::Is(Sends::Digital) => true,
            Known::Is(Sends::Analog) => false,
            _ => return None,
        }
    } else {
        let mode = ask.row::<repeater::Table>()?.text(repeater::mode).map(|mode| ask.view.symbol(mode));
        match mode {
            Known::Is("digital") | Known::Absent => true,
            Known::Is("analog") => false,
            _ => return None,
        }
    };
    Some((usual_emission(digital, width)?.to_string(), "usual emission designator"))
}

/// Beside the output only: gain and loss are part of it.
fn erp(ask: &Ask<'_>) -> Option<Hint> {
    let row = ask.row::<repeater::Table>()?;
    if ask.path.first() != Some(repeater::power_w.number()) {
        return None;
    }
    let (eirp, _) = radiated(row)?;
    Some((format!("{} ERP", watts(eirp.erp().w())), "effective radiated power"))
}

/// The watts of a level, where all models that hold the channel agree on them.
fn level(ask: &Ask<'_>) -> Option<Hint> {
    let (row, level) = (ask.row::<channel::Table>()?, ask.text()?);
    let models = ask.view.channel_models(row.id());
    let rated = models.iter().map(|model| {
        model.parts::<model__power::Table>(model::power).into_iter().find_map(|part| {
            let named = part.text(model__power::level).map(|it| ask.view.symbol(it));
            (named == Known::Is(level)).then(|| part.number(model__power::watts).value()).flatten()
        })
    });
    let rated: Vec<f64> = rated.collect::<Option<_>>()?;
    let first = *rated.first()?;
    rated.iter().all(|watts| *watts == first).then(|| (watts(first), "rated power of the level"))
}
