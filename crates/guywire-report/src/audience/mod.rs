//! Who hears whom, for people and machines to read.

mod json;
mod markdown;
mod svg;
mod text;
mod view;

use std::io;
use std::path::Path;

use guywire_plan::audience::Answer;
use guywire_workspace::{Matrix, Transmission};
use rustc_hash::FxHashMap;

pub use json::AudienceJson;
pub use markdown::markdown_audience;
pub use svg::AudienceSvg;
pub use text::AudienceText;
pub use view::audience_view;

/// Said under everything: nothing of this is a prediction of range.
pub(crate) const CAUTION: &str = "No propagation is computed: this is who could hear it within range. Prove it in the field, and emergencies on the bench, into a dummy load.";

/// What was asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// Every transmission against every class of radios.
    Matrix(Matrix),
    /// One transmission, or those of one name in several plans.
    Transmissions(Vec<Transmission>),
}

/// A form in which the audience is written.
pub trait AudienceReporter {
    /// Writes it, paths from `folder`. Colors are written as ANSI escape codes; who owns the output takes them out where
    /// they are not wanted.
    ///
    /// # Errors
    /// What the output said.
    fn write(&self, shown: &Shown, folder: &Path, out: &mut dyn io::Write) -> io::Result<()>;
}

/// A sign for a cell, so that the matrix reads without color.
pub(crate) const fn sign(answer: Answer) -> char {
    match answer {
        Answer::Hears => 'H',
        Answer::IfScanning => 's',
        Answer::CouldTune => 't',
        Answer::Unknown => '?',
        Answer::Noise => '~',
        Answer::No => '.',
    }
}

/// An answer in a few words.
pub(crate) const fn words(answer: Answer) -> &'static str {
    match answer {
        Answer::Hears => "hears it, standing by",
        Answer::IfScanning => "hears it if scanning",
        Answer::CouldTune => "could tune to it",
        Answer::Unknown => "not known",
        Answer::Noise => "noise",
        Answer::No => "no",
    }
}

/// The answers, best first.
pub(crate) const ANSWERS: [Answer; 6] =
    [Answer::Hears, Answer::IfScanning, Answer::CouldTune, Answer::Unknown, Answer::Noise, Answer::No];

/// Rows of a matrix that are still read one by one.
const MOST_ROWS: usize = 100;

/// The rows as they are shown: the names of the channels, and the number of the row that has their answers. Of many rows,
/// those with the same answers are one.
pub(crate) fn rows(matrix: &Matrix) -> Vec<(Vec<&str>, usize)> {
    let names = |row: usize| matrix.senders[row].channels.iter().map(String::as_str);
    if matrix.senders.len() <= MOST_ROWS {
        return (0..matrix.senders.len()).map(|row| (names(row).collect(), row)).collect();
    }
    let mut shown: Vec<(Vec<&str>, usize)> = Vec::new();
    let mut known: FxHashMap<&[Answer], usize> = FxHashMap::default();
    for (row, answers) in matrix.answers.iter().enumerate() {
        match known.get(answers.as_slice()) {
            Some(at) => shown[*at].0.extend(names(row)),
            None => {
                known.insert(answers, shown.len());
                shown.push((names(row).collect(), row));
            }
        }
    }
    shown
}

/// The name of a column: with where it stands by, where that tells it from others of its name.
pub(crate) fn column(matrix: &Matrix, number: usize) -> String {
    let class = &matrix.receivers[number];
    let is_same = |other: &&guywire_workspace::Receiver| other.name == class.name;
    match &class.stands_by {
        Some(home) if matrix.receivers.iter().filter(is_same).count() > 1 => format!("{}, {home}", class.name),
        _ => class.name.clone(),
    }
}

/// A path as it is shown.
pub(crate) fn path_from(path: &Path, folder: &Path) -> String {
    path.strip_prefix(folder).unwrap_or(path).to_string_lossy().replace('\\', "/")
}
