//! What the server needs of the workspace. The protocol is tested against a small engine of its own.

use std::ops::Range;
use std::sync::atomic::AtomicBool;

use guywire_text::{Document, FileId};
use guywire_workspace::{
    Address, Applied, Budget, Change, FileFindings, Hover, InlayHint, OfferedFix, Progress, TextEdit, Workspace,
};

/// The owner of all texts; each method is as [`Workspace`] documents it.
pub(crate) trait Engine {
    fn apply(&mut self, change: Change) -> Applied;
    fn settle(&mut self, budget: Budget, stop: &AtomicBool) -> Progress;
    fn changed(&mut self) -> Vec<FileId>;
    fn is_settled(&self, file: FileId) -> bool;
    fn show_at_most(&mut self, findings: usize);
    fn files(&self) -> Vec<FileId>;
    fn file(&self, address: &Address) -> Option<FileId>;
    fn address(&self, file: FileId) -> Option<Address>;
    fn document(&self, file: FileId) -> Option<&Document>;
    fn findings(&self, file: FileId) -> FileFindings;
    fn fixes(&self, file: FileId, bytes: Range<usize>) -> Vec<OfferedFix>;
    fn fix_all(&self, file: FileId) -> Option<TextEdit>;
    fn hover(&self, file: FileId, byte: usize) -> Option<Hover>;
    fn inlay_hints(&self, _file: FileId, _bytes: Range<usize>) -> Vec<InlayHint> {
        Vec::new()
    }
}

impl Engine for Workspace {
    fn apply(&mut self, change: Change) -> Applied {
        self.apply(change)
    }

    fn settle(&mut self, budget: Budget, stop: &AtomicBool) -> Progress {
        self.settle(budget, stop)
    }

    fn changed(&mut self) -> Vec<FileId> {
        self.changed()
    }

    fn is_settled(&self, file: FileId) -> bool {
        self.is_settled(file)
    }

    fn show_at_most(&mut self, findings: usize) {
        self.show_at_most(findings);
    }

    fn files(&self) -> Vec<FileId> {
        self.files()
    }

    fn file(&self, address: &Address) -> Option<FileId> {
        self.file(address)
    }

    fn address(&self, file: FileId) -> Option<Address> {
        self.address(file)
    }

    fn document(&self, file: FileId) -> Option<&Document> {
        self.document(file)
    }

    fn findings(&self, file: FileId) -> FileFindings {
        self.findings(file)
    }

    fn fixes(&self, file: FileId, bytes: Range<usize>) -> Vec<OfferedFix> {
        self.fixes(file, bytes)
    }

    fn fix_all(&self, file: FileId) -> Option<TextEdit> {
        self.fix_all(file)
    }

    fn hover(&self, file: FileId, byte: usize) -> Option<Hover> {
        self.hover(file, byte)
    }

    fn inlay_hints(&self, file: FileId, bytes: Range<usize>) -> Vec<InlayHint> {
        self.inlay_hints(file, bytes)
    }
}
