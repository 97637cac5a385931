use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{Field, repeater, signaling};
use guywire_plan::{FieldPath, Known, Ref, Row, View};

/// Hang times of a repeater, of the radios, and what they are of.
const HANGS: [(Field<repeater::Table>, Field<signaling::Table>, &str); 2] = [
    (repeater::group_hang_ms, signaling::group_hang_ms, "group"),
    (repeater::individual_hang_ms, signaling::individual_hang_ms, "individual"),
];

rule! {
    /// A repeater holds the slot after a call for another time than the radios hold the call, or for less after an
    /// emergency than after a group call.
    ///
    /// ## On the air
    /// Where the repeater's time is shorter, others take the slot while radios still show the call, and the answer is lost
    /// or goes to the wrong group. Where it is longer, the slot is held while radios have gone back to their own group, and
    /// they are refused.
    ///
    /// ## Options
    /// `tolerance_ms`: difference that is left alone, in milliseconds; 1000 unless set.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [signaling]
    /// group_hang_ms = 5000
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// group_hang_ms = 2000
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [signaling]
    /// group_hang_ms = 5000
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// group_hang_ms = 5000
    /// ```
    pub HangDiffersFromRepeater = "hang-differs-from-repeater" {
        family: Timing, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[OptionSpec {
            name: "tolerance_ms",
            default: 1000.0,
            doc: "Difference that is left alone, in milliseconds.",
        }],
    }
    fn check(it: Each<repeater::Table>, view, out) {
        emergency(view, it, out);
        let written = HANGS.iter().any(|(field, ..)| it.has(*field));
        if it.text(repeater::mode).value().is_some_and(|mode| view.symbol(mode) == "analog") || !written {
            return;
        }
        let all = view.all::<signaling::Table>();
        let [signaling] = all.as_slice() else { return };
        for (of_repeater, of_radios, what) in HANGS {
            let (Known::Is(its_ms), Known::Is(theirs_ms)) = (it.whole(of_repeater), signaling.whole(of_radios)) else {
                continue;
            };
            if its_ms.abs_diff(theirs_ms) as f64 <= out.option("tolerance_ms") {
                continue;
            }
            let happens = if its_ms < theirs_ms {
                "others take the slot while radios still hold the call, and answers are lost"
            } else {
                "the slot is held when radios have left the call, and they are refused"
            };
            let message = format!(
                "{} holds the slot for {its_ms} ms after {} {what} call, and the radios hold the call for {theirs_ms} ms: {happens}. Use one time for both",
                view.called(it.id()),
                if what == "individual" { "an" } else { "a" },
            );
            out.report(Anchor::Value(it.id(), FieldPath::key(of_repeater.number())), message).related(
                Anchor::Value(signaling.id(), FieldPath::key(of_radios.number())),
                format!("the radios' time after {what} calls: {theirs_ms} ms"),
            );
        }
    }
}

fn emergency(view: View<'_>, it: Ref<'_, repeater::Table>, out: &mut Sink<'_>) {
    let hang = |field| it.whole(field);
    let (Known::Is(group_ms), Known::Is(emergency_ms)) =
        (hang(repeater::group_hang_ms), hang(repeater::emergency_hang_ms))
    else {
        return;
    };
    if emergency_ms >= group_ms {
        return;
    }
    let at = |field: Field<repeater::Table>| Anchor::Value(it.id(), FieldPath::key(field.number()));
    out.report(
        at(repeater::emergency_hang_ms),
        format!(
            "{} holds the slot for {emergency_ms} ms after an emergency call and for {group_ms} ms after a group call: others take it from an emergency sooner than from talk. Make it as long at least",
            view.called(it.id()),
        ),
    )
    .related(at(repeater::group_hang_ms), format!("after a group call: {group_ms} ms"));
}
