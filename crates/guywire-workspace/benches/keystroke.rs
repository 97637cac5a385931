//! Times single edits, from the edit received to the findings of the edited file resolved to positions.
//!
//! `cargo bench -p guywire-workspace --bench keystroke -- SIZE [EDITS] [START] [--processes N]` prints Markdown for
//! docs/performance.md: SIZE is `s`, `l` or `w`, START is where the random numbers start. Nothing is discarded and nothing is
//! averaged. Between edits the program spins for 20 microseconds: how long that took by the clock is what the machine
//! itself adds; a row leaves out the time in which the program could have run and another one had the core.
//!
//! `... -- SIZE EDITS START --count CLASS` makes edits of one class and times nothing, for counting instructions.

mod edits;
mod generate;
mod machine;
mod report;

use std::error::Error;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use edits::{Class, Edit, Editor};
use generate::{Size, SplitMix64, Workload, generate};
use guywire_text::FileId;
use guywire_workspace::{Address, Budget, Change, MemorySource, Shown, Splice, Workspace};
use machine::{Memory, Waits};
use report::{Report, Took};

/// How long the program spins between edits.
const SPIN: Duration = Duration::from_micros(20);
/// Plans that are open at a time.
const OPEN: usize = 16;

type Outcome<T> = Result<T, Box<dyn Error>>;

/// As in the program itself.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Outcome<()> {
    let wanted = Wanted::read(std::env::args().skip(1))?;
    if wanted.processes > 1 {
        return again(&wanted);
    }
    let workload = generate(wanted.size, wanted.start);
    let mut session = Session::open(&workload, wanted.start)?;
    match wanted.count {
        Some(class) => session.count(wanted.edits, class),
        None => {
            let report = measure(&wanted, &workload, session)?;
            print!("{report}");
            Ok(())
        }
    }
}

/// What was asked for.
struct Wanted {
    size: Size,
    edits: usize,
    start: u64,
    processes: usize,
    count: Option<Class>,
}

impl Wanted {
    fn read(words: impl Iterator<Item = String>) -> Outcome<Wanted> {
        let mut wanted = Wanted { size: Size::S, edits: 50_000, start: 1, processes: 1, count: None };
        let mut words = words;
        let mut place = 0;
        while let Some(word) = words.next() {
            match word.as_str() {
                // Cargo says so to every bench.
                "--bench" => {}
                "--processes" => wanted.processes = words.next().ok_or("--processes needs a number")?.parse()?,
                "--count" => {
                    let class = words.next().ok_or("--count needs a class")?;
                    wanted.count = Some(Class::of(&class).ok_or(format!("there is no class of edits \"{class}\""))?);
                }
                _ => {
                    match place {
                        0 => wanted.size = Size::of(&word).ok_or(format!("\"{word}\" is no size: s, l or w"))?,
                        1 => wanted.edits = word.parse()?,
                        2 => wanted.start = word.parse()?,
                        _ => return Err(format!("\"{word}\" is one argument too many").into()),
                    }
                    place += 1;
                }
            }
        }
        Ok(wanted)
    }
}

/// The same in several processes, one after another.
fn again(wanted: &Wanted) -> Outcome<()> {
    for number in 1..=wanted.processes {
        println!("<!-- process {number} of {} -->", wanted.processes);
        let words = [wanted.size.letter().to_owned(), wanted.edits.to_string(), wanted.start.to_string()];
        let ended = std::process::Command::new(std::env::current_exe()?).args(words).status()?;
        if !ended.success() {
            return Err(format!("process {number} failed").into());
        }
    }
    Ok(())
}

/// A workspace with plans open in it.
struct Session {
    workspace: Workspace,
    stop: AtomicBool,
    version: i32,
    random: SplitMix64,
    plans: Vec<(FileId, Editor)>,
    waits: Waits,
    memory: Memory,
    cold: Duration,
}

impl Session {
    /// Loads the files, settles, and opens some plans.
    fn open(workload: &Workload, start: u64) -> Outcome<Session> {
        let source = Arc::new(MemorySource::new(workload.files.iter().map(|(path, text)| (path, text.as_str()))));
        let stop = AtomicBool::new(false);
        let before = Memory::fresh();
        let clock = Instant::now();
        let mut workspace =
            Workspace::load(source, std::slice::from_ref(&workload.root), jiff::civil::date(2026, 11, 25));
        workspace.settle(Budget::All, &stop);
        black_box(workspace.changed());
        let cold = clock.elapsed();
        let memory = Memory::since(&before);
        let mut session = Session {
            workspace,
            stop,
            version: 0,
            random: SplitMix64(start ^ 0x5a17),
            plans: Vec::new(),
            waits: Waits::of_this_thread(),
            memory,
            cold,
        };
        let step = workload.plans.len().div_ceil(OPEN).max(1);
        for (path, beside) in workload.plans.iter().step_by(step) {
            let beside = beside.as_ref().map_or("", |part| workload.files[part].as_str());
            let text = &workload.files[path];
            let file = session.take(path, text)?;
            session.plans.push((file, Editor::new(text, beside)));
        }
        Ok(session)
    }

    fn take(&mut self, path: &Path, text: &str) -> Outcome<FileId> {
        let address = Address::Disk(path.to_path_buf());
        let opened = self.workspace.apply(Change::Open { address, version: 0, text: text.to_owned() });
        self.workspace.settle(Budget::All, &self.stop);
        black_box(self.workspace.changed());
        opened.file.ok_or_else(|| format!("{} was not opened", path.display()).into())
    }

    /// What an edit is from outside.
    fn change(&mut self, file: FileId, edit: Edit) -> Change {
        self.version += 1;
        Change::Edit { file, version: self.version, edits: vec![Splice::Bytes(edit.bytes, edit.text)] }
    }

    /// One edit, timed: received, settled, told, resolved.
    fn timed(&mut self, file: FileId, edit: Edit) -> Outcome<Took> {
        let change = self.change(file, edit);
        let before = self.waits.until_now();
        let clock = Instant::now();
        let applied = self.workspace.apply(change);
        self.workspace.settle(Budget::All, &self.stop);
        let changed = self.workspace.changed();
        let findings = self.workspace.findings(file);
        let clock = clock.elapsed();
        let took = Took { clock, waited: self.waits.until_now().saturating_sub(before) };
        black_box((changed, findings));
        if applied.refused > 0 { Err("an edit was refused".into()) } else { Ok(took) }
    }

    /// Makes edits and takes them back, telling of each; ends with the texts as they were.
    fn edits(
        &mut self,
        count: usize,
        class: Option<Class>,
        mut each: impl FnMut(&mut Session, FileId, Edit) -> Outcome<()>,
    ) -> Outcome<()> {
        let mut left = count / 2;
        while left > 0 {
            let number = self.random.below(self.plans.len());
            let mut made = 0;
            for _ in 0..Editor::some(&mut self.random).min(left) {
                let (file, editor) = &mut self.plans[number];
                let file = *file;
                let Some(edit) = editor.next(&mut self.random, class) else { continue };
                made += 1;
                each(self, file, edit)?;
            }
            while let Some(edit) = self.plans[number].1.back() {
                let file = self.plans[number].0;
                each(self, file, edit)?;
            }
            left -= made;
        }
        Ok(())
    }

    /// Edits of one class, each through [`counted_edit`].
    fn count(&mut self, count: usize, class: Class) -> Outcome<()> {
        self.edits(count, Some(class), |session, file, edit| {
            let change = session.change(file, edit);
            let refused = counted_edit(&mut session.workspace, &session.stop, file, change);
            if refused > 0 { Err("an edit was refused".into()) } else { Ok(()) }
        })
    }

    fn agrees(&self, when: &str) -> Outcome<()> {
        let (kept, fresh) = (self.workspace.all_findings(), self.workspace.check_from_scratch());
        match kept == fresh {
            true => Ok(()),
            false => Err(format!("{when}, the findings differ from those of a fresh check").into()),
        }
    }
}

/// What is counted: nothing else of the program runs in it. Its name is what the counter looks for.
#[inline(never)]
fn counted_edit(workspace: &mut Workspace, stop: &AtomicBool, file: FileId, change: Change) -> usize {
    let applied = workspace.apply(change);
    workspace.settle(Budget::All, stop);
    let changed = workspace.changed();
    let findings = workspace.findings(file);
    black_box((changed, findings));
    applied.refused
}

// ---- measuring ----------------------------------------------------------------------------------

fn measure(wanted: &Wanted, workload: &Workload, mut session: Session) -> Outcome<Report> {
    let first = shown(&session.workspace);
    sound(&first, workload.planted)?;
    let mut times: Vec<(Class, Took)> = Vec::with_capacity(wanted.edits);
    let mut spins: Vec<Duration> = Vec::with_capacity(wanted.edits);
    session.edits(wanted.edits, None, |session, file, edit| {
        spins.push(spin());
        let class = edit.class;
        times.push((class, session.timed(file, edit)?));
        Ok(())
    })?;
    if shown(&session.workspace) != first {
        return Err("the texts are as they were at first, and the findings are not".into());
    }
    session.agrees("after all edits")?;
    half_way(&mut session)?;
    let hubs = hubs(workload, &mut session)?;
    let text = &workload.files[&workload.plans[0].0];
    Ok(Report {
        size: wanted.size,
        start: wanted.start,
        channels: workload.channels,
        radios: workload.radios,
        lines: workload.files.values().map(|text| text.lines().count()).sum(),
        bytes: workload.files.values().map(String::len).sum(),
        times,
        spins,
        hubs,
        parse: parses(text, &mut session.waits)?,
        parsed_bytes: text.len(),
        memory: session.memory,
        cold: session.cold,
    })
}

/// The findings of every file that has some, by shown path.
fn shown(workspace: &Workspace) -> Vec<(String, Vec<Shown>)> {
    let all = workspace.all_findings().into_iter().map(|(path, findings)| (path, findings.shown));
    all.filter(|(_, shown)| !shown.is_empty()).collect()
}

/// Nothing is found but what was planted.
fn sound(found: &[(String, Vec<Shown>)], planted: usize) -> Outcome<()> {
    let all = || found.iter().flat_map(|(path, shown)| shown.iter().map(move |finding| (path, finding)));
    if let Some((path, stray)) = all().find(|(_, finding)| finding.rule != "unused-definition") {
        let (rule, bytes) = (stray.rule, stray.bytes.start);
        return Err(format!("{path}, byte {bytes}: {rule}: {}. The made plan is not sound", stray.message).into());
    }
    let count = all().count();
    if count == planted { Ok(()) } else { Err(format!("{planted} findings were planted and {count} found").into()) }
}

/// With edits standing, what was kept up to date is what a fresh check says.
fn half_way(session: &mut Session) -> Outcome<()> {
    for number in 0..session.plans.len().min(4) {
        for class in Class::ALL {
            let (file, editor) = &mut session.plans[number];
            let file = *file;
            let Some(edit) = editor.next(&mut session.random, Some(class)) else { continue };
            session.timed(file, edit)?;
        }
    }
    session.agrees("with edits standing")?;
    for number in 0..session.plans.len() {
        while let Some(edit) = session.plans[number].1.back() {
            let file = session.plans[number].0;
            session.timed(file, edit)?;
        }
    }
    Ok(())
}

/// Edits that much depends on: the data sheet of all handhelds, and a talkgroup (the one that most plans call).
fn hubs(workload: &Workload, session: &mut Session) -> Outcome<Vec<(&'static str, Vec<Duration>)>> {
    let model = workload.root.join("models/hh-uhf.model.toml");
    let everyone = workload.root.join("common/everyone.plan.toml");
    let group = if workload.files.contains_key(&everyone) { everyone } else { workload.plans[0].0.clone() };
    let times = if workload.channels > 10_000 { 2 } else { 50 };
    Ok(vec![
        ("positions of a knob in the model", hub(workload, session, &model, "channels_per_zone = 1", times)?),
        ("name of a talkgroup", hub(workload, session, &group, "[[talkgroup]]\nname = \"", times)?),
    ])
}

fn hub(workload: &Workload, session: &mut Session, path: &Path, before: &str, times: usize) -> Outcome<Vec<Duration>> {
    let text = workload.files.get(path).ok_or("the file to edit was not made")?;
    let at = text.find(before).ok_or("the place to edit was not found")? + before.len();
    let (now, other) = (&text[at..=at], "9");
    let file = session.take(path, text)?;
    let mut took = Vec::new();
    for _ in 0..times {
        for written in [other, now] {
            let edit = Edit { class: Class::Value, bytes: at..at + 1, text: written.to_owned() };
            took.push(session.timed(file, edit)?.clock);
        }
    }
    Ok(took)
}

/// Spins for [`SPIN`], and says how long that took.
fn spin() -> Duration {
    let clock = Instant::now();
    while clock.elapsed() < SPIN {
        std::hint::spin_loop();
    }
    clock.elapsed()
}

/// Times of a warm parse of a whole text by `toml_edit`.
fn parses(text: &str, waits: &mut Waits) -> Outcome<Vec<Took>> {
    let times = if text.len() > 10_000_000 { 5 } else { 40 };
    let mut parse = || -> Outcome<Took> {
        let before = waits.until_now();
        let clock = Instant::now();
        black_box(toml_edit::Document::parse(text)?);
        let clock = clock.elapsed();
        Ok(Took { clock, waited: waits.until_now().saturating_sub(before) })
    };
    for _ in 0..3 {
        parse()?;
    }
    (0..times).map(|_| parse()).collect()
}
