//! What the rules that ask for the audience share: who listens, and the nearest miss in words.

use std::ops::ControlFlow;

use guywire_plan::audience::{Listener, Outcome, Rays, Role};
use guywire_plan::language::{channel, station};
use guywire_plan::{Bucket, EntityId, Known, Ref, Row, Stored, View};

/// Who listens to a transmission without turning the knob.
pub(crate) struct Heard {
    /// Up to two radios that hear it.
    pub radios: Vec<EntityId>,
    /// Something that cannot be read might hear it.
    pub may_be: bool,
}

/// Follows a transmission until two radios are found that hear it: then, whoever sends, another one does.
pub(crate) fn heard(view: View<'_>, rays: &Rays, first: EntityId) -> Heard {
    let mut heard = Heard { radios: Vec::new(), may_be: false };
    let _ = view.each_listener(rays, Some(first), &mut |listener| {
        match listener.outcome {
            Outcome::Heard => {
                let new = listener.radio.filter(|radio| !heard.radios.contains(radio));
                heard.radios.extend(new);
            }
            Outcome::Unknown => heard.may_be = true,
            Outcome::Noise(_) | Outcome::No(_) => {}
        }
        if heard.radios.len() >= 2 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    if heard.radios.len() < 2 && view.is_any(Bucket::ListensUnread) {
        heard.may_be = true;
    }
    heard
}

/// Whether a station of this plan listens to what is sent on a channel: to the table that it calls, or to the channel.
pub(crate) fn station_listens(view: View<'_>, channel: Ref<'_, channel::Table>) -> bool {
    let called = match view.own_target(channel) {
        Known::Is(guywire_plan::Target::Talkgroup(group)) => Some(group.id()),
        Known::Is(guywire_plan::Target::Contact(contact)) => Some(contact.id()),
        _ => None,
    };
    called.into_iter().chain([channel.id()]).any(|it| listens_to(view, it))
}

/// Whether a station of this plan is written to listen to a channel or talkgroup.
pub(crate) fn listens_to(view: View<'_>, named: EntityId) -> bool {
    view.referrers::<station::Table>(named).iter().any(|station| is_in(view, *station, named))
}

/// Whether a station lists a channel or talkgroup among what it hears. A list that cannot be read may.
pub(crate) fn is_in(view: View<'_>, station: Ref<'_, station::Table>, named: EntityId) -> bool {
    match station.list(station::hears) {
        Known::Is(elements) => {
            let name = view.name_symbol(named).value();
            elements.iter().any(|element| match element.value {
                Stored::Text(held) => Some(held) == name,
                _ => true,
            })
        }
        Known::Absent => false,
        Known::Unreadable => true,
    }
}

/// Those who listen near a call and miss it.
pub(crate) fn misses(view: View<'_>, rays: &Rays) -> Vec<Listener> {
    let mut misses = Vec::new();
    view.each_nearby(rays, &mut |listener| {
        if matches!(listener.outcome, Outcome::Noise(_) | Outcome::No(_)) {
            misses.push(listener);
        }
    });
    misses
}

/// The nearest of those who miss a call, as the end of a sentence; nothing where nobody listens near the frequency.
pub(crate) fn nearest_miss(view: View<'_>, misses: &[Listener]) -> Option<String> {
    let named = misses.iter().filter_map(|miss| {
        let radio = miss.radio.and_then(|radio| view.name_of(radio));
        let channel = view.name_of(miss.channel)?;
        Some((std::cmp::Reverse(miss.outcome.depth()), miss.role, channel, radio, miss.outcome.words()?))
    });
    let (_, role, channel, radio, why) = named.min()?;
    let way = match role {
        Role::StandsBy | Role::OnKnob => "stands by on",
        Role::Scans => "scans",
    };
    Some(match radio {
        Some(radio) => format!("\"{radio}\" {way} \"{channel}\" and {why}"),
        None => format!("who {way} \"{channel}\" {why}"),
    })
}

/// The carrier and what is on it, for messages.
pub(crate) fn carriers(rays: &Rays) -> String {
    let mut carriers: Vec<String> = rays.rays.iter().map(|ray| ray.emission.carrier.mhz_text()).collect();
    carriers.sort();
    carriers.dedup();
    carriers.join(" and ")
}
