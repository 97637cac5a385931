//! One owner of the text: changes in, findings and answers out. No protocol, no terminal.
//!
//! [`Workspace`] reads the files below its roots from a [`FileSource`], takes [`Change`]s in, and settles what they made
//! out of date in slices. What it says is always what a fresh reading of the same texts would say:
//! [`Workspace::check_from_scratch`] is that reading.

mod answer;
mod ask;
mod audience;
mod change;
mod compare;
mod disk;
mod engine;
mod git;
mod load;
mod mend;
mod publish;
mod settings;
mod since;
mod source;
#[cfg(test)]
mod tests;
mod waivers;
mod workspace;

use std::ops::Range;

pub use answer::{
    Budget, Completion, CompletionKind, Completions, FileFindings, Hover, OfferedFix, Progress, Related, Shown,
    TextEdit, Waived,
};
pub use ask::{
    Definition, DefinitionTarget, FileBytes, FileLink, Fold, FoldKind, FoundName, Highlight, InlayHint, ItemKind, Lens,
    MOST_FOUND, Offer, OutlineItem, Renamable, RenameRefusal,
};
pub use audience::{Asked, AudienceError, Heard, Matrix, MatrixError, PlanMatrix, Receiver, Sender, Transmission};
pub use change::{Address, Applied, Change, Splice};
pub use compare::{
    Became, Bytes, Cause, Comparison, Grant, KeyChange, Novelty, PairChange, PairKind, RadioName, Reached, Reception,
    Rewrite, Sending, Side, StationClass, StatusChange, TableChange, Use,
};
pub use git::{GitError, GitTree, Renamed, Repository, Revision};
pub use guywire_plan::language::Kind;
pub use mend::{MendedFile, Mending};
pub use publish::MOST_SHOWN;
pub use since::Since;
pub use source::{DiskSource, FileSource, LARGEST_FILE, MemorySource, ReadError, Stamp};
pub use workspace::Workspace;

use guywire_text::FileId;

impl Workspace {
    /// The fixes whose findings touch these bytes of the file, computed now.
    pub fn fixes(&self, file: FileId, bytes: Range<usize>) -> Vec<OfferedFix> {
        ask::fixes(self, file, &bytes)
    }

    /// What is to be said of the thing at this byte.
    pub fn hover(&self, file: FileId, byte: usize) -> Option<Hover> {
        ask::hover(self, file, byte)
    }

    /// What can be written at this byte. `typed` is the character before it, where the question comes of its being typed and
    /// of nothing else: then only what it begins.
    pub fn complete(&self, file: FileId, byte: usize, typed: Option<char>) -> Completions {
        ask::complete(self, file, byte, typed)
    }

    /// Bytes of a file that must never be shown, ordered, not overlapping.
    pub fn secrets(&self, file: FileId) -> Vec<Range<usize>> {
        ask::secrets(&self.engine.db, file)
    }
}
