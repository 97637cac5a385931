//! Where a radio normally is, what it scans and what it holds.

use std::sync::Arc;

use guywire_radio::Hertz;
use smallvec::SmallVec;

use super::stance::stance;
use super::{Air, Emission, Key, Listens, Mode, Signal, Stance, Sync};
use crate::entity::EntityId;
use crate::fact::Bucket;
use crate::language::{channel, key, model, profile, radio, radio__stands_by, scan_list, zone};
use crate::value::{Known, Row, Stored};
use crate::view::{Found, Ref, View};

/// Whether a radio is in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Status {
    /// In somebody's hands.
    Issued,
    /// On a shelf: it hears nothing, and could be tuned.
    Spare,
    /// Lost or retired: it neither sends nor hears.
    Away,
}

/// How a radio comes to listen to a channel, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// It stands by there.
    StandsBy,
    /// It is a member of the scan list of where it stands by.
    Scans,
    /// It is on a position of its knob.
    OnKnob,
}

/// A radio as far as it matters to what it sends and hears; radios of equal posts are alike but for their unit ids.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Post {
    /// Whether it is in use.
    pub status: Known<Status>,
    /// Its model; none where none is named or it cannot be read.
    pub model: Option<EntityId>,
    /// Its zones.
    pub zones: Known<Arc<[EntityId]>>,
    /// The keys loaded into it; absent: nothing is written of them.
    pub keys: Known<Arc<[EntityId]>>,
    /// The channel where it normally is.
    pub stands_by: Known<EntityId>,
    /// What it decides itself when a call comes in.
    pub gear: Arc<Gear>,
}

/// What the radio itself decides when a call comes in.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Gear {
    /// The channel's own talkgroup is heard without being in the receive group. Not written: it is.
    pub hears_own_talkgroup: Known<bool>,
    /// A repeater channel also hears radios that send direct. Not written: it does.
    pub hears_direct: Known<bool>,
    /// It tries every key that it holds, not the channel's only. Not written: it does.
    pub any_held: Known<bool>,
    /// The keys that it holds; absent: those of its channels.
    pub keys: Known<Arc<[Key]>>,
}

/// Whether anybody listens to a channel without turning the knob: whether some radio in use stands by there, or scans it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ear {
    /// The channels that some radio stands by on and from which it listens to this one: this one, or those whose scan list
    /// has it. In no order.
    pub homes: Arc<[(EntityId, Role)]>,
    /// What it could hear, by mode, color code and slot, as small numbers.
    pub keys: SmallVec<[u8; 2]>,
    /// What it receives; absent where nobody listens.
    pub rx: Known<Hertz>,
    /// How it hears and answers, where some radio stands by on it; none where it sends announcements only.
    pub stance: Option<Arc<Stance>>,
}

impl Gear {
    /// A radio of which nothing is written.
    pub const UNWRITTEN: Gear = Gear {
        hears_own_talkgroup: Known::Is(true),
        hears_direct: Known::Is(true),
        any_held: Known::Is(true),
        keys: Known::Absent,
    };

    /// The keys that are tried on a channel; none where that cannot be read.
    pub(super) fn keys_for(&self, air: &Air) -> Option<SmallVec<[Key; 4]>> {
        let of_channel = || -> Option<SmallVec<[Key; 4]>> {
            let own = match air.key {
                Known::Is(key) => Some(key),
                Known::Absent => None,
                Known::Unreadable => return None,
            };
            let Known::Is(more) = &air.receive_keys else { return None };
            Some(own.into_iter().chain(more.iter().copied()).collect())
        };
        match &self.keys {
            Known::Unreadable => None,
            Known::Absent => of_channel(),
            Known::Is(held) if self.any_held.value()? => Some(SmallVec::from_slice(held)),
            Known::Is(held) => {
                let mut keys = of_channel()?;
                keys.retain(|key| held.iter().any(|held| held.material.entity == key.material.entity));
                Some(keys)
            }
        }
    }
}

/// The first channel of a zone.
pub(crate) fn home(view: View<'_>, it: Ref<'_, zone::Table>) -> Known<EntityId> {
    let elements = match it.list(zone::channels) {
        Known::Is(elements) => elements,
        Known::Absent => return Known::Absent,
        Known::Unreadable => return Known::Unreadable,
    };
    for element in elements {
        let Stored::Text(name) = element.value else { return Known::Unreadable };
        if view.symbol(name).is_empty() {
            continue;
        }
        return match view.find::<channel::Table>(it.id(), name) {
            Found::One(found) => Known::Is(found.id()),
            Found::Missing | Found::Ambiguous(_) | Found::Unreadable => Known::Unreadable,
        };
    }
    Known::Absent
}

/// Computes where a radio normally is.
pub(crate) fn post(view: View<'_>, it: Ref<'_, radio::Table>) -> Post {
    let profile = view.named::<profile::Table, _>(it, radio::profile);
    let status = match it.text(radio::status).map(|word| view.symbol(word)) {
        Known::Is("spare") => Known::Is(Status::Spare),
        Known::Is("lost" | "retired") => Known::Is(Status::Away),
        Known::Is(_) | Known::Absent => Known::Is(Status::Issued),
        Known::Unreadable => Known::Unreadable,
    };
    let own = view.named_all::<zone::Table, _>(it, radio::zones);
    let own = own.map(|zones| zones.iter().map(Ref::id).collect::<Arc<[EntityId]>>());
    let zones = either(profile, own, |profile| view.profile_zones(profile.id()));
    let keys = either(profile, view.named_all::<key::Table, _>(it, radio::keys), |profile| {
        view.named_all::<key::Table, _>(profile, profile::keys)
    });
    let model = view.radio_model(it);
    Post {
        status,
        gear: Arc::new(gear(view, model, &keys)),
        model: model.map(|model| model.id()),
        stands_by: stands_by(view, it, &zones),
        zones,
        keys: keys.map(|keys| keys.iter().map(Ref::id).collect()),
    }
}

/// What a radio says, else what its profile says.
fn either<'v, T>(
    profile: Known<Ref<'v, profile::Table>>,
    own: Known<T>,
    of_profile: impl FnOnce(Ref<'v, profile::Table>) -> Known<T>,
) -> Known<T> {
    own.or(match profile {
        Known::Is(profile) => of_profile(profile),
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    })
}

fn stands_by(view: View<'_>, it: Ref<'_, radio::Table>, zones: &Known<Arc<[EntityId]>>) -> Known<EntityId> {
    let first = || match zones {
        Known::Is(zones) => zones.first().map_or(Known::Absent, |zone| view.home(*zone)),
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    };
    let place = match view.known(it.id(), radio::stands_by) {
        Known::Is(Stored::Part(record)) => crate::value::Part::<radio__stands_by::Table>::new(record),
        Known::Absent => return first(),
        _ => return Known::Unreadable,
    };
    let found = |name| match view.find::<channel::Table>(it.id(), name) {
        Found::One(found) => Known::Is(found.id()),
        Found::Missing | Found::Ambiguous(_) | Found::Unreadable => Known::Unreadable,
    };
    match (place.text(radio__stands_by::channel), place.text(radio__stands_by::zone)) {
        (Known::Is(name), _) => found(name),
        (Known::Unreadable, _) | (_, Known::Unreadable) => Known::Unreadable,
        (Known::Absent, Known::Absent) => first(),
        (Known::Absent, Known::Is(name)) => match view.find::<zone::Table>(it.id(), name) {
            Found::One(zone) => view.home(zone.id()),
            Found::Missing | Found::Ambiguous(_) | Found::Unreadable => Known::Unreadable,
        },
    }
}

/// Computes whether anybody listens to a channel.
pub(crate) fn ear(view: View<'_>, it: Ref<'_, channel::Table>) -> Ear {
    let viewer = view.viewer();
    let is_stood_by = |channel: EntityId| view.is_any(Bucket::StandsOn(viewer, channel));
    let own = is_stood_by(it.id()).then_some((it.id(), Role::StandsBy));
    let from = view.scanned_from(it.id()).into_iter().filter(|from| *from != it.id() && is_stood_by(*from));
    let homes: Arc<[(EntityId, Role)]> = own.into_iter().chain(from.map(|from| (from, Role::Scans))).collect();
    // What nobody listens to need not be known further.
    if homes.is_empty() {
        return Ear { homes, keys: SmallVec::new(), rx: Known::Absent, stance: None };
    }
    match view.air(it.id()) {
        Some(air) => {
            let stance = own.and_then(|_| stance(view, it, air));
            Ear { homes, keys: keys_of(air), rx: air.rx, stance }
        }
        None => Ear { homes, keys: SmallVec::new(), rx: Known::Unreadable, stance: None },
    }
}

/// The key of analog.
const ANALOG: u8 = 60;
/// The key of what cannot be read, or is not written.
const UNKNOWN: u8 = 61;

/// Three for each color code: either slot, slot 1, slot 2.
fn digital_key(color_code: i64, slot: i64) -> u8 {
    u8::try_from(color_code * 3 + slot).ok().filter(|key| *key < ANALOG).unwrap_or(UNKNOWN)
}

/// What a channel could hear.
fn keys_of(air: &Air) -> SmallVec<[u8; 2]> {
    let Known::Is(modes) = &air.receives else { return SmallVec::from_slice(&[UNKNOWN]) };
    let digital = match (air.color_code, air.listens, air.slot) {
        (Known::Is(code), Known::Is(Listens::BothSlots), _) => digital_key(code, 0),
        (Known::Is(code), Known::Is(_), Known::Is(slot)) if !air.is_simplex() => digital_key(code, slot),
        (Known::Is(code), Known::Is(_), _) => digital_key(code, 0),
        _ => UNKNOWN,
    };
    modes.iter().map(|mode| if *mode == Mode::Analog { ANALOG } else { digital }).collect()
}

/// The keys of channels that could hear an emission; what any other makes of it is no hearing.
pub(super) fn keys_for(emission: &Emission) -> SmallVec<[u8; 8]> {
    let mut keys = SmallVec::from_slice(&[UNKNOWN]);
    let Signal::Digital(digital) = emission.signal else {
        keys.push(ANALOG);
        return keys;
    };
    // 15 may match any.
    let codes = if digital.color_code == 15 { 0..=15 } else { digital.color_code..=digital.color_code };
    let codes = codes.chain((digital.color_code != 15).then_some(15));
    for code in codes {
        match digital.slot.filter(|_| digital.sync != Sync::Mobile) {
            Some(slot) => keys.extend([digital_key(code, 0), digital_key(code, slot)]),
            None => keys.extend([0, 1, 2].map(|slot| digital_key(code, slot))),
        }
    }
    keys
}

/// What a radio decides itself: by its model, and by the keys that it holds.
fn gear<'v>(view: View<'v>, model: Option<Ref<'v, model::Table>>, keys: &Known<Vec<Ref<'v, key::Table>>>) -> Gear {
    let keys = match keys {
        Known::Is(keys) => view.air_keys(keys),
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    };
    let Some(model) = model else { return Gear { keys, ..Gear::UNWRITTEN } };
    Gear {
        hears_own_talkgroup: model.truth(model::hears_own_talkgroup).or_value(true),
        hears_direct: model.truth(model::hears_direct_on_repeater_channel).or_value(true),
        any_held: model.text(model::decrypts_with).map(|word| view.symbol(word) != "channel-key").or_value(true),
        keys,
    }
}

impl<'v> View<'v> {
    /// The channels from which this one is scanned: those whose scan list has it.
    pub fn scanned_from(self, channel: EntityId) -> Vec<EntityId> {
        let name = self.name_symbol(channel).value();
        // A list may name the channel as the one to answer on only.
        let has = |list: &Ref<'v, scan_list::Table>| match list.list(scan_list::channels) {
            Known::Is(elements) => {
                elements.iter().any(|it| matches!(it.value, Stored::Text(held) if Some(held) == name))
            }
            Known::Absent | Known::Unreadable => false,
        };
        let lists = self.referrers::<scan_list::Table>(channel).into_iter().filter(has);
        lists.flat_map(|list| self.referrers::<channel::Table>(list.id())).map(|from| from.id()).collect()
    }

    /// The members of a scan list that are written by name.
    pub fn named_members(self, list: Ref<'v, scan_list::Table>) -> Known<Vec<EntityId>> {
        let elements = match list.list(scan_list::channels) {
            Known::Is(elements) => elements,
            Known::Absent => return Known::Is(Vec::new()),
            Known::Unreadable => return Known::Unreadable,
        };
        let mut members = Vec::new();
        for element in elements {
            let Stored::Text(name) = element.value else { return Known::Unreadable };
            if self.symbol(name) == "selected" {
                continue;
            }
            match self.find::<channel::Table>(list.id(), name) {
                Found::One(found) => members.push(found.id()),
                Found::Missing | Found::Ambiguous(_) | Found::Unreadable => return Known::Unreadable,
            }
        }
        Known::Is(members)
    }
}
