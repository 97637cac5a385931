//! Where names lead: definition, references, highlight and rename at a cursor (`▮`).

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

mod common;

use common::{Scene, at_cursor, changes, shown, shown_all};
use guywire_workspace::FileBytes;

const MODEL: &str = "[model]\nname = \"hh-uhf\"\n\n[[model.band]]\nlow_mhz = 403\nhigh_mhz = 473\n";

const GROUPS: &str = r#"# Shared by both plans.
[[talkgroup]]
name = "Berths"
id = 1201

[[talkgroup]]
name = "Cranes"
id = 1203

[[network]]
name = "harbor"
repeaters = ["beacon"]

[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5
slot_1 = ["Berths"]
slot_2 = { talkgroups = ["Cranes", 'Berths'] }

[[receive_group]]
name = "Dockside"
talkgroups = ["Berths", "Cranes"]
"#;

const HARBOR: &str = r#"[plan]
model = "models/hh-uhf.model.toml"
regime = "us-part-90"
shares = ["common/groups.plan.toml"]

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
call = "Berths" # the group, not the channel
receive_group = "Dockside"

[[scan_list]]
name = "Watch"
channels = ["selected", "Berths"]

[[zone]]
name = "Harbor"
channels = ["Berths", ""]

[[profile]]
name = "quay"
zones = ["Harbor"]

[[radio]]
ids = { harbor = 21007 }
alias = "Quay 2"
profile = "quay"

[radios]
from = "fleet.csv"
columns = { id = "Unit", alias = "Name", profile = "Class", zones = "Zones" }
"#;

const CRANES: &str = r#"[plan]
shares = ["common/groups.plan.toml"]

[[talkgroup]]
name = "Berths"
id = 1299

[[channel]]
name = "Hook"
sends = "digital"
repeater = "beacon"
call = "Berths"
"#;

const FLEET: &str = "Unit,Name,Class,Zones\n21030,Lock 1,quay,\n21031,\"Lock 2, south\",quay,Harbor;Harbor\n";

const TRIALS: &str = "[field]\ndate = 2026-11-05\nplan = \"harbor.plan.toml\"\n\n[[trial]]\nchannel = \"Berths\"\nheard = true\nvia = \"beacon\"\n";

const SETTINGS: &str = "[rules]\nfirst-is-dispatch = \"off\"\n\n[[house_rule]]\nname = \"first-is-dispatch\"\nfor = \"zone\"\nrequire = \"true\"\n";

const FILES: [(&str, &str); 7] = [
    ("common/groups.plan.toml", GROUPS),
    ("cranes.plan.toml", CRANES),
    ("fleet.csv", FLEET),
    ("guywire.toml", SETTINGS),
    ("harbor.plan.toml", HARBOR),
    ("models/hh-uhf.model.toml", MODEL),
    ("november.field.toml", TRIALS),
];

/// The files with one place of one of them changed; the cursor is in the change.
fn with(path: &str, from: &str, to: &str) -> Scene {
    with_all(&[(path, from, to)])
}

fn with_all(edits: &[(&str, &str, &str)]) -> Scene {
    let mut files: Vec<(&str, String)> = FILES.iter().map(|(path, text)| (*path, (*text).to_owned())).collect();
    for (path, from, to) in edits {
        let (_, text) = files.iter_mut().find(|(known, _)| known == path).expect("a file of the scene");
        assert!(text.contains(from), "{from}");
        *text = text.replacen(from, to, 1);
    }
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (*path, text.as_str())).collect();
    at_cursor(&files)
}

fn definition(scene: &Scene) -> String {
    let Some(found) = scene.workspace.definition(scene.file, scene.byte) else { return "nothing\n".to_owned() };
    let origin = FileBytes { file: scene.file, bytes: found.origin };
    let mut page = format!("{}\n", shown(&scene.workspace, &origin));
    for target in found.targets {
        assert!(target.bytes.start <= target.name.start && target.name.end <= target.bytes.end);
        let name = FileBytes { file: target.file, bytes: target.name };
        page.push_str(&format!("leads to {}\n", shown(&scene.workspace, &name)));
    }
    page
}

fn references(scene: &Scene) -> String {
    let all = scene.workspace.references(scene.file, scene.byte, true);
    let uses = scene.workspace.references(scene.file, scene.byte, false);
    assert!(uses.iter().all(|place| all.contains(place)));
    shown_all(&scene.workspace, &all)
}

fn highlights(scene: &Scene) -> String {
    let found = scene.workspace.highlights(scene.file, scene.byte);
    let line = |bytes| shown(&scene.workspace, &FileBytes { file: scene.file, bytes });
    found
        .iter()
        .map(|it| format!("{} {}\n", if it.definition { "is" } else { "uses" }, line(it.bytes.clone())))
        .collect()
}

fn rename(scene: &Scene, new: &str) -> String {
    match scene.workspace.rename(scene.file, scene.byte, new) {
        Ok(edits) => changes(&scene.workspace, &edits),
        Err(refusal) => format!("refused: {refusal}\n"),
    }
}

#[test]
fn a_name_leads_to_the_nearest_table_that_has_it() {
    let page = [
        with("harbor.plan.toml", "call = \"Berths\"", "call = \"Be▮rths\""),
        with("cranes.plan.toml", "call = \"Berths\"", "call = \"▮Berths\""),
        with("harbor.plan.toml", "repeater = \"beacon\"", "repeater = \"beacon▮\""),
        with("harbor.plan.toml", "{ harbor =", "{ har▮bor ="),
        with("november.field.toml", "channel = \"Berths\"", "channel = \"Berths\"▮"),
        with("fleet.csv", "south\",quay,", "south\",qu▮ay,"),
        with("fleet.csv", "Harbor;Harbor", "Harbor;Ha▮rbor"),
        with("guywire.toml", "first-is-dispatch = ", "first-is-▮dispatch = "),
        with("harbor.plan.toml", "name = \"Watch\"", "name = \"Watch▮\""),
    ]
    .iter()
    .map(definition)
    .collect::<String>();
    insta::assert_snapshot!(page);
}

#[test]
fn a_path_leads_to_its_file_and_a_word_nowhere() {
    let page = [
        with("harbor.plan.toml", "\"models/hh", "\"mod▮els/hh"),
        with("harbor.plan.toml", "\"common/", "\"com▮mon/"),
        with("harbor.plan.toml", "\"fleet.csv", "\"fl▮eet.csv"),
        with("november.field.toml", "\"harbor.plan", "\"harbor▮.plan"),
        with("harbor.plan.toml", "\"us-part-90", "\"us▮-part-90"),
        with("harbor.plan.toml", "\"selected\"", "\"sel▮ected\""),
        with("harbor.plan.toml", "call = \"Berths\"", "call = \"Nob▮ody\""),
        with("harbor.plan.toml", "\"models/hh", "\"mod▮ules/hh"),
        with("harbor.plan.toml", "\n[[zone]]", "▮\n\n[[zone]]"),
    ]
    .iter()
    .map(definition)
    .collect::<String>();
    insta::assert_snapshot!(page);
}

#[test]
fn references_are_those_that_lead_there() {
    let groups = "common/groups.plan.toml";
    let page = [
        with(groups, "name = \"Berths\"", "name = \"Ber▮ths\""),
        with(groups, "[[repeater]]", "[[rep▮eater]]"),
        with("cranes.plan.toml", "call = \"Berths\"", "call = \"▮Berths\""),
        with("harbor.plan.toml", "zones = [\"Harbor\"]", "zones = [\"Har▮bor\"]"),
        with(groups, "name = \"harbor\"", "name = \"har▮bor\""),
        with("models/hh-uhf.model.toml", "[model]", "[mo▮del]"),
        with("guywire.toml", "name = \"first", "name = \"▮first"),
        with("harbor.plan.toml", "\"selected\"", "\"sel▮ected\""),
    ]
    .iter()
    .map(|scene| references(scene) + "\n")
    .collect::<String>();
    insta::assert_snapshot!(page);
}

#[test]
fn highlights_tell_the_definition_from_its_uses() {
    let page = [
        with("harbor.plan.toml", "\"selected\", \"Berths\"", "\"selected\", \"Ber▮ths\""),
        with("harbor.plan.toml", "call = \"Berths\"", "call = \"Ber▮ths\""),
        with("common/groups.plan.toml", "talkgroups = [\"Berths\"", "talkgroups = [\"Ber▮ths\""),
        with("fleet.csv", "Lock 1,quay", "Lock 1,▮quay"),
    ]
    .iter()
    .map(|scene| highlights(scene) + "\n")
    .collect::<String>();
    insta::assert_snapshot!(page);
}

#[test]
fn a_rename_takes_every_use_along() {
    let page = [
        (with("common/groups.plan.toml", "name = \"Berths\"", "name = \"Ber▮ths\""), "Quay \"A\""),
        (with("common/groups.plan.toml", "name = \"harbor\"", "name = \"har▮bor\""), "all of it"),
        (with("harbor.plan.toml", "zones = [\"Harbor\"]", "zones = [\"Har▮bor\"]"), "North, South"),
        (with("fleet.csv", "Lock 1,quay", "Lock 1,▮quay"), "lock"),
        (with("fleet.csv", "Lock 1", "Lo▮ck 1"), "Lock, the 1st"),
        (with("harbor.plan.toml", "\"selected\", \"Berths\"", "\"selected\", \"Ber▮ths\""), "Quay"),
        (with("cranes.plan.toml", "call = \"Berths\"", "call = \"▮Berths\""), "Hook"),
        (with("guywire.toml", "first-is-dispatch = ", "first-is-▮dispatch = "), "dispatch-first"),
        (with("harbor.plan.toml", "name = \"Watch\"", "name = \"Watch▮\""), "Watch"),
        (with("models/hh-uhf.model.toml", "name = \"hh", "name = \"▮hh"), "handheld"),
    ]
    .iter()
    .map(|(scene, new)| format!("{new}\n{}\n", rename(scene, new)))
    .collect::<String>();
    insta::assert_snapshot!(page);
}

#[test]
fn what_would_be_renamed_is_told_beforehand() {
    let scene = with("harbor.plan.toml", "call = \"Berths\"", "call = \"Be\\u0072▮ths\"");
    let told = scene.workspace.prepare_rename(scene.file, scene.byte).expect("a name");
    assert_eq!(told.name, "Berths");
    assert_eq!(scene.workspace.document(scene.file).unwrap().slice(told.bytes).unwrap(), "Be\\u0072ths");
    for (path, from, to) in [
        ("harbor.plan.toml", "\"models/hh", "\"mod▮els/hh"),
        ("harbor.plan.toml", "sends = \"digital\"", "sends = \"dig▮ital\""),
        ("harbor.plan.toml", "[[channel]]", "[[chan▮nel]]"),
        ("harbor.plan.toml", "{ harbor = 21007", "{ harbor = 21▮007"),
    ] {
        let scene = with(path, from, to);
        let refusal = scene.workspace.prepare_rename(scene.file, scene.byte).expect_err("no name");
        assert_eq!(refusal, guywire_workspace::RenameRefusal::NoName, "{to}");
    }
}

/// Each line of the snapshot says what is refused and why.
#[test]
fn a_rename_is_refused_where_a_name_would_lead_elsewhere() {
    let groups = "common/groups.plan.toml";
    let berths = (groups, "name = \"Berths\"", "name = \"Ber▮ths\"");
    let quay = ("harbor.plan.toml", "name = \"quay\"", "name = \"qu▮ay\"");
    let twice = "[[zone]]\nname = \"Harbor\"\nchannels = []\n\n[[profile]]";
    let contact = "[[contact]]\nname = \"Lock 2\"\nid = 21022\n\n[[channel]]";
    let wanted: [(&str, Scene); 19] = [
        ("", with_all(&[berths])),
        ("a\nb", with_all(&[berths])),
        ("Cranes", with_all(&[berths])),
        ("Cranes", with("cranes.plan.toml", "call = \"Berths\"", "call = \"Ber▮ths\"")),
        // Of two plans that share a channel each has the group that it calls.
        (
            "Quay",
            with_all(&[
                (
                    groups,
                    "[[receive_group]]",
                    "[[channel]]\nname = \"All\"\nsends = \"digital\"\nrepeater = \"beacon\"\ncall = \"Pilots\"\n\n[[receive_group]]",
                ),
                ("harbor.plan.toml", "[[channel]]", "[[talkgroup]]\nname = \"Pilots\"\nid = 1202\n\n[[channel]]"),
                ("cranes.plan.toml", "[[channel]]", "[[talkgroup]]\nname = \"Pil▮ots\"\nid = 1202\n\n[[channel]]"),
            ]),
        ),
        ("selected", with("harbor.plan.toml", "\"selected\", \"Berths\"", "\"selected\", \"Ber▮ths\"")),
        ("Nobody", with("harbor.plan.toml", "call = \"Berths\"", "call = \"Nob▮ody\"")),
        (
            "Quay",
            with_all(&[
                ("harbor.plan.toml", "[[profile]]", twice),
                ("harbor.plan.toml", "[\"Harbor\"]", "[\"Harb▮or\"]"),
            ]),
        ),
        // A contact of another file that the call would find first.
        ("Lock 2", with_all(&[berths, ("harbor.plan.toml", "[[channel]]", contact)])),
        // A name that leads nowhere today would lead to the renamed group.
        ("Pilots", with_all(&[berths, (groups, "'Berths'", "'Pilots'")])),
        (
            "mowing-the-lawn",
            with_all(&[
                ("guywire.toml", "name = \"first", "name = \"▮first"),
                ("guywire.toml", "[rules]", "[rules]\nmowing-the-lawn = \"off\""),
            ]),
        ),
        ("undefined-name", with("guywire.toml", "name = \"first", "name = \"▮first")),
        ("lock ", with_all(&[quay])),
        ("a;b", with("harbor.plan.toml", "name = \"Harbor\"", "name = \"Har▮bor\"")),
        // Half a line that shows the name, a key of another name, a row that is left out, shares that cannot be read.
        ("Quay", with_all(&[berths, ("harbor.plan.toml", "call = \"Berths\"", "call = \"Berths")])),
        ("Quay", with_all(&[berths, (groups, "talkgroups = [\"Berths\"", "talkgruops = [\"Berths\"")])),
        ("lock", with_all(&[quay, ("fleet.csv", "Lock 1,quay,", "Lock 1,quay")])),
        ("Quay", with_all(&[berths, ("harbor.plan.toml", "shares = [\"", "shares = [\"common/x")])),
        ("Quay", with_all(&[berths, ("harbor.plan.toml", "shares = [\"common/groups.plan.toml\"]", "shares = \"")])),
    ];
    let page: String = wanted.iter().map(|(new, scene)| format!("{new:?}: {}", rename(scene, new))).collect();
    insta::assert_snapshot!(page);
}

#[test]
fn a_half_typed_line_elsewhere_is_no_hindrance() {
    let berths = ("common/groups.plan.toml", "name = \"Berths\"", "name = \"Ber▮ths\"");
    let whole = rename(&with_all(&[berths]), "Quay");
    for (from, to) in [
        ("receive_group = \"Dockside\"", "receive_group = \"Dock"),
        ("receive_group = \"Dockside\"", "color_c"),
        ("[[profile]]", "# Berths\n[[prof"),
        ("name = \"Watch\"", "name = "),
    ] {
        let half = rename(&with_all(&[berths, ("harbor.plan.toml", from, to)]), "Quay");
        assert_eq!(half.lines().count(), whole.lines().count(), "{to}\n{half}");
        assert!(!half.contains("refused"), "{to}\n{half}");
    }
}

#[test]
fn line_ends_are_kept() {
    let files: Vec<(&str, String)> = FILES.iter().map(|(path, text)| (*path, text.replace('\n', "\r\n"))).collect();
    let mut files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (*path, text.as_str())).collect();
    let cursor = files[4].1.replacen("call = \"Berths\"", "call = \"Be▮rths\"", 1);
    files[4].1 = &cursor;
    let scene = at_cursor(&files);
    let plain = with("harbor.plan.toml", "call = \"Berths\"", "call = \"Be▮rths\"");
    assert_eq!(rename(&scene, "Quay"), rename(&plain, "Quay"));
}
