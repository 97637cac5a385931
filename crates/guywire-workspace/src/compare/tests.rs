//! Who hears whom, held against asking for every radio and every channel.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use guywire_plan::audience::{
    Answer, Called, Emission, Gear, Hearing, Outcome, Payload, Rays, Signal, Status, receive,
};
use guywire_plan::language::{
    channel, emergency, profile, radio, receive_group, report, scan_list, signaling, station, talkgroup,
};
use guywire_plan::{Db, EntityId, Found, Known, Recorder, Ref, Row, Stored, Target, View};

use super::{Comparison, PairKind, Reception, Sending};
use crate::{MemorySource, Workspace};

/// A name, by its number in [`Names`].
type Name = u32;
/// Sender, channel, receiver.
type Pair = (Name, Name, Name);
/// What is sent beside push-to-talk, sender, channel of its knob, what is answered, receiver.
type Further = (Sending, Name, Name, Name, Name);
/// Before and after.
type Changed<K> = BTreeMap<K, (Reception, Reception)>;

#[derive(Default)]
struct Names(RefCell<Vec<String>>);

impl Names {
    fn number(&self, name: &str) -> Name {
        let mut names = self.0.borrow_mut();
        let number = names.iter().position(|known| known == name).unwrap_or_else(|| {
            names.push(name.to_owned());
            names.len() - 1
        });
        number as Name
    }
}

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

/// Who hears what, standing by, scanning or after a turn of the knob; who does not is left out.
#[derive(Default)]
struct Heard {
    calls: BTreeMap<Pair, Reception>,
    further: BTreeMap<Further, Reception>,
    /// Every sender with its channels.
    sent: BTreeSet<(Name, Name)>,
    /// Every sender with the talkgroups that it can call.
    groups: BTreeSet<(Name, Name)>,
    /// Every sender with what it sends beside push-to-talk, and the channel that this goes out on.
    goes: BTreeMap<(Sending, Name, Name, Name), Name>,
}

/// One of the states, looked at radio by radio.
struct Oracle<'o> {
    db: &'o Db,
    hearing: Hearing<'o>,
    recorder: &'o Recorder,
    names: &'o Names,
    called: HashMap<EntityId, Name>,
    known: HashMap<Emission, Rc<[(Name, Reception)]>>,
    found: Heard,
}

impl Oracle<'_> {
    fn called(&mut self, id: EntityId) -> Name {
        let (db, names) = (self.db, self.names);
        let number = || names.number(db.symbols.text(db.entity(id).unwrap().name().value().unwrap()));
        *self.called.entry(id).or_insert_with(number)
    }

    fn receivers(&mut self, emission: Option<Emission>) -> Rc<[(Name, Reception)]> {
        let Some(emission) = emission else { return Rc::default() };
        if let Some(known) = self.known.get(&emission) {
            return known.clone();
        }
        let mut found = Vec::new();
        let audience = self.hearing.of(&emission, None);
        for station in self.stations(&emission, &audience.rays) {
            found.push((self.called(station), Reception::StandingBy));
        }
        for answer in audience.answers {
            let how = match answer.answer {
                Answer::Hears => Reception::StandingBy,
                Answer::IfScanning => Reception::IfScanning,
                Answer::CouldTune => Reception::CouldTune,
                _ => continue,
            };
            for radio in answer.radios.iter().copied() {
                found.push((self.called(radio), how));
            }
        }
        let found: Rc<[(Name, Reception)]> = found.into();
        self.known.insert(emission, found.clone());
        found
    }

    /// The stations that hear it, each asked for everything that it is written to hear.
    fn stations(&self, emission: &Emission, rays: &Rays) -> HashSet<EntityId> {
        let mut found = HashSet::new();
        let is_called = |called: Called| emission.called() == Some(called);
        for plan in self.hearing.plans() {
            let view = View::new(self.db, *plan, self.recorder);
            for it in view.all::<station::Table>() {
                let names = it.list(station::hears).value().unwrap_or_default().iter().map(|item| &item.value);
                let hears = |name: &Stored| {
                    let Stored::Text(name) = name else { return false };
                    if let Found::One(group) = view.find::<talkgroup::Table>(it.id(), *name) {
                        return is_called(Called::Group(group.whole(talkgroup::id).value().unwrap()));
                    }
                    let Found::One(channel) = view.find::<channel::Table>(it.id(), *name) else { return false };
                    let air = view.air(channel.id()).unwrap();
                    rays.rays.iter().any(|ray| receive(&ray.emission, air, &Gear::UNWRITTEN, false) == Outcome::Heard)
                };
                let own = it.whole(station::id).value().is_some_and(|unit| is_called(Called::Unit(unit)));
                if own || names.into_iter().any(hears) {
                    found.insert(it.id());
                }
            }
        }
        found
    }

    fn call(&mut self, sender: Name, channel: Name, emission: Option<Emission>) {
        self.found.sent.insert((sender, channel));
        for (receiver, how) in self.receivers(emission).iter().filter(|(receiver, _)| *receiver != sender) {
            self.found.calls.insert((sender, channel, *receiver), *how);
        }
    }

    /// `emission`: none where it would be sent and cannot be.
    fn further(&mut self, key: (Sending, Name, Name, Name), on: Name, emission: Option<Emission>) {
        self.found.goes.insert(key, on);
        let (what, sender, channel, to) = key;
        for (receiver, how) in self.receivers(emission).iter().filter(|(receiver, _)| *receiver != sender) {
            self.found.further.insert((what, sender, channel, to, *receiver), *how);
        }
    }
}

/// Everything that radios in use send from the channels of their knobs, and who hears it.
fn asked(workspace: &Workspace, names: &Names) -> Heard {
    let db = &workspace.engine.db;
    let recorder = Recorder::silent();
    let hearing = Hearing::new(View::new(db, db.file_ids().next().unwrap(), &recorder));
    let plans = hearing.plans().to_vec();
    let (called, known) = (HashMap::new(), HashMap::new());
    let mut oracle = Oracle { db, hearing, recorder: &recorder, names, called, known, found: Heard::default() };
    for plan in plans {
        let view = View::new(db, plan, &recorder);
        for it in view.all::<radio::Table>() {
            let post = view.post(it.id()).unwrap();
            let Known::Is(zones) = &post.zones else { continue };
            if post.status != Known::Is(Status::Issued) {
                continue;
            }
            let sender = oracle.called(it.id());
            let knob: HashSet<EntityId> = zones.iter().flat_map(|zone| view.zone_channels(*zone)).collect();
            for channel in &knob {
                let name = oracle.called(*channel);
                let target = view.target(view.get::<channel::Table>(*channel).unwrap());
                if let (Known::Is(Target::Talkgroup(group)), Ok(_)) =
                    (target, view.air(*channel).unwrap().push_to_talk())
                {
                    let group = oracle.called(group.id());
                    oracle.found.groups.insert((sender, group));
                }
                oracle.call(sender, name, view.air(*channel).unwrap().push_to_talk().ok());
                from_position(&mut oracle, view, sender, *channel);
            }
            reports(&mut oracle, view, it, &knob);
        }
    }
    oracle.found
}

fn reports(oracle: &mut Oracle<'_>, view: View<'_>, it: Ref<'_, radio::Table>, knob: &HashSet<EntityId>) {
    let (sender, none) = (oracle.called(it.id()), oracle.names.number(""));
    for report in view.all::<report::Table>() {
        let profiles = view.named_all::<profile::Table, _>(report, report::profiles);
        let own = view.named::<profile::Table, _>(it, radio::profile);
        let on = view.named::<channel::Table, _>(report, report::channel).value().unwrap().id();
        let sends = match (profiles, own) {
            (Known::Is(profiles), Known::Is(own)) => profiles.iter().any(|it| it.id() == own.id()),
            (Known::Is(_), _) => false,
            _ => knob.contains(&on),
        };
        let call = view.air(on).unwrap().push_to_talk().unwrap();
        let Signal::Digital(digital) = call.signal else { panic!("the demo reports by digital") };
        if sends {
            let on = oracle.called(on);
            oracle.further((Sending::Report, sender, none, none), on, Some(call.to(digital.called, Payload::Data)));
        }
    }
}

/// What goes out from one position of a knob beside push-to-talk.
fn from_position(oracle: &mut Oracle<'_>, view: View<'_>, sender: Name, channel: EntityId) {
    let none = oracle.names.number("");
    let name = oracle.called(channel);
    let air = view.air(channel).unwrap();
    let it = view.get::<channel::Table>(channel).unwrap();
    let hangs = view.all::<signaling::Table>().iter().all(|it| it.whole(signaling::group_hang_ms) != Known::Is(0));
    if let Known::Is(held) = view.named::<receive_group::Table, _>(it, channel::receive_group)
        && air.push_to_talk().is_ok()
    {
        for group in
            view.named_all::<talkgroup::Table, _>(held, receive_group::talkgroups).value().into_iter().flatten()
        {
            let number = Called::Group(group.whole(talkgroup::id).value().unwrap());
            let is_digital = air.sends == Known::Is(guywire_plan::Sends::Digital);
            let answer =
                if hangs && is_digital { air.sent(number, Payload::Speech).ok() } else { air.push_to_talk().ok() };
            let to = oracle.called(group.id());
            oracle.further((Sending::GroupAnswer, sender, name, to), name, answer);
        }
    }
    if let Known::Is(list) = view.named::<scan_list::Table, _>(it, channel::scan_list)
        && let Known::Is(reply) = list.text(scan_list::reply).map(|word| view.symbol(word))
    {
        let given = view.named::<channel::Table, _>(list, scan_list::reply).value();
        for member in view.scanned_at(channel) {
            let on = match reply {
                "selected" => channel,
                "last-heard" => member,
                _ => given.unwrap().id(),
            };
            let answer = view.air(member).unwrap().push_to_talk().and_then(|_| view.air(on).unwrap().push_to_talk());
            let (on, to) = (oracle.called(on), oracle.called(member));
            oracle.further((Sending::ScanAnswer, sender, name, to), on, answer.ok());
        }
    }
    if let Known::Is(emergency) = view.named::<emergency::Table, _>(it, channel::emergency) {
        let on = match view.named::<channel::Table, _>(emergency, emergency::revert) {
            Known::Is(on) => on,
            _ => it,
        };
        let target = view.named::<talkgroup::Table, _>(emergency, emergency::target).value();
        let target = target.map(|group| Called::Group(group.whole(talkgroup::id).value().unwrap()));
        let called = target.or(view.air(on.id()).unwrap().call.or_value(Called::All).value()).unwrap();
        let sends = emergency.text(emergency::sends).map(|word| view.symbol(word));
        let speech = (sends != Known::Is("alarm")).then_some((Payload::Speech, Sending::EmergencyCall));
        for (payload, what) in [(Payload::Data, Sending::Alarm)].into_iter().chain(speech) {
            let emission = view.air(on.id()).unwrap().sent(called, payload).ok();
            let on = oracle.called(on.id());
            oracle.further((what, sender, name, none), on, emission);
        }
    }
}

/// Aliases with the status of each.
fn statuses(workspace: &Workspace, names: &Names) -> BTreeMap<Name, String> {
    let db = &workspace.engine.db;
    let recorder = Recorder::silent();
    let radios = db.file_ids().flat_map(|file| db.entities_of(file).map(move |id| (file, id)).collect::<Vec<_>>());
    let told = radios.filter_map(|(file, id)| {
        let view = View::new(db, file, &recorder);
        let status =
            view.get::<radio::Table>(id)?.text(radio::status).value().map(|status| view.symbol(status).to_owned());
        Some((names.number(view.name_of(id)?), status.unwrap_or("issued".to_owned())))
    });
    told.collect()
}

/// What is told of channels that the senders hold in both states: push-to-talk, and what is sent beside it.
fn told(comparison: &Comparison, names: &Names) -> (Changed<Pair>, Changed<Further>) {
    let all = |radios: &[super::RadioName]| -> Vec<Name> {
        radios.iter().map(|radio| names.number(radio.alias.as_ref().unwrap())).collect()
    };
    let named = |all: &[String]| all.iter().map(|name| names.number(name)).collect::<Vec<Name>>();
    let (mut calls, mut further) = (Changed::new(), Changed::new());
    for pair in &comparison.pairs {
        let heard = (pair.before, pair.after);
        let parts = match pair.what {
            Sending::Emergency => vec![Sending::Alarm, Sending::EmergencyCall],
            what => vec![what],
        };
        let answers = if pair.answers.is_empty() { named(&[String::new()]) } else { named(&pair.answers) };
        for channel in named(&pair.channels) {
            for sender in all(&pair.senders) {
                for receiver in all(&pair.receivers).into_iter().filter(|receiver| *receiver != sender) {
                    if pair.what == Sending::Call {
                        assert_eq!(calls.insert((sender, channel, receiver), heard), None, "{pair:?}");
                        continue;
                    }
                    let channel = if pair.what == Sending::Report { names.number("") } else { channel };
                    for (what, to) in parts.iter().flat_map(|what| answers.iter().map(move |to| (*what, *to))) {
                        let twice = further.insert((what, sender, channel, to, receiver), heard);
                        assert_eq!(twice, None, "{pair:?}");
                    }
                }
            }
        }
    }
    (calls, further)
}

/// What must be told of push-to-talk.
fn calls(was: &Heard, is: &Heard) -> Changed<Pair> {
    let no = Reception::No;
    let both = |(sender, channel, _): &&Pair| {
        was.sent.contains(&(*sender, *channel)) && is.sent.contains(&(*sender, *channel))
    };
    let pairs: BTreeSet<&Pair> = was.calls.keys().chain(is.calls.keys()).filter(both).collect();
    let heard = |pair: &Pair| (*was.calls.get(pair).unwrap_or(&no), *is.calls.get(pair).unwrap_or(&no));
    pairs.into_iter().map(|pair| (*pair, heard(pair))).filter(|(_, heard)| heard.0 != heard.1).collect()
}

/// What must be told beside that.
fn further(was: &Heard, is: &Heard, calls: &Changed<Pair>) -> Changed<Further> {
    let no = Reception::No;
    let both = |radio: Name, channel: Name| was.sent.contains(&(radio, channel)) && is.sent.contains(&(radio, channel));
    let mut wanted = Changed::new();
    for key in was.further.keys().chain(is.further.keys()) {
        let (what, sender, channel, to, receiver) = *key;
        let goes = (was.goes.get(&(what, sender, channel, to)), is.goes.get(&(what, sender, channel, to)));
        let counts = match what {
            Sending::Report => true,
            // An answer matters to those who can make the call.
            Sending::GroupAnswer => {
                let can_call = was.groups.contains(&(receiver, to)) && is.groups.contains(&(receiver, to));
                both(sender, channel) && can_call && goes.0.is_some() && goes.1.is_some()
            }
            Sending::ScanAnswer => both(sender, channel) && both(receiver, to) && goes.0.is_some() && goes.1.is_some(),
            _ => both(sender, channel),
        };
        let heard = (*was.further.get(key).unwrap_or(&no), *is.further.get(key).unwrap_or(&no));
        if !counts || heard.0 == heard.1 {
            continue;
        }
        let on = goes.0.filter(|on| goes.1 == Some(on));
        let as_call = on.and_then(|on| calls.get(&(sender, *on, receiver)));
        if as_call.is_none_or(|call| PairKind::of(*call) != PairKind::of(heard)) {
            wanted.insert(*key, heard);
        }
    }
    wanted
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
    ("common/channels.plan.toml", "revert = \"Rescue\"", "revert = \"selected\""),
    ("common/channels.plan.toml", "revert = \"Rescue Mole\"", "revert = \"Rescue\""),
    ("common/channels.plan.toml", "reply = \"last-heard\"", "reply = \"selected\""),
    ("common/handling.plan.toml", "group_hang_ms = 3000  ", "group_hang_ms = 0  "),
    ("common/places.plan.toml", "individual = true, data = true }", "individual = true, data = false }"),
    ("common/channels.plan.toml", "sends = \"alarm-and-call\"", "sends = \"alarm\""),
    ("harbor.plan.toml", "channel = \"Mooring 1\"\nprofiles", "channel = \"Lines\"\nprofiles"),
    ("common/places.plan.toml", "\"Berths\", \"Pilots\", \"Rescue\",", "\"Berths\", \"Pilots\","),
    ("common/places.plan.toml", "hears = [\"Berths Mole\", \"Rescue Mole\",", "hears = [\"Berths Mole\", \"Rescue\","),
    ("common/places.plan.toml", "id = 21900", "id = 21990"),
    ("common/groups.plan.toml", "id = 1201", "id = 1299"),
];

#[test]
fn every_pair_that_changes_is_told_and_no_other() {
    let names = Names::default();
    let before = demo();
    let old = workspace(&before);
    let was = asked(&old, &names);
    assert!(was.calls.len() > 1_000 && was.further.len() > 1_000);
    let (mut changed, mut beside) = (0, BTreeMap::<Sending, usize>::new());
    for (file, from, to) in EDITS {
        let mut after = before.clone();
        let text = after.iter_mut().find(|(path, _)| path.ends_with(file)).unwrap().1;
        assert!(text.contains(from), "{file} does not say {from}");
        *text = text.replace(from, to);
        let new = workspace(&after);
        let is = asked(&new, &names);
        let states = (statuses(&old, &names), statuses(&new, &names));
        let same = |alias: &Name| states.0.get(alias) == states.1.get(alias);
        let mut wanted = calls(&was, &is);
        wanted.retain(|(sender, _, receiver), _| same(sender) && same(receiver));
        let mut more = further(&was, &is, &wanted);
        more.retain(|(_, sender, _, _, receiver), _| same(sender) && same(receiver));
        let comparison = new.compared_with(&old, &[]);
        let told = told(&comparison, &names);
        agree((to, &names), &wanted, &told.0);
        agree((to, &names), &more, &told.1);
        assert!(comparison.pairs.iter().all(|pair| !pair.because.is_empty()), "{to}: {:?}", comparison.pairs);
        changed += wanted.len();
        more.keys().for_each(|key| *beside.entry(key.0).or_default() += 1);
    }
    assert!(changed > 500, "{changed}");
    let kinds = [Sending::Alarm, Sending::EmergencyCall, Sending::GroupAnswer, Sending::ScanAnswer, Sending::Report];
    assert!(kinds.iter().all(|kind| beside.get(kind) > Some(&5)), "{beside:?}");
}

/// A station that listens elsewhere loses what it heard: that is told, with its table.
#[test]
fn a_station_that_no_longer_hears_is_told() {
    let before = demo();
    let mut after = before.clone();
    let text = after.iter_mut().find(|(path, _)| path.ends_with("common/places.plan.toml")).unwrap().1;
    *text = text.replace("hears = [\"Fuel berth\"]", "hears = [\"Marina\"]");
    let comparison = workspace(&after).compared_with(&workspace(&before), &[]);
    let mut kinds = BTreeSet::new();
    for pair in &comparison.pairs {
        kinds.insert(pair.kind());
        let receivers: Vec<_> = pair.receivers.iter().filter_map(|it| it.alias.as_deref()).collect();
        assert_eq!(receivers, ["Fuel office"]);
        let because: Vec<_> = pair.because.iter().map(|at| comparison.tables[*at].name.1.as_deref()).collect();
        assert_eq!(because, [Some("Fuel office")]);
        let why = (pair.kind() == PairKind::Lost).then_some("does not listen to it");
        assert_eq!(pair.why.as_deref(), why);
    }
    assert_eq!(kinds, BTreeSet::from([PairKind::Lost, PairKind::Gained]));
}

fn agree<K: Ord + std::fmt::Debug>((edit, names): (&str, &Names), wanted: &Changed<K>, told: &Changed<K>) {
    let missing: Vec<_> = wanted.iter().filter(|(key, _)| !told.contains_key(*key)).take(3).collect();
    let wrong: Vec<_> = told.iter().filter(|(key, heard)| wanted.get(*key) != Some(heard)).take(3).collect();
    let names: Vec<_> = names.0.borrow().iter().cloned().enumerate().collect();
    assert!(missing.is_empty() && wrong.is_empty(), "{edit}: missing {missing:?}, wrong {wrong:?} of {names:?}");
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
