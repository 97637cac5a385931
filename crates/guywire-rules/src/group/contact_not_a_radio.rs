use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{contact, radio, repeater, station};
use guywire_plan::{FieldPath, Known, Row, View};
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
        if UnitId::new(number).is_err() || !view.is_fleet_complete() || view.is_unit_id(number) || may_be(view, number) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(contact::id.number())),
            format!("{} calls unit {number}, and no radio or station of this complete fleet has that number: the call rings nowhere. Correct the number, or list the radio", view.called(it.id())),
        )
        .about(&number);
    }
}

/// Whether a radio not in use, a station or a repeater has a number, or something unreadable might have it.
fn may_be(view: View<'_>, number: i64) -> bool {
    let hidden =
        view.may_hide::<radio::Table>() || view.may_hide::<station::Table>() || view.may_hide::<repeater::Table>();
    let radio = |ids: Known<Vec<i64>>| match ids {
        Known::Is(ids) => ids.contains(&number),
        Known::Absent => false,
        Known::Unreadable => true,
    };
    let other = |id: Known<i64>| id == Known::Is(number) || id == Known::Unreadable;
    hidden
        || view.all::<radio::Table>().into_iter().any(|it| radio(view.written_ids(it)))
        || view.all::<station::Table>().iter().any(|it| other(it.whole(station::id)))
        || view.all::<repeater::Table>().iter().any(|it| other(it.whole(repeater::id)))
}
