use super::sent::{Given, Sent, Term, UNKNOWN, is_told_elsewhere, level_of, named, sent_in_service, table_speaks};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::View;
use guywire_radio::Hertz;
use guywire_radio::regime::{Place, Regime};

rule! {
    /// A channel or a repeater sends on a carrier that its radio service does not have: between the channels of its table,
    /// or outside its bands.
    ///
    /// Looked at where the plan or the channel names a service. What is only received is not judged. An assignment of a
    /// license that has the carrier decides over the service; a license for all of a service does not. A warning where
    /// the extent of the service is from memory.
    ///
    /// ## On the air
    /// The transmission lies between two channels and disturbs both, or is somebody else's spectrum altogether.
    ///
    /// ## Source
    /// The service's rule, which the message names. The license and the rules in force decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// regime = "eu-446"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 446.01
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// regime = "eu-446"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 446.00625
    /// ```
    pub OutsideService = "outside-service" { family: Band, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let mut told: Vec<Given> = Vec::new();
        for sent in sent_in_service(view, it) {
            let Some(where_it_is) = outside(view, &sent) else { continue };
            let Some(service) = sent.service.filter(|_| !told.contains(&sent.given)) else { continue };
            told.push(sent.given);
            let source = &service.terms().coverage;
            out.report(
                Anchor::Value(it, sent.at),
                format!(
                    "{} on {} MHz, {where_it_is} ({source}): it disturbs others there, and no rule permits it. Correct the frequency, or name the service that it is of",
                    sent.does(view),
                    sent.carrier,
                ),
            )
            .about(&sent.carrier.0)
            .level(level_of(source));
        }
    }
}

/// Where a carrier lies that the service does not have; none where it has it, or another rule says what is wrong.
fn outside<'v>(view: View<'v>, sent: &Sent<'v>) -> Option<String> {
    let service = sent.service.filter(|_| sent.tells_carrier())?;
    let where_it_is = match service.place(sent.carrier) {
        Place::Channel(_) | Place::Band(_) => return None,
        Place::BetweenChannels(nearest) => format!(
            "between the channels of {}: the nearest is {} on {} MHz",
            named(service),
            nearest.label,
            nearest.carrier
        ),
        Place::Outside => format!("outside {}{}", named(service), nearest(service, sent.carrier)),
    };
    let is_told = is_told_elsewhere(view, sent) || !table_speaks(view, sent, UNKNOWN, Term::Carrier);
    (!is_told).then_some(where_it_is)
}

/// The edge or channel nearest to a carrier, as the end of a sentence.
fn nearest(service: &Regime, carrier: Hertz) -> String {
    let terms = service.terms();
    let edges = terms.bands.iter().flat_map(|it| [it.band.low(), it.band.high()]);
    let carriers = terms.channels.iter().map(|it| it.carrier);
    let nearest = edges.chain(carriers).min_by_key(|it| it.spacing(carrier));
    nearest.map(|it| format!(", which comes no nearer than {it} MHz")).unwrap_or_default()
}
