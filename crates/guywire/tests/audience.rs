//! `guywire audience`: who hears whom in the demo, as a matrix, in words and for programs.

#![allow(clippy::unwrap_used)]

mod common;

use std::path::Path;

use common::{Folder, Run, SOUND};
use serde_json::Value;

/// The program on the demo, from the folder of the demo.
fn audience(arguments: &[&str]) -> Run {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh").canonicalize().unwrap();
    let mut command = Folder::new().command();
    common::run(command.current_dir(demo).arg("audience").args(arguments))
}

/// What it prints where it can answer.
fn said(arguments: &[&str]) -> String {
    let run = audience(arguments);
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""), "{arguments:?}");
    run.out
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&said(&[arguments, &["--format", "json"]].concat())).unwrap()
}

#[test]
fn the_matrix_has_a_row_a_transmission_and_a_column_a_class() {
    insta::assert_snapshot!("matrix", said(&[]));
}

#[test]
fn a_channel_is_told_in_words() {
    insta::assert_snapshot!("channel", said(&["--channel", "Gate"]));
}

#[test]
fn a_radio_sends_where_it_stands_by() {
    insta::assert_snapshot!("radio", said(&["--radio", "Crane 1"]));
    assert_eq!(said(&["--radio", "Crane 1"]), said(&["--radio", "Crane 1", "--channel", "Cranes"]));
}

#[test]
fn what_cannot_be_asked_is_told_in_one_line_with_code_2() {
    let cases: &[(&[&str], &str)] = &[
        (&["--channel", "Gat"], "no plan has a channel \"Gat\"; did you mean \"Gate\"?"),
        (&["--radio", "Crane 11"], "no plan has a radio \"Crane 11\"; did you mean \"Crane 1\"?"),
        (&["--radio", "Crane 1", "--channel", "Gate"], "radio \"Crane 1\" does not have channel \"Gate\" in its zones"),
        (&["--radio", "Crane 1", "--channel", "Gat"], "no plan has a channel \"Gat\"; did you mean \"Gate\"?"),
    ];
    for (arguments, told) in cases {
        for format in ["text", "json", "svg"] {
            let run = audience(&[arguments, &["--format", format][..]].concat());
            assert_eq!((run.code, run.out.as_str()), (Some(2), ""), "{arguments:?}");
            assert_eq!(run.err, format!("guywire: {told}\n"));
        }
    }
}

#[test]
fn the_matrix_for_programs_has_an_answer_for_each_receiver() {
    let document = json(&[]);
    let list = |name: &str| document["matrix"][name].as_array().unwrap().clone();
    let (senders, receivers, answers) = (list("senders"), list("receivers"), list("answers"));
    assert!(document.get("transmissions").is_none() && !senders.is_empty() && !receivers.is_empty());
    assert_eq!(answers.len(), senders.len());
    for (sender, row) in senders.iter().zip(&answers) {
        assert_eq!(row.as_array().unwrap().len(), receivers.len(), "{sender}");
        // A call to one unit reaches one radio of its class, and a cell is the best of its class.
        if sender["sent"].as_str().unwrap().contains("(unit ") {
            continue;
        }
        let count = |answer: &str| -> usize {
            let heard = row.as_array().unwrap().iter().zip(&receivers).filter(|(it, _)| *it == answer);
            heard.map(|(_, receiver)| receiver["radios"].as_array().unwrap().len()).sum()
        };
        let parts: Vec<&str> = sender["summary"].as_str().unwrap().split([':', ',']).map(str::trim).collect();
        for (answer, words) in [("hears", "standing by"), ("if-scanning", "if scanning"), ("could-tune", "could tune")]
        {
            let told = parts.contains(&format!("{} {words}", count(answer)).as_str());
            assert_eq!(told, count(answer) > 0, "{answer}: {sender}");
        }
    }
}

#[test]
fn the_radio_that_sends_is_not_among_those_who_hear() {
    let radios = |arguments: &[&str]| -> Vec<String> {
        let document = json(arguments);
        let groups = document["transmissions"][0]["groups"].as_array().unwrap().clone();
        let of_group = |group: &Value| group["radios"].as_array().unwrap().clone();
        groups.iter().flat_map(of_group).map(|radio| radio.as_str().unwrap().to_owned()).collect()
    };
    let (of_channel, of_radio) = (radios(&["--channel", "Cranes"]), radios(&["--radio", "Crane 1"]));
    assert!(of_channel.contains(&"Crane 1".to_owned()) && !of_radio.contains(&"Crane 1".to_owned()));
    assert_eq!(of_radio.len() + 1, of_channel.len());
}

#[test]
fn plans_without_radios_say_that_there_is_nothing_to_compare() {
    let folder = Folder::with(&[("harbor.plan.toml", SOUND)]);
    let run = folder.guywire(&["audience"]);
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
    assert!(run.out.contains("there is nothing to compare"), "{}", run.out);
}

#[test]
fn the_picture_has_a_cell_for_each_answer_and_room_for_the_last_name() {
    let (picture, document) = (said(&["--format", "svg"]), json(&[]));
    let count = |name: &str| document["matrix"][name].as_array().unwrap().len();
    let (page, legend) = (1, 6);
    assert_eq!(picture.matches("<rect ").count(), count("senders") * count("receivers") + page + legend);
    let number = |after: &str, part: usize| -> f64 {
        let (_, rest) = picture.rsplit_once(after).unwrap();
        rest.split([' ', '"']).nth(part).unwrap().parse().unwrap()
    };
    let (width, last) = (number("viewBox=\"", 2), number("transform=\"translate(", 0));
    // 22 signs of 13 px, 0.6 as wide as high (common practice of monospace fonts, no source), leaning at 60 degrees.
    assert!(width - last >= 22.0 * 13.0 * 0.6 * 60_f64.to_radians().cos(), "{width} {last}");
}

/// Of many rows those that are alike are one, and a block has only what its classes make something of: a fleet of many
/// classes is read on 80 columns.
#[test]
fn a_large_matrix_is_short_and_narrow() {
    let crew = |number: u32| {
        let channel = |side: u32| {
            let rx = 451_212_500 + 50_000 * number + 12_500 * side;
            format!(
                "[[channel]]\nname = \"Crew {number:02} {side}\"\nsends = \"analog\"\nrx_mhz = {}.{:06}\n\n",
                rx / 1_000_000,
                rx % 1_000_000
            )
        };
        let names = (0..4).map(|side| format!("\"Crew {number:02} {side}\"")).collect::<Vec<_>>().join(", ");
        let zone = format!("[[zone]]\nname = \"Zone {number}\"\nchannels = [{names}]\n\n");
        let radio = format!(
            "[[radio]]\nid = {}\nalias = \"Crew {number:02}\"\nzones = [\"Zone {number}\"]\n\n",
            21001 + number
        );
        (0..4).map(channel).collect::<String>() + &zone + &radio
    };
    let plan = format!("[plan]\n\n{}", (0..40).map(crew).collect::<String>());
    let folder = Folder::with(&[("harbor.plan.toml", &plan)]);
    let run = folder.guywire(&["audience"]);
    assert_eq!((run.code, run.err.as_str()), (Some(0), ""));
    let matrix = run.out.split("\n\nNo propagation").next().unwrap();
    assert!(matrix.lines().all(|line| line.chars().count() <= 80), "{matrix}");
    for number in 0..40 {
        let (home, others) = (format!("\nCrew {number:02} 0 "), format!("\nCrew {number:02} 1 +2 "));
        assert_eq!((matrix.matches(&home).count(), matrix.matches(&others).count()), (1, 1), "{number}: {matrix}");
    }
    let picture = folder.guywire(&["audience", "--format", "svg"]).out;
    assert_eq!(picture.matches(">Crew 00 ×1<").count(), 2, "the columns are named above each band");
    assert_eq!(picture.matches(">Crew 07 1 +2<").count(), 1);
}
