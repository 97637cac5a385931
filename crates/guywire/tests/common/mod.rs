//! The program as it is built, run on folders of the test's own.

#![allow(dead_code, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::SystemTime;

use tempfile::TempDir;

/// A folder that goes away with the test.
pub struct Folder(TempDir);

/// What a run said and how it ended.
#[derive(Debug, PartialEq, Eq)]
pub struct Run {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Folder {
    pub fn new() -> Folder {
        Folder(tempfile::tempdir().unwrap())
    }

    /// A folder with these files.
    pub fn with(files: &[(&str, &str)]) -> Folder {
        let folder = Folder::new();
        files.iter().for_each(|(name, text)| folder.write(name, text.as_bytes()));
        folder
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    /// Writes a file, its folders too.
    pub fn write(&self, name: impl AsRef<Path>, bytes: &[u8]) {
        let path = self.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }

    /// Runs the program here.
    pub fn guywire(&self, arguments: &[&str]) -> Run {
        run(self.command().args(arguments))
    }

    /// The program, to be run here, nothing set that colors or logs.
    pub fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_guywire"));
        command.current_dir(self.path());
        ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "GUYWIRE_LOG", "COLUMNS"].iter().for_each(|name| {
            command.env_remove(name);
        });
        command
    }

    /// Makes what is here the first or next commit of a repository.
    pub fn commit(&self) {
        if !self.path().join(".git").exists() {
            self.git(&["init", "--quiet", "--initial-branch=main"]);
        }
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--allow-empty", "--message", "state"]);
    }

    /// Runs git here, with an author of its own and no settings.
    pub fn git(&self, words: &[&str]) {
        let mut command = Command::new("git");
        for role in ["AUTHOR", "COMMITTER"] {
            command.env(format!("GIT_{role}_NAME"), "Harbor").env(format!("GIT_{role}_EMAIL"), "harbor@example.org");
            command.env(format!("GIT_{role}_DATE"), "2026-11-25T12:00:00Z");
        }
        command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
        let done = run(command.arg("-C").arg(self.path()).args(words));
        assert_eq!(done.code, Some(0), "{}", done.err);
    }

    /// Every file and folder below with its size and time, and the bytes of small ones.
    pub fn state(&self) -> BTreeMap<PathBuf, (u64, SystemTime, Vec<u8>)> {
        let mut found = BTreeMap::new();
        let mut open = vec![self.path().to_path_buf()];
        while let Some(folder) = open.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let about = std::fs::symlink_metadata(&path).unwrap();
                let small = about.is_file() && about.len() < 10_000_000;
                let bytes = if small { std::fs::read(&path).unwrap() } else { Vec::new() };
                if about.is_dir() {
                    open.push(path.clone());
                }
                found.insert(path, (about.len(), about.modified().unwrap(), bytes));
            }
        }
        found
    }
}

/// Runs a command to its end.
pub fn run(command: &mut Command) -> Run {
    let Output { status, stdout, stderr } = command.output().unwrap();
    Run { code: status.code(), out: String::from_utf8(stdout).unwrap(), err: String::from_utf8(stderr).unwrap() }
}

/// A sound plan.
pub const SOUND: &str = "[plan]\ntitle = \"Saltmarsh Harbor handhelds\"\n";
/// A plan with one error.
pub const WRONG: &str = "[plan]\ntitel = \"Saltmarsh Harbor handhelds\"\n";
/// A plan with one hint and nothing worse.
pub const HINT: &str = "[plan]\n\n[[talkgroup]]\nname = \"Berths\"\nid = 1201\n";
