use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, license, license__assignment};
use guywire_plan::{FieldPath, Known, Part, Ref, Row, View};
use guywire_radio::Hertz;

rule! {
    /// A channel may transmit at any time, and its frequency is shared with others by license or by the service.
    ///
    /// A license decides where one of the plan's has an assignment for the frequency; else the service, where the plan
    /// or the channel names one that is shared. Where neither is known, nothing is said.
    ///
    /// ## On the air
    /// A press cuts into a call of somebody else who has the same right to the frequency.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, channel access: impolite, polite (from memory). The license and the service's rules say who
    /// shares.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 451.8375
    /// use = "shared"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// access = "impolite"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[license.assignment]]
    /// tx_mhz = 451.8375
    /// use = "shared"
    ///
    /// [[channel]]
    /// name = "Mooring"
    /// sends = "digital"
    /// rx_mhz = 451.8375
    /// access = "polite-to-all"
    /// ```
    pub ImpoliteOnShared = "impolite-on-shared" { family: Slot, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<channel::Table>, view, out) {
        if it.text(channel::access).value().is_none_or(|word| view.symbol(word) != "impolite") {
            return;
        }
        let Some(Known::Is(tx)) = view.channel(it.id()).map(|effective| effective.tx) else { return };
        let by = match by_license(view, tx) {
            Some(true) => "its license shares that frequency with others",
            Some(false) => return,
            None if is_service_shared(view, it, tx) => "the service shares its frequencies",
            None => return,
        };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::access.number())),
            format!(
                "{} transmits on {tx} MHz at any time, and {by}: a press cuts into calls of others. Write \"polite-to-all\"",
                view.called(it.id()),
            ),
        )
        .about(&tx.0);
    }
}

/// Whether the licenses share a carrier; none where no assignment for it says.
fn by_license(view: View<'_>, tx: Hertz) -> Option<bool> {
    let mut shared = None;
    for license in view.all::<license::Table>() {
        for assignment in license.parts::<license__assignment::Table>(license::assignment) {
            let Some(word) = assignment.text(license__assignment::r#use).value() else { continue };
            if !covers(assignment, tx) {
                continue;
            }
            if view.symbol(word) == "exclusive" {
                return Some(false);
            }
            shared = Some(true);
        }
    }
    shared
}

fn covers(assignment: Part<'_, license__assignment::Table>, tx: Hertz) -> bool {
    let low = assignment.frequency(license__assignment::low_mhz).value();
    let high = assignment.frequency(license__assignment::high_mhz).value();
    let within = low.zip(high).is_some_and(|(low, high)| (low..=high).contains(&tx));
    within || assignment.frequency(license__assignment::tx_mhz) == Known::Is(tx)
}

fn is_service_shared(view: View<'_>, it: Ref<'_, channel::Table>, tx: Hertz) -> bool {
    view.service(Some(it)).is_some_and(|service| service.is_shared(service.place(tx)))
}
