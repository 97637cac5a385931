//! Who hears a transmission, over all radios of all plans.

use std::cell::{OnceCell, RefCell};
use std::cmp::Reverse;
use std::rc::Rc;

use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use super::fleet::{Class, Fleet, Fleets};
use super::path::{blocks, tolerance};
use super::receive::ANALOG_TOLERANCE;
use super::station::{StationAnswer, Stations, near};
use super::{Air, Answer, Called, Emission, Mode, Outcome, Ray, Rays, Reason, Refusal, Role, Status, Suppose, receive};
use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::radio;
use crate::value::Known;
use crate::view::View;

/// What the radios of a class, or those of them that an individual call is for, make of a transmission.
#[derive(Debug, Clone)]
pub struct ClassAnswer {
    /// The class.
    pub class: Rc<Class>,
    /// The radios.
    pub radios: Rc<[EntityId]>,
    /// The answer.
    pub answer: Answer,
    /// The channel on which they come nearest to hearing it; none where they receive on no such frequency.
    pub on: Option<EntityId>,
    /// What that channel makes of it: the reason, where they do not hear.
    pub outcome: Outcome,
    /// The repeater that would have brought it there, where it does not repeat.
    pub refused: Option<Refusal>,
}

/// Who hears one transmission.
#[derive(Debug, Clone)]
pub struct Audience {
    /// The carriers that it is on.
    pub rays: Rays,
    /// Radios, each once: those of every plan, or all but the others.
    pub answers: Vec<ClassAnswer>,
    /// Radios that were only counted.
    pub others: Others,
    /// The stations that listen, each with the plan that it was met in.
    pub stations: Vec<(FileId, EntityId)>,
}

/// Radios that hear nothing since they have no channel near any of the carriers.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Others {
    /// Those that receive on other frequencies.
    pub elsewhere: usize,
    /// Those that are lost or retired.
    pub away: usize,
}

impl Audience {
    /// How many radios give an answer.
    pub fn count(&self, answer: Answer) -> usize {
        let counted: usize = self.answers.iter().filter(|it| it.answer == answer).map(|it| it.radios.len()).sum();
        if answer == Answer::No { counted + self.others.elsewhere + self.others.away } else { counted }
    }

    /// How many radios there are.
    pub fn total(&self) -> usize {
        let counted: usize = self.answers.iter().map(|it| it.radios.len()).sum();
        counted + self.others.elsewhere + self.others.away
    }

    /// The answer of one radio.
    pub fn of(&self, radio: EntityId) -> Option<&ClassAnswer> {
        self.answers.iter().find(|it| it.radios.contains(&radio))
    }
}

/// Looks at the audience of several transmissions of one state of the plans: classes, stations and who holds which channel
/// are made out once. It reads every plan there is, so it is for questions and for messages of findings that are there
/// anyway, not for finding them.
pub struct Hearing<'v> {
    view: View<'v>,
    fleets: Fleets,
    counted: OnceCell<Counted>,
    stations: OnceCell<Stations<'v>>,
    units: OnceCell<Units>,
    /// Files, numbered in order of path.
    ranks: OnceCell<FxHashMap<FileId, usize>>,
    places: RefCell<FxHashMap<EntityId, Place>>,
    best: RefCell<Bests>,
}

/// The radios that have a unit id in a plan.
type Units = FxHashMap<(FileId, i64), SmallVec<[EntityId; 1]>>;

/// The rank of a file, the place in its text, the ordinal: what entities are ordered by.
type Place = (usize, usize, u32);

/// All radios.
struct Counted {
    total: usize,
    away: FxHashSet<EntityId>,
    /// Some radio is in several plans.
    shares: bool,
}

/// The best that radios have come to so far.
#[derive(Clone, Copy)]
struct Best {
    answer: Answer,
    on: Option<EntityId>,
    outcome: Outcome,
    role: Role,
    refused: Option<Refusal>,
}

const NOWHERE: Best =
    Best { answer: Answer::No, on: None, outcome: Outcome::No(Reason::Frequency), role: Role::OnKnob, refused: None };

/// The best of every class, of those of its radios that an individual call is not for and of those that it is for.
#[derive(Default)]
struct Bests {
    held: Vec<Best>,
    /// Where that is not [`NOWHERE`], each once.
    touched: Vec<usize>,
}

impl Bests {
    fn at(number: usize, is_called: bool) -> usize {
        2 * number + usize::from(is_called)
    }

    fn clear(&mut self) {
        self.touched.drain(..).for_each(|at| self.held[at] = NOWHERE);
    }

    fn get(&self, at: usize) -> Best {
        self.held.get(at).copied().unwrap_or(NOWHERE)
    }

    /// Keeps what is found where it is better.
    fn keep(&mut self, at: usize, found: Best) {
        if self.held.len() <= at {
            self.held.resize(at + 1, NOWHERE);
        }
        let held = &mut self.held[at];
        if found.rank() < held.rank() {
            if held.on.is_none() {
                self.touched.push(at);
            }
            *held = found;
        }
    }
}

/// What arrives at a channel.
#[derive(Clone, Copy)]
enum Arrival<'a> {
    /// A ray.
    Ray(&'a Ray),
    /// What a repeater would have sent there.
    Refused(&'a Refusal),
}

impl<'v> Hearing<'v> {
    /// Over all plans of the database of `view`.
    pub fn new(view: View<'v>) -> Self {
        let (counted, stations, units) = (OnceCell::new(), OnceCell::new(), OnceCell::new());
        let (ranks, places, best) = (OnceCell::new(), RefCell::default(), RefCell::default());
        Hearing { view, fleets: Fleets::new(view), counted, stations, units, ranks, places, best }
    }

    /// The plans, in order of path.
    pub fn plans(&self) -> &[FileId] {
        self.fleets.plans()
    }

    /// The classes of radios of a plan, in the order in which their first radio stands.
    pub fn classes(&self, plan: FileId) -> Vec<Rc<Class>> {
        self.fleets.of(self.at(plan)).map(|fleet| fleet.classes.clone()).unwrap_or_default()
    }

    /// Who listens to a channel of a plan, and how.
    pub fn listening(&self, plan: FileId, channel: EntityId) -> Vec<(Rc<Class>, Role)> {
        let Some(fleet) = self.fleets.of(self.at(plan)) else { return Vec::new() };
        let roles = fleet.roles(self.at(plan), channel);
        roles.iter().map(|(class, role)| (fleet.classes[*class].clone(), *role)).collect()
    }

    /// Who hears a transmission: every radio of every plan, and the stations. `sender`, where it is known, is not counted.
    /// The classes are numbered in the order of the plans where nothing else was asked before.
    pub fn of(&self, emission: &Emission, sender: Option<EntityId>) -> Audience {
        let fleets: Vec<&Fleet> = self.plans().iter().filter_map(|plan| self.fleets.of(self.at(*plan))).collect();
        let mut best = self.best.borrow_mut();
        let rays = self.follow(emission, &Suppose::Nothing, &mut best);
        let unit = called_unit(emission);
        let classes = fleets.into_iter().flat_map(|fleet| (0..fleet.classes.len()).map(move |at| (fleet, at)));
        let answers = classes.flat_map(|(fleet, at)| self.answers_of(fleet, at, unit, sender, &best)).collect();
        let stations = self.stations_listening(emission, &rays);
        Audience { rays, answers: self.once(answers), others: Others::default(), stations }
    }

    /// As [`Hearing::of`]; radios that have no channel near are only counted, which is much faster where there are many.
    pub fn near(&self, emission: &Emission, sender: Option<EntityId>) -> Audience {
        let audience = self.radios_near(emission, sender, &Suppose::Nothing);
        let stations = self.stations_listening(emission, &audience.rays);
        Audience { stations, ..audience }
    }

    /// As [`Hearing::near`], without asking the stations, if something were otherwise on the side of those who listen.
    pub fn radios_near(&self, emission: &Emission, sender: Option<EntityId>, suppose: &Suppose) -> Audience {
        let mut best = self.best.borrow_mut();
        let rays = self.follow(emission, suppose, &mut best);
        let unit = called_unit(emission);
        let classes = self.fleets.in_order(best.touched.iter().map(|at| at / 2)).into_iter();
        let answers = classes.flat_map(|(fleet, at)| self.answers_of(fleet, at, unit, sender, &best));
        let answers = self.once(answers.filter(|answer| answer.on.is_some()).collect());
        let near: usize = answers.iter().map(|it| it.radios.len()).sum();
        let Counted { total, away, .. } = self.counted();
        // Who is away has no channel near.
        let away = away.len() - usize::from(sender.is_some_and(|sender| away.contains(&sender)));
        let elsewhere = (total - usize::from(sender.is_some())).saturating_sub(near + away);
        Audience { rays, answers, others: Others { elsewhere, away }, stations: Vec::new() }
    }

    /// What the stations that come near a transmission make of it.
    pub fn stations_near(&self, emission: &Emission, rays: &Rays) -> Vec<StationAnswer> {
        near(self.stations(), rays, called_unit(emission))
    }

    fn stations_listening(&self, emission: &Emission, rays: &Rays) -> Vec<(FileId, EntityId)> {
        let heard = self.stations_near(emission, rays).into_iter().filter(|it| it.outcome == Outcome::Heard);
        heard.map(|it| (it.viewer, it.station)).collect()
    }

    /// Follows a transmission and makes out the best of every class.
    fn follow(&self, emission: &Emission, suppose: &Suppose, best: &mut Bests) -> Rays {
        best.clear();
        let rays = self.view.rays(emission);
        let is_to_unit = called_unit(emission).is_some();
        for (channel, arrival) in self.arrivals(&rays) {
            let Some(file) = self.view.file_of(channel) else { continue };
            for plan in self.view.viewers_of(file) {
                let view = self.at(plan);
                let Some(fleet) = self.fleets.of(view) else { continue };
                let Some(air) = view.air(channel) else { continue };
                let listening = fleet.roles(view, channel);
                let scanning = fleet.supposed_to_scan(channel, suppose).into_iter().map(|class| (class, Role::Scans));
                let roles = listening.iter().copied().chain(scanning);
                match arrival {
                    Arrival::Ray(ray) => arrive(ray, (channel, &suppose.air(channel, air)), fleet, roles, best),
                    Arrival::Refused(refused) if is_tuned(air, refused, emission.mode()) => {
                        stay_away(refused, channel, (fleet, is_to_unit), roles, best);
                    }
                    Arrival::Refused(_) => {}
                }
            }
        }
        rays
    }

    /// What arrives at which channels, those that receive near a carrier; in the order of the plans, so that of what is as
    /// good the first is kept.
    fn arrivals<'r>(&self, rays: &'r Rays) -> Vec<(EntityId, Arrival<'r>)> {
        let sent = rays.rays.iter().map(|ray| (ray.emission.carrier, Arrival::Ray(ray)));
        let refused = rays.refused.iter().filter_map(|it| Some((it.output.value()?, Arrival::Refused(it))));
        let mut found: Vec<(EntityId, Arrival<'r>)> = Vec::new();
        for (carrier, arrival) in sent.chain(refused) {
            for block in blocks(carrier, ANALOG_TOLERANCE) {
                found.extend(self.view.alike(Bucket::Receives(block)).map(|channel| (channel, arrival)));
            }
        }
        let mut places = self.places.borrow_mut();
        found.sort_by_cached_key(|(channel, _)| *places.entry(*channel).or_insert_with(|| self.place(*channel)));
        found
    }

    fn place(&self, channel: EntityId) -> Place {
        let ranks = self.ranks.get_or_init(|| {
            let mut files: Vec<FileId> = self.view.db.file_ids().collect();
            files.sort_by(|a, b| self.view.path(*a).cmp(self.view.path(*b)));
            files.into_iter().enumerate().map(|(rank, file)| (file, rank)).collect()
        });
        let order = self.view.db.order(channel);
        let rank = order.file.and_then(|file| ranks.get(&file)).copied().unwrap_or_default();
        (rank, order.start, order.ordinal)
    }

    /// The answers of a class: of the radios that an individual call is for, and of the others.
    fn answers_of(
        &self,
        fleet: &Fleet,
        at: usize,
        unit: Option<i64>,
        sender: Option<EntityId>,
        best: &Bests,
    ) -> impl Iterator<Item = ClassAnswer> {
        let class = &fleet.classes[at];
        let called = unit.and_then(|unit| self.units().get(&(fleet.plan, unit)));
        let is_called = |radio: &EntityId| called.is_some_and(|called| called.contains(radio));
        let has_called = called.is_some() && class.radios.iter().any(is_called);
        let is_divided = has_called || sender.is_some_and(|sender| class.radios.contains(&sender));
        let halves: SmallVec<[(Rc<[EntityId]>, bool); 2]> = if is_divided {
            let half = |want: bool| {
                let all = class.radios.iter().filter(|radio| sender != Some(**radio));
                (all.filter(|radio| is_called(radio) == want).copied().collect(), want)
            };
            [half(true), half(false)].into_iter().collect()
        } else {
            SmallVec::from_iter([(class.radios.clone(), false)])
        };
        halves.into_iter().filter(|(radios, _)| !radios.is_empty()).map(move |(radios, is_called)| {
            let Best { answer, on, outcome, refused, .. } = best.get(Bests::at(fleet.first + at, is_called));
            ClassAnswer { class: class.clone(), radios, answer, on, outcome, refused }
        })
    }

    /// A radio of a part that several plans share is counted where it comes nearest to hearing.
    fn once(&self, mut answers: Vec<ClassAnswer>) -> Vec<ClassAnswer> {
        if !self.counted().shares {
            return answers;
        }
        let mut counted: FxHashSet<EntityId> = FxHashSet::default();
        let mut order: Vec<usize> = (0..answers.len()).collect();
        order.sort_by_key(|at| {
            let it = &answers[*at];
            (it.answer, nearness(it.outcome, it.refused.is_some(), it.on.is_some()), *at)
        });
        for at in order {
            let radios = &answers[at].radios;
            let left: Vec<EntityId> = radios.iter().filter(|radio| counted.insert(**radio)).copied().collect();
            if left.len() < radios.len() {
                answers[at].radios = left.into();
            }
        }
        answers.retain(|it| !it.radios.is_empty());
        answers
    }

    fn at(&self, plan: FileId) -> View<'v> {
        self.view.at(plan)
    }

    fn counted(&self) -> &Counted {
        self.counted.get_or_init(|| {
            let mut counted = Counted { total: 0, away: FxHashSet::default(), shares: false };
            for file in self.view.db.file_ids() {
                let viewers = self.view.viewers_of(file);
                let Some(view) = viewers.first().map(|plan| self.at(*plan)) else { continue };
                let radios = view.members::<radio::Table>(file);
                let posts = radios.iter().filter_map(|it| Some((it.id(), view.post(it.id())?)));
                for (radio, post) in posts {
                    counted.total += 1;
                    counted.shares |= viewers.len() > 1;
                    if post.status == Known::Is(Status::Away) {
                        counted.away.insert(radio);
                    }
                }
            }
            counted
        })
    }

    fn stations(&self) -> &Stations<'v> {
        self.stations.get_or_init(|| Stations::of(self.plans().iter().map(|plan| self.at(*plan))))
    }

    fn units(&self) -> &Units {
        self.units.get_or_init(|| {
            let mut units = Units::default();
            for view in self.plans().iter().map(|plan| self.at(*plan)) {
                for it in view.all::<radio::Table>() {
                    for (_, unit) in view.unit_ids(it.id()) {
                        units.entry((view.viewer(), *unit)).or_default().push(it.id());
                    }
                }
            }
            units
        })
    }
}

/// Takes in what a ray is to those who listen to a channel. Radios that are called and those that are not are told apart.
fn arrive(
    ray: &Ray,
    (channel, air): (EntityId, &Air),
    fleet: &Fleet,
    roles: impl Iterator<Item = (usize, Role)>,
    best: &mut Bests,
) {
    let is_to_unit = called_unit(&ray.emission).is_some();
    for (class, role) in roles {
        for is_called in [false, true].into_iter().take(1 + usize::from(is_to_unit)) {
            let outcome = receive(&ray.emission, air, &fleet.classes[class].post.gear, is_called);
            // That is so whoever listens.
            if outcome == Outcome::No(Reason::Frequency) {
                return;
            }
            let found = Best { answer: answer(outcome, role), on: Some(channel), outcome, role, refused: None };
            best.keep(Bests::at(fleet.first + class, is_called), found);
        }
    }
}

/// Whether a channel receives what a repeater would have sent.
fn is_tuned(air: &Air, refused: &Refusal, mode: Mode) -> bool {
    let (rx, output) = (air.rx.value(), refused.output.value());
    rx.zip(output).is_some_and(|(rx, output)| rx.spacing(output) <= tolerance(mode))
}

/// Takes in that a repeater does not bring a call to those who listen to a channel.
fn stay_away(
    refused: &Refusal,
    channel: EntityId,
    (fleet, is_to_unit): (&Fleet, bool),
    roles: impl Iterator<Item = (usize, Role)>,
    best: &mut Bests,
) {
    for (class, role) in roles {
        for is_called in [false, true].into_iter().take(1 + usize::from(is_to_unit)) {
            let found = Best { on: Some(channel), role, refused: Some(*refused), ..NOWHERE };
            best.keep(Bests::at(fleet.first + class, is_called), found);
        }
    }
}

impl Best {
    fn rank(&self) -> (Answer, impl Ord + use<>, Role) {
        (self.answer, nearness(self.outcome, self.refused.is_some(), self.on.is_some()), self.role)
    }
}

/// The nearest first: how far a ray came, then whether a repeater would have brought it.
fn nearness(outcome: Outcome, is_refused: bool, is_on: bool) -> Reverse<(u8, bool, bool)> {
    Reverse((outcome.depth(), is_refused, is_on))
}

fn answer(outcome: Outcome, role: Role) -> Answer {
    match (outcome, role) {
        (Outcome::Heard, Role::StandsBy) => Answer::Hears,
        (Outcome::Heard, Role::Scans) => Answer::IfScanning,
        (Outcome::Heard, Role::OnKnob) => Answer::CouldTune,
        (Outcome::Unknown, _) => Answer::Unknown,
        (Outcome::Noise(_), Role::StandsBy | Role::Scans) => Answer::Noise,
        (Outcome::Noise(_), Role::OnKnob) | (Outcome::No(_), _) => Answer::No,
    }
}

/// The unit that an individual call is for.
fn called_unit(emission: &Emission) -> Option<i64> {
    match emission.called()? {
        Called::Unit(unit) => Some(unit),
        Called::Group(_) | Called::All => None,
    }
}
