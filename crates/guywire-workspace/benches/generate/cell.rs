//! Cells: what one repeater brings into a plan.

use std::fmt::Write;
use std::ops::Range;

use super::random::SplitMix64;
use super::{WORDS, put};

/// Channels of a cell.
pub const PER_CELL: usize = 16;
/// Pairs of frequencies, after which they come again, more than 1,000 km away.
const PAIRS: usize = 240;
/// Frequencies without a repeater, digital and analog, after which they come again.
const DIRECT: usize = 72;
/// Tones of one group, far from each other and from the mains (the list of TIA-603).
const TONES: [&str; 6] = ["67.0", "77.0", "88.5", "107.2", "114.8", "131.8"];

/// The names that cells bring, by number.
pub struct Cells {
    channels: usize,
    groups: Vec<String>,
    names: Vec<String>,
}

impl Cells {
    /// Enough cells for so many channels.
    pub fn new(channels: usize, random: &mut SplitMix64) -> Cells {
        let cells = channels.div_ceil(PER_CELL);
        let groups = (0..cells * 2).map(|number| format!("{} {number:05}", random.pick(&WORDS))).collect();
        let names = (0..channels).map(|number| format!("{} {number:06}", random.pick(&WORDS))).collect();
        Cells { channels, groups, names }
    }

    /// How many.
    pub fn count(&self) -> usize {
        self.groups.len() / 2
    }

    /// The names of some channels of a cell, by their numbers in it; of the last cell, those that are there.
    pub fn names(&self, cell: usize, which: Range<usize>) -> Vec<String> {
        let first = cell * PER_CELL;
        let there = (first + which.start).min(self.channels)..(first + which.end).min(self.channels);
        self.names[there].to_vec()
    }

    /// The talkgroups of a slot of a cell: even ones are on slot 1, odd ones on slot 2, each in two cells.
    fn slot_groups(&self, cell: usize, slot: usize) -> [&str; 2] {
        let group = |number: usize| self.groups[number % self.groups.len()].as_str();
        [group(2 * cell + slot - 1), group(2 * cell + slot + 1)]
    }

    /// Sites, repeaters, talkgroups and receive groups.
    pub fn infrastructure(&self, text: &mut String, random: &mut SplitMix64) {
        for cell in 0..self.count() {
            // A degree apart, row by row to the south, so that no site hears another's repeater on the same pair.
            let (north, west) = (44 - cell as i64 / 64, 68 + cell % 64);
            put!(text, "[[site]]\nname = \"Site {cell:04}\"\nlatitude = {north}.{:04}", random.below(1_000));
            put!(text, "longitude = -{west}.{:04}\nground_m = {}", random.below(1_000), 20 + random.below(100));
            put!(text, "antenna_m = {}\n", 10 + random.below(30));
        }
        for cell in 0..self.count() {
            self.repeater(text, cell);
        }
        for (number, name) in self.groups.iter().enumerate() {
            put!(text, "[[talkgroup]]\nname = \"{name}\"\nid = {}\n", 1_001 + number);
        }
        for cell in 0..self.count() {
            for slot in [1, 2] {
                let [own, next] = self.slot_groups(cell, slot);
                put!(
                    text,
                    "[[receive_group]]\nname = \"Hill {cell:04}.{slot}\"\ntalkgroups = [\"{own}\", \"{next}\"]\n"
                );
            }
        }
    }

    fn repeater(&self, text: &mut String, cell: usize) {
        let output = 451_000_000 + cell % PAIRS * 12_500;
        let [first, second] = [1, 2].map(|slot| self.slot_groups(cell, slot));
        put!(text, "[[repeater]]\nname = \"hill {cell:04}\"\nsite = \"Site {cell:04}\"");
        put!(text, "tx_mhz = {}\nrx_mhz = {}", mhz(output), mhz(output + 5_000_000));
        put!(text, "color_code = {}", color_code(cell));
        put!(text, "slot_1 = [\"{}\", \"{}\"]\nslot_2 = [\"{}\", \"{}\"]", first[0], first[1], second[0], second[1]);
        put!(text, "power_w = 25\nantenna_gain_dbi = 6.0\nfeedline_loss_db = 2.1");
        put!(text, "group_hang_ms = 3000\nindividual_hang_ms = 4000\nemergency_hang_ms = 6000\ntime_out_s = 180\n");
    }

    /// Who hears and answers in each cell.
    pub fn desks(&self, text: &mut String) {
        for cell in 0..self.count() {
            let mut hears: Vec<String> =
                [1, 2].iter().flat_map(|slot| self.slot_groups(cell, *slot)).map(str::to_owned).collect();
            hears.extend(self.names(cell, 12..PER_CELL));
            let list: Vec<String> = hears.iter().map(|name| format!("\"{name}\"")).collect();
            let list = list.join(", ");
            put!(text, "[[station]]\nname = \"Desk {cell:04}\"\nhears = [{list}]\nsends = [{list}]\n");
        }
    }

    /// What an emergency does in each cell: it goes out on the cell's first channel.
    pub fn emergencies(&self, text: &mut String) {
        for cell in 0..self.count() {
            let Some(revert) = self.names(cell, 0..1).pop() else { continue };
            put!(
                text,
                "[[emergency]]\nname = \"Alarm {cell:04}\"\ntriggers = [\"button\"]\nsends = \"alarm-and-call\""
            );
            put!(text, "target = \"{}\"\nrevert = \"{revert}\"", self.slot_groups(cell, 1)[0]);
            put!(text, "tries = 5\nacknowledged_by = [\"Desk {cell:04}\"]\n");
        }
    }

    /// The channels; with `common`, those without a repeater call that talkgroup of all plans.
    pub fn channels(&self, text: &mut String, random: &mut SplitMix64, common: Option<&str>) {
        for (number, name) in self.names.iter().enumerate() {
            let (cell, place) = (number / PER_CELL, number % PER_CELL);
            if random.below(40) == 0 {
                put!(text, "# asked for by the {} crew", random.pick(&WORDS).to_lowercase());
            }
            put!(text, "[[channel]]\nname = \"{name}\"");
            match place {
                0..4 => self.through(text, cell, place, ""),
                4..8 => self.around(text, cell, place - 4),
                8..12 => self.through(text, cell, place - 8, "power = \"low\"\n"),
                12 | 13 => self.direct(text, cell, place - 12, common),
                _ => analog(text, cell, place - 14),
            }
            put!(text, "time_out_s = {}", [30, 60, 90, 120][random.below(4)]);
            put!(text, "emergency = \"Alarm {cell:04}\"");
            if random.below(20) == 0 {
                put!(text, "notes = \"Ask the {} desk before use.\"", random.pick(&WORDS).to_lowercase());
            }
            put!(text, "");
        }
    }

    /// Through the repeater, to one of its four talkgroups.
    fn through(&self, text: &mut String, cell: usize, place: usize, power: &str) {
        let (slot, group) = self.group_at(cell, place);
        put!(text, "sends = \"digital\"\nrepeater = \"hill {cell:04}\"\nslot = {slot}\n{power}call = \"{group}\"");
        put!(text, "receive_group = \"Hill {cell:04}.{slot}\"");
    }

    /// Slot and talkgroup by a number below 4.
    fn group_at(&self, cell: usize, place: usize) -> (usize, &str) {
        let slot = 1 + place % 2;
        (slot, self.slot_groups(cell, slot)[place / 2])
    }

    /// Around the repeater, on its output.
    fn around(&self, text: &mut String, cell: usize, place: usize) {
        put!(text, "sends = \"digital\"\nrepeater = \"hill {cell:04}\"\ntalk_around = true\npower = \"low\"");
        put!(text, "call = \"{}\"", self.group_at(cell, place).1);
    }

    fn direct(&self, text: &mut String, cell: usize, place: usize, common: Option<&str>) {
        let carrier = 460_000_000 + (2 * cell + place) % DIRECT * 12_500;
        put!(text, "sends = \"digital\"\nrx_mhz = {}\ncolor_code = {}", mhz(carrier), color_code(cell));
        match common {
            Some(group) => put!(text, "call = \"{group}\"\nreceive_group = \"Everyone\""),
            None => put!(text, "call = \"{}\"", self.slot_groups(cell, 1)[place]),
        }
    }
}

/// Where a carrier comes again, its tone comes again too.
fn analog(text: &mut String, cell: usize, place: usize) {
    let number = (2 * cell + place) % DIRECT;
    let tone = TONES[number % TONES.len()];
    put!(text, "sends = \"analog\"\nrx_mhz = {}", mhz(465_000_000 + number * 12_500));
    put!(text, "rx_tone = \"CTCSS {tone}\"\ntx_tone = \"CTCSS {tone}\"");
}

/// 1 to 14: 15 has a meaning of its own in trunked systems.
fn color_code(cell: usize) -> usize {
    1 + cell % 14
}

/// A frequency in MHz with as many digits as 100 Hz need.
fn mhz(hertz: usize) -> String {
    format!("{}.{:04}", hertz / 1_000_000, hertz % 1_000_000 / 100)
}
