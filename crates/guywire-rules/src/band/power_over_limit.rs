use super::sent::{Given, Sent, Term, barred, level_of, sent_in_service, table_speaks, today, watts, with_model};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Row, Sender, View};
use guywire_radio::power::PowerKind;
use guywire_radio::regime::PowerOver;

rule! {
    /// A channel or a repeater sends with more power than its radio service permits there.
    ///
    /// Like is compared with like: a limit on the output with the output, a limit on radiated power with what the antenna
    /// radiates. The antenna of a handheld is that of its model file; that of a repeater is known where gain and feedline
    /// loss are written; that of a vehicle or a desk is not, since its cable is not. Where it is not known, a limit on
    /// radiated power says nothing. Judged for each model that holds the channel, as the station that its kind may be
    /// with the highest limit. An assignment of a license that states a power decides over the service. A warning where
    /// the limit is from memory.
    ///
    /// ## On the air
    /// It carries further than the service allows for, into places where others use the frequency.
    ///
    /// ## Source
    /// The service's rule, which the message names. The license and the rules in force decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// model = "models/vhf.model.toml"
    /// regime = "us-part-95-multi-use"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 151.82
    /// power = "high"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// model = "models/vhf.model.toml"
    /// regime = "us-part-95-multi-use"
    ///
    /// [[channel]]
    /// name = "Visitors"
    /// sends = "analog"
    /// rx_mhz = 151.82
    /// power = "low"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/vhf.model.toml
    /// [model]
    /// name = "vhf"
    /// kind = "handheld"
    ///
    /// [[model.power]]
    /// level = "high"
    /// watts = 5.0
    ///
    /// [[model.power]]
    /// level = "low"
    /// watts = 2.0
    /// ```
    pub PowerOverLimit = "power-over-limit" { family: Band, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let all = sent_in_service(view, it);
        // Both modes of a repeater are sent with one power.
        let Some(sent) = all.iter().find(|sent| sent.given != Given::Input) else { return };
        for sender in sent.senders(view) {
            let Some(over) = over(view, sent, sender) else { continue };
            let limit = over.limit;
            let counted = match limit.limit.kind() {
                PowerKind::Output => "",
                PowerKind::PeakEnvelope => " of peak envelope power",
                PowerKind::Erp => " ERP",
                PowerKind::Eirp => " EIRP",
            };
            out.report(
                Anchor::Value(it, power_at(sent)),
                format!(
                    "{} {}{counted}{} on {} MHz, and a {} station may have {} ({}): it carries further than the service allows for. Lower the power",
                    sent.does(view),
                    watts(over.actual_w),
                    with_model(sender),
                    sent.carrier,
                    over.station,
                    limit.limit,
                    limit.source,
                ),
            )
            .about(sender.name().unwrap_or_default())
            .about(&sent.carrier.0)
            .level(level_of(&limit.source));
        }
    }
}

fn over<'v>(view: View<'v>, sent: &Sent<'v>, sender: Sender<'v>) -> Option<PowerOver<'v>> {
    let (place, transmitter) = (sent.place()?, sender.transmitter?);
    if sender.stations.is_empty() || barred(place, sender).is_some() {
        return None;
    }
    let over = place.power_over(sender.stations, transmitter, today(view)?)?;
    table_speaks(view, sent, sender, Term::Power).then_some(over)
}

/// The key that gives the power: a level, the most that a channel may use, or a repeater's output.
pub(super) fn power_at(sent: &Sent<'_>) -> FieldPath {
    let field = match sent.channel {
        None => repeater::power_w.number(),
        Some(channel) if channel.has(channel::power) || !channel.has(channel::power_at_most_w) => {
            channel::power.number()
        }
        Some(_) => channel::power_at_most_w.number(),
    };
    FieldPath::key(field)
}
