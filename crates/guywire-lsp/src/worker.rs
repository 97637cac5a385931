//! The thread that owns the engine: it takes messages in order, computes in slices between them, and tells what it
//! found. With nothing to do it waits without using the processor.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError};
use std::time::{Duration, Instant};

use guywire_text::{Document, FileId};
use guywire_workspace::{Applied, Change};
use jiff::civil::Date;
use tower_lsp::lsp_types::{ClientCapabilities, TextDocumentContentChangeEvent, TraceValue, Url};

use crate::address::{address, known};
use crate::books::Books;
use crate::convert;
use crate::door::{Question, Scene};
use crate::engine::Engine;
use crate::facts::{Facts, change_roots};
use crate::message::Message;
use crate::outbox::Outbox;
use crate::progress::Scan;
use crate::pull::Pulls;
use crate::settings::Settings;

/// How long a slice of work may take before messages are looked at.
pub(crate) const SLICE: Duration = Duration::from_millis(4);

/// Builds an engine from folders and a date.
type Load<E> = Box<dyn FnMut(&[PathBuf], Date) -> E + Send>;

/// Where an engine comes from.
pub(crate) struct Source<E> {
    /// Reads the folders, to be judged by a date.
    pub load: Load<E>,
    /// The date that dated rules judge by.
    pub today: Box<dyn FnMut() -> Date + Send>,
    /// How often the disk is looked at for a client that watches no files.
    pub disk: Pace,
    /// How long a check may take before the user is told that it is under way.
    pub untold: Duration,
}

/// How often something slow may be done.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pace {
    /// The shortest time between two times.
    pub pause: Duration,
    /// The time between, at least, in parts of the time that it takes.
    pub share: u32,
}

/// Takes messages until there are no more.
pub(crate) fn work<E: Engine>(source: Source<E>, outbox: Arc<Outbox>, inbox: &Receiver<Message>, stop: &AtomicBool) {
    let mut worker = Worker::new(source, outbox);
    let mut idle = true;
    loop {
        stop.store(false, Ordering::Release);
        if idle {
            match inbox.recv() {
                Ok(Message::End) | Err(_) => return,
                Ok(message) => worker.take(message),
            }
        }
        loop {
            match inbox.try_recv() {
                Ok(Message::End) | Err(TryRecvError::Disconnected) => return,
                Ok(message) => worker.take(message),
                Err(TryRecvError::Empty) => break,
            }
        }
        idle = worker.slice(stop);
    }
}

pub(crate) struct Worker<E> {
    source: Source<E>,
    pub outbox: Arc<Outbox>,
    /// None before the client has introduced itself, or where its folders could not be read.
    pub engine: Option<E>,
    pub facts: Facts,
    roots: Vec<PathBuf>,
    today: Date,
    pub books: Books,
    pub pulls: Pulls,
    /// Questions about values that are not computed yet, in order.
    pub waiting: Vec<Box<dyn Question>>,
    /// Files whose findings may be news to the client.
    pub unsent: BTreeSet<FileId>,
    /// When the disk may be looked at again.
    next_look: Option<Instant>,
    /// Nothing is left to compute.
    pub settled: bool,
    /// The user stopped the check: files that are not open are left as they are until something asks for them.
    pub open_only: bool,
    /// The most that was left to compute since all was settled.
    pub peak: usize,
    /// Since when there is something to compute.
    pub since: Option<Instant>,
    /// How much is told of what is done.
    pub trace: TraceValue,
    /// The files told about since all was settled, where that is traced.
    pub traced: Vec<String>,
    /// The most findings that a file shows, where the client set it.
    findings: Option<usize>,
    /// The engine was built again since the last change.
    pub rebuilt: bool,
    /// It failed even so: nothing is checked until the next change.
    pub halted: bool,
    /// The user knows that checks fail.
    pub excused: bool,
}

impl<E: Engine> Worker<E> {
    fn new(mut source: Source<E>, outbox: Arc<Outbox>) -> Self {
        let today = (source.today)();
        outbox.show_after(source.untold);
        Self {
            source,
            outbox,
            engine: None,
            facts: Facts::of(&ClientCapabilities::default()),
            roots: Vec::new(),
            today,
            books: Books::default(),
            pulls: Pulls::default(),
            waiting: Vec::new(),
            unsent: BTreeSet::new(),
            next_look: None,
            settled: false,
            open_only: false,
            peak: 0,
            since: None,
            trace: TraceValue::Off,
            traced: Vec::new(),
            findings: None,
            rebuilt: false,
            halted: false,
            excused: false,
        }
    }

    fn take(&mut self, message: Message) {
        self.notice_the_date();
        match message {
            Message::Begin { facts, roots, settings } => self.begin(facts, roots, settings),
            Message::Open { url, language, version, text } => self.open(url, &language, version, text),
            Message::Edit { url, version, changes } => self.edit(&url, version, changes),
            Message::Lost(url) => self.lose(&url),
            Message::Save(url) => self.save(&url),
            Message::Close(url) => self.close(&url),
            Message::Disk(urls) => self.disk(&urls),
            Message::Unwatched => self.facts.watches = false,
            Message::Folders { removed, added } => {
                change_roots(&mut self.roots, &removed, &added);
                self.rebuild();
            }
            Message::Settings(settings) => self.set(settings),
            Message::SettingsChanged => self.ask_for_settings(),
            Message::Trace(trace) => self.trace = trace,
            Message::StopScan => self.leave_the_rest(),
            Message::Ask(question) => self.answer(question),
            Message::Pull(pull) => self.pull(pull),
            Message::End => {}
        }
    }

    fn begin(&mut self, facts: Facts, roots: Vec<PathBuf>, settings: Settings) {
        self.facts = facts;
        self.roots = roots;
        self.set(settings);
        self.rebuild();
        self.ask_for_settings();
        self.next_look = Some(Instant::now() + self.source.disk.pause);
    }

    fn ask_for_settings(&self) {
        if self.facts.configuration {
            self.outbox.configure();
        }
    }

    /// What the client does not set is as it was.
    fn set(&mut self, settings: Settings) {
        self.trace = settings.trace.unwrap_or(self.trace);
        self.findings = settings.findings.or(self.findings);
        settings.untold.into_iter().for_each(|untold| self.outbox.show_after(untold));
        if let (Some(engine), Some(findings)) = (&mut self.engine, self.findings) {
            engine.show_at_most(findings);
            self.settled = false;
        }
    }

    fn notice_the_date(&mut self) {
        let Some(today) = guarded("reading the date", || (self.source.today)()) else { return };
        if today != self.today {
            self.today = today;
            self.apply(Change::Today(today));
        }
    }

    fn open(&mut self, url: Url, language: &str, version: i32, text: String) {
        if !known(&url, language) {
            tracing::debug!("a text is left alone: it is none of the plan language");
            return;
        }
        let applied = self.apply(Change::Open { address: address(&url), version, text });
        let Some(file) = applied.and_then(|applied| applied.file) else {
            self.outbox.note(format!("guywire failed to read {}. Close the file and open it again.", name(&url)));
            return;
        };
        self.pulls.edited(&url);
        self.books.open(url, file, version);
        self.take_back(file);
        self.unsent.insert(file);
        self.look();
    }

    fn edit(&mut self, url: &Url, version: i32, mut changes: Vec<TextDocumentContentChangeEvent>) {
        let Some(open) = self.books.get_mut(url) else {
            tracing::debug!("an edit is left alone: its text is not open here");
            return;
        };
        if version <= open.version {
            tracing::warn!(version, before = open.version, "the version of an edit is not above the one before");
        }
        open.version = version;
        if open.lost {
            let Some(whole) = changes.iter().rposition(|change| change.range.is_none()) else { return };
            changes.drain(..whole);
            open.lost = false;
        }
        let file = open.file;
        self.pulls.edited(url);
        self.books.damage(url, &changes);
        self.outbox.seen.edited(url);
        let edits = changes.into_iter().map(|change| convert::splice(change, self.facts.encoding)).collect();
        match self.apply(Change::Edit { file, version, edits }) {
            Some(Applied { refused: 0, .. }) => {
                self.unsent.insert(file);
            }
            _ => self.lose(url),
        }
    }

    /// The text is not known any more; nothing is said about it until it comes whole.
    fn lose(&mut self, url: &Url) {
        let Some(open) = self.books.get_mut(url) else { return };
        open.lost = true;
        self.unsent.insert(open.file);
        self.outbox
            .note(format!("guywire could not follow an edit of {}. Close the file and open it again.", name(url)));
    }

    fn save(&mut self, url: &Url) {
        self.open_only = false;
        if known(url, "") {
            self.disk(std::slice::from_ref(url));
        }
        self.look();
    }

    fn close(&mut self, url: &Url) {
        let Some(open) = self.books.get(url) else { return };
        let file = open.file;
        self.outbox.seen.edited(url);
        if self.pulls.closed(url) && self.pulls.stream().is_some() {
            self.books.doubt(url, file);
        }
        if let Some(file) = self.books.close(url) {
            self.apply(Change::Close(file));
        } else {
            self.take_back(file);
        }
        self.unsent.insert(file);
    }

    /// Takes back what was said about addresses by which the client does not call the file any more.
    fn take_back(&mut self, file: FileId) {
        let current = self.books.addresses(file);
        self.books.take_back(file, &current).into_iter().for_each(|list| self.tell(list));
    }

    fn disk(&mut self, urls: &[Url]) {
        let paths: Vec<PathBuf> = urls.iter().filter_map(crate::address::folder).collect();
        if !paths.is_empty() {
            self.open_only = false;
            self.apply(Change::Disk(paths));
        }
    }

    /// Looks at the disk, unless that was done a short while ago.
    pub(crate) fn look(&mut self) {
        let start = Instant::now();
        if self.next_look.is_some_and(|next| start < next) {
            return;
        }
        self.apply(Change::Disk(Vec::new()));
        let Pace { pause, share } = self.source.disk;
        self.next_look = Some(Instant::now() + pause.max(start.elapsed() * share));
    }

    fn apply(&mut self, change: Change) -> Option<Applied> {
        self.halted = false;
        self.rebuilt = false;
        self.settled = false;
        self.outbox.seen.doubt();
        self.since.get_or_insert_with(Instant::now);
        let engine = self.engine.as_mut()?;
        let applied = guarded("a change", || engine.apply(change));
        if applied.is_none() {
            self.rebuild();
        }
        applied
    }

    /// Reads everything anew: folders changed, or the engine failed and may be in any state. Open texts are kept.
    pub(crate) fn rebuild(&mut self) {
        let texts = self.texts();
        self.outbox.scan(Some(Scan::Reading));
        self.since.get_or_insert_with(Instant::now);
        self.open_only = false;
        let engine = guarded("reading the workspace", || {
            let mut engine = (self.source.load)(&self.roots, self.today);
            self.findings.into_iter().for_each(|findings| engine.show_at_most(findings));
            for (url, version, text) in texts {
                engine.apply(Change::Open { address: address(&url), version, text });
            }
            engine
        });
        if engine.is_none() {
            self.outbox
                .note("guywire failed to read the workspace; it shows nothing until it is restarted.".to_owned());
        }
        self.engine = engine;
        self.settled = false;
        self.outbox.seen.doubt();
        let Some(engine) = &self.engine else { return self.outbox.scan(None) };
        let number = |url: &Url| engine.file(&address(url));
        let gone = self.books.renumber(number);
        self.unsent = engine.files().into_iter().collect();
        self.unsent.extend(self.books.iter().map(|(_, open)| open.file));
        gone.into_iter().for_each(|list| self.tell(list));
    }

    /// The open texts, where the engine still has them.
    fn texts(&self) -> Vec<(Url, i32, String)> {
        let Some(engine) = &self.engine else { return Vec::new() };
        let text = |file| guarded("saving a text", || engine.document(file).map(Document::whole_text));
        let open = self.books.iter();
        open.filter_map(|(url, open)| Some((url.clone(), open.version, text(open.file)??))).collect()
    }

    /// A canceled question is not answered; one that fails drops its reply, which tells the client.
    fn answer(&mut self, question: Box<dyn Question>) {
        if question.canceled() {
            return;
        }
        if !self.facts.watches {
            self.look();
        }
        if question.waits_for_values() && !self.values_are_settled() {
            self.open_only = false;
            self.waiting.push(question);
            return;
        }
        guarded("a question", || question.answer(self.scene()));
    }

    /// Answers the questions that waited for values, once these are computed.
    pub(crate) fn answer_waiting(&mut self) {
        self.waiting.retain(|question| !question.canceled());
        if self.halted {
            let failed = tower_lsp::jsonrpc::Error::internal_error;
            self.waiting.drain(..).for_each(|question| question.refuse(failed()));
        }
        if self.waiting.is_empty() || !self.values_are_settled() {
            return;
        }
        for question in std::mem::take(&mut self.waiting) {
            guarded("a question", || question.answer(self.scene()));
        }
    }

    pub(crate) fn values_are_settled(&self) -> bool {
        self.engine.as_ref().is_none_or(Engine::values_are_settled)
    }

    pub(crate) fn scene(&self) -> Option<Scene<'_>> {
        Some(Scene::new(self.engine.as_ref()?, &self.facts, &self.books, self.today, self.settled))
    }
}

/// The name of a file, for messages.
pub(crate) fn name(url: &Url) -> &str {
    url.path_segments().and_then(|mut parts| parts.next_back()).unwrap_or_default()
}

/// Runs what may panic. The payload may quote a plan, so it is neither logged nor dropped.
pub(crate) fn guarded<T>(what: &'static str, run: impl FnOnce() -> T) -> Option<T> {
    let result = catch_unwind(AssertUnwindSafe(run));
    result.map_err(std::mem::forget).inspect_err(|()| tracing::error!(what, "failed")).ok()
}
