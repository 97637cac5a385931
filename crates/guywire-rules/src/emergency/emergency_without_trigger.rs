use crate::controls::{panic_button, triggers};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{controls, emergency, profile, radio};
use guywire_plan::{Bucket, FieldPath, Row, View};

rule! {
    /// Nothing sets an emergency off: its triggers are none, or no radio has any of them.
    ///
    /// A button counts where controls, profiles or radios of the plan name any action of any button; man-down and lone
    /// worker count where a profile or radio sets them up. An emergency that says nothing of triggers is left alone, and
    /// so is one whose only trigger is a button in a plan that says nothing of buttons, and one in a part that plans
    /// share, whose triggers another plan may have.
    ///
    /// ## On the air
    /// Nothing: the alarm that everybody counts on cannot be sent.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = []
    /// sends = "alarm"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// emergency = "Quay alarm"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// emergency = "Quay alarm"
    /// ```
    pub EmergencyWithoutTrigger = "emergency-without-trigger" {
        family: Emergency, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<emergency::Table>, view, out) {
        let Some(triggers) = triggers(view, it) else { return };
        let at = Anchor::Value(it.id(), FieldPath::key(emergency::triggers.number()));
        let called = view.called(it.id());
        if triggers.is_empty() {
            out.report(at, format!("{called} has no trigger: nothing sends it. Name one, such as \"button\""));
            return;
        }
        let is_shared = view.file_of(it.id()) != Some(view.viewer());
        if is_shared || triggers.iter().any(|trigger| may_happen(view, trigger)) {
            return;
        }
        out.report(
            at,
            format!(
                "{called} is set off by {}, and no radio of this plan has that: nothing sends it. Give a button the action \"emergency-on\", or set the sensor or reminder up",
                triggers.join(" or "),
            ),
        );
    }
}

/// Whether some radio may have a trigger. In a fleet too large to look at radio by radio, it may.
fn may_happen(view: View<'_>, trigger: &str) -> bool {
    let by_class = match trigger {
        "man-down" => view.each::<profile::Table>().any(|it| it.has(profile::man_down)),
        "lone-worker" => view.each::<profile::Table>().any(|it| it.has(profile::lone_worker)),
        _ => by_button(view),
    };
    if by_class || view.may_hide::<profile::Table>() || view.count::<radio::Table>() > Bucket::FEW {
        return true;
    }
    let radios = view.all::<radio::Table>();
    match trigger {
        "man-down" => radios.iter().any(|it| it.has(radio::man_down)),
        "lone-worker" => radios.iter().any(|it| it.has(radio::lone_worker)),
        _ => radios.iter().any(|it| it.has(radio::button)),
    }
}

/// Whether a button of controls or profiles sounds the alarm, or none is written at all.
fn by_button(view: View<'_>) -> bool {
    let tables = view.each::<controls::Table>().map(|it| it.id());
    let tables = tables.chain(view.each::<profile::Table>().map(|it| it.id()));
    let mut is_silent = true;
    for table in tables {
        let Some(buttons) = view.buttons(table) else { return true };
        is_silent &= buttons.is_empty();
        if panic_button(&buttons).is_some() {
            return true;
        }
    }
    is_silent
}
