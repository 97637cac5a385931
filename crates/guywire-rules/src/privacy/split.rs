//! Channels of one talkgroup on one frequency that send with different keys, where the radios of the one do not understand
//! the other.

use guywire_plan::audience::{Key, Noise, Outcome, Reason, receive};
use guywire_plan::language::{channel, key};
use guywire_plan::{EntityId, Known, Ref, Row, Target, View};

/// How two keys differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// They are of different algorithms.
    Algorithm,
    /// One takes over from the other.
    Rollover,
}

/// Another channel whose calls the radios of a channel do not understand.
pub(crate) struct Split<'v> {
    pub id: EntityId,
    pub channel: &'v str,
    /// The key of the channel that is looked at.
    pub own: &'v str,
    /// The key of the other one.
    pub other: &'v str,
}

/// The channels that a channel is split from in a way, by name.
pub(crate) fn splits<'v>(view: View<'v>, it: Ref<'v, channel::Table>, kind: Kind) -> Vec<Split<'v>> {
    if !it.has(channel::privacy) {
        return Vec::new();
    }
    let Some(air) = view.air(it.id()) else { return Vec::new() };
    let (Known::Is(own), Known::Is(Target::Talkgroup(group))) = (air.key, view.target(it)) else { return Vec::new() };
    let mut splits: Vec<Split<'v>> = Vec::new();
    for other in view.referrers::<channel::Table>(group.id()) {
        let Some(there) = view.air(other.id()).filter(|there| other.id() != it.id() && there.rx == air.rx) else {
            continue;
        };
        let Known::Is(theirs) = there.key else { continue };
        if differ(view, own, theirs) != Some(kind) || there.call != air.call || understands(view, it, other) {
            continue;
        }
        let names = (view.name_of(other.id()), view.name_of(own.material.entity), view.name_of(theirs.material.entity));
        if let (Some(channel), Some(own), Some(theirs)) = names {
            splits.push(Split { id: other.id(), channel, own, other: theirs });
        }
    }
    splits.sort_by_key(|split| split.channel);
    splits
}

fn differ(view: View<'_>, own: Key, theirs: Key) -> Option<Kind> {
    let (a, b) = (own.material.entity, theirs.material.entity);
    if a == b {
        return None;
    }
    let replaces = |new: EntityId, old: EntityId| {
        let named = view.get::<key::Table>(new).map(|new| new.text(key::replaces));
        matches!((named, view.name_symbol(old)), (Some(Known::Is(named)), Known::Is(name)) if named == name)
    };
    if replaces(a, b) || replaces(b, a) {
        return Some(Kind::Rollover);
    }
    (own.algorithm.is_some() && theirs.algorithm.is_some() && own.algorithm != theirs.algorithm)
        .then_some(Kind::Algorithm)
}

/// Whether some radio that has a channel on its knob understands what another channel sends; so too where that is not known
/// or where it fails for another reason than the key.
fn understands(view: View<'_>, it: Ref<'_, channel::Table>, other: Ref<'_, channel::Table>) -> bool {
    let Some(air) = view.air(it.id()) else { return true };
    let Some(Ok(sent)) = view.air(other.id()).map(|there| there.push_to_talk()) else { return true };
    let rays = view.rays(&sent);
    let holders = view.holders(it.id());
    if holders.is_empty() {
        return true;
    }
    holders.into_iter().any(|radio| {
        let Some(post) = view.post(radio) else { return true };
        let outcomes = rays.rays.iter().map(|ray| receive(&ray.emission, air, &post.gear, false));
        let best = outcomes.max_by_key(|outcome| outcome.depth());
        !matches!(best, Some(Outcome::No(Reason::Key | Reason::Clear) | Outcome::Noise(Noise::OtherMaterial)))
    })
}
