//! Buttons, alarms, texts, and where a radio stands when it is switched on.

pub mod button_action_not_supported;
pub mod button_press_clash;
pub mod button_without_emergency;
pub mod long_press_too_short;
pub mod man_down_not_supported;
pub mod message_too_long;
pub mod messages_over_capacity;
pub mod starts_badly;
#[cfg(test)]
mod tests;

use guywire_plan::language::{
    Field, Tabled, channel, controls, controls__button, emergency, model, profile, radio, zone,
};
use guywire_plan::{Button, EntityId, FieldPath, Found, Known, Ref, Row, Sends, Stored, View};

use crate::finding::Anchor;

/// Where a key of a button is written in a table of controls, a profile or a radio.
fn button_place(view: View<'_>, it: EntityId, number: usize, field: Field<controls__button::Table>) -> Anchor {
    let list = match () {
        () if view.get::<controls::Table>(it).is_some() => controls::button.number(),
        () if view.get::<profile::Table>(it).is_some() => profile::button.number(),
        () => radio::button.number(),
    };
    Anchor::Value(it, FieldPath::key(list).then(number).then(field.number() as usize))
}

/// The models that the buttons of a table are for: those of a profile or a radio, of the whole plan for controls.
fn models_of<'v>(view: View<'v>, it: EntityId) -> Vec<Ref<'v, model::Table>> {
    if view.get::<controls::Table>(it).is_some() {
        return view.plan_models();
    }
    if view.get::<profile::Table>(it).is_some() {
        return view.profile_models(it);
    }
    view.get::<radio::Table>(it).and_then(|radio| view.radio_model(radio)).into_iter().collect()
}

/// What a press for an alarm leads to on a set of channels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Alarm {
    /// Some channel has an emergency that a button sets off, or one that says nothing of what does.
    Goes,
    /// Each channel that sends has an emergency, and none is set off by a button.
    Dead,
    /// There is no emergency at all.
    Nowhere,
    /// Some channel that sends has no emergency, which is reported there, or something cannot be read.
    Unknown,
}

/// What a press for an alarm leads to on these channels; looks no further than the first that has one.
fn alarm<'v>(view: View<'v>, channels: impl Iterator<Item = Known<Ref<'v, channel::Table>>>) -> Alarm {
    if view.may_hide::<emergency::Table>() {
        return Alarm::Unknown;
    }
    let mut all = if view.count::<emergency::Table>() == 0 { Alarm::Nowhere } else { Alarm::Dead };
    for channel in channels {
        let channel = match channel {
            Known::Is(channel) => channel,
            Known::Absent => continue,
            Known::Unreadable => return Alarm::Unknown,
        };
        match view.named::<emergency::Table, _>(channel, channel::emergency) {
            Known::Is(emergency) if by_button(view, emergency) => return Alarm::Goes,
            Known::Is(_) => {}
            Known::Absent if all == Alarm::Nowhere => {}
            Known::Absent if view.channel(channel.id()).is_some_and(|it| it.sends == Known::Is(Sends::Nothing)) => {}
            Known::Absent | Known::Unreadable => all = Alarm::Unknown,
        }
    }
    all
}

/// Whether a button may set an emergency off.
fn by_button(view: View<'_>, it: Ref<'_, emergency::Table>) -> bool {
    triggers(view, it).is_none_or(|triggers| triggers.contains(&"button"))
}

/// What sets an emergency off; none where that is not written or cannot be read.
pub(crate) fn triggers<'v>(view: View<'v>, it: Ref<'v, emergency::Table>) -> Option<Vec<&'v str>> {
    let Known::Is(elements) = it.list(emergency::triggers) else { return None };
    let word = |element: &guywire_plan::Element| match element.value {
        Stored::Text(word) => Some(view.symbol(word)),
        _ => None,
    };
    elements.iter().map(word).collect()
}

/// The channels on the knob of a profile or radio, zone by zone.
fn channels_of<'v, T: Tabled>(
    view: View<'v>,
    it: Ref<'v, T>,
    zones: Field<T>,
) -> impl Iterator<Item = Known<Ref<'v, channel::Table>>> {
    let zones = view.named_all::<zone::Table, T>(it, zones).value().unwrap_or_default();
    zones.into_iter().flat_map(move |zone| {
        let names: Vec<Option<guywire_plan::Symbol>> = match zone.list(zone::channels) {
            Known::Is(elements) => elements
                .iter()
                .map(|element| match element.value {
                    Stored::Text(name) => Some(name),
                    _ => None,
                })
                .collect(),
            Known::Absent => Vec::new(),
            Known::Unreadable => vec![None],
        };
        names.into_iter().map(move |name| match name {
            Some(name) if view.symbol(name).is_empty() => Known::Absent,
            Some(name) => match view.find(zone.id(), name) {
                Found::One(channel) => Known::Is(channel),
                _ => Known::Unreadable,
            },
            None => Known::Unreadable,
        })
    })
}

/// The first of these buttons that sounds the alarm.
pub(crate) fn panic_button<'v>(buttons: &[(usize, Button<'v>)]) -> Option<(usize, Button<'v>)> {
    buttons.iter().find(|(_, button)| button.action == "emergency-on").copied()
}
