use super::lists::{List, by_width, list_of, lists_with, only, shown};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::{EntityId, FieldPath, Symbol, View};

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
        let Some(list) = list_of(view, it) else { return };
        for (most, models) in by_width(view, &list.models) {
            for (name, length) in too_long(view, &list, most) {
                let Some(named) = only(view, &list, name) else { continue };
                let text = view.symbol(name);
                if reads_as_another(view, named, text, most) {
                    continue;
                }
                let Some(field) = view.spec(named).and_then(|spec| spec.name_field()) else { continue };
                for model in &models {
                    let message = format!(
                        "{} has {length} characters in its name, and {model} shows {most}: in the hand it reads \"{}\". Shorten it",
                        view.called(named),
                        shown(text, most),
                    );
                    out.report(Anchor::Value(named, FieldPath::key(field)), message).about(model);
                }
            }
        }
    }
}

/// The names of a list that have more characters than this, each with how many.
fn too_long(view: View<'_>, list: &List<'_>, most: usize) -> Vec<(Symbol, usize)> {
    let mut found: Vec<(Symbol, usize)> = Vec::new();
    // No name has more characters than bytes.
    for (name, _) in list.names.iter().filter(|(name, _)| view.symbol(*name).len() > most) {
        let length = view.symbol(*name).chars().count();
        if length > most && !found.iter().any(|(known, _)| known == name) {
            found.push((*name, length));
        }
    }
    found
}

/// Whether the rest of the name is the rest of another too, in some list on a display of this width.
fn reads_as_another(view: View<'_>, it: EntityId, name: &str, most: usize) -> bool {
    let wide = |list: &&List<'_>| by_width(view, &list.models).contains_key(&most);
    lists_with(view, it).iter().filter(wide).any(|list| {
        let alike = list.alike(view, most);
        alike.get(shown(name, most)).is_some_and(|names| names.contains_key(name))
    })
}
