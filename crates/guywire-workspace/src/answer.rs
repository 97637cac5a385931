//! What goes out: findings resolved to bytes of files, hovers and fixes, in plain types.

use std::ops::Range;
use std::time::Duration;

use guywire_rules::{FindingKey, Level, Safety};
use guywire_text::FileId;
use jiff::civil::Date;

/// Another place that belongs to a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Related {
    /// The file.
    pub file: FileId,
    /// Bytes of it.
    pub bytes: Range<usize>,
    /// What is there.
    pub message: String,
}

/// A finding as shown: level applied, place resolved to bytes of the text as it is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The rule's name.
    pub rule: &'static str,
    /// The level after settings.
    pub level: Level,
    /// Bytes of the file.
    pub bytes: Range<usize>,
    /// What is wrong, what happens on the air, what to do.
    pub message: String,
    /// Other places, at most five and a count in the last.
    pub related: Vec<Related>,
    /// What tells this finding from others, across edits.
    pub key: FindingKey,
    /// The text at the place serves nothing (shown faded by editors).
    pub unnecessary: bool,
    /// A fix exists.
    pub fixable: bool,
}

/// A finding that a waiver accepts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waived {
    /// The finding.
    pub finding: Shown,
    /// Bytes of its file that say why; none where nothing does.
    pub reason: Option<Range<usize>>,
    /// The last day of the waiver; none where it has none that can be read.
    pub until: Option<Date>,
}

/// The findings of one file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileFindings {
    /// The client's version of the text that they are about; none for a file that is not open.
    pub version: Option<i32>,
    /// Changes when, and only when, what is shown changes.
    pub result_id: u64,
    /// In order: offset, rule, message, key.
    pub shown: Vec<Shown>,
    /// How many more there are than the cap shows.
    pub withheld: usize,
    /// The highest level among those that the cap withholds.
    pub withheld_level: Option<Level>,
}

/// How long a slice of [`Workspace::settle`](crate::Workspace::settle) may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Budget {
    /// Until all is settled.
    All,
    /// Until all is settled, for those who will change nothing after it: faster and in less memory, but the next change
    /// makes all of it out of date.
    Once,
    /// About this long.
    For(Duration),
}

impl Budget {
    /// Whether it ends before all is settled.
    pub(crate) fn is_slice(self) -> bool {
        matches!(self, Budget::For(_))
    }
}

/// What is left after a slice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Nothing is left to compute.
    pub settled: bool,
    /// Cells left.
    pub remaining: usize,
    /// Cells that are settled and wait to be judged once more, so that it is known what they read: later edits are taken
    /// in faster then, and nothing else changes. For when there is nothing better to do.
    pub unwatched: usize,
}

/// What a hover shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hover {
    /// Bytes of the file that it is about.
    pub bytes: Range<usize>,
    /// As Markdown.
    pub markdown: String,
    /// As plain text.
    pub plain: String,
}

/// An edit of a file's text by bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TextEdit {
    /// The file.
    pub file: FileId,
    /// Bytes of it that are replaced.
    pub bytes: Range<usize>,
    /// By what.
    pub text: String,
}

/// A fix on offer at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfferedFix {
    /// The finding that it mends.
    pub finding: Shown,
    /// What it does.
    pub title: String,
    /// Whether it changes what is on the air.
    pub safety: Safety,
    /// The only or first right answer.
    pub preferred: bool,
    /// Its edits, ordered, not overlapping.
    pub edits: Vec<TextEdit>,
}

/// What an item of a completion is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CompletionKind {
    /// A table.
    Table,
    /// A key.
    Key,
    /// The name of a table.
    Name,
    /// One of some words, or a text with a form of its own.
    Word,
    /// A number.
    Number,
    /// A squelch tone or code.
    Tone,
    /// A carrier.
    Carrier,
    /// A date.
    Date,
    /// A file.
    File,
}

/// Something that can be written at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Completion {
    /// What is shown in the list.
    pub label: String,
    /// What it is.
    pub kind: CompletionKind,
    /// Beside the label: type and unit of a key, number of a talkgroup. May be empty.
    pub detail: String,
    /// What is to be said of it, as Markdown. May be empty.
    pub markdown: String,
    /// The same as plain text.
    pub plain_doc: String,
    /// Its place in the list: items are shown in the order of this text.
    pub sort: String,
    /// What the text from the start of `bytes` to the cursor is compared with.
    pub filter: String,
    /// Bytes of the file that it takes the place of: on one line, the cursor in them or at an end.
    pub bytes: Range<usize>,
    /// The text to write.
    pub text: String,
    /// The same as a snippet (Language Server Protocol 3.17, Snippet Syntax), where there is something to fill in.
    pub snippet: Option<String>,
    /// The obvious one.
    pub preselect: bool,
    /// Edits elsewhere in the file that belong to it.
    pub more: Vec<TextEdit>,
}

/// What can be written at a place.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Completions {
    /// In order.
    pub items: Vec<Completion>,
    /// There are more than are listed: ask again when more is typed.
    pub incomplete: bool,
}
