//! Where files come from: the disk, memory, or (elsewhere) a git tree. Overlays of unsaved text sit above it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Largest file that is read, in bytes. A plan of 100,000 channels is about 24 MB.
pub const LARGEST_FILE: u64 = 64 * 1024 * 1024;

/// Why a file could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// There is no such file.
    #[error("there is no such file")]
    Missing,
    /// The path names a directory.
    #[error("this is a directory, not a file")]
    Directory,
    /// The file is larger than [`LARGEST_FILE`].
    #[error(
        "the file has {bytes} bytes; guywire reads files of up to {LARGEST_FILE} bytes. Split it into parts that plans share"
    )]
    TooLarge {
        /// Its size in bytes.
        bytes: u64,
    },
    /// The system refused, in its own words.
    #[error("the file cannot be read: {0}")]
    System(String),
}

/// What tells that a file has not changed since it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    /// Size in bytes.
    pub bytes: u64,
    /// Time of the last change, where the source knows it.
    pub modified: Option<SystemTime>,
}

/// A place to read plans from. Paths are absolute.
pub trait FileSource: Send + Sync {
    /// The bytes of a file.
    ///
    /// # Errors
    /// [`ReadError`] says why the file cannot be had.
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError>;
    /// Every file below `root` that a plan workspace may hold (hidden and ignored folders left out), in path order.
    ///
    /// # Errors
    /// [`ReadError`] where `root` itself cannot be listed.
    fn list(&self, root: &Path) -> Result<Vec<PathBuf>, ReadError>;
    /// The one true path of a file, links followed.
    ///
    /// # Errors
    /// [`ReadError`] where there is no such file.
    fn real(&self, path: &Path) -> Result<PathBuf, ReadError>;
    /// Size and time of a file; none where there is no such file.
    fn stamp(&self, path: &Path) -> Option<Stamp>;
}

/// The file system.
#[derive(Debug, Default, Clone, Copy)]
pub struct DiskSource;

impl From<std::io::Error> for ReadError {
    fn from(error: std::io::Error) -> Self {
        match error.kind() {
            std::io::ErrorKind::NotFound => ReadError::Missing,
            std::io::ErrorKind::IsADirectory => ReadError::Directory,
            _ => ReadError::System(error.to_string()),
        }
    }
}

impl FileSource for DiskSource {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        let about = match std::fs::metadata(path) {
            Err(_) if std::fs::symlink_metadata(path).is_ok_and(|link| link.is_symlink()) => {
                return Err(ReadError::System("it is a link that leads nowhere".to_owned()));
            }
            about => about?,
        };
        if about.is_dir() {
            return Err(ReadError::Directory);
        }
        if !about.is_file() {
            return Err(ReadError::System("it is not a regular file".to_owned()));
        }
        if about.len() > LARGEST_FILE {
            return Err(ReadError::TooLarge { bytes: about.len() });
        }
        Ok(std::fs::read(path)?)
    }

    fn list(&self, root: &Path) -> Result<Vec<PathBuf>, ReadError> {
        if !std::fs::metadata(root)?.is_dir() {
            return Err(ReadError::System("it is not a directory".to_owned()));
        }
        let walk = ignore::WalkBuilder::new(root).follow_links(false).require_git(false).build();
        let mut found: Vec<PathBuf> = walk
            .filter_map(Result::ok)
            // A folder that is named like a plan is listed too: whoever made it should hear of it.
            .filter(|entry| {
                let is_folder = entry.file_type().is_some_and(|kind| kind.is_dir());
                !is_folder || (entry.path() != root && guywire_plan::kind_of_path(entry.path()).is_some())
            })
            .map(ignore::DirEntry::into_path)
            .collect();
        found.sort();
        Ok(found)
    }

    fn real(&self, path: &Path) -> Result<PathBuf, ReadError> {
        Ok(std::fs::canonicalize(path)?)
    }

    fn stamp(&self, path: &Path) -> Option<Stamp> {
        let about = std::fs::metadata(path).ok()?;
        Some(Stamp { bytes: about.len(), modified: about.modified().ok() })
    }
}

/// Files held in memory, for tests and for texts that have no disk.
#[derive(Debug, Default, Clone)]
pub struct MemorySource {
    files: BTreeMap<PathBuf, Vec<u8>>,
}

impl MemorySource {
    /// Files by absolute path.
    pub fn new<P: Into<PathBuf>, B: Into<Vec<u8>>>(files: impl IntoIterator<Item = (P, B)>) -> Self {
        Self { files: files.into_iter().map(|(path, bytes)| (path.into(), bytes.into())).collect() }
    }
}

impl FileSource for MemorySource {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        self.files.get(path).cloned().ok_or(ReadError::Missing)
    }

    fn list(&self, root: &Path) -> Result<Vec<PathBuf>, ReadError> {
        Ok(self.files.keys().filter(|path| path.starts_with(root)).cloned().collect())
    }

    fn real(&self, path: &Path) -> Result<PathBuf, ReadError> {
        if self.files.contains_key(path) { Ok(path.to_path_buf()) } else { Err(ReadError::Missing) }
    }

    fn stamp(&self, path: &Path) -> Option<Stamp> {
        self.files.get(path).map(|bytes| Stamp { bytes: bytes.len() as u64, modified: None })
    }
}
