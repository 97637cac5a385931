//! Random edits that mean something: what people do to plans, and what they do by mistake.

use std::path::PathBuf;

use super::harbor;

/// A small generator of numbers (SplitMix64): the same from run to run.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Chance(seed)
    }
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }
    pub fn below(&mut self, most: usize) -> usize {
        (self.next() % most.max(1) as u64) as usize
    }
    pub fn one_in(&mut self, many: usize) -> bool {
        self.below(many) == 0
    }
    pub fn pick<'t, T>(&mut self, of: &'t [T]) -> Option<&'t T> {
        if of.is_empty() { None } else { Some(&of[self.below(of.len())]) }
    }
}

/// What happens to a file.
#[derive(Debug, Clone)]
pub enum Step {
    /// Its text becomes this.
    Text(PathBuf, String),
    /// On disk it becomes these bytes, or goes.
    Disk(PathBuf, Option<Vec<u8>>),
}

/// Lines of one table, header first; the lines before the first header come first.
fn tables(text: &str) -> Vec<Vec<String>> {
    let mut tables: Vec<Vec<String>> = vec![Vec::new()];
    for line in text.split_inclusive('\n') {
        if line.starts_with('[') {
            tables.push(Vec::new());
        }
        if let Some(last) = tables.last_mut() {
            last.push(line.to_owned());
        }
    }
    tables
}

fn joined(tables: &[Vec<String>]) -> String {
    tables.iter().flatten().map(String::as_str).collect()
}

const NAMES: [&str; 9] =
    ["Berths", "Pilots", "Cranes", "Quayside", "All hands", "Harbor", "harbor-2026", "beacon", "Nobody"];

/// The next step on a file with this text.
pub fn step(chance: &mut Chance, name: &str, original: &str, text: &str) -> Step {
    let path = harbor::path(name);
    // Sound again now and then, so that findings go as well as come.
    if chance.one_in(7) {
        return Step::Text(path, original.to_owned());
    }
    if chance.one_in(60) {
        let bytes: Option<&[u8]> = match chance.below(4) {
            0 => None,
            1 => Some(b"[plan]\ntitle = \"\xE9\"\n"),
            2 => Some(b"\n# nothing yet\n"),
            _ => Some(original.as_bytes()),
        };
        return Step::Disk(path, bytes.map(<[u8]>::to_vec));
    }
    if name.ends_with(".csv") {
        return Step::Text(path, change_sheet(chance, text));
    }
    let mut tables = tables(text);
    match chance.below(20) {
        0 | 1 => rename(chance, &mut tables),
        2..=4 => retarget(chance, &mut tables),
        5 => {
            let at = chance.below(tables.len());
            tables.remove(at);
        }
        6 => {
            let at = chance.below(tables.len());
            let copy = tables[at].clone();
            let to = chance.below(tables.len() + 1);
            tables.insert(to, copy);
        }
        7 => {
            let from = chance.below(tables.len());
            let table = tables.remove(from);
            let to = chance.below(tables.len() + 1);
            tables.insert(to, table);
        }
        8..=11 => change_value(chance, &mut tables),
        12 => misspell_key(chance, &mut tables),
        13 => remove_line(chance, &mut tables),
        14 => misspell_header(chance, &mut tables),
        15 => break_line(chance, &mut tables),
        16 => special(chance, name, &mut tables),
        17 => {
            let at = chance.below(tables.len());
            tables[at].push("# a note\n".to_owned());
        }
        18 => special(chance, name, &mut tables),
        _ => return Step::Text(path, rename_everywhere(chance, text)),
    }
    Step::Text(path, joined(&tables))
}

/// A sheet gets another id, a row more or less, a broken quote, a renamed column.
fn change_sheet(chance: &mut Chance, text: &str) -> String {
    let mut lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    let at = chance.below(lines.len());
    let id = ["21007", "21030", "21031", "no number"][chance.below(4)];
    match chance.below(6) {
        0 | 1 => lines.push(format!("{id},Lock 9,quay,\n")),
        2 if !lines.is_empty() => {
            lines.remove(at);
        }
        3 if !lines.is_empty() => lines[at] = lines[at].replacen('"', "", 1).replacen(',', ",,", 1),
        4 if !lines.is_empty() => lines[at] = lines[at].replace("quay", "quai").replace("Unit", "Unti"),
        _ if !lines.is_empty() => {
            let line = lines.remove(at);
            lines.push(line);
        }
        _ => lines.push("Unit,Name,Class,status\n".to_owned()),
    }
    lines.concat()
}

fn line_with<'t>(chance: &mut Chance, tables: &'t mut [Vec<String>], keys: &[&str]) -> Option<&'t mut String> {
    let mut lines: Vec<&mut String> =
        tables.iter_mut().flatten().filter(|line| keys.iter().any(|key| line.starts_with(key))).collect();
    if lines.is_empty() {
        return None;
    }
    let at = chance.below(lines.len());
    Some(lines.swap_remove(at))
}

fn rename(chance: &mut Chance, tables: &mut [Vec<String>]) {
    let name = *chance.pick(&NAMES).unwrap();
    if let Some(line) = line_with(chance, tables, &["name = "]) {
        *line = format!("name = \"{name}\"\n");
    }
}

fn rename_everywhere(chance: &mut Chance, text: &str) -> String {
    let from = *chance.pick(&NAMES).unwrap();
    let to = *chance.pick(&NAMES).unwrap();
    text.replace(&format!("\"{from}\""), &format!("\"{to}\""))
}

fn retarget(chance: &mut Chance, tables: &mut [Vec<String>]) {
    let keys = ["call = ", "repeater = ", "receive_group = ", "profile = ", "privacy = ", "scan_list = "];
    let lists = ["channels = ", "talkgroups = ", "zones = ", "keys = ", "slot_1 = "];
    let name = *chance.pick(&NAMES).unwrap();
    if chance.one_in(2) {
        if let Some(line) = line_with(chance, tables, &keys) {
            let key = line.split(" = ").next().unwrap_or_default().to_owned();
            *line = format!("{key} = \"{name}\"\n");
        }
        return;
    }
    let other = *chance.pick(&NAMES).unwrap();
    let many = chance.below(6);
    if let Some(line) = line_with(chance, tables, &lists) {
        let key = line.split(" = ").next().unwrap_or_default().to_owned();
        let mut names = vec![format!("\"{name}\""), format!("\"{other}\"")];
        names.extend((0..many).map(|_| "\"\"".to_owned()));
        *line = format!("{key} = [{}]\n", names.join(", "));
    }
}

fn change_value(chance: &mut Chance, tables: &mut [Vec<String>]) {
    let values: [(&str, &[&str]); 14] = [
        ("color_code = ", &["1", "5", "3", "99", "\"five\""]),
        ("rx_mhz = ", &["453.2125", "456.4625", "483.2", "458.2125", "445.0", "453212.5"]),
        ("tx_mhz = ", &["453.2125", "399.9"]),
        ("id = ", &["21007", "21008", "21020", "1201", "0"]),
        ("ids = ", &["{ harbor = 21007 }", "{ harbor = 21009 }", "{ nowhere = 21009 }"]),
        ("slot = ", &["1", "2"]),
        ("status = ", &["\"spare\"", "\"issued\"", "\"lost\""]),
        ("low_mhz = ", &["403", "460", "450"]),
        ("channels_per_zone = ", &["1", "2", "4", "16"]),
        ("emissions = ", &["[\"FXE\"]", "[\"F3E\"]", "[\"FM\"]"]),
        ("max_power_w = ", &["35", "0", "5"]),
        ("high_mhz = ", &["454.0", "453.1", "452.0"]),
        ("regime = ", &["\"services/quay.regime.toml\"", "\"eu-446\"", "\"services/nowhere.regime.toml\""]),
        ("sends = ", &["\"digital\"", "\"nothing\"", "\"analog\""]),
    ];
    let (key, choices) = chance.pick(&values).unwrap();
    let value = chance.pick(choices).unwrap();
    if let Some(line) = line_with(chance, tables, &[key]) {
        *line = format!("{key}{value}\n");
    }
}

fn key_line<'t>(chance: &mut Chance, tables: &'t mut [Vec<String>]) -> Option<&'t mut String> {
    let mut lines: Vec<&mut String> = tables.iter_mut().flatten().filter(|line| line.contains(" = ")).collect();
    if lines.is_empty() {
        return None;
    }
    let at = chance.below(lines.len());
    Some(lines.swap_remove(at))
}

fn misspell_key(chance: &mut Chance, tables: &mut [Vec<String>]) {
    if let Some(line) = key_line(chance, tables) {
        line.insert(1, 'q');
    }
}

fn remove_line(chance: &mut Chance, tables: &mut [Vec<String>]) {
    if let Some(line) = key_line(chance, tables) {
        line.clear();
    }
}

fn misspell_header(chance: &mut Chance, tables: &mut [Vec<String>]) {
    let at = chance.below(tables.len());
    if let Some(header) = tables[at].first_mut()
        && header.starts_with('[')
    {
        *header = match chance.below(4) {
            0 => header.replace("[[", "[").replace("]]", "]"),
            1 => header.replace("]\n", "\n"),
            _ => header.replacen("channel", "chanel", 1).replacen("zone", "zoen", 1).replacen("radio", "radoi", 1),
        };
    }
}

fn break_line(chance: &mut Chance, tables: &mut [Vec<String>]) {
    let way = chance.below(6);
    if let Some(line) = key_line(chance, tables) {
        *line = match way {
            0 => line.replacen('"', "", 1),
            1 => line.replace(" = ", " "),
            2 => line.replace('\n', " oops\n"),
            3 => format!("{line}{line}"),
            4 => line.replace(" = ", " = \"\"\""),
            _ => line.chars().take(3).chain(['\n']).collect(),
        };
    }
}

/// What only some files have: shares, models, levels, secrets.
fn special(chance: &mut Chance, name: &str, tables: &mut [Vec<String>]) {
    let shares = [
        "[\"common/groups.plan.toml\"]",
        "[\"cranes.plan.toml\", \"common/groups.plan.toml\"]",
        "[\"harbor.plan.toml\", \"common/groups.plan.toml\"]",
        "[\"nowhere.plan.toml\"]",
        "[]",
    ];
    let models =
        ["models/hh-uhf.model.toml", "models/mobile-uhf.model.toml", "models/nowhere.model.toml", "guywire.toml"];
    let levels = ["\"off\"", "\"error\"", "{ level = \"warning\" }", "\"hint\""];
    let (share, model, level) =
        (chance.pick(&shares).unwrap(), chance.pick(&models).unwrap(), chance.pick(&levels).unwrap());
    if name == "guywire.toml" {
        if let Some(line) = line_with(chance, tables, &["unused-definition", "same-channel-twice"]) {
            let rule = line.split(" = ").next().unwrap_or_default().to_owned();
            *line = format!("{rule} = {level}\n");
        }
        return;
    }
    match chance.below(4) {
        0 | 1 => {
            if let Some(line) = line_with(chance, tables, &["shares = "]) {
                *line = format!("shares = {share}\n");
            }
        }
        2 => {
            if let Some(line) = line_with(chance, tables, &["model = "]) {
                *line = format!("model = \"{model}\"\n");
            }
        }
        _ => {
            if let Some(line) = line_with(chance, tables, &["held_in = "]) {
                *line = "value = \"00112233445566778899\"\n".to_owned();
            }
        }
    }
}
