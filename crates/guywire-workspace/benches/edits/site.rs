//! Places of a made plan where it can be edited, found by its lines.

use std::ops::Range;

/// Bytes of a text, in little room: a text of 100,000 channels has a million places.
#[derive(Debug, Clone, Copy)]
pub struct Spot {
    start: u32,
    end: u32,
}

impl Spot {
    fn new(bytes: Range<usize>) -> Spot {
        // No text is longer than the largest file that is read.
        Spot { start: bytes.start as u32, end: bytes.end as u32 }
    }

    /// As a range.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// Kinds of table that something refers to.
const KINDS: [&str; 9] =
    ["channel", "talkgroup", "receive_group", "repeater", "site", "emergency", "station", "zone", "profile"];

/// What each key refers to.
const REFERENCES: [(&str, &str); 14] = [
    ("call", "talkgroup"),
    ("receive_group", "receive_group"),
    ("repeater", "repeater"),
    ("site", "site"),
    ("emergency", "emergency"),
    ("target", "talkgroup"),
    ("revert", "channel"),
    ("profile", "profile"),
    ("channels", "channel"),
    ("zones", "zone"),
    ("talkgroups", "talkgroup"),
    ("hears", "talkgroup"),
    ("sends", "talkgroup"),
    ("acknowledged_by", "station"),
];

/// The places of a text.
#[derive(Default)]
pub struct Sites {
    /// A digit, or a word of a few.
    pub values: Vec<Spot>,
    /// The text of a name.
    pub names: Vec<Spot>,
    /// The text of a reference, and the number of its kind.
    pub references: Vec<(Spot, u8)>,
    /// A closing quote.
    pub quotes: Vec<Spot>,
    /// A whole channel or radio.
    pub tables: Vec<Spot>,
    kinds: [Vec<String>; KINDS.len()],
}

impl Sites {
    /// The places of a text. Names of `beside` can be referred to too.
    pub fn new(text: &str, beside: &str) -> Sites {
        let mut sites = Sites::default();
        sites.read(text);
        let mut other = Sites::default();
        other.read(beside);
        for (own, other) in sites.kinds.iter_mut().zip(other.kinds) {
            own.extend(other);
        }
        sites
    }

    /// The names of a kind.
    pub fn of_kind(&self, kind: u8) -> &[String] {
        &self.kinds[usize::from(kind)]
    }

    fn read(&mut self, text: &str) {
        let mut table = "";
        let mut started: Option<usize> = None;
        let mut list = "";
        let mut at = 0;
        for line in text.split_inclusive('\n') {
            let bare = line.trim_end();
            if let Some(header) = bare.strip_prefix('[') {
                if let Some(from) = started.take() {
                    self.tables.push(Spot::new(from..at));
                }
                table = header.trim_matches(['[', ']']);
                started = ["channel", "radio"].contains(&table).then_some(at);
            } else if let Some((key, value)) = bare.split_once(" = ") {
                list = if value == "[" { key } else { "" };
                self.line(table, key, value, at + key.len() + 3);
            } else if bare.starts_with("    ") {
                self.references(list, bare, at);
            }
            at += line.len();
        }
        if let Some(from) = started {
            self.tables.push(Spot::new(from..at));
        }
    }

    /// A key with its value, which begins at `at`.
    fn line(&mut self, table: &str, key: &str, value: &str, at: usize) {
        let inside = at + 1..(at + value.len()).saturating_sub(1).max(at + 1);
        if value.starts_with('"') && value.ends_with('"') {
            self.quotes.push(Spot::new(inside.end..inside.end + 1));
        }
        match key {
            "name" | "alias" => {
                self.names.push(Spot::new(inside));
                if let Some(kind) = number(table).filter(|_| key == "name") {
                    self.kinds[usize::from(kind)].push(value.trim_matches('"').to_owned());
                }
            }
            "sends" | "power" if table == "channel" => self.values.push(Spot::new(inside)),
            "fleet_complete" => self.values.push(Spot::new(at..at + value.len())),
            _ if value.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.' || byte == b'-') => {
                let end = at + value.len();
                self.values.push(Spot::new(end - 1..end));
            }
            _ => self.references(key, value, at),
        }
    }

    /// The quoted names of a value or of a line of a list.
    fn references(&mut self, key: &str, value: &str, at: usize) {
        let meant = if key.starts_with("slot_") { "talkgroups" } else { key };
        let Some((_, kind)) = REFERENCES.iter().find(|(key, _)| *key == meant) else { return };
        let Some(kind) = number(kind) else { return };
        let quotes: Vec<usize> = value.match_indices('"').map(|(quote, _)| at + quote).collect();
        let spots = quotes.chunks_exact(2).map(|pair| (Spot::new(pair[0] + 1..pair[1]), kind));
        self.references.extend(spots);
    }
}

fn number(kind: &str) -> Option<u8> {
    KINDS.iter().position(|known| *known == kind).and_then(|number| u8::try_from(number).ok())
}
