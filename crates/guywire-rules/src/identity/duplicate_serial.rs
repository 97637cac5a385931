use super::is_retired;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::radio;
use guywire_plan::{Bucket, FieldPath, Known, Ref, Row, View};

rule! {
    /// Two radios of a plan have the same serial number.
    ///
    /// Retired radios are left out: a unit may have been given out again under another number. Two rows with one unit
    /// id are reported by `duplicate-radio-id`.
    ///
    /// ## On the air
    /// One of the two does not exist, or has another serial: a lost radio cannot be found, and readings of the bench
    /// are put to the wrong one.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// serial = "HH-0007"
    ///
    /// [[radio]]
    /// id = 21008
    /// alias = "Crane 3"
    /// serial = "HH-0007"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// serial = "HH-0007"
    ///
    /// [[radio]]
    /// id = 21008
    /// alias = "Crane 3"
    /// serial = "HH-0008"
    /// ```
    pub DuplicateSerial = "duplicate-serial" { family: Identity, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<radio::Table>, view, out) {
        let Known::Is(symbol) = it.text(radio::serial) else { return };
        let others: Vec<Ref<'_, radio::Table>> = view
            .alike_of::<radio::Table>(Bucket::Serial(view.viewer(), symbol))
            .into_iter()
            .filter(|other| other.id() != it.id() && are_two(view, it, *other))
            .collect();
        if others.is_empty() {
            return;
        }
        let serial = view.symbol(symbol);
        let place = |radio: Ref<'_, radio::Table>| Anchor::Value(radio.id(), FieldPath::key(radio::serial.number()));
        let mut found = out
            .report(
                place(it),
                format!("another radio has serial \"{serial}\" too: one of the two is not what is in the box. Read both labels, and correct one"),
            )
            .about(serial);
        for other in others {
            let called = other.name().map_or_else(|| "another radio".to_owned(), |alias| format!("\"{alias}\""));
            found = found.related(place(other), format!("{called} has serial \"{serial}\""));
        }
    }
}

/// Neither is retired, and they have different ids.
fn are_two(view: View<'_>, one: Ref<'_, radio::Table>, other: Ref<'_, radio::Table>) -> bool {
    let (Known::Is(ours), Known::Is(theirs)) = (view.written_ids(one), view.written_ids(other)) else { return false };
    !is_retired(view, one) && !is_retired(view, other) && !ours.iter().any(|id| theirs.contains(id))
}
