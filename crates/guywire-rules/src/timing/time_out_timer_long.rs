use crate::finding::Anchor;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::channel;
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The time-out timer of a channel is so long that it hardly protects the channel.
    ///
    /// Where the radio service limits a transmission, `transmission-too-long` speaks instead.
    ///
    /// ## On the air
    /// A stuck key blocks the channel for as long as the timer runs.
    ///
    /// ## Options
    /// `longest_s`: longest timer, in seconds; 300 unless set.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// time_out_s = 600
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// time_out_s = 60
    /// ```
    pub TimeOutTimerLong = "time-out-timer-long" {
        family: Timing, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[OptionSpec { name: "longest_s", default: 300.0, doc: "Longest timer, in seconds." }],
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(seconds) = it.whole(channel::time_out_s) else { return };
        let longest_s = out.option("longest_s");
        let sends = it.text(channel::sends).value().map(|word| view.symbol(word));
        if !matches!(sends, Some("digital" | "analog")) || seconds as f64 <= longest_s || super::has_limit(view, it) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::time_out_s.number())),
            format!(
                "the time-out timer of {} runs for {seconds} s (limit {longest_s} s): a stuck key blocks the channel that long. Set it to what the longest message needs",
                view.called(it.id()),
            ),
        );
    }
}
