//! What was found, as plain data: sorted, with places as people count them.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;

use guywire_rules::{FindingKey, Level};
use guywire_text::{Encoding, FileId};
use guywire_workspace::{Address, Related, Shown, Workspace};

use crate::excerpt::{Excerpt, Excerpts};

/// A place in a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Point {
    /// Line, from 1.
    pub line: u32,
    /// Column, from 1, in characters.
    pub column: u32,
}

/// Another place that belongs to a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RelatedPoint {
    /// The file, as shown.
    pub path: String,
    /// Where in it.
    pub at: Point,
    /// What is there.
    pub message: String,
}

/// A finding with all that is shown of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The rule's name.
    pub rule: &'static str,
    /// The level after settings.
    pub level: Level,
    /// Where it begins.
    pub at: Point,
    /// What is wrong, what happens on the air, what to do.
    pub message: String,
    /// The lines that it is about; none where there is no text.
    pub excerpt: Option<Excerpt>,
    /// Other places.
    pub related: Vec<RelatedPoint>,
    /// What the fixes on offer do, each once.
    pub fixes: Vec<String>,
    /// What tells this finding from others, across edits.
    pub key: FindingKey,
}

/// The findings of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileReport {
    /// The file, as shown.
    pub path: String,
    /// In order: offset, rule, message, key.
    pub entries: Vec<Entry>,
    /// How many more there are than are shown.
    pub withheld: usize,
}

/// How many findings of each level, in how many files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Remarks worth knowing.
    pub information: usize,
    /// Hints.
    pub hints: usize,
    /// Findings past the most that are shown of a file.
    pub withheld: usize,
    /// Files looked at.
    pub files: usize,
    /// Files with a finding.
    pub files_with_findings: usize,
}

/// All that was found, in the order of the shown paths.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    /// Every file looked at, those without findings too.
    pub files: Vec<FileReport>,
}

impl Report {
    /// Gathers the findings of `files` from a settled workspace. `name` gives the path that people are shown.
    pub fn of(workspace: &Workspace, files: &[FileId], name: &dyn Fn(FileId) -> String) -> Report {
        let mut excerpts = Excerpts::new(workspace);
        let mut reports: Vec<FileReport> =
            files.iter().map(|file| file_report(workspace, *file, name, &mut excerpts)).collect();
        reports.sort_by(|a, b| a.path.cmp(&b.path));
        Report { files: reports }
    }

    /// Every finding with its file.
    pub fn entries(&self) -> impl Iterator<Item = (&FileReport, &Entry)> {
        self.files.iter().flat_map(|file| file.entries.iter().map(move |entry| (file, entry)))
    }

    /// How many there are.
    pub fn counts(&self) -> Counts {
        let of_level = |level: Level| self.entries().filter(|(_, entry)| entry.level == level).count();
        Counts {
            errors: of_level(Level::Error),
            warnings: of_level(Level::Warning),
            information: of_level(Level::Information),
            hints: of_level(Level::Hint),
            withheld: self.files.iter().map(|file| file.withheld).sum(),
            files: self.files.len(),
            files_with_findings: self.files.iter().filter(|file| !file.entries.is_empty()).count(),
        }
    }

    /// Whether there is a finding at `level` or above. Findings past the most that are shown of a file count as one,
    /// since their levels are not known.
    pub fn reaches(&self, level: Level) -> bool {
        self.entries().any(|(_, entry)| entry.level >= level) || self.files.iter().any(|file| file.withheld > 0)
    }
}

fn file_report(
    workspace: &Workspace,
    file: FileId,
    name: &dyn Fn(FileId) -> String,
    excerpts: &mut Excerpts<'_>,
) -> FileReport {
    let findings = workspace.findings(file);
    let mut fixes = fixes(workspace, file, &findings.shown);
    let entries = findings.shown.into_iter().map(|shown| {
        let titles = fixes.remove(&shown.key).unwrap_or_default();
        Entry {
            rule: shown.rule,
            level: shown.level,
            at: point(workspace, file, shown.bytes.start),
            message: excerpts.told(file, &shown.bytes, shown.message),
            related: shown.related.into_iter().map(|other| related(workspace, other, name, excerpts)).collect(),
            fixes: titles.into_iter().map(|title| excerpts.told(file, &shown.bytes, title)).collect(),
            excerpt: excerpts.of(file, shown.bytes),
            key: shown.key,
        }
    });
    FileReport { path: name(file), entries: entries.collect(), withheld: findings.withheld }
}

fn related(
    workspace: &Workspace,
    other: Related,
    name: &dyn Fn(FileId) -> String,
    excerpts: &mut Excerpts<'_>,
) -> RelatedPoint {
    RelatedPoint {
        path: name(other.file),
        at: point(workspace, other.file, other.bytes.start),
        message: excerpts.told(other.file, &other.bytes, other.message),
    }
}

/// The titles of the fixes, by finding.
fn fixes(workspace: &Workspace, file: FileId, shown: &[Shown]) -> BTreeMap<FindingKey, Vec<String>> {
    let mut titles: BTreeMap<FindingKey, Vec<String>> = BTreeMap::new();
    if !shown.iter().any(|finding| finding.fixable) {
        return titles;
    }
    for fix in workspace.fixes(file, whole(workspace, file)) {
        let titles = titles.entry(fix.finding.key).or_default();
        if !titles.contains(&fix.title) {
            titles.push(fix.title);
        }
    }
    titles
}

fn whole(workspace: &Workspace, file: FileId) -> Range<usize> {
    0..workspace.document(file).map_or(0, guywire_text::Document::len)
}

/// Line and column of a byte; a byte-order mark counts as no column. A file without text has its first place only.
fn point(workspace: &Workspace, file: FileId, byte: usize) -> Point {
    let Some(document) = workspace.document(file) else { return Point { line: 1, column: 1 } };
    let at = document.to_protocol(byte, Encoding::Utf32);
    let marked = at.line == 0 && at.character > 0 && document.slice(0..3).is_some_and(|mark| mark == "\u{FEFF}");
    Point { line: at.line + 1, column: at.character + 1 - u32::from(marked) }
}

/// The path of a file as shown from a folder: relative where it lies below it, with `/`. A name that is not Unicode is
/// shown as nearly as it can be.
pub fn name_from(workspace: &Workspace, file: FileId, folder: &Path) -> String {
    match workspace.address(file) {
        Some(Address::Disk(path)) => {
            let relative = path.strip_prefix(folder).unwrap_or(&path);
            relative.to_string_lossy().replace('\\', "/")
        }
        Some(Address::Virtual(address)) => address,
        None => workspace.shown_path(file),
    }
}
