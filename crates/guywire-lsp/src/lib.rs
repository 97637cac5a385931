//! The language server: converts between the protocol and the workspace.
//!
//! A message travels [`pump`] (reads and writes) -> [`adapter`] (keeps the order) -> [`backend`] (one method a request)
//! -> [`worker`] (the one thread that owns the texts; [`door`] is how requests reach them, [`tell`] what is told of
//! findings) -> [`outbox`] (what goes back unasked). Protocol types stay in this crate.

mod actions;
mod adapter;
mod address;
mod again;
mod backend;
mod books;
mod check;
mod command;
mod completion;
mod convert;
mod door;
mod engine;
mod facts;
mod frame;
mod job;
mod message;
mod names;
mod outbox;
mod outline;
mod progress;
mod pull;
mod pump;
mod settings;
mod show;
mod surface;
mod tell;
#[cfg(test)]
mod tests;
mod worker;

use std::sync::Arc;
use std::time::Duration;

use guywire_workspace::{DiskSource, Workspace};
use jiff::civil::Date;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::oneshot;
use tower_lsp::LspService;

use crate::adapter::{Adapter, Phase, Session};
use crate::backend::Backend;
use crate::engine::Engine;
use crate::job::Jobs;
use crate::message::{Desk, Message};
use crate::outbox::Outbox;
use crate::worker::{Pace, Source, work};

/// At most one look at the disk a second, and at most one part in twenty of the time.
const DISK: Pace = Pace { pause: Duration::from_secs(1), share: 20 };
/// How long a check may take before the user is told that it is under way.
const UNTOLD: Duration = Duration::from_millis(150);
/// How long the engine's thread may take to end once the client has left.
const FAREWELL: Duration = Duration::from_secs(1);
/// Stack of the engine's thread, in bytes: as much as a main thread has.
const STACK: usize = 8 * 1024 * 1024;

/// Why the server could not run.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The system gives no thread.
    #[error("the server cannot start a thread: {0}; close some programs and try again")]
    Thread(#[source] std::io::Error),
    /// The system gives no clock or no input.
    #[error("the server cannot start: {0}")]
    Runtime(#[source] std::io::Error),
}

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The client asked to shut down first.
    AfterShutdown,
    /// The client left, or said `exit` without asking to shut down.
    Abruptly,
}

impl Ended {
    /// The exit code that the protocol gives: 0 after `shutdown`, else 1.
    pub fn code(self) -> u8 {
        match self {
            Ended::AfterShutdown => 0,
            Ended::Abruptly => 1,
        }
    }
}

/// Serves one client on standard input and output until it leaves. `today` is the date that dated rules judge by; it is
/// asked again with each message. Standard output carries the protocol, so nothing else may write to it.
///
/// A panic is caught and logged by place only: its message may quote a plan.
///
/// # Errors
/// [`ServeError`] where the system gives no thread or no input.
pub fn serve(today: impl FnMut() -> Date + Send + 'static) -> Result<Ended, ServeError> {
    std::panic::set_hook(Box::new(|panic| {
        let at = panic.location().map(ToString::to_string).unwrap_or_default();
        tracing::error!(at, "a step failed; the server goes on");
    }));
    let source = Source {
        load: Box::new(|roots, today| Workspace::load(Arc::new(DiskSource), roots, today)),
        today: Box::new(today),
        disk: DISK,
        untold: UNTOLD,
    };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(ServeError::Runtime)?;
    let ended = runtime.block_on(run(tokio::io::stdin(), tokio::io::stdout(), source));
    // The thread that reads standard input cannot be woken while the client keeps the pipe open.
    runtime.shutdown_background();
    ended
}

/// Serves one client on any pair of streams.
async fn run<E: Engine + 'static>(
    input: impl AsyncRead + Unpin,
    output: impl AsyncWrite + Unpin,
    source: Source<E>,
) -> Result<Ended, ServeError> {
    let (desk, inbox, stop) = Desk::new();
    let (session, outbox, jobs) = (Session::default(), Arc::new(Outbox::default()), Jobs::default());
    let (done, worker_done) = oneshot::channel::<()>();
    let worker_outbox = outbox.clone();
    let worker = move || {
        work(source, worker_outbox, &inbox, &stop);
        drop(done);
    };
    let thread = std::thread::Builder::new().name("engine".to_owned()).stack_size(STACK);
    thread.spawn(worker).map_err(ServeError::Thread)?;

    let (service, socket) =
        LspService::new(|client| Backend::new(client, desk.clone(), session.clone(), outbox.clone(), jobs.clone()));
    let adapter = Adapter::new(service, desk.clone(), session.clone(), jobs.clone());
    pump::pump(input, output, adapter, tower_lsp::Loopback::split(socket)).await;

    outbox.close();
    desk.send(Message::End);
    if tokio::time::timeout(FAREWELL, worker_done).await.is_err() {
        tracing::warn!("the session ends while a check is under way");
    }
    Ok(if session.phase() == Phase::After { Ended::AfterShutdown } else { Ended::Abruptly })
}
