use super::lists::{List, by_width, listed, lists_with, models_of, shown};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::Kind;
use guywire_plan::{EntityId, FieldPath, View};

rule! {
    /// The name of a channel or zone has more characters than the display of a model that shows it.
    ///
    /// Looked at for each model of the radios that hold it. Where the rest of the name is the same as that of another in the
    /// list, `names-look-alike` says so instead.
    ///
    /// ## On the air
    /// Nothing, but the end of the name is cut off in the hand, or the radio refuses it when it is loaded.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Northern harbor"
    /// channels = ["Berths"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "North harbor"
    /// channels = ["Berths"]
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// name_characters = 14
    /// ```
    pub NameTooLong = "name-too-long" { family: Zone, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if !matches!(view.kind(it), Kind::Channel | Kind::Zone) {
            return;
        }
        let Some(field) = view.spec(it).and_then(|spec| spec.name_field()) else { return };
        let Some(name) = view.name_of(it) else { return };
        let length = name.chars().count();
        for (most, models) in by_width(view, &models_of(view, it)).into_iter().filter(|(most, _)| length > *most) {
            if reads_as_another(view, it, name, most) {
                continue;
            }
            let models = listed(models);
            out.report(
                Anchor::Value(it, FieldPath::key(field)),
                format!(
                    "{} has {length} characters in its name, and {models} shows {most}: in the hand it reads \"{}\". Shorten it",
                    view.called(it),
                    shown(name, most),
                ),
            )
            .about(&models);
        }
    }
}

/// Whether the rest of the name is the rest of another too, in some list on a display of this width.
fn reads_as_another(view: View<'_>, it: EntityId, name: &str, most: usize) -> bool {
    let wide = |list: &&List<'_>| by_width(view, &list.models).contains_key(&most);
    lists_with(view, it).iter().filter(wide).any(|list| {
        let alike = list.alike(view, most);
        alike.get(shown(name, most)).is_some_and(|names| names.contains_key(name))
    })
}
