use super::levels::{self, Level};
use super::mending::{offer, offer_as};
use super::values::{Held, each_unread};
use crate::finding::{Anchor, Safety, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Kind, Type, describe};
use guywire_plan::{EntityId, FieldPath, Stored, View, Why};

rule! {
    /// A key has a value of another type than it takes: text where a number belongs, one value where a list belongs.
    ///
    /// ## On the air
    /// The key is not read, so it does nothing: a frequency written as text is no frequency.
    ///
    /// ## Source
    /// The plan language (docs/language.md); TOML 1.0 for what has which type, <https://toml.io/en/v1.0.0>.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = "453.2125"
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
    /// ```
    pub WrongType = "wrong-type" { family: Text, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Safe) }
    fn check(it: AnyTable, view, out) {
        if view.kind(it) == Kind::Unknown {
            return;
        }
        let Some(record) = view.whole(it) else { return };
        each_unread(record, view, &FieldPath::default(), &mut |held| look(&held, it, view, out));
        for level in levels::of(record, view) {
            look_at_options(&level, it, view, out);
        }
    }
}

fn look(held: &Held<'_>, it: EntityId, view: View<'_>, out: &mut Sink<'_>) {
    if *held.value != Stored::Unreadable(Why::Type) || view.file_of(it).is_some_and(|file| view.newer_format(file)) {
        return;
    }
    let found = out.report(Anchor::Value(it, held.path), message(held.name, &held.form)).about(held.name);
    offer(found, it, held, view);
}

fn message(name: &str, form: &Type) -> String {
    format!(
        "`{name}` takes {}, and a value of another type stands here: it is not read, so it does nothing. Write it in that form",
        describe(form),
    )
}

/// Options of a rule are numbers.
fn look_at_options(level: &Level<'_>, it: EntityId, view: View<'_>, out: &mut Sink<'_>) {
    for (number, extra) in level.options.iter().flat_map(|record| record.extras.iter().enumerate()) {
        let name = view.symbol(extra.name);
        let known = level.rule.is_some_and(|rule| rule.options.iter().any(|option| option.name == name));
        let read =
            matches!(extra.value, Stored::Whole(_) | Stored::Number(_) | Stored::Truth(_) | Stored::Unreadable(_));
        if !known || read {
            continue;
        }
        let message = format!(
            "`{name}` takes a number, and a value of another type stands here: it is not read, and the rule keeps its default. Write the number alone"
        );
        let path = level.path.then_extra(number);
        let found = out.report(Anchor::Value(it, path), message).about(name);
        offer_as(found, it, path, (Type::Number(f64::MIN, f64::MAX), None), view);
    }
}
