//! What the client shows beside a text and does not ask for again by itself: hints within lines and lines above tables,
//! which an edit of another file can change. What it was answered is kept as a hash; where the answer would be another by
//! now, the client is told to ask again.

use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Mutex, MutexGuard, PoisonError};

use serde::Serialize;
use tower_lsp::lsp_types::{Range, Url};

use crate::door::Asked;
use crate::engine::Engine;
use crate::outbox::Outbox;
use crate::worker::{Worker, guarded};
use crate::{convert, outline};

/// What a client can be told to ask for again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Again {
    /// Diagnostics.
    Diagnostics,
    /// The hints within the lines of a range.
    Hints(Range),
    /// The lines above tables.
    Lenses,
}

impl Again {
    /// Its place in a list of one for each kind.
    pub(crate) const fn number(self) -> usize {
        match self {
            Again::Diagnostics => 0,
            Again::Hints(_) => 1,
            Again::Lenses => 2,
        }
    }
}

/// What the client was last answered, of each kind, by address.
#[derive(Default)]
pub(crate) struct Seen(Mutex<HashMap<(Url, usize), Answer>>);

#[derive(Debug, Clone, Copy)]
struct Answer {
    of: Again,
    hash: u64,
    /// Something has changed since that it may depend on.
    doubted: bool,
}

impl Seen {
    /// Notes an answer.
    pub(crate) fn note(&self, url: Url, of: Again, answer: &impl Serialize) {
        let answer = Answer { of, hash: hash(answer), doubted: false };
        self.held().insert((url, of.number()), answer);
    }

    /// The client has changed a text, or closed it: of that it asks by itself, or never again. All else is doubted.
    pub(crate) fn edited(&self, url: &Url) {
        let mut held = self.held();
        held.retain(|(of, _), _| of != url);
        held.values_mut().for_each(|answer| answer.doubted = true);
    }

    /// Anything may have changed.
    pub(crate) fn doubt(&self) {
        self.held().values_mut().for_each(|answer| answer.doubted = true);
    }

    /// Takes one that is doubted.
    fn next(&self) -> Option<(Url, Answer)> {
        let mut held = self.held();
        let ((url, _), answer) = held.iter_mut().find(|(_, answer)| answer.doubted)?;
        answer.doubted = false;
        Some((url.clone(), *answer))
    }

    fn held(&self) -> MutexGuard<'_, HashMap<(Url, usize), Answer>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The values of the protocol have no hash of their own.
fn hash(answer: &impl Serialize) -> u64 {
    let mut hasher = DefaultHasher::new();
    serde_json::to_string(answer).unwrap_or_default().hash(&mut hasher);
    hasher.finish()
}

/// The hints within the lines of a range.
pub(crate) fn hints(asked: &Asked<'_>, range: Range) -> Vec<tower_lsp::lsp_types::InlayHint> {
    let hints = asked.engine().inlay_hints(asked.file, asked.bytes(range));
    hints.into_iter().map(|hint| convert::inlay_hint(asked, hint)).collect()
}

impl Outbox {
    /// Notes an answer, where the client can be told to ask again.
    pub(crate) fn answered(&self, asked: &Asked<'_>, url: &Url, of: Again, answer: &impl Serialize) {
        let facts = asked.facts();
        let can = match of {
            Again::Diagnostics => false,
            Again::Hints(_) => facts.hints_again,
            Again::Lenses => facts.lenses_again,
        };
        if can {
            self.seen.note(url.clone(), of, answer);
        }
    }
}

impl<E: Engine> Worker<E> {
    /// Looks whether one of the answers that are doubted would be another by now. Yields whether there was one to look at.
    pub(crate) fn look_at_an_answer(&mut self) -> bool {
        if !self.values_are_settled() || self.halted {
            return false;
        }
        let Some((url, answer)) = self.outbox.seen.next() else { return false };
        let now = guarded("an answer that is doubted", || {
            let asked = self.scene()?.asked(&url).ok()??;
            match answer.of {
                Again::Hints(range) => Some(hash(&hints(&asked, range))),
                Again::Lenses => Some(hash(&outline::lenses(&asked)?)),
                Again::Diagnostics => None,
            }
        });
        if now.flatten().is_some_and(|now| now != answer.hash) {
            self.outbox.refresh(answer.of);
        }
        true
    }
}
