use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{capacity, message};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A text is longer than a model of the plan takes.
    ///
    /// ## On the air
    /// The radio refuses the plan, or the end of the text is missing.
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
    /// [[message]]
    /// text = "At berth and ready for the pilot"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[message]]
    /// text = "At berth, ready"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// message_characters = 20
    /// ```
    pub MessageTooLong = "message-too-long" { family: Controls, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<message::Table>, view, out) {
        let Known::Is(text) = it.text(message::text) else { return };
        let long = view.symbol(text).chars().count();
        for model in view.plan_models() {
            let Some(capacity) = view.file_of(model.id()).and_then(|file| view.only::<capacity::Table>(file)) else {
                continue;
            };
            let Known::Is(most) = capacity.whole(capacity::message_characters) else { continue };
            if usize::try_from(most).is_ok_and(|most| long <= most) {
                continue;
            }
            let name = model.name().unwrap_or("the model");
            out.report(
                Anchor::Value(it.id(), FieldPath::key(message::text.number())),
                format!("this text has {long} characters, and {name} takes {most}: the radio refuses it or cuts it off. Say it in fewer"),
            )
            .about(name)
            .related(
                Anchor::Value(capacity.id(), FieldPath::key(capacity::message_characters.number())),
                format!("characters in a message on {name}: {most}"),
            );
        }
    }
}
