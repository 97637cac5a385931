use super::{Call, call_through};
use crate::finding::{Anchor, Edit, Fix, Level, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::channel;
use guywire_plan::{FieldPath, Known};

rule! {
    /// A channel calls a talkgroup on one slot of its repeater, and the repeater is written to carry that talkgroup on
    /// the other.
    ///
    /// An error where the channel's slot carries only what is listed: then the repeater refuses the call. Talk-around
    /// is left out, since it does not go through the repeater.
    ///
    /// ## On the air
    /// Those who listen for the talkgroup listen on the other slot and hear nothing; the call takes the place of the
    /// talkgroups that belong there.
    ///
    /// ## Source
    /// ETSI TS 102 361-1: two independent time slots. Which slot carries what is as the repeater is written.
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
    /// slot_2 = ["Cranes"]
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
    /// slot_1 = ["Berths"]
    /// slot_2 = ["Cranes"]
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 2
    /// call = "Cranes"
    /// ```
    pub SlotDiffersFromRepeater = "slot-differs-from-repeater" {
        family: Slot, level: Warning, judged: PerPlan, reads: Audience, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(Call { repeater, slot, group }) = call_through(view, it) else { return };
        let other = 3 - slot;
        let Known::Is(there) = view.carried(repeater, other) else { return };
        let here = match view.carried(repeater, slot) {
            Known::Is(here) => Some(here),
            Known::Absent => None,
            Known::Unreadable => return,
        };
        if !there.lists(group.id()) || here.as_ref().is_some_and(|here| here.lists(group.id())) {
            return;
        }
        let refused = here.is_some_and(|here| here.only_listed);
        let (group_name, repeater_name) = (group.name().unwrap_or_default(), repeater.name().unwrap_or_default());
        let what = if refused { "the repeater refuses the call" } else { "those who wait for it there do not hear the call" };
        let path = FieldPath::key(channel::slot.number());
        out.report(
            Anchor::Value(it.id(), path),
            format!(
                "{} calls \"{group_name}\" on slot {slot}, but repeater \"{repeater_name}\" carries it on slot {other}: {what}. Write slot {other}, or list the talkgroup on slot {slot}",
                view.called(it.id()),
            ),
        )
        .about(group_name)
        .about(&slot)
        .level(if refused { Level::Error } else { Level::Warning })
        .related(
            Anchor::Value(repeater.id(), there.at),
            format!("slot {other} of repeater \"{repeater_name}\" carries \"{group_name}\""),
        )
        .fix(|| {
            Some(Fix {
                title: format!("Write slot {other}, which carries \"{group_name}\"{}", view.touching(it.id())),
                safety: Safety::Choice,
                edits: vec![Edit::Set(it.id(), path, other.to_string())],
            })
        });
    }
}
