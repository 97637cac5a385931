use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::radio;
use guywire_plan::{Bucket, EntityId, FieldPath, Known, View};

rule! {
    /// Two radios have one unit id in the same network, or in the same plan where no network is named.
    ///
    /// Spare and retired units are left out, so that a unit can be swapped for another. The same unit listed in two files
    /// (equal alias or serial) is one unit.
    ///
    /// ## On the air
    /// An individual call rings both, an emergency shows the wrong name, and a command to disable one disables two.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, annex A: 24-bit unit addresses identify one unit.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Lock 1"
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
    ///
    /// [[radio]]
    /// id = 21008
    /// alias = "Lock 1"
    /// ```
    pub DuplicateRadioId = "duplicate-radio-id" { family: Identity, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<radio::Table>, view, out) {
        for (space, id) in view.unit_ids(it.id()) {
            let others: Vec<EntityId> = view
                .alike(Bucket::UnitId(*space, *id))
                .filter(|other| *other != it.id() && !same_unit(view, it.id(), *other))
                .collect();
            if others.is_empty() {
                continue;
            }
            let place = |radio: EntityId| Anchor::Value(radio, id_path(view, radio));
            let many = if others.len() == 1 { "another radio has".to_owned() } else { format!("{} other radios have", others.len()) };
            let mut found = out
                .report(
                    place(it.id()),
                    format!("{many} unit id {id} too: an individual call rings all of them, and an emergency shows the wrong name. Give each its own id"),
                )
                .about(id);
            for other in others {
                let called = view.name_of(other).map_or_else(|| "the other radio".to_owned(), |alias| format!("\"{alias}\""));
                found = found.related(place(other), format!("{called} has unit id {id}"));
            }
        }
    }
}

fn id_path(view: View<'_>, radio: EntityId) -> FieldPath {
    let field = match view.known(radio, radio::id) {
        Known::Absent => radio::ids.number(),
        _ => radio::id.number(),
    };
    FieldPath::key(field)
}

/// One unit listed in two files: the same alias or serial.
fn same_unit(view: View<'_>, one: EntityId, other: EntityId) -> bool {
    if view.file_of(one) == view.file_of(other) {
        return false;
    }
    let equal = |field| match (view.known(one, field), view.known(other, field)) {
        (Known::Is(ours), Known::Is(theirs)) => ours == theirs,
        _ => false,
    };
    equal(radio::alias) || equal(radio::serial)
}
