//! The levels of rules in settings, each with the rule that it is about.

use guywire_plan::language::RULES;
use guywire_plan::{FieldPath, Record, Stored, Symbol, View};

use crate::catalog;
use crate::rule::About;

/// What settings say of one rule.
pub(super) struct Level<'r> {
    /// The rule's name as written.
    pub name: Symbol,
    /// Where.
    pub path: FieldPath,
    /// The rule, where there is one of that name.
    pub rule: Option<&'static About>,
    /// The table of its options, where it is one.
    pub options: Option<&'r Record>,
}

/// What a `[rules]` table says, rule by rule; nothing where it is another table.
pub(super) fn of<'r>(record: &'r Record, view: View<'r>) -> Vec<Level<'r>> {
    if !std::ptr::eq(record.spec, &RULES) {
        return Vec::new();
    }
    let extras = record.extras.iter().enumerate();
    let level = |(number, extra): (usize, &'r guywire_plan::Extra)| Level {
        name: extra.name,
        path: FieldPath::default().then_extra(number),
        rule: catalog::find(view.symbol(extra.name)).map(|rule| rule.about()),
        options: if let Stored::Part(part) = &extra.value { Some(part) } else { None },
    };
    extras.map(level).collect()
}
