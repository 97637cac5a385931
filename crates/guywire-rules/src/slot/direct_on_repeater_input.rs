use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{Bucket, FieldPath, Known, Row};

rule! {
    /// A channel sends and receives on one frequency, and that is the input of a repeater that the plan knows.
    ///
    /// Talk-around is left out: it uses the output.
    ///
    /// ## On the air
    /// Each transmission may open the repeater or disturb those who go through it, and those who listen to the output do
    /// not hear it direct.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[channel]]
    /// name = "Quay direct"
    /// sends = "digital"
    /// rx_mhz = 458.2125
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[channel]]
    /// name = "Quay direct"
    /// sends = "digital"
    /// rx_mhz = 456.4625
    /// ```
    pub DirectOnRepeaterInput = "direct-on-repeater-input" {
        family: Slot, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(effective) = view.channel(it.id()) else { return };
        let (Known::Is(rx), Known::Is(tx)) = (effective.rx, effective.tx) else { return };
        if rx != tx || it.truth(channel::talk_around) == Known::Is(true) {
            return;
        }
        // One that opens a repeater has a finding of its own.
        if !super::simplex_keys_repeater::opened(view, it).is_empty() {
            return;
        }
        for repeater in view.alike_of::<repeater::Table>(Bucket::Input(view.viewer(), tx)) {
            let other_output = repeater.frequency(repeater::tx_mhz).value().is_some_and(|output| output != tx);
            if !other_output || effective.repeater == Some(repeater.id()) {
                continue;
            }
            let name = repeater.name().unwrap_or_default();
            let written = if it.has(channel::rx_mhz) { channel::rx_mhz } else { channel::repeater };
            out.report(
                Anchor::Value(it.id(), FieldPath::key(written.number())),
                format!(
                    "{} sends direct on {tx} MHz, the input of repeater \"{name}\": it may open the repeater or disturb those who go through it. Use a frequency of its own, or `talk_around` on the output",
                    view.called(it.id()),
                ),
            )
            .about(name)
            .related(
                Anchor::Value(repeater.id(), FieldPath::key(repeater::rx_mhz.number())),
                format!("the input of repeater \"{name}\""),
            );
        }
    }
}
