use super::power_over_limit::power_at;
use super::sent::{Given, Licensed, Sent, is_told_elsewhere, licensed, named, sent, watts, with_model};
use crate::finding::{Anchor, Level, Sink};
use crate::rule;
use crate::rule::{AnyTable, OptionSpec};
use guywire_plan::language::{channel, license, license__assignment, plan, repeater};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Sender, Sends, View};
use guywire_radio::emission::Cover;
use guywire_radio::regime::Licensing;

/// Further away than this, a granted carrier is not what was meant.
const NEAR: guywire_radio::Hertz = guywire_radio::Hertz(1_000_000);

const OPTIONS: &[OptionSpec] =
    &[OptionSpec { name: "days", default: 90.0, doc: "how long before a license expires that is reported, in days" }];

rule! {
    /// A channel or a repeater sends what no license of the plan grants: another frequency, another class of station,
    /// another emission or more power. Or a license is past its last day, soon will be, or none is declared although the
    /// service wants one.
    ///
    /// Looked at where the plan has licenses, unless the service that the plan or the channel names needs none. A license
    /// without assignments grants whatever its service allows. A channel that takes its frequency from a repeater is reported
    /// there. A repeater's own transmitter is judged where `power_w` is written: others run the rest. Emissions are
    /// compared by their customary designators, powers like with like. An expired license whose frequencies another one
    /// grants is left out.
    ///
    /// Once a plan it is a warning that no license is declared, and for each license that it expires within so many
    /// days (option `days`, 90).
    ///
    /// ## On the air
    /// Somebody else may hold the frequency there. Hold your own license before you transmit: it and the local rules
    /// decide, not this plan.
    ///
    /// ## Source
    /// The license, as written in the plan; the service's rule on who needs one. Customary designators: common practice, no
    /// source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// regime = "us-part-90"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 451.8375
    /// emission = ["7K60FXE", "7K60FXD"]
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8875
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// regime = "us-part-90"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 451.8375
    /// emission = ["7K60FXE", "7K60FXD"]
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// ```
    pub NotLicensed = "not-licensed" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0", options: OPTIONS,
    }
    fn check(it: AnyTable, view, out) {
        if let Some(plan) = view.get::<plan::Table>(it) {
            undeclared(plan, view, out);
        } else if let Some(license) = view.get::<license::Table>(it) {
            out_of_date(license, view, out);
        } else {
            transmissions(it, view, out);
        }
    }
}

// ---- the license itself --------------------------------------------------------------------------

fn undeclared(it: Ref<'_, plan::Table>, view: View<'_>, out: &mut Sink<'_>) {
    let Some(service) = view.service(None) else { return };
    let wants = match service.terms().licensing {
        Licensing::ByRule => return,
        Licensing::Assigned => "a license that names your frequencies",
        Licensing::Personal => "a license of your own",
        Licensing::Amateur => "a license that is had by examination",
        Licensing::Ship => "a station license",
    };
    if view.count::<license::Table>() > 0 || view.may_hide::<license::Table>() || !sends_in_service(view) {
        return;
    }
    out.report(
        Anchor::Header(it.id()),
        format!(
            "{} wants {wants}, and the plan declares none: nothing says who may send what. Hold it before you transmit, and write it as [[license]]",
            named(service),
        ),
    )
    .level(Level::Warning);
}

/// Whether some channel sends under the service of the plan. Stops at the first.
fn sends_in_service(view: View<'_>) -> bool {
    let sends = |channel: &Ref<'_, channel::Table>| {
        view.known(channel.id(), channel::regime) == Known::Absent
            && channel.text(channel::sends).value().is_some_and(|word| view.symbol(word) != "nothing")
    };
    view.each::<channel::Table>().any(|channel| sends(&channel))
}

fn out_of_date(it: Ref<'_, license::Table>, view: View<'_>, out: &mut Sink<'_>) {
    let (Known::Is(last), Some(today)) = (it.date(license::expires), view.today()) else { return };
    let days = last.since(today).map_or(0, |left| left.get_days());
    let soon = out.option("days");
    if f64::from(days) > soon || is_renewed(it, view) {
        return;
    }
    let name = view.called(it.id());
    let (message, level) = if last < today {
        (
            format!(
                "{name} was valid until {last}: since then nothing that it grants may be sent. Stop transmitting on its frequencies, renew it, and write the new date"
            ),
            Level::Error,
        )
    } else {
        (
            format!("{name} is valid until {last} and no longer. Renew it in time, and write the new date"),
            Level::Warning,
        )
    };
    out.report(Anchor::Value(it.id(), FieldPath::key(license::expires.number())), message)
        .about(&last.to_string())
        .level(level);
}

/// Whether another license that is valid longer grants all that this one does.
fn is_renewed(it: Ref<'_, license::Table>, view: View<'_>) -> bool {
    let own = it.date(license::expires).value();
    let later: Vec<_> = view
        .assignments()
        .into_iter()
        .filter(|other| other.license.id() != it.id())
        .filter(|other| match other.license.date(license::expires) {
            Known::Is(date) => own.is_some_and(|own| date > own),
            Known::Absent => true,
            Known::Unreadable => false,
        })
        .collect();
    let granted = view.assignments_of(it);
    let has = |carrier| later.iter().any(|other| other.covers(carrier));
    !granted.is_empty()
        && granted.iter().all(|assignment| match assignment.range() {
            Some(range) => has(range.low()) && has(range.high()),
            None => assignment.nearest(guywire_radio::Hertz(0)).is_some_and(has),
        })
}

// ---- what is sent --------------------------------------------------------------------------------

fn transmissions(it: EntityId, view: View<'_>, out: &mut Sink<'_>) {
    let mut told: Vec<(Given, &'static str)> = Vec::new();
    for sent in sent(view, it).iter().filter(|sent| is_own(view, sent)) {
        for sender in sent.senders(view) {
            of_sender(view, sent, sender, &mut told, out);
        }
    }
}

/// Whether the plan is to have a license for it: its channels, what its users send, and the repeaters that it runs.
fn is_own(view: View<'_>, sent: &Sent<'_>) -> bool {
    let runs = || view.get::<repeater::Table>(sent.id).is_some_and(|repeater| repeater.has(repeater::power_w));
    sent.is_used && (sent.given != Given::Output || runs())
}

fn of_sender<'v>(
    view: View<'v>,
    sent: &Sent<'v>,
    sender: Sender<'v>,
    told: &mut Vec<(Given, &'static str)>,
    out: &mut Sink<'_>,
) {
    let judged = licensed(view, sent, sender);
    if matches!(judged, Licensed::Unknown | Licensed::Unsaid | Licensed::Granted(_)) {
        return;
    }
    let does = sent.does(view);
    let (stage, at, message) = match judged {
        Licensed::Unknown | Licensed::Unsaid | Licensed::Granted(_) => return,
        Licensed::OtherCarrier(near) => {
            if !sent.tells_carrier() || is_told_elsewhere(view, sent) {
                return;
            }
            let near = near.filter(|near| near.spacing(sent.carrier) <= NEAR);
            let near = near.map(|near| format!(" (the nearest granted is {near} MHz)")).unwrap_or_default();
            (
                "carrier",
                sent.at,
                format!(
                    "{does} on {} MHz, which no license of the plan grants{near}. Correct the frequency, or have it granted before you transmit",
                    sent.carrier
                ),
            )
        }
        Licensed::OtherClass(classes) => {
            if sent.given == Given::ByInput || is_told_elsewhere(view, sent) {
                return;
            }
            (
                "class",
                sent.at,
                format!(
                    "{does}{} on {} MHz, which the licenses of the plan grant to a {} only. Correct the frequency, or have it granted before you transmit",
                    with_model(sender),
                    sent.carrier,
                    classes.join(" or "),
                ),
            )
        }
        Licensed::OtherEmission(granted, cover) if sent.tells_emission() => {
            let granted = granted.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            let at = if cover == Cover::TooWide { sent.width_at } else { sent.mode_at };
            let width =
                if sent.mode == Sends::Analog { format!(" in {} kHz", sent.width.khz_text()) } else { String::new() };
            (
                "emission",
                at,
                format!(
                    "{does} {}{width} on {} MHz, and the licenses of the plan grant {granted} there. Send what is granted, or have the emission granted before you transmit",
                    sent.mode_word(),
                    sent.carrier,
                ),
            )
        }
        Licensed::OtherEmission(..) => return,
        Licensed::OverPower { limit, actual_w, assignment } => {
            if sent.given == Given::Input {
                return;
            }
            let at = assignment.key(license__assignment::max_power_w);
            let message = format!(
                "{does} {}{} on {} MHz, counted as {} grants it, which is {limit} at most. Lower the power",
                watts(actual_w),
                with_model(sender),
                sent.carrier,
                view.called(assignment.license.id()),
            );
            out.report(Anchor::Value(sent.id, power_at(sent)), message)
                .about("power")
                .about(sender.name().unwrap_or_default())
                .related(Anchor::Value(assignment.license.id(), at), format!("{limit} at most"));
            return;
        }
    };
    if told.contains(&(sent.given, stage)) {
        return;
    }
    told.push((sent.given, stage));
    out.report(Anchor::Value(sent.id, at), message).about(stage).about(&sent.carrier.0);
}
