//! What a client can do, as far as the answers depend on it, and which folders it has open.

use std::path::PathBuf;

use guywire_text::Encoding;
use tower_lsp::lsp_types::{
    ClientCapabilities, DiagnosticTag, InitializeParams, MarkupKind, PositionEncodingKind, Url,
};

use crate::address;
use crate::completion::Items;
use crate::surface::SurfaceFacts;

/// What the answers to one client depend on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Facts {
    /// How positions count characters.
    pub encoding: Encoding,
    /// The client says what encodings it has, so it is told which was taken.
    pub names_encodings: bool,
    /// Hovers as Markdown, else as plain text.
    pub markdown: bool,
    /// What completions may hold.
    pub completion: Items,
    /// Diagnostics may name other places.
    pub related: bool,
    /// Diagnostics may be tagged as unnecessary.
    pub unnecessary: bool,
    /// Diagnostics may carry data.
    pub data: bool,
    /// Code actions may be literals; else only commands, and none are offered.
    pub action_literals: bool,
    /// Code actions may be marked as preferred.
    pub preferred: bool,
    /// Edits may name the version that they are made for.
    pub document_changes: bool,
    /// The client asks for diagnostics, and asks again when told to; the others have them pushed. One that asks only when
    /// its own text changes would go on showing what an edit of another file has mended.
    pub pulls: bool,
    /// The client watches files when asked to.
    pub watches: bool,
    /// The client tells of files that it makes, renames and deletes.
    pub moves: bool,
    /// The client can be asked for its settings.
    pub configuration: bool,
    /// The client tells when its settings change, when asked to.
    pub configuration_watch: bool,
    /// The client shows progress that it did not ask for.
    pub progress: bool,
    /// The client shows a document when told to.
    pub show_document: bool,
    /// The client asks for hints again when told to.
    pub hints_again: bool,
    /// The client asks for the lines above tables again when told to.
    pub lenses_again: bool,
    /// What answers about names and outlines depend on.
    pub surface: SurfaceFacts,
}

impl Facts {
    /// Reads the facts out of what the client declares; what it does not mention it cannot do.
    pub(crate) fn of(capabilities: &ClientCapabilities) -> Self {
        let text = capabilities.text_document.as_ref();
        let published = text.and_then(|text| text.publish_diagnostics.as_ref());
        let action = text.and_then(|text| text.code_action.as_ref());
        let workspace = capabilities.workspace.as_ref();
        let edits = workspace.and_then(|workspace| workspace.workspace_edit.as_ref());
        let files = workspace.and_then(|workspace| workspace.did_change_watched_files.as_ref());
        let configuration = workspace.and_then(|workspace| workspace.did_change_configuration.as_ref());
        let window = capabilities.window.as_ref();
        let encodings = capabilities.general.as_ref().and_then(|general| general.position_encodings.as_deref());
        let asks = text.is_some_and(|text| text.diagnostic.is_some());
        let asks_again = workspace.and_then(|workspace| workspace.diagnostic.as_ref()?.refresh_support) == Some(true);
        let tags = published.and_then(|published| published.tag_support.as_ref());
        Self {
            encoding: encoding(encodings.unwrap_or_default()),
            names_encodings: encodings.is_some(),
            markdown: markdown(capabilities),
            completion: Items::of(capabilities),
            related: published.and_then(|published| published.related_information) == Some(true),
            unnecessary: tags.is_some_and(|tags| tags.value_set.contains(&DiagnosticTag::UNNECESSARY)),
            data: published.and_then(|published| published.data_support) == Some(true),
            action_literals: action.is_some_and(|action| action.code_action_literal_support.is_some()),
            preferred: action.and_then(|action| action.is_preferred_support) == Some(true),
            document_changes: edits.and_then(|edits| edits.document_changes) == Some(true),
            pulls: asks && asks_again,
            watches: files.and_then(|files| files.dynamic_registration) == Some(true),
            moves: workspace.and_then(|workspace| workspace.file_operations.as_ref()?.did_rename) == Some(true),
            configuration: workspace.and_then(|workspace| workspace.configuration) == Some(true),
            configuration_watch: configuration.and_then(|told| told.dynamic_registration) == Some(true),
            progress: window.and_then(|window| window.work_done_progress) == Some(true),
            show_document: window.and_then(|window| window.show_document.as_ref()).is_some_and(|show| show.support),
            hints_again: workspace.and_then(|workspace| workspace.inlay_hint.as_ref()?.refresh_support) == Some(true),
            lenses_again: workspace.and_then(|workspace| workspace.code_lens.as_ref()?.refresh_support) == Some(true),
            surface: SurfaceFacts::of(capabilities),
        }
    }

    /// The encoding by its name in the protocol.
    pub(crate) fn encoding_kind(&self) -> PositionEncodingKind {
        match self.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        }
    }
}

/// UTF-8 where it is offered, for it costs nothing; else UTF-16, which every client has to know; UTF-32 where a client
/// offers nothing else.
fn encoding(offered: &[PositionEncodingKind]) -> Encoding {
    if offered.contains(&PositionEncodingKind::UTF8) {
        return Encoding::Utf8;
    }
    if offered == [PositionEncodingKind::UTF32] { Encoding::Utf32 } else { Encoding::Utf16 }
}

/// The first format listed is the one that the client likes best.
fn markdown(capabilities: &ClientCapabilities) -> bool {
    let hover = capabilities.text_document.as_ref().and_then(|text| text.hover.as_ref());
    let formats = hover.and_then(|hover| hover.content_format.as_deref()).unwrap_or_default();
    formats.first() == Some(&MarkupKind::Markdown)
}

/// The folders that the client has open. Clients of different age say it in three ways; the newest counts.
#[expect(deprecated, reason = "older clients send only the root path")]
pub(crate) fn roots(params: &InitializeParams) -> Vec<PathBuf> {
    let folders: Vec<PathBuf> =
        params.workspace_folders.iter().flatten().filter_map(|folder| address::folder(&folder.uri)).collect();
    if !folders.is_empty() {
        return folders;
    }
    if let Some(root) = params.root_uri.as_ref().and_then(address::folder) {
        return vec![root];
    }
    let root = params.root_path.as_deref().map(PathBuf::from);
    root.filter(|root| root.is_absolute()).into_iter().collect()
}

/// Takes folders away and adds others, each once.
pub(crate) fn change_roots(roots: &mut Vec<PathBuf>, removed: &[Url], added: &[Url]) {
    let removed: Vec<PathBuf> = removed.iter().filter_map(address::folder).collect();
    roots.retain(|root| !removed.contains(root));
    for folder in added.iter().filter_map(address::folder) {
        if !roots.contains(&folder) {
            roots.push(folder);
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn offered(encodings: serde_json::Value) -> Encoding {
        let body = json!({ "general": { "positionEncodings": encodings } });
        Facts::of(&serde_json::from_value(body).expect("capabilities")).encoding
    }

    #[test]
    fn encodings_are_taken_in_order_of_cost() {
        assert_eq!(offered(json!(["utf-16", "utf-8"])), Encoding::Utf8);
        assert_eq!(offered(json!(["utf-32", "utf-16"])), Encoding::Utf16);
        assert_eq!(offered(json!(["utf-32"])), Encoding::Utf32);
        assert_eq!(offered(json!(["utf-7"])), Encoding::Utf16);
        assert_eq!(offered(json!([])), Encoding::Utf16);
        assert_eq!(Facts::of(&ClientCapabilities::default()).encoding, Encoding::Utf16);
    }

    fn roots_of(body: serde_json::Value) -> Vec<PathBuf> {
        let mut whole = json!({ "capabilities": {}, "processId": null });
        for (key, value) in body.as_object().expect("an object") {
            whole[key] = value.clone();
        }
        roots(&serde_json::from_value(whole).expect("a well-formed body"))
    }

    #[cfg(unix)]
    #[test]
    fn the_newest_way_to_name_the_root_counts() {
        let folders = json!([{ "uri": "file:///a", "name": "a" }, { "uri": "vault:/b", "name": "b" }]);
        let all = json!({ "workspaceFolders": folders, "rootUri": "file:///c", "rootPath": "/d" });
        assert_eq!(roots_of(all), [PathBuf::from("/a")]);
        assert_eq!(roots_of(json!({ "workspaceFolders": null, "rootUri": "file:///c" })), [PathBuf::from("/c")]);
        assert_eq!(
            roots_of(json!({ "workspaceFolders": [], "rootUri": null, "rootPath": "/d" })),
            [PathBuf::from("/d")]
        );
        assert_eq!(roots_of(json!({ "rootPath": "d" })), [] as [PathBuf; 0]);
        assert_eq!(roots_of(json!({})), [] as [PathBuf; 0]);
    }

    #[cfg(unix)]
    #[test]
    fn folders_come_and_go_once() {
        let url = |text: &str| text.parse::<Url>().expect("a well-formed address");
        let mut roots = vec![PathBuf::from("/a"), PathBuf::from("/b")];
        change_roots(&mut roots, &[url("file:///a")], &[url("file:///b"), url("file:///c")]);
        assert_eq!(roots, [PathBuf::from("/b"), PathBuf::from("/c")]);
    }
}
