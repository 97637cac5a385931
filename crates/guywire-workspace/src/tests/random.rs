//! The main property: after any edit, what was kept up to date equals what is computed anew, byte for byte.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use guywire_plan::Graph;
use guywire_rules::{CATALOG, Page};
use guywire_text::FileId;

use super::edits::{Chance, Step, step};
use super::harbor::{self, Disk, FILES};
use crate::{Address, Budget, Change, Splice, Workspace};

/// A workspace under edits.
pub struct Run {
    pub workspace: Workspace,
    /// The files of a rule's page that stand in the workspace now, with the text that they had first.
    page: Vec<(String, String)>,
    /// How many pages were turned.
    turned: usize,
    pub disk: Arc<Disk>,
    pub chance: Chance,
    versions: i32,
    pub last: String,
}

impl Run {
    pub fn new(seed: u64, graph: Graph) -> Run {
        let disk = harbor::disk();
        let workspace = harbor::workspace(disk.clone(), graph);
        Run {
            workspace,
            page: Vec::new(),
            turned: 0,
            disk,
            chance: Chance::new(seed),
            versions: 0,
            last: String::new(),
        }
    }

    /// One random edit, taken in and settled.
    pub fn step(&mut self) {
        self.take_in();
        harbor::settle(&mut self.workspace);
    }

    /// One random edit, taken in and not settled.
    pub fn take_in(&mut self) {
        if self.chance.one_in(3) {
            self.turn_page();
            return;
        }
        let (name, original) = self.next_file();
        let (text, first) = (self.text(&name), self.first_text(&name));
        let next = match original {
            Some(original) => Step::Text(harbor::path(&name), original),
            None => step(&mut self.chance, &name, &first, &text),
        };
        self.last = format!("{next:?}");
        match next {
            Step::Text(path, new) => self.write(Address::Disk(path), &new),
            Step::Disk(path, bytes) => self.change_disk(&path, bytes.as_deref()),
        }
    }

    /// Puts the bad or the good plan of some rule's page in the place of the page that was there, so that every rule of
    /// the catalog comes and goes.
    fn turn_page(&mut self) {
        self.turned += 1;
        let rule = CATALOG[self.turned % CATALOG.len()];
        let page = Page::of(rule.about());
        let (files, which) = if self.chance.one_in(5) { (page.good, "good") } else { (page.bad, "bad") };
        let new: Vec<(String, String)> =
            files.into_iter().map(|file| (format!("pages/{}", file.file), file.text)).collect();
        for (name, _) in std::mem::take(&mut self.page) {
            if !new.iter().any(|(kept, _)| *kept == name) {
                self.change_disk(&harbor::path(&name), None);
            }
        }
        for (name, text) in &new {
            self.write(Address::Disk(harbor::path(name)), text);
        }
        self.last = format!("the {which} plan of {}", rule.about().name);
        self.page = new;
    }

    fn change_disk(&mut self, path: &Path, bytes: Option<&[u8]>) {
        self.disk.write(path, bytes);
        if let Some(file) = self.workspace.file(&Address::Disk(path.to_path_buf()))
            && self.workspace.version(file).is_some()
        {
            self.workspace.apply(Change::Close(file));
        }
        self.workspace.apply(Change::Disk(vec![path.to_path_buf()]));
    }

    fn text(&self, name: &str) -> String {
        let file = self.workspace.file(&Address::Disk(harbor::path(name)));
        file.and_then(|file| self.workspace.document(file)).map(guywire_text::Document::whole_text).unwrap_or_default()
    }

    fn names(&self) -> Vec<String> {
        FILES.iter().map(|(name, _)| (*name).to_owned()).chain(self.page.iter().map(|(name, _)| name.clone())).collect()
    }

    fn first_text(&self, name: &str) -> String {
        let page = self.page.iter().find(|(known, _)| known == name).map(|(_, text)| text.as_str());
        let own = FILES.iter().find(|(known, _)| *known == name).map(|(_, text)| *text);
        page.or(own).unwrap_or_default().to_owned()
    }

    /// The file to edit; a broken one is mostly mended next, as people do, by giving back its first text.
    fn next_file(&mut self) -> (String, Option<String>) {
        let names = self.names();
        let broken = names.iter().find(|name| {
            let file = self.workspace.file(&Address::Disk(harbor::path(name)));
            file.is_some_and(|file| !self.workspace.engine.db.errors(file).is_empty())
        });
        match broken {
            Some(name) if !self.chance.one_in(4) => (name.clone(), Some(self.first_text(name))),
            _ => (names[self.chance.below(names.len())].clone(), None),
        }
    }

    fn write(&mut self, address: Address, new: &str) {
        self.versions += 1;
        let open = self.workspace.file(&address).filter(|file| self.workspace.version(*file).is_some());
        match open {
            Some(file) => {
                let edit = self.difference(file, new);
                let applied = self.workspace.apply(Change::Edit { file, version: self.versions, edits: vec![edit] });
                assert_eq!(applied.refused, 0);
            }
            None => {
                self.workspace.apply(Change::Open { address, version: self.versions, text: new.to_owned() });
            }
        }
    }

    /// One edit by bytes from the text there is to the one wanted; now and then the whole text.
    fn difference(&mut self, file: FileId, new: &str) -> Splice {
        let old = self.workspace.document(file).map(guywire_text::Document::whole_text).unwrap_or_default();
        if self.chance.one_in(20) {
            return Splice::Whole(new.to_owned());
        }
        let mut start = old.bytes().zip(new.bytes()).take_while(|(a, b)| a == b).count();
        while !old.is_char_boundary(start) || !new.is_char_boundary(start) {
            start -= 1;
        }
        let mut tail = old[start..].bytes().rev().zip(new[start..].bytes().rev()).take_while(|(a, b)| a == b).count();
        while !old.is_char_boundary(old.len() - tail) || !new.is_char_boundary(new.len() - tail) {
            tail -= 1;
        }
        Splice::Bytes(start..old.len() - tail, new[start..new.len() - tail].to_owned())
    }

    /// Whether every text of the language parses as TOML.
    pub fn parses(&self) -> bool {
        self.workspace.files().iter().all(|file| self.workspace.engine.db.errors(*file).is_empty())
    }

    pub fn fresh_lines(&self) -> Vec<String> {
        let mut fresh = self.workspace.fresh(CATALOG, 0);
        assert!(fresh.settle(Budget::Once, &AtomicBool::new(false)).settled);
        harbor::lines(&fresh)
    }
}

/// How many steps: few in a plain run, as many as were asked for in a long one.
pub fn steps(few: usize, full: usize) -> usize {
    if std::env::var("GUYWIRE_STEPS").is_ok_and(|steps| steps == "full") { full } else { few }
}

#[test]
fn incremental_equals_scratch() {
    let count = steps(600, 20_000);
    let mut run = Run::new(1, Graph::default());
    let mut seen: BTreeMap<&str, (bool, usize, usize)> = BTreeMap::new();
    let mut parsed = 0;
    for number in 0..count {
        run.step();
        let kept = harbor::lines(&run.workspace);
        assert_eq!(kept, run.fresh_lines(), "step {number}: {}", run.last);
        parsed += usize::from(run.parses());
        note(&run, &mut seen);
    }
    assert!(parsed * 10 >= count * 7, "only {parsed} of {count} steps parse");
    let wanted = count / 1_000;
    for rule in CATALOG {
        let name = rule.about().name;
        let (_, came, went) = seen.get(name).copied().unwrap_or_default();
        assert!(
            came >= wanted && went >= wanted,
            "{name} came {came} and went {went} times in {count} steps: {seen:?}"
        );
    }
}

/// What a workspace just opened finds is found before it is known what its cells read; edits that come at any time before
/// that is known are taken in all the same.
#[test]
fn what_is_found_before_it_is_watched_equals_scratch() {
    let slice = Budget::For(Duration::from_micros(100));
    let stop = AtomicBool::new(false);
    let (mut early, mut late) = (0, 0);
    for number in 0..steps(60, 2_000) {
        let mut run = Run::new(number as u64, Graph::default());
        run.workspace = run.workspace.fresh(CATALOG, 0);
        let mut left = run.workspace.settle(slice, &stop);
        while !left.settled {
            left = run.workspace.settle(slice, &stop);
        }
        assert!(left.unwatched > 0, "nothing is left for later");
        assert_eq!(harbor::lines(&run.workspace), run.fresh_lines(), "run {number}");
        for _ in 0..run.chance.below(6) {
            left = run.workspace.settle(slice, &stop);
        }
        early += usize::from(left.unwatched > 0);
        late += usize::from(left.unwatched == 0);
        for _ in 0..3 {
            run.take_in();
            while !run.workspace.settle(slice, &stop).settled {}
            assert_eq!(harbor::lines(&run.workspace), run.fresh_lines(), "run {number}: {}", run.last);
        }
    }
    assert!(early > 0 && late > 0, "edits came {early} times before all was watched, {late} times after");
}

/// A state that was computed for one look takes a change in as well.
#[test]
fn what_was_not_watched_is_computed_anew_after_a_change() {
    for number in 0..steps(20, 200) {
        let mut run = Run::new(number as u64, Graph::default());
        run.workspace = run.workspace.fresh(CATALOG, 0);
        run.workspace.settle(Budget::Once, &AtomicBool::new(false));
        run.step();
        assert_eq!(harbor::lines(&run.workspace), run.fresh_lines(), "run {number}: {}", run.last);
    }
}

fn note(run: &Run, seen: &mut BTreeMap<&'static str, (bool, usize, usize)>) {
    let mut now: Vec<&str> = Vec::new();
    for (_, found) in run.workspace.all_findings() {
        now.extend(found.shown.iter().map(|shown| shown.rule));
    }
    for rule in CATALOG {
        let name = rule.about().name;
        let (there, came, went) = seen.entry(name).or_default();
        let is = now.contains(&name);
        *came += usize::from(is && !*there);
        *went += usize::from(!is && *there);
        *there = is;
    }
}
