//! The matrix as a picture: self-contained, without script, in the colors of the reader's theme. Signs carry the meaning;
//! color only helps.

use std::fmt::Write as _;
use std::io::{self, Write};
use std::path::Path;

use guywire_plan::audience::Answer;
use guywire_workspace::Matrix;

use super::json::word;
use super::{ANSWERS, AudienceReporter, CAUTION, Shown, column, path_from, rows, sign, words};
use crate::visible::visible;

/// The side of a cell, px.
const CELL: usize = 26;
/// Room for the names of rows, px.
const NAMES: usize = 250;
/// Room for the names of columns, px.
const HEADS: usize = 165;
/// Most rows before the names of the columns are written again.
const BAND: usize = 60;
/// Room to the right of the last column for its name, which leans out by half its length, px.
const LEAN: usize = 100;

/// One SVG document (SVG 1.1).
#[derive(Debug, Clone, Copy, Default)]
pub struct AudienceSvg;

impl AudienceReporter for AudienceSvg {
    fn write(&self, shown: &Shown, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
        match shown {
            Shown::Matrix(matrix) => out.write_all(draw(matrix, folder).as_bytes()),
            Shown::Transmissions(all) => out.write_all(draw(&as_matrix(all), folder).as_bytes()),
        }
    }
}

/// Transmissions as rows of a matrix whose columns are the groups of their answers.
fn as_matrix(all: &[guywire_workspace::Transmission]) -> Matrix {
    use guywire_workspace::{Receiver, Sender};
    let groups: Vec<(usize, &guywire_workspace::Heard)> =
        all.iter().enumerate().flat_map(|(row, one)| one.groups.iter().map(move |group| (row, group))).collect();
    let receiver = |(row, group): &(usize, &guywire_workspace::Heard)| Receiver {
        name: group.radios.first().cloned().unwrap_or_default(),
        plan: all[*row].plan.clone(),
        stands_by: group.on.clone(),
        radios: group.radios.clone(),
    };
    Matrix {
        senders: all
            .iter()
            .map(|one| Sender {
                channels: vec![one.channel.clone()],
                sent: one.sent.clone(),
                plan: one.plan.clone(),
                stations: one.stations.len(),
                summary: one.summary.clone(),
            })
            .collect(),
        receivers: groups.iter().map(receiver).collect(),
        answers: (0..all.len())
            .map(|row| groups.iter().map(|(of, group)| if *of == row { group.answer } else { Answer::No }).collect())
            .collect(),
    }
}

fn draw(matrix: &Matrix, folder: &Path) -> String {
    let rows = rows(matrix);
    let columns = matrix.receivers.len();
    let bands = rows.len().div_ceil(BAND).max(1);
    let band = rows.len().div_ceil(bands).max(1);
    let legend_at = HEADS * bands + rows.len() * CELL + 30;
    let (width, height) = ((NAMES + columns * CELL + LEAN).max(720), legend_at + 70);
    let mut svg = String::new();
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"t d\" font-family=\"ui-monospace, monospace\" font-size=\"13\">\n<title id=\"t\">Who hears whom</title>\n<desc id=\"d\">{} transmissions by row, {columns} classes of radios by column. {}</desc>\n{STYLE}<rect class=\"page\" width=\"{width}\" height=\"{height}\"/>\n",
        matrix.senders.len(),
        escaped(CAUTION)
    );
    for (number, (channels, row)) in rows.iter().enumerate() {
        let y = HEADS * (number / band + 1) + number * CELL;
        if number % band == 0 {
            heads(&mut svg, matrix, folder, y - 8);
        }
        let sender = &matrix.senders[*row];
        let more = if channels.len() > 1 { format!(" +{}", channels.len() - 1) } else { String::new() };
        let name = format!("{}{more}", cut(channels.first().copied().unwrap_or_default(), 26));
        let _ = writeln!(
            svg,
            "<text class=\"ink\" x=\"{}\" y=\"{}\" text-anchor=\"end\">{}<title>{}</title></text>",
            NAMES - 8,
            y + 18,
            escaped(&name),
            escaped(&told(sender, channels))
        );
        for (column, answer) in matrix.answers[*row].iter().enumerate() {
            cell(&mut svg, NAMES + column * CELL, y, *answer);
        }
    }
    for (number, answer) in ANSWERS.iter().enumerate() {
        let (x, y) = (20 + (number % 3) * 230, legend_at + (number / 3) * 30);
        cell(&mut svg, x, y, *answer);
        let _ = writeln!(svg, "<text class=\"ink\" x=\"{}\" y=\"{}\">{}</text>", x + CELL + 8, y + 18, words(*answer));
    }
    svg.push_str("</svg>\n");
    svg
}

/// What is said of a row where the pointer rests on its name.
fn told(sender: &guywire_workspace::Sender, channels: &[&str]) -> String {
    match channels.len() {
        one if one == sender.channels.len() => format!("{}. {}", sender.sent, sender.summary),
        _ => format!("{}. {}", channels.join(", "), sender.summary),
    }
}

/// The names of the columns, leaning up from a line.
fn heads(svg: &mut String, matrix: &Matrix, folder: &Path, y: usize) {
    for (number, class) in matrix.receivers.iter().enumerate() {
        let x = NAMES + number * CELL + CELL / 2 + 4;
        let label = format!("{} ×{}", cut(&column(matrix, number), 18), class.radios.len());
        let home = class.stands_by.as_deref().map(|home| format!(", stands by on {home}")).unwrap_or_default();
        let _ = writeln!(
            svg,
            "<text class=\"ink\" transform=\"translate({x} {y}) rotate(-60)\">{}<title>{}</title></text>",
            escaped(&label),
            escaped(&format!("{}{home} ({})", class.name, path_from(&class.plan, folder)))
        );
    }
}

/// Both themes; a viewer that knows neither shows the light one.
const STYLE: &str = "<style>.page{fill:#fff}.ink{fill:#1c2733}.sign{fill:#1c2733;text-anchor:middle}.hears{fill:#9fd3a8}.if-scanning{fill:#d3ecd6}.could-tune{fill:#dfe7f2}.not-known{fill:#efe6c8}.noise{fill:#f0b9ae}.no{fill:#f2f3f5}@media(prefers-color-scheme:dark){.page{fill:#14191f}.ink,.sign{fill:#e3e8ee}.hears{fill:#2f6b3c}.if-scanning{fill:#244b2d}.could-tune{fill:#2b3a52}.not-known{fill:#554a22}.noise{fill:#7c3327}.no{fill:#20262e}}</style>\n";

fn cell(svg: &mut String, x: usize, y: usize, answer: Answer) {
    let _ = writeln!(
        svg,
        "<rect class=\"{}\" x=\"{x}\" y=\"{y}\" width=\"{}\" height=\"{}\" rx=\"3\"/><text class=\"sign\" x=\"{}\" y=\"{}\">{}</text>",
        word(answer),
        CELL - 2,
        CELL - 2,
        x + CELL / 2 - 1,
        y + 17,
        sign(answer)
    );
}

fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(most - 1).collect();
    short.push('…');
    short
}

fn escaped(text: &str) -> String {
    visible(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
