use std::collections::{BTreeMap, BTreeSet};

use super::lists::{called, capacity, listed, models_of};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Kind, capacity as keys};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The name of a channel or zone has characters that the display of a model that shows it does not have.
    ///
    /// Looked at for each model of the radios that hold it, where its `name_charset` is written.
    ///
    /// ## On the air
    /// Nothing, but the radio refuses the name when it is loaded, or shows something else in its place.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file; ISO/IEC 646 and ISO/IEC 8859-1 for the characters.
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
    /// name = "Mole n° 2"
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
    /// name = "Mole no 2"
    /// channels = ["Berths"]
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
    pub NameCharacters = "name-characters" { family: Zone, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if !matches!(view.kind(it), Kind::Channel | Kind::Zone) {
            return;
        }
        let Some(field) = view.spec(it).and_then(|spec| spec.name_field()) else { return };
        let Some(name) = view.name_of(it).filter(|name| !name.chars().all(|letter| has("ascii", letter))) else { return };
        let mut sets: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for model in models_of(view, it) {
            let Some(Known::Is(set)) = capacity(view, model).map(|of| of.text(keys::name_charset)) else { continue };
            sets.entry(view.symbol(set)).or_default().insert(called(model));
        }
        for (set, models) in sets {
            let mut missing: Vec<char> = name.chars().filter(|letter| !has(set, *letter)).collect();
            missing.sort_unstable();
            missing.dedup();
            if missing.is_empty() {
                continue;
            }
            let letters: Vec<String> = missing.iter().map(|letter| format!("\"{}\"", letter.escape_debug())).collect();
            let models = listed(models);
            out.report(
                Anchor::Value(it, FieldPath::key(field)),
                format!(
                    "{} has {} in its name, which the display of {models} ({set}) does not have: the radio refuses the name or shows something else. Write it with the characters that there are",
                    view.called(it),
                    letters.join(" and "),
                ),
            )
            .about(&models);
        }
    }
}

/// Whether a display with this set of characters can show a character.
fn has(set: &str, letter: char) -> bool {
    match set {
        "ascii" => matches!(letter, ' '..='~'),
        "latin-1" => matches!(letter, ' '..='~' | '\u{a0}'..='\u{ff}'),
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::has;

    // ISO/IEC 646 (printable), ISO/IEC 8859-1: positions 2/0 to 7/14, and 10/0 to 15/15.
    #[test]
    fn sets_end_where_the_standards_say() {
        for (letter, ascii, latin) in [
            (' ', true, true),
            ('~', true, true),
            ('\u{7f}', false, false),
            ('\u{9f}', false, false),
            ('\u{a0}', false, true),
            ('ÿ', false, true),
            ('Ā', false, false),
            ('\t', false, false),
        ] {
            assert_eq!((has("ascii", letter), has("latin-1", letter), has("unicode", letter)), (ascii, latin, true));
        }
    }
}
