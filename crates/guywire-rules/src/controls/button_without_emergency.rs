use super::{Alarm, alarm, button_place, panic_button};
use crate::finding::Sink;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, controls, controls__button, emergency, profile, zone};
use guywire_plan::{Button, EntityId, Known, Ref, View};

rule! {
    /// A button is to set off the alarm, and no channel of those radios has an emergency that a button sets off.
    ///
    /// A channel that names no emergency where others do is reported by `emergency-dead-on-channel`.
    ///
    /// ## On the air
    /// Nothing: somebody in need presses it, sees no change, and nobody comes.
    ///
    /// ## Source
    /// The plan language (docs/language.md). Test an alarm with every radio before anybody relies on it.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["lone-worker"]
    /// sends = "alarm"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// emergency = "Quay alarm"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    ///
    /// [[profile]]
    /// name = "quay"
    /// lone_worker = { every_s = 600, warn_s = 60 }
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["lone-worker", "button"]
    /// sends = "alarm"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// emergency = "Quay alarm"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    ///
    /// [[profile]]
    /// name = "quay"
    /// lone_worker = { every_s = 600, warn_s = 60 }
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    /// ```
    pub ButtonWithoutEmergency = "button-without-emergency" {
        family: Controls, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        if view.get::<controls::Table>(it).is_some() {
            for_all(view, it, out);
        }
        if let Some(profile) = view.get::<profile::Table>(it) {
            for_class(view, profile, out);
        }
    }
}

/// The buttons of all: an emergency that a button sets off and that a channel uses is enough here. Profiles are judged
/// one by one. Where emergencies are there and no channel uses one, that is told at the channels.
fn for_all(view: View<'_>, it: EntityId, out: &mut Sink<'_>) {
    let Some((number, button)) = view.buttons(it).as_deref().and_then(panic_button) else { return };
    if view.may_hide::<emergency::Table>() {
        return;
    }
    let is_used = |it: &Ref<'_, emergency::Table>| !view.referrers::<channel::Table>(it.id()).is_empty();
    if view.each::<emergency::Table>().any(|it| super::by_button(view, it) && is_used(&it)) {
        return;
    }
    let all = view.all::<emergency::Table>();
    if !(all.is_empty() || all.iter().any(is_used)) || view.count::<channel::Table>() == 0 {
        return;
    }
    report(view, it, (number, button), "no channel of this plan has", out);
}

/// A profile whose own buttons sound the alarm, by the channels of its zones.
fn for_class(view: View<'_>, it: Ref<'_, profile::Table>, out: &mut Sink<'_>) {
    let Some((number, button)) = view.buttons(it.id()).as_deref().and_then(panic_button) else { return };
    let Known::Is(zones) = view.named_all::<zone::Table, _>(it, profile::zones) else { return };
    let alarm = alarm(view, super::channels_of(view, it, profile::zones));
    if !zones.is_empty() && matches!(alarm, Alarm::Dead | Alarm::Nowhere) {
        report(view, it.id(), (number, button), "no channel in the zones of this profile has", out);
    }
}

fn report(view: View<'_>, it: EntityId, (number, button): (usize, Button<'_>), who: &str, out: &mut Sink<'_>) {
    let message = format!(
        "a {} press of \"{}\" is to set off the alarm, and {who} an emergency that a button sets off: the press does nothing, and nobody comes. Give the channels an `emergency`",
        button.press, button.place,
    );
    out.report(button_place(view, it, number, controls__button::action), message)
        .about(button.place)
        .about(button.press);
}
