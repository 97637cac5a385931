//! Situations worked by hand; the brute force over random plans stands in `tests/audience`.

use std::path::Path;

use guywire_text::Document;

use super::*;
use crate::{Db, EntityId, Recorder, View, derived};

const HARBOR: &str = r#"
[plan]
title = "Harbor"

[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5

[[talkgroup]]
name = "Berths"
id = 1201

[[talkgroup]]
name = "Cranes"
id = 1202

[[receive_group]]
name = "Quayside"
talkgroups = ["Berths", "Cranes"]

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
slot = 1
call = "Berths"
receive_group = "Quayside"
scan_list = "Harbor"

[[channel]]
name = "Cranes"
sends = "digital"
repeater = "beacon"
slot = 2
call = "Cranes"
receive_group = "Quayside"

[[channel]]
name = "Wrong code"
sends = "digital"
repeater = "beacon"
color_code = 3
slot = 1
call = "Berths"

[[channel]]
name = "Yard"
sends = "analog"
rx_mhz = 453.2125

[[scan_list]]
name = "Harbor"
channels = ["selected", "Cranes"]

[[zone]]
name = "All"
channels = ["Berths", "Cranes", "Wrong code", "Yard"]

[[radio]]
id = 21001
alias = "Crane 1"
zones = ["All"]
stands_by = { channel = "Cranes" }

[[radio]]
id = 21002
alias = "Berth 1"
zones = ["All"]

[[radio]]
id = 21003
alias = "Yard 1"
zones = ["All"]
stands_by = { channel = "Yard" }

[[radio]]
id = 21004
alias = "Spare"
zones = ["All"]
status = "spare"

[[radio]]
id = 21005
alias = "Lost"
zones = ["All"]
status = "lost"
"#;

fn answers(text: &str, channel: &str) -> Vec<(String, Answer, Outcome)> {
    let mut db = Db::default();
    let file = db.file_at(Path::new("/harbor/harbor.plan.toml"));
    db.set_texts(vec![(file, Ok(Document::new(text)))]);
    derived::settle(&mut db);
    let recorder = Recorder::new(None);
    let view = View::new(&db, file, &recorder);
    let named = |name: &str| -> EntityId {
        db.entities_of(file)
            .find(|id| view.name_of(*id) == Some(name) && view.channel(*id).is_some())
            .expect("a channel")
    };
    let emission = view.air(named(channel)).expect("a channel").push_to_talk().expect("it sends");
    let audience = Hearing::new(view).of(&emission, None);
    let mut found: Vec<_> = audience
        .answers
        .iter()
        .flat_map(|it| it.radios.iter().map(|radio| (view.name_of(*radio).unwrap().to_owned(), it.answer, it.outcome)))
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

fn of(found: &[(String, Answer, Outcome)]) -> Vec<(&str, Answer)> {
    found.iter().map(|(name, answer, _)| (name.as_str(), *answer)).collect()
}

#[test]
fn a_call_through_a_repeater_reaches_its_slot() {
    let found = answers(HARBOR, "Berths");
    assert_eq!(
        of(&found),
        [
            ("Berth 1", Answer::Hears),
            ("Crane 1", Answer::CouldTune),
            ("Lost", Answer::No),
            ("Spare", Answer::CouldTune),
            ("Yard 1", Answer::CouldTune),
        ]
    );
    assert_eq!(of(&answers(HARBOR, "Cranes"))[..2], [("Berth 1", Answer::IfScanning), ("Crane 1", Answer::Hears)]);
}

#[test]
fn another_color_code_is_not_repeated() {
    let found = answers(HARBOR, "Wrong code");
    assert!(of(&found).iter().all(|(_, answer)| *answer == Answer::No), "{found:?}");
}
