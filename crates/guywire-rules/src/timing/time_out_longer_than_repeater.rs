use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The time-out timer of a channel is longer than that of the repeater that it goes through.
    ///
    /// A repeater timer of 0 is none, and is left alone.
    ///
    /// ## On the air
    /// The repeater drops a long call in the middle while the radio goes on sending, and its user does not know it: the
    /// warning tone before the radio's own timer comes too late.
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
    /// time_out_s = 120
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// time_out_s = 180
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
    /// time_out_s = 120
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// time_out_s = 60
    /// ```
    pub TimeOutLongerThanRepeater = "time-out-longer-than-repeater" {
        family: Timing, level: Warning, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(own_s) = it.whole(channel::time_out_s) else { return };
        let Known::Is(repeater) = view.repeater_of(it) else { return };
        let Known::Is(its_s) = repeater.whole(repeater::time_out_s) else { return };
        let Some(effective) = view.channel(it.id()) else { return };
        let goes_through = effective.tx.value().is_some() && effective.tx == repeater.frequency(repeater::rx_mhz);
        if its_s == 0 || own_s <= its_s || !goes_through {
            return;
        }
        let path = FieldPath::key(channel::time_out_s.number());
        out.report(
            Anchor::Value(it.id(), path),
            format!(
                "the time-out timer of {} runs for {own_s} s and that of {} for {its_s} s: the repeater drops a long call while the radio goes on sending. Set it to {its_s} s or less",
                view.called(it.id()),
                view.called(repeater.id()),
            ),
        )
        .related(
            Anchor::Value(repeater.id(), FieldPath::key(repeater::time_out_s.number())),
            format!("the repeater's timer: {its_s} s"),
        )
        .fix(|| {
            Some(Fix {
                title: format!("Set the timer to {its_s} s{}", view.touching(it.id())),
                safety: Safety::Choice,
                edits: vec![Edit::Set(it.id(), path, its_s.to_string())],
            })
        });
    }
}
