//! Revisions: a git tree as a place to read plans from. The program `git` is asked; the working tree, the index and the
//! settings of the repository are left as they are, and nothing goes over the network.

mod ask;
mod ignored;
mod list;
mod objects;
mod tree;

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use ask::{Said, ask, path_of};
pub use tree::GitTree;

/// Why a revision cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GitError {
    /// There is no git.
    #[error("revisions are read with the program git, and none is on the PATH; install it")]
    NoGit,
    /// The folder lies in no repository, or in one without a working tree.
    #[error("{} lies in no git repository that has a working tree, so there are no revisions of it", .0.display())]
    NoRepository(PathBuf),
    /// Nothing has that name.
    #[error(
        "there is no revision {0} in this repository; name one commit, branch or tag, and fetch its history first if the clone is shallow"
    )]
    UnknownRevision(String),
    /// A partial clone, or a submodule that is not up to date.
    #[error("revision {revision} is not whole here: {} is missing; fetch it first, nothing is fetched from here", path.display())]
    Incomplete {
        /// The revision as it was named.
        revision: String,
        /// The file or submodule.
        path: PathBuf,
    },
    /// Git does not want to, in its own words.
    #[error("git refuses: {0}")]
    Refused(String),
    /// The system does not let git run.
    #[error("git cannot be run: {0}")]
    System(String),
    /// What git wrote is not in the form that its manual gives.
    #[error("git answered in a form that is not known; version 2.30 or newer is needed")]
    Garbled,
}

/// A repository with a working tree.
#[derive(Debug, Clone)]
pub struct Repository {
    top: PathBuf,
}

/// A commit, or a tree, of a repository.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// As it was named.
    pub name: String,
    /// The name of the commit (or whatever was named) as an object, in hexadecimal.
    pub object: String,
}

/// A file that has another path at the newer of two revisions.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Renamed {
    /// The path before.
    pub from: PathBuf,
    /// The path after.
    pub to: PathBuf,
}

impl Repository {
    /// The repository that a folder lies in.
    ///
    /// # Errors
    /// [`GitError`] where there is none, or no git to ask.
    pub fn around(folder: &Path) -> Result<Repository, GitError> {
        let said = ask(folder, ["rev-parse", "--show-toplevel"])?;
        if !said.worked {
            let none =
                said.complaint.contains("not a git repository") || said.complaint.contains("must be run in a work");
            return Err(if none { GitError::NoRepository(folder.to_path_buf()) } else { said.refusal() });
        }
        let top = path_of(said.line()?);
        let top = std::fs::canonicalize(&top).map_err(|error| GitError::System(error.to_string()))?;
        Ok(Repository { top })
    }

    /// The folder of its working tree, links followed.
    pub fn top(&self) -> &Path {
        &self.top
    }

    /// The revision of a name: a commit, a branch, a tag, `HEAD~3`.
    ///
    /// # Errors
    /// [`GitError::UnknownRevision`] where nothing has the name.
    pub fn revision(&self, name: &str) -> Result<Revision, GitError> {
        let unknown = || GitError::UnknownRevision(name.to_owned());
        if name.is_empty() || name.contains('\0') {
            return Err(unknown());
        }
        let object = self.verified(name)?.ok_or_else(unknown)?;
        self.verified(&format!("{object}^{{tree}}"))?.ok_or_else(unknown)?;
        Ok(Revision { name: name.to_owned(), object })
    }

    fn verified(&self, name: &str) -> Result<Option<String>, GitError> {
        let said = ask(&self.top, ["rev-parse", "--quiet", "--verify", "--end-of-options", name])?;
        if !said.worked {
            return Ok(None);
        }
        let object = String::from_utf8(said.line()?.to_vec()).map_err(|_| GitError::Garbled)?;
        if is_object(&object) { Ok(Some(object)) } else { Err(GitError::Garbled) }
    }

    /// The files of a revision. Submodules below `roots` are read as far as they are checked out.
    ///
    /// # Errors
    /// [`GitError`] where git cannot list them.
    pub fn tree(&self, revision: &Revision, roots: &[PathBuf]) -> Result<GitTree, GitError> {
        GitTree::new(&self.top, revision, roots)
    }

    /// The files below `roots` that git takes for renamed between two revisions; without a newer one, between a revision
    /// and the index, since git knows nothing of files that were never added.
    ///
    /// # Errors
    /// [`GitError`] where git cannot compare them.
    pub fn renamed(
        &self,
        before: &Revision,
        after: Option<&Revision>,
        roots: &[PathBuf],
    ) -> Result<Vec<Renamed>, GitError> {
        let mut words: Vec<&OsStr> = match after {
            Some(_) => vec![OsStr::new("diff-tree"), OsStr::new("-r")],
            None => vec![OsStr::new("diff-index"), OsStr::new("--cached")],
        };
        words.extend(
            ["--find-renames", "-l2000", "--name-status", "-z", "--no-ext-diff", "--no-textconv"].map(OsStr::new),
        );
        words.push(OsStr::new(&before.object));
        words.extend(after.map(|after| OsStr::new(&after.object)));
        words.push(OsStr::new("--"));
        let below = roots.iter().filter_map(|root| root.strip_prefix(&self.top).ok());
        // A root that holds the whole repository wants all of it.
        let below: Vec<&OsStr> = below.map(Path::as_os_str).collect();
        let whole = below.len() < roots.len() || below.iter().any(|path| path.is_empty());
        words.extend(below.into_iter().filter(|_| !whole));
        let said = ask(&self.top, words)?;
        let written = if said.worked { said.out } else { return Err(said.refusal()) };
        list::renamed(&self.top, &written)
    }
}

/// The name of an object in hexadecimal: SHA-1 or SHA-256.
fn is_object(text: &str) -> bool {
    matches!(text.len(), 40 | 64) && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}

impl Revision {
    /// The object's name, short enough for people.
    pub fn short(&self) -> &str {
        self.object.get(..12).unwrap_or(&self.object)
    }
}

impl Said {
    fn refusal(&self) -> GitError {
        let first = self.complaint.lines().next().unwrap_or("no reason given");
        GitError::Refused(first.trim_start_matches("fatal: ").trim_start_matches("error: ").to_owned())
    }
}
