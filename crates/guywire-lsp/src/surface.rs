//! What is offered for names and outlines, and what of it depends on the client.

use tower_lsp::lsp_types::{
    ClientCapabilities, CodeLensOptions, DocumentLinkOptions, FoldingRangeProviderCapability, OneOf, RenameOptions,
    SelectionRangeProviderCapability, ServerCapabilities,
};

/// The command of a client that shows places: an address, a position, and the places as locations. A client that has it
/// lists it in `capabilities.experimental.commands`.
pub(crate) const SHOW_REFERENCES: &str = "guywire.showReferences";

/// What answers about names and outlines depend on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct SurfaceFacts {
    /// Definitions may say what part of the text leads there, and how far the table reaches.
    pub definition_links: bool,
    /// Outlines may be trees, else lists.
    pub symbol_trees: bool,
    /// Links may say what they lead to.
    pub link_tooltips: bool,
    /// What would be renamed may be asked beforehand.
    pub prepares_renames: bool,
    /// Folds that the client takes of a file.
    pub most_folds: Option<usize>,
    /// The client has [`SHOW_REFERENCES`].
    pub shows_references: bool,
}

impl SurfaceFacts {
    pub(crate) fn of(capabilities: &ClientCapabilities) -> Self {
        let Some(text) = &capabilities.text_document else { return Self::default() };
        let symbols = text.document_symbol.as_ref();
        let commands = capabilities.experimental.as_ref().and_then(|all| all.get("commands")?.as_array());
        Self {
            definition_links: text.definition.and_then(|it| it.link_support) == Some(true),
            symbol_trees: symbols.and_then(|it| it.hierarchical_document_symbol_support) == Some(true),
            link_tooltips: text.document_link.as_ref().and_then(|it| it.tooltip_support) == Some(true),
            prepares_renames: text.rename.as_ref().and_then(|it| it.prepare_support) == Some(true),
            most_folds: text.folding_range.as_ref().and_then(|it| it.range_limit).map(|most| most as usize),
            shows_references: commands.is_some_and(|all| all.iter().any(|name| name == SHOW_REFERENCES)),
        }
    }

    /// Adds what this part of the server can do.
    pub(crate) fn advertise(&self, capabilities: ServerCapabilities) -> ServerCapabilities {
        let rename = RenameOptions { prepare_provider: Some(true), work_done_progress_options: Default::default() };
        let links =
            DocumentLinkOptions { resolve_provider: Some(false), work_done_progress_options: Default::default() };
        ServerCapabilities {
            definition_provider: Some(OneOf::Left(true)),
            references_provider: Some(OneOf::Left(true)),
            document_highlight_provider: Some(OneOf::Left(true)),
            rename_provider: Some(if self.prepares_renames { OneOf::Right(rename) } else { OneOf::Left(true) }),
            document_symbol_provider: Some(OneOf::Left(true)),
            workspace_symbol_provider: Some(OneOf::Left(true)),
            folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
            selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
            document_link_provider: Some(links),
            code_lens_provider: Some(CodeLensOptions { resolve_provider: Some(false) }),
            ..capabilities
        }
    }
}
