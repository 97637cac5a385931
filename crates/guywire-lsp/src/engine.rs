//! What the server needs of the workspace. The protocol is tested against a small engine of its own.

use std::ops::Range;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

use guywire_text::{Document, FileId};
use guywire_workspace::{
    Address, Applied, Budget, Change, Completions, Definition, FileBytes, FileFindings, FileLink, Fold, FoundName,
    Highlight, Hover, InlayHint, Lens, MatrixError, Offer, OfferedFix, OutlineItem, PlanMatrix, Progress, Renamable,
    RenameRefusal, TextEdit, Workspace,
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
    fn waiver_offers(&self, _file: FileId, _bytes: Range<usize>) -> Vec<OfferedFix> {
        Vec::new()
    }
    fn audience_offers(&self, _file: FileId, _bytes: Range<usize>) -> Vec<Offer> {
        Vec::new()
    }
    fn complete(&self, _file: FileId, _byte: usize, _typed: Option<char>) -> Completions {
        Completions::default()
    }
    fn inlay_hints(&self, _file: FileId, _bytes: Range<usize>) -> Vec<InlayHint> {
        Vec::new()
    }

    // ---- names and outlines ---------------------------------------------------------------------

    fn definition(&self, _file: FileId, _byte: usize) -> Option<Definition> {
        None
    }
    fn references(&self, _file: FileId, _byte: usize, _declaration: bool) -> Vec<FileBytes> {
        Vec::new()
    }
    fn highlights(&self, _file: FileId, _byte: usize) -> Vec<Highlight> {
        Vec::new()
    }
    fn prepare_rename(&self, _file: FileId, _byte: usize) -> Result<Renamable, RenameRefusal> {
        Err(RenameRefusal::NoName)
    }
    fn rename(&self, _file: FileId, _byte: usize, _new: &str) -> Result<Vec<TextEdit>, RenameRefusal> {
        Err(RenameRefusal::NoName)
    }
    fn outline(&self, _file: FileId) -> Vec<OutlineItem> {
        Vec::new()
    }
    fn find_names(&self, _query: &str) -> Vec<FoundName> {
        Vec::new()
    }
    fn folds(&self, _file: FileId) -> Vec<Fold> {
        Vec::new()
    }
    fn selections(&self, _file: FileId, _byte: usize) -> Vec<Range<usize>> {
        Vec::new()
    }
    fn links(&self, _file: FileId) -> Vec<FileLink> {
        Vec::new()
    }
    fn lenses(&self, _file: FileId) -> Vec<Lens> {
        Vec::new()
    }

    // ---- commands -------------------------------------------------------------------------------

    fn values_are_settled(&self) -> bool;
    fn roots(&self) -> Vec<PathBuf> {
        Vec::new()
    }
    fn shown_path(&self, _file: FileId) -> String {
        String::new()
    }
    fn audience_of(&self, _file: FileId) -> Result<PlanMatrix, MatrixError> {
        Err(MatrixError::NoPlan)
    }
}

impl Engine for Workspace {
    fn waiver_offers(&self, file: FileId, bytes: Range<usize>) -> Vec<OfferedFix> {
        self.waiver_offers(file, bytes)
    }

    fn audience_offers(&self, file: FileId, bytes: Range<usize>) -> Vec<Offer> {
        self.audience_offers(file, &bytes)
    }

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

    fn complete(&self, file: FileId, byte: usize, typed: Option<char>) -> Completions {
        self.complete(file, byte, typed)
    }

    fn hover(&self, file: FileId, byte: usize) -> Option<Hover> {
        self.hover(file, byte)
    }

    fn inlay_hints(&self, file: FileId, bytes: Range<usize>) -> Vec<InlayHint> {
        self.inlay_hints(file, bytes)
    }

    fn definition(&self, file: FileId, byte: usize) -> Option<Definition> {
        self.definition(file, byte)
    }

    fn references(&self, file: FileId, byte: usize, declaration: bool) -> Vec<FileBytes> {
        self.references(file, byte, declaration)
    }

    fn highlights(&self, file: FileId, byte: usize) -> Vec<Highlight> {
        self.highlights(file, byte)
    }

    fn prepare_rename(&self, file: FileId, byte: usize) -> Result<Renamable, RenameRefusal> {
        self.prepare_rename(file, byte)
    }

    fn rename(&self, file: FileId, byte: usize, new: &str) -> Result<Vec<TextEdit>, RenameRefusal> {
        self.rename(file, byte, new)
    }

    fn outline(&self, file: FileId) -> Vec<OutlineItem> {
        self.outline(file)
    }

    fn find_names(&self, query: &str) -> Vec<FoundName> {
        self.find_names(query)
    }

    fn folds(&self, file: FileId) -> Vec<Fold> {
        self.folds(file)
    }

    fn selections(&self, file: FileId, byte: usize) -> Vec<Range<usize>> {
        self.selections(file, byte)
    }

    fn links(&self, file: FileId) -> Vec<FileLink> {
        self.links(file)
    }

    fn lenses(&self, file: FileId) -> Vec<Lens> {
        self.lenses(file)
    }

    fn values_are_settled(&self) -> bool {
        self.values_are_settled()
    }

    fn roots(&self) -> Vec<PathBuf> {
        self.roots().to_vec()
    }

    fn shown_path(&self, file: FileId) -> String {
        self.shown_path(file)
    }

    fn audience_of(&self, file: FileId) -> Result<PlanMatrix, MatrixError> {
        self.audience_of(file)
    }
}
