//! What changed on the air between two states, as plain data with values as they may be shown.

mod json;
mod markdown;
mod names;
mod text;

use std::io;
use std::path::Path;

use guywire_workspace::{
    Became, Bytes, Cause, Comparison, Grant, KeyChange, Kind, Novelty, PairChange, PairKind, RadioName, Reached,
    Reception, Revision, Rewrite, Sending, Side, StationClass, TableChange, Use, Workspace,
};

use crate::excerpt::Excerpts;
use crate::piece::REDACTED;
use crate::report::name_from;

pub use json::CompareJson;
pub use markdown::CompareMarkdown;
pub(crate) use markdown::escaped;
use names::listed;
pub use text::CompareText;

/// Characters of a value that are shown.
const MOST_SHOWN: usize = 60;
/// Said wherever licenses are.
const CAUTION: &str =
    "A computed check is no license and no coordination: local codes and a licensed practitioner decide.";

/// A form in which changes are written.
pub trait ChangesReporter {
    /// Writes the changes. Colors are written as ANSI escape codes; who owns the output takes them out where they are not
    /// wanted.
    ///
    /// # Errors
    /// What the output said.
    fn write(&self, changes: &Changes, out: &mut dyn io::Write) -> io::Result<()>;
}

/// One of the states.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StateName {
    /// As it was named; none: the working tree.
    pub revision: Option<String>,
    /// The commit's name in hexadecimal, where it is one.
    pub object: Option<String>,
}

/// What changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Changes {
    /// The older state.
    pub before: StateName,
    /// The newer state.
    pub after: StateName,
    /// Files, as shown, with another path: before, after.
    pub renamed: Vec<(String, String)>,
    /// The tables that changed, in order of path and place.
    pub tables: Vec<Table>,
    /// Other tables that changed: on paper only, or in what no radio holds.
    pub others: usize,
    /// Radios in the newer state.
    pub radios: usize,
    /// Radios to write again, by cause.
    pub rewrites: Vec<Group>,
    /// Radios that are new.
    pub added: Vec<Radio>,
    /// Radios that are gone.
    pub gone: Vec<Radio>,
    /// Radios with another status: before, after.
    pub statuses: Vec<(Radio, &'static str, &'static str)>,
    /// License conditions that are newly used.
    pub newly_used: Vec<Use>,
    /// License conditions that are no longer used.
    pub no_longer_used: Vec<Use>,
    /// Repeaters, networks and stations that changed: numbers in `tables`.
    pub fixed: Vec<usize>,
    /// Who hears whom otherwise, what is lost first.
    pub pairs: Vec<Pair>,
}

/// Radios that hear others otherwise than before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair {
    /// What became of them.
    pub kind: PairKind,
    /// What the senders send.
    pub what: Sending,
    /// The channels that their knob is on, of reports those that they go out on; none where it is about all that they can
    /// call.
    pub channels: Vec<String>,
    /// Of answers: the talkgroups or channels whose calls are answered.
    pub answers: Vec<String>,
    /// Who sends.
    pub senders: Vec<Radio>,
    /// Who hears.
    pub receivers: Vec<Radio>,
    /// How, before and after.
    pub heard: (Reception, Reception),
    /// Why not, where they hear nothing now.
    pub why: Option<String>,
    /// The tables that did it: numbers in `tables`.
    pub because: Vec<usize>,
}

/// A radio.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Radio {
    /// Its alias.
    pub alias: Option<String>,
    /// Its unit ids.
    pub units: Vec<i64>,
    /// The file, as shown.
    pub path: String,
    /// The line of its table or row, from 1.
    pub line: u32,
}

/// Radios that must be written again for the same causes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The radios, each with the number of its own table, where that changed.
    pub radios: Vec<(Radio, Option<usize>)>,
    /// The keys of their own tables that changed.
    pub own: Vec<&'static str>,
    /// Tables that they hold, and the keys of each that matter; all keys where none is named.
    pub causes: Vec<Cause>,
    /// What the changes reach at most.
    pub reach: Reached,
}

/// A table that changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// What it is.
    pub kind: Kind,
    /// Its name: in the newer state, or in the older where it is gone.
    pub name: Option<String>,
    /// The name that it had, where that was another.
    pub was_named: Option<String>,
    /// The file, as shown.
    pub path: String,
    /// Its line in that state, from 1.
    pub line: u32,
    /// What became of it.
    pub became: Became,
    /// The keys.
    pub keys: Vec<Key>,
}

/// A key with another value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Key {
    /// The key.
    pub key: &'static str,
    /// What it reaches.
    pub reach: Reached,
    /// The value before; none where there was none, or it is not shown.
    pub before: Option<String>,
    /// The value after, likewise.
    pub after: Option<String>,
    /// Both are lists: the elements that are new, and those that are gone.
    pub elements: Option<(Vec<String>, Vec<String>)>,
    /// No value of it may be shown.
    pub is_secret: bool,
}

/// Both workspaces, to show places of.
struct Shown<'w> {
    before: &'w Workspace,
    after: &'w Workspace,
    excerpts: (Excerpts<'w>, Excerpts<'w>),
    folder: &'w Path,
}

impl Changes {
    /// Gathers what `comparison` found between two workspaces; paths are shown from `folder`.
    pub fn of(
        comparison: &Comparison,
        (before, before_name): (&Workspace, StateName),
        (after, after_name): (&Workspace, StateName),
        folder: &Path,
    ) -> Changes {
        let excerpts = (Excerpts::new(before), Excerpts::new(after));
        let mut shown = Shown { before, after, excerpts, folder };
        let from = |path: &Path| path.strip_prefix(folder).unwrap_or(path).to_string_lossy().replace('\\', "/");
        Changes {
            before: before_name,
            after: after_name,
            renamed: comparison.renamed.iter().map(|file| (from(&file.from), from(&file.to))).collect(),
            tables: comparison.tables.iter().map(|table| shown.table(table)).collect(),
            others: comparison.others,
            radios: comparison.radios,
            rewrites: comparison.rewrites.iter().map(|group| shown.group(group)).collect(),
            added: comparison.added.iter().map(|radio| shown.radio(radio)).collect(),
            gone: comparison.gone.iter().map(|radio| shown.radio(radio)).collect(),
            statuses: comparison
                .statuses
                .iter()
                .map(|change| (shown.radio(&change.radio), change.status.0, change.status.1))
                .collect(),
            newly_used: comparison.newly_used.clone(),
            no_longer_used: comparison.no_longer_used.clone(),
            fixed: comparison.fixed.clone(),
            pairs: comparison.pairs.iter().map(|pair| shown.pair(pair)).collect(),
        }
    }

    /// Whether nothing changed that reaches a radio, a repeater or a station.
    pub fn is_empty(&self) -> bool {
        self.rewrites.is_empty()
            && self.added.is_empty()
            && self.gone.is_empty()
            && self.statuses.is_empty()
            && self.newly_used.is_empty()
            && self.no_longer_used.is_empty()
            && self.fixed.is_empty()
            && self.pairs.is_empty()
    }

    /// How many radios must be written again: for more than shown names, and for those alone.
    pub fn to_write(&self) -> (usize, usize) {
        let of = |names: bool| {
            let groups = self.rewrites.iter().filter(|group| (group.reach == Reached::Names) == names);
            groups.map(|group| group.radios.len()).sum()
        };
        (of(false), of(true))
    }
}

impl StateName {
    /// A commit.
    pub fn of(revision: &Revision) -> StateName {
        StateName { revision: Some(revision.name.clone()), object: Some(revision.object.clone()) }
    }

    /// What is on the disk.
    pub fn working_tree() -> StateName {
        StateName { revision: None, object: None }
    }

    /// As people call it.
    fn words(&self) -> String {
        let Some(name) = &self.revision else { return "the working tree".to_owned() };
        match self.object.as_deref().and_then(|object| object.get(..12)) {
            Some(short) if !name.starts_with(short) => format!("{name} ({short})"),
            _ => name.clone(),
        }
    }
}

impl Shown<'_> {
    fn place(&self, at: &Bytes) -> (String, u32) {
        let workspace = if at.side == Side::Before { self.before } else { self.after };
        let line = workspace
            .document(at.file)
            .map(|document| document.to_protocol(at.bytes.start, guywire_text::Encoding::Utf8).line + 1);
        (name_from(workspace, at.file, self.folder), line.unwrap_or(1))
    }

    /// A value as it is written, redacted; none where nothing of it may be shown.
    fn value(&mut self, at: &Bytes) -> Option<String> {
        let excerpts = if at.side == Side::Before { &mut self.excerpts.0 } else { &mut self.excerpts.1 };
        let excerpt = excerpts.of(at.file, at.bytes.clone())?;
        let (first, more) = excerpt.lines().split_first()?;
        let mut text: String = first.about().chars().take(MOST_SHOWN).collect();
        if !more.is_empty() || text.len() < first.about().len() {
            text.push('…');
        }
        (!text.is_empty() && text != REDACTED).then_some(text)
    }

    fn table(&mut self, table: &TableChange) -> Table {
        let (path, line) = self.place(&table.at);
        let (was, is) = &table.name;
        let was_named = was.clone().filter(|_| is.is_some() && was != is);
        Table {
            kind: table.kind,
            name: is.clone().or_else(|| was.clone()),
            was_named,
            path,
            line,
            became: table.became,
            keys: table.keys.iter().map(|key| self.key(key)).collect(),
        }
    }

    fn key(&mut self, key: &KeyChange) -> Key {
        let mut all = |places: &[Bytes]| places.iter().filter_map(|at| self.value(at)).collect::<Vec<String>>();
        let elements = key.elements.as_ref().map(|(gained, lost)| (all(gained), all(lost)));
        Key {
            key: key.key,
            reach: key.reach,
            before: key.before.as_ref().and_then(|at| self.value(at)),
            after: key.after.as_ref().and_then(|at| self.value(at)),
            elements,
            is_secret: key.is_secret,
        }
    }

    fn radio(&self, radio: &RadioName) -> Radio {
        let (path, line) = self.place(&radio.at);
        Radio { alias: radio.alias.clone(), units: radio.units.clone(), path, line }
    }

    fn pair(&self, pair: &PairChange) -> Pair {
        let all = |radios: &[RadioName]| radios.iter().map(|radio| self.radio(radio)).collect();
        Pair {
            kind: pair.kind(),
            what: pair.what,
            channels: pair.channels.clone(),
            answers: pair.answers.clone(),
            senders: all(&pair.senders),
            receivers: all(&pair.receivers),
            heard: (pair.before, pair.after),
            why: pair.why.clone(),
            because: pair.because.clone(),
        }
    }

    fn group(&self, group: &Rewrite) -> Group {
        Group {
            radios: group.radios.iter().map(|(radio, own)| (self.radio(radio), *own)).collect(),
            own: group.own.clone(),
            causes: group.causes.clone(),
            reach: group.reach,
        }
    }
}

impl Radio {
    /// As people call it.
    fn name(&self) -> String {
        match (&self.alias, self.units.first()) {
            (Some(alias), _) => alias.clone(),
            (None, Some(unit)) => format!("unit {unit}"),
            (None, None) => format!("the radio at {}:{}", self.path, self.line),
        }
    }
}

impl Table {
    /// As people call it: `channel "Berths"`.
    fn words(&self) -> String {
        match &self.name {
            Some(name) => format!("{} \"{name}\"", self.kind.noun()),
            None => self.kind.noun().to_owned(),
        }
    }

    /// What became of it, in words: all keys, or those of these places.
    fn became(&self, keys: &[usize]) -> String {
        match self.became {
            Became::Added => return "is new".to_owned(),
            Became::Gone => return "is gone".to_owned(),
            Became::Changed => {}
        }
        let wanted = |at: &usize| keys.is_empty() || keys.contains(at);
        let told = self.keys.iter().enumerate().filter(|(at, _)| wanted(at)).map(|(_, key)| key.words());
        told.collect::<Vec<_>>().join("; ")
    }
}

impl Key {
    /// What became of it, in words.
    fn words(&self) -> String {
        let key = self.key;
        if self.is_secret {
            return format!("{key} changed (not shown)");
        }
        if let Some((gained, lost)) = &self.elements {
            return match (gained.is_empty(), lost.is_empty()) {
                (true, true) => format!("{key} is in another order"),
                (false, true) => format!("{key} gains {}", gained.join(", ")),
                (true, false) => format!("{key} loses {}", lost.join(", ")),
                (false, false) => format!("{key} gains {} and loses {}", gained.join(", "), lost.join(", ")),
            };
        }
        match (&self.before, &self.after) {
            (Some(before), Some(after)) if self.reach == Reached::Names => format!("shown as {after} (was {before})"),
            (Some(before), Some(after)) if before == after => format!("{key} = {after} leads to another table"),
            (Some(before), Some(after)) => format!("{key} = {after} (was {before})"),
            (None, Some(after)) => format!("{key} = {after} (new)"),
            (Some(before), None) => format!("{key} is gone (was {before})"),
            (None, None) => format!("{key} changed"),
        }
    }
}

impl Pair {
    /// What became of them, in words, with at most `most` names of a list.
    fn words(&self, most: usize) -> String {
        let list = |radios: &[Radio]| listed(&radios.iter().map(Radio::name).collect::<Vec<_>>(), most);
        let (receivers, senders) = (list(&self.receivers), list(&self.senders));
        let one = self.receivers.len() == 1;
        let named = |names: &[String]| {
            let quoted = names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>();
            listed(&quoted, most)
        };
        let on = if self.channels.is_empty() { "any channel".to_owned() } else { named(&self.channels) };
        let what = match self.what {
            Sending::Call => format!("{senders} on {on}"),
            Sending::Emergency => format!("the emergency alarm and call of {senders} from {on}"),
            Sending::Alarm => format!("the emergency alarm of {senders} from {on}"),
            Sending::EmergencyCall => format!("the emergency call of {senders} from {on}"),
            Sending::GroupAnswer => {
                format!("answers of {senders} to talkgroup {} on {on}", named(&self.answers))
            }
            Sending::ScanAnswer => {
                format!("answers of {senders}, scanning from {on}, to calls on {}", named(&self.answers))
            }
            Sending::Report => format!("reports of {senders} on {on}"),
        };
        let verb = match (self.kind, one) {
            (PairKind::Lost, true) => "loses",
            (PairKind::Lost, false) => "lose",
            (PairKind::Gained, true) => "gains",
            (PairKind::Gained, false) => "gain",
            (_, true) => "hears",
            (_, false) => "hear",
        };
        let (before, after) = (heard_words(self.heard.0), heard_words(self.heard.1));
        let how = match self.kind {
            PairKind::Lost => format!("(was heard {before})"),
            PairKind::Gained => format!("({after})"),
            PairKind::Weakened => format!("only {after} (was {before})"),
            PairKind::Strengthened => format!("{after} (was {before})"),
        };
        let why = self.why.as_deref().map(|why| format!(": {why}")).unwrap_or_default();
        format!("{receivers} {verb} {what} {how}{why}")
    }

    /// The tables that did it, in words.
    fn because(&self, changes: &Changes) -> String {
        let told = self.because.iter().map(|number| {
            let table = &changes.tables[*number];
            format!("{} ({}:{})", table.words(), table.path, table.line)
        });
        let told = told.collect::<Vec<_>>().join(", ");
        if told.is_empty() { "what cannot be told".to_owned() } else { told }
    }
}

/// The first `most` pairs, those together that follow each other and come of the same tables.
fn runs(pairs: &[Pair], most: usize) -> impl Iterator<Item = &[Pair]> {
    pairs[..pairs.len().min(most)].chunk_by(|a, b| a.because == b.because)
}

fn heard_words(heard: Reception) -> &'static str {
    match heard {
        Reception::StandingBy => "standing by",
        Reception::IfScanning => "if scanning",
        Reception::CouldTune => "on another position of the knob",
        Reception::No => "not at all",
    }
}

/// A use of a license, in words: what it is, then what the licenses say. `other` leads to the figures of the other state.
fn use_words(it: &Use, other: &str) -> (String, String) {
    let class = class_word(it.class);
    let emission = it.emission.map(|emission| format!(" {emission}")).unwrap_or_default();
    let watts = |power: Option<f64>| power.map_or("power not known".to_owned(), |power| format!("{power} W"));
    let senders = if it.class == StationClass::Repeater { "repeater" } else { "radio" };
    let count = |units: usize| format!("{units} {senders}{}", if units == 1 { "" } else { "s" });
    let was = it.was;
    let news = |news: &Novelty| match (news, was) {
        (Novelty::Power, Some((power, _))) => format!("{} ({other} {})", watts(it.power_w), watts(power)),
        (Novelty::Units, Some((_, units))) => format!("{} ({other} {units})", count(it.units)),
        (Novelty::Carrier, _) => format!("the carrier, with {}, {}", watts(it.power_w), count(it.units)),
        (Novelty::Class, _) => format!("the class of station, with {}, {}", watts(it.power_w), count(it.units)),
        _ => format!("the emission, with {}, {}", watts(it.power_w), count(it.units)),
    };
    let news: Vec<String> = it.news.iter().map(news).collect();
    let grant = match &it.grant {
        Grant::Covered { license } => format!("license \"{license}\" covers it"),
        Grant::Short { license, lacks } => {
            format!("no assignment covers it: that of license \"{license}\" lacks it in {}", lacks.join(", "))
        }
        Grant::None => "no assignment covers it".to_owned(),
    };
    (format!("{} MHz, {class},{emission}: {}", it.carrier, news.join(", ")), grant)
}

fn class_word(class: StationClass) -> &'static str {
    match class {
        StationClass::Mobile => "mobile",
        StationClass::Base => "base",
        StationClass::Repeater => "repeater",
    }
}

fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}
