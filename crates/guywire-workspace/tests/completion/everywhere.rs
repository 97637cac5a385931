//! At every cursor of the demo, and in texts that are broken at random.

use std::path::PathBuf;

use guywire_text::FileId;
use guywire_workspace::{Address, Change, Completion, Splice, Workspace};
use toml_edit::{DocumentMut, Item, Value};

use super::harness::{accepted, demo, expanded, workspace};

/// A small generator (SplitMix64), so that a failing run can be had again.
struct Random(u64);

impl Random {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) % end.max(1) as u64) as usize
    }
}

fn file_of(workspace: &Workspace, path: &str) -> FileId {
    workspace.file(&Address::Disk(PathBuf::from(path))).expect("a file of the demo")
}

/// The block around a byte: from the header above it to the one below, as offsets in the text.
fn block_around(workspace: &Workspace, file: FileId, byte: usize) -> std::ops::Range<usize> {
    let document = workspace.document(file).expect("a text");
    let (block, _) = document.at(byte);
    let start = document.start(block).expect("a block");
    start..start + document.block_text(block).expect("a block").len()
}

/// The keys of a block with their values, by their path.
fn statements(document: &DocumentMut) -> Vec<(String, String)> {
    let mut found = Vec::new();
    collect("", document.as_item(), &mut found);
    found
}

fn collect(path: &str, item: &Item, found: &mut Vec<(String, String)>) {
    match item {
        Item::Table(table) => table.iter().for_each(|(key, item)| collect(&format!("{path}/{key}"), item, found)),
        Item::ArrayOfTables(tables) => tables.iter().for_each(|table| {
            table.iter().for_each(|(key, item)| collect(&format!("{path}/{key}"), item, found));
        }),
        Item::Value(value) => found.push((path.to_owned(), shown(value))),
        Item::None => {}
    }
}

fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => format!("{:?}", text.value()),
        Value::Integer(number) => number.value().to_string(),
        Value::Float(number) => number.value().to_string(),
        Value::Boolean(truth) => truth.value().to_string(),
        Value::Datetime(when) => when.value().to_string(),
        Value::Array(items) => format!("[{}]", items.iter().map(shown).collect::<Vec<_>>().join(", ")),
        Value::InlineTable(table) => {
            let pairs = table.iter().map(|(key, value)| format!("{key} = {}", shown(value)));
            format!("{{{}}}", pairs.collect::<Vec<_>>().join(", "))
        }
    }
}

/// The header of the table that a block's own is a part of.
fn parent(text: &str, block: &str) -> String {
    let name = block.trim_start_matches('[').split(['.', ']']).next().unwrap_or_default();
    let is_part = block.starts_with('[') && block.split(']').next().is_some_and(|header| header.contains('.'));
    match (is_part, text.contains(&format!("[[{name}]]"))) {
        (false, _) => String::new(),
        (true, true) => format!("[[{name}]]\n"),
        (true, false) => format!("[{name}]\n"),
    }
}

/// What is wrong with choosing an item, if anything is.
fn fault(text: &str, block: &std::ops::Range<usize>, byte: usize, item: &Completion) -> Option<String> {
    if item.bytes.start > byte || byte > item.bytes.end || text[item.bytes.clone()].contains(['\n', '\r']) {
        return Some(format!("{:?} is not one line around the cursor", item.bytes));
    }
    let after = accepted(text, item);
    let grown = after.len() - (text.len() - block.len());
    let (before, after) = (&text[block.clone()], &after[block.start..block.start + grown]);
    let parent = parent(text, before);
    let old: DocumentMut = format!("{parent}{before}").parse().expect("a sound block");
    let new: DocumentMut = match format!("{parent}{after}").parse() {
        Ok(new) => new,
        Err(error) => return Some(format!("{error}\n{after}")),
    };
    let new = statements(&new);
    let lost: Vec<(String, String)> = statements(&old).into_iter().filter(|pair| !new.contains(pair)).collect();
    // The one that the cursor is in may be another, and those that the item says it sets.
    (lost.len() > 1 + item.more.len()).then(|| format!("lost {lost:?}\n{after}"))
}

#[test]
fn whatever_is_chosen_in_the_demo_keeps_the_text_whole() {
    let files = demo();
    let workspace = workspace(&files);
    let mut random = Random(0x5A17);
    let mut tried = 0;
    for (path, text) in files.iter().filter(|(path, _)| path.ends_with(".toml")) {
        let file = file_of(&workspace, path);
        // Files are much alike inside: of large ones a part is enough, another each time that they change.
        let stride = if text.len() > 6_000 { 7 } else { 2 };
        for byte in (0..=text.len()).step_by(stride) {
            let items = workspace.complete(file, byte, None).items;
            let block = block_around(&workspace, file, byte);
            for _ in 0..items.len().min(4) {
                let item = &items[random.below(items.len())];
                tried += 1;
                let filled =
                    item.snippet.as_ref().map(|snippet| Completion { text: expanded(snippet), ..item.clone() });
                let forms = std::iter::once(item).chain(&filled);
                if let Some(fault) = forms.into_iter().find_map(|form| fault(text, &block, byte, form)) {
                    let line = text[..byte].matches('\n').count() + 1;
                    panic!("{path}:{line}, byte {byte}, {:?} {:?}: {fault}", item.label, item.text);
                }
            }
        }
    }
    assert!(tried > 8_000, "{tried}");
}

/// Pieces that break a text.
const SHARDS: [&str; 16] = [
    "\"",
    "'",
    "[",
    "]",
    "{",
    "}",
    "=",
    ",",
    "#",
    "\n",
    "\r\n",
    "[[",
    "\"\"\"",
    "é",
    " ",
    "channels = [\"Berths\", \"",
];

#[test]
fn a_broken_text_never_stops_it() {
    let files = demo();
    let mut workspace = workspace(&files);
    let mut random = Random(20_261_125);
    let (path, whole) = files.iter().find(|(path, _)| path.ends_with("places.plan.toml")).expect("a file of the demo");
    let address = Address::Disk(PathBuf::from(path));
    workspace.apply(Change::Open { address, version: 1, text: whole.clone() });
    let file = file_of(&workspace, path);
    for version in 2..400 {
        let mut text = whole.clone();
        for _ in 0..1 + random.below(3) {
            let at = boundary(&text, random.below(text.len()));
            match random.below(3) {
                0 => text.truncate(at),
                1 => text.insert_str(at, SHARDS[random.below(SHARDS.len())]),
                _ => text.replace_range(at..boundary(&text, (at + random.below(40)).min(text.len())).max(at), ""),
            }
        }
        workspace.apply(Change::Edit { file, version, edits: vec![Splice::Whole(text.clone())] });
        for _ in 0..12 {
            let byte = random.below(text.len() + 1);
            for item in workspace.complete(file, byte, None).items {
                let at = boundary(&text, byte);
                assert!(item.bytes.start <= at && at <= item.bytes.end, "{:?} at {byte} of {text:?}", item.bytes);
                assert!(
                    text.get(item.bytes.clone()).is_some_and(|old| !old.contains(['\n', '\r'])),
                    "{text:?} at {byte}"
                );
                if let Some(snippet) = &item.snippet {
                    expanded(snippet);
                }
                accepted(&text, &item);
            }
        }
    }
}

fn boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or_default()
}
