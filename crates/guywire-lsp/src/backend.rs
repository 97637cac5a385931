//! The requests, one method each: they put a question in line and wait for its answer. Nothing here waits for the
//! client.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use serde_json::{Value, json};

use tokio::sync::oneshot;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::notification::{DidChangeConfiguration, DidChangeWatchedFiles, Notification};
use tower_lsp::lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionOrCommand, CodeActionParams, CodeActionProviderCapability,
    CodeActionResponse, CodeLens, CodeLensParams, CompletionParams, CompletionResponse, DiagnosticOptions,
    DiagnosticServerCapabilities, DocumentDiagnosticParams, DocumentDiagnosticReportResult, DocumentHighlight,
    DocumentHighlightParams, DocumentLink, DocumentLinkParams, DocumentSymbolParams, DocumentSymbolResponse,
    ExecuteCommandOptions, ExecuteCommandParams, FileOperationFilter, FileOperationPattern, FileOperationPatternKind,
    FileOperationRegistrationOptions, FoldingRange, FoldingRangeParams, GotoDefinitionParams, GotoDefinitionResponse,
    Hover, HoverParams, HoverProviderCapability, InitializeParams, InitializeResult, InitializedParams, InlayHint,
    InlayHintParams, Location, OneOf, PrepareRenameResponse, ReferenceParams, Registration, RenameParams, SaveOptions,
    SelectionRange, SelectionRangeParams, ServerCapabilities, ServerInfo, SymbolInformation,
    TextDocumentPositionParams, TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions, Url,
    WorkDoneProgressOptions, WorkspaceDiagnosticParams, WorkspaceDiagnosticReportResult, WorkspaceEdit,
    WorkspaceFileOperationsServerCapabilities, WorkspaceFoldersServerCapabilities, WorkspaceServerCapabilities,
    WorkspaceSymbolParams,
};
use tower_lsp::{Client, LanguageServer};

use crate::actions::{FIX_ALL, Wanted, actions};
use crate::adapter::{Phase, Session};
use crate::again::{self, Again};
use crate::command::{self, COMMANDS, Run};
use crate::completion;
use crate::convert;
use crate::door::{AboutAll, AboutFile, Asked, Question, Scene};
use crate::facts::{Facts, roots};
use crate::job::Jobs;
use crate::message::{Desk, Message};
use crate::names;
use crate::outbox::{Outbox, forward};
use crate::outline;
use crate::progress;
use crate::pull::{AllPull, FilePull, Pull};
use crate::settings::Settings;
use crate::show::{self, Folder};

/// What a workspace is made of, fleets in sheets included.
const WATCHED: [&str; 3] = ["**/*.{plan,model,regime,bench,field}.toml", "**/guywire.toml", "**/*.csv"];

/// The server as the framework sees it.
pub(crate) struct Backend {
    client: Client,
    desk: Desk,
    session: Session,
    outbox: Arc<Outbox>,
    jobs: Jobs,
    pages: Folder,
    /// What the client can do, once it has said so.
    facts: OnceLock<Facts>,
    greeted: AtomicBool,
}

impl Backend {
    pub(crate) fn new(client: Client, desk: Desk, session: Session, outbox: Arc<Outbox>, jobs: Jobs) -> Self {
        let (facts, greeted) = (OnceLock::new(), AtomicBool::new(false));
        Self { client, desk, session, outbox, jobs, pages: Folder::default(), facts, greeted }
    }

    fn can(&self, what: impl FnOnce(&Facts) -> bool) -> bool {
        self.facts.get().is_some_and(what)
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
    async fn ask<T: Send + 'static>(
        &self,
        run: impl FnOnce(&Scene<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        self.put(|reply| Box::new(AboutAll { run, computed: false, reply })).await
    }

    /// Asks about all files, once the values over their tables are computed.
    async fn ask_computed<T: Send + 'static>(
        &self,
        run: impl FnOnce(&Scene<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        self.put(|reply| Box::new(AboutAll { run, computed: true, reply })).await
    }

    async fn pull<T>(&self, pull: impl FnOnce(oneshot::Sender<Result<T>>) -> Pull) -> Result<T> {
        if !self.can(|facts| facts.pulls) {
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
        let _ = self.facts.set(facts.clone());
        let mut settings = params.initialization_options.as_ref().map(Settings::of).unwrap_or_default();
        settings.trace = settings.trace.or(params.trace);
        self.desk.send(Message::Begin { facts, roots: roots(&params), settings });
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
        tokio::spawn(forward(outbox, client, self.desk.clone()));
        let Some(facts) = self.facts.get() else { return };
        if facts.progress {
            tokio::spawn(progress::show(self.outbox.clone(), self.client.clone()));
        }
        let registrations = registrations(facts);
        if !registrations.is_empty() {
            tokio::spawn(register(self.client.clone(), self.desk.clone(), registrations));
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

    /// The computed values that stand within the lines of a range.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_inlayHint>
    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        let (url, range, outbox) = (params.text_document.uri, params.range, self.outbox.clone());
        let spelled = url.clone();
        let hints = move |asked: &Asked<'_>| {
            let hints = again::hints(asked, range);
            outbox.answered(asked, &spelled, Again::Hints(range), &hints);
            Some(hints)
        };
        self.about(url, hints).await
    }

    /// What can be written at a position.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_completion>
    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let url = params.text_document_position.text_document.uri.clone();
        let found = self.about(url, move |asked: &Asked<'_>| Some(completion::complete(asked, &params))).await?;
        Ok(found.map(CompletionResponse::List))
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

    /// Runs a command of [`COMMANDS`]: answers with its page, and has it opened where the client can.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#workspace_executeCommand>
    async fn execute_command(&self, params: ExecuteCommandParams) -> Result<Option<Value>> {
        let command = command::named(&params.command)?;
        let show = self.can(|facts| facts.show_document) && command::wants_showing(&params.arguments);
        let (arguments, token) = (params.arguments, params.work_done_progress_params.work_done_token);
        let nothing = || Err(Error::internal_error());
        let page = match command.run {
            Run::Now(run) => self.ask(move |scene| Some(run(scene, &arguments))).await?.unwrap_or_else(nothing)?,
            Run::Computed(run) => {
                self.ask_computed(move |scene| Some(run(scene, &arguments))).await?.unwrap_or_else(nothing)?
            }
            Run::Aside(prepare) => {
                let job = self.ask(move |scene| Some(prepare(scene, &arguments))).await?;
                let job = job.unwrap_or_else(|| Err(Error::internal_error()))?;
                self.jobs.run(job, self.client.clone(), token, self.can(|facts| facts.progress)).await?
            }
        };
        if show {
            match self.pages.write(&page) {
                Ok(path) => drop(tokio::spawn(show::show(self.client.clone(), path))),
                Err(error) => tracing::warn!(%error, "a page cannot be written, so it is not shown"),
            }
        }
        Ok(Some(page.answer()))
    }

    /// What the name or path at a position leads to.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_definition>
    async fn goto_definition(&self, params: GotoDefinitionParams) -> Result<Option<GotoDefinitionResponse>> {
        let at = params.text_document_position_params;
        self.about(at.text_document.uri, move |asked| names::definition(asked, at.position)).await
    }

    /// Every place, in every file, that leads to what a position is about.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_references>
    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        let (at, declaration) = (params.text_document_position, params.context.include_declaration);
        self.about(at.text_document.uri, move |asked| names::references(asked, at.position, declaration)).await
    }

    /// The places of the file that name what a position is about.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_documentHighlight>
    async fn document_highlight(&self, params: DocumentHighlightParams) -> Result<Option<Vec<DocumentHighlight>>> {
        let at = params.text_document_position_params;
        self.about(at.text_document.uri, move |asked| names::highlights(asked, at.position)).await
    }

    /// What would be renamed at a position.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_prepareRename>
    async fn prepare_rename(&self, params: TextDocumentPositionParams) -> Result<Option<PrepareRenameResponse>> {
        let found = self.about(params.text_document.uri, move |asked| names::prepare(asked, params.position)).await?;
        found.transpose()
    }

    /// The edits that rename what is at a position, in every file; an error says why there are none.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_rename>
    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        let (at, new) = (params.text_document_position, params.new_name);
        let renamed = self.about(at.text_document.uri, move |asked| names::rename(asked, at.position, &new)).await?;
        renamed.transpose()
    }

    /// The outline of the file.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_documentSymbol>
    async fn document_symbol(&self, params: DocumentSymbolParams) -> Result<Option<DocumentSymbolResponse>> {
        self.about(params.text_document.uri, outline::symbols).await
    }

    /// The names of all files that answer a query.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#workspace_symbol>
    async fn symbol(&self, params: WorkspaceSymbolParams) -> Result<Option<Vec<SymbolInformation>>> {
        self.ask(move |scene| outline::found(scene, &params.query)).await
    }

    /// What folds in the file.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_foldingRange>
    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        self.about(params.text_document.uri, outline::folds).await
    }

    /// What selections grow to.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_selectionRange>
    async fn selection_range(&self, params: SelectionRangeParams) -> Result<Option<Vec<SelectionRange>>> {
        self.about(params.text_document.uri, move |asked| outline::selections(asked, &params.positions)).await
    }

    /// The paths of the file.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_documentLink>
    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        self.about(params.text_document.uri, outline::links).await
    }

    /// The lines above tables.
    /// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_codeLens>
    async fn code_lens(&self, params: CodeLensParams) -> Result<Option<Vec<CodeLens>>> {
        let (url, outbox) = (params.text_document.uri, self.outbox.clone());
        let spelled = url.clone();
        let lenses = move |asked: &Asked<'_>| {
            let lenses = outline::lenses(asked)?;
            outbox.answered(asked, &spelled, Again::Lenses, &lenses);
            Some(lenses)
        };
        self.about(url, lenses).await
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
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX, CodeActionKind::REFACTOR_REWRITE, FIX_ALL]),
            ..CodeActionOptions::default()
        })
    } else {
        CodeActionProviderCapability::Simple(false)
    };
    let capabilities = ServerCapabilities {
        position_encoding: facts.names_encodings.then(|| facts.encoding_kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
        completion_provider: Some(completion::options()),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        inlay_hint_provider: Some(OneOf::Left(true)),
        code_action_provider: Some(actions),
        execute_command_provider: Some(ExecuteCommandOptions {
            commands: COMMANDS.iter().map(|command| command.name.to_owned()).collect(),
            work_done_progress_options: WorkDoneProgressOptions { work_done_progress: Some(true) },
        }),
        diagnostic_provider: facts.pulls.then(diagnostics),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(folders),
            file_operations: facts.moves.then(moves),
        }),
        ..ServerCapabilities::default()
    };
    facts.surface.advertise(capabilities)
}

fn diagnostics() -> DiagnosticServerCapabilities {
    DiagnosticServerCapabilities::Options(DiagnosticOptions {
        identifier: Some("guywire".to_owned()),
        inter_file_dependencies: true,
        workspace_diagnostics: true,
        ..DiagnosticOptions::default()
    })
}

/// The files that the client is asked to tell of when it makes, renames or deletes them.
fn moves() -> WorkspaceFileOperationsServerCapabilities {
    let filter = |glob: &str, kind| FileOperationFilter {
        scheme: Some("file".to_owned()),
        pattern: FileOperationPattern { glob: glob.to_owned(), matches: Some(kind), options: None },
    };
    let mut filters: Vec<FileOperationFilter> =
        WATCHED.iter().map(|glob| filter(glob, FileOperationPatternKind::File)).collect();
    filters.push(filter("**", FileOperationPatternKind::Folder));
    let files = Some(FileOperationRegistrationOptions { filters });
    WorkspaceFileOperationsServerCapabilities {
        did_create: files.clone(),
        did_rename: files.clone(),
        did_delete: files,
        ..WorkspaceFileOperationsServerCapabilities::default()
    }
}

/// What the client is asked to tell of, as far as it can.
fn registrations(facts: &Facts) -> Vec<Registration> {
    let watcher = |glob: &&str| json!({ "globPattern": glob });
    let files = Registration {
        id: "guywire-watched-files".to_owned(),
        method: DidChangeWatchedFiles::METHOD.to_owned(),
        register_options: Some(json!({ "watchers": WATCHED.iter().map(watcher).collect::<Vec<_>>() })),
    };
    let settings = Registration {
        id: "guywire-settings".to_owned(),
        method: DidChangeConfiguration::METHOD.to_owned(),
        register_options: Some(json!({ "section": "guywire" })),
    };
    let wanted = [(facts.watches, files), (facts.configuration_watch, settings)];
    wanted.into_iter().filter(|(can, _)| *can).map(|(_, registration)| registration).collect()
}

async fn register(client: Client, desk: Desk, registrations: Vec<Registration>) {
    if let Err(error) = client.register_capability(registrations).await {
        tracing::warn!(code = error.code.code(), "the client watches no files; they are looked at when needed");
        desk.send(Message::Unwatched);
    }
}
