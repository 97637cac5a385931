//! The changes for people at a terminal.

use std::io::{self, Write};

use guywire_workspace::{PairKind, Reached};

use super::names::listed;
use super::{CAUTION, Changes, ChangesReporter, Group, Radio, counted, runs, use_words};
use crate::style::{FAINT, STRONG, styled};
use crate::visible::visible;

/// Names that are listed of a group.
const MOST_NAMES: usize = 10;
/// Changes of who hears whom that are listed.
const MOST_PAIRS: usize = 24;

/// Text for people.
#[derive(Debug, Clone, Copy, Default)]
pub struct CompareText;

impl ChangesReporter for CompareText {
    fn write(&self, changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
        for (before, after) in &changes.renamed {
            writeln!(out, "{} was {}", visible(after), visible(before))?;
        }
        let (before, after) = (changes.before.words(), changes.after.words());
        writeln!(out, "From {} to {}", visible(&before), visible(&after))?;
        write_radios(changes, out)?;
        write_pairs(changes, out)?;
        write_uses(changes, out)?;
        if !changes.fixed.is_empty() {
            heading("Repeaters, networks and stations", out)?;
            changes.fixed.iter().try_for_each(|number| write_table(changes, *number, &[], "  ", out))?;
        }
        writeln!(out, "\n{}", closing(changes))
    }
}

fn heading(text: &str, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\n{}", styled(STRONG, text))
}

fn write_radios(changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
    let (more, names) = changes.to_write();
    if more > 0 {
        heading(&format!("Write again: {} of {}", more, counted(changes.radios, "radio")), out)?;
        let groups = changes.rewrites.iter().filter(|group| group.reach != Reached::Names);
        groups.into_iter().try_for_each(|group| write_group(changes, group, out))?;
    }
    if names > 0 {
        heading(&format!("Shown names only: {}", counted(names, "radio")), out)?;
        let groups = changes.rewrites.iter().filter(|group| group.reach == Reached::Names);
        groups.into_iter().try_for_each(|group| write_group(changes, group, out))?;
    }
    let lists = [("New radios", &changes.added), ("Radios that are gone", &changes.gone)];
    for (told, radios) in lists.into_iter().filter(|(_, radios)| !radios.is_empty()) {
        heading(told, out)?;
        writeln!(out, "  {}", visible(&listed(&radios.iter().map(Radio::name).collect::<Vec<_>>(), MOST_NAMES)))?;
    }
    if !changes.statuses.is_empty() {
        heading("Status", out)?;
    }
    changes
        .statuses
        .iter()
        .try_for_each(|(radio, before, after)| writeln!(out, "  {} is {after} (was {before})", visible(&radio.name())))
}

fn write_group(changes: &Changes, group: &Group, out: &mut dyn Write) -> io::Result<()> {
    let names: Vec<String> = group.radios.iter().map(|(radio, _)| radio.name()).collect();
    writeln!(out, "  {}", visible(&listed(&names, MOST_NAMES)))?;
    for cause in &group.causes {
        write_table(changes, cause.table, &cause.keys, "    ", out)?;
    }
    match group.radios.as_slice() {
        _ if group.own.is_empty() => Ok(()),
        [(_, Some(own))] => write_table(changes, *own, &[], "    ", out),
        _ => writeln!(out, "    each has another {}", group.own.join(", ")),
    }
}

fn write_table(changes: &Changes, number: usize, keys: &[usize], indent: &str, out: &mut dyn Write) -> io::Result<()> {
    let table = &changes.tables[number];
    let place = styled(FAINT, &format!("({}:{})", visible(&table.path), table.line));
    writeln!(out, "{indent}{} {place}: {}", visible(&table.words()), visible(&table.became(keys)))
}

fn write_pairs(changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
    if changes.pairs.is_empty() {
        return Ok(());
    }
    heading("Who hears whom", out)?;
    for run in runs(&changes.pairs, MOST_PAIRS) {
        writeln!(out, "  {} {}", styled(FAINT, "because of"), visible(&run[0].because(changes)))?;
        run.iter().try_for_each(|pair| writeln!(out, "    {}", visible(&pair.words(MOST_NAMES))))?;
    }
    match changes.pairs.len().saturating_sub(MOST_PAIRS) {
        0 => Ok(()),
        more => writeln!(out, "  and {more} more; --format json has all"),
    }
}

fn write_uses(changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
    if !changes.newly_used.is_empty() {
        heading("License conditions newly used", out)?;
        for it in &changes.newly_used {
            let (what, grant) = use_words(it, "was");
            writeln!(out, "  {}; {}", visible(&what), visible(&grant))?;
        }
        writeln!(out, "  {}", styled(FAINT, CAUTION))?;
    }
    if !changes.no_longer_used.is_empty() {
        heading("License conditions no longer used", out)?;
        changes.no_longer_used.iter().try_for_each(|it| writeln!(out, "  {}", visible(&use_words(it, "now").0)))?;
    }
    Ok(())
}

/// The last line.
pub(super) fn closing(changes: &Changes) -> String {
    let paper = match changes.others {
        0 => String::new(),
        count => format!(" {} changed on paper only or in what no radio holds.", counted(count, "more table")),
    };
    if changes.is_empty() {
        return format!("Nothing changes on the air or in the hand.{paper}");
    }
    let (more, names) = changes.to_write();
    let names = if names > 0 { format!(", {names} for shown names only") } else { String::new() };
    let some = |kind: PairKind| changes.pairs.iter().any(|pair| pair.kind == kind);
    let hearing = match (some(PairKind::Lost), some(PairKind::Weakened)) {
        (true, _) => " Some no longer hear others.",
        (false, true) => " Some hear others less readily.",
        (false, false) => "",
    };
    format!("{} to write again{names}.{hearing}{paper}", counted(more, "radio"))
}
