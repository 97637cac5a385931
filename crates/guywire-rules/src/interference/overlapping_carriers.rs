use super::{NEAR_M, named, transmitters, with_transmitters};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::Transmitter;
use guywire_plan::language::site;

rule! {
    /// The output of a repeater overlaps the carrier of another transmitter at the same site.
    ///
    /// Two carriers overlap where they are closer than half the sum of their widths. Transmitters on one and the same
    /// frequency have a rule of their own; a co-tenant whose width is not written is left alone.
    ///
    /// ## On the air
    /// Whoever listens to one hears the edge of the other as noise wherever both are on, in all of the area that they cover.
    ///
    /// ## Options
    /// `near_m`: sites nearer than this are one place, in meters; 100 unless set, at most 1000.
    ///
    /// ## Source
    /// Widths of channels as the plan says; the overlap is computed.
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
    /// tx_mhz = 453.225
    /// bandwidth_khz = 20
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
    /// tx_mhz = 453.2375
    /// bandwidth_khz = 20
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    pub OverlappingCarriers = "overlapping-carriers" {
        family: Interference, level: Warning, judged: PerPlan, since: "0.1.0", options: &[NEAR_M],
    }
    fn check(it: Each<site::Table>, view, out) {
        let own: Vec<Transmitter> = view.transmitters_at(it).into_iter().filter(|own| own.repeater.is_some()).collect();
        if own.is_empty() {
            return;
        }
        let all = transmitters(view, it, out.option("near_m"));
        for sender in own {
            let others: Vec<Transmitter> = all.iter().filter(|other| overlap(sender, **other)).copied().collect();
            if others.is_empty() {
                continue;
            }
            let message = format!(
                "the output {} MHz of {} overlaps {} at the same place: listeners to each hear the edge of the other as noise. Move one of them, or make it narrower",
                sender.frequency,
                view.transmitter_called(sender),
                named(view, &others),
            );
            with_transmitters(out.report(Anchor::Value(sender.at.0, sender.at.1), message), view, &others);
        }
    }
}

fn overlap(one: Transmitter, other: Transmitter) -> bool {
    let written = one.width.is_some() && other.width.is_some() && one.frequency != other.frequency;
    written && one.carrier().zip(other.carrier()).is_some_and(|(one, other)| one.overlaps(other))
}
