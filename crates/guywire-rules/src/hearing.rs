//! What the rules that ask for the audience share: who listens, and the nearest miss in words.

use std::ops::ControlFlow;

use guywire_plan::audience::{Emission, Listener, Noise, Outcome, Rays, Reason, Role, Signal, WhyNotRepeated};
use guywire_plan::language::{channel, receive_group, repeater, station};
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Ref, Row, Stored, View};

use crate::finding::Anchor;

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

/// Why a call is missed.
pub(crate) struct Missed {
    /// As the end of a sentence.
    pub words: String,
    /// Where what decides is written, and what is there.
    pub place: (Anchor, String),
}

/// Why nobody hears a call: a repeater that would have passed it on and does not, else the nearest of those who miss it.
/// None where nobody listens near the frequency.
pub(crate) fn why_missed(view: View<'_>, rays: &Rays) -> Option<Missed> {
    refusal(view, rays).or_else(|| nearest_miss(view, &misses(view, rays)))
}

/// Why a call that no repeater passes on is not passed on: the first by name of those on its frequency.
pub(crate) fn refusal(view: View<'_>, rays: &Rays) -> Option<Missed> {
    let refused = rays.refused.iter().filter_map(|refused| Some((view.name_of(refused.repeater)?, refused)));
    let (name, refused) = refused.min_by_key(|(name, _)| *name).filter(|_| rays.rays.len() == 1)?;
    let why = refused.why.words();
    let slot = |slot: usize| if slot == 2 { repeater::slot_2.number() } else { repeater::slot_1.number() };
    let sent_on = rays.rays.first().map_or(1, |ray| slot_of(&ray.emission));
    let field = match refused.why {
        WhyNotRepeated::ColorCode { .. } => repeater::color_code.number(),
        WhyNotRepeated::Tone => repeater::input_tones.number(),
        WhyNotRepeated::Mode => repeater::mode.number(),
        WhyNotRepeated::NotListed | WhyNotRepeated::Barred => slot(sent_on),
        WhyNotRepeated::Direct | WhyNotRepeated::Unknown => repeater::name.number(),
    };
    Some(Missed {
        words: format!("repeater \"{name}\" {why}, so it does not repeat it"),
        place: (Anchor::Value(refused.repeater, FieldPath::key(field)), format!("repeater \"{name}\" {why}")),
    })
}

fn slot_of(emission: &Emission) -> usize {
    match emission.signal {
        Signal::Digital(digital) => digital.slot.and_then(|slot| usize::try_from(slot).ok()).unwrap_or(1),
        Signal::Analog(_) => 1,
    }
}

/// The nearest of those who miss a call; none where nobody listens near the frequency.
pub(crate) fn nearest_miss(view: View<'_>, misses: &[Listener]) -> Option<Missed> {
    let named = misses.iter().filter_map(|miss| {
        let radio = miss.radio.and_then(|radio| view.name_of(radio));
        let channel = view.name_of(miss.channel)?;
        let key = (std::cmp::Reverse(miss.outcome.depth()), miss.role, channel, radio, miss.outcome.words()?);
        Some((key, miss))
    });
    let ((_, role, channel, radio, why), miss) = named.min_by(|(a, _), (b, _)| a.cmp(b))?;
    let way = match role {
        Role::StandsBy | Role::OnKnob => "stands by on",
        Role::Scans => "scans",
    };
    let words = match radio {
        Some(radio) => format!("\"{radio}\" {way} \"{channel}\" and {why}"),
        None => format!("who {way} \"{channel}\" {why}"),
    };
    Some(Missed { words, place: (decides(view.at(miss.viewer), miss), format!("\"{channel}\" {why}")) })
}

/// Where it is written why a listener misses a call: on its channel, or on what that takes over.
fn decides(view: View<'_>, miss: &Listener) -> Anchor {
    let at = |id: EntityId, field: u8| Anchor::Value(id, FieldPath::key(field));
    let Some(it) = view.get::<channel::Table>(miss.channel) else { return Anchor::Header(miss.channel) };
    let own = |field: u8| at(it.id(), field);
    let from_repeater = |own_field: u8, has: bool, field: u8| {
        let repeater = view.named::<repeater::Table, _>(it, channel::repeater).value().filter(|_| !has);
        repeater.map_or_else(|| own(own_field), |repeater| at(repeater.id(), field))
    };
    match miss.outcome {
        Outcome::No(Reason::ColorCode { .. }) => {
            let (field, has) = (channel::color_code, it.has(channel::color_code));
            from_repeater(field.number(), has, repeater::color_code.number())
        }
        Outcome::No(Reason::Tone) => {
            let (field, has) = (channel::rx_tone, it.has(channel::rx_tone));
            from_repeater(field.number(), has, repeater::output_tone.number())
        }
        Outcome::No(Reason::Slot { .. }) => own(channel::slot.number()),
        Outcome::No(Reason::Group { .. }) => {
            let group = view.named::<receive_group::Table, _>(it, channel::receive_group).value();
            let talkgroups = |group: Ref<'_, receive_group::Table>| at(group.id(), receive_group::talkgroups.number());
            group.map_or_else(|| own(channel::receive_group.number()), talkgroups)
        }
        Outcome::No(Reason::Key) | Outcome::Noise(Noise::OtherMaterial) => own(channel::privacy.number()),
        Outcome::No(Reason::Clear) => own(channel::receive_clear.number()),
        Outcome::No(Reason::Sync { .. }) => own(channel::tdma_direct_mode.number()),
        Outcome::Noise(Noise::TooWide) => own(channel::bandwidth_khz.number()),
        Outcome::No(Reason::Mode) => own(channel::sends.number()),
        _ => own(channel::name.number()),
    }
}

/// The carrier and what is on it, for messages.
pub(crate) fn carriers(rays: &Rays) -> String {
    let mut carriers: Vec<String> = rays.rays.iter().map(|ray| ray.emission.carrier.mhz_text()).collect();
    carriers.sort();
    carriers.dedup();
    carriers.join(" and ")
}
