//! The radios of the plans, in classes, and which of them can listen to a channel.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use guywire_text::FileId;
use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use super::{Post, Role, Status, Suppose};
use crate::entity::EntityId;
use crate::language::{radio, zone};
use crate::value::Known;
use crate::view::{Ref, View};

/// Radios that are alike in all that matters to hearing, but for their unit ids.
#[derive(Debug, Clone, PartialEq)]
pub struct Class {
    /// Its number among the classes that were made out, those of one plan together.
    pub number: usize,
    /// The plan that they belong to.
    pub viewer: FileId,
    /// Where they are and what they hold.
    pub post: Post,
    /// The radios, in the order of the plan.
    pub radios: Rc<[EntityId]>,
}

/// The radios of every plan, made out where they are asked for. Classes are numbered through in that order.
pub(super) struct Fleets {
    plans: Vec<FileId>,
    by_plan: FxHashMap<FileId, usize>,
    fleets: Vec<OnceCell<Fleet>>,
    /// The plan of each class, and its number there.
    classes: RefCell<Vec<(usize, usize)>>,
}

/// The radios of one plan.
pub(super) struct Fleet {
    pub plan: FileId,
    /// The number of the first class.
    pub first: usize,
    pub classes: Vec<Rc<Class>>,
    /// Made out where a transmission comes near.
    listening: OnceCell<Listening>,
}

/// Classes, as numbered within the fleet, with how they listen to a channel; each once, in order.
pub(super) type Roles = Rc<[(usize, Role)]>;

/// Which classes hold what.
#[derive(Default)]
struct Listening {
    /// Those that hold a zone.
    holders: FxHashMap<EntityId, SmallVec<[usize; 4]>>,
    /// Those that stand by on a channel.
    at_home: FxHashMap<EntityId, SmallVec<[usize; 4]>>,
    /// What came of it, by channel.
    roles: RefCell<FxHashMap<EntityId, Roles>>,
}

impl Fleets {
    /// Of all plans of a database, none made out.
    pub fn new(view: View<'_>) -> Self {
        let mut plans: Vec<FileId> = view.db.file_ids().filter(|file| view.db.is_plan(*file)).collect();
        plans.sort_by(|a, b| view.path(*a).cmp(view.path(*b)));
        let by_plan = plans.iter().enumerate().map(|(at, plan)| (*plan, at)).collect();
        let fleets = plans.iter().map(|_| OnceCell::new()).collect();
        Fleets { plans, by_plan, fleets, classes: RefCell::default() }
    }

    /// The plans, in order of path.
    pub fn plans(&self) -> &[FileId] {
        &self.plans
    }

    /// The radios of a plan; none where it is no plan.
    pub fn of(&self, view: View<'_>) -> Option<&Fleet> {
        let at = *self.by_plan.get(&view.viewer())?;
        Some(self.fleets[at].get_or_init(|| {
            let mut known = self.classes.borrow_mut();
            let first = known.len();
            let classes = classes(view, first);
            known.extend((0..classes.len()).map(|number| (at, number)));
            Fleet { plan: view.viewer(), first, classes, listening: OnceCell::new() }
        }))
    }

    /// The classes of some numbers, each with its fleet and its number there; in the order of the plans, each once.
    pub fn in_order(&self, numbers: impl Iterator<Item = usize>) -> Vec<(&Fleet, usize)> {
        let known = self.classes.borrow();
        let mut places: Vec<(usize, usize)> = numbers.filter_map(|number| known.get(number).copied()).collect();
        places.sort_unstable();
        places.dedup();
        places.into_iter().filter_map(|(at, number)| Some((self.fleets[at].get()?, number))).collect()
    }
}

impl Fleet {
    /// Who listens to a channel.
    pub fn roles(&self, view: View<'_>, channel: EntityId) -> Roles {
        let listening = self.listening.get_or_init(|| Listening::of(&self.classes));
        listening.roles.borrow_mut().entry(channel).or_insert_with(|| listening.look(view, channel)).clone()
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

impl Listening {
    fn of(classes: &[Rc<Class>]) -> Self {
        let mut listening = Listening::default();
        for (number, Class { post, .. }) in classes.iter().map(|class| &**class).enumerate() {
            if post.status == Known::Is(Status::Away) {
                continue;
            }
            if let Known::Is(zones) = &post.zones {
                zones.iter().for_each(|zone| listening.holders.entry(*zone).or_default().push(number));
            }
            if post.status != Known::Is(Status::Spare)
                && let Known::Is(home) = post.stands_by
            {
                listening.at_home.entry(home).or_default().push(number);
            }
        }
        listening
    }

    fn look(&self, view: View<'_>, channel: EntityId) -> Roles {
        let zones = view.referrers::<zone::Table>(channel);
        let held = zones.iter().filter_map(|zone| self.holders.get(&zone.id())).flatten();
        let homes = view.ear(channel).into_iter().flat_map(|ear| ear.homes.iter());
        let attending = homes.filter_map(|(home, role)| Some((self.at_home.get(home)?, *role)));
        let attending = attending.flat_map(|(classes, role)| classes.iter().map(move |class| (*class, role)));
        let mut roles: Vec<(usize, Role)> = held.map(|class| (*class, Role::OnKnob)).chain(attending).collect();
        // The best role of each class comes first.
        roles.sort_unstable();
        roles.dedup_by_key(|(class, _)| *class);
        roles.into()
    }
}
