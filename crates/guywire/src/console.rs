//! Standard output, standard error and the log.

use std::io::{self, BufWriter, Write};

use guywire_report::visible;
use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

use crate::failure::Failure;

/// The environment variable that sets the level of the log.
const LOG: &str = "GUYWIRE_LOG";

/// Writes to standard output; colors are taken out where it is no terminal or `NO_COLOR` is set. A reader that has gone
/// away (`guywire check | head`) is no failure.
pub(crate) fn print(write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
    let mut out = BufWriter::new(anstream::stdout().lock());
    match write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {
            // What is left in the buffer has no reader; dropping the writer would try again.
            drop(out.into_parts());
            Ok(())
        }
        written => written.map_err(Failure::Output),
    }
}

/// Columns for what is laid out in columns: `COLUMNS` of the environment within reason (POSIX, "Environment Variables"), else
/// 80, which every terminal has.
pub(crate) fn columns() -> usize {
    let told = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    told.map_or(80, |columns: usize| columns.clamp(60, 400))
}

/// Writes one line to standard error, whatever the message quotes.
pub(crate) fn complain(message: &str) {
    // Nobody is left to be told where standard error is closed too.
    let _ = writeln!(io::stderr(), "guywire: {}", visible(message));
}

/// Starts the log: to standard error only, from the crates of this program only, since others may log what they are
/// given.
pub(crate) fn start_log() {
    let wanted = std::env::var(LOG).ok().filter(|word| !word.is_empty());
    let level = wanted.as_deref().map_or(Ok(LevelFilter::WARN), str::parse);
    let targets = Targets::new().with_target("guywire", level.as_ref().copied().unwrap_or(LevelFilter::WARN));
    let lines = tracing_subscriber::fmt::layer().with_writer(io::stderr);
    let started = tracing_subscriber::registry().with(lines).with(targets).try_init().is_ok();
    if level.is_err() && started {
        tracing::warn!("{LOG} is none of off, error, warn, info, debug, trace; taken as warn");
    }
}
