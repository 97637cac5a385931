//! What was found, as plain data: sorted, with places as people count them.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;

use guywire_rules::{FindingKey, Level, Safety};
use guywire_text::{Encoding, FileId};
use guywire_workspace::{Address, OfferedFix, Related, Revision, Shown, Since, Waived, Workspace};

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
    pub at: Place,
    /// What is there.
    pub message: String,
}

/// Some text of a file: where it begins and ends, as people count and as programs do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Where it begins.
    pub start: Point,
    /// Where the character behind it is.
    pub end: Point,
    /// Its bytes; a byte-order mark counts.
    pub bytes: Range<usize>,
}

/// A way to mend a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mend {
    /// What it does, as an order.
    pub title: String,
    /// Whether it changes what is on the air.
    pub safety: Safety,
    /// What it changes, in order. None where the edit would tell a secret.
    pub edits: Vec<MendEdit>,
}

/// Text to put in the place of other text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MendEdit {
    /// The file, as shown.
    pub path: String,
    /// What is replaced.
    pub at: Place,
    /// By what.
    pub text: String,
}

/// A finding with all that is shown of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The rule's name.
    pub rule: &'static str,
    /// The level after settings.
    pub level: Level,
    /// Where it is.
    pub at: Place,
    /// What is wrong, what happens on the air, what to do.
    pub message: String,
    /// The lines that it is about; none where there is no text.
    pub excerpt: Option<Excerpt>,
    /// Other places.
    pub related: Vec<RelatedPoint>,
    /// The fixes on offer, the preferred one first.
    pub fixes: Vec<Mend>,
    /// What tells this finding from others, across edits.
    pub key: FindingKey,
}

/// A finding that a waiver accepts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WaivedEntry {
    /// The rule's name.
    pub rule: &'static str,
    /// The level after settings.
    pub level: Level,
    /// Where it is.
    pub at: Place,
    /// What is wrong, what happens on the air, what to do.
    pub message: String,
    /// Why it is accepted, redacted.
    pub reason: Option<String>,
    /// The last day of the waiver.
    pub until: Option<String>,
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
    /// Those that waivers accept, in the same order.
    pub waived: Vec<WaivedEntry>,
    /// How many more there are than are shown.
    pub withheld: usize,
    /// The highest level among them.
    pub withheld_level: Option<Level>,
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
    /// Findings that waivers accept.
    pub waived: usize,
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
    /// Where only what a change brought in is in it: since when.
    pub since: Option<NewSince>,
}

/// The revision that had none of the findings of a report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewSince {
    /// As it was named.
    pub revision: String,
    /// The object's name in hexadecimal.
    pub object: String,
    /// Files, as shown, that had another path then: before, now.
    pub renamed: Vec<(String, String)>,
}

impl NewSince {
    /// Since this revision; paths are shown from `folder`.
    pub fn of(revision: &Revision, since: &Since, folder: &Path) -> NewSince {
        let renamed = since.renamed.iter().map(|file| (shown_from(&file.from, folder), shown_from(&file.to, folder)));
        NewSince { revision: revision.name.clone(), object: revision.object.clone(), renamed: renamed.collect() }
    }
}

impl Report {
    /// Gathers the findings of `files` from a settled workspace. `name` gives the path that people are shown.
    pub fn of(workspace: &Workspace, files: &[FileId], name: &dyn Fn(FileId) -> String) -> Report {
        let mut gathering = Gathering { workspace, name, excerpts: Excerpts::new(workspace) };
        let mut reports: Vec<FileReport> = files.iter().map(|file| gathering.file(*file)).collect();
        reports.sort_by(|a, b| a.path.cmp(&b.path));
        Report { files: reports, since: None }
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
            waived: self.files.iter().map(|file| file.waived.len()).sum(),
            files: self.files.len(),
            files_with_findings: self.files.iter().filter(|file| !file.entries.is_empty()).count(),
        }
    }

    /// Whether there is a finding at `level` or above, shown or not.
    pub fn reaches(&self, level: Level) -> bool {
        self.entries().any(|(_, entry)| entry.level >= level)
            || self.files.iter().any(|file| file.withheld_level.is_some_and(|withheld| withheld >= level))
    }
}

/// Makes reports of files; what is the same for all of them.
struct Gathering<'w> {
    workspace: &'w Workspace,
    name: &'w dyn Fn(FileId) -> String,
    excerpts: Excerpts<'w>,
}

impl Gathering<'_> {
    fn file(&mut self, file: FileId) -> FileReport {
        let findings = self.workspace.findings(file);
        let mut fixes = self.fixes(file, &findings.shown);
        let entries = findings.shown.into_iter().map(|shown| {
            let fixes = fixes.remove(&shown.key).unwrap_or_default();
            self.entry(file, shown, fixes)
        });
        let entries = entries.collect();
        FileReport {
            path: (self.name)(file),
            entries,
            waived: self.workspace.waived(file).into_iter().map(|waived| self.waived(file, waived)).collect(),
            withheld: findings.withheld,
            withheld_level: findings.withheld_level,
        }
    }

    fn waived(&mut self, file: FileId, waived: Waived) -> WaivedEntry {
        let Waived { finding, reason, until } = waived;
        let reason = reason.and_then(|bytes| Some(self.excerpts.of(file, bytes)?.lines().first()?.about().to_owned()));
        WaivedEntry {
            rule: finding.rule,
            level: finding.level,
            at: place(self.workspace, file, &finding.bytes),
            message: self.excerpts.told(file, &finding.bytes, finding.message),
            reason,
            until: until.map(|until| until.to_string()),
            key: finding.key,
        }
    }

    fn entry(&mut self, file: FileId, shown: Shown, fixes: Vec<OfferedFix>) -> Entry {
        Entry {
            rule: shown.rule,
            level: shown.level,
            at: place(self.workspace, file, &shown.bytes),
            message: self.excerpts.told(file, &shown.bytes, shown.message),
            related: shown.related.into_iter().map(|other| self.related(other)).collect(),
            fixes: fixes.into_iter().map(|fix| self.mend(file, &shown.bytes, fix)).collect(),
            excerpt: self.excerpts.of(file, shown.bytes),
            key: shown.key,
        }
    }

    fn related(&mut self, other: Related) -> RelatedPoint {
        RelatedPoint {
            path: (self.name)(other.file),
            at: place(self.workspace, other.file, &other.bytes),
            message: self.excerpts.told(other.file, &other.bytes, other.message),
        }
    }

    fn mend(&mut self, file: FileId, bytes: &Range<usize>, fix: OfferedFix) -> Mend {
        let tells = fix.edits.iter().any(|edit| self.excerpts.tells(edit));
        let edits = fix.edits.into_iter().filter(|_| !tells).map(|edit| MendEdit {
            path: (self.name)(edit.file),
            at: place(self.workspace, edit.file, &edit.bytes),
            text: edit.text,
        });
        let edits = edits.collect();
        Mend { title: self.excerpts.told(file, bytes, fix.title), safety: fix.safety, edits }
    }

    /// The fixes, by finding.
    fn fixes(&self, file: FileId, shown: &[Shown]) -> BTreeMap<FindingKey, Vec<OfferedFix>> {
        let mut fixes: BTreeMap<FindingKey, Vec<OfferedFix>> = BTreeMap::new();
        if !shown.iter().any(|finding| finding.fixable) {
            return fixes;
        }
        for fix in self.workspace.fixes(file, whole(self.workspace, file)) {
            fixes.entry(fix.finding.key).or_default().push(fix);
        }
        fixes.values_mut().for_each(|fixes| fixes.sort_by_key(|fix| !fix.preferred));
        fixes
    }
}

fn whole(workspace: &Workspace, file: FileId) -> Range<usize> {
    0..workspace.document(file).map_or(0, guywire_text::Document::len)
}

fn place(workspace: &Workspace, file: FileId, bytes: &Range<usize>) -> Place {
    let (start, end) = (point(workspace, file, bytes.start), point(workspace, file, bytes.end));
    Place { start, end, bytes: bytes.clone() }
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
        Some(Address::Disk(path)) => shown_from(&path, folder),
        Some(Address::Virtual(address)) => address,
        None => workspace.shown_path(file),
    }
}

fn shown_from(path: &Path, folder: &Path) -> String {
    path.strip_prefix(folder).unwrap_or(path).to_string_lossy().replace('\\', "/")
}
