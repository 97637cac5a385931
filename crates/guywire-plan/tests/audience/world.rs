//! A few small plans in plain structs, as random as they need to be for things to meet.

use std::ops::Range;

/// A file: 0 is the part, the others are plans.
pub type Home = usize;
/// The number of a table among those of its kind, over all files.
pub type Number = usize;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sends {
    Digital,
    Analog,
    Nothing,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Works {
    Digital,
    Analog,
    Dual,
}

/// What is set under analog speech, as it is written.
pub type Tone = &'static str;

/// Settings of which each opens itself, and the two pairs of codes each other (the inverse twins 023 and 047 of TIA-603).
pub const TONES: [Tone; 5] = ["CTCSS 100.0", "CTCSS 127.3", "DCS 023N", "DCS 047I", "DCS 047N"];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Output {
    Nothing,
    SameAsInput,
    Fixed(Tone),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Algorithm {
    FixedScramble,
    Arc4,
    Aes256,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Listens {
    OwnGroups,
    AnyGroup,
    BothSlots,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Call {
    Group(Number),
    Contact(Number),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    Issued,
    Spare,
    Lost,
    Retired,
}

#[derive(Clone, Debug)]
pub struct Model {
    pub hears_own_talkgroup: Option<bool>,
    pub hears_direct: Option<bool>,
    pub channel_key_only: Option<bool>,
}

#[derive(Clone, Debug)]
pub struct Talkgroup {
    pub home: Home,
    pub name: String,
    pub id: i64,
}

/// A contact; without an id it is the all call.
#[derive(Clone, Debug)]
pub struct Contact {
    pub home: Home,
    pub name: String,
    pub id: Option<i64>,
}

#[derive(Clone, Debug)]
pub struct ReceiveGroup {
    pub home: Home,
    pub name: String,
    pub talkgroups: Vec<Number>,
}

#[derive(Clone, Debug)]
pub struct Key {
    pub home: Home,
    pub name: String,
    pub algorithm: Algorithm,
    pub id: Option<i64>,
    pub check_value: Option<&'static str>,
    pub held_in: Option<&'static str>,
}

#[derive(Clone, Debug, Default)]
pub struct Slot {
    pub talkgroups: Vec<Number>,
    /// Written as an array of talkgroups and nothing else.
    pub is_short: bool,
    pub only_listed: bool,
    pub bars_individual: bool,
    pub bars_all_call: bool,
    pub bars_data: bool,
}

#[derive(Clone, Debug)]
pub struct Repeater {
    pub home: Home,
    pub name: String,
    pub tx: i64,
    pub rx: i64,
    pub works: Works,
    pub width: Option<i64>,
    pub color_code: i64,
    pub slots: [Option<Slot>; 2],
    pub input_tones: Vec<Tone>,
    pub output: Output,
}

#[derive(Clone, Debug)]
pub struct Network {
    pub home: Home,
    pub name: String,
    pub repeaters: Vec<Number>,
    pub wide: Vec<(Number, Option<i64>)>,
}

#[derive(Clone, Debug)]
pub struct Channel {
    pub home: Home,
    pub name: String,
    pub sends: Sends,
    pub receives: Option<Vec<Sends>>,
    pub repeater: Option<Number>,
    pub talk_around: bool,
    pub rx: Option<i64>,
    pub tx: Option<i64>,
    pub width: Option<i64>,
    pub color_code: Option<i64>,
    pub slot: Option<i64>,
    pub call: Option<Call>,
    pub receive_group: Option<Number>,
    pub listens: Option<Listens>,
    pub key: Option<Number>,
    pub more_keys: Vec<Number>,
    pub receive_clear: Option<bool>,
    pub tdma_direct: bool,
    pub rx_tone: Option<Tone>,
    pub tx_tone: Option<Tone>,
    pub opens_to_carrier: bool,
    pub scan_list: Option<Number>,
}

#[derive(Clone, Debug)]
pub struct ScanList {
    pub home: Home,
    pub name: String,
    pub selected: bool,
    pub channels: Vec<Number>,
    pub reply: Option<Reply>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reply {
    LastHeard,
    Selected,
    On(Number),
}

#[derive(Clone, Debug)]
pub struct Zone {
    pub home: Home,
    pub name: String,
    /// In knob order; none leaves a position empty.
    pub channels: Vec<Option<Number>>,
}

#[derive(Clone, Debug)]
pub struct Radio {
    pub home: Home,
    pub name: String,
    pub id: i64,
    pub status: Status,
    pub zones: Vec<Number>,
    pub stands_by: Option<Number>,
    pub keys: Option<Vec<Number>>,
}

/// Hang times of a plan, ms.
#[derive(Clone, Copy, Debug, Default)]
pub struct Hang {
    pub group: Option<i64>,
    pub individual: Option<i64>,
}

#[derive(Clone, Debug, Default)]
pub struct World {
    /// One a plan; the first stands for the part and is not used.
    pub models: Vec<Model>,
    pub hangs: Vec<Hang>,
    pub talkgroups: Vec<Talkgroup>,
    pub contacts: Vec<Contact>,
    pub receive_groups: Vec<ReceiveGroup>,
    pub keys: Vec<Key>,
    pub repeaters: Vec<Repeater>,
    pub networks: Vec<Network>,
    pub channels: Vec<Channel>,
    pub scan_lists: Vec<ScanList>,
    pub zones: Vec<Zone>,
    pub radios: Vec<Radio>,
}

impl World {
    /// The plans; each shares the part.
    pub fn plans(&self) -> Range<Home> {
        1..self.models.len()
    }
}

/// A seeded source of numbers (SplitMix64).
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Chance {
        Chance(seed.wrapping_mul(0xD134_2543_DE82_EF95))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    /// True once in `of` times.
    pub fn one_in(&mut self, of: usize) -> bool {
        self.below(of) == 0
    }

    pub fn pick<T: Clone>(&mut self, from: &[T]) -> T {
        from[self.below(from.len())].clone()
    }

    fn some_of<T: Clone>(&mut self, from: &[T], one_in: usize) -> Vec<T> {
        from.iter().filter(|_| self.one_in(one_in)).cloned().collect()
    }

    fn maybe<T: Clone>(&mut self, one_in: usize, from: &[T]) -> Option<T> {
        (!from.is_empty() && self.one_in(one_in)).then(|| self.pick(from))
    }
}

const BASE: i64 = 453_000_000;
const HIGH: i64 = 458_000_000;
const THIRD: i64 = 460_000_000;
/// Apart by less than 500 Hz, by just that, by less than 1 kHz, by just that, by more.
const OFF: [i64; 9] = [0, 0, 0, 0, 300, 500, 700, 1_000, 1_300];
const WIDTHS: [i64; 2] = [12_500, 25_000];

fn carrier(chance: &mut Chance) -> i64 {
    chance.pick(&[BASE, BASE, HIGH, HIGH, THIRD]) + if chance.one_in(4) { chance.pick(&OFF) } else { 0 }
}

fn color_code(chance: &mut Chance) -> i64 {
    chance.pick(&[1, 1, 1, 1, 1, 2, 15])
}

/// The numbers of those whose home a file sees.
fn seen<T>(all: &[T], home: impl Fn(&T) -> Home, from: Home) -> Vec<Number> {
    (0..all.len()).filter(|number| [0, from].contains(&home(&all[*number]))).collect()
}

/// Plans that share one part, and the part.
pub fn random(chance: &mut Chance) -> World {
    let plans = 1 + chance.below(2);
    let mut world = World::default();
    for home in 0..=plans {
        let truth = |chance: &mut Chance| chance.pick(&[None, Some(true), Some(false)]);
        world.models.push(Model {
            hears_own_talkgroup: truth(chance),
            hears_direct: truth(chance),
            channel_key_only: truth(chance),
        });
        let hang = |chance: &mut Chance| chance.pick(&[None, Some(0), Some(3_000)]);
        world.hangs.push(Hang { group: hang(chance), individual: hang(chance) });
        called(&mut world, home, chance);
        keys(&mut world, home, chance);
        repeaters(&mut world, home, chance);
        channels(&mut world, home, chance);
        fleet(&mut world, home, chance);
    }
    world
}

/// As `Berths 2` in a plan, the same in every plan, and `common Berths 2` in the part.
fn name(home: Home, what: &str, number: usize) -> String {
    if home == 0 { format!("common {what} {number}") } else { format!("{what} {number}") }
}

fn called(world: &mut World, home: Home, chance: &mut Chance) {
    for number in 0..if home == 0 { 2 } else { 1 } {
        world.talkgroups.push(Talkgroup {
            home,
            name: name(home, "group", number),
            id: 1_201 + chance.below(3) as i64,
        });
    }
    world.contacts.push(Contact { home, name: name(home, "unit", 0), id: Some(21_001 + chance.below(4) as i64) });
    world.contacts.push(Contact { home, name: name(home, "everyone", 0), id: None });
    let groups = seen(&world.talkgroups, |it| it.home, home);
    let talkgroups = chance.some_of(&groups, 2);
    world.receive_groups.push(ReceiveGroup { home, name: name(home, "listens", 0), talkgroups });
}

fn keys(world: &mut World, home: Home, chance: &mut Chance) {
    for number in 0..2 {
        let algorithm = chance.pick(&[Algorithm::FixedScramble, Algorithm::Arc4, Algorithm::Aes256, Algorithm::Aes256]);
        let id = match algorithm {
            Algorithm::FixedScramble => None,
            _ => Some(17 + chance.below(2) as i64),
        };
        let check_value = chance.pick(&[None, Some("9f3a77"), Some("0b11c4")]);
        let held_in = chance.pick(&[None, Some("vault:harbor/17"), Some("vault:harbor/18")]);
        world.keys.push(Key { home, name: name(home, "key", number), algorithm, id, check_value, held_in });
    }
}

fn repeaters(world: &mut World, home: Home, chance: &mut Chance) {
    let groups = seen(&world.talkgroups, |it| it.home, home);
    for number in 0..chance.below(3) {
        let slot = |chance: &mut Chance| {
            (!chance.one_in(3)).then(|| Slot {
                talkgroups: chance.some_of(&groups, 2),
                is_short: chance.one_in(3),
                only_listed: chance.one_in(2),
                bars_individual: chance.one_in(3),
                bars_all_call: chance.one_in(3),
                bars_data: chance.one_in(3),
            })
        };
        let input_tones = chance.some_of(&TONES, 4);
        let output = match chance.below(4) {
            0 => Output::Nothing,
            1 => Output::Fixed(chance.pick(&TONES)),
            _ => Output::SameAsInput,
        };
        let (tx, rx) = if chance.one_in(3) { (carrier(chance), carrier(chance)) } else { (BASE, HIGH) };
        world.repeaters.push(Repeater {
            home,
            name: name(home, "repeater", number),
            tx,
            rx,
            works: chance.pick(&[Works::Digital, Works::Digital, Works::Analog, Works::Dual]),
            width: chance.maybe(2, &WIDTHS),
            color_code: color_code(chance),
            slots: [slot(chance), slot(chance)],
            input_tones,
            output,
        });
    }
    let own = seen(&world.repeaters, |it| it.home, home);
    if own.len() > 1 && chance.one_in(2) {
        let wide = chance.some_of(&groups, 2);
        let wide = wide.into_iter().map(|group| (group, chance.pick(&[None, Some(1), Some(2)]))).collect();
        world.networks.push(Network { home, name: name(home, "network", 0), repeaters: own, wide });
    }
}

fn channels(world: &mut World, home: Home, chance: &mut Chance) {
    let count = if home == 0 { chance.below(3) } else { 2 + chance.below(4) };
    let lists = usize::from(count > 0);
    for number in 0..count {
        let channel = channel(world, home, number, lists, chance);
        world.channels.push(channel);
    }
    let own: Vec<Number> = (0..world.channels.len()).filter(|it| world.channels[*it].home == home).collect();
    if lists > 0 {
        let seen = seen(&world.channels, |it| it.home, home);
        let reply = match chance.below(4) {
            0 => None,
            1 => Some(Reply::LastHeard),
            2 => Some(Reply::Selected),
            _ => Some(Reply::On(chance.pick(&seen))),
        };
        let channels = chance.some_of(&seen, 2);
        let selected = chance.one_in(2);
        world.scan_lists.push(ScanList { home, name: name(home, "scan", 0), selected, channels, reply });
    }
    for number in 0..lists * 2 {
        let mut channels: Vec<Option<Number>> = chance.some_of(&own, 2).into_iter().map(Some).collect();
        if chance.one_in(4) {
            channels.insert(0, None);
        }
        channels.push(Some(chance.pick(&seen(&world.channels, |it| it.home, home))));
        world.zones.push(Zone { home, name: name(home, "zone", number), channels });
    }
}

fn channel(world: &World, home: Home, number: usize, lists: usize, chance: &mut Chance) -> Channel {
    let groups = seen(&world.talkgroups, |it| it.home, home);
    let contacts = seen(&world.contacts, |it| it.home, home);
    let keys = seen(&world.keys, |it| it.home, home);
    let repeaters = seen(&world.repeaters, |it| it.home, home);
    let receive_groups = seen(&world.receive_groups, |it| it.home, home);
    let sends =
        chance.pick(&[Sends::Digital, Sends::Digital, Sends::Digital, Sends::Analog, Sends::Analog, Sends::Nothing]);
    let both = [Sends::Digital, Sends::Analog];
    let receives = match (sends, chance.below(8)) {
        (_, 0) => Some(both.to_vec()),
        (_, 1) => Some(vec![Sends::Digital]),
        (Sends::Nothing, 2..) | (_, 2) => Some(vec![Sends::Analog]),
        _ => None,
    };
    let repeater = chance.maybe(2, &repeaters);
    let is_direct = repeater.is_none();
    Channel {
        home,
        name: name(home, "channel", number),
        sends,
        receives: if sends == Sends::Nothing && chance.one_in(12) { None } else { receives },
        repeater,
        talk_around: repeater.is_some() && chance.one_in(5),
        rx: (is_direct || chance.one_in(8)).then(|| carrier(chance)),
        tx: (chance.one_in(if is_direct { 4 } else { 8 })).then(|| carrier(chance)),
        width: chance.maybe(3, &WIDTHS),
        color_code: (!chance.one_in(20) && (is_direct || chance.one_in(5))).then(|| color_code(chance)),
        slot: (!chance.one_in(6)).then(|| chance.pick(&[1, 1, 2])),
        call: match chance.below(12) {
            0 => None,
            1 | 2 => Some(Call::Contact(chance.pick(&contacts))),
            _ => Some(Call::Group(chance.pick(&groups))),
        },
        receive_group: chance.maybe(2, &receive_groups),
        listens: chance.pick(&[
            None,
            None,
            Some(Listens::OwnGroups),
            Some(Listens::AnyGroup),
            Some(Listens::BothSlots),
        ]),
        key: chance.maybe(3, &keys),
        more_keys: if chance.one_in(4) { vec![chance.pick(&keys)] } else { Vec::new() },
        receive_clear: chance.pick(&[None, None, Some(true), Some(false)]),
        tdma_direct: chance.one_in(if is_direct { 3 } else { 12 }),
        rx_tone: chance.maybe(3, &TONES),
        tx_tone: chance.maybe(2, &TONES),
        opens_to_carrier: chance.one_in(6),
        scan_list: (lists > 0 && chance.one_in(2)).then_some(world.scan_lists.len()),
    }
}

fn fleet(world: &mut World, home: Home, chance: &mut Chance) {
    let own: Vec<Number> = (0..world.zones.len()).filter(|it| world.zones[*it].home == home).collect();
    if own.is_empty() {
        return;
    }
    let keys = seen(&world.keys, |it| it.home, home);
    let channels = seen(&world.channels, |it| it.home, home);
    for number in 0..if home == 0 { chance.below(2) } else { 2 + chance.below(3) } {
        let status = chance.pick(&[Status::Issued, Status::Issued, Status::Issued, Status::Issued, Status::Spare]);
        let status = if chance.one_in(12) { chance.pick(&[Status::Lost, Status::Retired]) } else { status };
        let zones = if chance.one_in(3) { own.clone() } else { vec![chance.pick(&own)] };
        world.radios.push(Radio {
            home,
            name: name(home, "radio", number),
            id: 21_001 + number as i64,
            status,
            zones,
            stands_by: chance.maybe(2, &channels),
            keys: chance.one_in(2).then(|| chance.some_of(&keys, 2)),
        });
    }
}
