//! Plans of a given size, the same for the same numbers on every machine. They are sound but for the findings planted in
//! them, so that the time of an edit is that of a plan at work.
//!
//! A plan is made of cells: a repeater on its own site, the four talkgroups that it carries, a desk that hears them, and
//! 16 channels: four through the repeater, four around it, four through it at low power, two digital and two analog ones
//! without it. The first twelve make a zone; the direct channels of three cells make another.

mod cell;
mod random;

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::PathBuf;

pub use random::SplitMix64;

use cell::{Cells, PER_CELL};

/// How large.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// One plan of 1,024 channels and 500 radios.
    S,
    /// One plan of 100,000 channels.
    L,
    /// 200 plans of 1,000 channels and 100 radios each, which share parts.
    W,
}

impl Size {
    /// Its letter.
    pub const fn letter(self) -> &'static str {
        match self {
            Size::S => "s",
            Size::L => "l",
            Size::W => "w",
        }
    }

    /// By its letter.
    pub fn of(letter: &str) -> Option<Size> {
        match letter {
            "s" | "S" => Some(Size::S),
            "l" | "L" => Some(Size::L),
            "w" | "W" => Some(Size::W),
            _ => None,
        }
    }
}

/// What was made.
pub struct Workload {
    /// The folder of the workspace.
    pub root: PathBuf,
    /// Every file by absolute path.
    pub files: BTreeMap<PathBuf, String>,
    /// The plans, and beside each the part whose names it uses too.
    pub plans: Vec<(PathBuf, Option<PathBuf>)>,
    /// Channels in all.
    pub channels: usize,
    /// Radios in all.
    pub radios: usize,
    /// Findings planted: profiles that no radio has.
    pub planted: usize,
}

/// Names, in which a number stands too: six letters at most.
const WORDS: [&str; 12] =
    ["Berths", "Pilots", "Cranes", "Locks", "Rescue", "Moor", "Ferry", "Slip", "Yard", "Gate", "Dredge", "Tug"];
/// Zones that a handheld holds.
const ZONES: usize = 40;
/// Cells whose direct channels make a zone.
const TRIPLE: usize = 3;
/// Plans that share one region.
const PER_REGION: usize = 10;
/// Talkgroups that every plan of a workspace shares.
const COMMON: usize = 8;

const HANDHELD: &str = include_str!("../../../../docs/examples/saltmarsh/models/hh-uhf.model.toml");
const MOBILE: &str = include_str!("../../../../docs/examples/saltmarsh/models/mobile-uhf.model.toml");

/// The texts of a size.
pub fn generate(size: Size, start: u64) -> Workload {
    let root = PathBuf::from("/saltmarsh");
    let mut files = BTreeMap::new();
    let mut put = |path: &str, text: &str| files.insert(root.join(path), text.to_owned());
    put("guywire.toml", "[workspace]\nas_of = 2026-11-25\n");
    put("models/hh-uhf.model.toml", HANDHELD);
    put("models/mobile-uhf.model.toml", MOBILE);
    let made = Workload { root, files, plans: Vec::new(), channels: 0, radios: 0, planted: 0 };
    let mut random = SplitMix64(start);
    match size {
        Size::S => one(made, &mut random, Wanted { channels: 1_024, radios: 500, planted: 8, model_at: "models" }),
        Size::L => one(made, &mut random, Wanted { channels: 100_000, radios: 900, planted: 8, model_at: "models" }),
        Size::W => many(made, &mut random),
    }
}

/// What a plan shall hold.
#[derive(Clone, Copy)]
struct Wanted {
    channels: usize,
    radios: usize,
    planted: usize,
    model_at: &'static str,
}

fn one(mut made: Workload, random: &mut SplitMix64, wanted: Wanted) -> Workload {
    let cells = Cells::new(wanted.channels, random);
    let mut text = String::new();
    head(&mut text, "Saltmarsh Harbor", wanted, "");
    license(&mut text);
    cells.infrastructure(&mut text, random);
    rest_of_plan(&mut text, &cells, random, wanted, None);
    let path = made.root.join("harbor.plan.toml");
    made.files.insert(path.clone(), text);
    made.plans.push((path, None));
    Workload { channels: wanted.channels, radios: wanted.radios, planted: wanted.planted, ..made }
}

fn many(mut made: Workload, random: &mut SplitMix64) -> Workload {
    made.files.insert(made.root.join("common/everyone.plan.toml"), common());
    for region in 0..20 {
        let wanted = Wanted { channels: 1_000, radios: 100, planted: 0, model_at: "../models" };
        let cells = Cells::new(wanted.channels, random);
        let part = made.root.join(format!("regions/region-{region:02}.plan.toml"));
        let mut text = format!("# What the plans of region {region} have in common.\n\n");
        license(&mut text);
        cells.infrastructure(&mut text, random);
        made.files.insert(part.clone(), text);
        for number in region * PER_REGION..(region + 1) * PER_REGION {
            let wanted = Wanted { planted: usize::from(number % 20 == 0), ..wanted };
            let shares =
                format!("shares = [\"../regions/region-{region:02}.plan.toml\", \"../common/everyone.plan.toml\"]\n");
            let mut text = String::new();
            head(&mut text, &format!("Saltmarsh Harbor, fleet {number}"), wanted, &shares);
            rest_of_plan(&mut text, &cells, random, wanted, Some(number % COMMON));
            let path = made.root.join(format!("plans/fleet-{number:03}.plan.toml"));
            made.files.insert(path.clone(), text);
            made.plans.push((path, Some(part.clone())));
            made.channels += wanted.channels;
            made.radios += wanted.radios;
            made.planted += wanted.planted;
        }
    }
    made
}

// ---- the tables of a plan that stand once --------------------------------------------------------

/// Writes to a text, which cannot fail.
macro_rules! put {
    ($text:expr, $($what:tt)*) => {{
        let _ = writeln!($text, $($what)*);
    }};
}
pub(crate) use put;

fn head(text: &mut String, title: &str, wanted: Wanted, shares: &str) {
    put!(text, "# Made by a program, for measuring. The place and all its numbers are invented.\n");
    put!(text, "[plan]\ntitle = \"{title}\"\nrevision = \"2026-11\"");
    put!(text, "model = \"{}/hh-uhf.model.toml\"\n{shares}fleet_complete = true\n", wanted.model_at);
}

fn license(text: &mut String) {
    put!(text, "[[license]]\nname = \"harbor-uhf\"\nexpires = 2031-04-30\npower_kind = \"erp\"\n");
    for (station, watts) in [("repeater", 45), ("mobile", 35)] {
        put!(text, "[[license.assignment]]\nlow_mhz = 450\nhigh_mhz = 470");
        put!(text, "emission = [\"7K60FXE\", \"7K60FXD\", \"11K2F3E\"]\nmax_power_w = {watts}");
        put!(text, "station = \"{station}\"\nuse = \"exclusive\"\n");
    }
}

/// What all plans of a workspace share: talkgroups without a repeater, and who listens for them.
fn common() -> String {
    let mut text = String::from("# Talkgroups of every fleet.\n\n");
    for number in 0..COMMON {
        put!(text, "[[talkgroup]]\nname = \"{}\"\nid = {}\n", common_group(number), 9_001 + number);
    }
    let names: Vec<String> = (0..COMMON).map(|number| format!("\"{}\"", common_group(number))).collect();
    put!(text, "[[receive_group]]\nname = \"Everyone\"\ntalkgroups = [{}]\n", names.join(", "));
    text
}

fn common_group(number: usize) -> String {
    format!("Everyone {}", number + 1)
}

fn rest_of_plan(text: &mut String, cells: &Cells, random: &mut SplitMix64, wanted: Wanted, common: Option<usize>) {
    cells.desks(text);
    cells.emergencies(text);
    cells.channels(text, random, common.map(common_group).as_deref());
    let profiles = zones(text, cells);
    fleet(text, random, wanted, &profiles);
    controls(text);
}

/// The zones; returns the zones of each profile.
fn zones(text: &mut String, cells: &Cells) -> Vec<Vec<String>> {
    // Enough profiles for a fleet even where all zones fit into one radio.
    let triples = cells.count().div_ceil(TRIPLE);
    let per_profile = (ZONES / (TRIPLE + 1)).min(triples.div_ceil(6));
    let mut profiles: Vec<Vec<String>> = Vec::new();
    for triple in 0..triples {
        if triple % per_profile == 0 {
            profiles.push(Vec::new());
        }
        let own: Vec<usize> = (triple * TRIPLE..cells.count().min((triple + 1) * TRIPLE)).collect();
        let mut named = Vec::new();
        for cell in &own {
            named.push((format!("Hill {cell:04}"), cells.names(*cell, 0..12)));
        }
        let direct: Vec<String> = own.iter().flat_map(|cell| cells.names(*cell, 12..PER_CELL)).collect();
        named.push((format!("Direct {triple:04}"), direct));
        for (name, channels) in named.into_iter().filter(|(_, channels)| !channels.is_empty()) {
            put!(text, "[[zone]]\nname = \"{name}\"\nchannels = [");
            for line in channels.chunks(4) {
                let line: Vec<String> = line.iter().map(|name| format!("\"{name}\"")).collect();
                put!(text, "    {},", line.join(", "));
            }
            put!(text, "]\n");
            if let Some(profile) = profiles.last_mut() {
                profile.push(name);
            }
        }
    }
    profiles
}

/// Profiles and radios, and the profiles that are planted.
fn fleet(text: &mut String, random: &mut SplitMix64, wanted: Wanted, profiles: &[Vec<String>]) {
    let list = |zones: &[String]| zones.iter().map(|zone| format!("    \"{zone}\",\n")).collect::<String>();
    for (number, zones) in profiles.iter().enumerate() {
        put!(text, "[[profile]]\nname = \"class {number:03}\"");
        if number % 4 == 3 {
            put!(text, "model = \"{}/mobile-uhf.model.toml\"", wanted.model_at);
        }
        put!(text, "zones = [\n{}]\nobeys = [\"check\"]\n", list(zones));
    }
    for number in 0..wanted.planted {
        let zones = random.pick(profiles);
        put!(text, "[[profile]]\nname = \"laid up {number}\"\nzones = [\n{}]\n", list(&zones[..1]));
    }
    for number in 0..wanted.radios {
        let profile = if number < profiles.len() { number } else { random.below(profiles.len()) };
        put!(text, "[[radio]]\nid = {}\nalias = \"{} {number:03}\"", 21_001 + number, random.pick(&WORDS));
        put!(text, "profile = \"class {profile:03}\"");
        if random.below(4) == 0 {
            put!(text, "stands_by = {{ zone = \"{}\" }}", random.pick(&profiles[profile]));
        }
        put!(text, "");
    }
}

fn controls(text: &mut String) {
    put!(text, "[controls]\nlong_press_ms = 1000\n");
    for place in ["top", "front-1"] {
        put!(text, "[[controls.button]]\nplace = \"{place}\"\npress = \"long\"\naction = \"emergency-on\"\n");
    }
    put!(text, "[signaling]\ngroup_hang_ms = 3000\nindividual_hang_ms = 4000\nstation_id_s = 900");
}
