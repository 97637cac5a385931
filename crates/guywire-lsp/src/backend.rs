//! The requests, one method each: they put a question in line and wait for its answer. Nothing here waits for the
//! client.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::oneshot;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionOrCommand, CodeActionParams, CodeActionProviderCapability,
    CodeActionResponse, DiagnosticOptions, DiagnosticServerCapabilities, DidChangeWatchedFilesRegistrationOptions,
    DocumentDiagnosticParams, DocumentDiagnosticReportResult, FileSystemWatcher, GlobPattern, Hover, HoverParams,
    HoverProviderCapability, InitializeParams, InitializeResult, InitializedParams, OneOf, Registration, SaveOptions,
    ServerCapabilities, ServerInfo, TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions, Url,
    WorkspaceDiagnosticParams, WorkspaceDiagnosticReportResult, WorkspaceFoldersServerCapabilities,
    WorkspaceServerCapabilities,
};
use tower_lsp::{Client, LanguageServer};

use crate::actions::{FIX_ALL, Wanted, actions};
use crate::adapter::{Phase, Session};
use crate::convert;
use crate::door::{AboutAll, AboutFile, Asked, Question, Scene};
use crate::facts::{Facts, roots};
use crate::message::{Desk, Message};
use crate::outbox::{Outbox, forward};
use crate::pull::{AllPull, FilePull, Pull};

/// What a workspace is made of, fleets in sheets included.
const WATCHED: [&str; 3] = ["**/*.{plan,model,regime,bench,field}.toml", "**/guywire.toml", "**/*.csv"];

/// The server as the framework sees it.
pub(crate) struct Backend {
    client: Client,
    desk: Desk,
    session: Session,
    outbox: Arc<Outbox>,
    watches: AtomicBool,
    pulls: AtomicBool,
    greeted: AtomicBool,
}

impl Backend {
    pub(crate) fn new(client: Client, desk: Desk, session: Session, outbox: Arc<Outbox>) -> Self {
        let [watches, pulls, greeted] = [false; 3].map(AtomicBool::new);
        Self { client, desk, session, outbox, watches, pulls, greeted }
    }

    /// Asks about the text that the client has of a file at this place in the order; none where there is no such file.
    async fn about<T: Send + 'static>(
        &self,
        url: Url,
        run: impl FnOnce(&Asked<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        self.put(|reply| Box::new(AboutFile { url, run, reply })).await
    }

    /// Asks about all files.
    #[allow(dead_code, reason = "no request about all files yet")]
    async fn ask<T: Send + 'static>(
        &self,
        run: impl FnOnce(&Scene<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        self.put(|reply| Box::new(AboutAll { run, reply })).await
    }

    async fn pull<T>(&self, pull: impl FnOnce(oneshot::Sender<Result<T>>) -> Pull) -> Result<T> {
        if !self.pulls.load(Ordering::Acquire) {
            return Err(Error::method_not_found());
        }
        let (reply, answer) = oneshot::channel();
        self.desk.send(Message::Pull(pull(reply)));
        answer.await.unwrap_or_else(|_| Err(Error::internal_error()))
    }

    /// Puts a question in line. To drop this future is to cancel the question.
    async fn put<T>(
        &self,
        question: impl FnOnce(oneshot::Sender<Result<Option<T>>>) -> Box<dyn Question>,
    ) -> Result<Option<T>> {
        let (reply, answer) = oneshot::channel();
        self.desk.send(Message::Ask(question(reply)));
        answer.await.unwrap_or_else(|_| Err(Error::internal_error()))
    }
}

#[tower_lsp::async_trait]
impl LanguageServer for Backend {
    /// Notes what the client can do and has the folders read; answers before they are.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#initialize>
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let facts = Facts::of(&params.capabilities);
        let result = InitializeResult {
            capabilities: capabilities(&facts),
            server_info: Some(ServerInfo {
                name: "guywire".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        };
        self.watches.store(facts.watches, Ordering::Release);
        self.pulls.store(facts.pulls, Ordering::Release);
        self.desk.send(Message::Begin { facts, roots: roots(&params) });
        self.session.enter(Phase::During);
        Ok(result)
    }

    /// From here on the client may be written to: diagnostics go out, and it is asked to watch files.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#initialized>
    async fn initialized(&self, _: InitializedParams) {
        if self.greeted.swap(true, Ordering::AcqRel) {
            return;
        }
        let (outbox, client) = (self.outbox.clone(), self.client.clone());
        tokio::spawn(forward(outbox, client));
        if self.watches.load(Ordering::Acquire) {
            tokio::spawn(watch(self.client.clone(), self.desk.clone()));
        }
    }

    /// Takes no more work.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#shutdown>
    async fn shutdown(&self) -> Result<()> {
        self.session.enter(Phase::After);
        self.outbox.close();
        Ok(())
    }

    /// The diagnostics of a file, once it is checked. A client that has them pushed is refused.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_diagnostic>
    async fn diagnostic(&self, params: DocumentDiagnosticParams) -> Result<DocumentDiagnosticReportResult> {
        let (url, previous) = (params.text_document.uri, params.previous_result_id);
        self.pull(|reply| Pull::File(FilePull { url, previous, reply })).await
    }

    /// The diagnostics of all files, once they are checked; where the client takes partial results, as they come, for as
    /// long as it likes.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#workspace_diagnostic>
    async fn workspace_diagnostic(&self, params: WorkspaceDiagnosticParams) -> Result<WorkspaceDiagnosticReportResult> {
        let (previous, partial) = (params.previous_result_ids, params.partial_result_params.partial_result_token);
        self.pull(|reply| Pull::All(AllPull { previous, partial, reply })).await
    }

    /// What is to be said of the thing at a position.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_hover>
    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        let hover = move |asked: &Asked<'_>| {
            let said = asked.engine().hover(asked.file, asked.byte(at.position))?;
            Some(convert::hover(asked, said))
        };
        self.about(at.text_document.uri, hover).await
    }

    /// The fixes of the findings in a range, and all safe fixes of the file as one.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_codeAction>
    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let wanted = Wanted::of(&params.context);
        if wanted == Wanted::default() {
            return Ok(Some(Vec::new()));
        }
        let actions = move |asked: &Asked<'_>| actions(asked, params.range, wanted);
        let actions = self.about(params.text_document.uri, actions).await?;
        Ok(Some(actions.into_iter().flatten().map(CodeActionOrCommand::CodeAction).collect()))
    }
}

fn capabilities(facts: &Facts) -> ServerCapabilities {
    let sync = TextDocumentSyncOptions {
        open_close: Some(true),
        change: Some(TextDocumentSyncKind::INCREMENTAL),
        save: Some(SaveOptions { include_text: Some(false) }.into()),
        ..TextDocumentSyncOptions::default()
    };
    let folders =
        WorkspaceFoldersServerCapabilities { supported: Some(true), change_notifications: Some(OneOf::Left(true)) };
    let actions = if facts.action_literals {
        CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX, FIX_ALL]),
            ..CodeActionOptions::default()
        })
    } else {
        CodeActionProviderCapability::Simple(false)
    };
    ServerCapabilities {
        position_encoding: facts.names_encodings.then(|| facts.encoding_kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        code_action_provider: Some(actions),
        diagnostic_provider: facts.pulls.then(diagnostics),
        workspace: Some(WorkspaceServerCapabilities { workspace_folders: Some(folders), file_operations: None }),
        ..ServerCapabilities::default()
    }
}

fn diagnostics() -> DiagnosticServerCapabilities {
    DiagnosticServerCapabilities::Options(DiagnosticOptions {
        identifier: Some("guywire".to_owned()),
        inter_file_dependencies: true,
        workspace_diagnostics: true,
        ..DiagnosticOptions::default()
    })
}

async fn watch(client: Client, desk: Desk) {
    let watchers =
        WATCHED.map(|pattern| FileSystemWatcher { glob_pattern: GlobPattern::String(pattern.to_owned()), kind: None });
    let options = DidChangeWatchedFilesRegistrationOptions { watchers: watchers.to_vec() };
    let registration = Registration {
        id: "guywire-watched-files".to_owned(),
        method: "workspace/didChangeWatchedFiles".to_owned(),
        register_options: serde_json::to_value(options).ok(),
    };
    if let Err(error) = client.register_capability(vec![registration]).await {
        tracing::warn!(code = error.code.code(), "the client watches no files; they are looked at when needed");
        desk.send(Message::Unwatched);
    }
}
