//! Renaming every named table of the demo changes no finding but for the name in it, and renaming back gives the bytes of
//! before.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_text::{Document, Encoding, FileId};
use guywire_workspace::{Address, Budget, Change, DiskSource, FileSource, MemorySource, Splice, TextEdit, Workspace};
use jiff::civil::date;

/// The demo of this name, each file open, so that edits go to texts and not to the disk.
fn demo(name: &str) -> Workspace {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples").join(name);
    let root = root.canonicalize().expect("the demo");
    let mut paths = DiskSource.list(&root).expect("the files of the demo");
    paths.extend(std::fs::read_dir(&root).expect("a folder").map(|entry| entry.expect("an entry").path()));
    paths.retain(|path| path.is_file());
    paths.sort();
    paths.dedup();
    let files: Vec<(PathBuf, String)> = paths
        .into_iter()
        .map(|path| {
            let place = PathBuf::from("/harbor").join(path.strip_prefix(&root).expect("below the root"));
            (place, std::fs::read_to_string(&path).expect("a text"))
        })
        .collect();
    let source = MemorySource::new(files.clone());
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    for (path, text) in files {
        workspace.apply(Change::Open { address: Address::Disk(path), version: 1, text });
    }
    settle(&mut workspace);
    workspace
}

fn settle(workspace: &mut Workspace) {
    workspace.settle(Budget::All, &AtomicBool::new(false));
}

fn take(workspace: &mut Workspace, edits: &[TextEdit]) {
    for edit in edits.iter().rev() {
        let splice = Splice::Bytes(edit.bytes.clone(), edit.text.clone());
        let applied = workspace.apply(Change::Edit { file: edit.file, version: 2, edits: vec![splice] });
        assert_eq!(applied.refused, 0);
    }
    settle(workspace);
}

/// Every finding with the line that it is on, one name written as another.
fn findings(workspace: &Workspace, from: &str, to: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for file in workspace.files() {
        let document = workspace.document(file).expect("a text");
        let line = |byte| document.to_protocol(byte, Encoding::Utf8).line;
        for found in workspace.findings(file).shown {
            let related: Vec<String> =
                found.related.iter().map(|it| format!("{}: {}", workspace.shown_path(it.file), it.message)).collect();
            let text = format!("{} {:?}", found.message, related).replace(from, to);
            all.push(format!("{}:{} {} {text}", workspace.shown_path(file), line(found.bytes.start), found.rule));
        }
    }
    all.sort();
    all
}

fn texts(workspace: &Workspace) -> Vec<String> {
    workspace.files().into_iter().map(|file| workspace.document(file).map(Document::whole_text).unwrap()).collect()
}

/// As long as the name, of letters that its display has, and like no other name of the demo.
fn another(name: &str) -> String {
    name.chars()
        .map(|letter| match letter {
            'a'..='y' | 'A'..='Y' => char::from(letter as u8 + 1),
            'z' => 'a',
            'Z' => 'A',
            other => other,
        })
        .collect()
}

/// The first byte of every name that a table of a file gives itself.
fn names(workspace: &Workspace, file: FileId) -> Vec<usize> {
    let text = workspace.document(file).expect("a text").whole_text();
    let mut places = Vec::new();
    for lead in ["name = \"", "alias = \""] {
        let at_line_start = |at: &usize| text[..*at].ends_with('\n');
        places.extend(text.match_indices(lead).map(|(at, _)| at).filter(at_line_start).map(|at| at + lead.len()));
    }
    places.sort_unstable();
    places
}

fn rename_all(demo_name: &str) -> (usize, Vec<String>) {
    let mut workspace = demo(demo_name);
    let (mut renamed, mut refused) = (0, Vec::new());
    for file in workspace.files() {
        for byte in names(&workspace, file) {
            let Ok(told) = workspace.prepare_rename(file, byte) else { continue };
            let new = another(&told.name);
            let (before, found) = (texts(&workspace), findings(&workspace, &told.name, &told.name));
            let edits = match workspace.rename(file, byte, &new) {
                Ok(edits) => edits,
                Err(refusal) => {
                    refused.push(format!("{}: {refusal}", told.name));
                    continue;
                }
            };
            let hides =
                found.iter().any(|it| it.contains("share-shadowed") && it.contains(&format!("\"{}\"", told.name)));
            take(&mut workspace, &edits);
            if hides {
                // The names are two now, which is what that finding asks for; there is no way back.
                let left: Vec<String> = found.into_iter().filter(|it| !it.contains("share-shadowed")).collect();
                assert_eq!(findings(&workspace, &new, &told.name), left, "{} as {new}", told.name);
                workspace = demo(demo_name);
                continue;
            }
            assert_eq!(findings(&workspace, &new, &told.name), found, "{} as {new}", told.name);
            let back = workspace.rename(file, byte, &told.name).expect("the way back");
            assert_eq!(back.len(), edits.len());
            take(&mut workspace, &back);
            assert_eq!(texts(&workspace), before, "{} as {new} and back", told.name);
            renamed += 1;
        }
    }
    (renamed, refused)
}

#[test]
fn of_a_sound_demo_everything_can_be_renamed() {
    let (renamed, refused) = rename_all("saltmarsh");
    assert_eq!(refused, [] as [String; 0]);
    assert!(renamed > 100, "{renamed}");
}

#[test]
fn of_a_faulty_demo_what_is_refused_has_a_reason() {
    let (renamed, refused) = rename_all("saltmarsh-with-faults");
    assert!(renamed > 100, "{renamed}");
    insta::assert_snapshot!(refused.join("\n"));
}
