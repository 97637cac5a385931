//! Shows the user that a check of the workspace is under way, where it takes long enough to wonder.

use std::sync::Arc;
use std::time::Duration;

use tower_lsp::Client;
use tower_lsp::lsp_types::notification::Progress;
use tower_lsp::lsp_types::request::WorkDoneProgressCreate;
use tower_lsp::lsp_types::{
    ProgressParams, ProgressParamsValue, ProgressToken, WorkDoneProgress, WorkDoneProgressBegin,
    WorkDoneProgressCreateParams, WorkDoneProgressEnd, WorkDoneProgressReport,
};

use crate::outbox::Outbox;

/// The shortest time between two reports.
const PAUSE: Duration = Duration::from_millis(100);

/// A check that is under way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scan {
    /// The files are being read.
    Reading,
    /// So many computations of so many are done.
    Checking {
        /// Done.
        done: usize,
        /// Of all.
        total: usize,
    },
}

impl Scan {
    fn message(self) -> String {
        match self {
            Scan::Reading => "reading files".to_owned(),
            Scan::Checking { done, total } => format!("{done} of {total} tables and values"),
        }
    }

    /// Reading takes about a fifth of the time.
    fn percentage(self) -> u32 {
        match self {
            Scan::Reading => 0,
            Scan::Checking { done, total } => 20 + (80 * done / total.max(1)) as u32,
        }
    }
}

/// Shows each check that takes longer than `delay`, one after another, for as long as the session lasts.
pub(crate) async fn show(outbox: Arc<Outbox>, client: Client, delay: Duration) {
    let mut number = 0;
    let mut scans = outbox.scans();
    while scans.wait_for(Option::is_some).await.is_ok() {
        tokio::time::sleep(delay).await;
        if scans.borrow().is_none() {
            continue;
        }
        number += 1;
        let token = ProgressToken::String(format!("guywire/check/{number}"));
        let create = WorkDoneProgressCreateParams { token: token.clone() };
        if let Err(error) = client.send_request::<WorkDoneProgressCreate>(create).await {
            tracing::warn!(code = error.code.code(), "the client shows no progress");
            return;
        }
        let tell = |value| {
            let params = ProgressParams { token: token.clone(), value: ProgressParamsValue::WorkDone(value) };
            client.send_notification::<Progress>(params)
        };
        tell(begin()).await;
        let mut shown = None;
        loop {
            let scan = *scans.borrow_and_update();
            let Some(scan) = scan else { break };
            if shown.is_none_or(|shown| shown < scan.percentage()) {
                tell(report(scan)).await;
                shown = Some(scan.percentage());
            }
            tokio::time::sleep(PAUSE).await;
            if scans.changed().await.is_err() {
                return;
            }
        }
        tell(WorkDoneProgress::End(WorkDoneProgressEnd { message: None })).await;
    }
}

fn begin() -> WorkDoneProgress {
    WorkDoneProgress::Begin(WorkDoneProgressBegin {
        title: "Checking plans".to_owned(),
        cancellable: Some(true),
        message: None,
        percentage: Some(0),
    })
}

fn report(scan: Scan) -> WorkDoneProgress {
    WorkDoneProgress::Report(WorkDoneProgressReport {
        cancellable: Some(true),
        message: Some(scan.message()),
        percentage: Some(scan.percentage()),
    })
}
