use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::security;
use guywire_plan::{FieldPath, Known, Row, Stored};

rule! {
    /// A code that protects the radios is written in the plan.
    ///
    /// The code is never shown: not here, not in an excerpt, a hover or a log. A level or a waiver does not hide this
    /// finding.
    ///
    /// ## On the air
    /// Whoever can read the repository, now or in its history, can switch on any radio of the fleet, or read and
    /// change what is in it.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [security]
    /// programming_code = "vault:harbor/radio/programming"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [security]
    /// programming_code = { held_in = "vault:harbor/radio/programming" }
    /// ```
    pub CodeInClear = "code-in-clear" {
        family: Privacy, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice), always: true,
    }
    fn check(it: Each<security::Table>, _view, out) {
        for (field, what) in [(security::power_on_code, "power-on"), (security::programming_code, "programming")] {
            if !matches!(it.known(field), Known::Is(Stored::Hash(..))) {
                continue;
            }
            let path = FieldPath::key(field.number());
            out.report(
                Anchor::Key(it.id(), path),
                format!("the {what} code is written here: whoever can read this file can use it on every radio. Keep it elsewhere, say where with `{{ held_in = \"…\" }}`, and change the code, since the history of the file keeps it"),
            )
            .fix(|| {
                Some(Fix {
                    title: "Take the code out of the plan (then change it: the history keeps it)".to_owned(),
                    safety: Safety::Choice,
                    edits: vec![Edit::Set(it.id(), path, format!("{{ held_in = \"vault:{what}-code\" }}"))],
                })
            });
        }
    }
}
