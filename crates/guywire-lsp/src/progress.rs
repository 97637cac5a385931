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

/// How the tokens of checks begin.
const TOKEN: &str = "guywire/check/";

/// Whether progress under a token is that of a check.
pub(crate) fn is_of_a_check(token: &ProgressToken) -> bool {
    matches!(token, ProgressToken::String(token) if token.starts_with(TOKEN))
}

/// The checks of a session, as far as they concern who shows them.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Checks {
    /// How many there have been.
    number: u64,
    /// The one that is under way.
    now: Option<Scan>,
    /// How far the last one came that was noted.
    last: Option<Scan>,
    /// How long one may take untold. With none, each that is noted is shown, even one that is over before it can be.
    pub untold: Duration,
}

impl Checks {
    /// Notes how far a check has come; none where none is under way. Yields whether that is news.
    pub(crate) fn note(&mut self, scan: Option<Scan>) -> bool {
        self.number += u64::from(self.now.is_none() && scan.is_some());
        self.last = scan.or(self.last);
        std::mem::replace(&mut self.now, scan) != scan
    }

    /// Whether one after those seen is to be shown.
    fn due(&self, seen: u64) -> bool {
        seen < self.number && (self.now.is_some() || self.untold.is_zero())
    }
}

/// Shows each check that takes longer than it may untold, one after another, for as long as the session lasts.
pub(crate) async fn show(outbox: Arc<Outbox>, client: Client) {
    let (mut number, mut seen) = (0, 0);
    let mut checks = outbox.checks();
    loop {
        let Ok(untold) = checks.wait_for(|checks| checks.due(seen)).await.map(|checks| checks.untold) else { return };
        tokio::select! {
            () = tokio::time::sleep(untold) => {}
            _ = checks.wait_for(|checks| checks.untold != untold) => continue,
        }
        if !checks.borrow().due(seen) {
            continue;
        }
        number += 1;
        let token = ProgressToken::String(format!("{TOKEN}{number}"));
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
            let known = *checks.borrow_and_update();
            seen = known.number;
            if let Some(scan) = known.last.filter(|scan| shown.is_none_or(|shown| shown < scan.percentage())) {
                tell(report(scan)).await;
                shown = Some(scan.percentage());
            }
            if known.now.is_none() {
                break;
            }
            tokio::time::sleep(PAUSE).await;
            if checks.changed().await.is_err() {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_check_that_is_over_is_due_only_where_none_may_be_untold() {
        let mut checks = Checks { untold: Duration::from_millis(150), ..Checks::default() };
        assert!(!checks.due(0));
        assert!(checks.note(Some(Scan::Reading)) && checks.due(0));
        assert!(!checks.note(Some(Scan::Reading)), "no news");
        assert!(checks.note(None) && !checks.due(0));
        checks.untold = Duration::ZERO;
        assert!(checks.due(0) && !checks.due(1));
        assert_eq!(checks.last, Some(Scan::Reading), "there is something to report of it");
        checks.note(Some(Scan::Checking { done: 1, total: 2 }));
        assert!(checks.due(1) && !checks.due(2));
    }
}
