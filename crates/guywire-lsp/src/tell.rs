//! What the client is told of findings: pushed, or as it asks for them, never both.

use std::collections::HashMap;
use std::time::Instant;

use guywire_text::FileId;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{
    Diagnostic, DocumentDiagnosticReportResult, PublishDiagnosticsParams, TraceValue, Url,
    WorkspaceDocumentDiagnosticReport,
};

use crate::address::address;
use crate::again::Again;
use crate::convert::{self, Texts};
use crate::engine::Engine;
use crate::pull::{AllPull, FilePull, Pull, part, report, whole};
use crate::worker::{SLICE, Worker, guarded, name};

impl<E: Engine> Worker<E> {
    /// Tells of these files for a short while.
    pub(crate) fn publish(&mut self, ready: Vec<FileId>) {
        let start = Instant::now();
        for file in ready {
            self.unsent.remove(&file);
            for (url, version, list) in guarded("telling findings", || self.news(file)).unwrap_or_default() {
                self.told(url, file, version, list);
            }
            if start.elapsed() >= SLICE {
                return;
            }
        }
    }

    fn told(&mut self, url: Url, file: FileId, version: Option<i32>, list: Vec<Diagnostic>) {
        if self.facts.pulls && self.pulls.outdates(&url, &list) {
            self.outbox.refresh(Again::Diagnostics);
        }
        let streams = self.pulls.stream().is_some() && !(self.books.get(&url).is_some() && self.pulls.asks_for(&url));
        if (!self.facts.pulls || streams)
            && let Some(news) = self.books.news(&url, file, version, list)
        {
            self.tell(news);
        }
    }

    /// Sends a list, the way the client takes it.
    pub(crate) fn tell(&mut self, news: PublishDiagnosticsParams) {
        if self.trace != TraceValue::Off {
            self.traced.push(name(&news.uri).to_owned());
        }
        if !self.facts.pulls {
            self.outbox.publish(news);
        } else if let Some(token) = self.pulls.stream() {
            self.outbox.stream(token.clone(), part(news.uri, news.version, news.diagnostics, None));
        }
    }

    /// What is to be known about a file, for each address that the client has for it.
    fn news(&self, file: FileId) -> Vec<(Url, Option<i32>, Vec<Diagnostic>)> {
        let Some(scene) = self.scene() else { return Vec::new() };
        let found = scene.engine.findings(file);
        let list = convert::diagnostics(&scene, file, &found, &self.facts);
        let mut urls = self.books.addresses(file);
        if urls.is_empty() {
            urls.extend(scene.url(file).or_else(|| self.books.told_of(file).cloned()));
        }
        let told = urls.into_iter().map(|url| match self.books.get(&url) {
            Some(open) if open.lost => (url, None, Vec::new()),
            Some(open) => (url, found.version.filter(|version| *version == open.version), list.clone()),
            None => (url, None, list.clone()),
        });
        told.collect()
    }

    // ---- asked for --------------------------------------------------------------------------------

    /// Puts a request for diagnostics in line.
    pub(crate) fn pull(&mut self, pull: Pull) {
        if !self.facts.watches {
            self.look();
        }
        let open = matches!(&pull, Pull::File(pull) if self.books.get(&pull.url).is_some());
        self.open_only &= open;
        match pull {
            Pull::File(pull) => self.pulls.files.push(pull),
            Pull::All(pull) if pull.partial.is_some() => self.stream(pull),
            Pull::All(pull) => self.pulls.all.push(pull),
        }
    }

    fn stream(&mut self, pull: AllPull) {
        let engine = self.engine.as_ref();
        let number = |url: &Url| engine.and_then(|engine| engine.file(&address(url)));
        let gone = self.books.resume(&pull.previous, number);
        self.pulls.hold(pull);
        gone.into_iter().for_each(|news| self.tell(news));
        self.unsent.extend(self.engine.iter().flat_map(Engine::files));
    }

    /// Answers what can be answered by now.
    pub(crate) fn answer_pulls(&mut self) {
        self.pulls.drop_canceled();
        for pull in std::mem::take(&mut self.pulls.files) {
            match guarded("a request for diagnostics", || self.file_report(&pull)) {
                Some(None) => self.pulls.files.push(pull),
                Some(Some(answer)) => {
                    if let Ok((list, _)) = &answer {
                        self.pulls.answered(pull.url, list);
                    }
                    let _ = pull.reply.send(answer.map(|(_, report)| report));
                }
                None => drop(pull),
            }
        }
        if !self.settled && !self.halted {
            return;
        }
        for pull in std::mem::take(&mut self.pulls.all) {
            if let Some(items) = guarded("a request for all diagnostics", || self.parts(&pull)) {
                self.pulls.answered_whole(&items);
                let _ = pull.reply.send(Ok(whole(items)));
            }
        }
    }

    /// The list of a file and the answer made of it; none while the file is not checked.
    fn file_report(&self, pull: &FilePull) -> Option<Result<(Vec<Diagnostic>, DocumentDiagnosticReportResult)>> {
        let nothing = || Some(Ok((Vec::new(), report(Vec::new(), pull.previous.as_deref()))));
        let Some(scene) = self.scene() else { return nothing() };
        let asked = match scene.asked(&pull.url) {
            Ok(Some(asked)) => asked,
            Ok(None) => return nothing(),
            Err(error) => return Some(Err(error)),
        };
        if self.halted {
            return Some(Err(Error::internal_error()));
        }
        if !self.settled && !scene.engine.is_settled(asked.file) {
            return None;
        }
        let found = scene.engine.findings(asked.file);
        let list = convert::diagnostics(&asked.scene, asked.file, &found, &self.facts);
        Some(Ok((list.clone(), report(list, pull.previous.as_deref()))))
    }

    /// The parts of all files, and of those that the client still has something of.
    fn parts(&self, pull: &AllPull) -> Vec<WorkspaceDocumentDiagnosticReport> {
        let mut previous: HashMap<&Url, &str> =
            pull.previous.iter().map(|known| (&known.uri, known.value.as_str())).collect();
        let files = self.engine.iter().flat_map(Engine::files);
        let news = files.flat_map(|file| self.news(file));
        let mut parts: Vec<WorkspaceDocumentDiagnosticReport> = news
            .map(|(url, version, list)| {
                let known = previous.remove(&url);
                part(url, version, list, known)
            })
            .collect();
        let gone = pull.previous.iter().filter(|known| previous.contains_key(&known.uri));
        parts.extend(gone.map(|known| part(known.uri.clone(), None, Vec::new(), Some(&known.value))));
        parts
    }
}
