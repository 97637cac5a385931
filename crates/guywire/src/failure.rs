//! Why a command could not run.

use std::io;
use std::path::PathBuf;

use guywire_lsp::ServeError;
use guywire_workspace::{AudienceError, GitError};

/// Why a command could not run, in one line, with what to do.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// The command line makes no sense.
    #[error("{0}")]
    Usage(String),
    /// A path names nothing.
    #[error("there is nothing at {}; check the path", .0.display())]
    NoSuchPath(PathBuf),
    /// The system does not let a path be read.
    #[error("{} cannot be read: {error}", path.display())]
    Unreadable { path: PathBuf, error: io::Error },
    /// A file whose name says that it is something else.
    #[error(
        "{} is no file of the plan language; their names end in .plan.toml, .model.toml, .regime.toml, .bench.toml or .field.toml, or are guywire.toml",
        .0.display()
    )]
    NotOfTheLanguage(PathBuf),
    /// A plan that the settings leave out.
    #[error("{} is left out by `plans` in the guywire.toml of its workspace; add it there", .0.display())]
    LeftOut(PathBuf),
    /// Folders without a single file of the language.
    #[error("there is nothing to check at {}; names of plans end in .plan.toml", listed(.0))]
    NothingToCheck(Vec<PathBuf>),
    /// A revision cannot be read.
    #[error(transparent)]
    Git(#[from] GitError),
    /// The channel or radio that was asked for sends nothing, or is not there.
    #[error(transparent)]
    Audience(#[from] AudienceError),
    /// The paths lie in different repositories.
    #[error(
        "the paths lie in different git repositories, and a revision is one of one repository; ask for each by itself"
    )]
    SeveralRepositories,
    /// No rule has that name.
    #[error("there is no rule {name}{}", hint(.nearest))]
    UnknownRule { name: String, nearest: Option<&'static str> },
    /// Standard output does not take what is written.
    #[error("standard output cannot be written: {0}")]
    Output(io::Error),
    /// The server could not start.
    #[error(transparent)]
    Serve(#[from] ServeError),
    /// A defect of this program, already told by the panic hook.
    #[error("a step failed; no file is half written")]
    Defect,
}

impl Failure {
    /// The exit code: 2, could not run.
    pub(crate) fn code(&self) -> u8 {
        2
    }
}

fn listed(paths: &[PathBuf]) -> String {
    paths.iter().map(|path| path.display().to_string()).collect::<Vec<_>>().join(", ")
}

fn hint(nearest: &Option<&'static str>) -> String {
    match nearest {
        Some(name) => format!("; did you mean {name}?"),
        None => "; `guywire why` lists them all".to_owned(),
    }
}
