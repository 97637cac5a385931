use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{capacity, radio};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The alias of a radio has a character that its model cannot show.
    ///
    /// Retired radios are left out. A model that does not say what it can show is not judged.
    ///
    /// ## On the air
    /// The radio refuses the alias, or shows a blank or another letter in its place.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file. `ascii` is the printable part of ISO/IEC 646, `latin-1`
    /// that of ISO/IEC 8859-1.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[radio]]
    /// id = 21061
    /// alias = "Möwe 1"
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
    /// alias = "Gull 1"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// name_charset = "ascii"
    /// ```
    pub AliasCharacters = "alias-characters" { family: Identity, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<radio::Table>, view, out) {
        let Known::Is(alias) = it.text(radio::alias) else { return };
        if super::is_retired(view, it) {
            return;
        }
        let Some(model) = view.radio_model(it) else { return };
        let Some(capacity) = view.file_of(model.id()).and_then(|file| view.only::<capacity::Table>(file)) else { return };
        let Known::Is(charset) = capacity.text(capacity::name_charset) else { return };
        let charset = view.symbol(charset);
        let (alias, name) = (view.symbol(alias), model.name().unwrap_or("the model"));
        let Some(letter) = alias.chars().find(|letter| !can_show(charset, *letter)) else { return };
        out.report(
            Anchor::Value(it.id(), FieldPath::key(radio::alias.number())),
            format!("alias \"{}\" has a character (U+{:04X}) that {name} cannot show: it refuses the alias, or shows something else. Write it without", alias.escape_debug(), u32::from(letter)),
        )
        .about(name)
        .about(&letter)
        .related(
            Anchor::Value(capacity.id(), FieldPath::key(capacity::name_charset.number())),
            format!("{name} shows {charset} only"),
        );
    }
}

fn can_show(charset: &str, letter: char) -> bool {
    match charset {
        "ascii" => matches!(letter, ' '..='~'),
        "latin-1" => matches!(letter, ' '..='~' | '\u{a0}'..='\u{ff}'),
        _ => !letter.is_control(),
    }
}
