use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::nearest;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{RADIO, radios};
use guywire_plan::{FieldPath, Known, Row, Stored};

rule! {
    /// `[radios]` maps a key to a column that the sheet does not have, or to a key that a radio does not have.
    ///
    /// ## On the air
    /// The key is empty for every radio of the sheet: no ids, no profiles, so nothing about them is checked.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [radios]
    /// from = "fleet.csv"
    /// columns = { id = "Unti" }
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [radios]
    /// from = "fleet.csv"
    /// columns = { id = "Unit" }
    /// ```
    ///
    /// ## Beside
    /// ```csv fleet.csv
    /// Unit
    /// ```
    pub SheetColumnMissing = "sheet-column-missing" {
        family: Text, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<radios::Table>, view, out) {
        let (Known::Is(sheet), Known::Is(Stored::Part(map))) = (it.file(radios::from), it.known(radios::columns)) else {
            return;
        };
        if view.file_problem(sheet).is_some() {
            return;
        }
        let columns = view.sheet_columns(sheet);
        for (number, extra) in map.extras.iter().enumerate() {
            let path = FieldPath::key(radios::columns.number()).then_extra(number);
            let key = view.symbol(extra.name);
            if RADIO.field(key).is_none() {
                let meant = nearest(key, RADIO.keys.iter().map(|spec| spec.name));
                let hint = meant.map(|meant| format!(". Did you mean `{meant}`?")).unwrap_or_default();
                out.report(Anchor::Key(it.id(), path), format!("a radio has no key `{key}`, so the column is not read{hint}")).about(key);
                continue;
            }
            let Stored::Text(column) = extra.value else { continue };
            let column = view.symbol(column);
            if columns.iter().any(|known| **known == *column) {
                continue;
            }
            let names: Vec<&str> = columns.iter().map(|name| &**name).collect();
            let message = format!(
                "the sheet has no column \"{column}\", so `{key}` is empty for all of its radios. It has: {}",
                names.join(", "),
            );
            out.report(Anchor::Value(it.id(), path), message).about(column).fix(|| {
                let meant = nearest(column, names.iter().copied())?;
                Some(Fix {
                    title: format!("Write \"{meant}\""),
                    safety: Safety::Choice,
                    edits: vec![Edit::Set(it.id(), path, crate::finding::toml_string(meant))],
                })
            });
        }
    }
}
