//! The audience as one JSON document, for programs. Described in docs/output.md and docs/audience.schema.json.

use std::io::{self, Write};
use std::path::Path;

use guywire_plan::audience::Answer;
use guywire_workspace::{Matrix, Transmission};
use serde::Serialize;

use super::{AudienceReporter, CAUTION, Shown, path_from};
use crate::json::write_json;

/// The version of the document. A new member does not change it; one that goes or means something else does.
const VERSION: u32 = 1;

/// One JSON document (RFC 8259).
#[derive(Debug, Clone, Copy, Default)]
pub struct AudienceJson;

#[derive(Serialize)]
struct Document<'a> {
    version: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    matrix: Option<MatrixOut<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    transmissions: Option<Vec<TransmissionOut<'a>>>,
    caution: &'static str,
}

#[derive(Serialize)]
struct MatrixOut<'a> {
    senders: Vec<SenderOut<'a>>,
    receivers: Vec<ReceiverOut<'a>>,
    answers: Vec<Vec<&'static str>>,
}

#[derive(Serialize)]
struct SenderOut<'a> {
    channels: &'a [String],
    sent: &'a str,
    plan: String,
    stations: usize,
    summary: &'a str,
}

#[derive(Serialize)]
struct ReceiverOut<'a> {
    name: &'a str,
    plan: String,
    stands_by: Option<&'a str>,
    radios: &'a [String],
}

#[derive(Serialize)]
struct TransmissionOut<'a> {
    plan: String,
    channel: &'a str,
    sender: Option<&'a str>,
    sent: &'a str,
    way: &'a [String],
    refused: &'a [String],
    summary: &'a str,
    groups: Vec<GroupOut<'a>>,
    stations: &'a [String],
    lost_answers: &'a [String],
}

#[derive(Serialize)]
struct GroupOut<'a> {
    answer: &'static str,
    why: Option<&'a str>,
    on: Option<&'a str>,
    radios: &'a [String],
}

impl AudienceReporter for AudienceJson {
    fn write(&self, shown: &Shown, folder: &Path, out: &mut dyn Write) -> io::Result<()> {
        let (matrix, transmissions) = match shown {
            Shown::Matrix(it) => (Some(matrix(it, folder)), None),
            Shown::Transmissions(all) => (None, Some(all.iter().map(|it| transmission(it, folder)).collect())),
        };
        write_json(&Document { version: VERSION, matrix, transmissions, caution: CAUTION }, out)
    }
}

/// The word of an answer.
pub(super) const fn word(answer: Answer) -> &'static str {
    match answer {
        Answer::Hears => "hears",
        Answer::IfScanning => "if-scanning",
        Answer::CouldTune => "could-tune",
        Answer::Unknown => "not-known",
        Answer::Noise => "noise",
        Answer::No => "no",
    }
}

fn matrix<'a>(it: &'a Matrix, folder: &Path) -> MatrixOut<'a> {
    MatrixOut {
        senders: it
            .senders
            .iter()
            .map(|sender| SenderOut {
                channels: &sender.channels,
                sent: &sender.sent,
                plan: path_from(&sender.plan, folder),
                stations: sender.stations,
                summary: &sender.summary,
            })
            .collect(),
        receivers: it
            .receivers
            .iter()
            .map(|class| ReceiverOut {
                name: &class.name,
                plan: path_from(&class.plan, folder),
                stands_by: class.stands_by.as_deref(),
                radios: &class.radios,
            })
            .collect(),
        answers: it.answers.iter().map(|row| row.iter().map(|answer| word(*answer)).collect()).collect(),
    }
}

fn transmission<'a>(it: &'a Transmission, folder: &Path) -> TransmissionOut<'a> {
    TransmissionOut {
        plan: path_from(&it.plan, folder),
        channel: &it.channel,
        sender: it.sender.as_deref(),
        sent: &it.sent,
        way: &it.way,
        refused: &it.refused,
        summary: &it.summary,
        groups: it
            .groups
            .iter()
            .map(|group| GroupOut {
                answer: word(group.answer),
                why: group.why.as_deref(),
                on: group.on.as_deref(),
                radios: &group.radios,
            })
            .collect(),
        stations: &it.stations,
        lost_answers: &it.lost_answers,
    }
}
