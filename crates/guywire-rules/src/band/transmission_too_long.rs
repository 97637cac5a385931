use super::sent::named;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::channel;
use guywire_plan::{FieldPath, Known, Row, Sends};

rule! {
    /// A channel lets its radios send longer without a break than its radio service allows, or without end.
    ///
    /// A channel that writes no `time_out_s` is not judged here; 0 is no limit.
    ///
    /// ## On the air
    /// A press that sticks holds a frequency that others have the same right to.
    ///
    /// ## Source
    /// The service's rule, which the message names, such as EN 300 296 for 446 MHz.
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
    /// rx_mhz = 446.00625
    /// time_out_s = 240
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
    /// time_out_s = 180
    /// ```
    pub TransmissionTooLong = "transmission-too-long" {
        family: Band, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(time_out) = it.whole(channel::time_out_s) else { return };
        if !view.channel(it.id()).is_some_and(|effective| matches!(effective.sends, Known::Is(Sends::Digital | Sends::Analog))) {
            return;
        }
        let Some(service) = view.service(Some(it)) else { return };
        let Some(longest) = &service.terms().longest_transmission_s else { return };
        if time_out > 0 && time_out <= i64::from(longest.value) {
            return;
        }
        let lasts = if time_out == 0 { "without end".to_owned() } else { format!("for {time_out} s") };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::time_out_s.number())),
            format!(
                "{} may send {lasts}, and {} allows {} s at a time ({}): a press that sticks holds the frequency. Shorten it",
                view.called(it.id()),
                named(service),
                longest.value,
                longest.source,
            ),
        )
        .about(&time_out);
    }
}
