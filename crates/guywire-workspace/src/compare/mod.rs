//! What changed on the air between two states of the same plans: effects, not lines.
//!
//! Tables of the two states are matched ([`matching`]); a key has changed where its value differs under that matching, so
//! that a name which is changed everywhere changes nothing but what is shown. A radio must be written again where
//! something that it holds has changed ([`held`]).

mod asked;
mod change;
mod dirt;
mod held;
mod matching;
mod pairs;
mod radios;
mod sent;
mod state;
#[cfg(test)]
mod tests;
mod uses;
mod value;

use std::ops::Range;

use guywire_plan::EntityId;
use guywire_plan::language::Kind;
use guywire_radio::{Emission, Hertz};
use guywire_text::FileId;

use crate::git::Renamed;
use crate::workspace::Workspace;

/// Which of the two states something is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// The older.
    Before,
    /// The newer.
    After,
}

/// Some bytes of a file of one of the states.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bytes {
    /// Which state.
    pub side: Side,
    /// The file, as that state's workspace numbers it.
    pub file: FileId,
    /// Bytes of its text.
    pub bytes: Range<usize>,
}

/// What a change reaches, least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reached {
    /// Names that the display shows.
    Names,
    /// What else the user of a radio sees, hears or presses.
    Hand,
    /// What is transmitted, or what opens a receiver.
    Air,
}

/// A key of a table whose value is another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyChange {
    /// The key's number in its table.
    pub(crate) field: u8,
    /// The key.
    pub key: &'static str,
    /// What it reaches.
    pub reach: Reached,
    /// The value before; none where the key was not there, or no value of its table may be shown.
    pub before: Option<Bytes>,
    /// The value after, likewise.
    pub after: Option<Bytes>,
    /// Both are lists: the elements that are new, and those that are gone. Both empty: another order.
    pub elements: Option<(Vec<Bytes>, Vec<Bytes>)>,
    /// The table may hold secrets: which keys changed is told, no value is.
    pub is_secret: bool,
}

/// What became of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Became {
    /// It is new.
    Added,
    /// It is gone.
    Gone,
    /// Keys of it have other values.
    Changed,
}

/// A table that changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableChange {
    /// What it is.
    pub kind: Kind,
    /// Its name before and after, where it has one.
    pub name: (Option<String>, Option<String>),
    /// Its header: in the newer state, or in the older where it is gone.
    pub at: Bytes,
    /// What became of it.
    pub became: Became,
    /// The keys that reach a radio's user or the air, in the order of the language table.
    pub keys: Vec<KeyChange>,
}

/// A radio of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RadioName {
    /// What others see when it calls; none where it has no alias.
    pub alias: Option<String>,
    /// Its unit ids, as written.
    pub units: Vec<i64>,
    /// Where it is written: in the newer state, or in the older where it is gone.
    pub at: Bytes,
    /// The table, in the state of `at`.
    pub(crate) id: EntityId,
}

/// A table that a radio holds, and the keys of it that matter to this radio.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Cause {
    /// Number of the table in [`Comparison::tables`].
    pub table: usize,
    /// The keys, by their place in its list; all where the table is new or gone.
    pub keys: Vec<usize>,
}

/// Radios that must be written again for the same causes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rewrite {
    /// The radios, in the order of the plans; each with the table of its own changes.
    pub radios: Vec<(RadioName, Option<usize>)>,
    /// The keys of their own tables that changed; the same for all of them.
    pub own: Vec<&'static str>,
    /// What else they hold that changed.
    pub causes: Vec<Cause>,
    /// What the changes reach at most.
    pub reach: Reached,
}

/// A radio whose status is another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatusChange {
    /// The radio.
    pub radio: RadioName,
    /// `issued`, `spare`, `lost` or `retired`, before and after.
    pub status: (&'static str, &'static str),
}

/// What is new in the use of a carrier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Novelty {
    /// Nobody sent on the carrier.
    Carrier,
    /// No station of this class sent on it.
    Class,
    /// Nobody sent this emission on it.
    Emission,
    /// Nobody sent with this power.
    Power,
    /// Fewer units could send on it.
    Units,
}

/// Who sends: the class of station on a license.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StationClass {
    /// Radios that are carried or driven.
    Mobile,
    /// Radios that stand somewhere.
    Base,
    /// Repeaters.
    Repeater,
}

/// How a license stands to a use.
#[derive(Debug, Clone, PartialEq)]
pub enum Grant {
    /// An assignment covers it.
    Covered {
        /// The license's name.
        license: String,
    },
    /// An assignment names the carrier and does not grant this.
    Short {
        /// The license's name.
        license: String,
        /// What it does not grant: `station`, `emission`, `max_power_w`, `units`.
        lacks: Vec<&'static str>,
    },
    /// No assignment covers the carrier.
    None,
}

/// A condition that a license must grant, as radios or repeaters use it.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    /// Carrier.
    pub carrier: Hertz,
    /// Class of station.
    pub class: StationClass,
    /// Emission, by its customary designator; none where there is none for the width.
    pub emission: Option<Emission>,
    /// Highest output of the transmitters, W; none where no model says.
    pub power_w: Option<f64>,
    /// Radios or repeaters that can send it.
    pub units: usize,
    /// What is new in it; of uses that are gone, what is gone.
    pub news: Vec<Novelty>,
    /// Highest output and units on the other side, where it was used there.
    pub was: Option<(Option<f64>, usize)>,
    /// What the licenses say of it.
    pub grant: Grant,
}

/// How a radio hears a transmission, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reception {
    /// It stands by there.
    StandingBy,
    /// It hears it while it scans.
    IfScanning,
    /// It would hear it on another position of its knob.
    CouldTune,
    /// Not at all, or not as a message, or that cannot be told.
    No,
}

/// What became of a pair of radios.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PairKind {
    /// One heard the other and no longer does.
    Lost,
    /// It hears it less readily.
    Weakened,
    /// It hears it and did not.
    Gained,
    /// It hears it more readily.
    Strengthened,
}

/// What is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sending {
    /// The alarm of an emergency, as data, and the call that follows it.
    Emergency,
    /// The alarm alone.
    Alarm,
    /// The call alone.
    EmergencyCall,
    /// Push-to-talk as the channel has it.
    Call,
    /// Push-to-talk within the hang time of a call: it answers the talkgroup that was heard.
    GroupAnswer,
    /// Push-to-talk where a scan has stopped on a call.
    ScanAnswer,
    /// A report, as data.
    Report,
}

/// Radios and stations that hear others otherwise than before: each of the receivers each of the senders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PairChange {
    /// What the senders send.
    pub what: Sending,
    /// The channels that their knob is on, of reports those that they go out on; none where it is about all that they can
    /// call.
    pub channels: Vec<String>,
    /// Of answers: the talkgroups or channels whose calls are answered.
    pub answers: Vec<String>,
    /// Who sends.
    pub senders: Vec<RadioName>,
    /// Who hears: radios, and stations under their names.
    pub receivers: Vec<RadioName>,
    /// How, before.
    pub before: Reception,
    /// How, after.
    pub after: Reception,
    /// Why not, where they hear nothing now.
    pub why: Option<String>,
    /// The tables that did it: numbers in [`Comparison::tables`].
    pub because: Vec<usize>,
}

impl PairKind {
    /// What became of a pair that hears otherwise: before, after.
    pub fn of(heard: (Reception, Reception)) -> PairKind {
        match heard {
            (_, Reception::No) => PairKind::Lost,
            (Reception::No, _) => PairKind::Gained,
            (before, after) if before < after => PairKind::Weakened,
            _ => PairKind::Strengthened,
        }
    }
}

impl PairChange {
    /// What became of the pairs.
    pub fn kind(&self) -> PairKind {
        PairKind::of((self.before, self.after))
    }
}

/// What changed between two states.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Comparison {
    /// Files with another path in the newer state.
    pub renamed: Vec<Renamed>,
    /// The tables that changed in what reaches a radio's user or the air, in order of path and place.
    pub tables: Vec<TableChange>,
    /// Other tables that are new, gone or changed: on paper only, or in what no radio holds.
    pub others: usize,
    /// Radios to write again, grouped by cause, most radios first.
    pub rewrites: Vec<Rewrite>,
    /// Radios that are new.
    pub added: Vec<RadioName>,
    /// Radios that are gone.
    pub gone: Vec<RadioName>,
    /// Radios with another status.
    pub statuses: Vec<StatusChange>,
    /// Radios in the newer state, lost and retired ones too.
    pub radios: usize,
    /// License conditions that are newly used.
    pub newly_used: Vec<Use>,
    /// License conditions that are no longer used.
    pub no_longer_used: Vec<Use>,
    /// Repeaters, networks and stations that changed: numbers in `tables`.
    pub fixed: Vec<usize>,
    /// Who hears whom otherwise, what is lost first. Radios that are new, gone or of another status are left out.
    pub pairs: Vec<PairChange>,
}

impl Comparison {
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

    /// How many radios must be written again, for more than shown names or for those alone.
    pub fn to_write(&self, names_only: bool) -> usize {
        let of_kind = self.rewrites.iter().filter(|group| (group.reach == Reached::Names) == names_only);
        of_kind.map(|group| group.radios.len()).sum()
    }
}

impl Workspace {
    /// What changed on the air from `before` to this state. `renamed` names files with another path here; those that moved
    /// with their text unchanged are found. Both must have their values computed: [`Workspace::settle_values`].
    pub fn compared_with(&self, before: &Workspace, renamed: &[Renamed]) -> Comparison {
        let renamed = self.all_renamed(before, renamed);
        let states = state::States::new(before, self, &renamed);
        let matched = matching::matched(&states);
        let mut ledger = change::Ledger::new(&states, &matched);
        let mut comparison = Comparison { renamed, ..Comparison::default() };
        radios::compare(&mut ledger, &mut comparison);
        ledger.fixed_stations(&mut comparison);
        let pairs = || pairs::compare(&ledger, &comparison);
        let (pairs, uses) = rayon::join(pairs, || uses::compare(&states, &matched));
        comparison.pairs = pairs;
        (comparison.newly_used, comparison.no_longer_used) = uses;
        ledger.close(&mut comparison);
        comparison
    }
}
