//! Who hears whom, held against asking for every radio and every channel.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use guywire_plan::audience::{Answer, Hearing, Status};
use guywire_plan::language::{Kind, radio};
use guywire_plan::{EntityId, Known, Recorder, Row, View};

use super::{Comparison, Reception};
use crate::{MemorySource, Workspace};

/// Sender, channel, receiver.
type Pair = (String, String, String);

fn demo() -> BTreeMap<PathBuf, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/examples/saltmarsh").canonicalize().unwrap();
    let (mut open, mut files) = (vec![root], BTreeMap::new());
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                files.insert(path.clone(), std::fs::read_to_string(path).unwrap());
            }
        }
    }
    files
}

fn workspace(files: &BTreeMap<PathBuf, String>) -> Workspace {
    let root = files.keys().find(|path| path.ends_with("guywire.toml")).and_then(|path| path.parent()).unwrap();
    let source = MemorySource::new(files.iter().map(|(path, text)| (path, text.as_str())));
    let mut workspace = Workspace::load(Arc::new(source), &[root.to_path_buf()], jiff::civil::date(2026, 11, 25));
    workspace.settle_values();
    workspace
}

/// How every radio hears every other in use on every channel on its knob; pairs that do not hear are left out. And every
/// sender with its channels.
fn asked(workspace: &Workspace) -> (BTreeMap<Pair, Reception>, BTreeSet<(String, String)>) {
    let db = &workspace.engine.db;
    let recorder = Recorder::silent();
    let hearing = Hearing::new(View::new(db, db.file_ids().next().unwrap(), &recorder));
    let called =
        |id: EntityId| db.entity(id).unwrap().name().value().map(|name| db.symbols.text(name).to_owned()).unwrap();
    let (mut heard, mut sent) = (BTreeMap::new(), BTreeSet::new());
    for plan in hearing.plans().to_vec() {
        let view = View::new(db, plan, &recorder);
        let files = db.scope(plan).iter().flat_map(|file| db.entities_of(*file)).collect::<Vec<_>>();
        for channel in files.into_iter().filter(|id| db.entity(*id).unwrap().kind == Kind::Channel) {
            let classes = hearing.listening(plan, channel).into_iter().map(|(class, _)| class);
            let in_use = classes.filter(|class| class.post.status == Known::Is(Status::Issued));
            let senders: Vec<String> = in_use.flat_map(|class| class.radios.clone()).map(called).collect();
            sent.extend(senders.iter().map(|sender| (sender.clone(), called(channel))));
            let Ok(emission) = view.air(channel).unwrap().push_to_talk() else { continue };
            for answer in hearing.of(&emission, None).answers {
                let how = match answer.answer {
                    Answer::Hears => Reception::StandingBy,
                    Answer::IfScanning => Reception::IfScanning,
                    Answer::CouldTune => Reception::CouldTune,
                    _ => continue,
                };
                for receiver in answer.radios.iter().map(|radio| called(*radio)) {
                    let others = senders.iter().filter(|sender| **sender != receiver);
                    heard.extend(others.map(|sender| ((sender.clone(), called(channel), receiver.clone()), how)));
                }
            }
        }
    }
    (heard, sent)
}

/// Aliases with the status of each.
fn statuses(workspace: &Workspace) -> BTreeMap<String, String> {
    let db = &workspace.engine.db;
    let recorder = Recorder::silent();
    let radios = db.file_ids().flat_map(|file| db.entities_of(file).map(move |id| (file, id)).collect::<Vec<_>>());
    let told = radios.filter_map(|(file, id)| {
        let view = View::new(db, file, &recorder);
        let status =
            view.get::<radio::Table>(id)?.text(radio::status).value().map(|status| view.symbol(status).to_owned());
        Some((view.name_of(id)?.to_owned(), status.unwrap_or("issued".to_owned())))
    });
    told.collect()
}

/// What is told of channels that the senders hold in both states.
fn told(comparison: &Comparison) -> BTreeMap<Pair, (Reception, Reception)> {
    let alias = |radio: &super::RadioName| radio.alias.clone().unwrap();
    let mut told = BTreeMap::new();
    for pair in &comparison.pairs {
        for sender in pair.senders.iter().map(alias) {
            for receiver in pair.receivers.iter().map(alias).filter(|receiver| *receiver != sender) {
                for channel in &pair.channels {
                    let key = (sender.clone(), channel.clone(), receiver.clone());
                    let twice = told.insert(key, (pair.before, pair.after));
                    assert_eq!(twice, None, "{sender} {channel} {receiver}");
                }
            }
        }
    }
    told
}

const EDITS: &[(&str, &str, &str)] = &[
    ("cranes.plan.toml", "slot = 2\ncall = \"Cranes\"", "slot = 1\ncall = \"Cranes\""),
    ("common/places.plan.toml", "color_code = 5", "color_code = 6"),
    ("common/places.plan.toml", "rx_mhz = 458.2125", "rx_mhz = 458.3125"),
    ("harbor.plan.toml", "rx_mhz = 451.8375", "rx_mhz = 451.85"),
    ("harbor.plan.toml", "tx_tone = \"CTCSS 156.7\"", "tx_tone = \"CTCSS 151.4\""),
    (
        "harbor.plan.toml",
        "profile = \"mooring\"\nstands_by = { zone = \"Boats\", channel = \"Mooring 1\" }",
        "profile = \"mooring\"\nstands_by = { zone = \"Boats\", channel = \"Lines\" }",
    ),
    ("rescue.plan.toml", "privacy = \"patrol-2026\"", "privacy = \"harbor-2026\""),
    ("rescue.plan.toml", "keys = [\"patrol-2026\"]", "keys = []"),
    (
        "common/channels.plan.toml",
        "channels = [\"selected\", \"Rescue\", \"Berths\"]",
        "channels = [\"selected\", \"Rescue\"]",
    ),
    ("fleet.csv", "21004,Crane 4,HH-0004,crane,2026-11,issued", "21004,Crane 4,HH-0004,crane,2026-11,spare"),
    ("fleet.csv", "21021,Lock 1,", "21029,Lock 1,"),
    ("fleet.csv", "Yard 2,HH-0012,yard", "Yard 2,HH-0012,crane"),
    ("models/hh-uhf.model.toml", "hears_own_talkgroup = true", "hears_own_talkgroup = false"),
    ("common/groups.plan.toml", "\"Cranes\"", "\"Yard\""),
    ("cranes.plan.toml", "channels = [\"Yard\", \"Yard Mole\",", "channels = [\"Yard\","),
];

#[test]
fn every_pair_that_changes_is_told_and_no_other() {
    let before = demo();
    let old = workspace(&before);
    let (was, sent_then) = asked(&old);
    assert!(was.len() > 1_000);
    let mut changed = 0;
    for (file, from, to) in EDITS {
        let mut after = before.clone();
        let text = after.iter_mut().find(|(path, _)| path.ends_with(file)).unwrap().1;
        assert!(text.contains(from), "{file} does not say {from}");
        *text = text.replace(from, to);
        let new = workspace(&after);
        let (is, sent_now) = asked(&new);
        let states = (statuses(&old), statuses(&new));
        let same = |alias: &String| states.0.get(alias) == states.1.get(alias);
        let no = Reception::No;
        let both = |(sender, channel, _): &Pair| {
            let sent = (sender.clone(), channel.clone());
            sent_then.contains(&sent) && sent_now.contains(&sent)
        };
        let pairs: BTreeSet<&Pair> = was.keys().chain(is.keys()).collect();
        let counted = pairs.into_iter().filter(|pair| both(pair) && same(&pair.0) && same(&pair.2));
        let wanted: BTreeMap<Pair, (Reception, Reception)> = counted
            .map(|pair| (pair.clone(), (*was.get(pair).unwrap_or(&no), *is.get(pair).unwrap_or(&no))))
            .filter(|(_, (before, after))| before != after)
            .collect();
        let comparison = new.compared_with(&old, &[]);
        let told = told(&comparison);
        let missing: Vec<_> = wanted.iter().filter(|(pair, _)| !told.contains_key(*pair)).take(3).collect();
        let wrong: Vec<_> = told.iter().filter(|(pair, heard)| wanted.get(*pair) != Some(heard)).take(3).collect();
        assert!(missing.is_empty() && wrong.is_empty(), "{to}: missing {missing:?}, wrong {wrong:?}");
        assert!(comparison.pairs.iter().all(|pair| !pair.because.is_empty()), "{to}: {:?}", comparison.pairs);
        changed += wanted.len();
    }
    assert!(changed > 500, "{changed}");
}

/// A radio that gets other channels is told by all that it can send.
#[test]
fn channels_that_come_and_go_are_told_where_they_matter() {
    let before = demo();
    let mut after = before.clone();
    let text = after.iter_mut().find(|(path, _)| path.ends_with("rescue.plan.toml")).unwrap().1;
    // The tugs lose the channel of the pilots, and nothing else that reaches them.
    *text = text.replace("\"Tug 2\", \"Pilots\", \"Rescue\"", "\"Tug 2\", \"Rescue\"");
    let comparison = workspace(&after).compared_with(&workspace(&before), &[]);
    let rows: Vec<_> = comparison.pairs.iter().filter(|pair| pair.channels.is_empty()).collect();
    assert!(!rows.is_empty() && rows.iter().all(|row| row.after != Reception::StandingBy), "{rows:?}");
    let senders: BTreeSet<_> =
        rows.iter().flat_map(|row| &row.senders).filter_map(|radio| radio.alias.clone()).collect();
    assert_eq!(senders, BTreeSet::from(["Tug 1".to_owned(), "Tug 2".to_owned()]));
}
