//! Work beside the engine's thread, for what takes long and is no question about the texts alone: on a thread of its own,
//! one after another, with progress, until somebody cancels it.

use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::{mpsc, oneshot};
use tower_lsp::Client;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::notification::Progress;
use tower_lsp::lsp_types::request::WorkDoneProgressCreate;
use tower_lsp::lsp_types::{
    ProgressParams, ProgressParamsValue, ProgressToken, WorkDoneProgress, WorkDoneProgressBegin,
    WorkDoneProgressCreateParams, WorkDoneProgressEnd, WorkDoneProgressReport,
};

use crate::command::Page;
use crate::worker::guarded;

type Work = dyn FnOnce(&Steps) -> Result<Page> + Send;

/// Something to do.
pub(crate) struct Job {
    /// What it is, to who waits for it.
    pub title: &'static str,
    pub run: Box<Work>,
}

/// Nobody waits for it any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("canceled")]
pub(crate) struct Canceled;

/// How far a job has come, and whether it is still wanted.
pub(crate) struct Steps {
    canceled: Arc<AtomicBool>,
    told: mpsc::UnboundedSender<(u32, String)>,
}

impl Steps {
    /// Begins a step, after so many percent of the whole.
    ///
    /// # Errors
    /// [`Canceled`].
    pub(crate) fn begin(&self, percentage: u32, what: &str) -> std::result::Result<(), Canceled> {
        // Who does not show progress listens to nothing.
        let _ = self.told.send((percentage, what.to_owned()));
        if self.canceled.load(Ordering::Acquire) { Err(Canceled) } else { Ok(()) }
    }
}

/// The jobs of a session.
#[derive(Clone, Default)]
pub(crate) struct Jobs(Arc<State>);

#[derive(Default)]
struct State {
    /// Held by the job that runs: each reads plans whole.
    running: Arc<tokio::sync::Mutex<()>>,
    shown: Mutex<HashMap<ProgressToken, Arc<AtomicBool>>>,
    number: AtomicU64,
}

/// Cancels a job once it is dropped, answered or not, and takes its progress down.
struct Wanted {
    jobs: Jobs,
    canceled: Arc<AtomicBool>,
    token: Option<ProgressToken>,
}

impl Drop for Wanted {
    fn drop(&mut self) {
        self.canceled.store(true, Ordering::Release);
        if let Some(token) = &self.token {
            self.jobs.shown().remove(token);
        }
    }
}

impl Jobs {
    /// Does a job on a thread of its own. To drop this future is to cancel it. Progress is shown under the client's token,
    /// else under one of the server's own where the client takes such.
    pub(crate) async fn run(
        &self,
        job: Job,
        client: Client,
        token: Option<ProgressToken>,
        may_create: bool,
    ) -> Result<Page> {
        let canceled = Arc::new(AtomicBool::new(false));
        let is_own = token.is_none() && may_create;
        let own = || ProgressToken::String(format!("guywire/job/{}", self.0.number.fetch_add(1, Ordering::AcqRel) + 1));
        let token = token.or_else(|| is_own.then(own));
        if let Some(token) = &token {
            self.shown().insert(token.clone(), canceled.clone());
        }
        let _wanted = Wanted { jobs: self.clone(), canceled: canceled.clone(), token: token.clone() };
        let (told, steps) = mpsc::unbounded_channel();
        let shown = token.map(|token| tokio::spawn(show(client, job.title, token, is_own, steps)));
        let turn = self.0.running.clone().lock_owned().await;
        let (reply, answer) = oneshot::channel();
        let steps = Steps { canceled: canceled.clone(), told };
        let work = move || {
            let done = guarded("a job", || (job.run)(&steps));
            drop(steps);
            drop(turn);
            let _ = reply.send(done.unwrap_or_else(|| Err(Error::internal_error())));
        };
        let thread = std::thread::Builder::new().name("guywire-job".to_owned()).stack_size(crate::STACK).spawn(work);
        if let Err(error) = thread {
            tracing::error!(%error, "a job cannot be begun");
            return Err(Error::internal_error());
        }
        let page = answer.await.unwrap_or_else(|_| Err(Error::internal_error()));
        // The client's own token is good for as long as the request is.
        if let Some(shown) = shown.filter(|_| !is_own) {
            let _ = shown.await;
        }
        // Whatever became of it since.
        if canceled.load(Ordering::Acquire) { Err(Error::request_cancelled()) } else { page }
    }

    /// Cancels the job whose progress is shown under a token, if there still is one.
    pub(crate) fn cancel(&self, token: &ProgressToken) {
        if let Some(canceled) = self.shown().get(token) {
            canceled.store(true, Ordering::Release);
        }
    }

    /// No panic can happen while it is held, so a poisoned lock is as good as any.
    fn shown(&self) -> MutexGuard<'_, HashMap<ProgressToken, Arc<AtomicBool>>> {
        self.0.shown.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Shows the steps of a job until there are no more.
async fn show(
    client: Client,
    title: &'static str,
    token: ProgressToken,
    is_own: bool,
    mut steps: mpsc::UnboundedReceiver<(u32, String)>,
) {
    if is_own {
        let create = WorkDoneProgressCreateParams { token: token.clone() };
        if let Err(error) = client.send_request::<WorkDoneProgressCreate>(create).await {
            tracing::warn!(code = error.code.code(), "the client shows no progress");
            return;
        }
    }
    let tell = |value| {
        let params = ProgressParams { token: token.clone(), value: ProgressParamsValue::WorkDone(value) };
        client.send_notification::<Progress>(params)
    };
    let begin =
        WorkDoneProgressBegin { title: title.to_owned(), cancellable: Some(true), message: None, percentage: Some(0) };
    tell(WorkDoneProgress::Begin(begin)).await;
    while let Some((percentage, message)) = steps.recv().await {
        let report =
            WorkDoneProgressReport { cancellable: Some(true), message: Some(message), percentage: Some(percentage) };
        tell(WorkDoneProgress::Report(report)).await;
    }
    tell(WorkDoneProgress::End(WorkDoneProgressEnd { message: None })).await;
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::{Receiver, Sender, channel};

    use serde_json::Map;
    use tower_lsp::LspService;

    use super::*;

    type Begun = std::result::Result<(), Canceled>;

    /// A job that waits for a word, begins a step, and tells how that went.
    fn waiting() -> (Job, Sender<()>, Receiver<Begun>) {
        let (go, gone) = channel();
        let (tell, told) = channel();
        let run = move |steps: &Steps| {
            gone.recv().expect("the test says when");
            let begun = steps.begin(50, "a step");
            tell.send(begun).expect("the test listens");
            begun.map_err(|_| Error::request_cancelled())?;
            Ok(Page { name: String::new(), markdown: "done".to_owned(), more: Map::new() })
        };
        (Job { title: "Waiting", run: Box::new(run) }, go, told)
    }

    fn client() -> Client {
        struct Nobody;
        #[tower_lsp::async_trait]
        impl tower_lsp::LanguageServer for Nobody {
            async fn initialize(
                &self,
                _: tower_lsp::lsp_types::InitializeParams,
            ) -> Result<tower_lsp::lsp_types::InitializeResult> {
                Err(Error::internal_error())
            }

            async fn shutdown(&self) -> Result<()> {
                Ok(())
            }
        }
        let mut client = None;
        let _service = LspService::new(|given| {
            client = Some(given);
            Nobody
        });
        client.expect("a service has a client")
    }

    #[tokio::test]
    async fn a_job_is_answered_with_its_page() {
        let (job, go, told) = waiting();
        go.send(()).expect("the job waits");
        let page = Jobs::default().run(job, client(), None, false).await.expect("a page");
        assert_eq!((page.markdown.as_str(), told.recv()), ("done", Ok(Ok(()))));
    }

    #[tokio::test]
    async fn a_job_that_nobody_waits_for_is_canceled_and_the_next_has_its_turn() {
        let jobs = Jobs::default();
        let (job, go, told) = waiting();
        let (run, given) = (jobs.clone(), client());
        let first = tokio::spawn(async move { run.run(job, given, None, false).await });
        tokio::task::yield_now().await;
        first.abort();
        assert!(first.await.is_err_and(|ended| ended.is_cancelled()));
        go.send(()).expect("the job waits");
        assert_eq!(told.recv(), Ok(Err(Canceled)));
        let (job, go, _told) = waiting();
        go.send(()).expect("the job waits");
        assert!(jobs.run(job, client(), None, false).await.is_ok());
    }

    #[tokio::test]
    async fn a_job_is_canceled_by_its_token() {
        let jobs = Jobs::default();
        let (job, go, told) = waiting();
        let token = ProgressToken::Number(7);
        let (run, given, shown) = (jobs.clone(), client(), token.clone());
        let answer = tokio::spawn(async move { run.run(job, given, Some(shown), false).await });
        tokio::task::yield_now().await;
        jobs.cancel(&ProgressToken::Number(8));
        jobs.cancel(&token);
        go.send(()).expect("the job waits");
        assert_eq!(told.recv(), Ok(Err(Canceled)));
        let refused = answer.await.expect("it ends").expect_err("it is canceled");
        assert_eq!(refused, Error::request_cancelled());
        assert!(jobs.shown().is_empty(), "its token is free");
    }

    #[tokio::test]
    async fn a_job_that_fails_is_an_error_and_the_next_has_its_turn() {
        let jobs = Jobs::default();
        let fails = Job { title: "Failing", run: Box::new(|_| panic!("the key is 5EC2E7")) };
        let refused = jobs.run(fails, client(), None, false).await.expect_err("it failed");
        assert_eq!(refused, Error::internal_error());
        let (job, go, _told) = waiting();
        go.send(()).expect("the job waits");
        assert!(jobs.run(job, client(), None, false).await.is_ok());
    }
}
