//! Diagnostics for a client that asks for them: what it asked for, and what it was last told.
//!
//! A result id is a hash of the list that it stands for, so that an id of an earlier session is as good as one of this.
//! A request for all files that names a token for partial results is held open and told what changes, for as long as the
//! client likes: clients that have it answered ask again every few seconds, for ever.

use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};

use serde_json::json;
use tokio::sync::oneshot;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{
    Diagnostic, DocumentDiagnosticReportResult, FullDocumentDiagnosticReport, PreviousResultId, ProgressToken,
    RelatedFullDocumentDiagnosticReport, RelatedUnchangedDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport,
    Url, WorkspaceDiagnosticReport, WorkspaceDiagnosticReportResult, WorkspaceDocumentDiagnosticReport,
    WorkspaceFullDocumentDiagnosticReport, WorkspaceUnchangedDocumentDiagnosticReport,
};

/// A request for diagnostics.
pub(crate) enum Pull {
    /// Of one file.
    File(FilePull),
    /// Of all files.
    All(AllPull),
}

pub(crate) struct FilePull {
    pub url: Url,
    /// What the client has.
    pub previous: Option<String>,
    pub reply: oneshot::Sender<Result<DocumentDiagnosticReportResult>>,
}

pub(crate) struct AllPull {
    /// What the client has.
    pub previous: Vec<PreviousResultId>,
    /// Under which the client takes parts of the answer.
    pub partial: Option<ProgressToken>,
    pub reply: oneshot::Sender<Result<WorkspaceDiagnosticReportResult>>,
}

/// What an open file's last answer was.
#[derive(Debug)]
struct Pulled {
    id: String,
    /// The client has changed the text since, so it asks again by itself.
    due: bool,
}

/// The requests of one client that wait, and what its answers were.
#[derive(Default)]
pub(crate) struct Pulls {
    /// They wait until their file is checked.
    pub files: Vec<FilePull>,
    /// They wait until all files are.
    pub all: Vec<AllPull>,
    stream: Option<AllPull>,
    pulled: HashMap<Url, Pulled>,
    /// Ids by address, where all files were asked for at once and the answer is still as it was.
    whole: Option<HashMap<Url, String>>,
}

impl Pulls {
    /// The token under which changes of any file are told.
    pub(crate) fn stream(&self) -> Option<&ProgressToken> {
        self.stream.as_ref().filter(|pull| !pull.reply.is_closed())?.partial.as_ref()
    }

    /// Holds a request open. One that was held before is answered: the client has a newer one.
    pub(crate) fn hold(&mut self, pull: AllPull) {
        if let Some(old) = self.stream.replace(pull) {
            let _ = old.reply.send(Ok(whole(Vec::new())));
        }
    }

    /// Forgets requests that the client canceled.
    pub(crate) fn drop_canceled(&mut self) {
        self.files.retain(|pull| !pull.reply.is_closed());
        self.all.retain(|pull| !pull.reply.is_closed());
        self.stream.take_if(|pull| pull.reply.is_closed());
    }

    /// The client has another text of a file: what waits for the one before is told to ask again.
    pub(crate) fn edited(&mut self, url: &Url) {
        if let Some(pulled) = self.pulled.get_mut(url) {
            pulled.due = true;
        }
        for pull in self.files.extract_if(.., |pull| pull.url == *url) {
            let _ = pull.reply.send(Err(server_canceled("the text has changed since", true)));
        }
    }

    /// The user stopped the check: what waits for it is not answered.
    pub(crate) fn give_up(&mut self) {
        let stopped = || server_canceled("the check was stopped", false);
        self.files.drain(..).for_each(|pull| drop(pull.reply.send(Err(stopped()))));
        self.all.drain(..).for_each(|pull| drop(pull.reply.send(Err(stopped()))));
    }

    /// The client has closed a file; yields whether it had asked for the diagnostics.
    pub(crate) fn closed(&mut self, url: &Url) -> bool {
        self.pulled.remove(url).is_some()
    }

    /// The client asks for the diagnostics of this open file by itself: what is told beside goes unread.
    pub(crate) fn asks_for(&self, url: &Url) -> bool {
        self.pulled.contains_key(url)
    }

    /// Notes what a file's answer was.
    pub(crate) fn answered(&mut self, url: Url, list: &[Diagnostic]) {
        self.pulled.insert(url, Pulled { id: result_id(list), due: false });
    }

    /// Notes what the answer for all files was.
    pub(crate) fn answered_whole(&mut self, parts: &[WorkspaceDocumentDiagnosticReport]) {
        self.whole = Some(parts.iter().map(id_of).collect());
    }

    /// Whether the client has to be told to ask again, now that a file's list is this: not where it has asked already.
    pub(crate) fn outdates(&mut self, url: &Url, list: &[Diagnostic]) -> bool {
        if !self.all.is_empty() {
            self.whole = None;
        }
        let waits = self.files.iter().any(|pull| pull.url == *url);
        let pulled = self.pulled.get_mut(url).filter(|pulled| !pulled.due && !waits);
        if pulled.is_none() && self.whole.is_none() {
            return false;
        }
        let id = result_id(list);
        let file = pulled.filter(|pulled| pulled.id != id).map(|pulled| pulled.due = true).is_some();
        let differs = |ids: &mut HashMap<Url, String>| ids.get(url).map_or(!list.is_empty(), |known| *known != id);
        self.whole.take_if(differs).is_some() || file
    }
}

fn id_of(part: &WorkspaceDocumentDiagnosticReport) -> (Url, String) {
    match part {
        WorkspaceDocumentDiagnosticReport::Full(full) => {
            (full.uri.clone(), full.full_document_diagnostic_report.result_id.clone().unwrap_or_default())
        }
        WorkspaceDocumentDiagnosticReport::Unchanged(same) => {
            (same.uri.clone(), same.unchanged_document_diagnostic_report.result_id.clone())
        }
    }
}

/// The protocol's own way to say that diagnostics are not to be had now.
/// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_diagnostic>
fn server_canceled(why: &'static str, retrigger: bool) -> Error {
    Error {
        // ServerCancelled
        code: ErrorCode::ServerError(-32802),
        message: why.into(),
        data: Some(json!({ "retriggerRequest": retrigger })),
    }
}

/// The id of a list: equal lists have equal ids.
pub(crate) fn result_id(list: &[Diagnostic]) -> String {
    let mut hasher = DefaultHasher::new();
    serde_json::to_vec(list).unwrap_or_default().hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

/// The answer for one file, short where the client has the list already.
pub(crate) fn report(list: Vec<Diagnostic>, previous: Option<&str>) -> DocumentDiagnosticReportResult {
    let id = result_id(&list);
    if previous == Some(id.as_str()) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id: id };
        let report =
            RelatedUnchangedDocumentDiagnosticReport { related_documents: None, unchanged_document_diagnostic_report };
        return DocumentDiagnosticReportResult::Report(report.into());
    }
    let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id: Some(id), items: list };
    let report = RelatedFullDocumentDiagnosticReport { related_documents: None, full_document_diagnostic_report };
    DocumentDiagnosticReportResult::Report(report.into())
}

/// One file's part of the answer for all, short where the client has the list already.
pub(crate) fn part(
    uri: Url,
    version: Option<i32>,
    list: Vec<Diagnostic>,
    previous: Option<&str>,
) -> WorkspaceDocumentDiagnosticReport {
    let (id, version) = (result_id(&list), version.map(i64::from));
    if previous == Some(id.as_str()) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id: id };
        return WorkspaceUnchangedDocumentDiagnosticReport { uri, version, unchanged_document_diagnostic_report }
            .into();
    }
    let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id: Some(id), items: list };
    WorkspaceFullDocumentDiagnosticReport { uri, version, full_document_diagnostic_report }.into()
}

/// The answer for all files.
pub(crate) fn whole(items: Vec<WorkspaceDocumentDiagnosticReport>) -> WorkspaceDiagnosticReportResult {
    WorkspaceDiagnosticReportResult::Report(WorkspaceDiagnosticReport { items })
}
