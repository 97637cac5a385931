//! One owner of the text: changes in, findings and answers out. No protocol, no terminal.

mod answer;
mod change;
mod source;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

pub use answer::{Budget, FileFindings, Hover, OfferedFix, Progress, Related, Shown, TextEdit};
pub use change::{Address, Applied, Change, Splice};
pub use source::{DiskSource, FileSource, LARGEST_FILE, MemorySource, ReadError, Stamp};

use guywire_text::{Document, FileId};
use jiff::civil::Date;

/// All plans below some roots, their texts, and what is known of them.
pub struct Workspace {}

impl Workspace {
    /// Reads every file of the language below `roots` (absolute paths). Runs no rule.
    pub fn load(_files: Arc<dyn FileSource>, _roots: &[PathBuf], _today: Date) -> Self {
        Self {}
    }

    /// Takes a change in: text and index; runs no rule; cannot fail.
    pub fn apply(&mut self, _change: Change) -> Applied {
        Applied::default()
    }

    /// Computes a slice of what is not settled, the open files first. `stop` ends the slice early.
    pub fn settle(&mut self, _budget: Budget, _stop: &AtomicBool) -> Progress {
        Progress { settled: true, remaining: 0 }
    }

    /// Files whose findings may differ from those last asked for with this call. Only settled files are listed.
    pub fn changed(&mut self) -> Vec<FileId> {
        Vec::new()
    }

    /// Every file known, in path order.
    pub fn files(&self) -> Vec<FileId> {
        Vec::new()
    }

    /// The file at an address; links and spellings of one file give one.
    pub fn file(&self, _address: &Address) -> Option<FileId> {
        None
    }

    /// How a file is addressed: as the client that opened it spelled it, else its path.
    pub fn address(&self, _file: FileId) -> Option<Address> {
        None
    }

    /// The path shown to people: relative to its root, with `/`.
    pub fn shown_path(&self, _file: FileId) -> String {
        String::new()
    }

    /// The text.
    pub fn document(&self, _file: FileId) -> Option<&Document> {
        None
    }

    /// The client's version of an open file.
    pub fn version(&self, _file: FileId) -> Option<i32> {
        None
    }

    /// The findings of a file as last settled.
    pub fn findings(&self, _file: FileId) -> FileFindings {
        FileFindings::default()
    }

    /// The fixes whose findings touch these bytes of the file, computed now.
    pub fn fixes(&self, _file: FileId, _bytes: std::ops::Range<usize>) -> Vec<OfferedFix> {
        Vec::new()
    }

    /// What is to be said of the thing at this byte.
    pub fn hover(&self, _file: FileId, _byte: usize) -> Option<Hover> {
        None
    }

    /// The roots (folders with a `guywire.toml`, or as given).
    pub fn roots(&self) -> &[PathBuf] {
        &[]
    }

    /// Whether a path names a file of the plan language by its ending.
    pub fn knows(path: &Path) -> bool {
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else { return false };
        name == "guywire.toml"
            || [".plan.toml", ".model.toml", ".regime.toml", ".bench.toml", ".field.toml"]
                .iter()
                .any(|ending| name.len() > ending.len() && name.ends_with(ending))
    }
}
