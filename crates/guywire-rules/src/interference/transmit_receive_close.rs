use super::{input, receivers};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{repeater, site, site__duplexer};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A repeater's output and input are closer than the duplexer of its site separates, or the duplexer separates them
    /// too little.
    ///
    /// A site without a duplexer is left alone: its antennas may stand far enough apart.
    ///
    /// ## On the air
    /// The repeater's own transmitter deafens its receiver: radios far away open it only while it is silent, and calls
    /// chop.
    ///
    /// ## Options
    /// `least_isolation_db`: least attenuation between transmitter and receiver, in dB; 50 unless set.
    ///
    /// ## Source
    /// The data of the duplexer; 50 dB is common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// duplexer = { spacing_mhz = 5, isolation_db = 75 }
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 456.2125
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// duplexer = { spacing_mhz = 5, isolation_db = 75 }
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    pub TransmitReceiveClose = "transmit-receive-close" {
        family: Interference, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[OptionSpec {
            name: "least_isolation_db",
            default: 50.0,
            doc: "Least attenuation between transmitter and receiver, in dB.",
        }],
    }
    fn check(it: Each<site::Table>, view, out) {
        let Known::Is(duplexer) = it.part::<site__duplexer::Table>(site::duplexer) else { return };
        let repeaters = receivers(view, it);
        let at = |field: u8| {
            Anchor::Value(it.id(), FieldPath::key(site::duplexer.number()).then(field as usize))
        };
        let least_db = out.option("least_isolation_db");
        if let Known::Is(isolation_db) = duplexer.number(site__duplexer::isolation_db)
            && isolation_db < least_db
            && !repeaters.is_empty()
        {
            let message = format!(
                "the duplexer of {} keeps {isolation_db} dB between transmitter and receiver, and at least {least_db} dB are wanted: the repeater deafens itself. Have it tuned, or replace it",
                view.called(it.id()),
            );
            out.report(at(site__duplexer::isolation_db.number()), message);
        }
        let Known::Is(spacing) = duplexer.frequency(site__duplexer::spacing_mhz) else { return };
        for (repeater, receiver) in repeaters {
            let Known::Is(output) = repeater.frequency(repeater::tx_mhz) else { continue };
            let apart = output.spacing(receiver.frequency());
            if apart >= spacing {
                continue;
            }
            let message = format!(
                "output and input of {} are {apart} MHz apart, and the duplexer of {} is built for {spacing} MHz or more: the repeater deafens itself. Correct the pair, or have another duplexer fitted and measured",
                view.called(repeater.id()),
                view.called(it.id()),
            );
            out.report(input(repeater), message)
                .related(at(site__duplexer::spacing_mhz.number()), format!("built for {spacing} MHz"));
        }
    }
}
