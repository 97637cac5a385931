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

/// A path as it is shown.
pub(crate) fn path_from(path: &Path, folder: &Path) -> String {
    path.strip_prefix(folder).unwrap_or(path).to_string_lossy().replace('\\', "/")
}
