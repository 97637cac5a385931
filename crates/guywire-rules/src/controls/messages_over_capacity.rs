use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{capacity, message, plan};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A plan has more texts than a model of it takes.
    ///
    /// ## On the air
    /// The radio refuses the plan, or the last texts are not in it.
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
    /// text = "At berth, ready"
    ///
    /// [[message]]
    /// text = "Call me on Berths"
    /// ```
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// messages = 1
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
    ///
    /// [[message]]
    /// text = "Call me on Berths"
    /// ```
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// messages = 20
    /// ```
    pub MessagesOverCapacity = "messages-over-capacity" {
        family: Controls, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<plan::Table>, view, out) {
        if view.plan().map(|plan| plan.id()) != Some(it.id()) {
            return;
        }
        let count = view.count::<message::Table>();
        if count == 0 {
            return;
        }
        for model in view.plan_models() {
            let Some(capacity) = view.file_of(model.id()).and_then(|file| view.only::<capacity::Table>(file)) else {
                continue;
            };
            let Known::Is(most) = capacity.whole(capacity::messages) else { continue };
            if usize::try_from(most).is_ok_and(|most| count <= most) {
                continue;
            }
            let name = model.name().unwrap_or("the model");
            out.report(
                Anchor::Value(it.id(), FieldPath::key(plan::model.number())),
                format!("this plan has {count} texts, and {name} takes {most}: the radio refuses the plan, or the last texts are not in it. Take texts out"),
            )
            .about(name)
            .related(
                Anchor::Value(capacity.id(), FieldPath::key(capacity::messages.number())),
                format!("room for messages on {name}: {most}"),
            );
        }
    }
}
