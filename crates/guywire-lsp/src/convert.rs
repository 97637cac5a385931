//! From the engine's bytes to the protocol's lines and characters.

use std::collections::HashMap;
use std::ops::Range;

use guywire_rules::Level;
use guywire_text::{Document, Encoding, FileId};
use guywire_workspace::{FileFindings, OfferedFix, Related, Shown, Splice};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag,
    DocumentChanges, Hover, HoverContents, InlayHint, InlayHintLabel, InlayHintTooltip, Location, MarkupContent,
    MarkupKind, NumberOrString, OneOf, OptionalVersionedTextDocumentIdentifier, Position, Range as LspRange,
    TextDocumentContentChangeEvent, TextDocumentEdit, TextEdit, Url, WorkspaceEdit,
};

use crate::actions::FIX_ALL;
use crate::door::Asked;
use crate::facts::Facts;

/// Where the texts and addresses of files come from.
pub(crate) trait Texts {
    /// The text as it is now; none where there is no such file any more.
    fn document(&self, file: FileId) -> Option<&Document>;
    /// The address, as the client spells it.
    fn url(&self, file: FileId) -> Option<Url>;
    /// The client's version of an open text.
    fn version(&self, file: FileId) -> Option<i32>;
}

/// A position as the text crate has it.
pub(crate) fn place(position: Position) -> guywire_text::Position {
    guywire_text::Position { line: position.line, character: position.character }
}

/// The bytes between two positions, clamped, in order.
pub(crate) fn bytes(document: &Document, range: LspRange, encoding: Encoding) -> Range<usize> {
    let start = document.from_protocol(place(range.start), encoding);
    let end = document.from_protocol(place(range.end), encoding);
    start.min(end)..start.max(end)
}

/// One edit as a client sends it; a reversed range is turned about.
pub(crate) fn splice(change: TextDocumentContentChangeEvent, encoding: Encoding) -> Splice {
    let Some(range) = change.range else { return Splice::Whole(change.text) };
    let (start, end) = (range.start.min(range.end), range.start.max(range.end));
    Splice::Lines { start: place(start), end: place(end), encoding, text: change.text }
}

/// The range of some bytes; the start of the file where there is no text.
pub(crate) fn range(document: Option<&Document>, bytes: &Range<usize>, encoding: Encoding) -> LspRange {
    let Some(document) = document else { return LspRange::default() };
    let at = |byte| {
        let position = document.to_protocol(byte, encoding);
        Position::new(position.line, position.character)
    };
    LspRange::new(at(bytes.start), at(bytes.end))
}

/// The findings of a file, and a word on those that the cap keeps back.
pub(crate) fn diagnostics(texts: &impl Texts, file: FileId, found: &FileFindings, facts: &Facts) -> Vec<Diagnostic> {
    let mut list: Vec<Diagnostic> =
        found.shown.iter().filter_map(|shown| diagnostic(texts, file, shown, facts)).collect();
    if found.withheld > 0 {
        list.push(withheld(found.withheld));
    }
    list
}

fn withheld(count: usize) -> Diagnostic {
    Diagnostic {
        severity: Some(DiagnosticSeverity::INFORMATION),
        source: Some("guywire".to_owned()),
        message: format!("{count} more findings in this file are not shown; mend some of these and they follow"),
        ..Diagnostic::default()
    }
}

/// One finding; none where its level is off.
fn diagnostic(texts: &impl Texts, file: FileId, shown: &Shown, facts: &Facts) -> Option<Diagnostic> {
    let related = || shown.related.iter().filter_map(|place| related(texts, place, facts)).collect();
    Some(Diagnostic {
        range: range(texts.document(file), &shown.bytes, facts.encoding),
        severity: Some(severity(shown.level)?),
        code: Some(NumberOrString::String(shown.rule.to_owned())),
        code_description: None,
        source: Some("guywire".to_owned()),
        message: shown.message.clone(),
        related_information: (facts.related && !shown.related.is_empty()).then(related),
        tags: (facts.unnecessary && shown.unnecessary).then(|| vec![DiagnosticTag::UNNECESSARY]),
        data: facts.data.then(|| format!("{:032x}", shown.key.0).into()),
    })
}

fn severity(level: Level) -> Option<DiagnosticSeverity> {
    match level {
        Level::Off => None,
        Level::Hint => Some(DiagnosticSeverity::HINT),
        Level::Information => Some(DiagnosticSeverity::INFORMATION),
        Level::Warning => Some(DiagnosticSeverity::WARNING),
        Level::Error => Some(DiagnosticSeverity::ERROR),
    }
}

fn related(texts: &impl Texts, place: &Related, facts: &Facts) -> Option<DiagnosticRelatedInformation> {
    let range = range(texts.document(place.file), &place.bytes, facts.encoding);
    let location = Location::new(texts.url(place.file)?, range);
    Some(DiagnosticRelatedInformation { location, message: place.message.clone() })
}

/// A hover in the form that the client likes best.
pub(crate) fn hover(asked: &Asked<'_>, said: guywire_workspace::Hover) -> Hover {
    let (kind, value) = if asked.facts().markdown {
        (MarkupKind::Markdown, said.markdown)
    } else {
        (MarkupKind::PlainText, said.plain)
    };
    Hover { contents: HoverContents::Markup(MarkupContent { kind, value }), range: Some(asked.range(&said.bytes)) }
}

/// A computed value within a line, set off from the text that it belongs to.
pub(crate) fn inlay_hint(asked: &Asked<'_>, hint: guywire_workspace::InlayHint) -> InlayHint {
    InlayHint {
        position: asked.range(&(hint.at..hint.at)).start,
        label: InlayHintLabel::String(hint.label),
        kind: None,
        text_edits: None,
        tooltip: Some(InlayHintTooltip::String(hint.tooltip.to_owned())),
        padding_left: (!hint.before).then_some(true),
        padding_right: hint.before.then_some(true),
        data: None,
    }
}

/// A fix as a code action; none where a file that it edits is gone or has no address.
pub(crate) fn action(texts: &impl Texts, file: FileId, fix: OfferedFix, facts: &Facts) -> Option<CodeAction> {
    Some(CodeAction {
        title: fix.title,
        kind: Some(CodeActionKind::QUICKFIX),
        diagnostics: diagnostic(texts, file, &fix.finding, facts).map(|diagnostic| vec![diagnostic]),
        edit: Some(workspace_edit(texts, fix.edits, facts)?),
        is_preferred: (facts.preferred && fix.preferred).then_some(true),
        ..CodeAction::default()
    })
}

/// What brings a call to more radios, as a code action; none where a file is gone or has no address.
pub(crate) fn offer(texts: &impl Texts, offer: guywire_workspace::Offer, facts: &Facts) -> Option<CodeAction> {
    Some(CodeAction {
        title: offer.title,
        kind: Some(CodeActionKind::REFACTOR_REWRITE),
        edit: Some(workspace_edit(texts, offer.edits, facts)?),
        ..CodeAction::default()
    })
}

/// All safe fixes of a file as one code action; none where the file is gone or has no address.
pub(crate) fn fix_all(texts: &impl Texts, edit: guywire_workspace::TextEdit, facts: &Facts) -> Option<CodeAction> {
    Some(CodeAction {
        title: "Apply all safe fixes of this file".to_owned(),
        kind: Some(FIX_ALL),
        edit: Some(workspace_edit(texts, vec![edit], facts)?),
        ..CodeAction::default()
    })
}

/// Edits of any files, in the form that the client takes; none where one of the files is gone or has no address.
pub(crate) fn workspace_edit(
    texts: &impl Texts,
    edits: Vec<guywire_workspace::TextEdit>,
    facts: &Facts,
) -> Option<WorkspaceEdit> {
    let mut files: Vec<(FileId, Vec<TextEdit>)> = Vec::new();
    for edit in edits {
        let range = range(Some(texts.document(edit.file)?), &edit.bytes, facts.encoding);
        let edit_text = TextEdit::new(range, edit.text);
        match files.iter_mut().find(|(file, _)| *file == edit.file) {
            Some((_, edits)) => edits.push(edit_text),
            None => files.push((edit.file, vec![edit_text])),
        }
    }
    if !facts.document_changes {
        let changes = files.into_iter().map(|(file, edits)| Some((texts.url(file)?, edits)));
        let changes = changes.collect::<Option<HashMap<Url, Vec<TextEdit>>>>()?;
        return Some(WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() });
    }
    let edits = files.into_iter().map(|(file, edits)| {
        let version = texts.version(file);
        Some(TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier { uri: texts.url(file)?, version },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        })
    });
    let edits = edits.collect::<Option<Vec<TextDocumentEdit>>>()?;
    Some(WorkspaceEdit { document_changes: Some(DocumentChanges::Edits(edits)), ..WorkspaceEdit::default() })
}
