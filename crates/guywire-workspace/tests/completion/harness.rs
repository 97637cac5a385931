//! A workspace with a cursor (`▮`) in one of its texts, and what accepting an item does to a text.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_text::FileId;
use guywire_workspace::{Address, Budget, Completion, Completions, MemorySource, Workspace};
use jiff::civil::date;

/// A cursor in a file of a workspace whose other files are the demo's.
pub struct At {
    pub workspace: Workspace,
    pub file: FileId,
    pub byte: usize,
    pub text: String,
}

/// The files of the demo by their path below `/harbor`.
pub fn demo() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh");
    let mut open = vec![root.clone()];
    let mut found = Vec::new();
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).expect("the demo").flatten() {
            let path = entry.path();
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let name = path.strip_prefix(&root).expect("below the root").to_string_lossy().replace('\\', "/");
            found.push((format!("/harbor/{name}"), std::fs::read_to_string(&path).expect("a text")));
        }
    }
    found.sort();
    found
}

/// The workspace of some files.
pub fn workspace(files: &[(String, String)]) -> Workspace {
    let source = MemorySource::new(files.iter().map(|(path, text)| (path.as_str(), text.as_str())));
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25));
    workspace.settle(Budget::All, &AtomicBool::new(false));
    workspace
}

/// The demo with one more file, or one in the place of its own, that has a cursor.
pub fn beside_demo(name: &str, text: &str) -> At {
    let byte = text.find('▮').expect("a cursor in the text");
    let text = text.replace('▮', "");
    let path = format!("/harbor/{name}");
    let mut files = demo();
    files.retain(|(other, _)| *other != path);
    files.push((path.clone(), text.clone()));
    let workspace = workspace(&files);
    let file = workspace.file(&Address::Disk(PathBuf::from(path))).expect("the file");
    At { workspace, file, byte, text }
}

impl At {
    pub fn complete(&self) -> Completions {
        self.workspace.complete(self.file, self.byte, None)
    }

    /// Whether anything is offered where the character before the cursor was just typed.
    pub fn begins(&self) -> bool {
        let typed = self.text[..self.byte].chars().next_back();
        !self.workspace.complete(self.file, self.byte, typed).items.is_empty()
    }

    /// The item with this label.
    pub fn item(&self, label: &str) -> Completion {
        let items = self.complete().items;
        let labels: Vec<String> = items.iter().map(|item| item.label.clone()).collect();
        items.into_iter().find(|item| item.label == label).unwrap_or_else(|| panic!("{label} among {labels:?}"))
    }

    /// The text after an item is chosen, in a client without snippets.
    pub fn after(&self, label: &str) -> String {
        accepted(&self.text, &self.item(label))
    }

    /// The first items: label, detail, what is typed and what is written.
    pub fn shown(&self, most: usize) -> String {
        let Completions { items, incomplete } = self.complete();
        let mut page = String::new();
        for item in items.iter().take(most) {
            let mark = if item.preselect { "*" } else { " " };
            let replaced = &self.text[item.bytes.clone()];
            let written = item.snippet.as_ref().unwrap_or(&item.text);
            let _ = writeln!(page, "{mark} {} | {} | {replaced:?} -> {written:?}", item.label, item.detail);
        }
        if items.len() > most {
            let _ = writeln!(page, "  and {} more", items.len() - most);
        }
        if incomplete {
            page.push_str("  incomplete\n");
        }
        if items.is_empty() {
            page.push_str("nothing");
        }
        page
    }

    pub fn labels(&self) -> Vec<String> {
        self.complete().items.into_iter().map(|item| item.label).collect()
    }
}

/// A text after an item is chosen: all edits name places of the text before them and none overlap.
pub fn accepted(text: &str, item: &Completion) -> String {
    let mut edits: Vec<(std::ops::Range<usize>, &str)> = vec![(item.bytes.clone(), &item.text)];
    edits.extend(item.more.iter().map(|edit| (edit.bytes.clone(), edit.text.as_str())));
    edits.sort_by_key(|(bytes, _)| bytes.start);
    for pair in edits.windows(2) {
        assert!(pair[0].0.end < pair[1].0.start, "edits of {:?} meet: {edits:?}", item.label);
    }
    let mut text = text.to_owned();
    for (bytes, new) in edits.into_iter().rev() {
        text.replace_range(bytes, new);
    }
    text
}

/// A snippet with all that is to be filled in left as it stands (Language Server Protocol 3.17, Snippet Syntax).
pub fn expanded(snippet: &str) -> String {
    let mut out = String::new();
    let mut rest = snippet.chars().peekable();
    while let Some(letter) = rest.next() {
        match letter {
            '\\' => out.extend(rest.next()),
            '$' if rest.peek() == Some(&'{') => {
                rest.next();
                while rest.next_if(char::is_ascii_digit).is_some() {}
                let choice = match rest.next() {
                    Some('|') => true,
                    Some(':') => false,
                    other => panic!("{other:?} in a stop of {snippet:?}"),
                };
                let mut first = true;
                loop {
                    match rest.next() {
                        Some('\\') => {
                            let escaped = rest.next();
                            out.extend(escaped.filter(|_| first));
                        }
                        Some(',') if choice => first = false,
                        Some('|') if choice => {}
                        Some('}') => break,
                        Some(letter) => out.extend(Some(letter).filter(|_| first)),
                        None => panic!("a stop of {snippet:?} does not end"),
                    }
                }
            }
            '$' => while rest.next_if(char::is_ascii_digit).is_some() {},
            letter => out.push(letter),
        }
    }
    out
}
