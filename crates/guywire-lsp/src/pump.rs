//! Reads messages, hands them to the service in the order in which they came, and writes what comes back.
//!
//! The framework's own loop ends at the first message that is not well-formed, and at most so many requests may be
//! under way in it before it stops reading, cancellations included. This one does neither.

use std::future::poll_fn;
use std::time::Duration;

use futures_util::stream::StreamExt;
use futures_util::{Sink, SinkExt, Stream};
use serde_json::Value;
use tokio::io::{AsyncBufRead, AsyncRead, AsyncWrite, BufReader};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tower::Service;
use tower_lsp::jsonrpc::{Error, Id, Request, Response};

use crate::adapter::{Adapter, Answer, without_null_params};
use crate::frame::{self, Frame};

/// How long answers may take to go out once no more messages come.
const GRACE: Duration = Duration::from_secs(2);

/// Runs until the client says `exit`, its end of the input closes, or it stops reading for good.
pub(crate) async fn pump<S, Q, R>(
    input: impl AsyncRead + Unpin,
    output: impl AsyncWrite + Unpin,
    mut adapter: Adapter<S>,
    (requests, responses): (Q, R),
) where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: std::fmt::Display + Send + Unpin + 'static,
    Q: Stream<Item = Request> + Unpin,
    R: Sink<Response> + Unpin,
{
    let (answers, answered) = unbounded_channel();
    let reading = read(BufReader::new(input), &mut adapter, responses, answers);
    let writing = write(output, answered, requests);
    tokio::pin!(writing);
    tokio::select! {
        () = reading => {}
        () = &mut writing => return,
    }
    if tokio::time::timeout(GRACE, writing).await.is_err() {
        tracing::warn!("the client does not read the last answers");
    }
}

async fn read<S, R>(
    mut input: impl AsyncBufRead + Unpin,
    adapter: &mut Adapter<S>,
    mut responses: R,
    answers: UnboundedSender<Response>,
) where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: std::fmt::Display + Send + Unpin + 'static,
    R: Sink<Response> + Unpin,
{
    loop {
        let body = match frame::read(&mut input).await {
            Ok(Some(Frame::Body(body))) => body,
            Ok(Some(Frame::Garbage)) => {
                send(&answers, Some(Response::from_error(Id::Null, Error::parse_error())));
                continue;
            }
            Ok(None) => return,
            Err(error) => return tracing::error!(%error, "the session ends"),
        };
        match message(&body) {
            Ok(Incoming::Response(response)) => {
                let _ = responses.send(response).await;
            }
            Ok(Incoming::Request(request)) => {
                let exit = request.method() == "exit";
                dispatch(adapter, request, &answers).await;
                if exit {
                    return;
                }
            }
            Err(refusal) => send(&answers, Some(refusal)),
        }
    }
}

async fn dispatch<S>(adapter: &mut Adapter<S>, request: Request, answers: &UnboundedSender<Response>)
where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: std::fmt::Display + Send + Unpin + 'static,
{
    if poll_fn(|context| adapter.poll_ready(context)).await.is_err() {
        return;
    }
    match adapter.call(request) {
        Answer::Done(answer) => send(answers, answer.and_then(Result::ok).flatten()),
        waiting @ Answer::Waiting { .. } => {
            let answers = answers.clone();
            tokio::spawn(async move { send(&answers, waiting.await.ok().flatten()) });
        }
    }
}

fn send(answers: &UnboundedSender<Response>, answer: Option<Response>) {
    if let Some(answer) = answer {
        let _ = answers.send(answer);
    }
}

enum Incoming {
    Request(Request),
    Response(Response),
}

/// Tells requests and notifications from responses; yields the refusal for what is neither.
fn message(body: &[u8]) -> Result<Incoming, Response> {
    let value: Value =
        serde_json::from_slice(body).map_err(|_| Response::from_error(Id::Null, Error::parse_error()))?;
    let id = value.get("id").and_then(|id| serde_json::from_value(id.clone()).ok()).unwrap_or(Id::Null);
    let read = if value.get("method").is_some() {
        serde_json::from_value(value).map(Incoming::Request)
    } else {
        serde_json::from_value(value).map(Incoming::Response)
    };
    read.map_err(|_| Response::from_error(id, Error::invalid_request()))
}

/// Answers go before requests of the server's own, so that nothing precedes the answer to `initialize`.
async fn write(
    mut output: impl AsyncWrite + Unpin,
    mut answers: UnboundedReceiver<Response>,
    mut requests: impl Stream<Item = Request> + Unpin,
) {
    let mut more = true;
    loop {
        let body = tokio::select! {
            biased;
            answer = answers.recv() => match answer {
                Some(answer) => serde_json::to_vec(&answer),
                None => return,
            },
            request = requests.next(), if more => match request {
                Some(request) => serde_json::to_vec(&without_null_params(request)),
                None => {
                    more = false;
                    continue;
                }
            },
        };
        let Ok(body) = body else { continue };
        if let Err(error) = frame::write(&mut output, &body).await {
            return tracing::error!(%error, "the client cannot be written to; the session ends");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(body: &str) -> Option<(Id, i64)> {
        let response = message(body.as_bytes()).err()?;
        Some((response.id().clone(), response.error()?.code.code()))
    }

    #[test]
    fn what_is_no_message_is_refused_under_its_id() {
        assert_eq!(refusal("{"), Some((Id::Null, -32700)));
        assert_eq!(refusal("\u{feff}{}"), Some((Id::Null, -32700)));
        assert_eq!(refusal(r#"{"jsonrpc":"2.0","method":"a","params":"\ud83d"}"#), Some((Id::Null, -32700)));
        assert_eq!(refusal("{}"), Some((Id::Null, -32600)));
        assert_eq!(refusal("[]"), Some((Id::Null, -32600)));
        assert_eq!(refusal(r#"{"id":4,"method":5}"#), Some((4.into(), -32600)));
        assert_eq!(refusal(r#"{"jsonrpc":"1.0","id":"x","method":"a"}"#), Some(("x".into(), -32600)));
    }

    #[test]
    fn requests_and_responses_are_told_apart() {
        assert!(matches!(message(br#"{"jsonrpc":"2.0","method":"a"}"#), Ok(Incoming::Request(_))));
        assert!(matches!(message(br#"{"jsonrpc":"2.0","id":1,"result":null}"#), Ok(Incoming::Response(_))));
        let error = br#"{"jsonrpc":"2.0","id":1,"error":{"code":-32601,"message":"no"}}"#;
        assert!(matches!(message(error), Ok(Incoming::Response(_))));
    }
}
