use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{FileKind, Type};
use guywire_plan::{EntityId, FieldPath, FileProblem, Stored, View};

rule! {
    /// A key names a file (a share, a model, a regime) that is not there, or that has not got the table it should have.
    ///
    /// ## On the air
    /// What the file would say is not checked: without its model no frequency is checked against the band, without a share
    /// its names are not known.
    ///
    /// ## Source
    /// The plan language (docs/language.md). Paths are written with `/`, from the file that names them.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.modle.toml"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// ```
    pub FileMissing = "file-missing" { family: Text, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let Some(record) = view.whole(it) else { return };
        for slot in &record.slots {
            let path = FieldPath::key(slot.field);
            let form = &record.spec.key(slot.field).value;
            match (&slot.value, form) {
                (Stored::File(file), Type::Path(kind, _)) => report(it, path, *file, *kind, view, out),
                (Stored::File(file), Type::SheetPath) => sheet(it, path, *file, view, out),
                (Stored::List(elements), Type::List(Type::Path(kind, _))) => {
                    for (number, element) in elements.iter().enumerate() {
                        if let Stored::File(file) = element.value {
                            report(it, path.then(number), file, *kind, view, out);
                        }
                    }
                }
                _ => {}
            }
        }
    }
}

fn sheet(it: EntityId, path: FieldPath, file: guywire_text::FileId, view: View<'_>, out: &mut crate::Sink<'_>) {
    let name = view.path(file).file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    if view.file_problem(file) == Some(&FileProblem::Missing) {
        let message = format!(
            "there is no sheet \"{name}\" here, so its radios are not known and not checked. Correct the path; it is taken from this file's folder, with `/`"
        );
        out.report(Anchor::Value(it, path), message).about(&name);
    }
}

fn report(
    it: EntityId,
    path: FieldPath,
    file: guywire_text::FileId,
    kind: FileKind,
    view: View<'_>,
    out: &mut crate::Sink<'_>,
) {
    let name = view.path(file).file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let ending = FileKind::ENDINGS.iter().find(|(of, _)| *of == kind).map_or("", |(_, ending)| *ending);
    let message = match view.file_problem(file) {
        Some(FileProblem::Missing) => format!(
            "there is no file here: what \"{name}\" would say is not known and not checked. Correct the path; it is taken from this file's folder, with `/`"
        ),
        Some(FileProblem::Unreadable(_)) => format!("\"{name}\" cannot be read, so what it says is not checked"),
        None if FileKind::of_name(&name) != Some(kind) => {
            format!("\"{name}\" is not the kind of file that belongs here: its name should end in `{ending}`")
        }
        None if kind != FileKind::Plan && view.main(file).is_none() => {
            format!("\"{name}\" does not begin with the table that such a file has, so nothing is known of it")
        }
        None => return,
    };
    out.report(Anchor::Value(it, path), message).about(&name);
}
