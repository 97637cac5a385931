use super::{Call, call_through};
use crate::finding::{Anchor, Level};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, network};
use guywire_plan::{FieldPath, Known};

rule! {
    /// A channel calls a talkgroup that its repeater is not written to carry on either slot.
    ///
    /// An error where the slot carries only what is listed: then the repeater refuses the call. Individual calls, the
    /// all call and data are left out; so are repeaters of whose slot nothing is written, and talk-around. A talkgroup
    /// on the other slot is reported by `slot-differs-from-repeater`.
    ///
    /// ## On the air
    /// The call takes a slot that was meant for others, and those who should hear it may listen elsewhere; a repeater
    /// that refuses what is not listed stays silent.
    ///
    /// ## Source
    /// Common practice, no source. What a slot carries is as the repeater is written.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// slot_1 = ["Berths"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 1
    /// call = "Berths"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 1
    /// call = "Cranes"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// slot_1 = ["Berths", "Cranes"]
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 1
    /// call = "Berths"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 1
    /// call = "Cranes"
    /// ```
    pub TalkgroupNotCarried = "talkgroup-not-carried" {
        family: Slot, level: Warning, judged: PerPlan, reads: Audience, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(Call { repeater, slot, group }) = call_through(view, it) else { return };
        let Known::Is(here) = view.carried(repeater, slot) else { return };
        let elsewhere = match view.carried(repeater, 3 - slot) {
            Known::Is(there) => there.lists(group.id()),
            Known::Absent => false,
            Known::Unreadable => return,
        };
        if here.lists(group.id()) || elsewhere {
            return;
        }
        for network in view.referrers::<network::Table>(repeater.id()) {
            let Known::Is(wide) = view.wide(network) else { return };
            if wide.iter().any(|(wide, _, _)| *wide == group.id()) {
                return;
            }
        }
        let (group_name, repeater_name) = (group.name().unwrap_or_default(), repeater.name().unwrap_or_default());
        let what = if here.only_listed { "the repeater refuses the call" } else { "it takes the place of others, and those who should hear it may listen elsewhere" };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::call.number())),
            format!(
                "{} calls \"{group_name}\", which slot {slot} of repeater \"{repeater_name}\" does not carry: {what}. List the talkgroup there, or call through a repeater that carries it",
                view.called(it.id()),
            ),
        )
        .about(group_name)
        .level(if here.only_listed { Level::Error } else { Level::Warning })
        .related(
            Anchor::Value(repeater.id(), here.at),
            format!("what slot {slot} of repeater \"{repeater_name}\" carries"),
        );
    }
}
