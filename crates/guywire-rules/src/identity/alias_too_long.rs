use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{capacity, radio};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The alias of a radio has more characters than its model has room for.
    ///
    /// The model's `alias_characters` counts, else its `name_characters`. Retired radios are left out.
    ///
    /// ## On the air
    /// The end is cut off: "Mooring launch 1" and "Mooring launch 2" show the same.
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
    /// [[radio]]
    /// id = 21061
    /// alias = "Mooring launch 1"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[radio]]
    /// id = 21061
    /// alias = "Mooring 1"
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
    pub AliasTooLong = "alias-too-long" { family: Identity, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<radio::Table>, view, out) {
        let Known::Is(alias) = it.text(radio::alias) else { return };
        if super::is_retired(view, it) {
            return;
        }
        let Some(model) = view.radio_model(it) else { return };
        let Some(capacity) = view.file_of(model.id()).and_then(|file| view.only::<capacity::Table>(file)) else { return };
        let field = if capacity.known(capacity::alias_characters) == Known::Absent { capacity::name_characters } else { capacity::alias_characters };
        let Known::Is(most) = capacity.whole(field) else { return };
        let alias = view.symbol(alias);
        let long = alias.chars().count();
        if usize::try_from(most).is_ok_and(|most| long <= most) {
            return;
        }
        let name = model.name().unwrap_or("the model");
        out.report(
            Anchor::Value(it.id(), FieldPath::key(radio::alias.number())),
            format!("alias \"{alias}\" has {long} characters, and {name} has room for {most}: the end is cut off, and others may show the same. Shorten it"),
        )
        .about(name)
        .related(Anchor::Value(capacity.id(), FieldPath::key(field.number())), format!("{name} shows {most} characters"));
    }
}
