//! What goes to the thread that owns the engine, in the order in which it came on the wire.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;

use serde_json::Value;
use tower_lsp::jsonrpc::Request;
use tower_lsp::lsp_types::notification::{
    DidChangeConfiguration, DidChangeTextDocument, DidChangeWatchedFiles, DidChangeWorkspaceFolders,
    DidCloseTextDocument, DidCreateFiles, DidDeleteFiles, DidOpenTextDocument, DidRenameFiles, DidSaveTextDocument,
    Notification, SetTrace, WorkDoneProgressCancel,
};
use tower_lsp::lsp_types::{
    DidChangeTextDocumentParams, DidChangeWatchedFilesParams, DidChangeWorkspaceFoldersParams,
    DidOpenTextDocumentParams, SetTraceParams, TextDocumentContentChangeEvent, TraceValue, Url, WorkspaceFolder,
};

use crate::door::Question;
use crate::facts::Facts;
use crate::pull::Pull;
use crate::settings::Settings;

/// One thing to do.
pub(crate) enum Message {
    /// The client has introduced itself.
    Begin { facts: Facts, roots: Vec<PathBuf>, settings: Settings },
    /// A text is open.
    Open { url: Url, language: String, version: i32, text: String },
    /// An open text changed.
    Edit { url: Url, version: i32, changes: Vec<TextDocumentContentChangeEvent> },
    /// An edit of a text could not be read.
    Lost(Url),
    /// A text was written to disk.
    Save(Url),
    /// A text is closed.
    Close(Url),
    /// Files changed on disk.
    Disk(Vec<Url>),
    /// The client turns out not to watch files.
    Unwatched,
    /// Folders came and went.
    Folders { removed: Vec<Url>, added: Vec<Url> },
    /// The client told its settings.
    Settings(Settings),
    /// The client's settings changed, and it does not say how.
    SettingsChanged,
    /// How much the server tells of what it does.
    Trace(TraceValue),
    /// The user stopped the check of what is not open.
    StopScan,
    /// A request.
    Ask(Box<dyn Question>),
    /// A request for diagnostics, to be answered once they are computed.
    Pull(Pull),
    /// Nothing more will come.
    End,
}

/// The sending end. Sending never waits and never locks.
#[derive(Clone)]
pub(crate) struct Desk {
    sender: mpsc::Sender<Message>,
    stop: Arc<AtomicBool>,
}

impl Desk {
    /// A desk and its receiving end. The flag is raised at each message, to cut a slice of work short.
    pub(crate) fn new() -> (Self, mpsc::Receiver<Message>, Arc<AtomicBool>) {
        let (sender, receiver) = mpsc::channel();
        let stop = Arc::new(AtomicBool::new(false));
        (Self { sender, stop: stop.clone() }, receiver, stop)
    }

    /// Puts a message in line. After the end of the engine's thread it goes nowhere.
    pub(crate) fn send(&self, message: Message) {
        let _ = self.sender.send(message);
        self.stop.store(true, Ordering::Release);
    }
}

/// Reads a notification that changes what the engine knows or does; hands any other back. Parameters that do not have the
/// protocol's shape yield no message, or for an edit that the text is no longer known.
pub(crate) fn told(request: Request) -> Result<Option<Message>, Request> {
    let read: fn(Value) -> Option<Message> = match request.method() {
        _ if request.id().is_some() => return Err(request),
        DidOpenTextDocument::METHOD => opened,
        DidChangeTextDocument::METHOD => edited,
        DidSaveTextDocument::METHOD => |params| Some(Message::Save(document(&params)?)),
        DidCloseTextDocument::METHOD => |params| Some(Message::Close(document(&params)?)),
        DidChangeWatchedFiles::METHOD => watched,
        DidChangeWorkspaceFolders::METHOD => folders,
        DidCreateFiles::METHOD => |params| moved(params, &["uri"]),
        DidRenameFiles::METHOD => |params| moved(params, &["oldUri", "newUri"]),
        DidDeleteFiles::METHOD => |params| moved(params, &["uri"]),
        DidChangeConfiguration::METHOD => |params| Some(configured(&params)),
        SetTrace::METHOD => |params| Some(Message::Trace(serde_json::from_value::<SetTraceParams>(params).ok()?.value)),
        WorkDoneProgressCancel::METHOD => |_| Some(Message::StopScan),
        _ => return Err(request),
    };
    let (_, _, params) = request.into_parts();
    Ok(params.and_then(read))
}

fn opened(params: Value) -> Option<Message> {
    let document = serde_json::from_value::<DidOpenTextDocumentParams>(params).ok()?.text_document;
    let (url, language) = (document.uri, document.language_id);
    Some(Message::Open { url, language, version: document.version, text: document.text })
}

fn edited(params: Value) -> Option<Message> {
    let url = document(&params)?;
    let Ok(edit) = serde_json::from_value::<DidChangeTextDocumentParams>(params) else {
        return Some(Message::Lost(url));
    };
    Some(Message::Edit { url, version: edit.text_document.version, changes: edit.content_changes })
}

fn watched(params: Value) -> Option<Message> {
    let changes = serde_json::from_value::<DidChangeWatchedFilesParams>(params).ok()?.changes;
    Some(Message::Disk(changes.into_iter().map(|change| change.uri).collect()))
}

/// Files that the client made, renamed or deleted, by the keys under which it names them.
fn moved(params: Value, keys: &[&str]) -> Option<Message> {
    let files = params.get("files")?.as_array()?;
    let named = files.iter().flat_map(|file| keys.iter().filter_map(|key| file.get(key)?.as_str()?.parse().ok()));
    Some(Message::Disk(named.collect()))
}

/// Clients that are asked for their settings send none along, or null.
fn configured(params: &Value) -> Message {
    match params.get("settings") {
        Some(settings) if settings.get("guywire").is_some() => Message::Settings(Settings::of(settings)),
        _ => Message::SettingsChanged,
    }
}

fn folders(params: Value) -> Option<Message> {
    let event = serde_json::from_value::<DidChangeWorkspaceFoldersParams>(params).ok()?.event;
    let uris = |folders: Vec<WorkspaceFolder>| folders.into_iter().map(|folder| folder.uri).collect();
    Some(Message::Folders { removed: uris(event.removed), added: uris(event.added) })
}

fn document(params: &Value) -> Option<Url> {
    params.pointer("/textDocument/uri")?.as_str()?.parse().ok()
}
