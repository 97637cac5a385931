use super::{Direct, direct_channels};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, plan};
use guywire_plan::{EntityId, FieldPath, Known, Row};

rule! {
    /// Two direct channels of a plan share a frequency and a color code, and one is in TDMA direct mode, the other
    /// not.
    ///
    /// Reported where fewer channels are.
    ///
    /// ## On the air
    /// The two modes begin with different sync words, so neither hears the other; a plain transmission covers both
    /// slots.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, clause 9.1.1: the sync words of TDMA direct mode. Clause 6.2 of ETSI TS 102 361-2.
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
    /// color_code = 7
    /// tdma_direct_mode = true
    ///
    /// [[channel]]
    /// name = "Ferries"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// color_code = 7
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
    /// color_code = 7
    /// tdma_direct_mode = true
    ///
    /// [[channel]]
    /// name = "Ferries"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// color_code = 7
    /// tdma_direct_mode = true
    /// ```
    pub PlainAndTdmaDirectMixed = "plain-and-tdma-direct-mixed" {
        family: Slot, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<plan::Table>, view, out) {
        if it.id() != view.main(view.viewer()).unwrap_or(it.id()) {
            return;
        }
        // Without TDMA direct mode in the plan nothing more of its channels is read.
        let Some(tdma) = direct_channels(view, |channel| channel.truth(channel::tdma_direct_mode) == Known::Is(true)) else { return };
        if tdma.is_empty() {
            return;
        }
        let is_plain = |known: Known<bool>| matches!(known, Known::Absent | Known::Is(false));
        let Some(plain) = direct_channels(view, |channel| is_plain(channel.truth(channel::tdma_direct_mode))) else { return };
        let code = |id: EntityId| view.channel(id).map_or(Known::Unreadable, |channel| channel.color_code);
        let meet = |(one, on): &Direct<'_>, (other, at): &Direct<'_>| {
            on == at && code(one.id()) == code(other.id()) && code(one.id()) != Known::Unreadable
        };
        for one in tdma.iter().chain(&plain) {
            let is_tdma = tdma.iter().any(|(other, _)| other.id() == one.0.id());
            let (ours, theirs) = if is_tdma { (&tdma, &plain) } else { (&plain, &tdma) };
            let against: Vec<&Direct<'_>> = theirs.iter().filter(|other| meet(one, other)).collect();
            let alike = ours.iter().filter(|other| meet(one, other)).count();
            if against.is_empty() || alike > against.len() || (alike == against.len() && is_tdma) {
                continue;
            }
            let (here, there) = if is_tdma { ("TDMA", "plain") } else { ("plain", "TDMA") };
            let mut found = out
                .report(
                    Anchor::Value(one.0.id(), FieldPath::key(channel::tdma_direct_mode.number())),
                    format!(
                        "{} is in {here} direct mode on {} MHz, where others of the same color code are in {there} direct mode: neither hears the other, and they disturb each other. Use one mode on a frequency",
                        view.called(one.0.id()),
                        one.1,
                    ),
                )
                .about(here);
            for (other, _) in against {
                found = found.related(Anchor::Header(other.id()), format!("{} is in {there} direct mode", view.called(other.id())));
            }
        }
    }
}
