//! The report for people at a terminal.

use std::io::{self, Write};

use guywire_rules::Level;
use rustc_hash::FxHashSet;

use crate::Reporter;
use crate::excerpt::ExcerptLine;
use crate::report::{Counts, Entry, Report};
use crate::style::{FAINT, HELP, STRONG, of_level, styled};
use crate::visible::visible;

/// Text with excerpts. A finding begins with its place as `path:line:column:`, which editors and terminals know.
/// Source: GNU Coding Standards, "Formatting Error Messages".
#[derive(Debug, Clone, Copy, Default)]
pub struct Text;

impl Reporter for Text {
    fn write(&self, report: &Report, out: &mut dyn Write) -> io::Result<()> {
        let mut explained: FxHashSet<&str> = FxHashSet::default();
        for file in &report.files {
            for entry in &file.entries {
                write_entry(&file.path, entry, out)?;
                if explained.insert(entry.rule) {
                    writeln!(out, "  {} guywire why {}", styled(FAINT, "why:"), entry.rule)?;
                }
                writeln!(out)?;
            }
            if file.withheld > 0 {
                writeln!(out, "{}: {} more are not shown\n", visible(&file.path), file.withheld)?;
            }
        }
        if let Some(since) = &report.since {
            let revision = visible(&since.revision);
            for (before, now) in &since.renamed {
                writeln!(out, "{} was {} at {revision}", visible(now), visible(before))?;
            }
        }
        // Of a sound plan there is nothing to say.
        let since = report.since.as_ref().map(|since| format!(", not there at {}", visible(&since.revision)));
        match closing(&report.counts()) {
            Some(closing) => writeln!(out, "{closing}{}.", since.unwrap_or_default()),
            None => Ok(()),
        }
    }
}

fn write_entry(path: &str, entry: &Entry, out: &mut dyn Write) -> io::Result<()> {
    let place = format!("{}:{}:{}:", visible(path), entry.at.start.line, entry.at.start.column);
    let level = format!("{}[{}]:", entry.level.word(), entry.rule);
    let (place, level) = (styled(STRONG, &place), styled(of_level(entry.level), &level));
    writeln!(out, "{place} {level} {}", visible(&entry.message))?;
    for line in entry.excerpt.iter().flat_map(|excerpt| excerpt.lines()) {
        write_line(line, entry.level, out)?;
    }
    for other in &entry.related {
        let place = format!("{}:{}:{}:", visible(&other.path), other.at.start.line, other.at.start.column);
        writeln!(out, "  {} {place} {}", styled(FAINT, "see:"), visible(&other.message))?;
    }
    let mut told: FxHashSet<&str> = FxHashSet::default();
    for fix in entry.fixes.iter().filter(|fix| told.insert(&fix.title)) {
        writeln!(out, "  {} {}", styled(HELP, "help:"), visible(&fix.title))?;
    }
    Ok(())
}

fn write_line(line: &ExcerptLine, level: Level, out: &mut dyn Write) -> io::Result<()> {
    let bar = styled(FAINT, "|");
    let number = styled(FAINT, &format!("{:>5}", line.number()));
    let marked = line.marked();
    let underline = styled(of_level(level), &"^".repeat(marked.len()));
    writeln!(out, "{number} {bar} {}", line.text())?;
    writeln!(out, "      {bar} {}{underline}", " ".repeat(marked.start))
}

/// The last line without its point: how much of what.
fn closing(counts: &Counts) -> Option<String> {
    let found = found(counts);
    let waived = (counts.waived > 0).then(|| format!("{} waived", counts.waived));
    match (found, waived) {
        (Some(found), Some(waived)) => Some(format!("{found}; {waived}")),
        (found, waived) => found.or(waived),
    }
}

fn found(counts: &Counts) -> Option<String> {
    let files = counted(counts.files, "file", "files");
    let kinds = [
        (counts.errors, "error", "errors"),
        (counts.warnings, "warning", "warnings"),
        (counts.information, "information", "information"),
        (counts.hints, "hint", "hints"),
        (counts.withheld, "more not shown", "more not shown"),
    ];
    let found: Vec<String> = kinds
        .into_iter()
        .filter(|(count, ..)| *count > 0)
        .map(|(count, one, many)| counted(count, one, many))
        .collect();
    if found.is_empty() {
        return None;
    }
    let with = counts.files_with_findings;
    let at = if with == counts.files { files } else { format!("{with} of {files}") };
    Some(format!("{} in {at}", found.join(", ")))
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
