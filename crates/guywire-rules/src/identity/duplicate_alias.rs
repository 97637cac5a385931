use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::radio;
use guywire_plan::{EntityId, FieldPath, Known, Ref, View};

rule! {
    /// Two radios in use show the same alias.
    ///
    /// Spare, lost and retired radios are left out, so that a unit can be swapped for another. Two rows with one unit
    /// id are reported by `duplicate-radio-id`.
    ///
    /// ## On the air
    /// Displays and logs show one name for two people: in an emergency help goes to the wrong one.
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
    ///
    /// [[radio]]
    /// id = 21008
    /// alias = "Crane 2"
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
    /// alias = "Crane 3"
    /// ```
    pub DuplicateAlias = "duplicate-alias" { family: Identity, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<radio::Table>, view, out) {
        if view.is_in_use(it) != Known::Is(true) {
            return;
        }
        let others: Vec<EntityId> = view
            .of_the_same_name(it.id())
            .into_iter()
            .filter_map(|other| view.get::<radio::Table>(other))
            .filter(|other| view.is_in_use(*other) == Known::Is(true) && !share_an_id(view, it, *other))
            .map(|other| other.id())
            .collect();
        if others.is_empty() {
            return;
        }
        let alias = it.name().unwrap_or_default();
        let place = |radio: EntityId| Anchor::Value(radio, FieldPath::key(radio::alias.number()));
        let mut found = out
            .report(
                place(it.id()),
                format!("another radio in use is called \"{alias}\" too: displays and logs do not tell the two apart, and help may go to the wrong one. Give each its own alias"),
            )
            .about(alias);
        for other in others {
            found = found.related(place(other), format!("another \"{alias}\""));
        }
    }
}

/// One unit listed twice, or ids that cannot be read.
fn share_an_id(view: View<'_>, one: Ref<'_, radio::Table>, other: Ref<'_, radio::Table>) -> bool {
    match (view.written_ids(one), view.written_ids(other)) {
        (Known::Is(ours), Known::Is(theirs)) => ours.iter().any(|id| theirs.contains(id)),
        (Known::Unreadable, _) | (_, Known::Unreadable) => true,
        _ => false,
    }
}
