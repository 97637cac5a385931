//! Files that the workspace knows, as paths from the file that names them. The disk is not looked at.

use std::path::{Component, Path};

use guywire_plan::language::FileKind;
use guywire_radio::regime::built_in;

use super::context::Asked;
use super::item::Draft;
use crate::answer::CompletionKind;

/// Files of a kind that the workspace knows, as paths from this file, and the built-in ones.
pub(crate) fn of_kind(asked: &Asked<'_>, kind: FileKind, built_in_names: &'static [&'static str]) -> Vec<Draft> {
    let built_in = built_in_names.iter().map(|name| {
        let title = built_in(name).map(|regime| regime.terms().title.to_string()).unwrap_or_default();
        Draft::of_text(CompletionKind::File, *name).detail(title).doc("Built in.")
    });
    let files =
        known(asked, kind).into_iter().map(|(path, named)| Draft::of_text(CompletionKind::File, path).detail(named));
    built_in.chain(files).collect()
}

/// Files of a kind that the workspace knows, as paths from this file, each with the name of its main table.
pub(crate) fn known(asked: &Asked<'_>, kind: FileKind) -> Vec<(String, String)> {
    let db = asked.db();
    let Some(folder) = db.file(asked.file).path.parent() else { return Vec::new() };
    let files = db.file_ids().filter(|file| *file != asked.file && db.file(*file).kind == Some(kind));
    let mut found: Vec<(String, String)> = files
        .filter(|file| db.document(*file).is_some())
        .filter_map(|file| {
            let named = db.main(file).and_then(|main| asked.view.name_of(main));
            Some((relative(folder, &db.file(file).path)?, named.unwrap_or_default().to_owned()))
        })
        .collect();
    found.sort_unstable();
    found
}

/// Sheets that some plan names.
pub(crate) fn sheets(asked: &Asked<'_>) -> Vec<Draft> {
    let db = asked.db();
    let Some(folder) = db.file(asked.file).path.parent() else { return Vec::new() };
    let is_sheet = |path: &Path| path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let files = db.file_ids().filter(|file| is_sheet(&db.file(*file).path) && db.document(*file).is_some());
    let mut found: Vec<String> = files.filter_map(|file| relative(folder, &db.file(file).path)).collect();
    found.sort_unstable();
    found.into_iter().map(|path| Draft::of_text(CompletionKind::File, path).detail("a sheet")).collect()
}

/// A path from a folder, with `/`; none where there is none, or it is not Unicode.
fn relative(folder: &Path, path: &Path) -> Option<String> {
    let (from, to): (Vec<Component<'_>>, Vec<Component<'_>>) =
        (folder.components().collect(), path.components().collect());
    let same = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    if same == 0 {
        return None;
    }
    let up = std::iter::repeat_n("..", from.len() - same);
    let down = to[same..].iter().map(|part| part.as_os_str().to_str()).collect::<Option<Vec<&str>>>()?;
    Some(up.chain(down).collect::<Vec<&str>>().join("/"))
}
