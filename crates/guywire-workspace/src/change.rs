//! What comes in: changes of text, of the disk, of the day.

use std::ops::Range;
use std::path::PathBuf;

use guywire_text::{Encoding, FileId, Position};
use jiff::civil::Date;

/// How a client names a file.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Address {
    /// A file of the file system, by absolute path.
    Disk(PathBuf),
    /// A text that is no file (a revision shown by the editor, a new buffer), by the client's own address.
    Virtual(String),
}

/// One edit of a text. Edits of one change apply one after another, each to the text that the one before it left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Splice {
    /// By bytes.
    Bytes(Range<usize>, String),
    /// By lines and characters as a client counts them; places past an end are clamped.
    Lines {
        /// First place.
        start: Position,
        /// Place after the last.
        end: Position,
        /// How characters are counted.
        encoding: Encoding,
        /// What stands there now.
        text: String,
    },
    /// The whole text anew.
    Whole(String),
}

/// A change that the workspace takes in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A client has a text open; it wins over the disk until closed.
    Open {
        /// Which file.
        address: Address,
        /// The client's version of it.
        version: i32,
        /// Its text.
        text: String,
    },
    /// The open text changed.
    Edit {
        /// Which file.
        file: FileId,
        /// The version after the change.
        version: i32,
        /// What changed, in order.
        edits: Vec<Splice>,
    },
    /// The client closed the text; the disk counts again.
    Close(FileId),
    /// These paths may have changed, appeared or gone on disk. Empty: look at every known file and list the roots again.
    Disk(Vec<PathBuf>),
    /// The date that dated rules judge by.
    Today(Date),
}

/// What [`Workspace::apply`](crate::Workspace::apply) did.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Applied {
    /// The file that the change was about, if it was about one.
    pub file: Option<FileId>,
    /// Edits that could not be applied (out of range, or the file is not open). The text is as it was before the first of them.
    pub refused: usize,
}
