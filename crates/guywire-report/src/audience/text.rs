//! The audience for people at a terminal.

use std::io::{self, Write};
use std::path::Path;

use guywire_plan::audience::Answer;
use guywire_workspace::{Heard, Matrix, Transmission};
use unicode_width::UnicodeWidthStr;

use super::{ANSWERS, AudienceReporter, CAUTION, Shown, path_from, sign, words};
use crate::style::{FAINT, HELP, REMOVED, STRONG, styled};
use crate::visible::visible;

/// Columns of text.
const WIDE: usize = 100;
/// Columns for the name of a row.
const NAME: usize = 34;
/// Columns of a cell.
const CELL: usize = 4;

/// Text for people.
#[derive(Debug, Clone, Copy, Default)]
pub struct AudienceText;

impl AudienceReporter for AudienceText {
    fn write(&self, shown: &Shown, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
        match shown {
            Shown::Matrix(matrix) => write_matrix(matrix, folder, out)?,
            Shown::Transmissions(all) => {
                for (number, one) in all.iter().enumerate() {
                    if number > 0 {
                        writeln!(out)?;
                    }
                    write_transmission(one, folder, out)?;
                }
            }
        }
        writeln!(out, "\n{}", styled(FAINT, CAUTION))
    }
}

fn write_transmission(it: &Transmission, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
    let who = it.sender.as_ref().map(|sender| format!("{} on ", visible(sender))).unwrap_or_default();
    let title = format!("{who}{}", visible(&it.channel));
    writeln!(out, "{} ({})", styled(STRONG, &title), visible(&path_from(&it.plan, folder)))?;
    writeln!(out, "  sends {}", visible(&it.sent))?;
    for step in it.way.iter().chain(&it.refused) {
        writeln!(out, "  {}", visible(step))?;
    }
    writeln!(out, "\n{}", styled(STRONG, &it.summary))?;
    it.groups.iter().try_for_each(|group| write_group(group, out))?;
    if !it.stations.is_empty() {
        list("stations that listen", &it.stations, out)?;
    }
    for lost in &it.lost_answers {
        writeln!(out, "  {}: {}", styled(REMOVED, "one way"), visible(lost))?;
    }
    Ok(())
}

fn write_group(group: &Heard, out: &mut dyn Write) -> io::Result<()> {
    let on = group.on.as_ref().map(|on| format!(" on \"{}\"", visible(on))).unwrap_or_default();
    let what = match &group.why {
        Some(why) => format!("{}{on}: {}", words(group.answer), visible(why)),
        None => format!("{}{on}", words(group.answer)),
    };
    list(&what, &group.radios, out)
}

/// A heading with a count, and names wrapped under it.
fn list(what: &str, names: &[String], out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "  {} ({})", what, names.len())?;
    let mut line = String::new();
    for (number, name) in names.iter().enumerate() {
        let comma = if number + 1 < names.len() { "," } else { "" };
        let piece = format!("{}{comma}", visible(name));
        if !line.is_empty() && line.width() + piece.width() + 7 > WIDE {
            writeln!(out, "      {line}")?;
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(&piece);
    }
    writeln!(out, "      {line}")
}

fn write_matrix(matrix: &Matrix, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
    let radios: usize = matrix.receivers.iter().map(|class| class.radios.len()).sum();
    let title =
        format!("{} transmissions, {radios} radios in {} classes", matrix.senders.len(), matrix.receivers.len());
    writeln!(out, "{}", styled(STRONG, &title))?;
    if matrix.receivers.is_empty() || matrix.senders.is_empty() {
        return writeln!(out, "no radio is listed, or none of their channels sends: there is nothing to compare");
    }
    writeln!(out)?;
    for (number, class) in matrix.receivers.iter().enumerate() {
        let home = class.stands_by.as_ref().map(|home| format!(", stands by on \"{}\"", visible(home)));
        writeln!(
            out,
            "{:>4}  {} ×{}{} ({})",
            number + 1,
            visible(&class.name),
            class.radios.len(),
            home.unwrap_or_default(),
            visible(&path_from(&class.plan, folder))
        )?;
    }
    let per_block = (WIDE - NAME) / CELL;
    for from in (0..matrix.receivers.len()).step_by(per_block) {
        let to = (from + per_block).min(matrix.receivers.len());
        writeln!(out)?;
        let heads: String = (from..to).map(|number| format!("{:>CELL$}", number + 1)).collect();
        writeln!(out, "{:NAME$}{}", "", styled(FAINT, &heads))?;
        for (sender, answers) in matrix.senders.iter().zip(&matrix.answers) {
            let cells: String = answers[from..to].iter().map(|answer| cell(*answer)).collect();
            writeln!(out, "{}{cells}", name(&sender.channels))?;
        }
    }
    let legend: Vec<String> = ANSWERS.iter().map(|answer| format!("{} {}", sign(*answer), words(*answer))).collect();
    writeln!(out, "\n{}", legend.join("   "))?;
    writeln!(out, "one transmission in words: guywire audience --channel NAME, or --radio ALIAS")
}

/// A cell: the sign at its right edge, colored where it is worth a look.
fn cell(answer: Answer) -> String {
    let sign = format!("{:>CELL$}", sign(answer));
    match answer {
        Answer::Hears | Answer::IfScanning => styled(HELP, &sign),
        Answer::Noise => styled(REMOVED, &sign),
        Answer::No => styled(FAINT, &sign),
        Answer::CouldTune | Answer::Unknown => sign,
    }
}

/// The names of a row, as many as fit.
fn name(channels: &[String]) -> String {
    let first = channels.first().map(|first| visible(first).into_owned()).unwrap_or_default();
    let more = match channels.len() {
        0 | 1 => String::new(),
        many => format!(" +{}", many - 1),
    };
    let mut shown = String::new();
    for letter in first.chars() {
        if shown.width() + more.width() + 2 > NAME - 2 {
            shown.push('…');
            break;
        }
        shown.push(letter);
    }
    shown.push_str(&more);
    let room = NAME.saturating_sub(shown.width());
    shown.push_str(&" ".repeat(room));
    shown
}
