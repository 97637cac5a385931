//! Who hears a transmission, over all radios of all plans.

use std::borrow::Cow;
use std::cell::{OnceCell, RefCell};
use std::ops::ControlFlow;
use std::rc::Rc;

use guywire_radio::{Hertz, Tone};
use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use super::path::{blocks, tolerance};
use super::post::keys_for;
use super::receive::ANALOG_TOLERANCE;
use super::{Air, Answer, Called, Emission, Gear, Outcome, Post, Rays, Reason, Refusal, Role, Signal, Status, receive};
use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::{channel, radio, scan_list, station, talkgroup, zone};
use crate::value::{Known, Row, Stored};
use crate::view::{Found, Ref, View};

/// Radios that are alike in all that matters to hearing, but for their unit ids.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// The plan that they belong to.
    pub viewer: FileId,
    /// Where they are and what they hold.
    pub post: Post,
    /// The radios, in the order of the plan.
    pub radios: Vec<EntityId>,
}

/// What the radios of a class, or those of them that an individual call is for, make of a transmission.
#[derive(Debug, Clone)]
pub struct ClassAnswer {
    /// The class.
    pub class: Rc<Class>,
    /// The radios.
    pub radios: Vec<EntityId>,
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
    /// Every radio of every plan, once.
    pub answers: Vec<ClassAnswer>,
    /// The stations that listen, each with the plan that it was met in.
    pub stations: Vec<(FileId, EntityId)>,
}

impl Audience {
    /// How many radios give an answer.
    pub fn count(&self, answer: Answer) -> usize {
        self.answers.iter().filter(|it| it.answer == answer).map(|it| it.radios.len()).sum()
    }

    /// How many radios there are.
    pub fn total(&self) -> usize {
        self.answers.iter().map(|it| it.radios.len()).sum()
    }

    /// The answer of one radio.
    pub fn of(&self, radio: EntityId) -> Option<&ClassAnswer> {
        self.answers.iter().find(|it| it.radios.contains(&radio))
    }
}

/// The radios of one plan.
struct Fleet {
    classes: Vec<Rc<Class>>,
    /// Who listens to a channel and how; made out where a transmission comes near.
    roles: OnceCell<Roles>,
}

/// Who listens to a channel and how, by number of class.
type Roles = FxHashMap<EntityId, SmallVec<[(usize, Role); 2]>>;

/// Looks at the audience of several transmissions of one state of the plans: classes and who holds which channel are made
/// out once. It reads every plan there is, so it is for questions and for messages of findings that are there anyway, not
/// for finding them.
pub struct Hearing<'v> {
    view: View<'v>,
    plans: Vec<FileId>,
    fleets: RefCell<FxHashMap<FileId, Rc<Fleet>>>,
}

/// What would be otherwise, for those who ask what an edit does.
#[derive(Debug, Clone, PartialEq)]
pub enum Suppose {
    /// Nothing.
    Nothing,
    /// Some channels are so too.
    Channels(Vec<EntityId>, Supposed),
    /// With the knob on one of the first, the second is scanned too.
    Scanned(Vec<EntityId>, EntityId),
}

/// What a channel would be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Supposed {
    /// Its receive group has this talkgroup too.
    Listens(i64),
    /// It has this color code.
    ColorCode(i64),
    /// It is on this slot.
    Slot(i64),
    /// It sends this tone.
    Sends(Tone),
    /// It waits for this tone.
    WaitsFor(Tone),
}

impl Suppose {
    /// A channel as it would be.
    pub fn air<'a>(&self, channel: EntityId, air: &'a Air) -> Cow<'a, Air> {
        let Suppose::Channels(channels, supposed) = self else { return Cow::Borrowed(air) };
        if !channels.contains(&channel) {
            return Cow::Borrowed(air);
        }
        let mut air = air.clone();
        match supposed {
            Supposed::Listens(group) => {
                let mut groups = air.groups.value().map(|groups| groups.to_vec()).unwrap_or_default();
                groups.push(*group);
                groups.sort_unstable();
                air.groups = Known::Is(groups.into());
            }
            Supposed::ColorCode(code) => air.color_code = Known::Is(*code),
            Supposed::Slot(slot) => air.slot = Known::Is(*slot),
            Supposed::Sends(tone) => air.tx_tone = Known::Is(*tone),
            Supposed::WaitsFor(tone) => air.rx_tone = Known::Is(*tone),
        }
        Cow::Owned(air)
    }
}

/// The best that a class has come to so far.
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

impl<'v> Hearing<'v> {
    /// Over all plans of the database of `view`.
    pub fn new(view: View<'v>) -> Self {
        let mut plans: Vec<FileId> = view.db.file_ids().filter(|file| view.db.is_plan(*file)).collect();
        plans.sort_by(|a, b| view.path(*a).cmp(view.path(*b)));
        Hearing { view, plans, fleets: RefCell::default() }
    }

    /// The plans, in order of path.
    pub fn plans(&self) -> &[FileId] {
        &self.plans
    }

    /// The classes of radios of a plan, in the order in which their first radio stands.
    pub fn classes(&self, plan: FileId) -> Vec<Rc<Class>> {
        self.fleet(plan).classes.clone()
    }

    /// Who listens to a channel of a plan, and how.
    pub fn listening(&self, plan: FileId, channel: EntityId) -> Vec<(Rc<Class>, Role)> {
        let fleet = self.fleet(plan);
        let roles = fleet.roles(self.at(plan)).get(&channel);
        roles.into_iter().flatten().map(|(class, role)| (fleet.classes[*class].clone(), *role)).collect()
    }

    /// Who hears a transmission. `sender`, where it is known, is not counted.
    pub fn of(&self, emission: &Emission, sender: Option<EntityId>) -> Audience {
        let audience = self.of_radios(emission, sender);
        let stations = self.stations(&audience.rays, called_unit(emission));
        Audience { stations, ..audience }
    }

    /// As [`Hearing::of`], without asking the stations: for those who follow thousands of transmissions.
    pub fn of_radios(&self, emission: &Emission, sender: Option<EntityId>) -> Audience {
        self.supposing(emission, sender, &Suppose::Nothing)
    }

    /// As [`Hearing::of_radios`], if something were otherwise on the side of those who listen.
    pub fn supposing(&self, emission: &Emission, sender: Option<EntityId>, suppose: &Suppose) -> Audience {
        let rays = self.view.rays(emission);
        let mut best: FxHashMap<(FileId, usize, bool), Best> = FxHashMap::default();
        let unit = called_unit(emission);
        for ray in &rays.rays {
            self.each_position(ray.emission.carrier, suppose, |plan, number, class, channel, role| {
                let Some(air) = self.at(plan).air(channel).map(|air| suppose.air(channel, air)) else { return };
                // Radios that are called and those that are not are told apart.
                for is_called in if unit.is_some() { &[false, true][..] } else { &[false][..] } {
                    let outcome = receive(&ray.emission, &air, &class.post.gear, *is_called);
                    if outcome == Outcome::No(Reason::Frequency) {
                        continue;
                    }
                    let found = Best { answer: answer(outcome, role), on: Some(channel), outcome, role, refused: None };
                    self.keep(&mut best, (plan, number, *is_called), found);
                }
            });
        }
        for refused in &rays.refused {
            let Known::Is(output) = refused.output else { continue };
            self.each_position(output, suppose, |plan, number, _, channel, role| {
                let Some(air) = self.at(plan).air(channel) else { return };
                if !matches!(air.rx, Known::Is(rx) if rx.spacing(output) <= tolerance(emission.mode())) {
                    return;
                }
                for is_called in [false, true] {
                    let found = Best { on: Some(channel), role, refused: Some(*refused), ..NOWHERE };
                    self.keep(&mut best, (plan, number, is_called), found);
                }
            });
        }
        let answers = self.answers(&best, unit, sender);
        Audience { rays, answers, stations: Vec::new() }
    }

    /// Every position of a radio that receives near a frequency.
    fn each_position(
        &self,
        carrier: Hertz,
        suppose: &Suppose,
        mut visit: impl FnMut(FileId, usize, &Class, EntityId, Role),
    ) {
        for block in blocks(carrier, ANALOG_TOLERANCE) {
            for channel in self.view.alike(Bucket::Receives(block)) {
                let Some(file) = self.view.file_of(channel) else { continue };
                for plan in self.view.viewers_of(file) {
                    let fleet = self.fleet(plan);
                    for (class, role) in fleet.roles(self.at(plan)).get(&channel).into_iter().flatten() {
                        visit(plan, *class, &fleet.classes[*class], channel, *role);
                    }
                    for number in fleet.supposed_to_scan(channel, suppose) {
                        visit(plan, number, &fleet.classes[number], channel, Role::Scans);
                    }
                }
            }
        }
    }

    fn keep(&self, best: &mut FxHashMap<(FileId, usize, bool), Best>, key: (FileId, usize, bool), found: Best) {
        let held = best.entry(key).or_insert(NOWHERE);
        let rank = |it: &Best| {
            let stage = std::cmp::Reverse((it.outcome.depth(), it.refused.is_some(), it.on.is_some()));
            (it.answer, stage, it.role)
        };
        let is_better = rank(&found).cmp(&rank(held)).then_with(|| match (found.on, held.on) {
            (Some(a), Some(b)) => self.view.db.order(a).cmp(&self.view.db.order(b)),
            _ => std::cmp::Ordering::Equal,
        });
        if is_better.is_lt() {
            *held = found;
        }
    }

    fn answers(
        &self,
        best: &FxHashMap<(FileId, usize, bool), Best>,
        unit: Option<i64>,
        sender: Option<EntityId>,
    ) -> Vec<ClassAnswer> {
        let mut answers: Vec<ClassAnswer> = Vec::new();
        for plan in &self.plans {
            for (number, class) in self.fleet(*plan).classes.iter().enumerate() {
                let is_called = |radio: &EntityId| {
                    unit.is_some_and(|unit| self.at(*plan).unit_ids(*radio).iter().any(|(_, id)| *id == unit))
                };
                let (called, others): (Vec<EntityId>, Vec<EntityId>) =
                    class.radios.iter().filter(|radio| sender != Some(**radio)).partition(|radio| is_called(radio));
                for (radios, called) in [(called, true), (others, false)] {
                    if radios.is_empty() {
                        continue;
                    }
                    let it = *best.get(&(*plan, number, called)).unwrap_or(&NOWHERE);
                    let Best { answer, on, outcome, refused, .. } = it;
                    answers.push(ClassAnswer { class: class.clone(), radios, answer, on, outcome, refused });
                }
            }
        }
        self.once(answers)
    }

    /// A radio of a part that several plans share is counted where it hears best.
    fn once(&self, mut answers: Vec<ClassAnswer>) -> Vec<ClassAnswer> {
        let mut counted: FxHashSet<EntityId> = FxHashSet::default();
        let mut order: Vec<usize> = (0..answers.len()).collect();
        order.sort_by_key(|at| (answers[*at].answer, *at));
        for at in order {
            answers[at].radios.retain(|radio| counted.insert(*radio));
        }
        answers.retain(|it| !it.radios.is_empty());
        answers
    }

    fn stations(&self, rays: &Rays, unit: Option<i64>) -> Vec<(FileId, EntityId)> {
        let mut found: Vec<(FileId, EntityId)> = Vec::new();
        for plan in &self.plans {
            let view = self.at(*plan);
            for it in view.all::<station::Table>() {
                let is_called = unit.is_some() && it.whole(station::id).value() == unit;
                let hears = is_called || view.station_hears(it, rays);
                if hears && !found.iter().any(|(_, held)| *held == it.id()) {
                    found.push((*plan, it.id()));
                }
            }
        }
        found
    }

    fn at(&self, plan: FileId) -> View<'v> {
        self.view.at(plan)
    }

    fn fleet(&self, plan: FileId) -> Rc<Fleet> {
        if let Some(fleet) = self.fleets.borrow().get(&plan) {
            return fleet.clone();
        }
        let fleet = Rc::new(fleet(self.at(plan)));
        self.fleets.borrow_mut().insert(plan, fleet.clone());
        fleet
    }
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

fn fleet(view: View<'_>) -> Fleet {
    let mut radios: Vec<EntityId> = view.all::<radio::Table>().iter().map(Ref::id).collect();
    view.sort(&mut radios);
    let mut by_post: FxHashMap<&Post, usize> = FxHashMap::default();
    let mut classes: Vec<Class> = Vec::new();
    for id in radios {
        let Some(post) = view.post(id) else { continue };
        let number = *by_post.entry(post).or_insert_with(|| {
            classes.push(Class { viewer: view.viewer(), post: post.clone(), radios: Vec::new() });
            classes.len() - 1
        });
        classes[number].radios.push(id);
    }
    Fleet { classes: classes.into_iter().map(Rc::new).collect(), roles: OnceCell::new() }
}

impl Fleet {
    fn roles(&self, view: View<'_>) -> &Roles {
        self.roles.get_or_init(|| roles(view, &self.classes))
    }

    /// The classes that would scan a channel too.
    fn supposed_to_scan(&self, channel: EntityId, suppose: &Suppose) -> Vec<usize> {
        let Suppose::Scanned(homes, member) = suppose else { return Vec::new() };
        if *member != channel {
            return Vec::new();
        }
        let scans = |post: &Post| {
            let is_used = !matches!(post.status, Known::Is(Status::Away | Status::Spare));
            is_used && matches!(post.stands_by, Known::Is(home) if home != channel && homes.contains(&home))
        };
        (0..self.classes.len()).filter(|number| scans(&self.classes[*number].post)).collect()
    }
}

fn roles(view: View<'_>, classes: &[Rc<Class>]) -> Roles {
    let mut roles = Roles::default();
    let mut zones: FxHashMap<EntityId, Rc<[EntityId]>> = FxHashMap::default();
    for (number, class) in classes.iter().enumerate() {
        for (channel, role) in positions(view, class, &mut zones) {
            let held = roles.entry(channel).or_default();
            match held.iter_mut().find(|(class, _)| *class == number) {
                Some((_, best)) => *best = (*best).min(role),
                None => held.push((number, role)),
            }
        }
    }
    roles
}

/// The channels that the radios of a class listen to, or could be tuned to.
fn positions(view: View<'_>, class: &Class, zones: &mut FxHashMap<EntityId, Rc<[EntityId]>>) -> Vec<(EntityId, Role)> {
    let mut found: Vec<(EntityId, Role)> = Vec::new();
    if class.post.status == Known::Is(Status::Away) {
        return found;
    }
    if let Known::Is(held) = &class.post.zones {
        for zone in held.iter() {
            let channels = zones.entry(*zone).or_insert_with(|| view.zone_channels(*zone).into());
            found.extend(channels.iter().map(|channel| (*channel, Role::OnKnob)));
        }
    }
    if class.post.status != Known::Is(Status::Spare)
        && let Known::Is(home) = class.post.stands_by
    {
        found.push((home, Role::StandsBy));
        found.extend(view.scanned_at(home).into_iter().map(|channel| (channel, Role::Scans)));
    }
    found
}

/// Somebody who listens without turning the knob.
#[derive(Debug, Clone, Copy)]
pub struct Listener {
    /// The plan of the radio.
    pub viewer: FileId,
    /// The radio; none where all that listen to the channel fail for the same reason.
    pub radio: Option<EntityId>,
    /// The channel that it listens to.
    pub channel: EntityId,
    /// Standing by or scanning.
    pub role: Role,
    /// What it makes of the ray.
    pub outcome: Outcome,
}

impl<'v> View<'v> {
    /// Calls `visit` for every radio in use that stands by or scans where one of the carriers could be heard, with what it
    /// makes of it, until it says to stop; once for a channel that no radio hears it on. Those on the channel `first` come
    /// first. Records only what was looked at, so a rule that stops early is judged again seldom.
    pub fn each_listener(
        self,
        rays: &Rays,
        first: Option<EntityId>,
        visit: &mut dyn FnMut(Listener) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        if let Some(first) = first {
            rays.rays.iter().try_for_each(|ray| self.listeners_on(first, &ray.emission, visit))?;
        }
        for ray in &rays.rays {
            for block in blocks(ray.emission.carrier, ANALOG_TOLERANCE) {
                for key in keys_for(&ray.emission) {
                    let others = self.alike(Bucket::Hears(block, key)).filter(|it| first != Some(*it));
                    for channel in others {
                        self.listeners_on(channel, &ray.emission, visit)?;
                    }
                }
            }
        }
        ControlFlow::Continue(())
    }

    /// Calls `visit` like [`View::each_listener`] for all who listen near one of the carriers, whatever their mode, color
    /// code and slot: to say why a call is missed.
    pub fn each_nearby(self, rays: &Rays, visit: &mut dyn FnMut(Listener)) {
        for ray in &rays.rays {
            for block in blocks(ray.emission.carrier, ANALOG_TOLERANCE) {
                for channel in self.alike(Bucket::Listens(block)) {
                    let _ = self.listeners_on(channel, &ray.emission, &mut |listener| {
                        visit(listener);
                        ControlFlow::Continue(())
                    });
                }
            }
        }
    }

    fn listeners_on(
        self,
        channel: EntityId,
        ray: &Emission,
        visit: &mut dyn FnMut(Listener) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        let Some(file) = self.file_of(channel) else { return ControlFlow::Continue(()) };
        for viewer in self.viewers_of(file) {
            let view = self.at(viewer);
            let (Some(ear), Some(air)) = (view.ear(channel), view.air(channel)) else { continue };
            let Some((_, best)) = ear.homes.iter().min_by_key(|(_, role)| *role) else { continue };
            // What no radio hears is not asked of each.
            match receive(ray, air, &Gear::UNWRITTEN, true) {
                Outcome::No(Reason::Frequency) => continue,
                outcome @ Outcome::No(reason) if reason != Reason::Key && !is_to_one(ray) => {
                    visit(Listener { viewer, radio: None, channel, role: *best, outcome })?;
                    continue;
                }
                _ => {}
            }
            for (home, role) in ear.homes.iter() {
                for radio in view.alike(Bucket::StandsOn(viewer, *home)) {
                    let Some(post) = view.post(radio) else { continue };
                    let outcome = receive(ray, air, &post.gear, view.is_called(radio, ray));
                    visit(Listener { viewer, radio: Some(radio), channel, role: *role, outcome })?;
                }
            }
        }
        ControlFlow::Continue(())
    }

    /// Whether an individual call is for this radio.
    fn is_called(self, radio: EntityId, ray: &Emission) -> bool {
        match ray.signal {
            Signal::Digital(super::Digital { called: Called::Unit(unit), .. }) => {
                self.unit_ids(radio).iter().any(|(_, id)| *id == unit)
            }
            _ => false,
        }
    }

    /// Whether a station is written to listen to one of the rays: to the talkgroup that is called, or to a channel that
    /// hears it.
    pub fn station_hears(self, it: Ref<'v, station::Table>, rays: &Rays) -> bool {
        let Known::Is(elements) = it.list(station::hears) else { return false };
        elements.iter().any(|element| {
            let Stored::Text(name) = element.value else { return false };
            if let Found::One(group) = self.find::<talkgroup::Table>(it.id(), name) {
                let number = group.whole(talkgroup::id).value().map(Called::Group);
                return number.is_some() && rays.rays.iter().any(|ray| called_by(&ray.emission) == number);
            }
            let Found::One(channel) = self.find::<channel::Table>(it.id(), name) else { return false };
            let Some(air) = self.air(channel.id()) else { return false };
            rays.rays.iter().any(|ray| receive(&ray.emission, air, &Gear::UNWRITTEN, false) == Outcome::Heard)
        })
    }

    /// The channels of a zone, in the order of the knob. What leads nowhere is left out.
    pub fn zone_channels(self, zone: EntityId) -> Vec<EntityId> {
        let Some(it) = self.get::<zone::Table>(zone) else { return Vec::new() };
        let Known::Is(elements) = it.list(zone::channels) else { return Vec::new() };
        let named = elements.iter().filter_map(|element| match element.value {
            Stored::Text(name) if !self.symbol(name).is_empty() => Some(name),
            _ => None,
        });
        named
            .filter_map(|name| match self.find::<channel::Table>(zone, name) {
                Found::One(channel) => Some(channel.id()),
                Found::Missing | Found::Ambiguous(_) | Found::Unreadable => None,
            })
            .collect()
    }

    /// The channels that are scanned while the knob is on one.
    pub fn scanned_at(self, channel: EntityId) -> Vec<EntityId> {
        let Some(it) = self.get::<channel::Table>(channel) else { return Vec::new() };
        let Known::Is(list) = self.named::<scan_list::Table, _>(it, channel::scan_list) else { return Vec::new() };
        match self.named_members(list) {
            Known::Is(mut members) => {
                members.retain(|member| *member != channel);
                members
            }
            Known::Absent | Known::Unreadable => Vec::new(),
        }
    }
}

fn is_to_one(emission: &Emission) -> bool {
    matches!(called_by(emission), Some(Called::Unit(_)))
}

/// The unit that an individual call is for.
fn called_unit(emission: &Emission) -> Option<i64> {
    match called_by(emission) {
        Some(Called::Unit(unit)) => Some(unit),
        Some(Called::Group(_) | Called::All) | None => None,
    }
}

fn called_by(emission: &Emission) -> Option<Called> {
    match emission.signal {
        Signal::Digital(digital) => Some(digital.called),
        Signal::Analog(_) => None,
    }
}
