use std::ops::ControlFlow;

use guywire_plan::audience::{Called, Outcome};
use guywire_plan::language::{channel, contact, radio, station};
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Ref, Sends, Target, View};

use crate::finding::Anchor;
use crate::hearing::{Missed, carriers, misses, nearest_miss, refusal};
use crate::rule;
use crate::rule::Each;

rule! {
    /// A channel calls a unit that does not hear it where it stands by, nor while it scans.
    ///
    /// The unit is a radio of the plan that is in use; numbers that belong to no radio are reported by `contact-not-a-radio`,
    /// and stations are taken to hear what is meant for them.
    ///
    /// ## On the air
    /// The call goes out, the called unit does not answer, and the caller cannot tell why.
    ///
    /// ## Source
    /// Individual calls: ETSI TS 102 361-2. That a unit should be reachable where it stands by is common practice, no
    /// source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[contact]]
    /// name = "Lock 2"
    /// id = 21022
    ///
    /// [[channel]]
    /// name = "Lock 2"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Lock 2"
    ///
    /// [[channel]]
    /// name = "Locks"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 3
    /// call = "Lock 2"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Lock 2"]
    ///
    /// [[zone]]
    /// name = "Lock"
    /// channels = ["Locks"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21022
    /// alias = "Lock 2"
    /// zones = ["Lock"]
    /// stands_by = { channel = "Locks" }
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[contact]]
    /// name = "Lock 2"
    /// id = 21022
    ///
    /// [[channel]]
    /// name = "Lock 2"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Lock 2"
    ///
    /// [[channel]]
    /// name = "Locks"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Lock 2"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Lock 2"]
    ///
    /// [[zone]]
    /// name = "Lock"
    /// channels = ["Locks"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21022
    /// alias = "Lock 2"
    /// zones = ["Lock"]
    /// stands_by = { channel = "Locks" }
    /// ```
    pub IndividualContactUnreachable = "individual-contact-unreachable" {
        family: Group, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(air) = view.air(it.id()) else { return };
        let Known::Is(Called::Unit(number)) = air.call else { return };
        if air.sends != Known::Is(Sends::Digital) {
            return;
        }
        let Ok(emission) = air.push_to_talk() else { return };
        let Some(called) = only_radio(view, number) else { return };
        // Somebody else must be able to send it.
        if !view.holders(it.id()).iter().any(|holder| *holder != called.id()) {
            return;
        }
        let rays = view.rays(&emission);
        let reached = view.each_listener(&rays, None, &mut |listener| match listener.outcome {
            Outcome::Heard | Outcome::Unknown if listener.radio == Some(called.id()) => ControlFlow::Break(()),
            _ => ControlFlow::Continue(()),
        });
        if reached.is_break() || view.is_any(Bucket::ListensUnread) {
            return;
        }
        let Known::Is(Target::Contact(contact)) = view.own_target(it) else { return };
        let name = contact.name().unwrap_or_default();
        let radio = called.name().unwrap_or("the radio");
        let mut misses = misses(view, &rays);
        misses.retain(|miss| miss.radio == Some(called.id()));
        let missed = refusal(view, &rays).or_else(|| nearest_miss(view, &misses));
        let why = match &missed {
            Some(missed) => missed.words.clone(),
            None => format!("\"{radio}\" neither stands by nor scans on {} MHz", carriers(&rays)),
        };
        let found = out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::call.number())),
            format!(
                "{} calls contact \"{name}\" (unit {number}), who does not hear it: {why}. Call on a channel that the unit stands by on or scans",
                view.called(it.id()),
            ),
        )
        .about(name)
        .related(
            Anchor::Value(contact.id(), FieldPath::key(contact::id.number())),
            format!("the unit that is called, \"{radio}\""),
        );
        if let Some(Missed { place: (at, what), .. }) = missed {
            found.related(at, what);
        }
    }
}

/// The radio in use that has a unit id, where there is one and where it is known where it stands by.
fn only_radio(view: View<'_>, number: i64) -> Option<Ref<'_, radio::Table>> {
    let holders: Vec<EntityId> = view.alike(Bucket::Number(view.viewer(), number)).collect();
    if view.is_any(Bucket::NumberUnread(view.viewer()))
        || holders.iter().any(|it| view.get::<station::Table>(*it).is_some())
    {
        return None;
    }
    let mut radios = holders.iter().filter_map(|it| view.get::<radio::Table>(*it));
    let only = radios.next()?;
    if radios.next().is_some() || view.is_in_use(only) != Known::Is(true) {
        return None;
    }
    matches!(view.post(only.id())?.stands_by, Known::Is(_)).then_some(only)
}
