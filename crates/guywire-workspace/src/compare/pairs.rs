//! Who hears whom, and what of it changed: each transmission of a channel that a radio holds in both states is followed in
//! both; where a radio came to hold a channel or no longer does, all that it can call is. Answers, emergencies and reports
//! are told where push-to-talk on the channel that they go out on does not tell as much.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::sync::Arc;

use guywire_plan::audience::Reason;
use guywire_plan::language::{FieldSet, Kind};
use guywire_plan::{EntityId, Recorder};
use guywire_text::FileId;
use rayon::prelude::*;
use rustc_hash::FxHashMap;

use super::asked::{Asked, Followed, Made};
use super::change::{Ledger, name};
use super::dirt::{Digger, Dirt};
use super::matching::Matched;
use super::radios::named;
use super::sent::{self, Going, Goings, Sent};
use super::state::States;
use super::{Comparison, PairChange, PairKind, Reached, Reception, Sending, Side};

/// Why nothing is heard where nothing goes out.
const NOTHING_SENT: &str = "nothing is sent there";

/// Why a station hears nothing that has no channel there.
const NOT_LISTENED: &str = "does not listen to it";

/// For each change and its receivers, the senders.
type Found = BTreeMap<(Change, Vec<u32>), BTreeSet<u32>>;

/// What is the same for all receivers of a row.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Change {
    what: Sending,
    /// Number of the channel; none: any.
    channel: Option<u32>,
    /// Number of the talkgroup or channel whose call is answered.
    to: Option<u32>,
    /// How it is heard, before and after.
    heard: (Reception, Reception),
    why: Option<Arc<str>>,
    because: Vec<usize>,
}

/// A transmission that is compared, and who sends it.
struct Row<'r> {
    sent: Sent,
    /// The channel that is told; none: any.
    channel: Option<u32>,
    senders: &'r [u32],
    /// The tables that it goes through, on both sides.
    way: [Vec<EntityId>; 2],
    /// Changes of what says that it goes this way.
    by: Vec<usize>,
    /// What it was and is, as all radios make of it.
    followed: (&'r Followed, &'r Followed),
    /// The radios that hear it otherwise, of those that count.
    otherwise: &'r [Otherwise],
    /// Those of the senders and all receivers to whom something else has told as much.
    told: Option<(&'r BTreeSet<u32>, &'r Followed, &'r Followed)>,
    /// The radios that it matters to; none: all.
    only: Option<&'r BTreeSet<u32>>,
}

/// A radio that hears a transmission otherwise than before, with how it does.
type Otherwise = (u32, (Reception, Reception));

/// What was found so far.
struct Rows<'s, 'w> {
    digger: Digger<'s>,
    states: &'s States<'w>,
    matched: &'s Matched,
    found: Found,
    /// Who hears otherwise, by what is kept of a transmission on both sides for as long as this.
    otherwise: FxHashMap<(*const Followed, *const Followed), Rc<[Otherwise]>>,
    /// Who can call on a channel, or a talkgroup, in both states.
    callers: FxHashMap<u32, Rc<BTreeSet<u32>>>,
}

/// Both states of a plan, asked.
struct Plan<'p, 'v> {
    before: &'p mut Asked<'v>,
    after: &'p mut Asked<'v>,
    was: FileId,
    is: FileId,
    /// Something that it sees differs.
    differs: bool,
}

/// Who hears whom otherwise, what is lost first.
pub(crate) fn compare(ledger: &Ledger<'_, '_>, comparison: &Comparison) -> Vec<PairChange> {
    let only_names = comparison.rewrites.iter().all(|group| group.reach == Reached::Names);
    if only_names && comparison.fixed.is_empty() && comparison.statuses.is_empty() {
        return Vec::new();
    }
    let (states, matched) = (ledger.states, ledger.matched);
    let mut dirt = Dirt::of(ledger, comparison);
    dirt.find_frequencies(states, matched);
    let plans: Vec<(FileId, FileId)> = states.plans().filter_map(|(was, is)| was.zip(is)).collect();
    let each = plans.len().div_ceil(rayon::current_num_threads()).max(1);
    let found = plans.par_chunks(each).map(|plans| of_plans(ledger, &dirt, plans));
    told(states, matched, found.reduce(Found::new, joined))
}

/// What changed of what is sent in some plans.
fn of_plans(ledger: &Ledger<'_, '_>, dirt: &Dirt, plans: &[(FileId, FileId)]) -> Found {
    let recorder = (Recorder::silent(), Recorder::silent());
    let (states, matched) = (ledger.states, ledger.matched);
    let mut before = Asked::new(Side::Before, &states.before, matched, &recorder.0);
    let mut after = Asked::new(Side::After, &states.after, matched, &recorder.1);
    let (otherwise, callers) = (FxHashMap::default(), FxHashMap::default());
    let mut rows = Rows { digger: Digger::new(dirt), states, matched, found: Found::new(), otherwise, callers };
    for (was, is) in plans.iter().copied() {
        let both = (Some(was), Some(is));
        let mut plan = Plan { before: &mut before, after: &mut after, was, is, differs: states.can_differ(both) };
        let mut moved: BTreeSet<u32> = BTreeSet::new();
        for number in ledger.seen_by(both, &[Kind::Channel]) {
            rows.channel(&mut plan, number, &mut moved);
        }
        for number in ledger.seen_by(both, &[Kind::Report]) {
            rows.report(&mut plan, number);
        }
        rows.moved(&mut plan, moved);
    }
    rows.found
}

fn joined(mut found: Found, more: Found) -> Found {
    for (change, senders) in more {
        found.entry(change).or_default().extend(senders);
    }
    found
}

impl Plan<'_, '_> {
    /// The radios that have a channel on their knob, before and after.
    fn senders(&self, (was, is): (Option<EntityId>, Option<EntityId>)) -> (BTreeSet<u32>, BTreeSet<u32>) {
        let old = was.map(|channel| self.before.senders(self.was, channel)).unwrap_or_default();
        let new = is.map(|channel| self.after.senders(self.is, channel)).unwrap_or_default();
        (old, new)
    }

    /// Push-to-talk on a channel, before and after, as all radios make of it.
    fn calls(&mut self, was: EntityId, is: EntityId) -> (Rc<Followed>, Rc<Followed>) {
        let calls = (self.before.call(self.was, was), self.after.call(self.is, is));
        (self.before.followed(calls.0), self.after.followed(calls.1))
    }
}

impl Rows<'_, '_> {
    /// Whether what a radio hears or sends is told: it is in both states, with one status.
    fn counts(&self, radio: u32) -> bool {
        matches!(self.matched.pair(radio), (Some(_), Some(_))) && !self.digger.dirt.restated.contains(&radio)
    }

    /// Compares what is sent from one position of the knob. Radios that have it in one state only are `moved`.
    fn channel(&mut self, plan: &mut Plan<'_, '_>, number: u32, moved: &mut BTreeSet<u32>) {
        let pair = self.matched.pair(number);
        let both = pair.0.zip(pair.1);
        let touched = both.is_some_and(|both| self.touches(plan, both));
        let answers = touched || self.digger.dirt.hang || self.digger.dirt.stations_differ();
        let (old, new) = both
            .map(|(was, is)| {
                let old = sent::from_channel(plan.before, plan.was, (number, was), answers);
                (old, sent::from_channel(plan.after, plan.is, (number, is), answers))
            })
            .unwrap_or_default();
        let further = self.that_may_differ(plan, &old, &new);
        // Where nothing that the plan sees differs, the same radios have the channel.
        if !plan.differs && !touched && further.is_empty() {
            return;
        }
        let (had, have) = plan.senders(pair);
        moved.extend(had.symmetric_difference(&have));
        let senders: Vec<u32> = had.intersection(&have).copied().filter(|radio| self.counts(*radio)).collect();
        if let Some((was, is)) = both.filter(|_| touched) {
            let followed = plan.calls(was, is);
            let otherwise = self.otherwise(&followed.0, &followed.1);
            self.take(Row {
                sent: Sent { what: Sending::Call, from: number, to: None },
                channel: Some(number),
                senders: &senders,
                way: [vec![was], vec![is]],
                by: Vec::new(),
                followed: (&followed.0, &followed.1),
                otherwise: &otherwise,
                told: None,
                only: None,
            });
        }
        further.into_iter().for_each(|sent| self.further(plan, &senders, sent, (old.get(&sent), new.get(&sent))));
    }

    /// Whether push-to-talk on a channel may be heard otherwise than before.
    fn touches(&self, plan: &Plan<'_, '_>, (was, is): (EntityId, EntityId)) -> bool {
        let calls = (plan.before.call(plan.was, was), plan.after.call(plan.is, is));
        self.digger.touches(plan.before, was, calls.0.as_ref()) || self.digger.touches(plan.after, is, calls.1.as_ref())
    }

    fn report(&mut self, plan: &mut Plan<'_, '_>, number: u32) {
        let (was, is) = self.matched.pair(number);
        let reporters = |asked: &Asked<'_>, plan, report: Option<EntityId>| {
            report.map(|report| sent::reporters(asked, plan, report))
        };
        let senders = match (reporters(plan.before, plan.was, was), reporters(plan.after, plan.is, is)) {
            (Some(old), Some(new)) => old.intersection(&new).copied().collect(),
            (old, new) => old.or(new).unwrap_or_default(),
        };
        let senders: Vec<u32> = senders.into_iter().filter(|radio| self.counts(*radio)).collect();
        let old = was.map(|report| sent::from_report(plan.before, plan.was, number, report)).unwrap_or_default();
        let new = is.map(|report| sent::from_report(plan.after, plan.is, number, report)).unwrap_or_default();
        for sent in self.that_may_differ(plan, &old, &new) {
            self.further(plan, &senders, sent, (old.get(&sent), new.get(&sent)));
        }
    }

    /// What of that beside push-to-talk may be heard otherwise than before.
    fn that_may_differ(&self, plan: &Plan<'_, '_>, old: &Goings, new: &Goings) -> BTreeSet<Sent> {
        let may_differ = |sent: &Sent| {
            let (was, is) = (old.get(sent), new.get(sent));
            // An answer to what is not heard there, or of which the plan does not say where it goes, is none.
            let is_answer = matches!(sent.what, Sending::GroupAnswer | Sending::ScanAnswer);
            (!is_answer || (was.is_some() && is.is_some())) && self.may_differ(plan, was, is)
        };
        old.keys().chain(new.keys()).copied().filter(may_differ).collect()
    }

    /// Whether something may be heard otherwise than before.
    fn may_differ(&self, plan: &Plan<'_, '_>, was: Option<&Going>, is: Option<&Going>) -> bool {
        // Keys are known by their tables, which the states number apart.
        let sent = |asked: &Asked<'_>, going: Option<&Going>| {
            let emission = going.and_then(|it| it.emission)?;
            let key = emission.key().map(|key| (key.algorithm, key.id, asked.number(key.material.entity)));
            Some((emission.in_clear(), key))
        };
        let touches = |asked: &Asked<'_>, it: &Going| self.digger.touches(asked, it.on, it.emission.as_ref());
        sent(plan.before, was) != sent(plan.after, is)
            || was.is_some_and(|it| touches(plan.before, it))
            || is.is_some_and(|it| touches(plan.after, it))
    }

    /// Compares something that is sent beside push-to-talk.
    fn further(
        &mut self,
        plan: &mut Plan<'_, '_>,
        senders: &[u32],
        sent: Sent,
        (was, is): (Option<&Going>, Option<&Going>),
    ) {
        if senders.is_empty() {
            return;
        }
        let old = plan.before.followed(was.and_then(|it| it.emission));
        let new = plan.after.followed(is.and_then(|it| it.emission));
        let otherwise = self.otherwise(&old, &new);
        if otherwise.is_empty() {
            return;
        }
        let number = |asked: &Asked<'_>, going: Option<&Going>| going.map(|it| asked.number(it.on));
        let on = (number(plan.before, was), number(plan.after, is));
        // Push-to-talk where it goes out may tell as much.
        let call = was.zip(is).filter(|_| on.0 == on.1).map(|(was, is)| {
            let (old, new) = plan.senders((Some(was.on), Some(is.on)));
            (old.intersection(&new).copied().collect::<BTreeSet<u32>>(), plan.calls(was.on, is.on))
        });
        // An answer matters to those who can make the call.
        let callers = sent.to.map(|called| self.callers(plan, called));
        let by = |asked: &Asked<'_>, going: Option<&Going>| {
            let (table, keys) = going.and_then(|it| it.by)?;
            self.digger.dirt.change(asked.number(table), keys)
        };
        let row = Row {
            sent,
            channel: if sent.what == Sending::Report { on.1.or(on.0) } else { Some(sent.from) },
            senders,
            way: [was, is].map(|going| going.map(|it| it.on).into_iter().collect()),
            by: by(plan.before, was).into_iter().chain(by(plan.after, is)).collect(),
            followed: (&old, &new),
            told: call.as_ref().map(|(senders, (old, new))| (senders, &**old, &**new)),
            otherwise: &otherwise,
            only: callers.as_deref(),
        };
        self.take(row);
    }

    /// Compares all that radios can call with what they could, where they came to hold a channel or no longer do.
    fn moved(&mut self, plan: &mut Plan<'_, '_>, moved: BTreeSet<u32>) {
        let Plan { before, after, was, is, .. } = plan;
        // Radios that hold the same channels reach the same.
        let mut alike: BTreeMap<(Vec<u32>, Vec<u32>), Vec<u32>> = BTreeMap::new();
        for radio in moved.into_iter().filter(|radio| self.counts(*radio)) {
            alike.entry((before.channels_of(*was, radio), after.channels_of(*is, radio))).or_default().push(radio);
        }
        for ((old, new), radios) in alike {
            let kept: Vec<u32> = old.iter().copied().filter(|channel| new.contains(channel)).collect();
            let (common, now) = (before.all_on(*was, &kept), after.all_on(*is, &kept));
            let (mut old, mut new) = (before.all_on(*was, &old), after.all_on(*is, &new));
            // What changed on the channels that they kept is told of those.
            for all in [&mut old, &mut new] {
                all.retain(|radio| common.heard(radio) == now.heard(radio));
            }
            let otherwise = self.heard_otherwise(&old, &new);
            self.take(Row {
                sent: Sent { what: Sending::Call, from: u32::MAX, to: None },
                channel: None,
                senders: &radios,
                way: Default::default(),
                by: Vec::new(),
                followed: (&old, &new),
                otherwise: &otherwise,
                told: None,
                only: None,
            });
        }
    }

    /// The radios that hear a transmission otherwise than before.
    fn otherwise(&mut self, old: &Rc<Followed>, new: &Rc<Followed>) -> Rc<[Otherwise]> {
        let key = (Rc::as_ptr(old), Rc::as_ptr(new));
        if let Some(known) = self.otherwise.get(&key) {
            return known.clone();
        }
        let found: Rc<[Otherwise]> = self.heard_otherwise(old, new).into();
        self.otherwise.insert(key, found.clone());
        found
    }

    fn heard_otherwise(&self, old: &Followed, new: &Followed) -> Vec<Otherwise> {
        heard_otherwise(old, new).into_iter().filter(|(radio, _)| self.counts(*radio)).collect()
    }

    /// The radios that can call on a channel, or a talkgroup, in both states.
    fn callers(&mut self, plan: &Plan<'_, '_>, called: u32) -> Rc<BTreeSet<u32>> {
        let of = |asked: &Asked<'_>, it: Option<EntityId>| it.map(|it| asked.callers(it)).unwrap_or_default();
        let (was, is) = self.matched.pair(called);
        let both = || of(plan.before, was).intersection(&of(plan.after, is)).copied().collect::<BTreeSet<u32>>();
        self.callers.entry(called).or_insert_with(|| Rc::new(both())).clone()
    }

    /// Takes in what changed of one transmission, or of all that some radios can send.
    fn take(&mut self, row: Row<'_>) {
        if row.otherwise.is_empty() {
            return;
        }
        let known = |radio: &u32| row.told.is_some_and(|(senders, ..)| senders.contains(radio));
        let (told, others): (Vec<u32>, Vec<u32>) = row.senders.iter().copied().partition(known);
        let parts = [(others, false), (told, true)];
        for (senders, is_told) in parts.into_iter().filter(|(senders, _)| !senders.is_empty()) {
            let mut receivers: BTreeMap<Change, Vec<u32>> = BTreeMap::new();
            for (radio, heard) in row.otherwise.iter().copied().filter(|(radio, _)| senders != [*radio]) {
                let as_call = row.told.filter(|_| is_told).map(|(_, old, new)| (old.heard(radio), new.heard(radio)));
                let is_known =
                    as_call.is_some_and(|call| call.0 != call.1 && PairKind::of(call) == PairKind::of(heard));
                let is_meant = row.only.is_none_or(|only| only.contains(&radio));
                if !is_known && is_meant {
                    receivers.entry(self.change(&row, &senders, radio, heard)).or_default().push(radio);
                }
            }
            for (change, radios) in receivers {
                self.found.entry((change, radios)).or_default().extend(&senders);
            }
        }
    }

    fn change(&self, row: &Row<'_>, senders: &[u32], radio: u32, heard: (Reception, Reception)) -> Change {
        let (old, new) = row.followed;
        let (was, is) = (old.made(radio), new.made(radio));
        let nothing = || match new.is_sent {
            false => Arc::from(NOTHING_SENT),
            true if self.is_station(radio) => Arc::from(NOT_LISTENED),
            true => Reason::Frequency.words().into(),
        };
        let nowhere = || (heard.1 == Reception::No).then(nothing);
        let why = is.and_then(|made| made.why.clone()).or_else(nowhere);
        let mut path = self.on_path(&row.way, (was, old), (is, new));
        path.extend(&row.by);
        if path.is_empty() && row.sent.what != Sending::Call {
            path.extend(self.digger.dirt.change(row.sent.from, FieldSet::ALL));
        }
        let because = self.because(row.channel.is_some(), senders, radio, path);
        Change { what: row.sent.what, channel: row.channel, to: row.sent.to, heard, why, because }
    }

    fn is_station(&self, number: u32) -> bool {
        let is = self.matched.pair(number).1;
        is.and_then(|id| self.states.after.db.entity(id)).is_some_and(|entity| entity.kind == Kind::Station)
    }

    /// The changes that did it: those of the way of the transmission and those that move a radio; where there are none,
    /// those of what the radios hold, then those of their ids. What a radio can send at all is for it to hold.
    fn because(&self, has_channel: bool, senders: &[u32], receiver: u32, path: Vec<usize>) -> Vec<usize> {
        let dirt = self.digger.dirt;
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
        way: &[Vec<EntityId>; 2],
        old: (Option<&Made>, &Followed),
        new: (Option<&Made>, &Followed),
    ) -> Vec<usize> {
        let sides = [
            (&self.states.before, Side::Before, &way[0], old.0, old.1),
            (&self.states.after, Side::After, &way[1], new.0, new.1),
        ];
        let mut found = Vec::new();
        for (state, side, way, made, followed) in sides {
            let through = made.into_iter().flat_map(|made| made.through).flatten();
            for id in way.iter().copied().chain(through).chain(followed.repeaters.iter().copied()) {
                found.extend(self.digger.behind(state, side, self.matched, id).iter());
            }
        }
        found
    }
}

fn told(states: &States<'_>, matched: &Matched, found: Found) -> Vec<PairChange> {
    let radio = |number: &u32| matched.pair(*number).1.and_then(|id| named(&states.after, Side::After, id));
    let called = |number: &u32| match matched.pair(*number) {
        (_, Some(is)) => name(&states.after, is),
        (was, None) => was.and_then(|was| name(&states.before, was)),
    };
    let mut told: Vec<PairChange> = Vec::new();
    for (alike, answers) in merged(found) {
        let Alike { change, receivers, senders, channels } = alike;
        told.push(PairChange {
            what: change.what,
            channels: channels.iter().filter_map(called).collect(),
            answers: answers.iter().filter_map(called).collect(),
            senders: senders.iter().filter_map(radio).collect(),
            receivers: receivers.iter().filter_map(radio).collect(),
            before: change.heard.0,
            after: change.heard.1,
            why: change.why.as_deref().map(str::to_owned),
            because: change.because,
        });
    }
    told.sort_by_cached_key(|it| {
        let pairs = it.senders.len() * it.receivers.len();
        // What was or is heard without a hand on the knob comes first.
        let best = it.before.min(it.after);
        let how = (best == Reception::CouldTune, it.kind(), best, it.what);
        (how, it.because.clone(), std::cmp::Reverse(pairs), it.channels.clone())
    });
    told
}

/// The radios that hear a transmission otherwise than before, with how they do.
fn heard_otherwise(old: &Followed, new: &Followed) -> Vec<Otherwise> {
    let (mut before, mut after) = (old.receptions().peekable(), new.receptions().peekable());
    let mut found = Vec::new();
    loop {
        let radio = match (before.peek(), after.peek()) {
            (Some((was, _)), Some((is, _))) => *was.min(is),
            (Some((one, _)), None) | (None, Some((one, _))) => *one,
            (None, None) => return found,
        };
        let heard = |made: Option<(u32, Reception)>| made.map_or(Reception::No, |(_, heard)| heard);
        let was = heard(before.next_if(|(it, _)| *it == radio));
        let is = heard(after.next_if(|(it, _)| *it == radio));
        if was != is {
            found.push((radio, (was, is)));
        }
    }
}

/// What is told in one row, but for what is answered.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Alike {
    change: Change,
    receivers: Vec<u32>,
    senders: Vec<u32>,
    channels: Vec<u32>,
}

/// Channels that do the same to the same radios are told together, then what is answered, then the two parts of an
/// emergency.
fn merged(found: Found) -> BTreeMap<Alike, BTreeSet<u32>> {
    let mut by_channel: BTreeMap<Alike, BTreeSet<u32>> = BTreeMap::new();
    for ((change, receivers), senders) in found {
        let (channel, senders) = (change.channel, senders.into_iter().collect());
        let change = Change { channel: channel.map(|_| 0), ..change };
        by_channel.entry(Alike { change, receivers, senders, channels: Vec::new() }).or_default().extend(channel);
    }
    let mut by_answer: BTreeMap<Alike, BTreeSet<u32>> = BTreeMap::new();
    for (alike, channels) in by_channel {
        let to = alike.change.to;
        let change = Change { to: to.map(|_| 0), ..alike.change };
        let alike = Alike { change, channels: channels.into_iter().collect(), ..alike };
        by_answer.entry(alike).or_default().extend(to);
    }
    let calls: Vec<Alike> =
        by_answer.keys().filter(|alike| alike.change.what == Sending::EmergencyCall).cloned().collect();
    for call in calls {
        let of = |what: Sending| Alike { change: Change { what, ..call.change.clone() }, ..call.clone() };
        if let Some(none) = by_answer.remove(&of(Sending::Alarm)) {
            by_answer.remove(&call);
            by_answer.insert(of(Sending::Emergency), none);
        }
    }
    by_answer
}
