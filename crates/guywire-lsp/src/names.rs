//! Names in the protocol's words: where they lead, who uses them, and what renames them.

use guywire_text::FileId;
use guywire_workspace::{FileBytes, RenameRefusal, TextEdit};
use tower_lsp::jsonrpc::{Error, ErrorCode};
use tower_lsp::lsp_types::{
    DocumentHighlight, DocumentHighlightKind, GotoDefinitionResponse, Location, LocationLink, Position,
    PrepareRenameResponse, WorkspaceEdit,
};

use crate::convert::{self, Texts};
use crate::door::{Asked, Scene};

/// What the name or path at a position leads to.
pub(crate) fn definition(asked: &Asked<'_>, position: Position) -> Option<GotoDefinitionResponse> {
    let found = asked.engine().definition(asked.file, asked.byte(position))?;
    let (scene, encoding) = (&asked.scene, asked.facts().encoding);
    if !asked.facts().surface.definition_links {
        let places = found.targets.iter().filter_map(|it| location(scene, it.file, &it.name));
        return Some(GotoDefinitionResponse::Array(places.collect()));
    }
    let origin = asked.range(&found.origin);
    let links = found.targets.iter().filter_map(|it| {
        let document = scene.document(it.file);
        Some(LocationLink {
            origin_selection_range: Some(origin),
            target_uri: scene.url(it.file)?,
            target_range: convert::range(document, &it.bytes, encoding),
            target_selection_range: convert::range(document, &it.name, encoding),
        })
    });
    Some(GotoDefinitionResponse::Link(links.collect()))
}

/// The places that lead to what the position is about.
pub(crate) fn references(asked: &Asked<'_>, position: Position, declaration: bool) -> Option<Vec<Location>> {
    let found = asked.engine().references(asked.file, asked.byte(position), declaration);
    Some(locations(&asked.scene, &found))
}

pub(crate) fn locations(scene: &Scene<'_>, places: &[FileBytes]) -> Vec<Location> {
    places.iter().filter_map(|place| location(scene, place.file, &place.bytes)).collect()
}

fn location(scene: &Scene<'_>, file: FileId, bytes: &std::ops::Range<usize>) -> Option<Location> {
    let range = convert::range(scene.document(file), bytes, scene.facts.encoding);
    Some(Location::new(scene.url(file)?, range))
}

/// The places of the file that name what the position is about: written where the name is given, read where it is used.
pub(crate) fn highlights(asked: &Asked<'_>, position: Position) -> Option<Vec<DocumentHighlight>> {
    let found = asked.engine().highlights(asked.file, asked.byte(position));
    let highlight = |it: guywire_workspace::Highlight| DocumentHighlight {
        range: asked.range(&it.bytes),
        kind: Some(if it.definition { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ }),
    };
    Some(found.into_iter().map(highlight).collect())
}

/// What an answer to a rename is: edits, or why there are none.
pub(crate) type Renamed<T> = Result<T, Error>;

/// What would be renamed at a position; none where there is no name.
pub(crate) fn prepare(asked: &Asked<'_>, position: Position) -> Option<Renamed<PrepareRenameResponse>> {
    match asked.engine().prepare_rename(asked.file, asked.byte(position)) {
        Ok(found) => {
            let range = asked.range(&found.bytes);
            Some(Ok(PrepareRenameResponse::RangeWithPlaceholder { range, placeholder: found.name }))
        }
        Err(RenameRefusal::NoName) => None,
        Err(refusal) => Some(Err(refused(&refusal))),
    }
}

/// The edits that rename what is at a position, in every file.
pub(crate) fn rename(asked: &Asked<'_>, position: Position, new: &str) -> Option<Renamed<WorkspaceEdit>> {
    match asked.engine().rename(asked.file, asked.byte(position), new) {
        Ok(edits) => Some(edit(asked, edits)),
        Err(refusal) => Some(Err(refused(&refusal))),
    }
}

/// Edits of a text that the client has otherwise would land in the wrong places.
fn edit(asked: &Asked<'_>, edits: Vec<TextEdit>) -> Renamed<WorkspaceEdit> {
    let scene = &asked.scene;
    let lost = |file| scene.url(file).and_then(|url| scene.books.get(&url)).is_some_and(|open| open.lost);
    if edits.iter().any(|edit| lost(edit.file)) {
        let message = "an edit of a file that uses this name could not be followed; close that file and open it again";
        return Err(Error { code: ErrorCode::ContentModified, message: message.into(), data: None });
    }
    convert::workspace_edit(scene, edits, asked.facts()).ok_or_else(Error::internal_error)
}

/// `RequestFailed`: the request is sound, and its answer is no.
/// <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#errorCodes>
const REQUEST_FAILED: i64 = -32803;

fn refused(refusal: &RenameRefusal) -> Error {
    let message = refusal.to_string();
    Error { code: ErrorCode::ServerError(REQUEST_FAILED), message: message.into(), data: None }
}
