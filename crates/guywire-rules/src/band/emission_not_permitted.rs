use super::sent::{Sent, Term, UNKNOWN, barred, level_of, named, sent_in_service, table_speaks};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::{Sends, View};
use guywire_radio::Source;
use guywire_radio::emission::{Kind, TWO_SLOT_KINDS, usual_analog_voice};
use guywire_radio::regime::Place;

rule! {
    /// A channel or a repeater sends what its radio service does not permit there: digital speech where only analog is
    /// listed, or the other way round.
    ///
    /// Looked at where the plan or the channel names a service with such a list. Digital counts as permitted under any
    /// designator that is written for two-slot speech (`FXE`, `F1E`, `F7E`, `FXW` and their like). An assignment of a
    /// license that names emissions decides over the service. A warning where the list is from memory.
    ///
    /// ## On the air
    /// Those who share the service hear a rasp in the place of speech, and cannot answer; no license covers it.
    ///
    /// ## Source
    /// The service's rule, which the message names. The license and the rules in force decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// regime = "us-part-95-family"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "digital"
    /// rx_mhz = 462.5625
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// regime = "us-part-95-family"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 462.5625
    /// ```
    pub EmissionNotPermitted = "emission-not-permitted" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let mut told: Vec<Sends> = Vec::new();
        for sent in sent_in_service(view, it) {
            let Some(source) = not_permitted(view, &sent).filter(|_| !told.contains(&sent.mode)) else { continue };
            told.push(sent.mode);
            let service = sent.service.map(named).unwrap_or_default();
            out.report(
                Anchor::Value(it, sent.mode_at),
                format!(
                    "{} {} on {} MHz, which {service} does not permit there ({source}): others hear noise, and no rule permits it. Send what is permitted, or take a frequency of another service",
                    sent.does(view),
                    sent.mode_word(),
                    sent.carrier,
                ),
            )
            .about(sent.mode_word())
            .level(level_of(source));
        }
    }
}

/// The source that bars what is sent where it is sent.
fn not_permitted<'v>(view: View<'v>, sent: &Sent<'v>) -> Option<&'v Source> {
    let service = sent.service.filter(|_| sent.tells_emission())?;
    let place = service.place(sent.carrier);
    if matches!(place, Place::Outside | Place::BetweenChannels(_)) || barred(place, UNKNOWN).is_some() {
        return None;
    }
    let kinds: Vec<Kind> = match sent.mode {
        Sends::Digital => TWO_SLOT_KINDS.to_vec(),
        // The symbols of analog speech are the same at every width.
        _ => vec![usual_analog_voice(guywire_plan::USUAL_WIDTH)?.kind()],
    };
    let barring: Option<Vec<&Source>> = kinds.into_iter().map(|kind| service.bars_emission(place, kind)).collect();
    let source = barring?.first().copied()?;
    table_speaks(view, sent, UNKNOWN, Term::Emission).then_some(source)
}

/// Whether the rule has something to say of a transmission.
pub(super) fn is_told<'v>(view: View<'v>, sent: &Sent<'v>) -> bool {
    not_permitted(view, sent).is_some()
}
