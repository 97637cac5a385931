//! Findings for people and machines to read.
//!
//! A [`Report`] is gathered once from a [`Workspace`](guywire_workspace::Workspace): plain data, sorted, with source text
//! only as [`Excerpt`]s, which are redacted. A [`Reporter`] writes it in one format and sees nothing else, so that no
//! format can print a secret. The pages of the rules are written by [`write_page`] and [`write_catalog`], as Markdown by
//! [`markdown_page`] and [`markdown_catalog`].

mod audience;
mod compare;
mod diff;
mod excerpt;
mod guard;
mod json;
mod pages;
mod piece;
mod report;
mod sarif;
mod style;
mod text;
mod visible;

use std::io;

pub use audience::{
    AudienceJson, AudienceReporter, AudienceSvg, AudienceText, Shown, audience_view, markdown_audience,
};
pub use compare::{
    Changes, ChangesReporter, CompareJson, CompareMarkdown, CompareText, Group, Key, Pair, Radio, StateName, Table,
};
pub use diff::{Lines, write_diff};
pub use excerpt::{Excerpt, ExcerptLine, Excerpts, MOST_COLUMNS, MOST_LINES};
pub use json::Json;
pub use pages::{markdown_catalog, markdown_page, write_catalog, write_page};
pub use piece::REDACTED;
pub use report::{
    Counts, Entry, FileReport, Mend, MendEdit, NewSince, Place, Point, RelatedPoint, Report, WaivedEntry, name_from,
};
pub use sarif::Sarif;
pub use text::Text;
pub use visible::visible;

/// An output format.
pub trait Reporter {
    /// Writes the report. Colors are written as ANSI escape codes; who owns the output takes them out where they are not
    /// wanted.
    ///
    /// # Errors
    /// What the output said.
    fn write(&self, report: &Report, out: &mut dyn io::Write) -> io::Result<()>;
}
