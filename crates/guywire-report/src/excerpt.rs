//! The one way that source text reaches an output: redacted, cut to a readable length, safe on a terminal.

use std::borrow::Cow;
use std::ops::Range;

use guywire_plan::kind_of_path;
use guywire_plan::language::FileKind;
use guywire_text::{BlockId, Document, Encoding, FileId};
use guywire_workspace::{Address, TextEdit, Workspace};
use rustc_hash::FxHashMap;

use crate::guard;
use crate::piece::REDACTED;
use crate::piece::{Piece, columns, joined, pieces};

/// Columns of a line that are shown; a longer line is cut around the bytes that the finding is about.
pub const MOST_COLUMNS: usize = 200;
/// Lines that are shown of a place of many lines.
pub const MOST_LINES: usize = 3;
/// Columns shown before the bytes that a finding is about, where the line is cut.
const BEFORE: usize = 40;
/// Bytes of a line that are looked at on either side of a place.
const REACH: usize = 2_048;
/// Fewer characters in a row than these are not looked for in messages.
const SHORTEST_MATERIAL: usize = 4;
/// Stands where a line is cut.
const CUT: &str = "…";

/// Some lines of a text with the bytes that a finding is about marked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excerpt {
    lines: Vec<ExcerptLine>,
}

/// A line of an [`Excerpt`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExcerptLine {
    number: u32,
    text: String,
    marked: Range<usize>,
    about: String,
}

impl Excerpt {
    /// The lines of `bytes` of the file, redacted. None where the file has no text, or none on those lines.
    pub fn of(workspace: &Workspace, file: FileId, bytes: Range<usize>) -> Option<Excerpt> {
        Excerpts::new(workspace).of(file, bytes)
    }

    /// The lines, at least one.
    pub fn lines(&self) -> &[ExcerptLine] {
        &self.lines
    }
}

impl ExcerptLine {
    /// The line's number in the file, from 1.
    pub fn number(&self) -> u32 {
        self.number
    }

    /// What is shown of it.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The part of the shown text that the finding is about; empty where that is no text.
    pub fn about(&self) -> &str {
        &self.about
    }

    /// Columns of the shown text that the finding is about, as a terminal counts them, from 0; at least one.
    pub fn marked(&self) -> Range<usize> {
        self.marked.clone()
    }
}

/// Makes excerpts of one workspace; what is secret is asked once for a file and once for a block of it.
pub struct Excerpts<'w> {
    workspace: &'w Workspace,
    secrets: FxHashMap<FileId, Vec<Range<usize>>>,
    hidden: FxHashMap<(FileId, BlockId), Vec<Range<usize>>>,
    materials: FxHashMap<FileId, Vec<String>>,
}

impl<'w> Excerpts<'w> {
    /// Of this workspace.
    pub fn new(workspace: &'w Workspace) -> Self {
        Excerpts {
            workspace,
            secrets: FxHashMap::default(),
            hidden: FxHashMap::default(),
            materials: FxHashMap::default(),
        }
    }

    /// As [`Excerpt::of`].
    pub fn of(&mut self, file: FileId, bytes: Range<usize>) -> Option<Excerpt> {
        let document = self.workspace.document(file)?;
        let first = document.to_protocol(bytes.start, Encoding::Utf8).line;
        // The byte after a line end belongs to the next line, which the place does not touch.
        let last = document.to_protocol(bytes.end.saturating_sub(1).max(bytes.start), Encoding::Utf8).line;
        let lines: Vec<ExcerptLine> =
            (first..=last).take(MOST_LINES).filter_map(|line| self.line(document, file, line, &bytes)).collect();
        let blank = lines.iter().all(|line| line.text.trim().is_empty());
        (!blank).then_some(Excerpt { lines })
    }

    fn line(&mut self, document: &Document, file: FileId, line: u32, bytes: &Range<usize>) -> Option<ExcerptLine> {
        let whole = document.line_range(line)?;
        let place = bytes.start.clamp(whole.start, whole.end)..bytes.end.clamp(whole.start, whole.end);
        let part = near(document, &whole, &place);
        let text = document.slice(part.clone())?;
        let pieces = match self.kind(file) {
            Some(kind) => {
                // A block begins with a line, so a line stands in one block.
                let (block, _) = document.at(whole.start);
                pieces(whole.start, &text, part.start, self.hidden(document, file, kind, block)?)
            }
            None => pieces(whole.start, &text, part.start, &around_cell(&whole, &place)),
        };
        let (text, marked, about) = cut(&pieces, &place, part.start > whole.start, part.end < whole.end);
        Some(ExcerptLine { number: line + 1, text, marked, about })
    }

    /// What must not be shown of a block: bytes of the file, ordered, not overlapping.
    fn hidden(&mut self, document: &Document, file: FileId, kind: FileKind, block: BlockId) -> Option<&[Range<usize>]> {
        if !self.hidden.contains_key(&(file, block)) {
            let (start, text) = (document.start(block)?, document.block_text(block)?);
            let end = start + text.len();
            let secrets = self.secrets.entry(file).or_insert_with(|| self.workspace.secrets(file));
            let named = secrets.iter().filter(|secret| secret.end > start && secret.start < end);
            let named = named.map(|secret| secret.start.max(start) - start..secret.end.min(end) - start);
            let mut hidden: Vec<Range<usize>> =
                named.map(|secret| guard::trimmed(&text, secret.clone()).unwrap_or(secret)).collect();
            hidden.extend(guard::hidden(kind, &text));
            let hidden = merged(hidden).into_iter().map(|range| range.start + start..range.end + start).collect();
            self.hidden.insert((file, block), hidden);
        }
        self.hidden.get(&(file, block)).map(Vec::as_slice)
    }

    /// A message about `bytes` of the file, without what it quotes of them that must not be shown.
    pub(crate) fn told(&mut self, file: FileId, bytes: &Range<usize>, message: String) -> String {
        let Some(document) = self.workspace.document(file) else { return message };
        let Some(kind) = self.kind(file) else { return message };
        let (block, _) = document.at(bytes.start);
        let hidden = self.hidden(document, file, kind, block).unwrap_or_default();
        let touched = hidden.iter().filter(|range| range.start < bytes.end && range.end > bytes.start);
        let quotable: Vec<Cow<'_, str>> = touched
            .filter_map(|range| document.slice(range.start.max(bytes.start)..range.end.min(bytes.end)))
            .filter(|text| text.len() <= REACH)
            .collect();
        let words = quotable.iter().flat_map(|text| material(text));
        words.fold(message, |message, word| message.replace(word, REDACTED))
    }

    /// Whether the text of an edit holds what must not be shown: a word of what it replaces, or material of the file.
    pub(crate) fn tells(&mut self, edit: &TextEdit) -> bool {
        if edit.text.trim().is_empty() {
            return false;
        }
        let (file, bytes) = (edit.file, edit.bytes.clone());
        let (Some(document), Some(kind)) = (self.workspace.document(file), self.kind(file)) else { return true };
        let (block, _) = document.at(bytes.start);
        let here = self.hidden(document, file, kind, block).unwrap_or_default();
        let touched = here.iter().filter(|range| range.start < bytes.end && range.end > bytes.start);
        let quotes = |range: &Range<usize>| {
            let text = document.slice(range.clone()).filter(|text| text.len() <= REACH);
            text.is_none_or(|text| words(&text).any(|word| edit.text.contains(word)))
        };
        if touched.into_iter().any(quotes) {
            return true;
        }
        // A text without anything like material holds none.
        material(&edit.text).next().is_some()
            && self.material(document, file, kind).iter().any(|word| edit.text.contains(word))
    }

    /// The material of a file.
    fn material(&mut self, document: &Document, file: FileId, kind: FileKind) -> &[String] {
        if !self.materials.contains_key(&file) {
            let mut found: Vec<String> = Vec::new();
            for block in document.blocks() {
                let hidden = self.hidden(document, file, kind, block).unwrap_or_default();
                let texts = hidden.iter().filter_map(|range| document.slice(range.clone()));
                let texts = texts.filter(|text| text.len() <= REACH);
                found.extend(texts.flat_map(|text| material(&text).map(str::to_owned).collect::<Vec<_>>()));
            }
            self.materials.insert(file, found);
        }
        self.materials.get(&file).map_or(&[], Vec::as_slice)
    }

    /// A line as it is shown, whole. None: there is no such line.
    pub(crate) fn whole_line(&mut self, document: &Document, file: FileId, line: u32) -> Option<String> {
        let whole = document.line_range(line)?;
        let text = document.slice(whole.clone())?;
        let pieces = match self.kind(file) {
            Some(kind) => {
                let (block, _) = document.at(whole.start);
                pieces(whole.start, &text, whole.start, self.hidden(document, file, kind, block)?)
            }
            None => pieces(whole.start, &text, whole.start, std::slice::from_ref(&whole)),
        };
        Some(joined(&pieces))
    }

    fn kind(&self, file: FileId) -> Option<FileKind> {
        match self.workspace.address(file)? {
            Address::Disk(path) => kind_of_path(&path),
            Address::Virtual(_) => None,
        }
    }
}

/// What may be material in a text that is hidden.
fn material(text: &str) -> impl Iterator<Item = &str> {
    words(text).filter(|word| !guard::is_wordlike(word))
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    let words = text.split(|letter: char| !is_material(letter));
    words.filter(|word| word.len() >= SHORTEST_MATERIAL)
}

/// A character of material as it is written: hexadecimal or base64 (RFC 4648), with what people put between groups.
fn is_material(letter: char) -> bool {
    letter.is_alphanumeric() || "+/=-_:".contains(letter)
}

/// What is hidden of a row of a sheet: a column may hold anything, so all but the cell that is meant; a place that begins
/// with the row means no cell.
fn around_cell(row: &Range<usize>, cell: &Range<usize>) -> Vec<Range<usize>> {
    if cell.start == row.start {
        return vec![row.clone()];
    }
    vec![row.start..cell.start, cell.end..row.end]
}

/// The ranges in order, those that touch as one.
fn merged(mut ranges: Vec<Range<usize>>) -> Vec<Range<usize>> {
    ranges.sort_by_key(|range| (range.start, range.end));
    let mut merged: Vec<Range<usize>> = Vec::new();
    for range in ranges {
        match merged.last_mut() {
            Some(last) if range.start <= last.end => last.end = last.end.max(range.end),
            _ => merged.push(range),
        }
    }
    merged
}

/// The part of a line that is looked at: all of it, unless it is very long.
fn near(document: &Document, line: &Range<usize>, place: &Range<usize>) -> Range<usize> {
    let start = place.start.saturating_sub(REACH).max(line.start);
    let end = place.start.saturating_add(REACH).min(line.end);
    floor(document, start)..floor(document, end)
}

/// The start of the character that a byte lies in.
fn floor(document: &Document, byte: usize) -> usize {
    document.from_protocol(document.to_protocol(byte, Encoding::Utf8), Encoding::Utf8)
}

/// The shown text, cut around the pieces of `place` to [`MOST_COLUMNS`], their columns in it, and their text.
fn cut(pieces: &[Piece], place: &Range<usize>, more_before: bool, more_after: bool) -> (String, Range<usize>, String) {
    let first = pieces.iter().position(|piece| piece.bytes.end > place.start).unwrap_or(pieces.len());
    let end = pieces.iter().rposition(|piece| piece.bytes.start < place.end).map_or(first, |last| last + 1).max(first);
    let fits = !more_before && !more_after && columns(pieces) <= MOST_COLUMNS;
    let window = if fits { 0..pieces.len() } else { window(pieces, first) };
    let marked = first.clamp(window.start, window.end)..end.clamp(window.start, window.end);

    let before = if more_before || window.start > 0 { CUT } else { "" };
    let after = if more_after || window.end < pieces.len() { CUT } else { "" };
    let start = before.chars().count() + columns(&pieces[window.start..marked.start]);
    let width = columns(&pieces[marked.clone()]).max(1);
    let text = format!("{before}{}{after}", joined(&pieces[window]));
    (text, start..start + width, joined(&pieces[marked]))
}

/// The pieces that are shown of a line that is too long: some before `first`, as many behind it as there is room for.
fn window(pieces: &[Piece], first: usize) -> Range<usize> {
    let mut room = BEFORE;
    let mut start = first;
    while start > 0 && pieces[start - 1].columns <= room {
        start -= 1;
        room -= pieces[start].columns;
    }
    let mut room = MOST_COLUMNS;
    let mut end = start;
    while end < pieces.len() && pieces[end].columns <= room {
        room -= pieces[end].columns;
        end += 1;
    }
    start..end
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};
    use std::sync::Arc;

    use guywire_workspace::{Address, MemorySource};
    use proptest::prelude::*;
    use unicode_width::UnicodeWidthStr;

    use super::*;

    fn excerpt(text: &str, bytes: Range<usize>) -> Option<Excerpt> {
        let path = "/harbor/harbor.plan.toml";
        let source = MemorySource::new([(path, text)]);
        let workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], jiff::civil::date(2026, 11, 25));
        let file = workspace.file(&Address::Disk(Path::new(path).to_path_buf())).unwrap();
        Excerpt::of(&workspace, file, bytes)
    }

    /// The lines with what is marked in them, of a text that stands in a plan's first table.
    fn drawn(text: &str, of: &str) -> String {
        let text = format!("[plan]\n{text}");
        let at = text.rfind(of).unwrap();
        let lines = excerpt(&text, at..at + of.len()).unwrap().lines;
        let draw = |line: &ExcerptLine| {
            let (before, marks) = (" ".repeat(line.marked.start), "^".repeat(line.marked.len()));
            format!("{}|{}\n |{before}{marks}", line.number, line.text)
        };
        lines.iter().map(draw).collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn the_bytes_of_the_finding_are_marked() {
        assert_eq!(drawn("title = \"Pilots\"\n", "\"Pilots\""), "2|title = \"Pilots\"\n |        ^^^^^^^^");
    }

    #[test]
    fn line_ends_of_every_kind_are_left_out() {
        for end in ["\n", "\r\n", "\r", ""] {
            assert_eq!(drawn(&format!("mains_hz = 3{end}"), "3"), "2|mains_hz = 3\n |           ^", "{end:?}");
        }
    }

    #[test]
    fn tabs_wide_and_combining_characters_keep_the_mark_in_place() {
        assert_eq!(drawn("\tmains_hz = 3 # x", "3"), "2|    mains_hz = 3 # x\n |               ^");
        assert_eq!(drawn("title = '埠頭' # x", "'埠頭'"), "2|title = '埠頭' # x\n |        ^^^^^^");
        assert_eq!(drawn("title = 'e\u{301}' # x", "#"), "2|title = 'e\u{301}' # x\n |            ^");
    }

    #[test]
    fn control_characters_are_pictures() {
        assert_eq!(drawn("title = 1 # \x1b[2J", "\x1b[2J"), "2|title = 1 # ␛[2J\n |            ^^^^");
    }

    #[test]
    fn a_byte_order_mark_is_not_shown() {
        assert_eq!(excerpt("\u{FEFF}[plan]\n", 3..9).unwrap().lines[0].text, "[plan]");
    }

    #[test]
    fn an_empty_place_is_marked_by_one_column() {
        let at_end = excerpt("[plan]\nmains_hz = 3\n", 19..19).unwrap().lines;
        assert_eq!((at_end[0].text(), at_end[0].marked()), ("mains_hz = 3", 12..13));
        let in_between = excerpt("[plan]\nmains_hz = 3\n", 15..15).unwrap().lines;
        assert_eq!(in_between[0].marked(), 8..9);
    }

    #[test]
    fn a_place_of_many_lines_shows_the_first() {
        let text = "[plan]\ntitle = '''\na\nb\nc\nd'''\n";
        let lines = excerpt(text, 15..text.len() - 1).unwrap().lines;
        assert_eq!(lines.iter().map(ExcerptLine::number).collect::<Vec<_>>(), [2, 3, 4]);
        assert_eq!(lines[1].marked(), 0..1);
    }

    #[test]
    fn a_place_that_ends_with_its_line_does_not_show_the_next() {
        assert_eq!(excerpt("[plan]\nmains_hz = 3\n", 0..7).unwrap().lines.len(), 1);
    }

    #[test]
    fn nothing_is_shown_of_nothing() {
        assert_eq!(excerpt("", 0..0), None);
        assert_eq!(excerpt("\n  \n", 0..0), None);
    }

    #[test]
    fn a_long_line_is_cut_around_the_place() {
        let text = format!("[plan]\ntitle = \"{}HERE{}\"\n", "a".repeat(500_000), "b".repeat(500_000));
        let at = text.find("HERE").unwrap();
        let line = excerpt(&text, at..at + 4).unwrap().lines.remove(0);
        assert!(line.text.starts_with("…aaaa") && line.text.ends_with("bbbb…"), "{}", line.text);
        assert_eq!(line.text.width(), MOST_COLUMNS + 2);
        assert_eq!(line.text.chars().skip(line.marked.start).take(4).collect::<String>(), "HERE");
        assert_eq!(line.marked, 41..45);
    }

    #[test]
    fn a_mark_longer_than_the_line_shown_is_cut_with_it() {
        let text = format!("[plan]\ntitle = \"{}\"\n", "a".repeat(1_000_000));
        let line = excerpt(&text, 15..text.len() - 1).unwrap().lines.remove(0);
        assert!(line.text.starts_with("title = \"aaa"), "{}", line.text);
        assert_eq!(line.marked, 8..MOST_COLUMNS);
    }

    #[test]
    fn an_edit_that_would_tell_a_secret_is_known() {
        let text = "[plan]\n\n[[key]]\nvalue = \"c0ffee5a\"\n\n[security]\npower_on_code = \"harbor\"\n";
        let path = "/harbor/harbor.plan.toml";
        let source = MemorySource::new([(path, text)]);
        let workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], jiff::civil::date(2026, 11, 25));
        let file = workspace.file(&Address::Disk(PathBuf::from(path))).unwrap();
        let tells = |of: &str, with: &str| {
            let start = text.find(of).unwrap();
            let edit = TextEdit { file, bytes: start..start + of.len(), text: with.to_owned() };
            Excerpts::new(&workspace).tells(&edit)
        };
        assert!(tells("\"c0ffee5a\"", "'c0ffee5a'"), "in its place");
        assert!(tells("[plan]", "[plan]\nnotes = \"c0ffee5a\""), "elsewhere");
        assert!(tells("\"harbor\"", "'harbor'"), "a secret that looks like a word, in its place");
        assert!(!tells("[plan]", "[plan]\ntitle = \"harbor\""), "a word elsewhere is no secret");
        assert!(!tells("value = \"c0ffee5a\"", "held_in = \"vault:a\""), "taken out");
        assert!(!tells("value = \"c0ffee5a\"\n", ""), "deleted");
    }

    #[test]
    fn the_material_of_a_key_is_one_mark() {
        let text = "[[key]]\nname = \"harbor\"\nvalue = \"c0ffee\" # was \"0ddba11\"\n";
        assert_eq!(drawn(text, "value"), "4|value = [redacted]\n |^^^^^");
        assert_eq!(drawn(text, "\"c0ffee\""), "4|value = [redacted]\n |        ^^^^^^^^^^");
    }

    proptest! {
        /// Whatever stands around the material of a key, and whatever is marked, the material is not shown.
        #[test]
        fn no_place_shows_the_material(
            before in "[a-zé埠\t]{0,300}", secret in "[0-9]{12,40}", from in 0.0..1.0, length in 0_usize..400,
        ) {
            let text = format!("[[key]]\nname = \"{before}\"\nvalue = \"{secret}\"\nid = 3\n");
            let start = (text.len() as f64 * from) as usize;
            let Some(found) = excerpt(&text, start..(start + length).min(text.len())) else { return Ok(()) };
            for line in found.lines() {
                prop_assert!(!secret.as_bytes().windows(4).any(|part| line.text.contains(str::from_utf8(part).unwrap())));
                prop_assert!(line.text.width() <= MOST_COLUMNS + 2);
                prop_assert!(line.marked.end <= line.text.width() + 1, "{line:?}");
                prop_assert!(line.number != 3 || line.text.contains(REDACTED));
            }
        }
    }
}
