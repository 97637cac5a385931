use super::{NEAR_M, input, named, receivers, transmitters, with_transmitters};
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{site, site__duplexer};
use guywire_plan::{Row, Transmitter};
use guywire_radio::interference::Carrier;

rule! {
    /// A transmitter of a site is on the channel beside the input of a repeater there, or on it.
    ///
    /// Beside is closer than `channels_apart` times the mean of the two widths. A repeater's output on another's input
    /// is not counted: that is a chain of repeaters. A repeater's own pair is left to `transmit-receive-close` where the
    /// site has a duplexer.
    ///
    /// ## On the air
    /// A transmitter puts a little of its power on the channels beside it, and a receiver hears a little of those beside
    /// its own. Kilometers apart nobody notices; on one mast the repeater hears nothing else.
    ///
    /// ## Options
    /// `near_m`: sites nearer than this are one place, in meters; 100 unless set, at most 1000.
    ///
    /// `channels_apart`: least distance, in channels; 1.5 unless set.
    ///
    /// ## Source
    /// EN 300 086 asks of both ends 60 dB at 12.5 kHz and 70 dB at 20 and 25 kHz (from memory); how far to stay away is
    /// common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    ///
    /// [[site.other]]
    /// name = "tide readings"
    /// tx_mhz = 458.225
    /// bandwidth_khz = 12.5
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    ///
    /// [[site.other]]
    /// name = "tide readings"
    /// tx_mhz = 458.725
    /// bandwidth_khz = 12.5
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    pub AdjacentChannelClose = "adjacent-channel-close" {
        family: Interference, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[
            NEAR_M,
            OptionSpec { name: "channels_apart", default: 1.5, doc: "Least distance, in channels." },
        ],
    }
    fn check(it: Each<site::Table>, view, out) {
        let victims = receivers(view, it);
        if victims.is_empty() {
            return;
        }
        let channels_apart = out.option("channels_apart");
        let senders = transmitters(view, it, out.option("near_m"));
        let has_duplexer = it.part::<site__duplexer::Table>(site::duplexer).value().is_some();
        for (victim, receiver) in victims {
            let is_told_elsewhere = |sender: Transmitter| {
                let is_own_pair = sender.repeater == Some(victim.id()) && has_duplexer;
                is_own_pair || is_chain(sender, receiver)
            };
            let is_beside = |sender: &&Transmitter| {
                !is_told_elsewhere(**sender) && is_close(**sender, receiver, channels_apart)
            };
            let beside: Vec<Transmitter> = senders.iter().filter(is_beside).copied().collect();
            if beside.is_empty() {
                continue;
            }
            let message = format!(
                "{} is at the same place as the receiver of {} on {} MHz, and on that channel or beside it: while it is on, the repeater hears nothing else. Move one of them, by frequency or by place",
                named(view, &beside),
                view.called(victim.id()),
                receiver.frequency(),
            );
            with_transmitters(out.report(input(victim), message), view, &beside);
        }
    }
}

/// A repeater that sends on another's input.
fn is_chain(sender: Transmitter, receiver: Carrier) -> bool {
    sender.repeater.is_some() && sender.frequency == receiver.frequency()
}

fn is_close(sender: Transmitter, receiver: Carrier, channels_apart: f64) -> bool {
    let Some(carrier) = sender.carrier() else { return false };
    let mean_hz = (carrier.width() + receiver.width()).as_hz() / 2.0;
    carrier.frequency().spacing(receiver.frequency()).as_hz() < mean_hz * channels_apart
}
