//! `guywire compute`: the computations of the hovers for other programs. One request a line on standard input, one answer
//! a line on standard output; a request that cannot be answered gets an error as its answer.

mod answer;
mod request;

use std::io::{self, BufRead, Write};

use serde_json::{Value, json};

use crate::console;
use crate::failure::Failure;
use request::Request;

/// Why a request has no answer.
#[derive(Debug, thiserror::Error)]
enum Refusal {
    /// The line is no JSON object with a request in it.
    #[error("the line is no request: {0}")]
    Request(#[from] serde_json::Error),
    /// A number is outside the range in which the computation holds.
    #[error(transparent)]
    OutOfRange(#[from] guywire_radio::OutOfRange),
    /// A text or a frequency is not in its form.
    #[error("{0}")]
    Value(String),
}

impl Refusal {
    fn of(error: impl std::fmt::Display) -> Refusal {
        Refusal::Value(error.to_string())
    }

    fn answer(&self) -> Value {
        let message = self.to_string();
        match self {
            Refusal::Request(_) => json!({ "error": { "kind": "request", "message": message } }),
            Refusal::Value(_) => json!({ "error": { "kind": "value", "message": message } }),
            Refusal::OutOfRange(it) => json!({ "error": {
                "kind": "out-of-range", "message": message,
                "what": it.what, "low": it.low, "high": it.high, "unit": it.unit,
            } }),
        }
    }
}

/// Answers the requests on standard input until it ends.
pub(crate) fn compute() -> Result<u8, Failure> {
    console::print(|out| converse(io::stdin().lock(), out))?;
    Ok(0)
}

/// One line out for each line in that is not blank, each sent at once.
fn converse(mut input: impl BufRead, out: &mut dyn Write) -> io::Result<()> {
    let mut line = Vec::new();
    while input.read_until(b'\n', &mut line)? > 0 {
        if !line.trim_ascii().is_empty() {
            writeln!(out, "{}", reply(&line))?;
            out.flush()?;
        }
        line.clear();
    }
    Ok(())
}

fn reply(line: &[u8]) -> Value {
    let answered = serde_json::from_slice::<Request>(line).map_err(Refusal::from).and_then(answer::answer);
    answered.unwrap_or_else(|refusal| refusal.answer())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(lines: &str) -> String {
        let mut out = Vec::new();
        converse(lines.as_bytes(), &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    /// Without the digits in which machines may differ.
    fn rounded(answer: Value) -> Value {
        let round = |value: Value| match value.as_f64() {
            Some(number) if value.is_f64() => json!(format!("{number:.8e}").parse::<f64>().unwrap()),
            _ => value,
        };
        match answer {
            Value::Object(members) => members.into_iter().map(|(name, value)| (name, round(value))).collect(),
            other => other,
        }
    }

    #[test]
    fn every_request_of_the_documentation_is_answered() {
        let page = include_str!("../../../../docs/output.md");
        let requests: Vec<&str> = page.lines().filter(|line| line.starts_with("{\"compute\":")).collect();
        assert_eq!(requests.len(), Request::NAMES.len());
        for name in Request::NAMES {
            assert!(requests.iter().any(|line| line.starts_with(&format!("{{\"compute\":\"{name}\""))), "{name}");
        }
        let answers = said(&requests.join("\n"));
        assert_eq!(answers.lines().count(), requests.len());
        assert!(!answers.contains("error"), "{answers}");
        let pairs: Vec<String> = requests
            .iter()
            .zip(answers.lines())
            .map(|(request, answer)| format!("{request}\n{}\n", rounded(serde_json::from_str(answer).unwrap())))
            .collect();
        insta::assert_snapshot!(pairs.join("\n"));
    }

    #[test]
    fn what_cannot_be_answered_says_why() {
        insta::assert_snapshot!(said(concat!(
            "not json\n\n",
            "{}\n",
            "[1]\n",
            "{\"compute\":\"tea\"}\n",
            "{\"compute\":\"wavelength\"}\n",
            "{\"compute\":\"wavelength\",\"frequency_mhz\":453.2,\"khz\":1}\n",
            "{\"compute\":\"wavelength\",\"frequency_mhz\":453212.5}\n",
            "{\"compute\":\"wavelength\",\"frequency_mhz\":0}\n",
            "{\"compute\":\"wavelength\",\"frequency_mhz\":\"453.2125\"}\n",
            "{\"compute\":\"free-space-loss\",\"frequency_mhz\":453.2125,\"distance_km\":-1}\n",
            "{\"compute\":\"power\",\"watts\":1,\"dbm\":30}\n",
            "{\"compute\":\"dcs\",\"code\":\"899N\"}\n",
            "{\"compute\":\"emission\",\"designator\":\"11K2\"}\n",
        )));
        assert_eq!(said(""), "");
        assert!(reply(b"\xff\xfe").to_string().contains("\"kind\":\"request\""));
    }
}
