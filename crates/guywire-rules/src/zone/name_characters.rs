use super::lists::{called, capacity, list_of, only};
use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{capacity as keys, model};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Symbol, View};

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
        let Some(list) = list_of(view, it) else { return };
        let beyond = |text: &str| !text.chars().all(|letter| has("ascii", letter));
        let mut names: Vec<Symbol> =
            list.names.iter().map(|(name, _)| *name).filter(|name| beyond(view.symbol(*name))).collect();
        names.sort_unstable_by_key(|name| view.symbol(*name));
        names.dedup();
        for name in names {
            let Some(named) = only(view, &list, name) else { continue };
            for model in &list.models {
                look(view, named, *model, out);
            }
        }
    }
}

fn look(view: View<'_>, named: EntityId, model: Ref<'_, model::Table>, out: &mut Sink<'_>) {
    let Some(Known::Is(set)) = capacity(view, model).map(|of| of.text(keys::name_charset)) else { return };
    let (set, name) = (view.symbol(set), view.name_of(named).unwrap_or_default());
    let Some(field) = view.spec(named).and_then(|spec| spec.name_field()) else { return };
    let mut missing: Vec<char> = name.chars().filter(|letter| !has(set, *letter)).collect();
    missing.sort_unstable();
    missing.dedup();
    if missing.is_empty() {
        return;
    }
    let letters: Vec<String> = missing.iter().map(|letter| format!("\"{}\"", letter.escape_debug())).collect();
    let message = format!(
        "{} has {} in its name, which the display of {} ({set}) does not have: the radio refuses the name or shows something else. Write it with the characters that there are",
        view.called(named),
        letters.join(" and "),
        called(model),
    );
    out.report(Anchor::Value(named, FieldPath::key(field)), message).about(called(model));
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
