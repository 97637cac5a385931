//! The matrix of a plan for a view that an editor draws.

use guywire_plan::audience::Answer;
use guywire_workspace::PlanMatrix;
use serde_json::{Value, json};

use super::markdown::class_words;

/// The matrix as the language server answers with it: `{ columns: [name], rows: [{ name, cells: [cell] }] }`, where a cell
/// is an answer, or `{ answer, why }` with the reason, or the channel, beside it. An answer is one of `hears`,
/// `hears if scanning`, `could tune`, `unknown`, `noise`, `no`.
pub fn audience_view(shown: &PlanMatrix) -> Value {
    let matrix = &shown.matrix;
    let rows = matrix.senders.iter().zip(&matrix.answers).zip(&shown.remarks);
    let rows = rows.map(|((sender, answers), remarks)| {
        let cells: Vec<Value> = answers.iter().zip(remarks).map(|(answer, remark)| cell(*answer, remark)).collect();
        json!({ "name": sender.channels.join(", "), "cells": cells })
    });
    let columns = matrix.receivers.iter().map(class_words);
    json!({ "columns": columns.collect::<Vec<_>>(), "rows": rows.collect::<Vec<_>>() })
}

fn cell(answer: Answer, remark: &Option<String>) -> Value {
    match remark {
        None => word(answer).into(),
        Some(why) => json!({ "answer": word(answer), "why": why }),
    }
}

/// The answer's word for views.
const fn word(answer: Answer) -> &'static str {
    match answer {
        Answer::Hears => "hears",
        Answer::IfScanning => "hears if scanning",
        Answer::CouldTune => "could tune",
        Answer::Unknown => "unknown",
        Answer::Noise => "noise",
        Answer::No => "no",
    }
}
