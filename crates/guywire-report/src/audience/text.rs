//! The audience for people at a terminal.

use std::io::{self, Write};
use std::path::Path;

use guywire_plan::audience::Answer;
use guywire_workspace::{Heard, Matrix, Transmission};
use unicode_width::UnicodeWidthStr;

use super::{ANSWERS, AudienceReporter, CAUTION, Shown, path_from, rows, sign, words};
use crate::style::{FAINT, HELP, REMOVED, STRONG, styled};
use crate::visible::visible;

/// Most columns for the name of a row.
const NAME: usize = 34;
/// Rows after which the numbers of the columns are written again.
const ROWS: usize = 40;

/// Text for people.
#[derive(Debug, Clone, Copy)]
pub struct AudienceText {
    /// Columns of the terminal.
    pub columns: usize,
}

impl Default for AudienceText {
    fn default() -> Self {
        AudienceText { columns: 80 }
    }
}

impl AudienceReporter for AudienceText {
    fn write(&self, shown: &Shown, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
        match shown {
            Shown::Matrix(matrix) => write_matrix(matrix, folder, self.columns, out)?,
            Shown::Transmissions(all) => {
                for (number, one) in all.iter().enumerate() {
                    if number > 0 {
                        writeln!(out)?;
                    }
                    write_transmission(one, folder, self.columns, out)?;
                }
            }
        }
        writeln!(out, "\n{}", styled(FAINT, CAUTION))
    }
}

fn write_transmission(it: &Transmission, folder: &Path, wide: usize, out: &mut dyn Write) -> io::Result<()> {
    let who = it.sender.as_ref().map(|sender| format!("{} on ", visible(sender))).unwrap_or_default();
    let title = format!("{who}{}", visible(&it.channel));
    writeln!(out, "{} ({})", styled(STRONG, &title), visible(&path_from(&it.plan, folder)))?;
    writeln!(out, "  sends {}", visible(&it.sent))?;
    for step in it.way.iter().chain(&it.refused) {
        writeln!(out, "  {}", visible(step))?;
    }
    writeln!(out, "\n{}", styled(STRONG, &it.summary))?;
    it.groups.iter().try_for_each(|group| write_group(group, wide, out))?;
    if !it.stations.is_empty() {
        list("stations that listen", &it.stations, wide, out)?;
    }
    for lost in &it.lost_answers {
        writeln!(out, "  {}: {}", styled(REMOVED, "one way"), visible(lost))?;
    }
    Ok(())
}

fn write_group(group: &Heard, wide: usize, out: &mut dyn Write) -> io::Result<()> {
    let on = group.on.as_ref().map(|on| format!(" on \"{}\"", visible(on))).unwrap_or_default();
    let what = match &group.why {
        Some(why) => format!("{}{on}: {}", words(group.answer), visible(why)),
        None => format!("{}{on}", words(group.answer)),
    };
    list(&what, &group.radios, wide, out)
}

/// A heading with a count, and names wrapped under it.
fn list(what: &str, names: &[String], wide: usize, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "  {} ({})", what, names.len())?;
    let mut line = String::new();
    for (number, name) in names.iter().enumerate() {
        let comma = if number + 1 < names.len() { "," } else { "" };
        let piece = format!("{}{comma}", visible(name));
        if !line.is_empty() && line.width() + piece.width() + 7 > wide {
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

fn write_matrix(matrix: &Matrix, folder: &Path, wide: usize, out: &mut dyn Write) -> io::Result<()> {
    let radios: usize = matrix.receivers.iter().map(|class| class.radios.len()).sum();
    let title =
        format!("{} transmissions, {radios} radios in {} classes", matrix.senders.len(), matrix.receivers.len());
    writeln!(out, "{}", styled(STRONG, &title))?;
    if matrix.receivers.is_empty() || matrix.senders.is_empty() {
        return writeln!(out, "no radio is listed, or none of their channels sends: there is nothing to compare");
    }
    write_classes(matrix, folder, out)?;
    let rows = rows(matrix);
    let names: Vec<String> = rows.iter().map(|(channels, _)| name(channels)).collect();
    let room = names.iter().map(|name| name.width()).max().unwrap_or(0);
    // A sign stands under the last digit of its column's number, set off by a blank.
    let cell_room = matrix.receivers.len().to_string().len() + 1;
    let per_block = (wide.saturating_sub(room) / cell_room).max(1);
    for from in (0..matrix.receivers.len()).step_by(per_block) {
        let to = (from + per_block).min(matrix.receivers.len());
        let heads: String = (from..to).map(|number| format!("{:>cell_room$}", number + 1)).collect();
        // Of several blocks, each has the rows of which somebody in it hears something; the first those of nobody at all.
        let is_told = |row: usize| {
            let hears = |answers: &[Answer]| answers.iter().any(|answer| *answer != Answer::No);
            hears(&matrix.answers[row][from..to]) || (from == 0 && !hears(&matrix.answers[row]))
        };
        let is_whole = from == 0 && to == matrix.receivers.len();
        let told = rows.iter().zip(&names).filter(|((_, row), _)| is_whole || is_told(*row));
        for (number, ((_, row), name)) in told.enumerate() {
            if number % ROWS == 0 {
                writeln!(out, "\n{:room$}{}", "", styled(FAINT, &heads))?;
            }
            let cells: String = matrix.answers[*row][from..to].iter().map(|answer| cell(*answer, cell_room)).collect();
            writeln!(out, "{name}{}{cells}", " ".repeat(room - name.width()))?;
        }
    }
    write_legend(matrix, rows.len(), per_block, out)
}

/// The classes with their numbers, by plan.
fn write_classes(matrix: &Matrix, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
    let mut plan: Option<&Path> = None;
    for (number, class) in matrix.receivers.iter().enumerate() {
        if plan != Some(&class.plan) {
            writeln!(out, "\n{}", visible(&path_from(&class.plan, folder)))?;
            plan = Some(&class.plan);
        }
        let home = class.stands_by.as_ref().map(|home| format!(", stands by on \"{}\"", visible(home)));
        let (name, count) = (visible(&class.name), class.radios.len());
        writeln!(out, "{:>4}  {name} ×{count}{}", number + 1, home.unwrap_or_default())?;
    }
    Ok(())
}

fn write_legend(matrix: &Matrix, rows: usize, per_block: usize, out: &mut dyn Write) -> io::Result<()> {
    let legend = |answers: &[Answer]| {
        let each = answers.iter().map(|answer| format!("{} {}", sign(*answer), words(*answer)));
        each.collect::<Vec<_>>().join("   ")
    };
    writeln!(out, "\n{}\n{}", legend(&ANSWERS[..3]), legend(&ANSWERS[3..]))?;
    if rows < matrix.senders.len() {
        writeln!(out, "+n: as many more channels with the same answers; --format json has them")?;
    }
    if per_block < matrix.receivers.len() {
        writeln!(out, "rows that nobody of a block makes anything of are left out of it")?;
    }
    writeln!(out, "one transmission in words: guywire audience --channel NAME, or --radio ALIAS")
}

/// A cell: the sign at its right edge, colored where it is worth a look.
fn cell(answer: Answer, room: usize) -> String {
    let sign = format!("{:>room$}", sign(answer));
    match answer {
        Answer::Hears | Answer::IfScanning => styled(HELP, &sign),
        Answer::Noise => styled(REMOVED, &sign),
        Answer::No => styled(FAINT, &sign),
        Answer::CouldTune | Answer::Unknown => sign,
    }
}

/// The names of a row, as many as fit.
fn name(channels: &[&str]) -> String {
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
    shown + &more
}
