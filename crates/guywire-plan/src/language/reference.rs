//! The language in words: types for messages and hovers, and the reference that the docs print.

use std::fmt::Write as _;

use super::{Computed, FileKind, KeySpec, Many, Reach, TableSpec, Type, tables};

/// The kinds of file in the order of the reference, each with what it holds.
const FILES: [(FileKind, &str); 6] = [
    (FileKind::Plan, "A plan, or a part of one that other plans share."),
    (FileKind::Model, "What a radio model can do: its data sheet."),
    (FileKind::Regime, "The conditions of a radio service. Those of common services are built in."),
    (FileKind::Bench, "One bench session: instrument, load, readings."),
    (FileKind::Field, "One field session: conditions, trials."),
    (FileKind::Settings, "The root of a workspace: settings, levels of rules, waivers, house rules."),
];

/// Parts with more keys than this are described without them.
const KEYS_NAMED: usize = 6;

/// A type in words for people, to stand after "must be" or in a list: `the name of a talkgroup or contact`.
pub fn describe(value: &Type) -> String {
    match value {
        Type::Name => "a name".into(),
        Type::Prose | Type::Text => "text".into(),
        Type::Word(words) => one_of(words),
        Type::Refer(kinds, words) => {
            let nouns: Vec<&str> = kinds.iter().map(|kind| kind.noun()).collect();
            with_words(format!("the name of {}", article(&listed(&nouns))), words)
        }
        Type::Path(file, words) => with_words(format!("the path of a `{}` file", pattern(*file)), words),
        Type::SheetPath => "the path of a CSV file".into(),
        Type::Megahertz => "a frequency in MHz".into(),
        Type::Kilohertz => "a width or spacing in kHz".into(),
        Type::Whole(low, high) if low == high => format!("`{low}`"),
        Type::Whole(low, high) => format!("a whole number from {low} to {high}"),
        Type::Number(low, high) => format!("a number from {low} to {high}"),
        Type::Truth => "`true` or `false`".into(),
        Type::Date => "a date such as 2026-11-25".into(),
        Type::Tone => tone(),
        Type::ToneOr(words) => with_words(tone(), words),
        Type::Designator => "an emission designator such as `7K60FXE`".into(),
        Type::List(item) => format!("a list, each item {}", describe(item)),
        Type::OneOrMore(item) => format!("{}, or a list of them", describe(item)),
        Type::Part(part) => format!("a table{}", with_keys(part)),
        Type::Parts(part) => format!("any number of tables{}", with_keys(part)),
        Type::Either(first, second) => format!("{}; or {}", describe(first), describe(second)),
        Type::Anything => "anything".into(),
    }
}

fn tone() -> String {
    "a tone or code such as `CTCSS 127.3`, `DCS 023N` or `DCS 023I`".into()
}

fn article(noun: &str) -> String {
    let vowel = noun.starts_with(['a', 'e', 'i', 'o']);
    format!("{} {noun}", if vowel { "an" } else { "a" })
}

fn listed(nouns: &[&str]) -> String {
    match nouns {
        [] => "table".into(),
        [only] => (*only).into(),
        [others @ .., last] => format!("{} or {last}", others.join(", ")),
    }
}

fn quoted(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    quoted.join(", ")
}

fn one_of(words: &[&str]) -> String {
    match words {
        [only] => format!("`{only}`"),
        _ => format!("one of {}", quoted(words)),
    }
}

fn with_words(main: String, words: &[&str]) -> String {
    match words {
        [] => main,
        [""] => format!("{main}, or an empty text"),
        _ => format!("{main}, or {}", one_of(words)),
    }
}

fn with_keys(part: &TableSpec) -> String {
    let names: Vec<&str> = part.keys.iter().map(|key| key.name).collect();
    if names.is_empty() || names.len() > KEYS_NAMED || part.open {
        return String::new();
    }
    format!(" with {}", quoted(&names))
}

/// Stands in a header for a key that the table leaves open.
const OTHER_KEY: &str = "…";

/// How files of a kind are named.
fn pattern(file: FileKind) -> String {
    let ending = FileKind::ENDINGS.iter().find(|(kind, _)| *kind == file).map(|(_, ending)| *ending);
    ending.map_or("guywire.toml".into(), |ending| format!("*{ending}"))
}

/// The parts that a value of this type may hold, each with whether it may hold several.
pub fn parts_in(value: &Type) -> Vec<(&'static TableSpec, bool)> {
    match value {
        Type::Part(part) => vec![(part, false)],
        Type::Parts(part) => vec![(part, true)],
        Type::List(item) => parts_in(item).into_iter().map(|(part, _)| (part, true)).collect(),
        Type::OneOrMore(item) => parts_in(item),
        Type::Either(first, second) => parts_in(first).into_iter().chain(parts_in(second)).collect(),
        _ => Vec::new(),
    }
}

/// A table and every header under which it may stand.
struct Section {
    spec: &'static TableSpec,
    headers: Vec<String>,
}

/// The tables of a kind of file, each part after the first table that holds it.
fn sections(file: FileKind) -> Vec<Section> {
    let mut found = Vec::new();
    for spec in tables(file) {
        collect(&mut found, spec, spec.name, spec.many == Many::Any);
    }
    found
}

fn collect(found: &mut Vec<Section>, spec: &'static TableSpec, path: &str, several: bool) {
    let header = if several { format!("[[{path}]]") } else { format!("[{path}]") };
    match found.iter_mut().find(|section| std::ptr::eq(section.spec, spec)) {
        Some(section) => section.headers.push(header),
        None => found.push(Section { spec, headers: vec![header] }),
    }
    let open = spec.open.then_some((OTHER_KEY, &spec.open_value));
    for (name, value) in spec.keys.iter().map(|key| (key.name, &key.value)).chain(open) {
        for (part, several) in parts_in(value) {
            collect(found, part, &format!("{path}.{name}"), several);
        }
    }
}

/// The reference of the language in Markdown: a section a kind of file, a table a table.
pub fn render_reference() -> String {
    let mut page = String::from(INTRODUCTION);
    for (file, holds) in FILES {
        let _ = write!(page, "\n## `{}`\n\n{holds}\n", pattern(file));
        for section in sections(file) {
            render_section(&mut page, &section);
        }
    }
    page.push_str(COMPUTED);
    for computed in Computed::ALL {
        let _ = writeln!(page, "| {} | {} |", computed.word(), cell(computed.shows()));
    }
    page
}

const COMPUTED: &str = "
## Computed values

What an editor shows beside the text where a key says so, with units and sources; [computations.md](computations.md) has
the formulas. A name shows what the table that it names comes to.

| computed | shows |
| --- | --- |
";

const INTRODUCTION: &str = "\
# The plan language: every table and key

Rendered from the table that the checks, completion and hovers read.

*Unit* is carried by the key's name. *Reach* says what a change of the value touches: `air`, what is transmitted or what
opens a receiver; `hand`, what the user of a radio sees or presses, so the radio must be written again; nothing, only
those who read the file. A *secret* value is never shown. *Computed* says what an editor shows beside the value; the words
are explained [at the end](#computed-values). Names refer to tables of the same file and its `shares`.
";

fn render_section(page: &mut String, section: &Section) {
    let spec = section.spec;
    let headers: Vec<&str> = section.headers.iter().map(String::as_str).collect();
    let _ = write!(page, "\n### {}\n\n{}\n", quoted(&headers), spec.doc);
    if !spec.keys.is_empty() {
        page.push_str("\n| key | value | unit | required | reach | computed | for |\n| --- | --- | --- | --- | --- | --- | --- |\n");
        spec.keys.iter().for_each(|key| render_key(page, key));
    }
    for set in spec.one_of {
        let _ = write!(page, "\nAt least one of {} must be there.\n", quoted(set));
    }
    if spec.open {
        render_open(page, spec);
    }
}

fn render_key(page: &mut String, key: &KeySpec) {
    let _ = writeln!(
        page,
        "| `{}` | {} | {} | {} | {} | {} | {} |",
        key.name,
        cell(&describe(&key.value)),
        key.unit().unwrap_or_default(),
        if key.required { "yes" } else { "" },
        reach(key),
        computed(key),
        cell(key.doc),
    );
}

fn render_open(page: &mut String, spec: &TableSpec) {
    let keys = match spec.open_names {
        [] => "Any other key".to_string(),
        kinds => {
            let nouns: Vec<&str> = kinds.iter().map(|kind| kind.noun()).collect();
            format!("Any key that is the name of {}", article(&listed(&nouns)))
        }
    };
    let _ = write!(page, "\n{keys}: {}.\n", describe(&spec.open_value));
}

fn reach(key: &KeySpec) -> &'static str {
    match (key.reach, key.secret) {
        (Reach::Paper, false) => "",
        (Reach::Hand, false) => "hand",
        (Reach::Air, false) => "air",
        (Reach::Paper, true) => "secret",
        (Reach::Hand, true) => "hand, secret",
        (Reach::Air, true) => "air, secret",
    }
}

fn computed(key: &KeySpec) -> String {
    key.computed.iter().map(|computed| computed.word()).collect::<Vec<_>>().join(", ")
}

/// Text as a cell of a Markdown table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}
