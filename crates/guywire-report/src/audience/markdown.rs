//! The matrix of a plan as Markdown, for an editor that shows pages.

use std::fmt::Write as _;

use guywire_plan::audience::Answer;
use guywire_workspace::{PlanMatrix, Receiver, Sender};
use unicode_width::UnicodeWidthStr;

use super::{ANSWERS, CAUTION, sign, words};
use crate::compare::escaped;

/// Classes of radios that a table has room for; with more there is none, and the lists below say the same.
const MOST_COLUMNS: usize = 40;
/// Above the names of what is sent.
const SENT: &str = "sent";

/// What the radios of a plan send and who hears it, as Markdown (CommonMark, and a table as GFM has it): signs in a table,
/// then each transmission with the reasons. `name` is that of the file as it is shown. Text of plans is escaped.
pub fn markdown_audience(name: &str, shown: &PlanMatrix) -> String {
    let mut page = format!("# Who hears whom: {}\n", escaped(name));
    let matrix = &shown.matrix;
    if matrix.senders.is_empty() || matrix.receivers.is_empty() {
        page.push_str("\nNo radio sends anything here.\n");
        return page;
    }
    page.push('\n');
    if matrix.receivers.len() <= MOST_COLUMNS {
        write_table(&mut page, shown);
    }
    for (row, sender) in matrix.senders.iter().enumerate() {
        write_transmission(&mut page, shown, row, sender);
    }
    let _ = writeln!(page, "\n{CAUTION}");
    page
}

/// Aligned, for editors that show the text as it is.
fn write_table(page: &mut String, shown: &PlanMatrix) {
    let matrix = &shown.matrix;
    let names: Vec<String> = matrix.senders.iter().map(|sender| escaped(&sender.channels.join(", "))).collect();
    let wide = names.iter().map(|name| name.width()).max().unwrap_or_default().max(SENT.width());
    let mut line = |name: &str, cells: Vec<String>| {
        let cells: String = cells.iter().map(|cell| format!("{cell:<2}|")).collect();
        let _ = writeln!(page, "|{name}{}|{cells}", " ".repeat(wide - name.width()));
    };
    line(SENT, (1..=matrix.receivers.len()).map(|number| number.to_string()).collect());
    line(&"-".repeat(wide), vec!["--".to_owned(); matrix.receivers.len()]);
    for (name, answers) in names.iter().zip(&matrix.answers) {
        line(name, answers.iter().map(|answer| escaped(&sign(*answer).to_string())).collect());
    }
    page.push('\n');
    for (number, class) in matrix.receivers.iter().enumerate() {
        let _ = writeln!(page, "{}. {}", number + 1, escaped(&class_words(class)));
    }
    let meanings: Vec<String> =
        ANSWERS.iter().map(|answer| format!("{} {}", escaped(&sign(*answer).to_string()), words(*answer))).collect();
    let _ = writeln!(page, "\n{}.", meanings.join("; "));
}

fn write_transmission(page: &mut String, shown: &PlanMatrix, row: usize, sender: &Sender) {
    let _ = writeln!(page, "\n## {}\n", escaped(&sender.channels.join(", ")));
    let stations = match sender.stations {
        0 => String::new(),
        1 => ", and 1 station that listens".to_owned(),
        many => format!(", and {many} stations that listen"),
    };
    let _ = writeln!(page, "Sends {}. {}{stations}.\n", escaped(&sender.sent), escaped(&sender.summary));
    for answer in ANSWERS {
        for (remark, radios) in groups(shown, row, answer) {
            let remark = remark.map(|remark| format!(" ({})", escaped(remark))).unwrap_or_default();
            let _ = writeln!(page, "- {}{remark}: {}", words(answer), escaped(&radios.join(", ")));
        }
    }
}

/// The classes that give an answer, by what is remarked of it, in the order of the columns.
fn groups(shown: &PlanMatrix, row: usize, answer: Answer) -> Vec<(Option<&str>, Vec<String>)> {
    let mut groups: Vec<(Option<&str>, Vec<String>)> = Vec::new();
    let cells = shown.matrix.answers[row].iter().zip(&shown.remarks[row]);
    for ((held, remark), class) in cells.zip(&shown.matrix.receivers) {
        if *held != answer {
            continue;
        }
        let name = class_name(class);
        match groups.iter_mut().find(|(of, _)| *of == remark.as_deref()) {
            Some((_, names)) => names.push(name),
            None => groups.push((remark.as_deref(), vec![name])),
        }
    }
    groups
}

fn class_name(class: &Receiver) -> String {
    match class.radios.len() {
        0 | 1 => class.name.clone(),
        many => format!("{} ({many})", class.name),
    }
}

/// A class and where it stands by: `crane crew (4), standing by on "Hook A"`.
pub(super) fn class_words(class: &Receiver) -> String {
    let home = class.stands_by.as_ref().map(|home| format!(", standing by on \"{home}\"")).unwrap_or_default();
    format!("{}{home}", class_name(class))
}
