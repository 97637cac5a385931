//! Completions, from bytes and plain forms to what a client can show and insert.
//! <https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/#textDocument_completion>

use guywire_workspace::{Completion, CompletionKind};
use tower_lsp::lsp_types::{
    ClientCapabilities, CompletionContext, CompletionItem, CompletionItemKind, CompletionItemLabelDetails,
    CompletionList, CompletionOptions, CompletionParams, CompletionTextEdit, CompletionTriggerKind, Documentation,
    InsertTextFormat, InsertTextMode, MarkupContent, MarkupKind, TextEdit,
};

use crate::door::Asked;

/// Characters after which a client asks by itself. Whether one begins anything is looked at then.
const TRIGGERS: [&str; 9] = ["[", "{", "(", "=", ",", ".", " ", "\"", "'"];

/// What items may hold for a client.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Items {
    /// Text with places to fill in.
    snippets: bool,
    /// Documentation as Markdown, else as plain text.
    markdown: bool,
    /// One item may be chosen beforehand.
    preselect: bool,
    /// Details may stand beside the label in the list.
    label_details: bool,
    /// Text of several lines may be inserted as it is; else the client indents it as it likes.
    as_is: bool,
}

impl Items {
    /// What the client declares; what it does not mention it cannot do.
    pub(crate) fn of(capabilities: &ClientCapabilities) -> Self {
        let text = capabilities.text_document.as_ref();
        let item = text.and_then(|text| text.completion.as_ref()?.completion_item.as_ref());
        let formats = item.and_then(|item| item.documentation_format.as_deref()).unwrap_or_default();
        let modes = item.and_then(|item| item.insert_text_mode_support.as_ref());
        Self {
            snippets: item.and_then(|item| item.snippet_support) == Some(true),
            // The first format listed is the one that the client likes best.
            markdown: formats.first() == Some(&MarkupKind::Markdown),
            preselect: item.and_then(|item| item.preselect_support) == Some(true),
            label_details: item.and_then(|item| item.label_details_support) == Some(true),
            as_is: modes.is_some_and(|modes| modes.value_set.contains(&InsertTextMode::AS_IS)),
        }
    }
}

/// What the server does.
pub(crate) fn options() -> CompletionOptions {
    CompletionOptions {
        resolve_provider: Some(false),
        trigger_characters: Some(TRIGGERS.map(str::to_owned).to_vec()),
        ..CompletionOptions::default()
    }
}

/// What can be written at the position.
pub(crate) fn complete(asked: &Asked<'_>, params: &CompletionParams) -> CompletionList {
    let byte = asked.byte(params.text_document_position.position);
    let found = asked.engine().complete(asked.file, byte, params.context.as_ref().and_then(typed));
    let items = found.items.into_iter().map(|item| one(asked, item)).collect();
    CompletionList { is_incomplete: found.incomplete, items }
}

/// The character whose typing alone is why the client asks.
fn typed(context: &CompletionContext) -> Option<char> {
    let alone = context.trigger_kind == CompletionTriggerKind::TRIGGER_CHARACTER;
    context.trigger_character.as_deref().filter(|_| alone)?.chars().next()
}

fn one(asked: &Asked<'_>, item: Completion) -> CompletionItem {
    let can = asked.facts().completion;
    let range = asked.range(&item.bytes);
    let (format, text) = match item.snippet.filter(|_| can.snippets) {
        Some(snippet) => (InsertTextFormat::SNIPPET, snippet),
        None => (InsertTextFormat::PLAIN_TEXT, item.text),
    };
    let more: Vec<TextEdit> =
        item.more.into_iter().map(|edit| TextEdit::new(asked.range(&edit.bytes), edit.text)).collect();
    // Types of keys are long, and what they are for is in the documentation.
    let beside = can.label_details && item.kind != CompletionKind::Key && !item.detail.is_empty();
    CompletionItem {
        label: item.label,
        label_details: beside
            .then(|| CompletionItemLabelDetails { detail: None, description: Some(item.detail.clone()) }),
        kind: Some(kind(item.kind)),
        detail: (!item.detail.is_empty()).then_some(item.detail),
        documentation: documentation(can, item.markdown, item.plain_doc),
        preselect: (can.preselect && item.preselect).then_some(true),
        sort_text: Some(item.sort),
        filter_text: Some(item.filter),
        insert_text_format: Some(format),
        insert_text_mode: (can.as_is && text.contains(['\n', '\r'])).then_some(InsertTextMode::AS_IS),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit::new(range, text))),
        additional_text_edits: (!more.is_empty()).then_some(more),
        ..CompletionItem::default()
    }
}

/// A client that names no format gets a bare string.
fn documentation(can: Items, markdown: String, plain: String) -> Option<Documentation> {
    if plain.is_empty() {
        return None;
    }
    let marked = || Documentation::MarkupContent(MarkupContent { kind: MarkupKind::Markdown, value: markdown });
    Some(if can.markdown { marked() } else { Documentation::String(plain) })
}

/// Kinds that the first version of the protocol has: a client that lists none knows no others.
fn kind(kind: CompletionKind) -> CompletionItemKind {
    match kind {
        CompletionKind::Table => CompletionItemKind::MODULE,
        CompletionKind::Key => CompletionItemKind::PROPERTY,
        CompletionKind::Name => CompletionItemKind::REFERENCE,
        CompletionKind::Word => CompletionItemKind::ENUM,
        CompletionKind::Number | CompletionKind::Tone | CompletionKind::Carrier | CompletionKind::Date => {
            CompletionItemKind::VALUE
        }
        CompletionKind::File => CompletionItemKind::FILE,
    }
}
