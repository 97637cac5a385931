//! Paths in the text as links.

use std::ops::Range;

use guywire_plan::Db;
use guywire_text::FileId;

use super::names;
use crate::workspace::Workspace;

/// A path in a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileLink {
    /// Bytes of the path, quotes left out.
    pub bytes: Range<usize>,
    /// The file that it leads to.
    pub target: FileId,
    /// What that is.
    pub tooltip: String,
}

impl Workspace {
    /// The paths of a file that lead to files that are there, in text order.
    pub fn links(&self, file: FileId) -> Vec<FileLink> {
        let db = &self.engine.db;
        names::paths_in(db, file)
            .into_iter()
            .filter(|(_, target)| db.document(*target).is_some())
            .map(|(place, target)| FileLink { bytes: place.bytes, target, tooltip: tooltip(self, db, target) })
            .collect()
    }
}

fn tooltip(workspace: &Workspace, db: &Db, file: FileId) -> String {
    let path = workspace.shown_path(file);
    if db.is_sheet(file) {
        let radios = db.entities_of(file).count();
        return format!("Fleet sheet, {radios} {}: {path}", if radios == 1 { "radio" } else { "radios" });
    }
    let main = db.main(file).and_then(|main| db.entity(main));
    let name = main.and_then(|main| main.name().value()).map(|name| db.symbols.text(name));
    match (main, name) {
        (Some(main), Some(name)) => format!("{} \"{name}\": {path}", crate::load::capital(main.kind.noun())),
        (Some(main), None) => format!("{}: {path}", crate::load::capital(main.kind.noun())),
        (None, _) => format!("Shared part: {path}"),
    }
}
