//! Fixes of a value that stands in a form which its key does not take.

use guywire_plan::language::Type;
use guywire_plan::{EntityId, FieldPath, View};

use super::respell::{Wanted, respell};
use super::values::Held;
use crate::finding::{Edit, Fix, Reported, Safety};

/// Offers every spelling that the key can take.
pub(super) fn offer(found: Reported<'_>, it: EntityId, held: &Held<'_>, view: View<'_>) {
    let unit = held.key.filter(|key| key.name == held.name).and_then(|key| key.unit());
    offer_as(found, it, held.path, (held.form, unit), view);
}

/// Offers every spelling of what stands at `path` that `form` can take.
pub(super) fn offer_as(
    found: Reported<'_>,
    it: EntityId,
    path: FieldPath,
    (form, unit): (Type, Option<&'static str>),
    view: View<'_>,
) {
    found.fixes(|| {
        let Some(written) = view.text_for_fix(it, &path) else { return Vec::new() };
        let is_name = |kinds: &[_], name: &str| view.names_for_fix(it, kinds).contains(&name);
        let spellings = respell(&Wanted { form, unit, is_name: &is_name }, &written);
        let fix = |(safety, text): (Safety, String)| {
            let touching = if safety == Safety::Choice { view.touching(it) } else { String::new() };
            Fix { title: format!("Write `{text}`{touching}"), safety, edits: vec![Edit::Set(it, path, text)] }
        };
        spellings.into_iter().map(fix).collect()
    });
}
