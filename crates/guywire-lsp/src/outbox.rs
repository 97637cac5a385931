//! What waits to go to the client. A newer list of diagnostics for an address takes the place of an older one that has
//! not gone out, so a client that reads slowly gets fewer lists, not late ones.

use std::collections::{HashMap, VecDeque};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tokio::sync::Notify;
use tower_lsp::Client;
use tower_lsp::lsp_types::{MessageType, PublishDiagnosticsParams, Url};

/// Filled by the engine's thread, emptied by [`forward`].
#[derive(Default)]
pub(crate) struct Outbox {
    waiting: Mutex<Waiting>,
    filled: Notify,
}

#[derive(Default)]
struct Waiting {
    closed: bool,
    order: VecDeque<Url>,
    lists: HashMap<Url, PublishDiagnosticsParams>,
    notes: VecDeque<String>,
}

enum Item {
    List(PublishDiagnosticsParams),
    Note(String),
}

impl Outbox {
    /// Puts a list in line, at the place of an older one for its address.
    pub(crate) fn publish(&self, list: PublishDiagnosticsParams) {
        let mut waiting = self.waiting();
        if waiting.closed {
            return;
        }
        let url = list.uri.clone();
        if waiting.lists.insert(url.clone(), list).is_none() {
            waiting.order.push_back(url);
        }
        drop(waiting);
        self.filled.notify_one();
    }

    /// Tells the user of something that they have to act on.
    pub(crate) fn note(&self, text: String) {
        let mut waiting = self.waiting();
        if waiting.closed {
            return;
        }
        waiting.notes.push_back(text);
        drop(waiting);
        self.filled.notify_one();
    }

    /// Drops what has not gone out and takes nothing more.
    pub(crate) fn close(&self) {
        *self.waiting() = Waiting { closed: true, ..Waiting::default() };
    }

    fn next(&self) -> Option<Item> {
        let mut waiting = self.waiting();
        if let Some(note) = waiting.notes.pop_front() {
            return Some(Item::Note(note));
        }
        let url = waiting.order.pop_front()?;
        waiting.lists.remove(&url).map(Item::List)
    }

    /// No panic can happen while it is held, so a poisoned lock is as good as any.
    fn waiting(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Sends what comes into the outbox to the client, in order, as fast as the client reads.
pub(crate) async fn forward(outbox: &Outbox, client: &Client) {
    loop {
        while let Some(item) = outbox.next() {
            match item {
                Item::List(list) => client.publish_diagnostics(list.uri, list.diagnostics, list.version).await,
                Item::Note(text) => client.show_message(MessageType::ERROR, text).await,
            }
        }
        outbox.filled.notified().await;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(url: &str, version: i32) -> PublishDiagnosticsParams {
        PublishDiagnosticsParams::new(url.parse().expect("well-formed"), Vec::new(), Some(version))
    }

    fn drain(outbox: &Outbox) -> Vec<String> {
        let mut out = Vec::new();
        while let Some(item) = outbox.next() {
            out.push(match item {
                Item::List(list) => format!("{} {:?}", list.uri, list.version),
                Item::Note(text) => text,
            });
        }
        out
    }

    #[test]
    fn the_newest_list_of_an_address_goes_out() {
        let outbox = Outbox::default();
        for (url, version) in [("a:1", 1), ("b:1", 1), ("a:1", 2), ("a:1", 3)] {
            outbox.publish(list(url, version));
        }
        outbox.note("look".to_owned());
        assert_eq!(drain(&outbox), ["look", "a:1 Some(3)", "b:1 Some(1)"]);
        outbox.publish(list("a:1", 4));
        assert_eq!(drain(&outbox), ["a:1 Some(4)"]);
    }

    #[test]
    fn closed_it_takes_nothing() {
        let outbox = Outbox::default();
        outbox.publish(list("a:1", 1));
        outbox.close();
        outbox.publish(list("a:1", 2));
        outbox.note("look".to_owned());
        assert_eq!(drain(&outbox), [] as [&str; 0]);
    }
}
