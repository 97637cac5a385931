use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::channel;
use guywire_plan::{FieldPath, Known, Row, Sends};

rule! {
    /// A digital channel sends and receives on one frequency, not in TDMA direct mode, and writes a slot. Talk-around
    /// counts.
    ///
    /// ## On the air
    /// Plain direct mode has one call at a time on a frequency and no slot: the number changes nothing, and two groups
    /// told apart by it only disturb each other.
    ///
    /// ## Source
    /// Clause 6.2 of ETSI TS 102 361-2: slots on one frequency need TDMA direct mode and its timing. That plain direct
    /// mode carries none: from memory.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// slot = 2
    /// tdma_direct_mode = false
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// slot = 2
    /// tdma_direct_mode = true
    /// ```
    pub DirectModeSlot = "direct-mode-slot" {
        family: Slot, level: Hint, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(slot) = it.whole(channel::slot) else { return };
        if !matches!(it.truth(channel::tdma_direct_mode), Known::Absent | Known::Is(false)) {
            return;
        }
        let Some(effective) = view.channel(it.id()) else { return };
        let (Known::Is(rx), Known::Is(tx)) = (effective.rx, effective.tx) else { return };
        if effective.sends != Known::Is(Sends::Digital) || rx != tx {
            return;
        }
        let path = FieldPath::key(channel::slot.number());
        out.report(
            Anchor::Value(it.id(), path),
            format!(
                "{} is in direct mode, where slot {slot} has no effect: there is one call at a time on {tx} MHz. Take the slot out, or set `tdma_direct_mode`",
                view.called(it.id()),
            ),
        )
        .fix(|| {
            Some(Fix {
                title: format!("Take out the slot{}", view.touching(it.id())),
                safety: Safety::Choice,
                edits: vec![Edit::Remove(it.id(), path)],
            })
        });
    }
}
