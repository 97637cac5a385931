//! Every question about names and outlines has an answer at every byte of the demo, whole and cut short.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use guywire_text::FileId;
use guywire_workspace::{DiskSource, FileSource, MemorySource, OutlineItem, Workspace};
use jiff::civil::date;

fn demo() -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh-with-faults");
    let root = root.canonicalize().expect("the demo");
    let mut paths = DiskSource.list(&root).expect("the files of the demo");
    paths.push(root.join("fleet.csv"));
    let read = |path: PathBuf| {
        let text = std::fs::read_to_string(&path).expect("a text");
        (PathBuf::from("/harbor").join(path.strip_prefix(&root).expect("below the root")), text)
    };
    paths.into_iter().map(read).collect()
}

fn load(files: &[(PathBuf, String)]) -> Workspace {
    let source = MemorySource::new(files.to_vec());
    Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], date(2026, 11, 25))
}

/// Where a place leads is asked at every byte, and who else leads there once a place: `asked` is the last one.
fn ask_at(workspace: &Workspace, file: FileId, byte: usize, asked: &mut std::ops::Range<usize>) {
    let length = workspace.document(file).expect("a text").len();
    let found = workspace.definition(file, byte);
    let Some(found) = found else { return };
    assert!(found.origin.end <= length && !found.targets.is_empty());
    if found.origin == *asked {
        return;
    }
    *asked = found.origin;
    assert!(!workspace.references(file, byte, true).is_empty());
    for place in workspace.highlights(file, byte) {
        assert!(place.bytes.end <= length);
    }
    if let Ok(told) = workspace.prepare_rename(file, byte) {
        assert!(told.bytes.start <= byte && byte <= told.bytes.end, "the cursor is on the name");
        let within = |bytes: &std::ops::Range<usize>| told.bytes.start <= bytes.start && bytes.end <= told.bytes.end;
        let own = workspace.highlights(file, byte).into_iter().any(|place| within(&place.bytes));
        assert!(own, "the name under the cursor is among its places");
    }
}

fn select_at(workspace: &Workspace, file: FileId, byte: usize) {
    let length = workspace.document(file).expect("a text").len();
    let around = workspace.selections(file, byte);
    assert!(around.windows(2).all(|pair| pair[1].start <= pair[0].start && pair[0].end <= pair[1].end));
    assert_eq!(around.last(), Some(&(0..length)));
}

fn ask_about(workspace: &Workspace, file: FileId) {
    fn nested(items: &[OutlineItem], length: usize) {
        for item in items {
            assert!(!item.name.trim().is_empty() && item.bytes.end <= length);
            assert!(item.bytes.start <= item.name_bytes.start && item.name_bytes.end <= item.bytes.end);
            nested(&item.children, length);
        }
    }
    let length = workspace.document(file).expect("a text").len();
    nested(&workspace.outline(file), length);
    assert!(workspace.folds(file).iter().all(|fold| fold.bytes.end <= length));
    assert!(workspace.links(file).iter().all(|link| link.bytes.end <= length));
    assert!(workspace.lenses(file).iter().all(|lens| lens.bytes.end <= length));
}

/// The same numbers every time (Steele, Lea, Flood 2014: SplitMix64).
struct Random(u64);

impl Random {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ (mixed >> 31)) % end as u64) as usize
    }
}

#[test]
fn every_byte_of_the_demo_has_an_answer() {
    let workspace = load(&demo());
    for file in workspace.files() {
        ask_about(&workspace, file);
        let mut asked = 0..0;
        for byte in 0..=workspace.document(file).expect("a text").len() {
            ask_at(&workspace, file, byte, &mut asked);
            if byte % 5 == 0 {
                select_at(&workspace, file, byte);
            }
        }
    }
}

#[test]
fn texts_that_are_cut_short_have_answers() {
    let files = demo();
    let mut random = Random(20_261_125);
    for _ in 0..40 {
        let mut files = files.clone();
        let number = random.below(files.len());
        let text = &mut files[number].1;
        let (mut from, mut to) = (random.below(text.len()), random.below(text.len()));
        (from, to) = (from.min(to), from.max(to).min(from + 400));
        while !text.is_char_boundary(from) {
            from -= 1;
        }
        while !text.is_char_boundary(to) {
            to += 1;
        }
        text.replace_range(from..to, "");
        let path = files[number].0.clone();
        let workspace = load(&files);
        let Some(file) = workspace.file(&guywire_workspace::Address::Disk(path)) else { continue };
        ask_about(&workspace, file);
        let length = workspace.document(file).expect("a text").len();
        let mut asked = 0..0;
        for byte in from.saturating_sub(60)..(from + 60).min(length) {
            ask_at(&workspace, file, byte, &mut asked);
            select_at(&workspace, file, byte);
        }
    }
}
