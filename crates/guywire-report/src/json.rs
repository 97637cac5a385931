//! The report as one JSON document, for programs. Described in docs/output.md and docs/finding.schema.json.

use std::io::{self, Write};

use guywire_rules::{Page, Safety, find};
use serde::Serialize;

use crate::Reporter;
use crate::report::{Entry, FileReport, Mend, MendEdit, NewSince, Place, RelatedPoint, Report, WaivedEntry};
use crate::visible::is_hidden;

/// The version of the document. A new member does not change it; one that goes or means something else does.
const VERSION: u32 = 1;

/// One JSON document (RFC 8259): a version, how many files were looked at, and an object for each finding. It holds no
/// text of a plan but what a fix writes.
#[derive(Debug, Clone, Copy, Default)]
pub struct Json;

#[derive(Serialize)]
struct Document<'r> {
    version: u32,
    files: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    since: Option<Since<'r>>,
    findings: Vec<Finding<'r>>,
    withheld: Vec<Withheld<'r>>,
    waived: Vec<WaivedOut<'r>>,
}

/// A finding that a waiver accepts.
#[derive(Serialize)]
struct WaivedOut<'r> {
    rule: &'r str,
    level: &'static str,
    path: &'r str,
    #[serde(flatten)]
    at: Region,
    message: &'r str,
    key: String,
    waived: Waiver<'r>,
}

/// Why, and for how long.
#[derive(Serialize)]
struct Waiver<'r> {
    reason: Option<&'r str>,
    until: Option<&'r str>,
}

/// The revision that had none of the findings.
#[derive(Serialize)]
struct Since<'r> {
    revision: &'r str,
    object: &'r str,
    renamed: Vec<Renamed<'r>>,
}

/// A file that had another path then.
#[derive(Serialize)]
struct Renamed<'r> {
    from: &'r str,
    to: &'r str,
}

/// How many findings of a file are not in the document.
#[derive(Serialize)]
struct Withheld<'r> {
    path: &'r str,
    count: usize,
}

#[derive(Serialize)]
struct Finding<'r> {
    rule: &'r str,
    level: &'static str,
    path: &'r str,
    #[serde(flatten)]
    at: Region,
    message: &'r str,
    why: String,
    related: Vec<Related<'r>>,
    key: String,
    fixes: Vec<Fix<'r>>,
}

#[derive(Serialize)]
struct Region {
    start: Position,
    end: Position,
}

#[derive(Serialize)]
struct Position {
    line: u32,
    column: u32,
    byte: usize,
}

#[derive(Serialize)]
struct Related<'r> {
    path: &'r str,
    #[serde(flatten)]
    at: Region,
    message: &'r str,
}

#[derive(Serialize)]
struct Fix<'r> {
    title: &'r str,
    safety: &'static str,
    edits: Vec<Edit<'r>>,
}

#[derive(Serialize)]
struct Edit<'r> {
    path: &'r str,
    start_byte: usize,
    end_byte: usize,
    text: &'r str,
}

impl Reporter for Json {
    fn write(&self, report: &Report, out: &mut dyn Write) -> io::Result<()> {
        let document = Document {
            version: VERSION,
            files: report.files.len(),
            since: report.since.as_ref().map(since),
            findings: report.entries().map(|(file, entry)| finding(file, entry)).collect(),
            withheld: report.files.iter().filter(|file| file.withheld > 0).map(withheld).collect(),
            waived: report.files.iter().flat_map(|file| file.waived.iter().map(move |it| waived(file, it))).collect(),
        };
        write_json(&document, out)
    }
}

/// Writes a value as indented JSON. Inside strings, what a terminal would obey or hide is escaped.
pub(crate) fn write_json(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    let mut text = serde_json::to_string_pretty(value)?;
    if text.chars().any(|letter| letter != '\n' && is_hidden(letter)) {
        text = escaped(&text);
    }
    text.push('\n');
    out.write_all(text.as_bytes())
}

/// JSON text with hidden characters as escapes. They stand in strings only; the line ends of the layout are kept.
fn escaped(json: &str) -> String {
    let mut written = String::with_capacity(json.len() + 64);
    for letter in json.chars() {
        if letter == '\n' || !is_hidden(letter) {
            written.push(letter);
            continue;
        }
        for unit in letter.encode_utf16(&mut [0; 2]) {
            written.push_str(&format!("\\u{unit:04x}"));
        }
    }
    written
}

fn since(since: &NewSince) -> Since<'_> {
    let renamed = since.renamed.iter().map(|(from, to)| Renamed { from, to }).collect();
    Since { revision: &since.revision, object: &since.object, renamed }
}

fn withheld(file: &FileReport) -> Withheld<'_> {
    Withheld { path: &file.path, count: file.withheld }
}

fn finding<'r>(file: &'r FileReport, entry: &'r Entry) -> Finding<'r> {
    Finding {
        rule: entry.rule,
        level: entry.level.word(),
        path: &file.path,
        at: region(&entry.at),
        message: &entry.message,
        why: find(entry.rule).map(|rule| Page::of(rule.about()).summary).unwrap_or_default(),
        related: entry.related.iter().map(related).collect(),
        key: entry.key.to_string(),
        fixes: entry.fixes.iter().map(fix).collect(),
    }
}

fn waived<'r>(file: &'r FileReport, entry: &'r WaivedEntry) -> WaivedOut<'r> {
    WaivedOut {
        rule: entry.rule,
        level: entry.level.word(),
        path: &file.path,
        at: region(&entry.at),
        message: &entry.message,
        key: entry.key.to_string(),
        waived: Waiver { reason: entry.reason.as_deref(), until: entry.until.as_deref() },
    }
}

fn region(at: &Place) -> Region {
    let start = Position { line: at.start.line, column: at.start.column, byte: at.bytes.start };
    let end = Position { line: at.end.line, column: at.end.column, byte: at.bytes.end };
    Region { start, end }
}

fn related(other: &RelatedPoint) -> Related<'_> {
    Related { path: &other.path, at: region(&other.at), message: &other.message }
}

fn fix(fix: &Mend) -> Fix<'_> {
    Fix { title: &fix.title, safety: safety(fix.safety), edits: fix.edits.iter().map(edit).collect() }
}

fn safety(safety: Safety) -> &'static str {
    match safety {
        Safety::Safe => "safe",
        Safety::Choice => "choice",
    }
}

fn edit(edit: &MendEdit) -> Edit<'_> {
    let at = &edit.at.bytes;
    Edit { path: &edit.path, start_byte: at.start, end_byte: at.end, text: &edit.text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_terminal_would_obey_is_escaped_and_read_back_the_same() {
        let text = "a\u{1b}[2J\u{9b}2J\u{202e}\u{e0041}\u{7f}\n埠";
        let mut out = Vec::new();
        write_json(&[text], &mut out).unwrap();
        let json = String::from_utf8(out).unwrap();
        assert!(!json.chars().any(|letter| letter != '\n' && is_hidden(letter)), "{json}");
        assert!(json.contains("\\udb40\\udc41") && json.contains('埠'), "{json}");
        assert_eq!(serde_json::from_str::<Vec<String>>(&json).unwrap(), [text]);
    }
}
