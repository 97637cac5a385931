//! The changes as Markdown, for the comment of a review.

use std::io::{self, Write};

use guywire_workspace::Reached;

use super::names::listed;
use super::text::closing;
use super::{CAUTION, Changes, ChangesReporter, Group, Radio, runs, use_words};
use crate::visible::visible;

/// Names that are listed of a group.
const MOST_NAMES: usize = 24;
/// Changes of who hears whom that are listed.
const MOST_PAIRS: usize = 24;

/// Markdown (CommonMark; tables are not used). Text of plans is escaped, so that it makes no markup.
#[derive(Debug, Clone, Copy, Default)]
pub struct CompareMarkdown;

impl ChangesReporter for CompareMarkdown {
    fn write(&self, changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "## On the air: {}\n", escaped(closing(changes).trim_end_matches('.')))?;
        writeln!(out, "From {} to {}.", escaped(&changes.before.words()), escaped(&changes.after.words()))?;
        for (before, after) in &changes.renamed {
            writeln!(out, "\n{} was {}.", escaped(after), escaped(before))?;
        }
        write_radios(changes, out)?;
        write_pairs(changes, out)?;
        write_uses(changes, out)?;
        if !changes.fixed.is_empty() {
            writeln!(out, "\n### Repeaters, networks and stations\n")?;
            changes.fixed.iter().try_for_each(|number| writeln!(out, "- {}", table(changes, *number, &[])))?;
        }
        Ok(())
    }
}

fn write_radios(changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
    for (told, names) in [("Write again", false), ("Shown names only", true)] {
        let groups: Vec<&Group> =
            changes.rewrites.iter().filter(|group| (group.reach == Reached::Names) == names).collect();
        if !groups.is_empty() {
            writeln!(out, "\n### {told}\n")?;
        }
        groups.into_iter().try_for_each(|group| write_group(changes, group, out))?;
    }
    if changes.added.is_empty() && changes.gone.is_empty() && changes.statuses.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n### Radios\n")?;
    for (told, radios) in [("New", &changes.added), ("Gone", &changes.gone)] {
        if !radios.is_empty() {
            let names: Vec<String> = radios.iter().map(Radio::name).collect();
            writeln!(out, "- {told}: {}", escaped(&listed(&names, MOST_NAMES)))?;
        }
    }
    changes
        .statuses
        .iter()
        .try_for_each(|(radio, before, after)| writeln!(out, "- {} is {after} (was {before})", escaped(&radio.name())))
}

fn write_group(changes: &Changes, group: &Group, out: &mut dyn Write) -> io::Result<()> {
    let names: Vec<String> = group.radios.iter().map(|(radio, _)| radio.name()).collect();
    writeln!(out, "- **{}**", escaped(&listed(&names, MOST_NAMES)))?;
    for cause in &group.causes {
        writeln!(out, "  - {}", table(changes, cause.table, &cause.keys))?;
    }
    match group.radios.as_slice() {
        _ if group.own.is_empty() => Ok(()),
        [(_, Some(own))] => writeln!(out, "  - {}", table(changes, *own, &[])),
        _ => writeln!(out, "  - each has another {}", escaped(&group.own.join(", "))),
    }
}

fn write_pairs(changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
    if changes.pairs.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n### Who hears whom\n")?;
    for run in runs(&changes.pairs, MOST_PAIRS) {
        writeln!(out, "- because of {}", escaped(&run[0].because(changes)))?;
        run.iter().try_for_each(|pair| writeln!(out, "  - {}", escaped(&pair.words(MOST_NAMES))))?;
    }
    match changes.pairs.len().saturating_sub(MOST_PAIRS) {
        0 => Ok(()),
        more => writeln!(out, "- and {more} more"),
    }
}

fn table(changes: &Changes, number: usize, keys: &[usize]) -> String {
    let table = &changes.tables[number];
    format!("{} ({}:{}): {}", escaped(&table.words()), escaped(&table.path), table.line, escaped(&table.became(keys)))
}

fn write_uses(changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
    if !changes.newly_used.is_empty() {
        writeln!(out, "\n### License conditions newly used\n")?;
        for it in &changes.newly_used {
            let (what, grant) = use_words(it, "was");
            writeln!(out, "- {}; **{}**", escaped(&what), escaped(&grant))?;
        }
        writeln!(out, "\n{CAUTION}")?;
    }
    if !changes.no_longer_used.is_empty() {
        writeln!(out, "\n### License conditions no longer used\n")?;
        changes.no_longer_used.iter().try_for_each(|it| writeln!(out, "- {}", escaped(&use_words(it, "now").0)))?;
    }
    Ok(())
}

/// Text that makes no markup: characters that CommonMark gives a meaning stand behind a backslash (section 2.4), and an at
/// sign calls nobody.
pub(crate) fn escaped(text: &str) -> String {
    let mut written = String::with_capacity(text.len() + 8);
    for letter in visible(text).chars() {
        if "\\`*_{}[]<>#|!~&".contains(letter) {
            written.push('\\');
        }
        written.push(letter);
        if letter == '@' {
            written.push('\u{200B}');
        }
    }
    written
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn text_of_a_plan_makes_no_markup() {
        assert_eq!(escaped("a *b* [c](d) <e> `f` #1"), "a \\*b\\* \\[c\\](d) \\<e\\> \\`f\\` \\#1");
        assert_eq!(escaped("x\n# y"), "x␊\\# y");
        assert_eq!(escaped("@all"), "@\u{200B}all");
    }
}
