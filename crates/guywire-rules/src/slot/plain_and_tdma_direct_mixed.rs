use super::direct_carrier;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::channel;
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Ref, Row};

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
    fn check(it: Each<channel::Table>, view, out) {
        let is_tdma = match it.truth(channel::tdma_direct_mode) {
            Known::Is(is_tdma) => is_tdma,
            Known::Absent => false,
            Known::Unreadable => return,
        };
        let Some(carrier) = direct_carrier(view, it) else { return };
        let (plain, tdma) = (Bucket::Direct(view.viewer(), carrier), Bucket::TdmaDirect(view.viewer(), carrier));
        let (ours, theirs) = if is_tdma { (tdma, plain) } else { (plain, tdma) };
        let theirs = view.alike_of::<channel::Table>(theirs);
        if theirs.is_empty() || view.may_hide::<channel::Table>() {
            return;
        }
        let code = |id: EntityId| view.channel(id).and_then(|channel| channel.color_code.value());
        let Some(own) = code(it.id()) else { return };
        let meets = |other: &Ref<'_, channel::Table>| code(other.id()) == Some(own);
        let against: Vec<Ref<'_, channel::Table>> = theirs.into_iter().filter(meets).collect();
        let alike = view.alike_of::<channel::Table>(ours).iter().filter(|other| meets(other)).count();
        // The fewer are told; of as many, those in plain mode.
        if against.is_empty() || alike > against.len() || (alike == against.len() && is_tdma) {
            return;
        }
        let (here, there) = if is_tdma { ("TDMA", "plain") } else { ("plain", "TDMA") };
        let mut found = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(channel::tdma_direct_mode.number())),
                format!(
                    "{} is in {here} direct mode on {carrier} MHz, where others of the same color code are in {there} direct mode: neither hears the other, and they disturb each other. Use one mode on a frequency",
                    view.called(it.id()),
                ),
            )
            .about(here);
        for other in against {
            found = found.related(Anchor::Header(other.id()), format!("{} is in {there} direct mode", view.called(other.id())));
        }
    }
}
