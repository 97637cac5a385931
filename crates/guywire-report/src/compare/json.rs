//! The changes as one JSON document, for programs. Described in docs/output.md and docs/compare.schema.json.

use std::io::{self, Write};

use guywire_workspace::{Became, Grant, Novelty, PairKind, Reached, Reception, Sending, Use};
use serde::Serialize;

use super::{Changes, ChangesReporter, Group, Key, Pair, Radio, StateName, Table, class_word};
use crate::json::write_json;

/// The version of the document. A new member does not change it; one that goes or means something else does.
const VERSION: u32 = 1;

/// One JSON document (RFC 8259).
#[derive(Debug, Clone, Copy, Default)]
pub struct CompareJson;

#[derive(Serialize)]
struct Document<'c> {
    version: u32,
    before: State<'c>,
    after: State<'c>,
    renamed: Vec<Renamed<'c>>,
    tables: Vec<TableOut<'c>>,
    other_tables: usize,
    radios: Radios<'c>,
    licenses: Licenses<'c>,
    fixed: &'c [usize],
    pairs: Vec<PairOut<'c>>,
}

#[derive(Serialize)]
struct PairOut<'c> {
    change: &'static str,
    sent: &'static str,
    channels: &'c [String],
    answers: &'c [String],
    senders: Vec<RadioOut<'c>>,
    receivers: Vec<RadioOut<'c>>,
    before: &'static str,
    after: &'static str,
    why: Option<&'c str>,
    tables: &'c [usize],
}

#[derive(Serialize)]
struct State<'c> {
    revision: Option<&'c str>,
    object: Option<&'c str>,
}

#[derive(Serialize)]
struct Renamed<'c> {
    from: &'c str,
    to: &'c str,
}

#[derive(Serialize)]
struct TableOut<'c> {
    kind: &'static str,
    name: Option<&'c str>,
    was_named: Option<&'c str>,
    path: &'c str,
    line: u32,
    became: &'static str,
    keys: Vec<KeyOut<'c>>,
}

#[derive(Serialize)]
struct KeyOut<'c> {
    key: &'static str,
    reach: &'static str,
    before: Option<&'c str>,
    after: Option<&'c str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gained: Option<&'c [String]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lost: Option<&'c [String]>,
    secret: bool,
}

#[derive(Serialize)]
struct Radios<'c> {
    total: usize,
    write_again: Vec<GroupOut<'c>>,
    added: Vec<RadioOut<'c>>,
    gone: Vec<RadioOut<'c>>,
    status: Vec<StatusOut<'c>>,
}

#[derive(Serialize)]
struct GroupOut<'c> {
    reach: &'static str,
    radios: Vec<RadioOut<'c>>,
    causes: Vec<CauseOut<'c>>,
    own_keys: &'c [&'static str],
}

#[derive(Serialize)]
struct CauseOut<'c> {
    table: usize,
    keys: Vec<&'c str>,
}

#[derive(Serialize)]
struct RadioOut<'c> {
    alias: Option<&'c str>,
    units: &'c [i64],
    path: &'c str,
    line: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    table: Option<usize>,
}

#[derive(Serialize)]
struct StatusOut<'c> {
    #[serde(flatten)]
    radio: RadioOut<'c>,
    before: &'static str,
    after: &'static str,
}

#[derive(Serialize)]
struct Licenses<'c> {
    newly_used: Vec<UseOut<'c>>,
    no_longer_used: Vec<UseOut<'c>>,
}

#[derive(Serialize)]
struct UseOut<'c> {
    carrier_hz: i64,
    station: &'static str,
    emission: Option<String>,
    power_w: Option<f64>,
    units: usize,
    was: Option<WasOut>,
    new: Vec<&'static str>,
    granted: bool,
    license: Option<&'c str>,
    lacks: &'c [&'static str],
}

#[derive(Serialize)]
struct WasOut {
    power_w: Option<f64>,
    units: usize,
}

impl ChangesReporter for CompareJson {
    fn write(&self, changes: &Changes, out: &mut dyn Write) -> io::Result<()> {
        let radios = Radios {
            total: changes.radios,
            write_again: changes.rewrites.iter().map(|it| group(changes, it)).collect(),
            added: changes.added.iter().map(|it| radio(it, None)).collect(),
            gone: changes.gone.iter().map(|it| radio(it, None)).collect(),
            status: changes
                .statuses
                .iter()
                .map(|(it, before, after)| StatusOut { radio: radio(it, None), before, after })
                .collect(),
        };
        let licenses = Licenses {
            newly_used: changes.newly_used.iter().map(used).collect(),
            no_longer_used: changes.no_longer_used.iter().map(used).collect(),
        };
        let document = Document {
            version: VERSION,
            before: state(&changes.before),
            after: state(&changes.after),
            renamed: changes.renamed.iter().map(|(from, to)| Renamed { from, to }).collect(),
            tables: changes.tables.iter().map(table).collect(),
            other_tables: changes.others,
            radios,
            licenses,
            fixed: &changes.fixed,
            pairs: changes.pairs.iter().map(pair).collect(),
        };
        write_json(&document, out)
    }
}

fn state(it: &StateName) -> State<'_> {
    State { revision: it.revision.as_deref(), object: it.object.as_deref() }
}

fn table(it: &Table) -> TableOut<'_> {
    TableOut {
        kind: it.kind.noun(),
        name: it.name.as_deref(),
        was_named: it.was_named.as_deref(),
        path: &it.path,
        line: it.line,
        became: match it.became {
            Became::Added => "added",
            Became::Gone => "gone",
            Became::Changed => "changed",
        },
        keys: it.keys.iter().map(key).collect(),
    }
}

fn key(it: &Key) -> KeyOut<'_> {
    KeyOut {
        key: it.key,
        reach: reach(it.reach),
        before: it.before.as_deref(),
        after: it.after.as_deref(),
        gained: it.elements.as_ref().map(|(gained, _)| gained.as_slice()),
        lost: it.elements.as_ref().map(|(_, lost)| lost.as_slice()),
        secret: it.is_secret,
    }
}

fn reach(it: Reached) -> &'static str {
    match it {
        Reached::Names => "names",
        Reached::Hand => "hand",
        Reached::Air => "air",
    }
}

fn group<'c>(changes: &'c Changes, it: &'c Group) -> GroupOut<'c> {
    let causes = it.causes.iter().map(|cause| {
        let keys = cause.keys.iter().map(|key| changes.tables[cause.table].keys[*key].key).collect();
        CauseOut { table: cause.table, keys }
    });
    let radios = it.radios.iter().map(|(of, own)| radio(of, *own));
    GroupOut { reach: reach(it.reach), causes: causes.collect(), radios: radios.collect(), own_keys: &it.own }
}

fn radio(it: &Radio, table: Option<usize>) -> RadioOut<'_> {
    RadioOut { alias: it.alias.as_deref(), units: &it.units, path: &it.path, line: it.line, table }
}

fn pair(it: &Pair) -> PairOut<'_> {
    PairOut {
        change: match it.kind {
            PairKind::Lost => "lost",
            PairKind::Weakened => "weakened",
            PairKind::Gained => "gained",
            PairKind::Strengthened => "strengthened",
        },
        sent: sent(it.what),
        channels: &it.channels,
        answers: &it.answers,
        senders: it.senders.iter().map(|it| radio(it, None)).collect(),
        receivers: it.receivers.iter().map(|it| radio(it, None)).collect(),
        before: heard(it.heard.0),
        after: heard(it.heard.1),
        why: it.why.as_deref(),
        tables: &it.because,
    }
}

fn sent(it: Sending) -> &'static str {
    match it {
        Sending::Call => "call",
        Sending::GroupAnswer => "group-answer",
        Sending::ScanAnswer => "scan-answer",
        Sending::Emergency => "emergency",
        Sending::Alarm => "emergency-alarm",
        Sending::EmergencyCall => "emergency-call",
        Sending::Report => "report",
    }
}

fn heard(it: Reception) -> &'static str {
    match it {
        Reception::StandingBy => "standing-by",
        Reception::IfScanning => "if-scanning",
        Reception::CouldTune => "could-tune",
        Reception::No => "no",
    }
}

fn used(it: &Use) -> UseOut<'_> {
    let (license, lacks): (Option<&str>, &[&'static str]) = match &it.grant {
        Grant::Covered { license } => (Some(license), &[]),
        Grant::Short { license, lacks } => (Some(license), lacks),
        Grant::None => (None, &[]),
    };
    let word = |it: &Novelty| match it {
        Novelty::Carrier => "carrier",
        Novelty::Class => "station",
        Novelty::Emission => "emission",
        Novelty::Power => "power",
        Novelty::Units => "units",
    };
    UseOut {
        carrier_hz: it.carrier.get(),
        station: class_word(it.class),
        emission: it.emission.map(|emission| emission.to_string()),
        power_w: it.power_w,
        units: it.units,
        was: it.was.map(|(power_w, units)| WasOut { power_w, units }),
        new: it.news.iter().map(word).collect(),
        granted: matches!(it.grant, Grant::Covered { .. }),
        license,
        lacks,
    }
}
