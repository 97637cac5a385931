//! What changed on the air between two states of the plans.

#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use guywire_workspace::{
    Became, Comparison, Grant, MemorySource, Novelty, Reached, Reception, StationClass, Use, Workspace,
};

type Files = BTreeMap<String, String>;

/// The files of the demo.
fn demo() -> Files {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh").canonicalize().unwrap();
    let mut files = Files::new();
    let mut open = vec![root.clone()];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(&root).unwrap().to_string_lossy().into_owned();
                files.insert(name, std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    files
}

/// A plan of two handhelds on a repeater, and its model.
fn small() -> Files {
    let plan = r#"[plan]
title = "Saltmarsh Harbor"
model = "hh.model.toml"

[[license]]
name = "harbor-uhf"
power_kind = "output"
[[license.assignment]]
tx_mhz = 458.2125
emission = "7K60FXE"
max_power_w = 5
station = "mobile"
units = 2

[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5
power_w = 25
group_hang_ms = 3000

[[talkgroup]]
name = "Berths"
id = 1201

[[talkgroup]]
name = "Pilots"
id = 1202

[[receive_group]]
name = "Quay"
talkgroups = ["Berths"]

[[key]]
name = "harbor"
id = 17
algorithm = "aes-256"
value = "5c0e9a7714d2b83f61e4c7a90b3d58f2"

[[channel]]
name = "Berths"
sends = "digital"
repeater = "beacon"
power = "low"
slot = 1
call = "Berths"
receive_group = "Quay"

[[channel]]
name = "Pilots"
sends = "digital"
repeater = "beacon"
power = "low"
slot = 2
call = "Pilots"
privacy = "harbor"

[[zone]]
name = "Harbor"
channels = ["Berths"]

[[zone]]
name = "Water"
channels = ["Pilots"]

[[profile]]
name = "quay"
zones = ["Harbor"]

[[profile]]
name = "boat"
zones = ["Water"]
keys = ["harbor"]

[[radio]]
id = 21001
alias = "Crane 1"
profile = "quay"

[[radio]]
id = 21002
alias = "Tug 1"
profile = "boat"
"#;
    let model = "[model]\nname = \"hh\"\nkind = \"handheld\"\nhears_own_talkgroup = true\n[[model.power]]\nlevel = \"high\"\nwatts = 4\n[[model.power]]\nlevel = \"low\"\nwatts = 1\n";
    Files::from([("harbor.plan.toml".to_owned(), plan.to_owned()), ("hh.model.toml".to_owned(), model.to_owned())])
}

fn workspace(files: &Files) -> Workspace {
    let source = MemorySource::new(files.iter().map(|(name, text)| (Path::new("/harbor").join(name), text.as_str())));
    let mut workspace = Workspace::load(Arc::new(source), &[PathBuf::from("/harbor")], jiff::civil::date(2026, 11, 25));
    workspace.settle_values();
    workspace
}

fn compared(before: &Files, after: &Files) -> Comparison {
    workspace(after).compared_with(&workspace(before), &[])
}

/// The files after some texts, which must be there, are written as others wherever they stand.
fn edited(files: &Files, edits: &[(&str, &str)]) -> Files {
    let mut files = files.clone();
    for (from, to) in edits {
        assert!(files.values().any(|text| text.contains(from)), "nothing says {from}");
        files.values_mut().for_each(|text| *text = text.replace(from, to));
    }
    files
}

/// Radios to write again with the tables and keys that did it, in words.
fn told(it: &Comparison) -> Vec<String> {
    let mut told = Vec::new();
    for group in &it.rewrites {
        let radios: Vec<&str> = group.radios.iter().map(|(radio, _)| radio.alias.as_deref().unwrap_or("?")).collect();
        let mut causes: Vec<String> = Vec::new();
        for cause in &group.causes {
            let table = &it.tables[cause.table];
            let keys: Vec<&str> = cause.keys.iter().map(|key| table.keys[*key].key).collect();
            causes.push(format!(
                "{} {}: {}",
                table.kind.noun(),
                table.name.1.as_deref().unwrap_or("-"),
                keys.join(" ")
            ));
        }
        causes.extend((!group.own.is_empty()).then(|| format!("own {}", group.own.join(" "))));
        told.push(format!("{:?} {}: {}", group.reach, radios.join(", "), causes.join("; ")));
    }
    told
}

fn radios(it: &Comparison) -> BTreeSet<String> {
    let radios = it.rewrites.iter().flat_map(|group| &group.radios);
    radios.map(|(radio, _)| radio.alias.clone().unwrap_or_default()).collect()
}

#[test]
fn nothing_differs_from_itself() {
    for files in [demo(), small()] {
        assert_eq!(
            compared(&files, &files),
            Comparison { radios: compared(&files, &files).radios, ..Comparison::default() }
        );
        // Blanks, comments and notes are no change of a table.
        let spaced: Files = files.iter().map(|(name, text)| (name.clone(), format!("{text}\n\n"))).collect();
        assert!(compared(&files, &spaced).is_empty());
    }
}

#[test]
fn a_radio_is_written_again_for_what_it_holds() {
    let small = small();
    let says = |edits: &[(&str, &str)]| told(&compared(&small, &edited(&small, edits)));
    assert_eq!(says(&[("slot = 1", "slot = 2")]), ["Air Crane 1: channel Berths: slot"]);
    assert_eq!(says(&[("id = 1202", "id = 1203")]), ["Air Tug 1: talkgroup Pilots: id"]);
    assert_eq!(
        says(&[("talkgroups = [\"Berths\"]", "talkgroups = [\"Berths\", \"Pilots\"]")]),
        ["Air Crane 1: receive group Quay: talkgroups"]
    );
    assert_eq!(says(&[("color_code = 5", "color_code = 6")]), ["Air Crane 1, Tug 1: repeater beacon: color_code"]);
    assert_eq!(
        says(&[("hears_own_talkgroup = true", "hears_own_talkgroup = false")]),
        ["Air Crane 1, Tug 1: model hh: hears_own_talkgroup"]
    );
    assert_eq!(says(&[("5c0e9a77", "6c0e9a77")]), ["Air Tug 1: key harbor: value"]);
    assert_eq!(
        says(&[("zones = [\"Harbor\"]", "zones = [\"Harbor\", \"Water\"]")]),
        ["Hand Crane 1: profile quay: zones"]
    );
    assert_eq!(says(&[("id = 21001", "id = 21003")]), ["Air Crane 1: own id"]);
    assert_eq!(
        says(&[("[[zone]]\nname = \"Harbor\"", "[display]\nbacklight_s = 9\n\n[[zone]]\nname = \"Harbor\"")]),
        ["Air Crane 1, Tug 1: display -: "]
    );
}

#[test]
fn what_no_radio_holds_is_written_into_none() {
    let small = small();
    let it = compared(
        &small,
        &edited(&small, &[("group_hang_ms = 3000", "group_hang_ms = 3500"), ("power_w = 25", "power_w = 20")]),
    );
    assert_eq!(told(&it), [] as [&str; 0]);
    let fixed: Vec<_> = it.fixed.iter().map(|table| &it.tables[*table]).collect();
    assert!(
        matches!(fixed.as_slice(), [table] if table.keys.iter().map(|key| key.key).eq(["power_w", "group_hang_ms"]))
    );
    // The title, and a table that nothing refers to.
    let paper = edited(
        &small,
        &[
            ("Saltmarsh Harbor", "Saltmarsh"),
            ("[[zone]]\nname = \"Harbor\"", "[[talkgroup]]\nname = \"New\"\nid = 9\n\n[[zone]]\nname = \"Harbor\""),
        ],
    );
    let it = compared(&small, &paper);
    assert!(it.is_empty() && it.others == 2, "{it:?}");
}

/// A key that a radio has itself hides its profile's.
#[test]
fn what_a_radio_says_itself_wins() {
    let own = edited(&small(), &[("alias = \"Crane 1\"", "alias = \"Crane 1\"\nzones = [\"Water\"]")]);
    let it = compared(&own, &edited(&own, &[("zones = [\"Harbor\"]", "zones = []")]));
    assert_eq!(told(&it), [] as [&str; 0]);
    assert_eq!(
        told(&compared(&own, &edited(&own, &[("slot = 2", "slot = 1")]))),
        ["Air Crane 1, Tug 1: channel Pilots: slot"]
    );
}

#[test]
fn a_name_that_changes_everywhere_is_shown_and_no_more() {
    let small = small();
    let it = compared(&small, &edited(&small, &[("\"Pilots\"", "\"Water taxi\"")]));
    assert_eq!(told(&it), ["Names Tug 1: talkgroup Water taxi: name; channel Water taxi: name"]);
    assert_eq!((it.to_write(false), it.to_write(true)), (0, 1));
    // A profile's name, a repeater's and a license's are on paper.
    let it = compared(
        &small,
        &edited(&small, &[("\"quay\"", "\"dock\""), ("\"beacon\"", "\"mast\""), ("harbor-uhf", "uhf")]),
    );
    assert!(it.is_empty() && it.others == 3, "{it:?}");
}

/// Every table of the demo under another name: nothing but shown names.
#[test]
fn renaming_every_table_changes_nothing_on_the_air() {
    let demo = demo();
    let names: BTreeSet<String> = demo
        .iter()
        .filter(|(file, _)| file.ends_with(".plan.toml"))
        .flat_map(|(_, text)| text.lines())
        .filter_map(|line| line.strip_prefix("name = \"").or_else(|| line.strip_prefix("alias = \"")))
        .filter_map(|line| line.split('"').next().map(str::to_owned))
        .collect();
    assert!(names.len() > 100);
    let new = |name: &str| format!("{}*", name.chars().rev().collect::<String>());
    let renamed = |(file, text): (&String, &String)| {
        let mut text = text.clone();
        for name in &names {
            if file.ends_with(".plan.toml") {
                text = text.replace(&format!("\"{name}\""), &format!("\"{}\"", new(name)));
            } else if file.ends_with(".csv") {
                text = text.replace(&format!(",{name},"), &format!(",{},", new(name)));
            }
        }
        (file.clone(), text)
    };
    let it = compared(&demo, &demo.iter().map(renamed).collect());
    assert!(it.rewrites.iter().all(|group| group.reach == Reached::Names), "{:?}", told(&it));
    assert_eq!(it.to_write(true), it.radios);
    let rest = Comparison { rewrites: Vec::new(), tables: Vec::new(), ..it };
    assert_eq!(rest, Comparison { radios: rest.radios, others: rest.others, ..Comparison::default() });
}

/// A table that is renamed and whose names lead to tables that changed is known again; one that itself says something else
/// under another name is another table.
#[test]
fn a_renamed_table_is_compared_with_what_it_was() {
    let small = small();
    let channel = [
        ("name = \"Berths\"\nsends", "name = \"Slips\"\nsends"),
        ("channels = [\"Berths\"]", "channels = [\"Slips\"]"),
    ];
    let it = compared(&small, &edited(&small, &[channel[0], channel[1], ("id = 1201", "id = 1301")]));
    assert_eq!(told(&it), ["Air Crane 1: talkgroup Berths: id; channel Slips: name"]);
    let it = compared(&small, &edited(&small, &[channel[0], channel[1], ("slot = 1", "slot = 2")]));
    assert_eq!(told(&it), ["Hand Crane 1: zone Harbor: channels"]);
}

#[test]
fn a_table_or_a_file_that_moves_changes_nothing() {
    let small = small();
    let plan = &small["harbor.plan.toml"];
    let (start, end) = (plan.find("[[talkgroup]]").unwrap(), plan.find("[[receive_group]]").unwrap());
    let mut moved = small.clone();
    moved.insert("common/groups.plan.toml".to_owned(), plan[start..end].to_owned());
    let rest = format!("{}{}", &plan[..start], &plan[end..]);
    let rest = rest.replace("model = ", "shares = [\"common/groups.plan.toml\"]\nmodel = ");
    moved.insert("harbor.plan.toml".to_owned(), rest);
    assert!(compared(&small, &moved).is_empty(), "{:?}", told(&compared(&small, &moved)));

    let mut elsewhere = small.clone();
    let model = elsewhere.remove("hh.model.toml").unwrap();
    elsewhere.insert("models/hh.model.toml".to_owned(), model);
    let elsewhere = edited(&elsewhere, &[("\"hh.model.toml\"", "\"models/hh.model.toml\"")]);
    let it = compared(&small, &elsewhere);
    assert!(it.is_empty() && it.renamed.len() == 1, "{it:?}");
}

/// A name that leads to another table since the plan sees other files.
#[test]
fn what_a_name_leads_to_counts() {
    let mut before = small();
    before.insert(
        "a.plan.toml".to_owned(),
        "[[scan_list]]\nname = \"Watch\"\nchannels = [\"selected\", \"Berths\"]\n".to_owned(),
    );
    before.insert(
        "b.plan.toml".to_owned(),
        "[[scan_list]]\nname = \"Watch\"\nchannels = [\"selected\", \"Pilots\"]\n".to_owned(),
    );
    let before = edited(
        &before,
        &[
            ("model = ", "shares = [\"a.plan.toml\", \"b.plan.toml\"]\nmodel = "),
            ("receive_group = \"Quay\"", "receive_group = \"Quay\"\nscan_list = \"Watch\""),
        ],
    );
    let after = edited(&before, &[("\"a.plan.toml\", \"b.plan.toml\"", "\"b.plan.toml\", \"a.plan.toml\"")]);
    assert_eq!(told(&compared(&before, &after)), ["Air Crane 1: channel Berths: scan_list"]);
}

/// A plan that goes takes its radios with it and leaves what it shared as it was.
#[test]
fn a_plan_that_goes_changes_no_other() {
    let demo = demo();
    for plan in ["cranes.plan.toml", "harbor.plan.toml", "rescue.plan.toml"] {
        let mut less = demo.clone();
        less.remove(plan);
        let (there, back) = (compared(&demo, &less), compared(&less, &demo));
        assert!(there.gone.len() > 10 && there.gone.len() == back.added.len(), "{plan}");
        let fixed: Vec<_> =
            there.fixed.iter().map(|table| (there.tables[*table].kind, there.tables[*table].became)).collect();
        assert!(fixed.iter().all(|(_, became)| *became == Became::Gone), "{plan}: {fixed:?}");
        assert!(there.rewrites.is_empty() && there.pairs.is_empty(), "{plan}: {:?}", told(&there));
    }
}

#[test]
fn radios_come_go_and_change_status() {
    let small = small();
    let more = edited(
        &small,
        &[(
            "[[radio]]\nid = 21002",
            "[[radio]]\nid = 21003\nalias = \"Crane 2\"\nprofile = \"quay\"\n\n[[radio]]\nid = 21002",
        )],
    );
    let aliases = |radios: &[guywire_workspace::RadioName]| {
        radios.iter().filter_map(|radio| radio.alias.clone()).collect::<Vec<_>>()
    };
    let it = compared(&small, &more);
    assert_eq!((aliases(&it.added), aliases(&it.gone), it.radios), (vec!["Crane 2".to_owned()], Vec::new(), 3));
    assert_eq!(aliases(&compared(&more, &small).gone), ["Crane 2"]);

    let lost =
        edited(&small, &[("alias = \"Tug 1\"", "alias = \"Tug 1\"\nstatus = \"lost\""), ("slot = 2", "slot = 1")]);
    let it = compared(&small, &lost);
    assert_eq!(told(&it), [] as [&str; 0], "nobody can write a radio that is lost");
    assert!(matches!(it.statuses.as_slice(), [change] if change.status == ("issued", "lost")));

    let renamed = edited(&small, &[("alias = \"Tug 1\"", "alias = \"Tug 9\"")]);
    assert_eq!(told(&compared(&small, &renamed)), ["Names Tug 9: own alias"]);
}

fn use_of(it: &[Use]) -> Vec<(String, StationClass, Vec<Novelty>, Grant)> {
    it.iter().map(|it| (it.carrier.to_string(), it.class, it.news.clone(), it.grant.clone())).collect()
}

#[test]
fn license_conditions_that_are_newly_used_are_told() {
    let small = small();
    let new = |edits: &[(&str, &str)]| use_of(&compared(&small, &edited(&small, edits)).newly_used);
    let license = || "harbor-uhf".to_owned();
    let covered = || Grant::Covered { license: license() };
    let mobile = StationClass::Mobile;
    let louder = [("power = \"low\"\nslot = 1", "power = \"high\"\nslot = 1")];
    assert_eq!(new(&louder), [("458.2125".to_owned(), mobile, vec![Novelty::Power], covered())]);
    let too_loud = [louder[0], ("watts = 4", "watts = 6")];
    let short = |lacks: &[&'static str]| Grant::Short { license: license(), lacks: lacks.to_vec() };
    assert_eq!(new(&too_loud), [("458.2125".to_owned(), mobile, vec![Novelty::Power], short(&["max_power_w"]))]);
    let analog = [(
        "sends = \"digital\"\nrepeater = \"beacon\"\npower = \"low\"\nslot = 2\ncall = \"Pilots\"\nprivacy = \"harbor\"",
        "sends = \"analog\"\nrepeater = \"beacon\"\npower = \"low\"",
    )];
    assert_eq!(new(&analog), [("458.2125".to_owned(), mobile, vec![Novelty::Emission], short(&["emission"]))]);
    let elsewhere = [("slot = 1\n", "slot = 1\ntx_mhz = 459.5\n")];
    assert_eq!(new(&elsewhere), [("459.5000".to_owned(), mobile, vec![Novelty::Carrier], Grant::None)]);
    let more = [(
        "[[radio]]\nid = 21002",
        "[[radio]]\nid = 21003\nalias = \"Crane 2\"\nprofile = \"quay\"\n\n[[radio]]\nid = 21002",
    )];
    assert_eq!(new(&more), [("458.2125".to_owned(), mobile, vec![Novelty::Units], short(&["units"]))]);
    let mast = [("power_w = 25", "power_w = 30")];
    assert_eq!(new(&mast), [("453.2125".to_owned(), StationClass::Repeater, vec![Novelty::Power], Grant::None)]);
    // Less of all is nothing new.
    assert_eq!(new(&[("power_w = 25", "power_w = 20"), ("watts = 1", "watts = 0.5")]), []);
}

/// Edits of the demo, each of another part of it.
const EDITS: &[(&str, &str)] = &[
    ("slot = 2\ncall = \"Cranes\"", "slot = 1\ncall = \"Cranes\""),
    ("color_code = 5", "color_code = 6"),
    ("rx_mhz = 451.8375", "rx_mhz = 451.85"),
    ("\"Ferry Mole\", \"Fish quay\"", "\"Fish quay\""),
    ("21012,Yard 2", "21017,Yard 2"),
    ("profile = \"mooring\"\nstands_by", "profile = \"works\"\nstands_by"),
    ("privacy = \"patrol-2026\"", "privacy = \"harbor-2026\""),
    ("shares = [\n    \"common/places.plan.toml\",", "shares = ["),
    ("long_press_ms = ", "long_press_ms = 1"),
    ("\"Search teams\"", "\"Searchers\""),
    ("[[profile.button]]", "[[profile.butto]]"),
    ("21004,Crane 4,", "21005,Crane 5,"),
];

/// Whatever changes: the other way round, the same radios are written for the same keys, and what was new is gone.
#[test]
fn the_other_way_round_is_the_mirror_image() {
    let demo = demo();
    for count in 1..=EDITS.len() {
        for start in 0..EDITS.len() {
            // One edit, or several that lie apart in the list.
            let picked: Vec<(&str, &str)> = (0..count).map(|step| EDITS[(start + step * 5) % EDITS.len()]).collect();
            if count > 3 && start > 0 {
                continue;
            }
            let changed = edited(&demo, &picked);
            let (there, back) = (compared(&demo, &changed), compared(&changed, &demo));
            assert!(!there.is_empty(), "{picked:?}");
            // Aliases may be others; that as many radios are written is what counts.
            assert_eq!(radios(&there).len(), radios(&back).len(), "{picked:?}");
            assert_eq!(keys(&there), keys(&back), "{picked:?}");
            let conditions = |it: &[Use]| it.iter().map(|it| (it.carrier, it.class, it.units)).collect::<Vec<_>>();
            assert_eq!(conditions(&there.newly_used), conditions(&back.no_longer_used), "{picked:?}");
            assert_eq!(conditions(&there.no_longer_used), conditions(&back.newly_used), "{picked:?}");
            assert_eq!(pairs(&there, false), pairs(&back, true), "{picked:?}");
            assert_eq!((there.added.len(), there.gone.len()), (back.gone.len(), back.added.len()), "{picked:?}");
        }
    }
}

/// How often what became of a pair, and of how many; `other`: the other way round.
fn pairs(it: &Comparison, other: bool) -> BTreeMap<(Reception, Reception), usize> {
    let mut counts = BTreeMap::new();
    for pair in &it.pairs {
        let heard = if other { (pair.after, pair.before) } else { (pair.before, pair.after) };
        *counts.entry(heard).or_default() += pair.senders.len() * pair.receivers.len() * pair.channels.len().max(1);
    }
    counts
}

/// Which keys of which kinds of table changed or came.
fn keys(it: &Comparison) -> BTreeSet<String> {
    let became = |table: &guywire_workspace::TableChange| match table.became {
        Became::Changed => "changed",
        Became::Added | Became::Gone => "there or not",
    };
    let tables = it.tables.iter().flat_map(|table| {
        let keys = table.keys.iter().map(|key| format!("{} {} {}", table.kind.noun(), key.key, became(table)));
        keys.chain([format!("{} {}", table.kind.noun(), became(table))]).collect::<Vec<_>>()
    });
    tables.collect()
}
