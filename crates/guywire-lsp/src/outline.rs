//! The shape of a file in the protocol's words: symbols, folds, selections, links and lenses.

use std::ops::Range;

use guywire_text::{Document, Encoding};
use guywire_workspace::{Fold, FoldKind, ItemKind, Kind, Lens, OutlineItem};
use tower_lsp::lsp_types::{
    CodeLens, Command, DocumentLink, DocumentSymbol, DocumentSymbolResponse, FoldingRange, FoldingRangeKind, Location,
    Position, SelectionRange, SymbolInformation, SymbolKind,
};

use crate::convert::{self, Texts};
use crate::door::{Asked, Scene};
use crate::names::locations;
use crate::surface::SHOW_REFERENCES;

/// The outline of the file: as a tree where the client takes one.
pub(crate) fn symbols(asked: &Asked<'_>) -> Option<DocumentSymbolResponse> {
    let items = asked.engine().outline(asked.file);
    if asked.facts().surface.symbol_trees {
        return Some(DocumentSymbolResponse::Nested(items.into_iter().map(|item| tree(asked, item)).collect()));
    }
    let mut flat = Vec::new();
    items.into_iter().for_each(|item| flatten(asked, item, None, &mut flat));
    Some(DocumentSymbolResponse::Flat(flat))
}

#[expect(deprecated, reason = "the field is part of the type")]
fn tree(asked: &Asked<'_>, item: OutlineItem) -> DocumentSymbol {
    let children: Vec<DocumentSymbol> = item.children.into_iter().map(|child| tree(asked, child)).collect();
    DocumentSymbol {
        name: item.name,
        detail: (!item.detail.is_empty()).then_some(item.detail),
        kind: kind(item.kind),
        tags: None,
        deprecated: None,
        range: asked.range(&item.bytes),
        selection_range: asked.range(&item.name_bytes),
        children: (!children.is_empty()).then_some(children),
    }
}

/// Groups are left out: a list needs no headings.
fn flatten(asked: &Asked<'_>, item: OutlineItem, container: Option<&str>, flat: &mut Vec<SymbolInformation>) {
    let is_group = item.kind == ItemKind::Group;
    if !is_group && let Some(url) = asked.scene.url(asked.file) {
        let place = Location::new(url, asked.range(&item.bytes));
        flat.push(symbol(item.name.clone(), kind(item.kind), place, container.map(str::to_owned)));
    }
    let container = if is_group { container } else { Some(item.name.as_str()) };
    item.children.into_iter().for_each(|child| flatten(asked, child, container, flat));
}

#[expect(deprecated, reason = "the field is part of the type")]
fn symbol(name: String, kind: SymbolKind, location: Location, container_name: Option<String>) -> SymbolInformation {
    SymbolInformation { name, kind, tags: None, deprecated: None, location, container_name }
}

/// The names of all files that answer a query.
pub(crate) fn found(scene: &Scene<'_>, query: &str) -> Option<Vec<SymbolInformation>> {
    let encoding = scene.facts.encoding;
    let found = scene.engine.find_names(query).into_iter().filter_map(|found| {
        let url = scene.url(found.at.file)?;
        let container = url.path_segments().and_then(|mut parts| parts.next_back()).map(str::to_owned);
        let range = convert::range(scene.document(found.at.file), &found.at.bytes, encoding);
        Some(symbol(found.name, kind(ItemKind::Table(found.kind)), Location::new(url, range), container))
    });
    Some(found.collect())
}

/// The protocol has no kinds for radio plans; these differ in their pictures, which is what they are for.
fn kind(item: ItemKind) -> SymbolKind {
    let ItemKind::Table(table) = item else {
        return match item {
            ItemKind::Group => SymbolKind::NAMESPACE,
            ItemKind::Position => SymbolKind::ENUM_MEMBER,
            _ => SymbolKind::FIELD,
        };
    };
    match table {
        Kind::Plan | Kind::Model | Kind::Regime | Kind::Bench | Kind::Field | Kind::Workspace => SymbolKind::MODULE,
        Kind::Channel => SymbolKind::METHOD,
        Kind::Zone | Kind::ScanList => SymbolKind::ENUM,
        Kind::Talkgroup | Kind::ReceiveGroup => SymbolKind::INTERFACE,
        Kind::Contact | Kind::Radio | Kind::Fleet => SymbolKind::VARIABLE,
        Kind::Repeater | Kind::Station | Kind::Site | Kind::Network => SymbolKind::OBJECT,
        Kind::Key => SymbolKind::KEY,
        Kind::Emergency => SymbolKind::EVENT,
        Kind::Profile => SymbolKind::CLASS,
        Kind::Message => SymbolKind::STRING,
        Kind::License | Kind::HouseRule => SymbolKind::CONSTANT,
        _ => SymbolKind::STRUCT,
    }
}

/// What folds, by lines; as many as the client takes.
pub(crate) fn folds(asked: &Asked<'_>) -> Option<Vec<FoldingRange>> {
    let most = asked.facts().surface.most_folds.unwrap_or(usize::MAX);
    let folds = asked.engine().folds(asked.file);
    Some(folds.iter().filter_map(|found| fold(asked.document, found)).take(most).collect())
}

fn fold(document: &Document, found: &Fold) -> Option<FoldingRange> {
    let line = |byte| document.to_protocol(byte, Encoding::Utf8).line;
    let (start_line, last) = (line(found.bytes.start), line(found.bytes.end));
    let closes = || {
        let start = document.line_range(last).map_or(found.bytes.end, |range| range.start);
        let text = document.slice(start..found.bytes.end).unwrap_or_default();
        text.trim().chars().all(|letter| "]}\"'".contains(letter))
    };
    // What closes a value stays in sight.
    let end_line = if found.kind == FoldKind::Value && closes() { last.checked_sub(1)? } else { last };
    (start_line < end_line).then(|| FoldingRange {
        start_line,
        end_line,
        kind: (found.kind == FoldKind::Comment).then_some(FoldingRangeKind::Comment),
        ..FoldingRange::default()
    })
}

/// What the selections at some positions grow to.
pub(crate) fn selections(asked: &Asked<'_>, positions: &[Position]) -> Option<Vec<SelectionRange>> {
    Some(positions.iter().map(|position| selection(asked, asked.byte(*position))).collect())
}

fn selection(asked: &Asked<'_>, byte: usize) -> SelectionRange {
    let around = asked.engine().selections(asked.file, byte);
    let outward = around.iter().rev().fold(None, |parent: Option<SelectionRange>, bytes: &Range<usize>| {
        Some(SelectionRange { range: asked.range(bytes), parent: parent.map(Box::new) })
    });
    outward.unwrap_or_else(|| SelectionRange { range: asked.range(&(byte..byte)), parent: None })
}

/// The paths of the file.
pub(crate) fn links(asked: &Asked<'_>) -> Option<Vec<DocumentLink>> {
    let tooltips = asked.facts().surface.link_tooltips;
    let link = |found: guywire_workspace::FileLink| {
        Some(DocumentLink {
            range: asked.range(&found.bytes),
            target: Some(asked.scene.url(found.target)?),
            tooltip: tooltips.then_some(found.tooltip),
            data: None,
        })
    };
    Some(asked.engine().links(asked.file).into_iter().filter_map(link).collect())
}

/// The lines above tables. Where the client has the command, they show what they count.
pub(crate) fn lenses(asked: &Asked<'_>) -> Option<Vec<CodeLens>> {
    Some(asked.engine().lenses(asked.file).into_iter().filter_map(|found| lens(asked, found)).collect())
}

fn lens(asked: &Asked<'_>, found: Lens) -> Option<CodeLens> {
    let range = asked.range(&found.bytes);
    let shows = asked.facts().surface.shows_references && !found.places.is_empty();
    let arguments = || {
        let url = asked.scene.url(asked.file)?;
        let places = locations(&asked.scene, &found.places);
        let all = [serde_json::to_value(url), serde_json::to_value(range.start), serde_json::to_value(places)];
        all.into_iter().collect::<Result<Vec<_>, _>>().ok()
    };
    // A command without a name is text.
    let command = if shows {
        Command { title: found.title.clone(), command: SHOW_REFERENCES.to_owned(), arguments: Some(arguments()?) }
    } else {
        Command { title: found.title.clone(), command: String::new(), arguments: None }
    };
    Some(CodeLens { range, command: Some(command), data: None })
}
