use super::conditions::{meet, period_of_channel};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::regime__channel as channel;
use guywire_plan::{FieldPath, Ref, Row};
use guywire_radio::Hertz;

rule! {
    /// One carrier stands in two channels of a radio service.
    ///
    /// Plans meet a channel by its carrier, on the side that sends as on the one that receives. A channel on two
    /// frequencies serves those who send direct on the side that it receives, so they need no second entry. Channels whose dates
    /// have no day in common are left out.
    ///
    /// ## On the air
    /// Nothing, but which condition holds is not known, so no plan can be checked against the service.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[channel]]
    /// name = "Q7"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Q8"
    /// rx_mhz = 453.2125
    /// ```
    ///
    /// ## Good
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[channel]]
    /// name = "Q7"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Q8"
    /// rx_mhz = 453.2250
    /// ```
    pub RegimeCarrierTwice = "regime-carrier-twice" { family: Regime, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(file) = view.file_of(it.id()) else { return };
        for (own_at, carrier) in carriers(it) {
            for other in view.members::<channel::Table>(file).into_iter().filter(|other| other.id() != it.id()) {
                let same = carriers(other).into_iter().find(|(_, theirs)| *theirs == carrier);
                let Some((their_at, _)) = same.filter(|_| meet(period_of_channel(it), period_of_channel(other))) else {
                    continue;
                };
                out.report(
                    Anchor::Value(it.id(), own_at),
                    format!(
                        "{carrier} MHz stands in two channels: two conditions hold there, so no plan is checked against the service. Correct one, or merge them"
                    ),
                )
                .about(&carrier.0)
                .about(other.text(channel::name).value().map(|name| view.symbol(name)).unwrap_or_default())
                .related(Anchor::Value(other.id(), their_at), "the other channel");
            }
        }
    }
}

/// The carriers of a channel, each with its place.
fn carriers(it: Ref<'_, channel::Table>) -> Vec<(FieldPath, Hertz)> {
    let rx = it.frequency(channel::rx_mhz).value();
    let tx = it.frequency(channel::tx_mhz).value().filter(|tx| Some(*tx) != rx);
    let sides = [(channel::rx_mhz.number(), rx), (channel::tx_mhz.number(), tx)];
    sides.into_iter().filter_map(|(field, carrier)| Some((FieldPath::key(field), carrier?))).collect()
}
