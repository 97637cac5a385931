//! The one door for requests that read: a closure, run on the engine's thread in the order of the wire, with all that an
//! answer is made of.
//!
//! A new request is one method in [`backend`](crate::backend) that calls `about` (one file) or `ask` (all of them), a
//! method of [`Engine`] with a default body, and a conversion.

use std::ops::Range;

use guywire_text::{Document, FileId};
use jiff::civil::Date;
use tokio::sync::oneshot;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{Position, Range as LspRange, Url};

use crate::address::{address, url};
use crate::books::Books;
use crate::convert::{self, Texts};
use crate::engine::Engine;
use crate::facts::Facts;

/// All that an answer is made of, as it is at the request's place in the order.
#[derive(Clone, Copy)]
pub(crate) struct Scene<'a> {
    pub engine: &'a dyn Engine,
    pub facts: &'a Facts,
    /// All findings are up to date.
    pub settled: bool,
    pub books: &'a Books,
    /// The date that dated rules judge by.
    pub today: Date,
    /// How the request spells the file that it is about.
    spelled: Option<(FileId, &'a Url)>,
}

impl<'a> Scene<'a> {
    pub(crate) fn new(engine: &'a dyn Engine, facts: &'a Facts, books: &'a Books, today: Date, settled: bool) -> Self {
        Self { engine, facts, settled, books, today, spelled: None }
    }

    /// The file at an address; none where there is no such file.
    ///
    /// # Errors
    /// `ContentModified` where the client's text of it is not known.
    pub(crate) fn asked(self, url: &'a Url) -> Result<Option<Asked<'a>>> {
        if self.books.get(url).is_some_and(|open| open.lost) {
            return Err(Error {
                code: ErrorCode::ContentModified,
                message: "an edit of this file could not be followed; close it and open it again".into(),
                data: None,
            });
        }
        let Some(file) = self.engine.file(&address(url)) else { return Ok(None) };
        let Some(document) = self.engine.document(file) else { return Ok(None) };
        Ok(Some(Asked { scene: Scene { spelled: Some((file, url)), ..self }, file, document }))
    }
}

impl Texts for Scene<'_> {
    fn document(&self, file: FileId) -> Option<&Document> {
        self.engine.document(file)
    }

    fn url(&self, file: FileId) -> Option<Url> {
        if let Some((_, spelling)) = self.spelled.filter(|(spelled, _)| *spelled == file) {
            return Some(spelling.clone());
        }
        self.books.spelling(file).cloned().or_else(|| url(&self.engine.address(file)?))
    }

    fn version(&self, file: FileId) -> Option<i32> {
        match self.spelled.filter(|(spelled, _)| *spelled == file) {
            Some((_, spelling)) => self.books.get(spelling).map(|open| open.version),
            None => self.books.version(file),
        }
    }
}

/// The file that a request is about, and its text.
pub(crate) struct Asked<'a> {
    /// The rest; it spells the file as the request does.
    pub scene: Scene<'a>,
    pub file: FileId,
    pub document: &'a Document,
}

impl<'a> Asked<'a> {
    pub(crate) fn engine(&self) -> &'a dyn Engine {
        self.scene.engine
    }

    pub(crate) fn facts(&self) -> &'a Facts {
        self.scene.facts
    }

    /// The byte at a position, clamped.
    pub(crate) fn byte(&self, position: Position) -> usize {
        self.document.from_protocol(convert::place(position), self.facts().encoding)
    }

    /// The bytes of a range, clamped, in order.
    pub(crate) fn bytes(&self, range: LspRange) -> Range<usize> {
        convert::bytes(self.document, range, self.facts().encoding)
    }

    /// The range of some bytes of this file.
    pub(crate) fn range(&self, bytes: &Range<usize>) -> LspRange {
        convert::range(Some(self.document), bytes, self.facts().encoding)
    }
}

/// A request in line.
pub(crate) trait Question: Send {
    /// Nobody waits for the answer any more.
    fn canceled(&self) -> bool;
    /// It is about values over the tables, and is answered once they are computed.
    fn waits_for_values(&self) -> bool {
        false
    }
    /// Answers. The scene is missing where there is no engine: then nothing is known.
    fn answer(self: Box<Self>, scene: Option<Scene<'_>>);
    /// Says why there is no answer.
    fn refuse(self: Box<Self>, error: Error);
}

/// Where an answer goes. Dropped unanswered, it tells of a failure.
type Reply<T> = oneshot::Sender<Result<Option<T>>>;

/// A question about one file.
pub(crate) struct AboutFile<T, F> {
    pub url: Url,
    pub run: F,
    pub reply: Reply<T>,
}

impl<T: Send, F: FnOnce(&Asked<'_>) -> Option<T> + Send> Question for AboutFile<T, F> {
    fn canceled(&self) -> bool {
        self.reply.is_closed()
    }

    fn answer(self: Box<Self>, scene: Option<Scene<'_>>) {
        let Self { url, run, reply } = *self;
        let asked = scene.map_or(Ok(None), |scene| scene.asked(&url));
        let _ = reply.send(asked.map(|asked| run(&asked?)));
    }

    fn refuse(self: Box<Self>, error: Error) {
        let _ = self.reply.send(Err(error));
    }
}

/// A question about all files.
pub(crate) struct AboutAll<T, F> {
    pub run: F,
    /// Once the values over the tables are computed.
    pub computed: bool,
    pub reply: Reply<T>,
}

impl<T: Send, F: FnOnce(&Scene<'_>) -> Option<T> + Send> Question for AboutAll<T, F> {
    fn canceled(&self) -> bool {
        self.reply.is_closed()
    }

    fn answer(self: Box<Self>, scene: Option<Scene<'_>>) {
        let Self { run, reply, .. } = *self;
        let _ = reply.send(Ok(scene.and_then(|scene| run(&scene))));
    }

    fn waits_for_values(&self) -> bool {
        self.computed
    }

    fn refuse(self: Box<Self>, error: Error) {
        let _ = self.reply.send(Err(error));
    }
}
