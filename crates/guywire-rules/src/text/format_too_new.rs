use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::{FieldPath, Stored, Why};

rule! {
    /// A file says that it is written in a version of the plan language that this program does not know.
    ///
    /// What can be read of it is checked all the same. Keys, tables and words that are not known are not called mistakes.
    ///
    /// ## On the air
    /// Nothing yet, but what the newer version added is not checked.
    ///
    /// ## Source
    /// The plan language (docs/language.md): this is version 1.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// format = 2
    /// title = "Saltmarsh Harbor handhelds"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// format = 1
    /// title = "Saltmarsh Harbor handhelds"
    /// ```
    pub FormatTooNew = "format-too-new" { family: Text, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let Some(field) = view.spec(it).and_then(|spec| spec.field("format")) else { return };
        let Some(record) = view.whole(it) else { return };
        if record.slot(field).is_some_and(|slot| slot.value == Stored::Unreadable(Why::Range)) {
            out.report(
                Anchor::Value(it, FieldPath::key(field)),
                "this program reads version 1 of the plan language: what another version says differently is not understood and not checked. Use a newer guywire, or correct the number",
            );
        }
    }
}
