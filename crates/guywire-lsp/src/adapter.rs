//! Keeps the order of the wire.
//!
//! The framework runs handlers side by side, and an edit may overtake another. So this service in front of it hands
//! edits on inside `call`, which runs in the order of the wire, and polls every handler once there: what a handler does
//! before it first waits (putting its question in line behind the edits it follows; canceling) is done in order, too.

use std::any::Any;
use std::future::Future;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::task::{Context, Poll, Waker};

use serde_json::Value;
use tower::Service;
use tower_lsp::jsonrpc::{Error, ErrorCode, Id, Request, Response};
use tower_lsp::lsp_types::notification::{Notification as _, WorkDoneProgressCancel};
use tower_lsp::lsp_types::request::{Initialize, Request as _};
use tower_lsp::lsp_types::{ProgressToken, WorkDoneProgressCancelParams};

use crate::job::Jobs;
use crate::message::{Desk, told};
use crate::progress::is_of_a_check;

/// Where a session stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Phase {
    /// The client has not introduced itself.
    Before,
    /// Work goes on.
    During,
    /// The client has asked to shut down.
    After,
}

/// The phase, shared by those who change it and those who heed it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Session(Arc<AtomicU8>);

impl Session {
    pub(crate) fn phase(&self) -> Phase {
        match self.0.load(Ordering::Acquire) {
            0 => Phase::Before,
            1 => Phase::During,
            _ => Phase::After,
        }
    }

    pub(crate) fn enter(&self, phase: Phase) {
        self.0.store(phase as u8, Ordering::Release);
    }
}

/// The service in front of the framework's.
pub(crate) struct Adapter<S> {
    inner: S,
    desk: Desk,
    session: Session,
    jobs: Jobs,
}

impl<S> Adapter<S> {
    pub(crate) fn new(inner: S, desk: Desk, session: Session, jobs: Jobs) -> Self {
        Self { inner, desk, session, jobs }
    }

    fn tell(&self, request: Request) -> Result<(), Request> {
        let method = request.method().to_owned();
        if let Some(token) = canceled(&request).filter(|token| !is_of_a_check(token)) {
            self.jobs.cancel(&token);
            return Ok(());
        }
        let Some(message) = told(request)? else {
            tracing::error!(method, "ignored: its parameters do not have the shape that the protocol gives them");
            return Ok(());
        };
        match self.session.phase() {
            Phase::During => self.desk.send(message),
            phase => tracing::warn!(method, ?phase, "ignored: it came before initialize or after shutdown"),
        }
        Ok(())
    }
}

impl<S> Service<Request> for Adapter<S>
where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Unpin,
{
    type Response = Option<Response>;
    type Error = S::Error;
    type Future = Answer<S::Error>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        let request = match self.tell(as_read(without_null_params(request))) {
            Ok(()) => return Answer::Done(Some(Ok(None))),
            Err(request) => request,
        };
        let id = request.id().cloned();
        let handler = match catch_unwind(AssertUnwindSafe(|| self.inner.call(request))) {
            Ok(handler) => Box::pin(handler),
            Err(payload) => {
                forget(payload);
                return Answer::Done(Some(Ok(failed(id))));
            }
        };
        let mut answer = Answer::Waiting { id, handler };
        match Pin::new(&mut answer).poll(&mut Context::from_waker(Waker::noop())) {
            Poll::Ready(result) => Answer::Done(Some(result)),
            Poll::Pending => answer,
        }
    }
}

type Handler<E> = Pin<Box<dyn Future<Output = Result<Option<Response>, E>> + Send>>;

/// An answer, had or on its way. Panics of the handler turn into an error for the client.
pub(crate) enum Answer<E> {
    /// It is there, until taken.
    Done(Option<Result<Option<Response>, E>>),
    /// The handler waits for something.
    Waiting {
        /// The request's id.
        id: Option<Id>,
        /// The rest of the handler.
        handler: Handler<E>,
    },
}

impl<E: Unpin> Future for Answer<E> {
    type Output = Result<Option<Response>, E>;

    fn poll(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<Self::Output> {
        let result = match &mut *self {
            Answer::Done(result) => return result.take().map_or(Poll::Pending, Poll::Ready),
            Answer::Waiting { id, handler } => {
                let polled = catch_unwind(AssertUnwindSafe(|| handler.as_mut().poll(context)));
                match polled {
                    Ok(Poll::Pending) => return Poll::Pending,
                    Ok(Poll::Ready(result)) => result.map(|response| response.map(without_quotes)),
                    Err(payload) => {
                        forget(payload);
                        Ok(failed(id.take()))
                    }
                }
            }
        };
        *self = Answer::Done(None);
        Poll::Ready(result)
    }
}

/// What the user wants no more, where that is what a notification says.
fn canceled(request: &Request) -> Option<ProgressToken> {
    let params = (request.method() == WorkDoneProgressCancel::METHOD).then(|| request.params()).flatten()?;
    Some(serde_json::from_value::<WorkDoneProgressCancelParams>(params.clone()).ok()?.token)
}

/// A payload may hold text of a plan, and dropping it may panic again.
fn forget(payload: Box<dyn Any + Send>) {
    std::mem::forget(payload);
}

fn failed(id: Option<Id>) -> Option<Response> {
    tracing::error!("a request failed; the server goes on");
    id.map(|id| Response::from_error(id, Error::internal_error()))
}

/// Requests without parameters come with `null` from some clients, which the framework refuses, and from the framework.
pub(crate) fn without_null_params(request: Request) -> Request {
    if request.params().is_none_or(|params| !params.is_null()) {
        return request;
    }
    let (method, id, _) = request.into_parts();
    let bare = Request::build(method);
    match id {
        Some(id) => bare.id(id).finish(),
        None => bare.finish(),
    }
}

/// The framework's types read what a client declares of `workspace.diagnostics` under a name that no client uses.
fn as_read(request: Request) -> Request {
    if request.method() != Initialize::METHOD {
        return request;
    }
    let (method, id, params) = request.into_parts();
    let mut params = params.unwrap_or_default();
    if let Some(workspace) = params.pointer_mut("/capabilities/workspace").and_then(Value::as_object_mut)
        && let Some(declared) = workspace.remove("diagnostics")
    {
        workspace.insert("diagnostic".to_owned(), declared);
    }
    let whole = Request::build(method).params(params);
    match id {
        Some(id) => whole.id(id).finish(),
        None => whole.finish(),
    }
}

/// The framework's errors quote what they could not read.
fn without_quotes(response: Response) -> Response {
    if response.error().is_none_or(|error| error.code != ErrorCode::InvalidParams) {
        return response;
    }
    let (id, _) = response.into_parts();
    Response::from_error(id, Error::invalid_params("the parameters do not have the shape that the protocol gives them"))
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;
    use std::sync::Mutex;

    use serde_json::json;
    use tower::service_fn;

    use super::*;

    fn request(method: &'static str) -> Request {
        Request::build(method).id(1).finish()
    }

    fn adapter<S>(inner: S) -> Adapter<S> {
        Adapter::new(inner, Desk::new().0, Session::default(), Jobs::default())
    }

    #[tokio::test]
    async fn what_precedes_the_first_wait_runs_in_order() {
        let seen = Arc::new(Mutex::new(Vec::new()));
        let log = seen.clone();
        let mut adapter = adapter(service_fn(move |request: Request| {
            let log = log.clone();
            async move {
                log.lock().expect("not poisoned").push(request.method().to_owned());
                tokio::task::yield_now().await;
                Ok::<_, Infallible>(None)
            }
        }));
        let answers = [adapter.call(request("a")), adapter.call(request("b")), adapter.call(request("c"))];
        assert_eq!(*seen.lock().expect("not poisoned"), ["a", "b", "c"]);
        for answer in answers {
            assert_eq!(answer.await, Ok(None));
        }
    }

    #[tokio::test]
    async fn a_panic_before_or_after_a_wait_is_an_error() {
        let mut adapter = adapter(service_fn(|request: Request| async move {
            if request.method() == "late" {
                tokio::task::yield_now().await;
            }
            let mut key = "material".chars();
            assert_eq!(key.next(), None, "the key is {}", key.as_str());
            Ok::<_, Infallible>(None)
        }));
        for method in ["early", "late"] {
            let response = adapter.call(request(method)).await.expect("the service goes on");
            assert_eq!(response, Some(Response::from_error(1.into(), Error::internal_error())));
        }
    }

    #[tokio::test]
    async fn a_panic_while_calling_is_an_error() {
        let mut adapter = adapter(service_fn(|request: Request| {
            assert_eq!(request.method(), "", "no method will do");
            std::future::ready(Ok::<_, Infallible>(None))
        }));
        let response = adapter.call(request("any")).await.expect("the service goes on");
        assert_eq!(response, Some(Response::from_error(1.into(), Error::internal_error())));
    }

    #[tokio::test]
    async fn errors_quote_nothing() {
        let mut adapter = adapter(service_fn(|request: Request| async move {
            let (_, id, _) = request.into_parts();
            let error = Error::invalid_params("invalid type: string \"hunter2\"");
            Ok::<_, Infallible>(id.map(|id| Response::from_error(id, error)))
        }));
        let response = adapter.call(request("any")).await.expect("the service goes on");
        assert!(!format!("{response:?}").contains("hunter2"), "{response:?}");
    }

    #[test]
    fn null_parameters_count_as_none() {
        let bare = without_null_params(Request::build("shutdown").id(7).params(json!(null)).finish());
        assert_eq!(bare, Request::build("shutdown").id(7).finish());
        let full = Request::build("other").id(7).params(json!([1])).finish();
        assert_eq!(without_null_params(full.clone()), full);
    }
}
