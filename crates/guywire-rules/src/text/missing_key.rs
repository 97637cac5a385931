use super::unknown_key::for_parts;
use crate::finding::{Anchor, Edit, Fix, Safety, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{KeySpec, Kind, Type};
use guywire_plan::{EntityId, FieldPath, Form, Known, Record, View};

rule! {
    /// A table lacks a key that it means nothing without.
    ///
    /// ## On the air
    /// The table cannot be loaded: a talkgroup without its number cannot be called, a channel without a frequency is
    /// nowhere.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// rx_mhz = 453.2125
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// rx_mhz = 453.2125
    /// sends = "digital"
    /// ```
    pub MissingKey = "missing-key" { family: Text, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice) }
    fn check(it: AnyTable, view, out) {
        let Some((form, record, _)) = view.rest(it) else { return };
        if view.kind(it) == Kind::Unknown || form == Form::NotATable {
            return;
        }
        view.whole(it);
        look(record, &FieldPath::default(), it, view, out);
    }
}

fn look(record: &Record, path: &FieldPath, it: EntityId, view: View<'_>, out: &mut Sink<'_>) {
    let top = path.steps().is_empty();
    let at = if top { Anchor::Header(it) } else { Anchor::Key(it, *path) };
    let absent = |name: &str| record.spec.field(name).is_some_and(|field| record.known(field) == Known::Absent);
    for key in record.spec.keys.iter().filter(|key| key.required && absent(key.name)) {
        let what = if top { view.called(it) } else { format!("`{}`", record.spec.name) };
        let message =
            format!("{what} has no `{0}`, and cannot be used without it. Add `{0}`: {1}", key.name, key.doc.trim());
        let found = out.report(at, message).about(key.name);
        if top {
            found.fix(|| fix(it, key));
        }
    }
    for set in record.spec.one_of.iter().filter(|set| set.iter().all(|name| absent(name))) {
        let what = if top { view.called(it) } else { format!("`{}`", record.spec.name) };
        let names: Vec<String> = set.iter().map(|name| format!("`{name}`")).collect();
        let message = format!("{what} needs {}, and cannot be used without one of them", names.join(" or "));
        out.report(at, message).about(*set);
    }
    for_parts(record, path, &mut |part, at| look(part, &at, it, view, out));
}

/// Only a key with few words to choose from has an answer that is likely to be right.
fn fix(it: EntityId, key: &'static KeySpec) -> Option<Fix> {
    let Type::Word(words) = key.value else { return None };
    let word = words.first()?;
    Some(Fix {
        title: format!("Add `{} = \"{word}\"`", key.name),
        safety: Safety::Choice,
        edits: vec![Edit::Insert(it, key.name, format!("\"{word}\""))],
    })
}
