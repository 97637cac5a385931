//! Edits that bring a call to more radios: what each says is what comes of it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use guywire_rules::Level;
use guywire_text::FileId;
use guywire_workspace::{Address, Asked, Budget, MemorySource, Offer, Workspace};

type Files = BTreeMap<PathBuf, String>;

/// The files of the demo, after some texts are written as others.
fn demo(edits: &[(&str, &str, &str)]) -> Files {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh").canonicalize().unwrap();
    let (mut files, mut open) = (Files::new(), vec![root.clone()]);
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = Path::new("/harbor").join(path.strip_prefix(&root).unwrap());
                files.insert(name, std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    for (file, from, to) in edits {
        let text = files.get_mut(&Path::new("/harbor").join(file)).unwrap();
        assert!(text.contains(from), "{file} does not say {from}");
        *text = text.replacen(from, to, 1);
    }
    files
}

fn workspace(files: &Files) -> Workspace {
    let source = MemorySource::new(files.iter().map(|(path, text)| (path, text.as_str())));
    Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], jiff::civil::date(2026, 11, 25))
}

fn file(workspace: &Workspace, path: &Path) -> FileId {
    workspace.file(&Address::Disk(path.to_path_buf())).unwrap()
}

/// The offers at the first `at` of a file.
fn offers(workspace: &Workspace, files: &Files, (name, at): (&str, &str)) -> Vec<Offer> {
    let path = Path::new("/harbor").join(name);
    let byte = files[&path].find(at).unwrap_or_else(|| panic!("{name} has no {at}"));
    workspace.audience_offers(file(workspace, &path), &(byte..byte))
}

/// The answers of all radios to a call, better ones being less.
fn heard(workspace: &Workspace, asked: &Asked) -> BTreeMap<String, u8> {
    let told = workspace.audience(asked).unwrap();
    let all =
        told[0].groups.iter().flat_map(|group| group.radios.iter().map(|radio| (radio.clone(), group.answer as u8)));
    all.collect()
}

fn errors(workspace: &Workspace) -> BTreeMap<&'static str, usize> {
    let mut counts = BTreeMap::new();
    for found in workspace.files().into_iter().flat_map(|file| workspace.findings(file).shown) {
        if found.level == Level::Error {
            *counts.entry(found.rule).or_default() += 1;
        }
    }
    counts
}

/// Applies an offer, asks again, and holds what is heard against what was said.
fn apply_and_ask_again(before: &mut Workspace, files: &Files, offer: &Offer, radio: Option<&str>) {
    assert!(before.settle(Budget::All, &AtomicBool::new(false)).settled);
    let asked = Asked { channel: Some(offer.channel.clone()), radio: radio.map(str::to_owned) };
    let (was, errors_then) = (heard(before, &asked), errors(before));
    let mut files = files.clone();
    for edit in offer.edits.iter().rev() {
        let Some(Address::Disk(path)) = before.address(edit.file) else { panic!("a file of the disk") };
        files.get_mut(&path).unwrap().replace_range(edit.bytes.clone(), &edit.text);
    }
    let mut after = workspace(&files);
    assert!(after.settle(Budget::All, &AtomicBool::new(false)).settled);
    let is = heard(&after, &asked);
    // 2: could tune to it; what is more is heard by nobody.
    let gained = is.iter().filter(|(radio, answer)| **answer < was[*radio] && **answer <= 2).count();
    let lost = is.iter().filter(|(radio, answer)| **answer > was[*radio] && was[*radio] <= 2).count();
    assert_eq!((gained, lost), (offer.gained, offer.lost), "{}", offer.title);
    for (rule, count) in errors(&after) {
        assert!(errors_then.get(rule) >= Some(&count), "{} brings {rule}", offer.title);
    }
}

fn titles(offers: &[Offer]) -> Vec<&str> {
    offers.iter().map(|offer| offer.title.as_str()).collect()
}

#[test]
fn what_is_offered_at_a_channel_of_the_demo() {
    let files = demo(&[]);
    let mut it = workspace(&files);
    it.settle_values();
    let found = offers(&it, &files, ("cranes.plan.toml", "[[channel]]\nname = \"Cranes\""));
    insta::assert_debug_snapshot!(titles(&found));
    for offer in &found {
        apply_and_ask_again(&mut it, &files, offer, None);
    }
}

/// A channel with a color code of its own takes that of its repeater.
#[test]
fn a_channel_takes_its_color_code_from_its_repeater() {
    let own = "name = \"Gate\"\nsends = \"digital\"\nrepeater = \"beacon\"\n";
    let files = demo(&[("harbor.plan.toml", own, &format!("{own}color_code = 9\n"))]);
    let mut it = workspace(&files);
    it.settle_values();
    let as_sender = offers(&it, &files, ("harbor.plan.toml", "\"Gate\"\nsends"));
    assert!(
        as_sender[0].title.starts_with("Take the color code of \"Gate\" from repeater \"beacon\": "),
        "{as_sender:?}"
    );
    apply_and_ask_again(&mut it, &files, &as_sender[0], None);
}

const DIGITAL: &str = r#"[plan]
title = "Saltmarsh Harbor quays"

[[talkgroup]]
name = "Berths"
id = 1201

[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5
slot_1 = ["Berths"]
slot_2 = []

[[receive_group]]
name = "Quayside"
talkgroups = ["Berths"]

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
slot = 1
call = "Berths"
receive_group = "Quayside"

[[channel]]
name = "Slips"
sends = "digital"
repeater = "beacon"
slot = 2
call = "Berths"
receive_group = "Quayside"

[[channel]]
name = "Gate"
sends = "digital"
repeater = "beacon"
color_code = 9
slot = 1
call = "Berths"
receive_group = "Quayside"

[[zone]]
name = "Quay"
channels = ["Berths"]

[[zone]]
name = "Slips"
channels = ["Slips"]

[[zone]]
name = "Gate"
channels = ["Gate"]

[[radio]]
id = 21001
alias = "Crane 1"
zones = ["Quay"]

[[radio]]
id = 21002
alias = "Slip 1"
zones = ["Slips"]

[[radio]]
id = 21003
alias = "Gate 1"
zones = ["Gate"]
"#;

/// Who watches the pilots only.
const WATCHMEN: &str = r#"
[[talkgroup]]
name = "Pilots"
id = 1202

[[receive_group]]
name = "Watchmen"
talkgroups = ["Pilots"]

[[channel]]
name = "Watch"
sends = "digital"
repeater = "beacon"
slot = 1
call = "Pilots"
receive_group = "Watchmen"

[[zone]]
name = "Watch"
channels = ["Watch"]

[[radio]]
id = 21004
alias = "Watch 1"
zones = ["Watch"]
"#;

#[test]
fn a_receive_group_takes_the_talkgroup_that_is_called() {
    let title =
        "Add talkgroup \"Berths\" to receive group \"Watchmen\": 1 more radio hears \"Berths\" (touches 1 radio)";
    let plan = format!("{DIGITAL}{WATCHMEN}").replace("title = ", "model = \"hh.model.toml\"\ntitle = ");
    for (most, is_offered) in [(2, true), (1, false)] {
        let model = format!("[model]\nname = \"hh\"\n\n[capacity]\nreceive_group_members = {most}\n");
        let files = Files::from([
            (PathBuf::from("/harbor/harbor.plan.toml"), plan.clone()),
            (PathBuf::from("/harbor/hh.model.toml"), model),
        ]);
        let mut it = workspace(&files);
        it.settle_values();
        let found = offers(&it, &files, ("harbor.plan.toml", "[[talkgroup]]"));
        let offer = found.iter().find(|offer| offer.title == title);
        assert_eq!(offer.is_some(), is_offered, "{found:?}");
        if let Some(offer) = offer {
            apply_and_ask_again(&mut it, &files, offer, None);
        }
    }
}

#[test]
fn who_listens_takes_color_code_and_slot_from_the_repeater() {
    let files = Files::from([(PathBuf::from("/harbor/harbor.plan.toml"), DIGITAL.to_owned())]);
    let mut it = workspace(&files);
    it.settle_values();
    let color_code =
        "Take the color code of \"Gate\" from repeater \"beacon\": 1 more radio hears \"Berths\" (touches 1 radio)";
    let slot =
        "Take the slot of \"Slips\" from repeater \"beacon\", 1: 1 more radio hears \"Berths\" (touches 1 radio)";
    for at in ["\"Berths\"\nsends", "\"Crane 1\"", "[[talkgroup]]"] {
        let found = offers(&it, &files, ("harbor.plan.toml", at));
        assert_eq!(titles(&found)[..2], [color_code, slot], "{at}");
        for offer in &found[..2] {
            apply_and_ask_again(&mut it, &files, offer, (at == "\"Crane 1\"").then_some("Crane 1"));
        }
    }
    assert!(offers(&it, &files, ("harbor.plan.toml", "slot = 2")).is_empty(), "at its name and header only");
}

const ANALOG: &str = r#"[plan]
title = "Saltmarsh Harbor tones"

[[repeater]]
name = "mast"
tx_mhz = 453.2125
rx_mhz = 458.2125
mode = "analog"
input_tones = ["CTCSS 156.7"]
output_tone = "CTCSS 151.4"

[[channel]]
name = "Quay"
sends = "analog"
repeater = "mast"
tx_tone = "CTCSS 100.0"
scan_list = "Watch"

[[channel]]
name = "Slips"
sends = "analog"
repeater = "mast"
rx_tone = "CTCSS 100.0"

[[channel]]
name = "Boats"
sends = "analog"
repeater = "mast"

[[channel]]
name = "Yard"
sends = "analog"
rx_mhz = 453.4625

[[scan_list]]
name = "Watch"
channels = ["selected"]

[[zone]]
name = "Quay"
channels = ["Quay", "Yard"]

[[zone]]
name = "Slips"
channels = ["Slips"]

[[zone]]
name = "Boats"
channels = ["Boats", "Yard"]

[[radio]]
id = 21001
alias = "Crane 1"
zones = ["Quay"]

[[radio]]
id = 21002
alias = "Slip 1"
zones = ["Slips"]

[[radio]]
id = 21003
alias = "Tug 1"
zones = ["Boats"]
"#;

#[test]
fn tones_are_taken_from_the_repeater_and_scan_lists_take_channels() {
    let files = Files::from([(PathBuf::from("/harbor/harbor.plan.toml"), ANALOG.to_owned())]);
    let mut it = workspace(&files);
    it.settle_values();
    let cases = [
        (
            "\"Quay\"\nsends",
            "Take the sent tone of \"Quay\" from repeater \"mast\": 2 more radios hear \"Quay\" (touches 1 radio)",
        ),
        (
            "\"Boats\"\nsends",
            "Take the tone of \"Slips\" from repeater \"mast\": 1 more radio hears \"Boats\" (touches 1 radio)",
        ),
        (
            "\"Yard\"\nsends",
            "Add \"Yard\" to scan list \"Watch\": 1 more radio hears \"Yard\" while scanning (touches 1 radio)",
        ),
        (
            "\"Tug 1\"",
            "Take the tone of \"Slips\" from repeater \"mast\": 1 more radio hears \"Boats\" (touches 1 radio)",
        ),
    ];
    for (at, title) in cases {
        let found = offers(&it, &files, ("harbor.plan.toml", at));
        let offer = found.iter().find(|offer| offer.title == title).unwrap_or_else(|| panic!("{at}: {found:?}"));
        apply_and_ask_again(&mut it, &files, offer, (at == "\"Tug 1\"").then_some("Tug 1"));
    }
}

/// Every offer at every table of the demo that can have one: those of one kind and place once.
#[test]
fn what_is_offered_anywhere_comes_true() {
    let files = demo(&[("common/groups.plan.toml", "\"Gate\", ", "")]);
    let mut it = workspace(&files);
    it.settle_values();
    let mut tried: BTreeMap<String, (Offer, Option<String>)> = BTreeMap::new();
    for (path, text) in files.iter().filter(|(path, _)| path.to_string_lossy().ends_with(".plan.toml")) {
        let id = file(&it, path);
        for table in ["[[channel]]", "[[talkgroup]]", "[[radio]]"] {
            for (byte, _) in text.match_indices(table) {
                let alias = text[byte..].split("alias = \"").nth(1).and_then(|rest| rest.split('"').next());
                let radio = alias.filter(|_| table == "[[radio]]").map(str::to_owned);
                for offer in it.audience_offers(id, &(byte..byte)) {
                    let edit = offer.title.split(':').next().unwrap().to_owned();
                    tried.entry(edit).or_insert((offer, radio.clone()));
                }
            }
        }
    }
    assert!(tried.len() >= 5, "{:?}", tried.keys());
    // Each takes a while to prove: some of each kind.
    for (offer, radio) in tried.values().step_by(tried.len().div_ceil(8)) {
        apply_and_ask_again(&mut it, &files, offer, radio.as_deref());
    }
}

/// A list that is full on a model takes nothing more.
#[test]
fn nothing_is_offered_that_breaks_a_capacity() {
    let files = Files::from([
        (
            PathBuf::from("/harbor/harbor.plan.toml"),
            ANALOG
                .replace("title = ", "model = \"hh.model.toml\"\ntitle = ")
                .replace("[\"selected\"]", "[\"selected\", \"Boats\"]"),
        ),
        (
            PathBuf::from("/harbor/hh.model.toml"),
            "[model]\nname = \"hh\"\n\n[capacity]\nscan_list_members = 2\n".to_owned(),
        ),
    ]);
    let mut it = workspace(&files);
    it.settle_values();
    let found = offers(&it, &files, ("harbor.plan.toml", "\"Yard\"\nsends"));
    assert!(found.iter().all(|offer| !offer.title.contains("scan list")), "{found:?}");
}
