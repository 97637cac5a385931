//! What an emergency button does, and who hears it.

pub mod emergency_dead_on_channel;
pub mod emergency_revert_receive_only;
pub mod emergency_revert_unheard;
pub mod emergency_revert_unreachable;
pub mod emergency_unacknowledged;
pub mod emergency_without_trigger;

use guywire_plan::language::{Tabled, controls, controls__button, profile, radio, zone};
use guywire_plan::{EntityId, Known, Ref, Row, View};

/// What on the radios of a plan, or on those that hold a channel, sets off an emergency: the first found, in words.
pub(crate) fn trigger(view: View<'_>, channel: EntityId) -> Option<String> {
    let everywhere = view.all::<controls::Table>().into_iter().any(|it| has_button(view, it, controls::button));
    if everywhere {
        return Some("the emergency button".to_owned());
    }
    let mut found: Vec<String> = Vec::new();
    for zone in view.referrers::<zone::Table>(channel) {
        for profile in view.referrers::<profile::Table>(zone.id()) {
            let name = profile.name().unwrap_or_default();
            let what = of_holder(view, profile, (profile::button, profile::man_down, profile::lone_worker));
            found.extend(what.map(|what| format!("{what} of profile \"{name}\"")));
        }
        for radio in view.referrers::<radio::Table>(zone.id()) {
            let name = radio.name().unwrap_or_default();
            let what = of_holder(view, radio, (radio::button, radio::man_down, radio::lone_worker));
            found.extend(what.map(|what| format!("{what} of radio \"{name}\"")));
        }
    }
    found.into_iter().min()
}

type Triggers<T> =
    (guywire_plan::language::Field<T>, guywire_plan::language::Field<T>, guywire_plan::language::Field<T>);

fn of_holder<T: Tabled>(
    view: View<'_>,
    it: Ref<'_, T>,
    (button, man_down, lone_worker): Triggers<T>,
) -> Option<&'static str> {
    if has_button(view, it, button) {
        return Some("the emergency button");
    }
    if it.has(man_down) {
        return Some("the man-down alarm");
    }
    it.has(lone_worker).then_some("the lone-worker alarm")
}

fn has_button<T: Tabled>(view: View<'_>, it: Ref<'_, T>, field: guywire_plan::language::Field<T>) -> bool {
    it.parts::<controls__button::Table>(field)
        .iter()
        .any(|button| button.text(controls__button::action).map(|word| view.symbol(word)) == Known::Is("emergency-on"))
}
