//! The radios of the plans, in classes, and which of them can listen to a channel.

use std::cell::OnceCell;
use std::rc::Rc;

use guywire_text::FileId;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use super::{Post, Role, Status, Suppose};
use crate::entity::EntityId;
use crate::language::radio;
use crate::value::Known;
use crate::view::{Ref, View};

/// Radios that are alike in all that matters to hearing, but for their unit ids.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// Its number among the classes of all plans, those of the first plan by path first.
    pub number: usize,
    /// The plan that they belong to.
    pub viewer: FileId,
    /// Where they are and what they hold.
    pub post: Post,
    /// The radios, in the order of the plan.
    pub radios: Rc<[EntityId]>,
}

/// The radios of every plan. Classes are numbered through, plan after plan.
pub(super) struct Fleets {
    pub of_plans: Vec<Fleet>,
    by_plan: FxHashMap<FileId, usize>,
    /// Some radio is in several plans.
    pub shares: bool,
}

/// The radios of one plan.
pub(super) struct Fleet {
    pub plan: FileId,
    /// The number of the first class.
    pub first: usize,
    pub classes: Vec<Rc<Class>>,
    /// Who listens to a channel and how; made out where a transmission comes near.
    listeners: OnceCell<FxHashMap<EntityId, Listeners>>,
}

/// Who listens to a channel of a plan.
#[derive(Default)]
pub(super) struct Listeners {
    /// The place of the channel among those of the plan that anybody listens to.
    pub place: usize,
    /// By class, as numbered within the fleet.
    pub roles: SmallVec<[(usize, Role); 2]>,
}

impl Fleets {
    pub fn new(view: View<'_>, plans: &[FileId]) -> Self {
        let mut fleets = Fleets { of_plans: Vec::new(), by_plan: FxHashMap::default(), shares: false };
        let mut first = 0;
        for plan in plans {
            let classes = classes(view.at(*plan), first);
            fleets.by_plan.insert(*plan, fleets.of_plans.len());
            let count = classes.len();
            fleets.of_plans.push(Fleet { plan: *plan, first, classes, listeners: OnceCell::new() });
            first += count;
        }
        let mut met: FxHashSet<EntityId> = FxHashSet::default();
        let mut radios = fleets.of_plans.iter().flat_map(|fleet| &fleet.classes).flat_map(|class| class.radios.iter());
        fleets.shares = radios.any(|radio| !met.insert(*radio));
        fleets
    }

    pub fn of(&self, plan: FileId) -> Option<&Fleet> {
        self.by_plan.get(&plan).map(|at| &self.of_plans[*at])
    }

    /// The fleet of the class of a number, and its number within that.
    pub fn class(&self, number: usize) -> (&Fleet, usize) {
        let after = self.of_plans.partition_point(|fleet| fleet.first <= number);
        let fleet = &self.of_plans[after.saturating_sub(1)];
        (fleet, number - fleet.first)
    }

    /// How many classes there are.
    pub fn count(&self) -> usize {
        self.of_plans.last().map_or(0, |fleet| fleet.first + fleet.classes.len())
    }
}

impl Fleet {
    pub fn listeners(&self, view: View<'_>) -> &FxHashMap<EntityId, Listeners> {
        self.listeners.get_or_init(|| listeners(view, &self.classes))
    }

    /// The classes that would scan a channel too.
    pub fn supposed_to_scan(&self, channel: EntityId, suppose: &Suppose) -> Vec<usize> {
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

/// The classes of a plan, in the order in which their first radio stands, numbered from `first`.
fn classes(view: View<'_>, first: usize) -> Vec<Rc<Class>> {
    let mut radios: Vec<EntityId> = view.all::<radio::Table>().iter().map(Ref::id).collect();
    view.sort(&mut radios);
    let mut by_post: FxHashMap<&Post, usize> = FxHashMap::default();
    let mut found: Vec<(&Post, Vec<EntityId>)> = Vec::new();
    for id in radios {
        let Some(post) = view.post(id) else { continue };
        let number = *by_post.entry(post).or_insert_with(|| {
            found.push((post, Vec::new()));
            found.len() - 1
        });
        found[number].1.push(id);
    }
    let class = |(at, (post, radios)): (usize, (&Post, Vec<EntityId>))| Class {
        number: first + at,
        viewer: view.viewer(),
        post: post.clone(),
        radios: radios.into(),
    };
    found.into_iter().enumerate().map(class).map(Rc::new).collect()
}

fn listeners(view: View<'_>, classes: &[Rc<Class>]) -> FxHashMap<EntityId, Listeners> {
    let mut found: FxHashMap<EntityId, Listeners> = FxHashMap::default();
    let mut zones: FxHashMap<EntityId, Rc<[EntityId]>> = FxHashMap::default();
    for (number, class) in classes.iter().enumerate() {
        each_position(view, class, &mut zones, |channel, role| {
            // The classes come one after the other: one that is there already is the last.
            let roles = &mut found.entry(channel).or_default().roles;
            match roles.last_mut() {
                Some((last, best)) if *last == number => *best = (*best).min(role),
                _ => roles.push((number, role)),
            }
        });
    }
    let mut channels: Vec<EntityId> = found.keys().copied().collect();
    view.sort(&mut channels);
    for (place, channel) in channels.iter().enumerate() {
        found.entry(*channel).or_default().place = place;
    }
    found
}

/// Calls `visit` for the channels that the radios of a class listen to, or could be tuned to.
fn each_position(
    view: View<'_>,
    class: &Class,
    zones: &mut FxHashMap<EntityId, Rc<[EntityId]>>,
    mut visit: impl FnMut(EntityId, Role),
) {
    if class.post.status == Known::Is(Status::Away) {
        return;
    }
    if let Known::Is(held) = &class.post.zones {
        for zone in held.iter() {
            let channels = zones.entry(*zone).or_insert_with(|| view.zone_channels(*zone).into());
            channels.iter().for_each(|channel| visit(*channel, Role::OnKnob));
        }
    }
    if class.post.status != Known::Is(Status::Spare)
        && let Known::Is(home) = class.post.stands_by
    {
        visit(home, Role::StandsBy);
        view.scanned_at(home).into_iter().for_each(|channel| visit(channel, Role::Scans));
    }
}
