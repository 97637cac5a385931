//! The view of what the rules about slots, groups, units and keys share: all tables of a kind, what a slot carries, what
//! a radio is.

use std::rc::Rc;

use guywire_text::FileId;

use crate::bag::Bag;
use crate::entity::EntityId;
use crate::fact::Fact;
use crate::language::{
    Field, Kind, Tabled, channel, contact, model, network, network__wide, plan, profile, radio, radio__ids, repeater,
    repeater__slot, talkgroup,
};
use crate::symbol::Symbol;
use crate::value::{Element, FieldPath, Known, Part, Row, Stored};
use crate::view::{Found, FoundAny, Ref, View};

/// What one slot of a repeater is written to carry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carried {
    /// Its talkgroups, each once for every time that it is written, with the place in the repeater's table.
    pub listed: Vec<(EntityId, FieldPath)>,
    /// It refuses every other talkgroup.
    pub only_listed: bool,
    /// The key of the slot.
    pub at: FieldPath,
}

impl Carried {
    /// Whether a talkgroup is written there.
    pub fn lists(&self, talkgroup: EntityId) -> bool {
        self.listed.iter().any(|(listed, _)| *listed == talkgroup)
    }
}

/// What a slot carries.
#[derive(Clone)]
struct CarriedOn<const SLOT: u8>(Known<Rc<Carried>>);

#[derive(Clone, Copy)]
struct OwnTarget(Known<EntityId>);

/// What push-to-talk calls.
#[derive(Clone, Copy)]
pub enum Target<'v> {
    /// A group.
    Talkgroup(Ref<'v, talkgroup::Table>),
    /// A unit, or all of them.
    Contact(Ref<'v, contact::Table>),
}

impl<'v> View<'v> {
    /// Every table of a kind that this plan sees, in no order. For kinds of which a plan has few: each look at one is kept.
    pub fn all<T: Tabled>(self) -> Vec<Ref<'v, T>> {
        self.lookup_files(self.viewer).flat_map(|file| self.members(file)).collect()
    }

    /// The tables of [`View::all`], one after another: for those who look no further than the first that will do.
    pub fn each<T: Tabled>(self) -> impl Iterator<Item = Ref<'v, T>> {
        let files = self.lookup_files(self.viewer);
        let ids = files.flat_map(move |file| {
            self.reads.fact(Fact::Count(file, T::KIND));
            self.db.index.members(file, T::KIND).into_iter().flat_map(Bag::iter)
        });
        ids.filter_map(move |id| self.get(id))
    }

    /// Every table of a kind that a name used in `file` may mean, the file's own first, then those of the files that this
    /// plan sees; in no order within a file.
    pub fn nameable(self, file: FileId, kind: Kind) -> Vec<EntityId> {
        self.lookup_files(file).flat_map(|seen| self.tables_in(seen, kind)).collect()
    }

    /// The files whose names may be used in `file`: its own, then those that this plan sees.
    pub fn names_seen_from(self, file: FileId) -> impl Iterator<Item = FileId> + 'v {
        self.lookup_files(file)
    }

    /// How many tables of a kind there are in a file.
    pub fn count_in(self, file: FileId, kind: Kind) -> usize {
        self.reads.fact(Fact::Count(file, kind));
        self.db.index.count(file, kind)
    }

    /// Every table of a kind in a file, in no order.
    pub fn tables_in(self, file: FileId, kind: Kind) -> Vec<EntityId> {
        self.reads.fact(Fact::Count(file, kind));
        self.db.index.members(file, kind).into_iter().flat_map(Bag::iter).collect()
    }

    /// Whether this plan sees something unreadable that might be a table of this kind with another name.
    pub fn may_hide<T: Tabled>(self) -> bool {
        self.lookup_files(self.viewer).any(|file| self.name_gap(file, T::KIND))
    }

    /// The one table that a key of `from` names. Unreadable where the name leads to none or to several.
    pub fn named<T: Tabled, F: Tabled>(self, from: Ref<'v, F>, field: Field<F>) -> Known<Ref<'v, T>> {
        match from.text(field) {
            Known::Is(name) => self.found(from.id(), name),
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        }
    }

    fn found<T: Tabled>(self, from: EntityId, name: Symbol) -> Known<Ref<'v, T>> {
        match self.find(from, name) {
            Found::One(found) => Known::Is(found),
            Found::Missing | Found::Ambiguous(_) | Found::Unreadable => Known::Unreadable,
        }
    }

    /// The tables that a list of names in `from` leads to. Unreadable where one of them leads to none or to several.
    pub fn named_all<T: Tabled, F: Tabled>(self, from: Ref<'v, F>, field: Field<F>) -> Known<Vec<Ref<'v, T>>> {
        match from.list(field) {
            Known::Is(elements) => {
                let found = elements.iter().map(|element| match element.value {
                    Stored::Text(name) => self.found(from.id(), name).value(),
                    _ => None,
                });
                found.collect::<Option<Vec<_>>>().map_or(Known::Unreadable, Known::Is)
            }
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        }
    }

    /// The other tables of the same kind and name that this plan sees, whichever file they stand in, in order of path and
    /// place.
    pub fn of_the_same_name(self, id: EntityId) -> Vec<EntityId> {
        let (Some(entity), Known::Is(name)) = (self.db.entity(id), self.name_symbol(id)) else { return Vec::new() };
        let mut others: Vec<EntityId> = Vec::new();
        for file in self.lookup_files(entity.file) {
            self.reads.fact(Fact::Name(file, entity.kind, name));
            others.extend(self.db.named(file, entity.kind, name).iter().filter(|other| **other != id));
        }
        self.sort(&mut others);
        others
    }

    // ---- channels and repeaters -----------------------------------------------------------------

    /// The repeater that a channel names. Unreadable where the name leads to none or to several.
    pub fn repeater_of(self, channel: Ref<'v, channel::Table>) -> Known<Ref<'v, repeater::Table>> {
        // Where there is no plan, nothing is computed of channels.
        let Some(effective) = self.channel(channel.id()) else { return self.named(channel, channel::repeater) };
        match channel.text(channel::repeater) {
            Known::Is(_) => effective.repeater.and_then(|id| self.get(id)).map_or(Known::Unreadable, Known::Is),
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        }
    }

    /// What push-to-talk calls on the channel that is judged: several rules ask.
    pub fn own_target(self, channel: Ref<'v, channel::Table>) -> Known<Target<'v>> {
        let made = self.once(Some(channel.id()), || {
            OwnTarget(self.target(channel).map(|target| match target {
                Target::Talkgroup(group) => group.id(),
                Target::Contact(contact) => contact.id(),
            }))
        });
        match made.0 {
            Known::Is(id) => self.target_at(id),
            Known::Absent => Known::Absent,
            Known::Unreadable => Known::Unreadable,
        }
    }

    fn target_at(self, id: EntityId) -> Known<Target<'v>> {
        let group = self.get(id).map(Target::Talkgroup);
        group.or_else(|| self.get(id).map(Target::Contact)).map_or(Known::Unreadable, Known::Is)
    }

    /// What push-to-talk calls on a channel.
    pub fn target(self, from: Ref<'v, channel::Table>) -> Known<Target<'v>> {
        let name = match from.text(channel::call) {
            Known::Is(name) => name,
            Known::Absent => return Known::Absent,
            Known::Unreadable => return Known::Unreadable,
        };
        let FoundAny::Some(found) = self.find_any(from.id(), &[talkgroup::Table::KIND, contact::Table::KIND], name)
        else {
            return Known::Unreadable;
        };
        let [only] = found.as_slice() else { return Known::Unreadable };
        self.target_at(*only)
    }

    /// What a slot (1 or 2) of a repeater is written to carry, network-wide talkgroups not counted. Absent where nothing
    /// is written of the slot's talkgroups.
    pub fn carried(self, repeater: Ref<'v, repeater::Table>, slot: i64) -> Known<Rc<Carried>> {
        let of = Some(repeater.id());
        match slot {
            1 => self.once(of, || CarriedOn::<1>(self.carried_on(repeater, 1).map(Rc::new))).0,
            _ => self.once(of, || CarriedOn::<2>(self.carried_on(repeater, 2).map(Rc::new))).0,
        }
    }

    fn carried_on(self, repeater: Ref<'v, repeater::Table>, slot: i64) -> Known<Carried> {
        let field = if slot == 1 { repeater::slot_1 } else { repeater::slot_2 };
        let at = FieldPath::key(field.number());
        let (elements, only_listed, path): (&[Element], bool, FieldPath) = match repeater.known(field) {
            Known::Is(Stored::List(elements)) => (elements, false, at),
            Known::Is(Stored::Part(record)) => {
                let part = Part::<repeater__slot::Table>::new(record);
                let only_listed = match part.truth(repeater__slot::only_listed) {
                    Known::Is(only) => only,
                    Known::Absent => false,
                    Known::Unreadable => return Known::Unreadable,
                };
                let number = repeater__slot::talkgroups.number();
                match record.known(number) {
                    Known::Is(Stored::List(elements)) => (elements, only_listed, at.then(number as usize)),
                    Known::Absent => return Known::Absent,
                    _ => return Known::Unreadable,
                }
            }
            Known::Absent => return Known::Absent,
            _ => return Known::Unreadable,
        };
        let listed = elements.iter().enumerate().map(|(number, element)| match element.value {
            Stored::Text(name) => {
                let group = self.found::<talkgroup::Table>(repeater.id(), name).value()?;
                Some((group.id(), path.then(number)))
            }
            _ => None,
        });
        match listed.collect::<Option<Vec<_>>>() {
            Some(listed) => Known::Is(Carried { listed, only_listed, at }),
            None => Known::Unreadable,
        }
    }

    /// The talkgroups that a network passes on everywhere, each with its slot (none: either) and its place in the
    /// network's table. Unreadable where one of them leads nowhere.
    pub fn wide(self, network: Ref<'v, network::Table>) -> Known<Vec<(EntityId, Option<i64>, FieldPath)>> {
        let at = FieldPath::key(network::wide.number());
        let elements = match network.list(network::wide) {
            Known::Is(elements) => elements,
            Known::Absent => return Known::Is(Vec::new()),
            Known::Unreadable => return Known::Unreadable,
        };
        let found = elements.iter().enumerate().map(|(number, element)| {
            let Stored::Part(record) = &element.value else { return None };
            let part = Part::<network__wide::Table>::new(record);
            let group = self.found::<talkgroup::Table>(network.id(), part.text(network__wide::talkgroup).value()?);
            let slot = match part.whole(network__wide::slot) {
                Known::Unreadable => return None,
                slot => slot.value(),
            };
            Some((group.value()?.id(), slot, at.then(number)))
        });
        found.collect::<Option<Vec<_>>>().map_or(Known::Unreadable, Known::Is)
    }

    /// The networks that a talkgroup is passed on in: those whose repeaters carry it, that pass it everywhere, or whose
    /// repeaters a channel calls it through. Unreadable where something on the way is.
    pub fn networks_of(self, group: EntityId) -> Known<Vec<EntityId>> {
        let mut repeaters: Vec<EntityId> = self.referrers::<repeater::Table>(group).iter().map(Ref::id).collect();
        for channel in self.referrers::<channel::Table>(group) {
            match self.repeater_of(channel) {
                Known::Is(repeater) => repeaters.push(repeater.id()),
                Known::Absent => {}
                Known::Unreadable => return Known::Unreadable,
            }
        }
        let mut networks: Vec<EntityId> = self.referrers::<network::Table>(group).iter().map(Ref::id).collect();
        for repeater in repeaters {
            networks.extend(self.referrers::<network::Table>(repeater).iter().map(Ref::id));
        }
        networks.sort_unstable_by_key(|id| (id.slot, id.generation));
        networks.dedup();
        Known::Is(networks)
    }

    // ---- radios ---------------------------------------------------------------------------------

    /// The model of a radio: its own, its profile's or the plan's.
    pub fn radio_model(self, radio: Ref<'v, radio::Table>) -> Option<Ref<'v, model::Table>> {
        let named = match radio.file(radio::model) {
            Known::Absent => match self.named::<profile::Table, _>(radio, radio::profile) {
                Known::Is(profile) => profile.file(profile::model),
                Known::Absent => Known::Absent,
                Known::Unreadable => Known::Unreadable,
            },
            named => named,
        };
        let model = match named {
            Known::Is(file) => self.main(file),
            Known::Absent => self.plan_model(),
            Known::Unreadable => None,
        };
        model.and_then(|id| self.get(id))
    }

    /// The models of the radios that hold a channel which refers to this table (a receive group, a key), in order of path.
    pub fn models_using(self, used: EntityId) -> Vec<Ref<'v, model::Table>> {
        let mut models: Vec<EntityId> = Vec::new();
        for channel in self.referrers::<channel::Table>(used) {
            models.extend(self.channel(channel.id()).iter().flat_map(|channel| channel.models.iter().copied()));
        }
        models.sort_unstable_by_key(|id| (id.slot, id.generation));
        models.dedup();
        self.sort(&mut models);
        models.into_iter().filter_map(|id| self.get(id)).collect()
    }

    /// Whether a radio is in use: not spare, lost or retired. Unreadable where its status is.
    pub fn is_in_use(self, radio: Ref<'v, radio::Table>) -> Known<bool> {
        radio.text(radio::status).map(|status| self.symbol(status) == "issued").or_value(true)
    }

    /// Whether the plan says that its radios are all there are.
    pub fn is_fleet_complete(self) -> bool {
        self.plan().is_some_and(|plan| plan.truth(plan::fleet_complete) == Known::Is(true))
    }

    /// The unit ids written in a radio, by network or not. Unreadable where one of them is.
    pub fn written_ids(self, radio: Ref<'v, radio::Table>) -> Known<Vec<i64>> {
        let mut ids = match radio.whole(radio::id) {
            Known::Is(id) => vec![id],
            Known::Absent => Vec::new(),
            Known::Unreadable => return Known::Unreadable,
        };
        match radio.part::<radio__ids::Table>(radio::ids) {
            Known::Is(part) => {
                for extra in &part.record().extras {
                    let Stored::Whole(id) = extra.value else { return Known::Unreadable };
                    ids.push(id);
                }
            }
            Known::Absent => {}
            Known::Unreadable => return Known::Unreadable,
        }
        Known::Is(ids)
    }
}
