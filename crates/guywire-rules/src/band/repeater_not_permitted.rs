use super::sent::{Given, Sent, Term, is_told_elsewhere, level_of, named, sent_in_service, table_speaks};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::repeater;
use guywire_plan::{Sender, View};
use guywire_radio::regime::Station;
use guywire_radio::{Band, Source};

rule! {
    /// A repeater stands in a radio service that has none, or sends or receives in a segment that the service closes to
    /// repeaters.
    ///
    /// Looked at where the plan, or the channels that use the repeater, name a service. What the emission occupies
    /// counts, not the carrier alone. An assignment of a license to a repeater decides over the service. A warning where
    /// the condition is from memory.
    ///
    /// ## On the air
    /// A repeater holds its frequency over a whole district: in a service of short simplex calls it shuts everybody else
    /// out.
    ///
    /// ## Source
    /// The service's rule, which the message names, such as 47 CFR 97.205(b). The license and the rules in force decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor club"
    /// regime = "us-part-97"
    ///
    /// [[license]]
    /// name = "club"
    ///
    /// [[repeater]]
    /// name = "mole"
    /// tx_mhz = 145.74
    /// rx_mhz = 145.14
    /// mode = "analog"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor club"
    /// regime = "us-part-97"
    ///
    /// [[license]]
    /// name = "club"
    ///
    /// [[repeater]]
    /// name = "mole"
    /// tx_mhz = 144.54
    /// rx_mhz = 145.14
    /// mode = "analog"
    /// ```
    pub RepeaterNotPermitted = "repeater-not-permitted" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<repeater::Table>, view, out) {
        let mut told: Vec<Given> = Vec::new();
        for sent in sent_in_service(view, it.id()) {
            let Some((why, source)) = not_permitted(view, &sent).filter(|_| !told.contains(&sent.given)) else { continue };
            told.push(sent.given);
            let side = if sent.given == Given::Output { "sends" } else { "receives" };
            out.report(
                Anchor::Value(it.id(), sent.at),
                format!(
                    "{} {side} on {} MHz, {why} ({source}): it shuts everybody else out there. Correct the frequency, or name the service that it is of",
                    view.called(it.id()),
                    sent.carrier,
                ),
            )
            .about(&sent.carrier.0)
            .level(level_of(source));
        }
    }
}

const REPEATER: Sender<'static> =
    Sender { model: None, stations: &[Station::Repeater], transmitter: None, stability_ppm: None };

/// Why a repeater may not be there, and where that stands.
fn not_permitted<'v>(view: View<'v>, sent: &Sent<'v>) -> Option<(String, &'v Source)> {
    let service = sent.service.filter(|_| sent.channel.is_none())?;
    let terms = service.terms();
    let (why, source) = if terms.repeaters.value {
        let occupied = Band::around(sent.carrier, sent.necessary().unwrap_or(sent.width)).ok()?;
        let closed = service.repeater_exclusion(occupied)?;
        (format!("in {}, which {} closes to repeaters", closed.value, named(service)), &closed.source)
    } else if sent.given == Given::Output {
        (format!("and {} has no repeaters", named(service)), &terms.repeaters.source)
    } else {
        return None;
    };
    let is_told = is_told_elsewhere(view, sent) || !table_speaks(view, sent, REPEATER, Term::Carrier);
    (!is_told).then_some((why, source))
}

/// Whether the rule has something to say of a transmission of a repeater.
pub(super) fn is_told<'v>(view: View<'v>, sent: &Sent<'v>) -> bool {
    not_permitted(view, sent).is_some()
}
