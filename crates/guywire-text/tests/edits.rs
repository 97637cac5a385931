//! After any edit, a document is the same as a fresh one of the same text, and reading again what the edit names is
//! enough to know it.

#![allow(clippy::expect_used, clippy::unwrap_used)]

mod common;

use std::collections::{HashMap, HashSet};

use common::generate::{self, Kind};
use common::{Random, absolute};
use guywire_text::{BlockId, Delta, Document, Unit, UnitKey};

/// A reader that keeps units as a consumer would: it reads what each edit names, and nothing else.
struct Reader {
    text: String,
    document: Document,
    units: HashMap<UnitKey, Unit>,
    blocks: HashMap<BlockId, String>,
    /// Units read, and those of them that no block of theirs gave a reason to read.
    read: usize,
    needless: usize,
}

impl Reader {
    fn new(text: String) -> Reader {
        let document = Document::new(&text);
        let units = document.read_all().into_iter().collect();
        let blocks = blocks_of(&document);
        Reader { text, document, units, blocks, read: 0, needless: 0 }
    }

    fn take(&mut self, delta: &Delta) {
        for key in &delta.gone {
            assert!(self.units.remove(key).is_some(), "gone, and was there: {key:?}");
            assert!(self.document.read_unit(key).is_none(), "gone: {key:?}");
        }
        assert_eq!(delta.read.iter().collect::<HashSet<_>>().len(), delta.read.len(), "each unit once: {delta:?}");
        for (key, unit) in delta.read.iter().zip(self.document.read_units(&delta.read)) {
            let unit = unit.unwrap_or_else(|| panic!("to be read, but not there: {key:?}"));
            assert_eq!(Some(&unit), self.document.read_unit(key).as_ref(), "read alone or with others");
            self.count_read(key, &unit, delta);
            self.units.insert(key.clone(), unit);
        }
        self.take_blocks(delta);
    }

    /// A unit that reads as before, places included, and holds no block that is new or changed.
    fn count_read(&mut self, key: &UnitKey, unit: &Unit, delta: &Delta) {
        let holds = |id: &BlockId| self.document.units_of(*id).contains(key);
        let is_touched = delta.changed.iter().chain(&delta.added).any(holds);
        self.read += 1;
        self.needless += usize::from(!is_touched && self.units.get(key) == Some(unit));
    }

    fn take_blocks(&mut self, delta: &Delta) {
        let now = blocks_of(&self.document);
        for id in &delta.removed {
            assert!(self.blocks.remove(id).is_some() && !now.contains_key(id), "removed");
            assert!(self.document.start(*id).is_none() && self.document.unit_of(*id).is_none());
        }
        for id in &delta.added {
            assert!(self.blocks.insert(*id, now[id].clone()).is_none(), "added");
        }
        for id in &delta.changed {
            assert_ne!(self.blocks.insert(*id, now[id].clone()).as_ref(), Some(&now[id]), "changed");
        }
        assert_eq!(self.blocks, now);
    }

    /// Everything against a fresh document.
    fn compare(&self) {
        let fresh = Document::new(&self.text);
        assert_eq!(self.document.whole_text(), self.text);
        assert_eq!(texts(&self.document), texts(&fresh), "blocks");
        let keys = self.document.units();
        assert_eq!(keys.iter().collect::<HashSet<_>>(), self.units.keys().collect::<HashSet<_>>(), "units known");
        let kept: Vec<String> = keys.iter().map(|key| absolute(&self.document, key, &self.units[key])).collect();
        let expected: Vec<String> = fresh.read_all().iter().map(|(key, unit)| absolute(&fresh, key, unit)).collect();
        assert_eq!(kept, expected, "units");
        self.compare_memberships();
    }

    fn compare_memberships(&self) {
        let mut at = 0;
        for id in self.document.blocks() {
            assert_eq!(self.document.start(id), Some(at));
            let len = self.document.block_text(id).expect("its text").len();
            if len > 0 {
                assert_eq!(self.document.at(at), (id, 0));
                assert_eq!(self.document.at(at + len - 1), (id, len as u32 - 1));
            }
            for key in self.document.units_of(id) {
                assert!(self.units.contains_key(&key), "the unit of a block is there: {key:?}");
            }
            at += len;
        }
        assert_eq!(at, self.document.len());
    }
}

fn blocks_of(document: &Document) -> HashMap<BlockId, String> {
    document.blocks().map(|id| (id, document.block_text(id).expect("its text").into_owned())).collect()
}

fn texts(document: &Document) -> Vec<String> {
    document.blocks().map(|id| document.block_text(id).expect("its text").into_owned()).collect()
}

fn steps() -> u64 {
    match std::env::var("GUYWIRE_STEPS").as_deref() {
        Ok("full") => 200_000,
        _ => 4_000,
    }
}

#[test]
fn after_random_edits_a_document_is_as_a_fresh_one() {
    let steps = steps();
    let mut random = Random(steps);
    let mut reader = Reader::new(String::new());
    let (mut read, mut needless) = (0, 0);
    for step in 0..steps {
        if step % 40 == 0 {
            (read, needless) = (read + reader.read, needless + reader.needless);
            let kind = if random.one_in(2) { Kind::Plain } else { Kind::Hard };
            let tables = random.below(10);
            reader = Reader::new(generate::document(&mut random, kind, tables));
        }
        let before = reader.text.clone();
        let (range, with) = generate::edit(&mut random, &reader.text);
        reader.text.replace_range(range.clone(), &with);
        let told = format!("step {step}: {range:?} {with:?} in {before:?}");
        let result = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            let delta = match random.one_in(5) {
                true => reader.document.replace(&reader.text),
                false => reader.document.edit(range, &with).expect("a range in the text"),
            };
            reader.take(&delta);
            reader.compare();
        }));
        assert!(result.is_ok(), "{told}");
    }
    assert!(needless * 100 < read, "{needless} of {read} units were read though nothing of theirs changed");
}

/// Blocks enough for several chunks of the list.
#[test]
fn edits_of_a_large_document_keep_it_right() {
    let mut random = Random(5);
    let mut text: String = (0..2000).map(|n| format!("[[channel]]\nname = \"{n}\"\n")).collect();
    text.push_str(&generate::document(&mut random, Kind::Hard, 300));
    let mut reader = Reader::new(text);
    for _ in 0..60 {
        let (range, with) = generate::edit(&mut random, &reader.text);
        if range.len() > 2000 {
            continue;
        }
        reader.text.replace_range(range.clone(), &with);
        let delta = reader.document.edit(range, &with).expect("a range in the text");
        reader.take(&delta);
        reader.compare();
    }
}

fn plain(tables: usize) -> String {
    (0..tables).map(|n| format!("[[channel]]\nname = \"Dock {n}\"\nrx = 462.5625\n\n")).collect()
}

#[test]
fn a_character_typed_in_an_entry_reads_that_entry_only() {
    let text = plain(600);
    let mut document = Document::new(&text);
    let at = text.find("Dock 300").expect("it is there");
    let block = document.at(at).0;
    let delta = document.edit(at..at, "x").expect("a place in the text");
    let expected = Delta { changed: vec![block], read: vec![UnitKey::Entry(block)], ..Delta::default() };
    assert_eq!(delta, expected);
}

#[test]
fn an_entry_put_in_is_added_and_no_other_is_read() {
    let text = plain(3);
    let mut document = Document::new(&text);
    let second = document.blocks().nth(1).expect("three blocks");
    let at = document.start(second).expect("it is there");
    let delta = document.edit(at..at, "[[channel]]\nname = \"new\"\n").expect("a place in the text");
    assert_eq!((delta.removed.len(), delta.added.len(), delta.changed.len()), (0, 1, 0));
    assert_eq!(delta.read, [UnitKey::Entry(delta.added[0])]);
}

#[test]
fn sub_tables_go_where_their_entry_goes() {
    let text = "[[license]]\na = 1\n[[license]]\na = 2\n[license.holder]\nb = 1\n[other]\n";
    let mut document = Document::new(text);
    let blocks: Vec<BlockId> = document.blocks().collect();
    let second = document.start(blocks[1]).expect("it is there");
    // Without its header the second entry is more of the first, and the holder is the first one's.
    let delta = document.edit(second..second + "[[license]]\na = 2\n".len(), "").expect("a range in the text");
    assert_eq!(delta.removed, [blocks[1]]);
    assert_eq!(delta.gone, [UnitKey::Entry(blocks[1])]);
    assert_eq!(delta.read, [UnitKey::Entry(blocks[0])]);
    assert_eq!(document.unit_of(blocks[2]), Some(UnitKey::Entry(blocks[0])));
}

#[test]
fn a_single_bracket_turns_a_list_into_one_group_and_back() {
    let text = plain(3);
    let mut document = Document::new(&text);
    let blocks: Vec<BlockId> = document.blocks().collect();
    let group = UnitKey::Group("channel".into());
    let delta = document.edit(text.len()..text.len(), "[channel]\n").expect("a place in the text");
    assert_eq!(delta.read, std::slice::from_ref(&group));
    assert_eq!(delta.gone.len(), 3);
    let delta = document.edit(text.len()..document.len(), "").expect("a range in the text");
    assert_eq!(delta.gone, [group]);
    assert_eq!(delta.read, blocks.iter().map(|id| UnitKey::Entry(*id)).collect::<Vec<_>>());
}

#[test]
fn a_note_being_typed_leaves_the_rest_alone() {
    let text = plain(100);
    let mut document = Document::new(&text);
    let at = text.find("rx").expect("it is there");
    let before = document.units().len();
    let delta = document.edit(at..at, "note = \"\"\"half a").expect("a place in the text");
    assert_eq!((document.units().len(), delta.read.len()), (before, 1));
    let at = document.whole_text().find(" a").expect("it is there");
    let delta = document.edit(at..at, "x").expect("a place in the text");
    assert_eq!((document.units().len(), delta.read.len()), (before, 1));
}

proptest::proptest! {
    /// Whatever the text: it is kept to the byte, and the blocks are those of a fresh document.
    #[test]
    fn any_edit_of_any_text_is_an_edit_of_a_string(
        text in "([\\[\\]\"'=#a{}\\\\ \r\n]|\\PC){0,60}", with in "\\PC{0,8}", start in 0..200_usize, len in 0..20_usize,
    ) {
        let mut expected = text.clone();
        let mut document = Document::new(&text);
        let range = start..start + len;
        match document.edit(range.clone(), &with) {
            Ok(_) => expected.replace_range(range, &with),
            Err(_) => proptest::prop_assert!(text.get(range).is_none()),
        }
        proptest::prop_assert_eq!(document.whole_text(), &*expected);
        proptest::prop_assert_eq!(texts(&document), texts(&Document::new(&expected)));
    }
}

#[test]
fn edits_that_do_not_fit_change_nothing() {
    let mut document = Document::new("a = \"\u{e9}\"\n");
    for (range, expected) in [(5..99, "ends at byte 99"), (6..7, "byte 6 lies inside"), (3..6, "byte 6 lies inside")] {
        let error = document.edit(range, "x").expect_err("it does not fit");
        assert!(error.to_string().contains(expected), "{error}");
    }
    let reversed = std::ops::Range { start: 3, end: 1 };
    assert!(document.edit(reversed, "x").is_err());
    assert_eq!(document.whole_text(), "a = \"\u{e9}\"\n");
    assert_eq!(document.edit(0..0, ""), Ok(Delta::default()));
}

#[test]
fn a_backslash_taken_away_closes_a_string_far_above() {
    let text = "a = \"\"\"x\n[b]\nc = '\\\"\"\"'\n[d]\n";
    let mut document = Document::new(text);
    assert_eq!(texts(&document), ["a = \"\"\"x\n", "[b]\nc = '\\\"\"\"'\n", "[d]\n"]);
    let at = text.find('\\').expect("it is there");
    document.edit(at..at + 1, "").expect("a range in the text");
    assert_eq!(texts(&document), ["a = \"\"\"x\n[b]\nc = '\"\"\"'\n", "[d]\n"]);
    document.edit(at..at, "\\").expect("a place in the text");
    assert_eq!(texts(&document).len(), 3);
}
