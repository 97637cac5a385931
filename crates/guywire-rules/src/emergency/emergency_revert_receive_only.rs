use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, emergency};
use guywire_plan::{FieldPath, Known, Sends};

rule! {
    /// An emergency goes out on a channel that cannot send.
    ///
    /// ## On the air
    /// Nothing: the radio goes to a channel that is receive only, and the alarm stays in it.
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
    /// sends = "alarm"
    /// revert = "Tides"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Tides"
    /// sends = "nothing"
    /// rx_mhz = 464.9375
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// sends = "alarm"
    /// revert = "Berths"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Tides"
    /// sends = "nothing"
    /// rx_mhz = 464.9375
    /// ```
    pub EmergencyRevertReceiveOnly = "emergency-revert-receive-only" {
        family: Emergency, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<emergency::Table>, view, out) {
        let Known::Is(channel) = view.named::<channel::Table, _>(it, emergency::revert) else { return };
        let Some(effective) = view.channel(channel.id()) else { return };
        if effective.sends != Known::Is(Sends::Nothing) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(emergency::revert.number())),
            format!(
                "{} goes out on {}, which is receive only: no alarm leaves the radio. Name a channel that sends and that somebody listens to",
                view.called(it.id()),
                view.called(channel.id()),
            ),
        )
        .related(Anchor::Value(channel.id(), FieldPath::key(channel::sends.number())), "it sends nothing");
    }
}
