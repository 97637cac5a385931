//! Who hears whom, and what changes it, with the engine that users get.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Duration;

use guywire_workspace::{DiskSource, Workspace};
use jiff::civil::date;
use serde_json::{Value, json};

use super::client::{Client, capabilities};
use super::real::{GROUPS_TEXT, HARBOR, HARBOR_TEXT, client_that};
use crate::worker::{Pace, Source};

/// Two more radios: one that stands by on the cranes' channel, one with that alone.
fn crew() -> String {
    let zone = "[[zone]]\nname = \"Yard\"\nchannels = [\"Cranes\"]\n";
    let radio = |id: u32, zones: &str| format!("[[radio]]\nid = {id}\nalias = \"Crane {id}\"\nzones = {zones}\n");
    let (both, yard) = (radio(21008, "[\"Yard\", \"Harbor\"]"), radio(21009, "[\"Yard\"]"));
    format!("{HARBOR_TEXT}\n{zone}\n{both}\n{yard}")
}

/// Of a client that asks for diagnostics, so that none come in between.
pub(crate) fn pulling() -> Value {
    let mut all = capabilities(&["utf-16"]);
    all["textDocument"]["diagnostic"] = json!({});
    all["workspace"]["diagnostics"] = json!({ "refreshSupport": true });
    all
}

fn execute(client: &mut Client, command: &str, arguments: Value) -> Value {
    client.request("workspace/executeCommand", json!({ "command": command, "arguments": arguments }))
}

fn audience(client: &mut Client, url: &str) -> Value {
    execute(client, "guywire.audience", json!([url, { "show": false }]))
}

/// The answers of a row, by the name of what is sent.
fn row<'a>(answer: &'a Value, name: &str) -> Vec<&'a str> {
    let rows = answer["matrix"]["rows"].as_array().expect("rows");
    let row = rows.iter().find(|row| row["name"] == name).unwrap_or_else(|| panic!("no row {name}: {answer}"));
    let cells = row["cells"].as_array().expect("cells").iter();
    cells.map(|cell| cell.as_str().or(cell["answer"].as_str()).expect("an answer")).collect()
}

#[test]
fn the_matrix_is_of_the_text_that_is_open_and_has_reasons() {
    let mut client = client_that(pulling(), HARBOR_TEXT, GROUPS_TEXT);
    client.open(HARBOR, 1, &crew());
    let answer = audience(&mut client, HARBOR);
    assert_eq!(answer["matrix"]["columns"].as_array().map(Vec::len), Some(3), "{answer}");
    assert_eq!(answer["matrix"]["columns"][0], "Crane 2, standing by on \"Berths\"");
    assert_eq!(row(&answer, "Berths"), ["hears", "could tune", "no"]);
    assert_eq!(row(&answer, "Cranes"), ["could tune", "hears", "hears"]);
    let why = &answer["matrix"]["rows"][0]["cells"][2]["why"];
    assert!(why.as_str().is_some_and(|why| why.contains("frequency")), "{answer}");
    let page = answer["markdown"].as_str().expect("a page");
    assert!(page.starts_with("# Who hears whom: harbor.plan.toml\n"), "{page}");
    client.change(HARBOR, 2, json!([{ "text": crew().replace("rx_mhz = 451.8375", "rx_mhz = 453.2125") }]));
    assert_eq!(row(&audience(&mut client, HARBOR), "Berths"), ["hears", "could tune", "no"], "another slot");
    let same = crew().replace("rx_mhz = 451.8375", "rx_mhz = 453.2125").replace("slot = 2", "slot = 1");
    client.change(HARBOR, 3, json!([{ "text": same }]));
    let answer = audience(&mut client, HARBOR);
    let group = &answer["matrix"]["rows"][0]["cells"][2]["why"];
    assert!(group.as_str().is_some_and(|why| why.contains("\"Berths\" (1201)")), "{answer}");
}

/// What brings a call to more radios is offered as a rewrite to users who ask, each as an edit.
#[test]
fn a_channel_that_is_missed_by_its_tone_is_offered_the_repeaters() {
    let channel = |name: &str, more: &str| {
        let head = format!("[[channel]]\nname = \"{name}\"\nsends = \"analog\"\nrepeater = \"mast\"\n{more}\n");
        let zone = format!("[[zone]]\nname = \"{name}\"\nchannels = [\"{name}\"]\n\n");
        format!("{head}{zone}[[radio]]\nid = 210{}\nalias = \"{name} 1\"\nzones = [\"{name}\"]\n\n", name.len())
    };
    let repeater = "[[repeater]]\nname = \"mast\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\nmode = \"analog\"\noutput_tone = \"CTCSS 151.4\"\n\n";
    let text =
        format!("[plan]\n\n{repeater}{}{}", channel("Quay", ""), channel("Slips", "rx_tone = \"CTCSS 100.0\"\n"));
    let mut client = client_that(pulling(), &text, GROUPS_TEXT);
    client.open(HARBOR, 1, &text);
    // It is answered once the values are computed.
    audience(&mut client, HARBOR);
    let before = text.split("[[channel]]").next().unwrap_or_default();
    let at = before.matches('\n').count();
    let place = json!({ "start": { "line": at, "character": 3 }, "end": { "line": at, "character": 3 } });
    let offered = client.actions_only(HARBOR, place.clone(), json!(["refactor.rewrite"]));
    assert_eq!(
        offered[0]["title"],
        "Take the tone of \"Slips\" from repeater \"mast\": 1 more radio hears \"Quay\" (touches 1 radio)",
        "{offered}"
    );
    assert_eq!(offered[0]["kind"], "refactor.rewrite");
    assert_eq!(offered[0]["edit"]["documentChanges"][0]["edits"][0]["newText"], "");
    assert_eq!(client.actions_only(HARBOR, place, json!(["quickfix"])), json!([]));
}

#[test]
fn a_part_shows_what_the_plans_that_see_it_send() {
    let mut client = client_that(pulling(), &crew(), GROUPS_TEXT);
    let answer = audience(&mut client, "file:///w/common/groups.plan.toml");
    assert_eq!(row(&answer, "Cranes"), ["could tune", "hears", "hears"]);
    let refused = {
        let arguments = json!(["file:///w/hh-uhf.model.toml"]);
        let id =
            client.ask("workspace/executeCommand", json!({ "command": "guywire.audience", "arguments": arguments }));
        client.response(id)
    };
    assert!(refused["error"]["message"].as_str().is_some_and(|text| text.contains("open a plan")), "{refused}");
}

// ---- comparisons ----------------------------------------------------------------------------------

fn git(folder: &Path, words: &[&str]) {
    let mut command = Command::new("git");
    for role in ["AUTHOR", "COMMITTER"] {
        command.env(format!("GIT_{role}_NAME"), "Harbor").env(format!("GIT_{role}_EMAIL"), "harbor@example.org");
    }
    command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1").arg("-C").arg(folder);
    let done = command.args(words).output().expect("there is git");
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
}

/// A repository with the plans committed, and a client that has its folder open.
fn committed(progress: bool) -> (tempfile::TempDir, Client, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let top = folder.path().canonicalize().expect("a path");
    let files = [
        ("guywire.toml", "[workspace]\n"),
        ("common/groups.plan.toml", GROUPS_TEXT),
        ("harbor.plan.toml", &crew().replace("model = \"hh-uhf.model.toml\"\n", "")),
    ];
    for (name, text) in files {
        let path = top.join(name);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("it can be made");
        std::fs::write(path, text).expect("it can be written");
    }
    git(&top, &["init", "--quiet", "--initial-branch=main"]);
    git(&top, &["add", "--all"]);
    git(&top, &["commit", "--quiet", "--message", "state"]);
    let source = Source {
        load: Box::new(move |roots, today| Workspace::load(Arc::new(DiskSource), roots, today)),
        today: Box::new(|| date(2026, 11, 25)),
        disk: Pace { pause: Duration::ZERO, share: 0 },
        untold: Duration::from_secs(60),
    };
    let url = |path: &Path| tower_lsp::lsp_types::Url::from_file_path(path).expect("absolute").to_string();
    let mut all = pulling();
    all["window"] = json!({ "workDoneProgress": progress });
    let client = Client::of(source, json!({ "processId": null, "rootUri": url(&top), "capabilities": all }));
    let harbor = url(&top.join("harbor.plan.toml"));
    (folder, client, harbor)
}

#[test]
fn a_revision_is_compared_with_the_text_that_is_open() {
    let (folder, mut client, harbor) = committed(false);
    let page = |answer: &Value| answer["markdown"].as_str().expect("a page").to_owned();
    let same = execute(&mut client, "guywire.compare", json!([harbor, "HEAD", { "show": false }]));
    assert!(!page(&same).contains("Write again"), "{same}");
    let text = std::fs::read_to_string(folder.path().join("harbor.plan.toml")).expect("a plan");
    client.open(&harbor, 1, &text.replace("slot = 2", "slot = 1"));
    let changed = page(&execute(&mut client, "guywire.compare", json!([harbor, "HEAD"])));
    assert!(changed.contains("### Write again") && changed.contains("slot = 1 (was 2)"), "{changed}");
    assert!(changed.contains("working tree"), "{changed}");
    let committed = page(&execute(&mut client, "guywire.compare", json!([harbor, "HEAD", "main"])));
    assert!(!committed.contains("Write again"), "{committed}");
}

#[test]
fn what_git_does_not_know_is_said_in_words() {
    let (_folder, mut client, harbor) = committed(false);
    let arguments = json!([harbor, "no-such-branch"]);
    let id = client.ask("workspace/executeCommand", json!({ "command": "guywire.compare", "arguments": arguments }));
    let refused = client.response(id);
    assert_eq!(refused["error"]["code"], -32803);
    let said = refused["error"]["message"].as_str().expect("words");
    assert!(said.starts_with("there is no revision no-such-branch in this repository"), "{said}");
}

#[test]
fn a_comparison_shows_its_progress() {
    let (_folder, mut client, harbor) = committed(true);
    for own in [true, false] {
        let mut params = json!({ "command": "guywire.compare", "arguments": [harbor, "HEAD"] });
        if !own {
            params["workDoneToken"] = json!(7);
        }
        let id = client.ask("workspace/executeCommand", params);
        let token = match own {
            true => client.answer("window/workDoneProgress/create", json!(null))["token"].clone(),
            false => json!(7),
        };
        let mut kinds = Vec::new();
        while kinds.last().is_none_or(|kind| kind != "end") {
            let told = client.told("$/progress")["params"].clone();
            assert_eq!(told["token"], token);
            kinds.push(told["value"]["kind"].as_str().expect("a kind").to_owned());
            if kinds.len() == 1 {
                assert_eq!(told["value"]["title"], "Comparing plans");
            }
        }
        assert!(kinds.len() > 3 && kinds[0] == "begin", "{kinds:?}");
        assert!(client.response(id)["result"]["markdown"].is_string());
    }
}
