use super::{NEAR_M, input, receivers, transmitters, with_transmitters};
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::Transmitter;
use guywire_plan::language::site;
use guywire_radio::interference::Carrier;

rule! {
    /// A harmonic of a transmitter falls on the input of a repeater at the same site.
    ///
    /// Looked at are multiples from 2 to 5 of transmitters whose written output is over `over_w`. The n-th harmonic is n
    /// times as wide as the carrier.
    ///
    /// ## On the air
    /// While the transmitter is on, the repeater hears its harmonic: weak radios do not open it, or it opens by itself.
    ///
    /// ## Options
    /// `near_m`: sites nearer than this are one place, in meters; 100 unless set, at most 1000.
    ///
    /// `over_w`: output from which on a transmitter counts, in watts; 1 unless set.
    ///
    /// ## Source
    /// Computed; that a watt matters is common practice, no source.
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
    /// name = "fog signal"
    /// tx_mhz = 152.7375
    /// bandwidth_khz = 12.5
    /// power_w = 40
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
    /// name = "fog signal"
    /// tx_mhz = 152.9375
    /// bandwidth_khz = 12.5
    /// power_w = 40
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    pub HarmonicOnReceive = "harmonic-on-receive" {
        family: Interference, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[
            NEAR_M,
            OptionSpec { name: "over_w", default: 1.0, doc: "Output over which a transmitter counts, in watts." },
        ],
    }
    fn check(it: Each<site::Table>, view, out) {
        let victims = receivers(view, it);
        if victims.is_empty() {
            return;
        }
        let over_w = out.option("over_w");
        let mut strong = transmitters(view, it, out.option("near_m"));
        strong.retain(|sender| sender.power_w.is_some_and(|watts| watts > over_w));
        for (victim, receiver) in victims {
            let hits: Vec<(Transmitter, u8)> =
                strong.iter().filter_map(|sender| Some((*sender, harmonic(*sender, receiver)?))).collect();
            let said = hits.iter().map(|(sender, n)| {
                (sender.frequency, format!("harmonic {n} of {} MHz ({})", sender.frequency, view.transmitter_called(*sender)))
            });
            let Some((_, first)) = said.min() else { continue };
            let message = format!(
                "{first} falls on the input {} MHz of {}{}: while it is on, weak radios do not open the repeater. Have a filter fitted and measured, or move one of them",
                receiver.frequency(),
                view.called(victim.id()),
                if hits.len() > 1 { ", and it is not the only one" } else { "" },
            );
            let senders: Vec<Transmitter> = hits.iter().map(|(sender, _)| *sender).collect();
            with_transmitters(out.report(input(victim), message), view, &senders);
        }
    }
}

fn harmonic(sender: Transmitter, receiver: Carrier) -> Option<u8> {
    sender.carrier()?.harmonic_on(receiver)
}
