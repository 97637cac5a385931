use super::{button_place, models_of};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{controls, controls__button, model, model__button, profile, radio};
use guywire_plan::{Button, Element, Known, Ref, Row, Stored, View};

rule! {
    /// A button is given an action or a press that it does not have on a model of the plan, or that no model has a button
    /// for.
    ///
    /// Buttons of `[controls]` are for every model that has that place: one that lacks the place is left alone, as long as
    /// another of the plan has it, and in a part that plans share. A data sheet without buttons says nothing.
    ///
    /// ## On the air
    /// Nothing happens at the press; for an alarm, that means nobody comes.
    ///
    /// ## Source
    /// The model's data sheet.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "monitor"
    /// ```
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [[button]]
    /// place = "top"
    /// presses = ["short"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "monitor"
    /// ```
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [[button]]
    /// place = "top"
    /// presses = ["short", "long"]
    /// ```
    pub ButtonActionNotSupported = "button-action-not-supported" {
        family: Controls, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let is_plan = view.get::<controls::Table>(it).is_some();
        if !is_plan && view.get::<profile::Table>(it).is_none() && view.get::<radio::Table>(it).is_none() {
            return;
        }
        let Some(buttons) = view.buttons(it).filter(|buttons| !buttons.is_empty()) else { return };
        let sheets: Vec<Sheet<'_>> = models_of(view, it).into_iter().filter_map(|model| sheet(view, model)).collect();
        for (number, button) in buttons {
            let lacks: Vec<(&str, Lack)> =
                sheets.iter().filter_map(|sheet| Some((sheet.name, lack(view, sheet, button)?))).collect();
            let is_nowhere = lacks.len() == sheets.len() && view.file_of(it) == Some(view.viewer());
            let told = lacks.into_iter().filter(|(_, lack)| *lack != Lack::Place || !is_plan || is_nowhere);
            for (name, lack) in told {
                let (what, field) = match lack {
                    Lack::Place => (format!("has no button \"{}\"", button.place), controls__button::place),
                    Lack::Press => (
                        format!("does not tell a {} press of \"{}\" from others", button.press, button.place),
                        controls__button::press,
                    ),
                    Lack::Action => {
                        (format!("cannot put \"{}\" on \"{}\"", button.action, button.place), controls__button::action)
                    }
                };
                let message = format!("{name} {what}: the press does nothing. Use a button that the data sheet names for it");
                out.report(button_place(view, it, number, field), message).about(name);
            }
        }
    }
}

/// A model that says what buttons it has.
struct Sheet<'v> {
    name: &'v str,
    buttons: Vec<Ref<'v, model__button::Table>>,
}

fn sheet<'v>(view: View<'v>, model: Ref<'v, model::Table>) -> Option<Sheet<'v>> {
    let buttons = view.members::<model__button::Table>(view.file_of(model.id())?);
    let name = model.name().unwrap_or("the model");
    (!buttons.is_empty()).then_some(Sheet { name, buttons })
}

/// What a model lacks for a button.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lack {
    Place,
    Press,
    Action,
}

fn lack(view: View<'_>, sheet: &Sheet<'_>, button: Button<'_>) -> Option<Lack> {
    let mut lacks = Lack::Place;
    for has in &sheet.buttons {
        match has.text(model__button::place) {
            Known::Is(place) if view.symbol(place) == button.place => {}
            Known::Unreadable => return None,
            Known::Is(_) | Known::Absent => continue,
        }
        let presses = words(view, has.list(model__button::presses));
        let actions = words(view, has.list(model__button::actions));
        lacks = match (presses, actions) {
            (Known::Unreadable, _) | (_, Known::Unreadable) => return None,
            (Known::Is(presses), _) if !presses.contains(&button.press) => Lack::Press,
            (Known::Absent, _) if button.press != "short" => Lack::Press,
            (_, Known::Is(actions)) if !actions.contains(&button.action) => Lack::Action,
            _ => return None,
        };
    }
    Some(lacks)
}

fn words<'v>(view: View<'v>, list: Known<&[Element]>) -> Known<Vec<&'v str>> {
    let word = |element: &Element| match element.value {
        Stored::Text(word) => Some(view.symbol(word)),
        _ => None,
    };
    match list {
        Known::Is(elements) => elements.iter().map(word).collect::<Option<_>>().map_or(Known::Unreadable, Known::Is),
        Known::Absent => Known::Absent,
        Known::Unreadable => Known::Unreadable,
    }
}
