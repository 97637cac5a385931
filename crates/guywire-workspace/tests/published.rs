//! The published plans: their carriers are those of the tables that they name, and one wrong digit in them is told wherever
//! the text lets it be known.
//!
//! Every digit of every frequency, tone, number, slot and color code is changed to every other digit, a seeded sample where
//! there are many. What no rule tells is judged by `judge::Judge`, which knows the plan, its model and the published service and
//! asks no rule. `docs/slips.md` holds the counts.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "tests")]

#[path = "published/cells.rs"]
mod cells;
#[path = "published/judge.rs"]
mod judge;
#[path = "published/page.rs"]
mod page;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use cells::{Row, rows};
use guywire_radio::Hertz;
use guywire_rules::Level;
use guywire_text::FileId;
use guywire_workspace::{Budget, Change, DiskSource, Splice, Workspace};
use judge::Fate::{Caught, Missed, SameAir, Unknowable};
use judge::Judge;
use page::{Tally, page};

/// The plans, and the service that each is of.
const PLANS: [(&str, &str); 6] = [
    ("eu-446", "eu-446"),
    ("maritime", "maritime-vhf"),
    ("us-470-pairs", "us-part-90"),
    ("us-family", "us-part-95-family"),
    ("us-general", "us-part-95-general"),
    ("us-multi-use", "us-part-95-multi-use"),
];

/// Slips tried of a kind at most.
const MOST_OF_A_KIND: usize = 2_000;

/// Where the sample starts.
const SEED: u64 = 0x5eed_0f51_1b5a_11ce;

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

fn published(file: &str) -> String {
    std::fs::read_to_string(repository().join("tests/fixtures/published").join(file)).unwrap()
}

fn mhz(text: &str) -> Hertz {
    Hertz::from_mhz_text(text).unwrap()
}

// ---- kinds of values and slips -------------------------------------------------------------------

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    ChannelFrequency,
    RepeaterFrequency,
    Ctcss,
    Dcs,
    Talkgroup,
    Unit,
    Slot,
    ColorCode,
}

const KINDS: [(Kind, &str); 8] = [
    (Kind::ChannelFrequency, "frequency of a channel"),
    (Kind::RepeaterFrequency, "frequency of a repeater"),
    (Kind::Ctcss, "CTCSS tone"),
    (Kind::Dcs, "DCS code"),
    (Kind::Talkgroup, "talkgroup number"),
    (Kind::Unit, "unit id (radio, contact, repeater)"),
    (Kind::Slot, "slot"),
    (Kind::ColorCode, "color code"),
];

fn kind(table: &str, key: &str, text: &str) -> Option<Kind> {
    let tone = if text.starts_with("DCS") { Kind::Dcs } else { Kind::Ctcss };
    match (table, key) {
        ("channel", "rx_mhz" | "tx_mhz") => Some(Kind::ChannelFrequency),
        ("repeater", "rx_mhz" | "tx_mhz") => Some(Kind::RepeaterFrequency),
        ("channel", "rx_tone" | "tx_tone") | ("repeater", "input_tones" | "output_tone") => Some(tone),
        ("talkgroup", "id") => Some(Kind::Talkgroup),
        ("radio" | "contact" | "repeater", "id") => Some(Kind::Unit),
        ("channel" | "network.wide", "slot") => Some(Kind::Slot),
        ("channel" | "repeater", "color_code") => Some(Kind::ColorCode),
        _ => None,
    }
}

/// One digit of one value, and the digit that stands there instead.
#[derive(Debug, Clone)]
struct Slip {
    plan: usize,
    row: usize,
    key: String,
    item: usize,
    digit: usize,
    new: char,
}

fn slips(plan: usize, rows: &[Row]) -> Vec<(Kind, Slip)> {
    let mut found = Vec::new();
    for (row, it) in rows.iter().enumerate() {
        for (key, cells) in &it.keys {
            for (item, cell) in cells.iter().enumerate() {
                let Some(kind) = kind(&it.table, key, &cell.text) else { continue };
                for (digit, old) in cell.text.char_indices().filter(|(_, old)| old.is_ascii_digit()) {
                    let others = ('0'..='9').filter(|new| *new != old);
                    let slip = |new| Slip { plan, row, key: key.clone(), item, digit, new };
                    found.extend(others.map(|new| (kind, slip(new))));
                }
            }
        }
    }
    found
}

/// The next number of a fixed sequence (the mixing step of SplitMix64).
fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut mixed = *state;
    mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    mixed ^ (mixed >> 31)
}

fn sample(mut slips: Vec<Slip>, state: &mut u64) -> Vec<Slip> {
    for at in (1..slips.len()).rev() {
        let other = next(state) % (at as u64 + 1);
        slips.swap(at, usize::try_from(other).unwrap());
    }
    slips.truncate(MOST_OF_A_KIND);
    slips
}

// ---- the run -------------------------------------------------------------------------------------

/// The workspace of the published plans, each open.
struct Bench {
    workspace: Workspace,
    files: Vec<FileId>,
    version: i32,
}

impl Bench {
    fn new() -> Bench {
        let root = repository().join("tests/fixtures/published");
        let mut workspace = Workspace::load(Arc::new(DiskSource), &[root], jiff::civil::date(2026, 11, 25));
        let names = PLANS.map(|(name, _)| format!("{name}.plan.toml"));
        let known: BTreeMap<String, FileId> =
            workspace.files().into_iter().map(|file| (workspace.shown_path(file), file)).collect();
        let plans = known.keys().filter(|path| path.ends_with(".plan.toml")).count();
        assert_eq!(plans, names.len(), "a plan is left out of PLANS: {:?}", known.keys());
        let files: Vec<FileId> = names.iter().map(|name| known[name]).collect();
        for file in &files {
            let (address, text) = (workspace.address(*file).unwrap(), workspace.document(*file).unwrap().whole_text());
            workspace.apply(Change::Open { address, version: 1, text });
        }
        let mut bench = Bench { workspace, files, version: 1 };
        bench.settle();
        assert!(bench.workspace.all_findings().iter().all(|(_, found)| found.shown.is_empty()));
        bench
    }

    fn settle(&mut self) {
        assert!(self.workspace.settle(Budget::All, &AtomicBool::new(false)).settled);
    }

    fn write(&mut self, plan: usize, edits: Vec<Splice>) {
        self.version += 1;
        let change = Change::Edit { file: self.files[plan], version: self.version, edits };
        assert_eq!(self.workspace.apply(change).refused, 0);
    }

    /// Rules with a finding in the plan's own file, with their levels.
    fn rules(&self, plan: usize) -> Vec<(&'static str, Level)> {
        let found = self.workspace.findings(self.files[plan]);
        found.shown.iter().map(|shown| (shown.rule, shown.level)).collect()
    }
}

fn judges() -> Vec<Judge> {
    PLANS
        .iter()
        .map(|(name, service)| Judge::new(name, service, rows(&published(&format!("{name}.plan.toml")))))
        .collect()
}

fn run() -> BTreeMap<Kind, Tally> {
    let (mut bench, mut judges, mut state) = (Bench::new(), judges(), SEED);
    let mut by_kind: BTreeMap<Kind, Vec<Slip>> = BTreeMap::new();
    for (plan, judge) in judges.iter().enumerate() {
        for (kind, slip) in slips(plan, &judge.rows) {
            by_kind.entry(kind).or_default().push(slip);
        }
    }
    let mut tallies = BTreeMap::new();
    for (kind, slips) in by_kind {
        let mut tally = Tally { all: slips.len(), ..Tally::default() };
        for slip in sample(slips, &mut state) {
            try_slip(&mut bench, &mut judges[slip.plan], kind, &slip, &mut tally);
        }
        tallies.insert(kind, tally);
    }
    bench.settle();
    let after = bench.workspace.all_findings();
    assert!(after.iter().all(|(_, found)| found.shown.is_empty()), "a slip is left behind: {after:#?}");
    tallies
}

fn try_slip(bench: &mut Bench, judge: &mut Judge, kind: Kind, slip: &Slip, tally: &mut Tally) {
    let cell = &mut judge.rows[slip.row].keys.get_mut(&slip.key).unwrap()[slip.item];
    let (old, at) = (cell.text.clone(), cell.bytes.start + slip.digit);
    cell.text.replace_range(slip.digit..=slip.digit, &slip.new.to_string());
    let new = cell.text.clone();
    bench.write(slip.plan, vec![Splice::Bytes(at..at + 1, slip.new.to_string())]);
    bench.settle();
    let told = bench.rules(slip.plan);
    let mut loud: Vec<&str> =
        told.iter().filter(|(_, level)| *level >= Level::Warning).map(|(rule, _)| *rule).collect();
    loud.dedup();
    let fate = match judge.fate(kind, slip, &old) {
        SameAir => SameAir,
        _ if !loud.is_empty() => Caught,
        fate => fate,
    };
    tally.tried += 1;
    tally.plans[slip.plan].0 += 1;
    tally.plans[slip.plan].1 += usize::from(fate == Caught);
    *tally.fates.entry(fate).or_default() += 1;
    if fate == Caught {
        loud.sort_unstable();
        loud.dedup();
        loud.iter().for_each(|rule| *tally.rules.entry(*rule).or_default() += 1);
    } else if !told.is_empty() {
        *tally.quietly.entry(fate).or_default() += 1;
    }
    if let Missed(why) = fate {
        tally.missed.push(format!("{}: {old} to {new} under `{}`: {why}", PLANS[slip.plan].0, slip.key));
    }
    judge.rows[slip.row].keys.get_mut(&slip.key).unwrap()[slip.item].text.clone_from(&old);
    let digit = old[slip.digit..=slip.digit].to_owned();
    bench.write(slip.plan, vec![Splice::Bytes(at..at + 1, digit)]);
}

// ---- tests ---------------------------------------------------------------------------------------

#[test]
fn one_wrong_digit_is_told_where_it_can_be_known() {
    let tallies = run();
    let page = page(&tallies);
    println!("{page}");
    for (kind, name) in KINDS {
        let it = &tallies[&kind];
        assert_eq!(it.tried, it.all.min(MOST_OF_A_KIND), "{name}");
        assert!(it.caught() * 10 >= (it.caught() + it.missed()) * 9, "{name}: {:#?}", it.missed);
        if matches!(kind, Kind::ChannelFrequency | Kind::RepeaterFrequency) {
            let known = it.changed() - it.unknowable();
            assert!(it.caught() * 10 >= known * 9, "{name}: {} of {known} that can be known", it.caught());
        }
    }
    let path = repository().join("docs/slips.md");
    if std::env::var_os("GUYWIRE_BLESS").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    let printed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(printed == page, "docs/slips.md is out of date; run this test with GUYWIRE_BLESS=1:\n{page}");
}

/// What the judge says of a value as it is published must not be that something contradicts it.
#[test]
fn the_published_values_agree_with_their_service_license_and_model() {
    for (plan, judge) in judges().iter().enumerate() {
        let mut judged = 0;
        for (kind, slip) in slips(plan, &judge.rows) {
            let old = &judge.rows[slip.row].keys[&slip.key][slip.item].text;
            let fate = judge.fate(kind, &slip, old);
            assert!(matches!(fate, Unknowable(_)), "{}: {old} under `{}`: {fate:?}", PLANS[plan].0, slip.key);
            judged += 1;
        }
        assert!(judged > 0, "{}", PLANS[plan].0);
    }
}

fn written(plan: &str, table: &str, key: &str) -> Vec<Hertz> {
    rows(&published(plan)).iter().filter(|row| row.table == table).filter_map(|row| row.hertz(key)).collect()
}

fn spaced(first: &str, khz: i64, count: i64) -> Vec<Hertz> {
    (0..count).map(|n| mhz(first) + Hertz(1_000 * khz * n)).collect()
}

/// 47 CFR 95.563: channels 1 to 7, 8 to 14 and 15 to 22.
#[test]
fn family_radio_has_the_channels_of_its_table() {
    let computed = [spaced("462.5625", 25, 7), spaced("467.5625", 25, 7), spaced("462.5500", 25, 8)].concat();
    assert_eq!(written("us-family.plan.toml", "channel", "rx_mhz"), computed);
}

/// 47 CFR 95.1763: eight outputs, inputs 5 MHz above, and the fourteen channels of 95.563 between them.
#[test]
fn general_mobile_radio_has_the_channels_of_its_table() {
    let plan = "us-general.plan.toml";
    let (outputs, inputs) = (spaced("462.5500", 25, 8), spaced("467.5500", 25, 8));
    assert_eq!(written(plan, "repeater", "tx_mhz"), outputs);
    assert_eq!(written(plan, "repeater", "rx_mhz"), inputs);
    let direct = [outputs, spaced("462.5625", 25, 7), spaced("467.5625", 25, 7)].concat();
    assert_eq!(written(plan, "channel", "rx_mhz"), direct);
}

/// 47 CFR 95.2763.
#[test]
fn multi_use_radio_has_the_channels_of_its_table() {
    let table = ["151.820", "151.880", "151.940", "154.570", "154.600"].map(mhz);
    assert_eq!(written("us-multi-use.plan.toml", "channel", "rx_mhz"), table);
}

/// 47 CFR 80.871: ships every 50 kHz from 156.050 MHz (1 to 28) and 156.025 MHz (60 to 88), coast stations 4.6 MHz above.
/// 80.379 and 80.313: 156.525 and 156.800 MHz are not for speech from a file, so nothing is sent there.
#[test]
fn maritime_channels_are_where_their_numbers_say_and_the_watched_ones_send_nothing() {
    let rows = rows(&published("maritime.plan.toml"));
    let mut silent = Vec::new();
    for row in rows.iter().filter(|row| row.table == "channel") {
        let number: i64 = row.get("name").unwrap()[..2].parse().unwrap();
        let ship = if number < 60 {
            mhz("156.050") + Hertz(50_000 * (number - 1))
        } else {
            mhz("156.025") + Hertz(50_000 * (number - 60))
        };
        let is_pair = row.get("tx_mhz").is_some();
        let heard = if is_pair { ship + mhz("4.6") } else { ship };
        assert_eq!(row.hertz("rx_mhz"), Some(heard), "{number}");
        assert!(!is_pair || row.hertz("tx_mhz") == Some(ship), "{number}");
        if row.get("sends") == Some("nothing") {
            silent.push(number);
        }
    }
    assert_eq!(silent, [16, 70, 75, 76]);
}

/// 47 CFR 90.311(a): 6.25 kHz raster, base stations of channel 14 on 470.30625 to 472.99375 MHz, mobiles 3 MHz above.
#[test]
fn the_470_mhz_pairs_are_those_of_the_rule() {
    let plan = "us-470-pairs.plan.toml";
    let (outputs, inputs) = (written(plan, "repeater", "tx_mhz"), written(plan, "repeater", "rx_mhz"));
    assert_eq!(outputs.len(), 3);
    for (output, input) in outputs.iter().zip(&inputs) {
        assert!((mhz("470.30625")..=mhz("472.99375")).contains(output), "{output}");
        assert_eq!((output.0 % 6_250, *input - *output), (0, mhz("3")), "{output}");
    }
}
