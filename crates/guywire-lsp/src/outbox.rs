//! What waits to go to the client. A newer list of diagnostics for an address takes the place of an older one that has
//! not gone out, so a client that reads slowly gets fewer lists, not late ones. What the client has to answer is waited
//! for beside the rest.

use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use serde_json::{Value, json};
use tokio::sync::{Notify, watch};
use tower_lsp::Client;
use tower_lsp::lsp_types::notification::{LogTrace, Notification};
use tower_lsp::lsp_types::{
    ConfigurationItem, LogTraceParams, MessageType, ProgressToken, PublishDiagnosticsParams, Url,
    WorkspaceDocumentDiagnosticReport,
};

use crate::again::{Again, Seen};
use crate::message::{Desk, Message};
use crate::progress::{Checks, Scan};
use crate::settings::Settings;

/// Filled by the engine's thread, emptied by [`forward`].
#[derive(Default)]
pub(crate) struct Outbox {
    waiting: Mutex<Waiting>,
    filled: Notify,
    checks: watch::Sender<Checks>,
    /// What the client was answered and does not ask for again by itself.
    pub seen: Seen,
}

#[derive(Default)]
struct Waiting {
    closed: bool,
    order: VecDeque<Url>,
    lists: HashMap<Url, List>,
    notes: VecDeque<String>,
    traces: VecDeque<LogTraceParams>,
    /// By [`Again::number`].
    refresh: [Refresh; 3],
    configure: bool,
}

/// How far a request to ask again has come. One of a kind at a time is enough: it concerns all files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Refresh {
    wanted: Option<Again>,
    under_way: bool,
}

/// The diagnostics of an address.
#[derive(Debug)]
enum List {
    Pushed(PublishDiagnosticsParams),
    /// Part of the answer to a request.
    Part(ProgressToken, WorkspaceDocumentDiagnosticReport),
}

#[derive(Debug)]
enum Item {
    List(List),
    Note(String),
    Trace(LogTraceParams),
    Configure,
    Refresh(Again),
}

/// Part of an answer. The types of the framework know no progress but that of work.
/// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#partialResults>
enum PartialResult {}

impl Notification for PartialResult {
    type Params = Value;
    const METHOD: &'static str = "$/progress";
}

impl Outbox {
    /// Puts a list in line, at the place of an older one for its address.
    pub(crate) fn publish(&self, list: PublishDiagnosticsParams) {
        self.put(list.uri.clone(), List::Pushed(list));
    }

    /// Puts a part of an answer in line, as [`Outbox::publish`] does.
    pub(crate) fn stream(&self, token: ProgressToken, part: WorkspaceDocumentDiagnosticReport) {
        let url = match &part {
            WorkspaceDocumentDiagnosticReport::Full(full) => full.uri.clone(),
            WorkspaceDocumentDiagnosticReport::Unchanged(unchanged) => unchanged.uri.clone(),
        };
        self.put(url, List::Part(token, part));
    }

    fn put(&self, url: Url, list: List) {
        let mut waiting = self.waiting();
        if waiting.closed {
            return;
        }
        if waiting.lists.insert(url.clone(), list).is_none() {
            waiting.order.push_back(url);
        }
        drop(waiting);
        self.filled.notify_one();
    }

    /// Tells of what the server does.
    pub(crate) fn trace(&self, trace: LogTraceParams) {
        let mut waiting = self.waiting();
        if !waiting.closed {
            waiting.traces.push_back(trace);
        }
        drop(waiting);
        self.filled.notify_one();
    }

    /// Asks the client for its settings.
    pub(crate) fn configure(&self) {
        self.waiting().configure = true;
        self.filled.notify_one();
    }

    /// Notes how far a check has come; none where none is under way.
    pub(crate) fn scan(&self, scan: Option<Scan>) {
        self.checks.send_if_modified(|checks| checks.note(scan));
    }

    /// Sets how long a check may take untold.
    pub(crate) fn show_after(&self, untold: Duration) {
        self.checks.send_if_modified(|checks| std::mem::replace(&mut checks.untold, untold) != untold);
    }

    /// The checks as they come and go.
    pub(crate) fn checks(&self) -> watch::Receiver<Checks> {
        self.checks.subscribe()
    }

    /// Has the client ask again.
    pub(crate) fn refresh(&self, what: Again) {
        self.waiting().refresh[what.number()].wanted = Some(what);
        self.filled.notify_one();
    }

    fn refreshed(&self, what: Again) {
        self.waiting().refresh[what.number()].under_way = false;
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
        if std::mem::take(&mut waiting.configure) && !waiting.closed {
            return Some(Item::Configure);
        }
        if let Some(url) = waiting.order.pop_front() {
            return waiting.lists.remove(&url).map(Item::List);
        }
        if let Some(trace) = waiting.traces.pop_front() {
            return Some(Item::Trace(trace));
        }
        if waiting.closed {
            return None;
        }
        let due = waiting.refresh.iter_mut().find(|refresh| refresh.wanted.is_some() && !refresh.under_way)?;
        due.under_way = true;
        due.wanted.take().map(Item::Refresh)
    }

    /// No panic can happen while it is held, so a poisoned lock is as good as any.
    fn waiting(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Sends what comes into the outbox to the client, in order, as fast as the client reads.
pub(crate) async fn forward(outbox: Arc<Outbox>, client: Client, desk: Desk) {
    loop {
        while let Some(item) = outbox.next() {
            match item {
                Item::List(List::Pushed(list)) => {
                    client.publish_diagnostics(list.uri, list.diagnostics, list.version).await;
                }
                Item::List(List::Part(token, part)) => {
                    let params = json!({ "token": token, "value": { "items": [part] } });
                    client.send_notification::<PartialResult>(params).await;
                }
                Item::Note(text) => client.show_message(MessageType::ERROR, text).await,
                Item::Trace(trace) => client.send_notification::<LogTrace>(trace).await,
                Item::Configure => {
                    tokio::spawn(configure(client.clone(), desk.clone()));
                }
                Item::Refresh(what) => {
                    tokio::spawn(refresh(outbox.clone(), client.clone(), what));
                }
            }
        }
        outbox.filled.notified().await;
    }
}

async fn configure(client: Client, desk: Desk) {
    let section = ConfigurationItem { scope_uri: None, section: Some("guywire".to_owned()) };
    match client.configuration(vec![section]).await {
        Ok(values) => desk.send(Message::Settings(values.first().map(Settings::of).unwrap_or_default())),
        Err(error) => tracing::warn!(code = error.code.code(), "the client does not tell its settings"),
    }
}

async fn refresh(outbox: Arc<Outbox>, client: Client, what: Again) {
    let done = match what {
        Again::Diagnostics => client.workspace_diagnostic_refresh().await,
        Again::Hints(_) => client.inlay_hint_refresh().await,
        Again::Lenses => client.code_lens_refresh().await,
    };
    if let Err(error) = done {
        tracing::warn!(code = error.code.code(), ?what, "the client does not ask again");
    }
    outbox.refreshed(what);
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
                Item::List(List::Pushed(list)) => format!("{} {:?}", list.uri, list.version),
                Item::Note(text) => text,
                other => format!("{other:?}"),
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
