use super::levels::{self, Level};
use crate::catalog::CATALOG;
use crate::finding::{Anchor, Edit, Fix, Safety, Sink};
use crate::nearest;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::Kind;
use guywire_plan::{EntityId, FieldPath, FoundAny, Record, Stored, View};

rule! {
    /// A table has a key that the language does not know there, or settings name a rule or an option that there is not.
    ///
    /// ## On the air
    /// The key does nothing: a misspelled `color_code` leaves the channel with another color code than the one written,
    /// and its calls go unheard.
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
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// colour_code = 5
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// ```
    pub UnknownKey = "unknown-key" { family: Text, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice) }
    fn check(it: AnyTable, view, out) {
        if view.kind(it) == Kind::Unknown {
            return;
        }
        let Some(record) = view.whole(it) else { return };
        look(record, &FieldPath::default(), it, view, out);
        for level in levels::of(record, view) {
            look_at_level(&level, it, view, out);
        }
    }
}

fn look(record: &Record, path: &FieldPath, it: EntityId, view: View<'_>, out: &mut Sink<'_>) {
    let known_here = || view.file_of(it).is_none_or(|file| !view.newer_format(file));
    if !record.spec.open && !record.extras.is_empty() && known_here() {
        for (number, extra) in record.extras.iter().enumerate() {
            let at = path.then_extra(number);
            let name = view.symbol(extra.name);
            let table = record.spec.name;
            let free = || {
                record
                    .spec
                    .keys
                    .iter()
                    .filter(|key| record.spec.field(key.name).is_none_or(|field| record.slot(field).is_none()))
                    .map(|key| key.name)
            };
            let meant = nearest(name, free());
            // In a table that holds secrets, what stands as a key may be one.
            let guarded = record.spec.keys.iter().any(|key| key.secret);
            let message = match meant {
                Some(meant) if guarded => {
                    format!("`{table}` has no such key, so it does nothing. Did you mean `{meant}`?")
                }
                None if guarded => format!("`{table}` has no such key, so it does nothing. Take it out"),
                Some(meant) => format!("`{table}` has no key `{name}`, so it does nothing. Did you mean `{meant}`?"),
                None => format!(
                    "`{table}` has no key `{name}`, so it does nothing. Take it out, or put what it says in a key that the radio has"
                ),
            };
            out.report(Anchor::Key(it, at), message).about(name).fix(|| {
                meant.map(|meant| Fix {
                    title: format!("Write `{meant}`"),
                    safety: Safety::Choice,
                    edits: vec![Edit::SetKey(it, at, meant.to_owned())],
                })
            });
        }
    }
    for_parts(record, path, &mut |part, at| look(part, &at, it, view, out));
}

/// A name in `[rules]` is that of a rule or a house rule, and a key beside its level is an option of that rule.
fn look_at_level(level: &Level<'_>, it: EntityId, view: View<'_>, out: &mut Sink<'_>) {
    let name = view.symbol(level.name);
    let Some(rule) = level.rule else {
        if view.find_any(it, &[Kind::HouseRule], level.name) == FoundAny::Missing {
            let names = || CATALOG.iter().map(|rule| rule.about().name);
            report_level(level.path, name, "there is no rule", nearest(name, names()), it, out);
        }
        return;
    };
    for (number, extra) in level.options.iter().flat_map(|record| record.extras.iter().enumerate()) {
        let option = view.symbol(extra.name);
        if rule.options.iter().any(|known| known.name == option) {
            continue;
        }
        let meant = nearest(option, rule.options.iter().map(|known| known.name).chain(["level"]));
        report_level(level.path.then_extra(number), option, &format!("`{name}` has no option"), meant, it, out);
    }
}

fn report_level(path: FieldPath, name: &str, lacks: &str, meant: Option<&str>, it: EntityId, out: &mut Sink<'_>) {
    let hint =
        meant.map_or_else(|| "Correct it, or take it out".to_owned(), |meant| format!("Did you mean `{meant}`?"));
    out.report(Anchor::Key(it, path), format!("{lacks} `{name}`, so this does nothing. {hint}")).about(name).fix(
        || {
            meant.map(|meant| Fix {
                title: format!("Write `{meant}`"),
                safety: Safety::Choice,
                edits: vec![Edit::SetKey(it, path, meant.to_owned())],
            })
        },
    );
}

/// Calls `found` for every table directly in this one, with its path.
pub fn for_parts(record: &Record, path: &FieldPath, found: &mut dyn FnMut(&Record, FieldPath)) {
    for slot in &record.slots {
        let at = path.then(slot.field as usize);
        match &slot.value {
            Stored::Part(part) => found(part, at),
            Stored::List(elements) => {
                for (number, element) in elements.iter().enumerate() {
                    if let Stored::Part(part) = &element.value {
                        found(part, at.then(number));
                    }
                }
            }
            _ => {}
        }
    }
}
