use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{contact, radio, repeater, station};
use guywire_plan::{Bucket, FieldPath, Known, Row, View};
use guywire_radio::UnitId;

rule! {
    /// A contact has a number that no radio, station or repeater of the plan has, and the plan says that its fleet is
    /// complete.
    ///
    /// Without `fleet_complete = true` nothing is said. Spare, lost and retired radios count as radios.
    ///
    /// ## On the air
    /// An individual call to it rings nowhere.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// fleet_complete = true
    ///
    /// [[contact]]
    /// name = "Lock 2"
    /// id = 21023
    ///
    /// [[radio]]
    /// id = 21022
    /// alias = "Lock 2"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// fleet_complete = true
    ///
    /// [[contact]]
    /// name = "Lock 2"
    /// id = 21022
    ///
    /// [[radio]]
    /// id = 21022
    /// alias = "Lock 2"
    /// ```
    pub ContactNotARadio = "contact-not-a-radio" {
        family: Group, level: Information, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<contact::Table>, view, out) {
        let Known::Is(number) = it.whole(contact::id) else { return };
        if UnitId::new(number).is_err() || !view.is_fleet_complete() {
            return;
        }
        if view.is_any(Bucket::Number(view.viewer(), number)) || may_hide_a_number(view) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(contact::id.number())),
            format!("{} calls unit {number}, and no radio or station of this complete fleet has that number: the call rings nowhere. Correct the number, or list the radio", view.called(it.id())),
        )
        .about(&number);
    }
}

/// Whether a radio, station or repeater has a number that cannot be read.
fn may_hide_a_number(view: View<'_>) -> bool {
    view.may_hide::<radio::Table>()
        || view.may_hide::<station::Table>()
        || view.may_hide::<repeater::Table>()
        || view.all::<radio::Table>().into_iter().any(|it| view.written_ids(it) == Known::Unreadable)
        || view.all::<station::Table>().iter().any(|it| it.whole(station::id) == Known::Unreadable)
        || view.all::<repeater::Table>().iter().any(|it| it.whole(repeater::id) == Known::Unreadable)
}
