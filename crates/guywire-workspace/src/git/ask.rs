//! Runs git so that it does nothing but answer: no hooks, no programs named in settings, no pager, no network.

use std::ffi::{OsStr, OsString};
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::GitError;

/// Environment variables of git that are kept: where its settings are (`safe.directory` among them), and how far up it
/// looks for a repository. All others, which name other repositories, programs to run or files to write, are taken out.
const KEPT: [&str; 5] =
    ["GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM", "GIT_CONFIG_NOSYSTEM", "GIT_CONFIG_COUNT", "GIT_CEILING_DIRECTORIES"];
const KEPT_BEGIN: [&str; 2] = ["GIT_CONFIG_KEY_", "GIT_CONFIG_VALUE_"];

/// Said to git before each command. What is asked here reads no file of the working tree, so no filter runs.
const HARMLESS: [&str; 9] = [
    "--no-pager",
    "--no-optional-locks",
    "--literal-pathspecs",
    "-c",
    "core.fsmonitor=false",
    "-c",
    "core.hooksPath=/dev/null",
    "-c",
    "protocol.allow=never",
];

/// What git said.
pub(crate) struct Said {
    pub worked: bool,
    pub out: Vec<u8>,
    pub complaint: String,
}

impl Said {
    /// The only line of the answer.
    pub fn line(&self) -> Result<&[u8], GitError> {
        let line = self.out.strip_suffix(b"\n").ok_or(GitError::Garbled)?;
        let line = if cfg!(windows) { line.strip_suffix(b"\r").unwrap_or(line) } else { line };
        if line.is_empty() { Err(GitError::Garbled) } else { Ok(line) }
    }
}

/// Git, to be run in a folder.
pub(crate) fn git(folder: &Path) -> Command {
    let mut command = Command::new("git");
    for (name, _) in std::env::vars_os() {
        if is_taken_out(&name) {
            command.env_remove(name);
        }
    }
    command.env("GIT_NO_LAZY_FETCH", "1").env("GIT_TERMINAL_PROMPT", "0").env("LC_ALL", "C");
    command.args(HARMLESS).arg("-C").arg(folder).stdin(Stdio::null());
    command
}

fn is_taken_out(name: &OsStr) -> bool {
    let Some(name) = name.to_str() else { return false };
    name.starts_with("GIT_") && !KEPT.contains(&name) && !KEPT_BEGIN.iter().any(|begin| name.starts_with(begin))
}

/// Runs git to its end.
pub(crate) fn ask<W: AsRef<OsStr>>(folder: &Path, words: impl IntoIterator<Item = W>) -> Result<Said, GitError> {
    let done = git(folder).args(words).output().map_err(not_run)?;
    let complaint = String::from_utf8_lossy(&done.stderr).trim().to_owned();
    Ok(Said { worked: done.status.success(), out: done.stdout, complaint })
}

pub(crate) fn not_run(error: io::Error) -> GitError {
    if error.kind() == io::ErrorKind::NotFound { GitError::NoGit } else { GitError::System(error.to_string()) }
}

/// A path from the bytes that git writes; where paths are no bytes, they are UTF-8 to git.
pub(crate) fn path_of(bytes: &[u8]) -> PathBuf {
    #[cfg(unix)]
    let path: OsString = {
        use std::os::unix::ffi::OsStringExt;
        OsString::from_vec(bytes.to_vec())
    };
    #[cfg(not(unix))]
    let path: OsString = String::from_utf8_lossy(bytes).into_owned().into();
    PathBuf::from(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_names_other_repositories_or_programs_is_taken_out() {
        for name in ["GIT_DIR", "GIT_INDEX_FILE", "GIT_EXTERNAL_DIFF", "GIT_SSH_COMMAND", "GIT_CONFIG_PARAMETERS"] {
            assert!(is_taken_out(OsStr::new(name)), "{name}");
        }
        for name in ["GIT_CONFIG_GLOBAL", "GIT_CONFIG_KEY_0", "PATH", "HOME"] {
            assert!(!is_taken_out(OsStr::new(name)), "{name}");
        }
    }
}
