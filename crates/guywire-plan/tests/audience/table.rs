//! Runs the situations, and holds the table in the documentation to them.

use std::fmt::Write;
use std::path::Path;

use guywire_plan::View;
use guywire_plan::audience::{Answer, Hearing};
use guywire_plan::language::Kind;

use crate::engine::{Read, read};
use crate::situations::{SITUATIONS, Sending, Situation};

const START: &str = "<!-- situations: written by the test -->\n";
const END: &str = "<!-- end of situations -->\n";

fn files(it: &Situation) -> Vec<(String, String)> {
    let plan = format!(
        "[plan]\ntitle = \"Saltmarsh Harbor\"\nmodel = \"hh.model.toml\"\n\n[[repeater]]\nname = \"beacon\"\n\
         tx_mhz = 453.2125\nrx_mhz = 458.2125\ncolor_code = 5\n\n[[talkgroup]]\nname = \"Berths\"\nid = 1201\n\n\
         [[talkgroup]]\nname = \"Cranes\"\nid = 1202\n\n[[channel]]\nname = \"Out\"\n{}\n\n[[channel]]\nname = \"In\"\n\
         {}\n\n[[zone]]\nname = \"Senders\"\nchannels = [\"Out\"]\n\n[[zone]]\nname = \"Listeners\"\n\
         channels = [\"In\"]\n\n[[radio]]\nid = 21001\nalias = \"Sender\"\nzones = [\"Senders\"]\n\n[[radio]]\n\
         id = 21002\nalias = \"Listener\"\nzones = [\"Listeners\"]\n{}\n\n{}",
        it.out, it.hear, it.radio, it.more
    );
    let model = format!("[model]\nname = \"hh\"\n{}\n", it.model);
    vec![("/harbor/harbor.plan.toml".to_owned(), plan), ("/harbor/hh.model.toml".to_owned(), model)]
}

/// What the one who listens makes of it, in the words that people read.
fn made(read: &Read, it: &Situation, view: View) -> String {
    let table = |kind, name| read.table(view, 0, kind, name);
    let (out, hear) = (table(Kind::Channel, "Out"), table(Kind::Channel, "In"));
    let call = view.air(out).and_then(|air| air.push_to_talk().ok()).expect("it sends");
    let (emission, listener) = match it.sending {
        Sending::PushToTalk => (call, "Listener"),
        Sending::ScanReply => (view.scan_reply(hear, out, &call).expect("it answers"), "Sender"),
    };
    let audience = Hearing::new(view).of(&emission, None);
    let answer = audience.of(table(Kind::Radio, listener)).expect("it is counted");
    let word = match answer.answer {
        Answer::Hears => "hears",
        Answer::IfScanning => "hears if scanning",
        Answer::CouldTune => "could tune",
        Answer::Unknown => "unknown",
        Answer::Noise => "noise",
        Answer::No => "no",
    };
    let refused = answer.refused.map(|refusal| {
        format!("repeater {} {}", view.name_of(refusal.repeater).unwrap_or_default(), refusal.why.words())
    });
    match refused.or_else(|| answer.outcome.words()) {
        Some(why) => format!("{word}: {why}"),
        None => word.to_owned(),
    }
}

#[test]
fn situations_come_out_as_worked_by_hand() {
    for it in SITUATIONS {
        let read = read(&files(it));
        let made = read.ask(0, |view| made(&read, it, view));
        assert_eq!(made, it.expected, "{}", it.what);
    }
}

#[test]
fn the_table_in_the_documentation_is_the_one_that_runs() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/audience.md");
    let mut table = "| situation | the listener | why | source |\n| --- | --- | --- | --- |\n".to_owned();
    for it in SITUATIONS {
        let _ = writeln!(table, "| {} | {} | {} | {} |", it.what, it.expected, it.why, it.source);
    }
    let page = std::fs::read_to_string(&path).expect("docs/audience.md is there");
    let (before, rest) = page.split_once(START).expect("the table has a start");
    let (there, after) = rest.split_once(END).expect("the table has an end");
    if std::env::var_os("GUYWIRE_BLESS").is_some() {
        std::fs::write(&path, format!("{before}{START}{table}{END}{after}")).expect("docs/audience.md can be written");
        return;
    }
    assert_eq!(there, table, "GUYWIRE_BLESS=1 cargo test -p guywire-plan writes docs/audience.md anew");
}
