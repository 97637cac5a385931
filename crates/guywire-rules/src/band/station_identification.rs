use super::sent::named;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater, signaling};
use guywire_plan::{FieldPath, Known, Ref, Row, View};

rule! {
    /// Radios identify their station more seldom than the radio service asks, or in a way that it does not accept.
    ///
    /// Looked at where the plan writes how often (`station_id_s`; 0 is never). Where the service wants digital and private
    /// traffic identified in clear analog voice or Morse, a plan is reported whose channels all send digital and that has no
    /// repeater to send it for them.
    ///
    /// ## On the air
    /// Those who are interfered with cannot tell by whom, and neither can the authority.
    ///
    /// ## Source
    /// The service's rule, which the message names, such as 47 CFR 90.425(a) or 97.119.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor club"
    /// regime = "us-part-97"
    ///
    /// [signaling]
    /// station_id_s = 900
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor club"
    /// regime = "us-part-97"
    ///
    /// [signaling]
    /// station_id_s = 600
    /// ```
    pub StationIdentification = "station-identification" {
        family: Band, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<signaling::Table>, view, out) {
        let Known::Is(every_s) = it.whole(signaling::station_id_s) else { return };
        let Some(service) = view.service(None) else { return };
        let Some(rule) = &service.terms().identification else { return };
        let most_s = i64::from(rule.value.every_min) * 60;
        let why = if every_s == 0 || every_s > most_s {
            let says = if every_s == 0 { "never".to_owned() } else { format!("every {every_s} s") };
            format!("radios identify {says}, and {} asks for it every {most_s} s", named(service))
        } else if rule.value.in_clear && sends_digital_only(view) {
            format!(
                "every channel sends digital and no repeater identifies for them, and {} asks for clear analog voice or Morse",
                named(service)
            )
        } else {
            return;
        };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(signaling::station_id_s.number())),
            format!("{why} ({}): nobody can tell who is on the air. Identify as the service asks", rule.source),
        )
        .about(&every_s);
    }
}

/// Whether the plan has channels that send, all of them digital, and no repeater. Stops at the first that is not.
fn sends_digital_only(view: View<'_>) -> bool {
    if view.count::<repeater::Table>() > 0 || view.may_hide::<repeater::Table>() || view.may_hide::<channel::Table>() {
        return false;
    }
    let word = |channel: &Ref<'_, channel::Table>| channel.text(channel::sends).map(|word| view.symbol(word));
    let all = view.all::<channel::Table>();
    let is_quiet = |channel: &Ref<'_, channel::Table>| word(channel) == Known::Is("nothing");
    all.iter().all(|channel| is_quiet(channel) || word(channel) == Known::Is("digital")) && !all.iter().all(is_quiet)
}
