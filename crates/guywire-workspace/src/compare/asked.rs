//! One of the states, asked who hears a transmission.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::sync::Arc;

use guywire_plan::audience::{Answer, Audience, ClassAnswer, Emission, Hearing, Leg, Outcome, Rays, Status, Suppose};
use guywire_plan::language::channel;
use guywire_plan::{EntityId, Known, Recorder, Ref, Target, View};
use guywire_text::FileId;
use rustc_hash::FxHashMap;

use super::change::name;
use super::matching::Matched;
use super::state::State;
use super::{Reception, Side};

/// What one radio or station makes of a transmission.
#[derive(Debug, Clone)]
pub(crate) struct Made {
    pub heard: Reception,
    /// Why it hears nothing.
    pub why: Option<Arc<str>>,
    /// The channel that comes nearest, and the repeater that does not repeat.
    pub through: [Option<EntityId>; 2],
}

/// What radios and stations make of a transmission, in order of their numbers, and the repeaters on its way. Those that are
/// not in it hear nothing.
#[derive(Debug, Default)]
pub(crate) struct Followed {
    /// Something goes out that can be followed.
    pub is_sent: bool,
    made: Vec<(u32, Rc<Made>)>,
    pub repeaters: Vec<EntityId>,
}

impl Followed {
    pub fn heard(&self, radio: u32) -> Reception {
        self.made(radio).map_or(Reception::No, |made| made.heard)
    }

    /// What a radio makes of it; none where it hears nothing and has no channel near.
    pub fn made(&self, radio: u32) -> Option<&Made> {
        let at = self.made.binary_search_by_key(&radio, |(number, _)| *number).ok()?;
        Some(&self.made[at].1)
    }

    /// How the radios hear it that have a channel near, by number.
    pub fn receptions(&self) -> impl Iterator<Item = (u32, Reception)> {
        self.made.iter().map(|(radio, made)| (*radio, made.heard))
    }

    /// Leaves out radios.
    pub fn retain(&mut self, keeps: impl Fn(u32) -> bool) {
        self.made.retain(|(radio, _)| keeps(*radio));
    }
}

/// One of the states, asked.
pub(crate) struct Asked<'v> {
    pub side: Side,
    pub state: &'v State<'v>,
    pub matched: &'v Matched,
    recorder: &'v Recorder,
    pub hearing: Hearing<'v>,
    followed: FxHashMap<Emission, Rc<Followed>>,
    nothing: Rc<Followed>,
    /// Who can call on a channel, or can call a talkgroup.
    callers: RefCell<FxHashMap<EntityId, Rc<BTreeSet<u32>>>>,
}

impl<'v> Asked<'v> {
    pub fn new(side: Side, state: &'v State<'v>, matched: &'v Matched, recorder: &'v Recorder) -> Self {
        let hearing = Hearing::new(View::new(state.db, first_file(state), recorder));
        let (followed, nothing, callers) = (FxHashMap::default(), Rc::default(), RefCell::default());
        Asked { side, state, matched, recorder, hearing, followed, nothing, callers }
    }

    /// For questions about carriers, which are the same whichever plan asks.
    pub fn anywhere(&self) -> View<'v> {
        self.at(first_file(self.state))
    }

    pub fn at(&self, plan: FileId) -> View<'v> {
        View::new(self.state.db, plan, self.recorder)
    }

    pub fn number(&self, id: EntityId) -> u32 {
        self.matched.number(self.side, id).unwrap_or(u32::MAX)
    }

    /// The radios in use that have a channel on their knob.
    pub fn senders(&self, plan: FileId, channel: EntityId) -> BTreeSet<u32> {
        self.in_use(plan, &self.at(plan).holders(channel))
    }

    /// The radios in use of every plan that can call on a channel, or can call a talkgroup.
    pub fn callers(&self, called: EntityId) -> Rc<BTreeSet<u32>> {
        if let Some(known) = self.callers.borrow().get(&called) {
            return known.clone();
        }
        let file = self.state.db.entity(called).map(|entity| entity.file);
        let mut found = BTreeSet::new();
        for plan in file.map(|file| self.state.db.viewers(file)).unwrap_or_default() {
            let view = self.at(plan);
            if view.get::<channel::Table>(called).is_some() {
                found.extend(self.senders(plan, called));
                continue;
            }
            let calls = |it: &Ref<'_, channel::Table>| matches!(view.target(*it), Known::Is(Target::Talkgroup(group)) if group.id() == called);
            let channels = view.referrers::<channel::Table>(called).into_iter().filter(calls);
            let sending = channels.filter(|it| self.call(plan, it.id()).is_some());
            sending.for_each(|it| found.extend(self.senders(plan, it.id())));
        }
        let found = Rc::new(found);
        self.callers.borrow_mut().insert(called, found.clone());
        found
    }

    /// Those of some radios that are in use, by number.
    pub fn in_use(&self, plan: FileId, radios: &[EntityId]) -> BTreeSet<u32> {
        let view = self.at(plan);
        let is_out = |radio: EntityId| {
            view.post(radio).is_some_and(|post| matches!(post.status, Known::Is(Status::Away | Status::Spare)))
        };
        radios.iter().filter(|radio| !is_out(**radio)).map(|radio| self.number(*radio)).collect()
    }

    /// What push-to-talk sends on a channel; none where that is nothing that can be followed.
    pub fn call(&self, plan: FileId, channel: EntityId) -> Option<Emission> {
        self.at(plan).air(channel).and_then(|air| air.push_to_talk().ok())
    }

    /// What the radios make of a transmission; of none, nothing.
    pub fn followed(&mut self, emission: Option<Emission>) -> Rc<Followed> {
        let Some(emission) = emission else { return self.nothing.clone() };
        if let Some(followed) = self.followed.get(&emission) {
            return followed.clone();
        }
        let Audience { rays, answers, .. } = self.hearing.radios_near(&emission, None, &Suppose::Nothing);
        let mut made: Vec<(u32, Rc<Made>)> = Vec::new();
        for answer in &answers {
            let of_class = Rc::new(self.made(answer));
            made.extend(answer.radios.iter().map(|radio| (self.number(*radio), of_class.clone())));
        }
        for answer in self.hearing.stations_near(&emission, &rays) {
            let is_heard = answer.outcome == Outcome::Heard;
            let heard = if is_heard { Reception::StandingBy } else { Reception::No };
            let it = Made { heard, why: answer.outcome.words().map(Into::into), through: [answer.on, None] };
            made.push((self.number(answer.station), Rc::new(it)));
        }
        made.sort_unstable_by_key(|(radio, _)| *radio);
        let followed = Rc::new(Followed { is_sent: true, made, repeaters: repeaters(&rays) });
        self.followed.insert(emission, followed.clone());
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
    pub fn id(&self, number: u32) -> Option<EntityId> {
        let (was, is) = self.matched.pair(number);
        if self.side == Side::Before { was } else { is }
    }

    /// The channels on the knob of a radio, by number.
    pub fn channels_of(&self, plan: FileId, radio: u32) -> Vec<u32> {
        let view = self.at(plan);
        let Some(post) = self.id(radio).and_then(|id| view.post(id)) else { return Vec::new() };
        let Known::Is(zones) = &post.zones else { return Vec::new() };
        let channels: BTreeSet<u32> =
            zones.iter().flat_map(|zone| view.zone_channels(*zone)).map(|id| self.number(id)).collect();
        channels.into_iter().collect()
    }

    /// The best that the radios make of push-to-talk on any of some channels.
    pub fn all_on(&mut self, plan: FileId, channels: &[u32]) -> Followed {
        let mut best = Followed::default();
        let mut all: BTreeMap<u32, Rc<Made>> = BTreeMap::new();
        for channel in channels.iter().filter_map(|number| self.id(*number)).collect::<Vec<_>>() {
            let followed = self.followed(self.call(plan, channel));
            best.is_sent |= followed.is_sent;
            best.repeaters.extend(&followed.repeaters);
            for (radio, made) in followed.made.iter().filter(|(_, made)| made.heard != Reception::No) {
                let held = all.entry(*radio).or_insert_with(|| made.clone());
                if made.heard < held.heard {
                    *held = made.clone();
                }
            }
        }
        best.made = all.into_iter().collect();
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

fn first_file(state: &State<'_>) -> FileId {
    state.db.file_ids().next().unwrap_or(FileId(0))
}
