use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{Field, key};
use guywire_plan::{FieldPath, Known, Ref, Row, Shape, Stored, View};

/// Characters of a check value from which on it is not equal by chance.
const LONG_ENOUGH: usize = 4;

rule! {
    /// Two keys of a plan have the same material: the same check value, or the same material written in the plan.
    ///
    /// A key that `replaces` the other is left out. Check values of fewer than four characters are not compared: they
    /// may be equal by chance.
    ///
    /// ## On the air
    /// Whoever holds one holds both: what was kept apart is not, and changing one of them changes nothing.
    ///
    /// ## Source
    /// Common practice, no source. What may be protected at all, and how, local rules decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// check_value = "9f3a77"
    ///
    /// [[key]]
    /// name = "pilots-2026"
    /// id = 18
    /// algorithm = "aes-256"
    /// check_value = "9F3A77"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// privacy_receive = ["pilots-2026"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// check_value = "9f3a77"
    ///
    /// [[key]]
    /// name = "pilots-2026"
    /// id = 18
    /// algorithm = "aes-256"
    /// check_value = "02c4e1"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// privacy_receive = ["pilots-2026"]
    /// ```
    pub KeyReused = "key-reused" { family: Privacy, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<key::Table>, view, out) {
        if !it.has(key::check_value) && !it.has(key::value) {
            return;
        }
        let mut twins: Vec<(Ref<'_, key::Table>, Field<key::Table>)> = Vec::new();
        for other in view.all::<key::Table>() {
            let apart = other.id() != it.id() && other.name() != it.name() && !replaces(it, other) && !replaces(other, it);
            if let Some(field) = same_material(view, it, other).filter(|_| apart) {
                twins.push((other, field));
            }
        }
        if twins.is_empty() {
            return;
        }
        let by_check = twins.iter().any(|(_, field)| field.number() == key::check_value.number());
        let field = if by_check { key::check_value } else { key::value };
        let place = |key: Ref<'_, key::Table>, field: Field<key::Table>| Anchor::Key(key.id(), FieldPath::key(field.number()));
        let mut found = out.report(
            place(it, field),
            format!("{} has the same material as another key: whoever holds one holds both, and changing one changes nothing. Make a key of its own", view.called(it.id())),
        );
        for (other, field) in twins {
            found = found.related(place(other, field), format!("{} has the same material", view.called(other.id())));
        }
    }
}

fn replaces(new: Ref<'_, key::Table>, old: Ref<'_, key::Table>) -> bool {
    match new.text(key::replaces) {
        Known::Is(name) => old.text(key::name) == Known::Is(name),
        Known::Absent => false,
        Known::Unreadable => true,
    }
}

/// The key of the table by which the two are known to have the same material.
fn same_material(view: View<'_>, one: Ref<'_, key::Table>, other: Ref<'_, key::Table>) -> Option<Field<key::Table>> {
    let check = |key: Ref<'_, key::Table>| key.text(key::check_value).value().map(|value| view.symbol(value));
    if let (Some(ours), Some(theirs)) = (check(one), check(other))
        && ours.len() >= LONG_ENOUGH
        && ours.eq_ignore_ascii_case(theirs)
    {
        return Some(key::check_value);
    }
    let material = |key: Ref<'_, key::Table>| match key.known(key::value) {
        Known::Is(Stored::Hash(hash, Shape::Digits(shape))) if usize::from(shape.digits) >= LONG_ENOUGH => Some(*hash),
        _ => None,
    };
    let (ours, theirs) = (material(one)?, material(other)?);
    (ours == theirs).then_some(key::value)
}
