//! What changed between two texts of a file, as a unified diff in which no secret is shown.

use std::io::{self, Write};
use std::ops::Range;

use guywire_text::FileId;
use guywire_workspace::Workspace;
use similar::{Algorithm, DiffOp, DiffTag, capture_diff_slices, group_diff_ops};

use crate::excerpt::Excerpts;
use crate::style::{FAINT, HELP, REMOVED, STRONG, styled};
use crate::visible::visible;

/// Lines shown around a change.
const CONTEXT: usize = 3;

/// The lines of a text: what they are, to compare, and how they are shown, redacted as an
/// [`Excerpt`](crate::Excerpt) is.
#[derive(Debug, Clone, Default)]
pub struct Lines {
    raw: Vec<String>,
    shown: Vec<String>,
    /// The last line has no line end.
    open: bool,
}

impl Lines {
    /// The lines of a file as the workspace has it now; none where it has no text.
    pub fn of(workspace: &Workspace, file: FileId) -> Lines {
        let Some(document) = workspace.document(file) else { return Lines::default() };
        let mut excerpts = Excerpts::new(workspace);
        let starts: Vec<usize> = (0..)
            .map_while(|line| document.line_range(line))
            .map(|range| range.start)
            .chain([document.len()])
            .collect();
        let mut lines = Lines::default();
        for (number, ends) in (0..).zip(starts.windows(2)) {
            if ends[0] == ends[1] {
                continue;
            }
            let raw = document.slice(ends[0]..ends[1]).unwrap_or_default();
            lines.open = !raw.ends_with(['\n', '\r']);
            lines.raw.push(raw.into_owned());
            lines.shown.push(excerpts.whole_line(document, file, number).unwrap_or_default());
        }
        lines
    }
}

/// Writes how `new` differs from `old` as a unified diff (POSIX, `diff -u`), with colors as ANSI escape codes. Nothing
/// is written where they are the same.
///
/// # Errors
/// What the output said.
pub fn write_diff(path: &str, old: &Lines, new: &Lines, out: &mut dyn Write) -> io::Result<()> {
    let hunks = group_diff_ops(capture_diff_slices(Algorithm::Myers, &old.raw, &new.raw), CONTEXT);
    if hunks.is_empty() {
        return Ok(());
    }
    let path = visible(path);
    writeln!(out, "{}", styled(STRONG, &format!("--- a/{path}")))?;
    writeln!(out, "{}", styled(STRONG, &format!("+++ b/{path}")))?;
    hunks.iter().try_for_each(|hunk| write_hunk(hunk, old, new, out))
}

fn write_hunk(hunk: &[DiffOp], old: &Lines, new: &Lines, out: &mut dyn Write) -> io::Result<()> {
    let (Some(first), Some(last)) = (hunk.first(), hunk.last()) else { return Ok(()) };
    let (was, is) = (first.old_range().start..last.old_range().end, first.new_range().start..last.new_range().end);
    writeln!(out, "{}", styled(FAINT, &format!("@@ -{} +{} @@", place(&was), place(&is))))?;
    for op in hunk {
        if op.tag() == DiffTag::Equal {
            op.old_range().try_for_each(|line| write_line(" ", old, line, out))?;
            continue;
        }
        op.old_range().try_for_each(|line| write_line("-", old, line, out))?;
        op.new_range().try_for_each(|line| write_line("+", new, line, out))?;
    }
    Ok(())
}

fn write_line(mark: &str, lines: &Lines, line: usize, out: &mut dyn Write) -> io::Result<()> {
    let text = format!("{mark}{}", lines.shown.get(line).map_or("", String::as_str));
    match mark {
        "-" => writeln!(out, "{}", styled(REMOVED, &text))?,
        "+" => writeln!(out, "{}", styled(HELP, &text))?,
        _ => writeln!(out, "{text}")?,
    }
    if lines.open && line + 1 == lines.shown.len() {
        writeln!(out, "\\ No newline at end of file")?;
    }
    Ok(())
}

/// Lines of a hunk, from 1; of no lines, the line before.
fn place(lines: &Range<usize>) -> String {
    match lines.len() {
        0 => format!("{},0", lines.start),
        1 => format!("{}", lines.start + 1),
        count => format!("{},{count}", lines.start + 1),
    }
}
