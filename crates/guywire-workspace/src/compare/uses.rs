//! What radios and repeaters use of licenses: carriers, classes of station, emissions, powers, units.

use std::collections::BTreeMap;

use guywire_plan::language::{Kind, model, repeater};
use guywire_plan::{Assignment, EntityId, Known, Recorder, Row, Sender, Sends, USUAL_WIDTH, View, emission_to_grant};
use guywire_radio::emission::{Cover, best_cover};
use guywire_radio::power::LimitVerdict;
use guywire_radio::{Emission, Hertz};
use guywire_text::FileId;
use rustc_hash::FxHashSet;

use super::held::Holder;
use super::matching::Matched;
use super::state::{State, States};
use super::{Grant, Novelty, Side, StationClass, Use};

/// A carrier as one class of station uses it, with one emission (by its text, which is what orders it).
type Key = (Hertz, StationClass, Option<String>);

/// Who uses it.
#[derive(Debug, Clone)]
struct Users {
    emission: Option<Emission>,
    power_w: Option<f64>,
    /// By number of the match.
    units: FxHashSet<u32>,
    /// Who sends with that power: the plan, the channel or repeater, the model.
    strongest: (FileId, EntityId, Option<EntityId>),
}

/// Radios that hold the same channels.
struct Alike {
    units: FxHashSet<u32>,
    channels: Vec<EntityId>,
    model: Option<EntityId>,
}

type Uses = BTreeMap<Key, Users>;

/// What is newly used, and what no longer is.
pub(crate) fn compare(states: &States<'_>, matched: &Matched) -> (Vec<Use>, Vec<Use>) {
    if !states.differ() {
        return Default::default();
    }
    let (mut before, mut after) = (Uses::new(), Uses::new());
    for plan in states.plans() {
        if let Some(plan) = plan.0 {
            of_plan(&states.before, Side::Before, plan, matched, &mut before);
        }
        if let Some(plan) = plan.1 {
            of_plan(&states.after, Side::After, plan, matched, &mut after);
        }
    }
    (novel(&states.after, &after, &before), novel(&states.before, &before, &after))
}

fn of_plan(state: &State<'_>, side: Side, plan: FileId, matched: &Matched, uses: &mut Uses) {
    let mut holder = Holder::new(state, plan);
    let mut groups: BTreeMap<[u32; 3], Alike> = BTreeMap::new();
    let files = state.db.scope(plan).to_vec();
    let tables: Vec<EntityId> = files.iter().flat_map(|file| state.tables(*file).to_vec()).collect();
    let kind = |id: EntityId| state.db.entity(id).map_or(Kind::Unknown, |entity| entity.kind);
    for radio in tables.iter().copied().filter(|id| kind(*id) == Kind::Radio) {
        let recorder = Recorder::silent();
        let view = View::new(state.db, plan, &recorder);
        let Some(it) = view.get(radio) else { continue };
        let Some(number) = matched.number(side, radio).filter(|_| view.is_in_use(it) != Known::Is(false)) else {
            continue;
        };
        let (class, held) = holder.of(radio);
        let model = view.radio_model(it).map(|model| model.id());
        let key = [
            class.0.and_then(|id| matched.number(side, id)).unwrap_or(u32::MAX),
            class.2.map_or(u32::MAX, |_| number),
            model.and_then(|id| matched.number(side, id)).unwrap_or(u32::MAX),
        ];
        let group = groups.entry(key).or_insert_with(|| {
            let channels = held.keys().copied().filter(|id| kind(*id) == Kind::Channel).collect();
            Alike { units: FxHashSet::default(), channels, model }
        });
        group.units.insert(number);
    }
    for Alike { units, channels, model } in groups.into_values() {
        for channel in channels {
            of_channel(state, plan, channel, model, &units, uses);
        }
    }
    for repeater in tables.into_iter().filter(|id| kind(*id) == Kind::Repeater) {
        let number = matched.number(side, repeater).unwrap_or(u32::MAX);
        of_repeater(state, plan, repeater, number, uses);
    }
}

fn of_channel(
    state: &State<'_>,
    plan: FileId,
    id: EntityId,
    model: Option<EntityId>,
    units: &FxHashSet<u32>,
    uses: &mut Uses,
) {
    let recorder = Recorder::silent();
    let view = View::new(state.db, plan, &recorder);
    let (Some(channel), Some(it)) = (view.channel(id), view.get(id)) else { return };
    let (Known::Is(carrier), Known::Is(sends)) = (channel.tx, channel.sends) else { return };
    let model = model.and_then(|model| view.get::<model::Table>(model));
    let is_base = model.is_some_and(|it| it.text(model::kind).value().map(|kind| view.symbol(kind)) == Some("base"));
    let class = if is_base { StationClass::Base } else { StationClass::Mobile };
    let emission = emission_to_grant(sends, channel.bandwidth.value().unwrap_or(USUAL_WIDTH));
    let power_w = model.and_then(|model| view.output_w(it, model));
    let users = Users { emission, power_w, units: units.clone(), strongest: (plan, id, model.map(|model| model.id())) };
    join(uses, (carrier, class, emission.map(|it| it.to_string())), users);
}

fn of_repeater(state: &State<'_>, plan: FileId, id: EntityId, number: u32, uses: &mut Uses) {
    let recorder = Recorder::silent();
    let view = View::new(state.db, plan, &recorder);
    let Some(it) = view.get::<repeater::Table>(id) else { return };
    let Known::Is(carrier) = it.frequency(repeater::tx_mhz) else { return };
    let width = it.frequency(repeater::bandwidth_khz).value().unwrap_or(USUAL_WIDTH);
    for sends in view.repeater_modes(it).unwrap_or(&[] as &[Sends]) {
        let emission = emission_to_grant(*sends, width);
        let power_w = it.number(repeater::power_w).value();
        let users = Users { emission, power_w, units: FxHashSet::from_iter([number]), strongest: (plan, id, None) };
        join(uses, (carrier, StationClass::Repeater, emission.map(|it| it.to_string())), users);
    }
}

fn join(uses: &mut Uses, key: Key, users: Users) {
    match uses.entry(key) {
        std::collections::btree_map::Entry::Vacant(free) => {
            free.insert(users);
        }
        std::collections::btree_map::Entry::Occupied(mut known) => {
            let known = known.get_mut();
            known.units.extend(users.units);
            if users.power_w > known.power_w {
                (known.power_w, known.strongest) = (users.power_w, users.strongest);
            }
        }
    }
}

/// The uses of one side that go beyond those of the other.
fn novel(state: &State<'_>, uses: &Uses, other: &Uses) -> Vec<Use> {
    let mut found = Vec::new();
    for (key, users) in uses {
        let was = other.get(key);
        let news = news(key, users, was, other);
        if news.is_empty() {
            continue;
        }
        found.push(Use {
            carrier: key.0,
            class: key.1,
            emission: users.emission,
            power_w: users.power_w,
            units: users.units.len(),
            news,
            was: was.map(|was| (was.power_w, was.units.len())),
            grant: grant(state, users, key),
        });
    }
    found
}

fn news(key: &Key, users: &Users, was: Option<&Users>, other: &Uses) -> Vec<Novelty> {
    if let Some(was) = was {
        let power = (users.power_w > was.power_w).then_some(Novelty::Power);
        let units = (users.units.len() > was.units.len()).then_some(Novelty::Units);
        return power.into_iter().chain(units).collect();
    }
    let first = (key.0, StationClass::Mobile, None);
    let mut on_carrier = other.range(first..).take_while(|((carrier, ..), _)| *carrier == key.0).peekable();
    if on_carrier.peek().is_none() {
        return vec![Novelty::Carrier];
    }
    if on_carrier.any(|((_, class, _), _)| *class == key.1) { vec![Novelty::Emission] } else { vec![Novelty::Class] }
}

/// What the licenses that the plan of its strongest user sees say of a use: the assignment that lacks least.
fn grant(state: &State<'_>, users: &Users, (carrier, ..): &Key) -> Grant {
    let (plan, id, model) = users.strongest;
    let recorder = Recorder::silent();
    let view = View::new(state.db, plan, &recorder);
    let sender = match model {
        Some(model) => view.get(id).and_then(|channel| {
            let of_model = |sender: &Sender<'_>| sender.model.map(|it| it.id()) == Some(model);
            view.senders(channel).into_iter().find(of_model)
        }),
        None => view.get::<repeater::Table>(id).map(|repeater| view.repeater_sender(repeater)),
    };
    let judged = view.assignments().into_iter().filter(|it| it.covers(*carrier));
    let judged = judged.map(|it| (lacks(it, users, sender), it.license.name().unwrap_or_default().to_owned()));
    match judged.min_by_key(|(lacks, license)| (lacks.len(), license.clone())) {
        None => Grant::None,
        Some((lacks, license)) if lacks.is_empty() => Grant::Covered { license },
        Some((lacks, license)) => Grant::Short { license, lacks },
    }
}

/// The keys of an assignment that do not grant a use.
fn lacks(it: Assignment<'_>, users: &Users, sender: Option<Sender<'_>>) -> Vec<&'static str> {
    let mut lacks = Vec::new();
    let classes = sender.and_then(Sender::classes);
    if it.class().zip(classes).is_some_and(|(class, classes)| !classes.contains(&class)) {
        lacks.push("station");
    }
    let cover = it.emissions().zip(users.emission).and_then(|(granted, sent)| best_cover(&granted, sent));
    if cover.is_some_and(|cover| cover != Cover::Covered) {
        lacks.push("emission");
    }
    let transmitter = sender.and_then(|sender| sender.transmitter);
    let verdict = it.power_limit().zip(transmitter).map(|(limit, it)| limit.judge(it.output, it.antenna));
    if matches!(verdict, Some(LimitVerdict::Over { .. })) {
        lacks.push("max_power_w");
    }
    if it.units().is_some_and(|most| most < users.units.len() as i64) {
        lacks.push("units");
    }
    lacks
}
