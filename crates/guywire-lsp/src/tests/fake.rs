//! An engine that finds words: `bad` is an error with a fix, `spare` is unnecessary. A few words make it fail.

use std::collections::{BTreeMap, HashMap};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use guywire_rules::{FindingKey, Level, Safety};
use guywire_text::{Document, FileId};
use guywire_workspace::{
    Address, Applied, Budget, Change, FileFindings, Hover, OfferedFix, Progress, Related, Shown, Splice, TextEdit,
};
use jiff::civil::{Date, date};

use crate::engine::Engine;
use crate::worker::{Pace, Source};

/// What tests and the engine share.
#[derive(Clone, Default)]
pub(crate) struct World {
    /// Files by path.
    pub disk: Arc<Mutex<BTreeMap<PathBuf, String>>>,
    /// Roots of each load.
    pub loads: Arc<Mutex<Vec<Vec<PathBuf>>>>,
    /// Dates that were announced.
    pub dates: Arc<Mutex<Vec<Date>>>,
    /// Today, as days after a first one.
    pub day: Arc<AtomicUsize>,
    /// How long each slice takes, in microseconds; nothing settles while it is over zero.
    pub slow_us: Arc<AtomicUsize>,
    /// How often the engine was asked to settle.
    pub slices: Arc<AtomicUsize>,
    /// How many changes were applied.
    pub changes: Arc<AtomicUsize>,
    /// While set, a hover waits.
    pub gate: Arc<AtomicBool>,
    /// How many hovers were begun.
    pub hovers: Arc<AtomicUsize>,
}

impl World {
    pub(crate) fn with(files: &[(&str, &str)]) -> Self {
        let world = Self::default();
        for (path, text) in files {
            world.write(path, text);
        }
        world
    }

    pub(crate) fn write(&self, path: &str, text: &str) {
        self.disk.lock().expect("not poisoned").insert(PathBuf::from(path), text.to_owned());
    }

    pub(crate) fn remove(&self, path: &str) {
        self.disk.lock().expect("not poisoned").remove(Path::new(path));
    }

    pub(crate) fn source(&self) -> Source<Fake> {
        let (world, days) = (self.clone(), self.day.clone());
        let today = move || {
            let day = i8::try_from(days.load(Ordering::Acquire)).expect("a small number");
            date(2026, 11, 1 + day)
        };
        Source {
            load: Box::new(move |roots, _| Fake::load(world.clone(), roots)),
            today: Box::new(today),
            disk: Pace { pause: Duration::ZERO, share: 0 },
            untold: Duration::ZERO,
        }
    }
}

struct Text {
    address: Address,
    document: Document,
    version: Option<i32>,
}

/// The engine.
pub(crate) struct Fake {
    world: World,
    roots: Vec<PathBuf>,
    texts: HashMap<FileId, Text>,
    numbers: HashMap<Address, FileId>,
    changed: Vec<FileId>,
    settled: bool,
    most: usize,
}

impl Fake {
    fn load(world: World, roots: &[PathBuf]) -> Self {
        let mut loads = world.loads.lock().expect("not poisoned");
        loads.push(roots.to_vec());
        // Numbers differ from load to load, as they may.
        let first = 100 * u32::try_from(loads.len()).expect("few loads");
        drop(loads);
        let mut fake = Self {
            world,
            roots: roots.to_vec(),
            texts: HashMap::new(),
            numbers: HashMap::from([(Address::Virtual(String::new()), FileId(first))]),
            changed: Vec::new(),
            settled: false,
            most: 9,
        };
        fake.read_disk();
        fake
    }

    fn number(&mut self, address: &Address) -> FileId {
        let next = self.numbers.values().map(|file| file.0).max().unwrap_or(0) + 1;
        *self.numbers.entry(address.clone()).or_insert(FileId(next))
    }

    fn read_disk(&mut self) {
        let disk = self.world.disk.lock().expect("not poisoned").clone();
        let known: Vec<FileId> = self.texts.keys().copied().collect();
        for file in known {
            let text = &self.texts[&file];
            let gone = matches!(&text.address, Address::Disk(path) if !disk.contains_key(path));
            if text.version.is_none() && gone {
                self.texts.remove(&file);
                self.changed.push(file);
            }
        }
        for (path, text) in disk {
            let address = Address::Disk(path.clone());
            let file = self.number(&address);
            let held = self.texts.get(&file);
            let open = held.is_some_and(|held| held.version.is_some());
            let same = held.is_some_and(|held| held.document.whole_text() == text);
            if !open && !same && self.roots.iter().any(|root| path.starts_with(root)) {
                self.texts.insert(file, Text { address, document: Document::new(&text), version: None });
                self.changed.push(file);
            }
        }
    }

    fn splice(document: &mut Document, splice: &Splice) {
        let (bytes, text) = match splice {
            Splice::Bytes(bytes, text) => (bytes.clone(), text),
            Splice::Lines { start, end, encoding, text } => {
                (document.from_protocol(*start, *encoding)..document.from_protocol(*end, *encoding), text)
            }
            Splice::Whole(text) => (0..document.len(), text),
        };
        let mut whole = document.whole_text();
        assert!(!text.contains("explode on edit"), "the key is 5EC2E7");
        whole.replace_range(bytes, text);
        *document = Document::new(&whole);
    }

    fn matches(&self, file: FileId) -> Vec<Shown> {
        let text = self.texts[&file].document.whole_text();
        assert!(!text.contains("explode on telling"), "the key is 5EC2E7");
        let word = |rule: &'static str, level, word: &'static str| {
            text.match_indices(word).enumerate().map(move |(ordinal, (start, _))| Shown {
                rule,
                level,
                bytes: start..start + word.len(),
                message: format!("`{word}` stands here"),
                related: Vec::new(),
                key: FindingKey(ordinal as u128),
                unnecessary: word == "spare",
                fixable: word == "bad",
            })
        };
        let mut found: Vec<Shown> = word("no-bad", Level::Error, "bad").collect();
        found.extend(word("no-spare", Level::Hint, "spare"));
        found.extend(word("off", Level::Off, "quiet"));
        if let Some(first) = text.find("see") {
            let related = Related { file, bytes: first..first + 3, message: "look here".to_owned() };
            found.iter_mut().for_each(|shown| shown.related.push(related.clone()));
        }
        found
    }
}

impl Engine for Fake {
    fn apply(&mut self, change: Change) -> Applied {
        self.world.changes.fetch_add(1, Ordering::AcqRel);
        self.settled = false;
        match change {
            Change::Open { address, version, text } => {
                let file = self.number(&address);
                self.texts.insert(file, Text { address, document: Document::new(&text), version: Some(version) });
                self.changed.push(file);
                Applied { file: Some(file), refused: 0 }
            }
            Change::Edit { file, version, edits } => {
                let Some(text) = self.texts.get_mut(&file).filter(|text| text.version.is_some()) else {
                    return Applied { file: Some(file), refused: edits.len() };
                };
                text.version = Some(version);
                edits.iter().for_each(|edit| Self::splice(&mut text.document, edit));
                self.changed.push(file);
                Applied { file: Some(file), refused: 0 }
            }
            Change::Close(file) => {
                self.texts.remove(&file);
                self.changed.push(file);
                self.read_disk();
                Applied { file: Some(file), refused: 0 }
            }
            Change::Disk(_) => {
                self.read_disk();
                Applied::default()
            }
            Change::Today(date) => {
                self.world.dates.lock().expect("not poisoned").push(date);
                Applied::default()
            }
        }
    }

    fn settle(&mut self, budget: Budget, _: &AtomicBool) -> Progress {
        assert_eq!(budget, Budget::For(Duration::from_millis(4)));
        self.world.slices.fetch_add(1, Ordering::AcqRel);
        for text in self.texts.values() {
            assert!(!text.document.whole_text().contains("explode on check"), "the key is 5EC2E7");
        }
        let slow = self.world.slow_us.load(Ordering::Acquire) as u64;
        std::thread::sleep(Duration::from_micros(slow));
        self.settled = slow == 0;
        Progress { settled: slow == 0, remaining: usize::from(slow > 0), unwatched: 0 }
    }

    fn changed(&mut self) -> Vec<FileId> {
        if self.world.slow_us.load(Ordering::Acquire) > 0 {
            return Vec::new();
        }
        std::mem::take(&mut self.changed)
    }

    fn is_settled(&self, _: FileId) -> bool {
        self.settled
    }

    fn values_are_settled(&self) -> bool {
        self.settled
    }

    fn show_at_most(&mut self, findings: usize) {
        self.most = findings;
        self.changed.extend(self.texts.keys());
    }

    fn files(&self) -> Vec<FileId> {
        self.texts.keys().copied().collect()
    }

    fn file(&self, address: &Address) -> Option<FileId> {
        self.numbers.get(address).copied().filter(|file| self.texts.contains_key(file))
    }

    fn address(&self, file: FileId) -> Option<Address> {
        self.texts.get(&file).map(|text| text.address.clone())
    }

    fn document(&self, file: FileId) -> Option<&Document> {
        self.texts.get(&file).map(|text| &text.document)
    }

    fn findings(&self, file: FileId) -> FileFindings {
        let Some(text) = self.texts.get(&file) else { return FileFindings::default() };
        let mut shown = self.matches(file);
        let withheld = shown.len().saturating_sub(self.most);
        shown.truncate(self.most);
        FileFindings { version: text.version, result_id: 0, shown, withheld, withheld_level: None }
    }

    fn fixes(&self, file: FileId, bytes: Range<usize>) -> Vec<OfferedFix> {
        let touched = |shown: &Shown| shown.bytes.start <= bytes.end && bytes.start <= shown.bytes.end;
        let found = self.matches(file).into_iter().filter(|shown| shown.fixable && touched(shown));
        let fix = |finding: Shown| OfferedFix {
            title: "Make it good".to_owned(),
            safety: Safety::Safe,
            preferred: true,
            edits: vec![TextEdit { file, bytes: finding.bytes.clone(), text: "good".to_owned() }],
            finding,
        };
        found.map(fix).collect()
    }

    fn fix_all(&self, file: FileId) -> Option<TextEdit> {
        let text = self.texts.get(&file)?.document.whole_text();
        let good = text.replace("bad", "good");
        (good != text).then_some(TextEdit { file, bytes: 0..text.len(), text: good })
    }

    fn hover(&self, file: FileId, byte: usize) -> Option<Hover> {
        self.world.hovers.fetch_add(1, Ordering::AcqRel);
        while self.world.gate.load(Ordering::Acquire) {
            std::thread::yield_now();
        }
        let text = self.texts[&file].document.whole_text();
        assert!(!text.contains("explode on hover"), "the key is 5EC2E7");
        let length = text.get(byte..)?.chars().next()?.len_utf8();
        let plain = format!("{byte} of {text}");
        Some(Hover { bytes: byte..byte + length, markdown: format!("**{byte}** of {text}"), plain })
    }
}
