use guywire_plan::audience::{Emission, Signal};
use guywire_plan::language::repeater;
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, View};
use guywire_radio::Hertz;

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// A repeater hears over others what it has sent itself: what it repeats opens another, whose output opens it again. Or its
    /// output is its own input.
    ///
    /// A digital repeater is opened by radios only, not by the sync pattern of another repeater, and is left out.
    ///
    /// ## On the air
    /// The first press keys all of them, and they hold each other open until somebody switches one off.
    ///
    /// ## Source
    /// Common practice, no source. Sync patterns: ETSI TS 102 361-1, clause 9.1.1.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// mode = "analog"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[repeater]]
    /// name = "mole"
    /// mode = "analog"
    /// tx_mhz = 458.2125
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "analog"
    /// repeater = "beacon"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "analog"
    /// rx_mhz = 453.4625
    ///
    /// [[channel]]
    /// name = "Mole"
    /// sends = "analog"
    /// repeater = "mole"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Hooks", "Mole"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// mode = "analog"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[repeater]]
    /// name = "mole"
    /// mode = "analog"
    /// tx_mhz = 458.4625
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "analog"
    /// repeater = "beacon"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "analog"
    /// rx_mhz = 453.4625
    ///
    /// [[channel]]
    /// name = "Mole"
    /// sends = "analog"
    /// repeater = "mole"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Hooks", "Mole"]
    /// ```
    pub RepeaterLoop = "repeater-loop" {
        family: Slot, level: Error, judged: PerPlan, reads: Audience, since: "0.1.0",
    }
    fn check(it: Each<repeater::Table>, view, out) {
        let (Known::Is(input), Known::Is(output)) = (it.frequency(repeater::rx_mhz), it.frequency(repeater::tx_mhz)) else { return };
        let at = FieldPath::key(repeater::tx_mhz.number());
        if input == output {
            out.report(
                Anchor::Value(it.id(), at),
                format!("{} sends on its own input, {input} MHz: it hears itself and cannot repeat. Give it two frequencies", view.called(it.id())),
            )
            .about("own");
            return;
        }
        let Some(through) = loops_over(view, it, input) else { return };
        let mut names: Vec<(&str, EntityId)> = through.into_iter().filter_map(|id| Some((view.name_of(id)?, id))).collect();
        names.sort_by_key(|(name, _)| *name);
        let Some((name, _)) = names.first() else { return };
        let out = out
            .report(
                Anchor::Value(it.id(), at),
                format!(
                    "what {} sends opens repeater \"{name}\", and comes back to its own input: the first press keys both, and they hold each other open. Give one of them another frequency or tone",
                    view.called(it.id()),
                ),
            )
            .about(name);
        names.iter().fold(out, |out, (name, id)| {
            out.related(Anchor::Header(*id), format!("repeater \"{name}\" is on the way"))
        });
    }
}

/// The repeaters over which an analog call comes back to the input of a repeater; none where it does not.
fn loops_over(view: View<'_>, it: Ref<'_, repeater::Table>, input: Hertz) -> Option<Vec<EntityId>> {
    if view.repeats_analog(it) != Known::Is(true) {
        return None;
    }
    let tone = view.tones(it, repeater::input_tones).or_value(Vec::new()).value()?.first().copied();
    let width = it.frequency(repeater::bandwidth_khz).or_value(Hertz(12_500)).value()?;
    let rays = view.rays(&Emission { carrier: input, width, signal: Signal::Analog(tone) });
    if !rays.loops.contains(&it.id()) {
        return None;
    }
    let others = rays.loops.iter().copied().filter(|other| *other != it.id()).collect();
    Some(others)
}
