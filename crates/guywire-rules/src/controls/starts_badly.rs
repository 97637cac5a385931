use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Field, Tabled, channel, profile, radio, zone};
use guywire_plan::{FieldPath, Known, Ref, Row, Sends, Stored, View};

rule! {
    /// A radio starts on a position where nobody can talk: the first of its first zone is empty or receive only.
    ///
    /// A radio that stands by elsewhere is left alone, and so is a profile all of whose radios do.
    ///
    /// ## On the air
    /// After a change of battery the knob may say one thing and the radio another: the first press of the key is refused,
    /// or nobody is heard, until somebody notices.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Quay"
    /// channels = ["", "Berths"]
    ///
    /// [[profile]]
    /// name = "quay"
    /// zones = ["Quay"]
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
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Quay"
    /// channels = ["Berths"]
    ///
    /// [[profile]]
    /// name = "quay"
    /// zones = ["Quay"]
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    /// ```
    pub StartsBadly = "starts-badly" { family: Controls, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if let Some(profile) = view.get::<profile::Table>(it) {
            let Some(problem) = problem(view, profile, profile::zones) else { return };
            let radios = view.referrers::<radio::Table>(it);
            let starts_here = |radio: &Ref<'_, radio::Table>| !radio.has(radio::zones) && !radio.has(radio::stands_by);
            if radios.iter().any(starts_here) {
                report(view, profile, profile::zones, problem, out);
            }
        }
        if let Some(radio) = view.get::<radio::Table>(it).filter(|radio| !radio.has(radio::stands_by)) {
            let Some(problem) = problem(view, radio, radio::zones) else { return };
            report(view, radio, radio::zones, problem, out);
        }
    }
}

/// What is wrong with where the first zone starts, and the place of it.
struct Problem {
    said: String,
    at: Anchor,
}

fn problem<T: Tabled>(view: View<'_>, it: Ref<'_, T>, zones: Field<T>) -> Option<Problem> {
    let Known::Is(zones) = view.named_all::<zone::Table, _>(it, zones) else { return None };
    let first = *zones.first()?;
    let Known::Is(elements) = first.list(zone::channels) else { return None };
    let Stored::Text(name) = elements.first()?.value else { return None };
    let at = Anchor::Value(first.id(), FieldPath::key(zone::channels.number()).then(0));
    let of = view.called(first.id());
    if view.symbol(name).is_empty() {
        // A zone of empty positions only has a finding of its own.
        let is_empty = |element: &guywire_plan::Element| matches!(element.value, Stored::Text(name) if view.symbol(name).is_empty());
        return (!elements.iter().all(is_empty))
            .then(|| Problem { said: format!("the first position of {of} is empty"), at });
    }
    let guywire_plan::Found::One(channel) = view.find::<channel::Table>(first.id(), name) else { return None };
    let sends = view.channel(channel.id())?.sends;
    (sends == Known::Is(Sends::Nothing)).then(|| Problem {
        said: format!("the first position of {of} is {}, which is receive only", view.called(channel.id())),
        at,
    })
}

fn report<T: Tabled>(view: View<'_>, it: Ref<'_, T>, zones: Field<T>, problem: Problem, out: &mut Sink<'_>) {
    out.report(
        Anchor::Value(it.id(), FieldPath::key(zones.number()).then(0)),
        format!(
            "radios of {} start where nobody can talk: {}. Put a channel to talk on first, or say where they stand by",
            view.called(it.id()),
            problem.said,
        ),
    )
    .related(problem.at, "the radio starts here");
}
