use crate::finding::Anchor;
use crate::rule;
use crate::rule::Text;
use guywire_text::Place;

rule! {
    /// A line is not TOML, so nothing can be read from it.
    ///
    /// One broken line costs one key: the rest of its table, and every other table, are read and checked as usual, and
    /// nothing is said to be missing, undefined or unused because of what cannot be read.
    ///
    /// ## On the air
    /// Nothing yet: what cannot be read cannot be loaded into a radio.
    ///
    /// ## Source
    /// TOML 1.0, <https://toml.io/en/v1.0.0>.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds
    /// revision = "2026-11"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// revision = "2026-11"
    /// ```
    pub TomlSyntax = "toml-syntax" { family: Text, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(file: Text, view, out) {
        for error in view.errors(file) {
            let place = |span| Anchor::Bytes(Place { file, span });
            let found = out.report(place(error.span), error.kind.to_string()).about(&error.kind.to_string());
            if let Some(span) = error.related {
                found.related(place(span), "the other place is here");
            }
        }
    }
}
