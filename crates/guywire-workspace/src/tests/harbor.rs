//! A small workspace that every rule has something to say about, on a disk that tests can change.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex};

use guywire_plan::Graph;
use guywire_rules::CATALOG;
use jiff::civil::date;

use crate::{Budget, FileSource, ReadError, Stamp, Workspace};

pub const ROOT: &str = "/harbor";

pub const FILES: [(&str, &str); 8] = [
    (
        "guywire.toml",
        "[workspace]\nas_of = 2026-11-25\n\n[rules]\nunused-definition = \"hint\"\nsame-channel-twice = { level = \"hint\" }\n",
    ),
    (
        "models/hh-uhf.model.toml",
        "[model]\nname = \"hh-uhf\"\n\n[[model.band]]\nlow_mhz = 403\nhigh_mhz = 473\n\n[capacity]\nchannels_per_zone = 4\n",
    ),
    (
        "models/mobile-uhf.model.toml",
        "[model]\nname = \"mobile-uhf\"\n\n[[model.band]]\nlow_mhz = 400\nhigh_mhz = 440\n\n[[model.band]]\nlow_mhz = 450\nhigh_mhz = 470\n\n[capacity]\nchannels_per_zone = 6\n",
    ),
    ("services/quay.regime.toml", QUAY),
    ("common/groups.plan.toml", GROUPS),
    ("harbor.plan.toml", HARBOR),
    ("cranes.plan.toml", CRANES),
    ("fleet.csv", FLEET),
];

const FLEET: &str =
    "Unit,Name,Class,status\n21030,Lock 1,quay,issued\n21031,\"Lock 2, south\",quay,spare\n21032,Lock 3,quay,\n";

/// The service of the cranes.
const QUAY: &str = r#"[regime]
name = "saltmarsh-quay"
source = "Saltmarsh Harbor by-law 12 (invented)"
license = "exempt"
use = "shared"

[[band]]
low_mhz = 453.0
high_mhz = 454.0
emissions = ["FXE", "FXD"]
max_bandwidth_khz = 12.5
max_power_w = 35

[[band]]
low_mhz = 458.0
high_mhz = 459.0
emissions = ["FXE", "FXD"]

[[channel]]
name = "Q7"
rx_mhz = 456.4625
emissions = ["FXE"]

[[pair]]
output_low_mhz = 453.0
output_high_mhz = 454.0
input_low_mhz = 458.0
"#;

const GROUPS: &str = r#"# Talkgroups of all plans.
[[talkgroup]]
name = "Berths"
id = 1201

[[talkgroup]]
name = "Pilots"
id = 1202

[[talkgroup]]
name = "Cranes"
id = 1203

[[network]]
name = "harbor"
repeaters = ["beacon"]

[[receive_group]]
name = "All hands"
talkgroups = ["Berths", "Pilots", "Cranes"]

[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5
slot_1 = ["Berths", "Pilots"]
"#;

const HARBOR: &str = r#"[plan]
title = "Saltmarsh Harbor handhelds"
model = "models/hh-uhf.model.toml"
shares = ["common/groups.plan.toml"]

[[key]]
name = "harbor-2026"
id = 17
algorithm = "aes-256"
held_in = "vault:harbor/radio/17"

[[receive_group]]
name = "Quayside"
talkgroups = ["Berths", "Cranes"]

[[scan_list]]
name = "Harbor"
channels = ["selected", "Berths"]

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
color_code = 5
slot = 1
call = "Berths"
receive_group = "Quayside"
privacy = "harbor-2026"
scan_list = "Harbor"

[[channel]]
name = "Pilots"
sends = "digital"
repeater = "beacon"
slot = 1
call = "Pilots"
receive_group = "All hands"

[[channel]]
name = "Pilots 2"
sends = "digital"
repeater = "beacon"
slot = 2
call = "Cranes"
receive_group = "All hands"

[[channel]]
name = "Quay direct"
sends = "digital"
rx_mhz = 456.4625
color_code = 1
call = "Berths"
receive_group = "Quayside"
privacy = "harbor-2026"

[[channel]]
name = "Weather"
sends = "nothing"
receives = ["analog"]
rx_mhz = 462.5500

[[zone]]
name = "Harbor"
channels = ["Berths", "Pilots", "", "Pilots 2"]

[[zone]]
name = "Direct"
channels = ["Quay direct", "Weather"]

[[profile]]
name = "quay"
zones = ["Harbor", "Direct"]
keys = ["harbor-2026"]

[radios]
from = "fleet.csv"
columns = { id = "Unit", alias = "Name", profile = "Class" }

[[radio]]
id = 21007
alias = "Quay 1"
profile = "quay"

[[radio]]
id = 21008
alias = "Quay 2"
profile = "quay"
model = "models/mobile-uhf.model.toml"

[[radio]]
ids = { harbor = 21009 }
alias = "Quay 3"
zones = ["Direct"]
"#;

const CRANES: &str = r#"[plan]
title = "Saltmarsh Harbor cranes"
model = "models/mobile-uhf.model.toml"
regime = "services/quay.regime.toml"
shares = ["common/groups.plan.toml"]

[[channel]]
name = "Cranes"
sends = "digital"
repeater = "beacon"
slot = 2
call = "Cranes"
receive_group = "All hands"

[[channel]]
name = "Cranes direct"
sends = "digital"
rx_mhz = 453.2125
call = "Cranes"
receive_group = "All hands"

[[zone]]
name = "Cranes"
channels = ["Cranes", "Cranes direct"]

[[radio]]
id = 21020
alias = "Crane 1"
zones = ["Cranes"]

[[radio]]
id = 21021
alias = "Crane 2"
status = "spare"
zones = ["Cranes"]
"#;

/// Files that tests change.
#[derive(Default)]
pub struct Disk(Mutex<BTreeMap<PathBuf, Vec<u8>>>);

impl Disk {
    pub fn write(&self, path: &Path, bytes: Option<&[u8]>) {
        let mut files = self.0.lock().unwrap();
        match bytes {
            Some(bytes) => files.insert(path.to_path_buf(), bytes.to_vec()),
            None => files.remove(path),
        };
    }
}

impl FileSource for Disk {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        self.0.lock().unwrap().get(path).cloned().ok_or(ReadError::Missing)
    }
    fn list(&self, root: &Path) -> Result<Vec<PathBuf>, ReadError> {
        Ok(self.0.lock().unwrap().keys().filter(|path| path.starts_with(root)).cloned().collect())
    }
    fn real(&self, path: &Path) -> Result<PathBuf, ReadError> {
        if self.0.lock().unwrap().contains_key(path) { Ok(path.to_path_buf()) } else { Err(ReadError::Missing) }
    }
    fn stamp(&self, path: &Path) -> Option<Stamp> {
        self.0.lock().unwrap().get(path).map(|bytes| Stamp { bytes: bytes.len() as u64, modified: None })
    }
}

pub fn path(name: &str) -> PathBuf {
    Path::new(ROOT).join(name)
}

pub fn disk() -> Arc<Disk> {
    let disk = Disk::default();
    for (name, text) in FILES {
        disk.write(&path(name), Some(text.as_bytes()));
    }
    Arc::new(disk)
}

pub fn workspace(disk: Arc<Disk>, graph: Graph) -> Workspace {
    let mut workspace = Workspace::load_with(disk, &[PathBuf::from(ROOT)], date(2026, 11, 25), CATALOG, graph, 0);
    settle(&mut workspace);
    workspace
}

pub fn settle(workspace: &mut Workspace) {
    assert!(workspace.settle(Budget::All, &AtomicBool::new(false)).settled);
}

/// The findings as lines that show everything a person sees, and the key.
pub fn lines(workspace: &Workspace) -> Vec<String> {
    let mut lines = Vec::new();
    for (path, found) in workspace.all_findings() {
        for shown in found.shown {
            let related: Vec<String> = shown
                .related
                .iter()
                .map(|related| {
                    format!("{}:{:?} {}", workspace.shown_path(related.file), related.bytes, related.message)
                })
                .collect();
            lines.push(format!(
                "{path}:{:?} {} {} {} {} {related:?}",
                shown.bytes,
                shown.level.word(),
                shown.rule,
                shown.message,
                shown.key,
            ));
        }
    }
    lines
}

#[test]
fn the_harbor_is_sound() {
    assert_eq!(lines(&workspace(disk(), Graph::default())), Vec::<String>::new());
}
