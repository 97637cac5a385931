//! Who hears whom, and what of it changed: each transmission of a channel that a radio holds in both states is followed in
//! both; where a radio came to hold a channel or no longer does, all that it can send is.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use guywire_plan::audience::{Answer, ClassAnswer, Hearing, Leg, Rays, Reason, Status};
use guywire_plan::language::{Kind, repeater};
use guywire_plan::{EntityId, Known, Recorder, Stored, View};
use guywire_radio::Hertz;
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};

use super::change::{Ledger, name};
use super::matching::Matched;
use super::radios::named;
use super::state::{State, States};
use super::value::leads;
use super::{Comparison, PairChange, Reached, Reception, Side};

/// No receiver is open this far from its frequency.
const REACH: Hertz = Hertz(2_000);

/// What one radio makes of a transmission.
#[derive(Debug, Clone)]
struct Made {
    heard: Reception,
    /// Why it hears nothing.
    why: Option<Rc<str>>,
    /// The channel that comes nearest, and the repeater that does not repeat.
    through: [Option<EntityId>; 2],
}

/// What all radios make of a transmission, by number, and the repeaters on its way. Radios that are not in it hear nothing.
#[derive(Debug, Default)]
struct Followed {
    made: BTreeMap<u32, Made>,
    repeaters: Vec<EntityId>,
}

impl Followed {
    fn heard(&self, radio: u32) -> Reception {
        self.made.get(&radio).map_or(Reception::No, |made| made.heard)
    }
}

/// One of the states, asked.
struct Asked<'v> {
    side: Side,
    state: &'v State<'v>,
    matched: &'v Matched,
    recorder: &'v Recorder,
    hearing: Hearing<'v>,
    followed: FxHashMap<(FileId, EntityId), Rc<Followed>>,
}

/// What is the same for all receivers of a row: channel (none: any), answers before and after, why not, what did it.
type Change = (Option<u32>, Reception, Reception, Option<Rc<str>>, Vec<usize>);

/// What was found so far: for each change and its receivers, the senders.
struct Rows<'s, 'w> {
    dirt: Dirt,
    states: &'s States<'w>,
    matched: &'s Matched,
    found: BTreeMap<(Change, Vec<u32>), BTreeSet<u32>>,
}

/// Compares who hears whom.
pub(crate) fn compare(ledger: &mut Ledger<'_, '_>, comparison: &mut Comparison) {
    let only_names = comparison.rewrites.iter().all(|group| group.reach == Reached::Names);
    if only_names && comparison.fixed.is_empty() && comparison.statuses.is_empty() {
        return;
    }
    let recorder = (Recorder::silent(), Recorder::silent());
    let (states, matched) = (ledger.states, ledger.matched);
    let mut before = Asked::new(Side::Before, &states.before, matched, &recorder.0);
    let mut after = Asked::new(Side::After, &states.after, matched, &recorder.1);
    let mut dirt = Dirt::of(ledger, comparison);
    dirt.find_frequencies(&before, &after);
    let mut rows = Rows { dirt, states, matched, found: BTreeMap::new() };
    for plan in states.plans().collect::<Vec<_>>() {
        let (Some(was), Some(is)) = plan else { continue };
        let mut moved: BTreeSet<u32> = BTreeSet::new();
        for number in ledger.seen_by(plan, &[Kind::Channel]) {
            let pair = matched.pair(number);
            let old = pair.0.map(|channel| before.senders(was, channel)).unwrap_or_default();
            let new = pair.1.map(|channel| after.senders(is, channel)).unwrap_or_default();
            moved.extend(old.symmetric_difference(&new));
            let both: Vec<u32> = old.intersection(&new).copied().collect();
            let (Some(channel), Some(now)) = pair else { continue };
            if !both.is_empty() && (rows.dirt.touches(&before, was, channel) || rows.dirt.touches(&after, is, now)) {
                let followed = (before.followed(was, channel), after.followed(is, now));
                rows.take((Some(number), &both), (&followed.0, &followed.1));
            }
        }
        // Radios that hold the same channels reach the same.
        let mut alike: BTreeMap<(Vec<u32>, Vec<u32>), Vec<u32>> = BTreeMap::new();
        for radio in moved.into_iter().filter(|radio| rows.counts(*radio)) {
            alike.entry((before.channels_of(was, radio), after.channels_of(is, radio))).or_default().push(radio);
        }
        for ((old, new), radios) in alike {
            let kept: Vec<u32> = old.iter().copied().filter(|channel| new.contains(channel)).collect();
            let (common, now) = (before.all_on(was, &kept), after.all_on(is, &kept));
            let (mut old, mut new) = (before.all_on(was, &old), after.all_on(is, &new));
            // What changed on the channels that they kept is told of those.
            for all in [&mut old, &mut new] {
                all.made.retain(|radio, _| common.heard(*radio) == now.heard(*radio));
            }
            rows.take((None, &radios), (&old, &new));
        }
    }
    comparison.pairs = rows.told();
}

impl<'v> Asked<'v> {
    fn new(side: Side, state: &'v State<'v>, matched: &'v Matched, recorder: &'v Recorder) -> Self {
        let anywhere = state.db.file_ids().next().unwrap_or(FileId(0));
        let hearing = Hearing::new(View::new(state.db, anywhere, recorder));
        Asked { side, state, matched, recorder, hearing, followed: FxHashMap::default() }
    }

    fn at(&self, plan: FileId) -> View<'v> {
        View::new(self.state.db, plan, self.recorder)
    }

    fn number(&self, id: EntityId) -> u32 {
        self.matched.number(self.side, id).unwrap_or(u32::MAX)
    }

    /// The radios in use that have a channel on their knob.
    fn senders(&self, plan: FileId, channel: EntityId) -> BTreeSet<u32> {
        let classes = self.hearing.listening(plan, channel).into_iter().map(|(class, _)| class);
        let in_use = classes.filter(|class| !matches!(class.post.status, Known::Is(Status::Away | Status::Spare)));
        in_use.flat_map(|class| class.radios.iter().map(|radio| self.number(*radio)).collect::<Vec<_>>()).collect()
    }

    /// What the radios make of push-to-talk on a channel.
    fn followed(&mut self, plan: FileId, channel: EntityId) -> Rc<Followed> {
        if let Some(followed) = self.followed.get(&(plan, channel)) {
            return followed.clone();
        }
        let emission = self.at(plan).air(channel).and_then(|air| air.push_to_talk().ok());
        let mut followed = Followed::default();
        if let Some(emission) = emission {
            let audience = self.hearing.of_radios(&emission, None);
            followed.repeaters = repeaters(&audience.rays);
            // Radios that have no channel there need no entry: of most transmissions these are nearly all.
            let near = |answer: &&ClassAnswer| answer.on.is_some() || answer.refused.is_some();
            for answer in audience.answers.iter().filter(near) {
                let made = self.made(answer);
                followed.made.extend(answer.radios.iter().map(|radio| (self.number(*radio), made.clone())));
            }
        }
        let followed = Rc::new(followed);
        self.followed.insert((plan, channel), followed.clone());
        followed
    }

    fn made(&self, answer: &ClassAnswer) -> Made {
        let heard = match answer.answer {
            Answer::Hears => Reception::StandingBy,
            Answer::IfScanning => Reception::IfScanning,
            Answer::CouldTune => Reception::CouldTune,
            Answer::Unknown | Answer::Noise | Answer::No => Reception::No,
        };
        let refused = answer.refused.map(|refused| {
            let name = name(self.state, refused.repeater).unwrap_or_default();
            format!("repeater \"{name}\" {}", refused.why.words())
        });
        let why = if heard == Reception::No { refused.or_else(|| answer.outcome.words()) } else { None };
        Made { heard, why: why.map(Into::into), through: [answer.on, answer.refused.map(|it| it.repeater)] }
    }

    /// The table of a number on this side.
    fn id(&self, number: u32) -> Option<EntityId> {
        let (was, is) = self.matched.pair(number);
        if self.side == Side::Before { was } else { is }
    }

    /// The channels on the knob of a radio, by number.
    fn channels_of(&self, plan: FileId, radio: u32) -> Vec<u32> {
        let view = self.at(plan);
        let Some(post) = self.id(radio).and_then(|id| view.post(id)) else { return Vec::new() };
        let Known::Is(zones) = &post.zones else { return Vec::new() };
        let channels: BTreeSet<u32> =
            zones.iter().flat_map(|zone| view.zone_channels(*zone)).map(|id| self.number(id)).collect();
        channels.into_iter().collect()
    }

    /// The best that the radios make of push-to-talk on any of some channels.
    fn all_on(&mut self, plan: FileId, channels: &[u32]) -> Followed {
        let mut best = Followed::default();
        for channel in channels.iter().filter_map(|number| self.id(*number)).collect::<Vec<_>>() {
            let followed = self.followed(plan, channel);
            best.repeaters.extend(&followed.repeaters);
            for (radio, made) in followed.made.iter().filter(|(_, made)| made.heard != Reception::No) {
                let held = best.made.entry(*radio).or_insert_with(|| made.clone());
                if made.heard < held.heard {
                    *held = made.clone();
                }
            }
        }
        best
    }
}

fn repeaters(rays: &Rays) -> Vec<EntityId> {
    let on_the_way = rays.rays.iter().filter_map(|ray| match ray.leg {
        Leg::Bare => None,
        Leg::Repeated(repeater) | Leg::Networked(repeater, _) => Some(repeater),
    });
    on_the_way.chain(rays.refused.iter().map(|refused| refused.repeater)).collect()
}

/// Changes of tables and of what they need.
type Behind = FxHashMap<(Side, EntityId), Rc<[usize]>>;

/// What changed, as far as it can matter to hearing.
struct Dirt {
    /// Changes by the number of their table.
    tables: FxHashMap<u32, usize>,
    /// Radios that changed otherwise than by their channels.
    radios: FxHashSet<u32>,
    /// Changes of each radio's own table: those that move it, and those of its unit ids alone.
    own: (FxHashMap<u32, usize>, FxHashMap<u32, usize>),
    /// Changes of the profile, zones and model of each radio.
    causes: FxHashMap<u32, Vec<usize>>,
    /// Radios whose status changed: what they hear is told by that.
    restated: FxHashSet<u32>,
    /// Frequencies on which somebody may hear otherwise than before, in order.
    frequencies: Vec<Hertz>,
    /// The changes of a table and of what it needs.
    behind: RefCell<Behind>,
}

impl Dirt {
    fn of(ledger: &Ledger<'_, '_>, comparison: &Comparison) -> Dirt {
        let mut dirt = Dirt {
            tables: FxHashMap::default(),
            radios: FxHashSet::default(),
            own: Default::default(),
            causes: FxHashMap::default(),
            restated: FxHashSet::default(),
            frequencies: Vec::new(),
            behind: RefCell::default(),
        };
        for (number, change) in ledger.changed() {
            let table = ledger.table(change);
            let matters = table.keys.is_empty() || table.keys.iter().any(|key| key.reach > Reached::Names);
            if matters {
                dirt.tables.entry(number).or_insert(change);
            }
            if matters && table.kind == Kind::Radio {
                dirt.radios.insert(number);
                let only_ids =
                    table.keys.iter().all(|key| key.reach == Reached::Names || matches!(key.key, "id" | "ids"));
                let own = if only_ids { &mut dirt.own.1 } else { &mut dirt.own.0 };
                own.insert(number, change);
            }
        }
        for group in &comparison.rewrites {
            let other = |table: &usize| {
                let is_other =
                    matches!(ledger.table(*table).kind, Kind::Profile | Kind::Zone | Kind::Model | Kind::Plan);
                is_other && dirt.tables.values().any(|known| known == table)
            };
            let causes: Vec<usize> = group.causes.iter().map(|cause| cause.table).filter(other).collect();
            for (radio, _) in group.radios.iter().filter(|_| !causes.is_empty()) {
                let Some(number) = ledger.matched.number(Side::After, radio.id) else { continue };
                dirt.radios.insert(number);
                dirt.causes.entry(number).or_default().extend(&causes);
            }
        }
        let others = comparison.added.iter().map(|radio| (Side::After, radio.id));
        let others = others.chain(comparison.gone.iter().map(|radio| (Side::Before, radio.id)));
        dirt.radios.extend(others.filter_map(|(side, id)| ledger.matched.number(side, id)));
        let restated = comparison.statuses.iter().filter_map(|it| ledger.matched.number(Side::After, it.radio.id));
        dirt.restated.extend(restated);
        dirt
    }

    fn find_frequencies(&mut self, before: &Asked<'_>, after: &Asked<'_>) {
        let mut found: Vec<Hertz> = Vec::new();
        for asked in [before, after] {
            for plan in asked.hearing.plans().to_vec() {
                self.of_plan(asked, plan, &mut found);
            }
        }
        found.sort_unstable();
        found.dedup();
        self.frequencies = found;
    }

    fn of_plan(&self, asked: &Asked<'_>, plan: FileId, found: &mut Vec<Hertz>) {
        let view = asked.at(plan);
        let hears_on = |channel: EntityId| view.channel(channel).and_then(|channel| channel.rx.value());
        for file in asked.state.db.scope(plan) {
            for id in asked.state.db.entities_of(*file) {
                let kind = asked.state.db.entity(id).map_or(Kind::Unknown, |entity| entity.kind);
                match kind {
                    Kind::Channel if self.is_dirty(asked, id) => {
                        found.extend(hears_on(id));
                        found.extend(view.scanned_at(id).into_iter().filter_map(hears_on));
                    }
                    Kind::Repeater if self.tables.contains_key(&asked.number(id)) => {
                        let keys = [repeater::rx_mhz, repeater::tx_mhz];
                        found.extend(keys.into_iter().filter_map(|key| match view.known(id, key) {
                            Known::Is(Stored::Frequency(hertz) | Stored::Rounded(hertz)) => Some(*hertz),
                            _ => None,
                        }));
                    }
                    _ => {}
                }
            }
        }
        for class in asked.hearing.classes(plan) {
            if class.radios.iter().any(|radio| self.radios.contains(&asked.number(*radio)))
                && let Known::Is(zones) = &class.post.zones
            {
                let channels = zones.iter().flat_map(|zone| view.zone_channels(*zone));
                let home = class.post.stands_by.value();
                let scanned = home.map(|home| view.scanned_at(home)).unwrap_or_default();
                found.extend(channels.chain(home).chain(scanned).filter_map(hears_on));
            }
        }
    }

    /// Whether a channel, or what it needs to be understood, changed.
    fn is_dirty(&self, asked: &Asked<'_>, channel: EntityId) -> bool {
        !self.behind(asked.state, asked.side, asked.matched, channel).is_empty()
    }

    /// The changes of a table and of what it needs to be understood.
    fn behind(&self, state: &State<'_>, side: Side, matched: &Matched, of: EntityId) -> Rc<[usize]> {
        if let Some(known) = self.behind.borrow().get(&(side, of)) {
            return known.clone();
        }
        let mut seen: FxHashSet<EntityId> = FxHashSet::default();
        let mut open: Vec<(EntityId, usize)> = vec![(of, 0)];
        let mut found: Vec<usize> = Vec::new();
        while let Some((id, steps)) = open.pop() {
            let Some(entity) = state.db.entity(id).filter(|_| seen.insert(id)) else { continue };
            found.extend(matched.number(side, id).and_then(|number| self.tables.get(&number)));
            if steps < 2 && matches!(entity.kind, Kind::Channel | Kind::ReceiveGroup | Kind::Repeater) {
                let next = leads(state, state.viewer(entity.file), id).into_iter().map(|(_, id)| id);
                let matters = |id: &EntityId| state.db.entity(*id).is_some_and(|entity| entity.kind != Kind::Emergency);
                open.extend(next.filter(matters).map(|id| (id, steps + 1)));
            }
        }
        found.sort_unstable();
        found.dedup();
        let found: Rc<[usize]> = found.into();
        self.behind.borrow_mut().insert((side, of), found.clone());
        found
    }

    /// Whether a transmission on a channel may be heard otherwise than before.
    fn touches(&self, asked: &Asked<'_>, plan: FileId, channel: EntityId) -> bool {
        let near = |carrier: Hertz| {
            let from = self.frequencies.partition_point(|known| *known < carrier - REACH);
            self.frequencies.get(from).is_some_and(|known| *known <= carrier + REACH)
        };
        let view = asked.at(plan);
        let Some(emission) = view.air(channel).and_then(|air| air.push_to_talk().ok()) else {
            return self.is_dirty(asked, channel);
        };
        if near(emission.carrier) {
            return true;
        }
        let rays = view.rays(&emission);
        let refused = rays.refused.iter().filter_map(|refused| refused.output.value());
        rays.rays.iter().map(|ray| ray.emission.carrier).chain(refused).any(near) || self.is_dirty(asked, channel)
    }
}

impl Rows<'_, '_> {
    /// Whether what a radio hears or sends is told: it is in both states, with one status.
    fn counts(&self, radio: u32) -> bool {
        matches!(self.matched.pair(radio), (Some(_), Some(_))) && !self.dirt.restated.contains(&radio)
    }

    /// Takes in what changed of one transmission, or of all that some radios can send.
    fn take(&mut self, (channel, senders): (Option<u32>, &[u32]), (old, new): (&Followed, &Followed)) {
        let senders: Vec<u32> = senders.iter().copied().filter(|radio| self.counts(*radio)).collect();
        let radios: BTreeSet<u32> = old.made.keys().chain(new.made.keys()).copied().collect();
        let mut receivers: BTreeMap<Change, Vec<u32>> = BTreeMap::new();
        for radio in radios.into_iter().filter(|radio| self.counts(*radio) && senders != [*radio]) {
            let (was, is) = (old.made.get(&radio), new.made.get(&radio));
            let heard = (old.heard(radio), new.heard(radio));
            if heard.0 == heard.1 {
                continue;
            }
            let nowhere = || (heard.1 == Reception::No).then(|| Reason::Frequency.words().into());
            let why = is.and_then(|made| made.why.clone()).or_else(nowhere);
            let path = self.on_path(channel, (was, old), (is, new));
            let because = self.because(channel.is_some(), &senders, radio, path);
            receivers.entry((channel, heard.0, heard.1, why, because)).or_default().push(radio);
        }
        for (change, radios) in receivers.into_iter().filter(|_| !senders.is_empty()) {
            self.found.entry((change, radios)).or_default().extend(&senders);
        }
    }

    /// The changes that did it: those of the way of the transmission and those that move a radio; where there are none,
    /// those of what the radios hold, then those of their ids. What a radio can send at all is for it to hold.
    fn because(&self, has_channel: bool, senders: &[u32], receiver: u32, path: Vec<usize>) -> Vec<usize> {
        let dirt = &self.dirt;
        let held = |radio: &u32| dirt.causes.get(radio).into_iter().flatten().chain(dirt.own.0.get(radio)).copied();
        let of_senders = || senders.iter().flat_map(held).collect::<Vec<usize>>();
        let mut found = if has_channel { path.clone() } else { of_senders() };
        found.extend(dirt.own.0.get(&receiver));
        let further: [&dyn Fn() -> Vec<usize>; 4] = [
            &|| path.clone(),
            &|| held(&receiver).collect(),
            &|| dirt.own.1.get(&receiver).copied().into_iter().collect(),
            &of_senders,
        ];
        for more in further {
            if found.is_empty() {
                found = more();
            }
        }
        found.sort_unstable();
        found.dedup();
        found
    }

    /// The changes of what a transmission goes through.
    fn on_path(
        &self,
        channel: Option<u32>,
        old: (Option<&Made>, &Followed),
        new: (Option<&Made>, &Followed),
    ) -> Vec<usize> {
        let channel = channel.map(|channel| self.matched.pair(channel)).unwrap_or_default();
        let sides = [
            (&self.states.before, Side::Before, channel.0, old.0, old.1),
            (&self.states.after, Side::After, channel.1, new.0, new.1),
        ];
        let mut found = Vec::new();
        for (state, side, channel, made, followed) in sides {
            let through = made.into_iter().flat_map(|made| made.through).flatten();
            for id in channel.into_iter().chain(through).chain(followed.repeaters.iter().copied()) {
                found.extend(self.dirt.behind(state, side, self.matched, id).iter());
            }
        }
        found
    }

    fn told(self) -> Vec<PairChange> {
        // Channels that do the same to the same radios are told together.
        let mut merged: BTreeMap<(Change, Vec<u32>, Vec<u32>), BTreeSet<u32>> = BTreeMap::new();
        for (((channel, before, after, why, because), receivers), senders) in self.found {
            let change = (channel.map(|_| 0), before, after, why, because);
            merged.entry((change, receivers, senders.into_iter().collect())).or_default().extend(channel);
        }
        let radio =
            |number: &u32| self.matched.pair(*number).1.and_then(|id| named(&self.states.after, Side::After, id));
        let channel = |number: u32| self.matched.pair(number).1.and_then(|id| name(&self.states.after, id));
        let mut told: Vec<PairChange> = Vec::new();
        for (((_, before, after, why, because), receivers, senders), channels) in merged {
            told.push(PairChange {
                channels: channels.into_iter().filter_map(channel).collect(),
                senders: senders.iter().filter_map(radio).collect(),
                receivers: receivers.iter().filter_map(radio).collect(),
                before,
                after,
                why: why.as_deref().map(str::to_owned),
                because,
            });
        }
        told.sort_by_cached_key(|it| {
            let pairs = it.senders.len() * it.receivers.len();
            // What was or is heard without a hand on the knob comes first.
            let best = it.before.min(it.after);
            (best == Reception::CouldTune, it.kind(), best, std::cmp::Reverse(pairs), it.channels.clone())
        });
        told
    }
}
