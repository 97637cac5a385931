use super::button_place;
use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{controls, controls__button, profile, radio, shortcut};
use guywire_plan::{EntityId, FieldPath, Ref, Row, View};

rule! {
    /// One press of one button has two meanings.
    ///
    /// Looked at are the buttons of one table of controls, profile or radio, and shortcuts beside each other and beside
    /// the buttons of all. A button whose action is `shortcut` goes with its shortcut.
    ///
    /// ## On the air
    /// The radio keeps one of the two, and nobody knows which: the press that is to call for help may turn on the light.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "monitor"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "scan"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "monitor"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "short"
    /// action = "scan"
    /// ```
    pub ButtonPressClash = "button-press-clash" { family: Controls, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let has_buttons = view.get::<controls::Table>(it).is_some()
            || view.get::<profile::Table>(it).is_some()
            || view.get::<radio::Table>(it).is_some();
        if has_buttons {
            within(view, it, out);
        }
        if let Some(shortcut) = view.get::<shortcut::Table>(it) {
            beside(view, shortcut, out);
        }
    }
}

fn within(view: View<'_>, it: EntityId, out: &mut Sink<'_>) {
    let Some(buttons) = view.buttons(it) else { return };
    for (place, (number, button)) in buttons.iter().enumerate() {
        let same = |(_, other): &&(usize, guywire_plan::Button<'_>)| {
            other.place == button.place && other.press == button.press && other.action != button.action
        };
        let Some((first, other)) = buttons[..place].iter().find(same) else { continue };
        let message = format!(
            "a {} press of \"{}\" is \"{}\" and also \"{}\": the radio keeps one of the two. Take one out, or use another press",
            button.press, button.place, other.action, button.action,
        );
        out.report(button_place(view, it, *number, controls__button::action), message)
            .about(&(button.place, button.press))
            .related(
                button_place(view, it, *first, controls__button::action),
                format!("the same press is \"{}\"", other.action),
            );
    }
}

/// The button and press of a shortcut.
fn press_of<'v>(view: View<'v>, it: Ref<'v, shortcut::Table>) -> Option<(&'v str, &'v str)> {
    let word = |field| Some(view.symbol(it.text(field).value()?));
    Some((word(shortcut::button)?, word(shortcut::press)?))
}

fn beside(view: View<'_>, it: Ref<'_, shortcut::Table>, out: &mut Sink<'_>) {
    let Some(own) = press_of(view, it) else { return };
    let mut others: Vec<(Anchor, String)> = Vec::new();
    for controls in view.all::<controls::Table>() {
        for (number, button) in view.buttons(controls.id()).unwrap_or_default() {
            if (button.place, button.press) == own && button.action != "shortcut" {
                let at = button_place(view, controls.id(), number, controls__button::action);
                others.push((at, format!("the same press is \"{}\"", button.action)));
            }
        }
    }
    for shortcut in view.all::<shortcut::Table>() {
        if shortcut.id() != it.id() && press_of(view, shortcut) == Some(own) {
            others.push((Anchor::Header(shortcut.id()), "another shortcut at the same press".to_owned()));
        }
    }
    if others.is_empty() {
        return;
    }
    let (place, press) = own;
    let message = format!(
        "a {press} press of \"{place}\" has a shortcut and something else: the radio keeps one of the two. Use another button or press"
    );
    let mut found = out.report(Anchor::Value(it.id(), FieldPath::key(shortcut::button.number())), message);
    for (at, said) in others {
        found = found.related(at, said);
    }
}
