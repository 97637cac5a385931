//! A workspace of texts, one of which has a cursor: `▮`.

#![allow(dead_code)] // Each test file uses its part.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_text::{Encoding, FileId};
use guywire_workspace::{Address, Budget, FileBytes, MemorySource, TextEdit, Workspace};
use jiff::civil::date;

pub struct Scene {
    pub workspace: Workspace,
    pub file: FileId,
    pub byte: usize,
}

pub fn at_cursor(files: &[(&str, &str)]) -> Scene {
    let (path, text) = files.iter().find(|(_, text)| text.contains('▮')).expect("a cursor in one of the texts");
    let byte = text.find('▮').expect("a cursor");
    let plain: Vec<(PathBuf, String)> =
        files.iter().map(|(path, text)| (PathBuf::from("/harbor").join(path), text.replace('▮', ""))).collect();
    let source = MemorySource::new(plain.iter().map(|(path, text)| (path.clone(), text.as_str())));
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    workspace.settle(Budget::All, &AtomicBool::new(false));
    let file = file(&workspace, path);
    Scene { workspace, file, byte }
}

pub fn file(workspace: &Workspace, path: &str) -> FileId {
    workspace.file(&Address::Disk(PathBuf::from("/harbor").join(path))).expect("a file")
}

/// A place as people see it: path, line, and the line with the place between `«` and `»`.
pub fn shown(workspace: &Workspace, place: &FileBytes) -> String {
    let document = workspace.document(place.file).expect("a text");
    let line = document.to_protocol(place.bytes.start, Encoding::Utf8).line;
    let whole = document.line_range(line).expect("a line");
    let slice = |from, to| document.slice(from..to).expect("whole characters").into_owned();
    let end = place.bytes.end.min(whole.end);
    format!(
        "{}:{}: {}«{}»{}",
        workspace.shown_path(place.file),
        line + 1,
        slice(whole.start, place.bytes.start),
        slice(place.bytes.start, end),
        slice(end, whole.end)
    )
}

pub fn shown_all(workspace: &Workspace, places: &[FileBytes]) -> String {
    places.iter().map(|place| shown(workspace, place) + "\n").collect()
}

/// The lines that edits change, before and after.
pub fn changes(workspace: &Workspace, edits: &[TextEdit]) -> String {
    let mut page = String::new();
    for edit in edits {
        let place = FileBytes { file: edit.file, bytes: edit.bytes.clone() };
        let _ = writeln!(page, "{} -> {}", shown(workspace, &place), edit.text);
    }
    page
}
