//! Keys: those that are missing first, each with its type and what it is for, and with a place to fill in.

use guywire_plan::language::{CHANNEL, KeySpec, RULES, Reach, TableSpec, Type, describe, parts_in};
use guywire_plan::{Sends, Stored};
use guywire_rules::{CATALOG, Page, idle_keys};

use super::context::{Asked, Due, names_in};
use super::cursor::Place;
use super::item::{Content, Draft, Fitted, Written, finish};
use super::{fit, headers, known};
use crate::answer::{Completion, CompletionKind};

/// Order of keys: missing and required, one of several of which one must be there, the rest, those without effect.
const REQUIRED: u8 = 0;
const ONE_OF: u8 = 1;
const OPTIONAL: u8 = 2;
const IDLE: u8 = 4;
/// Parts with at most this many keys are written with all of them.
const SMALL_PART: usize = 3;
/// Ranges of fewer numbers than this are listed.
const LISTED: i64 = 16;

pub(crate) fn complete(asked: &Asked<'_>) -> (Vec<Completion>, bool) {
    let Place::Key { part, .. } = &asked.cursor.place else { return (Vec::new(), false) };
    let table = match asked.due() {
        Due::Table(table) => Some(table),
        Due::Value(want) => parts_in(want.form).first().map(|(table, _)| *table),
        Due::Root | Due::Unknown => None,
    };
    let mut drafts = match table {
        Some(table) => of_table(asked, table),
        None => Vec::new(),
    };
    drafts.extend(headers::beside_keys(asked));
    let typed = asked.text.get(part.start..asked.at).unwrap_or_default();
    finish(drafts, typed, |draft| fitted(asked, draft))
}

fn fitted(asked: &Asked<'_>, draft: &Draft) -> Fitted {
    let Place::Key { part, goes_on, before } = &asked.cursor.place else {
        return Fitted { bytes: 0..0, written: Written::default(), lead: String::new() };
    };
    let mut written = Written::of(if asked.cursor.comma_before { ", " } else { "" });
    match &draft.content {
        Content::Text(text) => written.text(text),
        Content::Made(made) => written.append(made),
    }
    match (before, asked.cursor.own_line) {
        (true, true) => written.text(&format!("{}{}", asked.document.line_ending(), indentation(asked))),
        _ if *goes_on => {}
        _ => written.text(fit::comma_after(asked, part.end)),
    }
    Fitted { bytes: asked.base + part.start..asked.base + part.end, written, lead: String::new() }
}

/// The blanks between the start of the line and the cursor's place, where a key that is already there goes down a line.
fn indentation<'a>(asked: &'a Asked<'_>) -> &'a str {
    let line = asked.text[..asked.at].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    asked.text.get(line..asked.at).unwrap_or_default()
}

fn of_table(asked: &Asked<'_>, table: &'static TableSpec) -> Vec<Draft> {
    let taken = taken(asked, table);
    let idle = idle(asked, table);
    let open_one_of = |name: &str| {
        let has = |set: &&&[&str]| set.contains(&name) && !set.iter().any(|key| taken.iter().any(|it| it == key));
        table.one_of.iter().find(has).copied()
    };
    let free = table.keys.iter().filter(|key| !taken.iter().any(|it| it == key.name));
    let mut drafts: Vec<Draft> = free
        // The material itself is never to be written: `held_in` beside it is.
        .filter(|key| !key.secret || !parts_in(&key.value).is_empty())
        .map(|key| {
            let alternatives = open_one_of(key.name);
            let why = idle.iter().find(|(name, _)| *name == key.name).map(|(_, why)| *why);
            let rank = match (key.required, alternatives, why) {
                (true, ..) => REQUIRED,
                (_, Some(_), _) => ONE_OF,
                (.., Some(_)) => IDLE,
                _ => OPTIONAL,
            };
            let doc = doc_of(key, alternatives, why);
            draft(asked, table, key).detail(detail_of(key)).doc(doc).rank(rank)
        })
        .collect();
    drafts.extend(open_keys(asked, table, &taken));
    drafts
}

fn draft(asked: &Asked<'_>, table: &'static TableSpec, key: &KeySpec) -> Draft {
    let mut written = Written::of(key.name);
    if !asked_goes_on(asked) {
        written.text(" = ");
        stub(asked, table, key, &mut written);
    }
    Draft::new(CompletionKind::Key, key.name, Content::Made(written))
}

fn asked_goes_on(asked: &Asked<'_>) -> bool {
    matches!(asked.cursor.place, Place::Key { goes_on: true, .. })
}

/// The keys that the table has already, without the one that the cursor is in.
fn taken(asked: &Asked<'_>, table: &'static TableSpec) -> Vec<String> {
    let pairs = asked.cursor.around.as_ref().unwrap_or(&asked.cursor.statements);
    let depth = asked.cursor.steps.len();
    let own = asked.cursor.header.as_ref().is_some_and(|header| header.path.len() == 1);
    let dotted = asked.cursor.around.is_none() && depth > 0;
    // A key that stays behind the new one is there as any other.
    let stays = matches!(asked.cursor.place, Place::Key { before: true, .. });
    let mut taken: Vec<String> = if dotted {
        Vec::new()
    } else {
        pairs.iter().filter(|pair| stays || !pair.asked).filter_map(|pair| pair.key.first().cloned()).collect()
    };
    // Tables below this one are keys of it too.
    if let Some(record) = asked.record().filter(|record| own && !dotted && std::ptr::eq(record.spec, table)) {
        let current = pairs.iter().find(|pair| pair.asked && !stays).and_then(|pair| pair.key.first());
        let written = record.slots.iter().map(|slot| record.spec.key(slot.field).name);
        taken.extend(written.filter(|name| current.is_none_or(|it| it != name)).map(str::to_owned));
    }
    taken
}

/// The keys of a channel that say nothing in its mode.
fn idle(asked: &Asked<'_>, table: &'static TableSpec) -> Vec<(&'static str, &'static str)> {
    if !std::ptr::eq(table, &CHANNEL) {
        return Vec::new();
    }
    let sends = match asked.beside("sends").as_deref() {
        Some("digital") => Sends::Digital,
        Some("analog") => Sends::Analog,
        Some("nothing") => Sends::Nothing,
        _ => return Vec::new(),
    };
    let receives = match (asked.written("receives"), sends) {
        (Some(modes), _) => (modes.contains("digital"), modes.contains("analog")),
        // What a channel hears that sends nothing is not known then.
        (None, Sends::Nothing) => (true, true),
        (None, sends) => (sends == Sends::Digital, sends == Sends::Analog),
    };
    idle_keys(sends, receives)
}

/// Type and unit.
pub(crate) fn detail_of(key: &KeySpec) -> String {
    let form = describe(&key.value).replace('`', "");
    let unit = key.unit().filter(|unit| !form.contains(unit));
    let required = if key.required { "required: " } else { "" };
    match unit {
        Some(unit) => format!("{required}{form} ({unit})"),
        None => format!("{required}{form}"),
    }
}

/// What a key is for, what it takes, how far a change reaches.
fn doc_of(key: &KeySpec, alternatives: Option<&[&str]>, idle: Option<&str>) -> String {
    let mut doc = format!("{}\n\nTakes {}.", key.doc, describe(&key.value));
    if let Some(set) = alternatives {
        doc.push_str(&format!("\n\nOne of `{}` must be there.", set.join("`, `")));
    }
    if let Some(why) = idle {
        doc.push_str(&format!("\n\nIt has no effect here: {why}."));
    }
    match key.reach {
        Reach::Air => doc.push_str("\n\nA change reaches the air: what is sent or heard."),
        Reach::Hand => doc.push_str("\n\nAfter a change the radios must be written again."),
        Reach::Paper => {}
    }
    doc
}

/// A value to begin with: what is known, else the least that can be read.
pub(crate) fn stub(asked: &Asked<'_>, table: &'static TableSpec, key: &KeySpec, written: &mut Written) {
    match known::obvious(asked, table, key.name) {
        Some(value) if matches!(key.value, Type::Text | Type::Refer(..) | Type::Word(_)) => {
            written.text("\"");
            written.stop(&value);
            written.text("\"");
        }
        Some(value) => written.stop(&value),
        None => stub_of(asked, &key.value, key.doc, written),
    }
}

fn stub_of(asked: &Asked<'_>, form: &Type, doc: &str, written: &mut Written) {
    match form {
        Type::Refer(..) | Type::Path(..) => {
            let names = known::few(asked, form);
            written.text("\"");
            written.choice_of_names(&names.iter().map(String::as_str).collect::<Vec<_>>());
            written.text("\"");
        }
        Type::Name | Type::Prose | Type::Text | Type::SheetPath | Type::Designator | Type::Tone | Type::ToneOr(_) => {
            written.text("\"");
            written.stop("");
            written.text("\"");
        }
        Type::Word(words) => {
            written.text("\"");
            written.choice(words);
            written.text("\"");
        }
        Type::Megahertz | Type::Kilohertz | Type::Number(..) => written.stop("0"),
        Type::Whole(low, high) if high - low < LISTED => {
            let numbers: Vec<String> = (*low..=*high).map(|number| number.to_string()).collect();
            written.choice(&numbers.iter().map(String::as_str).collect::<Vec<_>>());
        }
        Type::Whole(low, _) => written.stop(&low.max(&0).to_string()),
        Type::Truth if doc.contains("absent: `true`") => written.choice(&["false", "true"]),
        Type::Truth => written.choice(&["true", "false"]),
        Type::Date => written.stop(&known::today(asked).unwrap_or_else(|| "2000-01-01".to_owned())),
        Type::List(_) => {
            written.text("[");
            written.stop("");
            written.text("]");
        }
        Type::OneOrMore(item) => stub_of(asked, item, doc, written),
        Type::Part(part) => stub_part(asked, part, written),
        Type::Parts(part) => {
            written.text("[");
            stub_part(asked, part, written);
            written.text("]");
        }
        Type::Either(first, _) => stub_of(asked, first, doc, written),
        Type::Anything => written.stop("\"\""),
    }
}

/// An inline table with the keys that it needs; of a small one all.
pub(crate) fn stub_part(asked: &Asked<'_>, part: &'static TableSpec, written: &mut Written) {
    let needed = needed(asked, part);
    let all: Vec<&KeySpec> = part.keys.iter().collect();
    let keys = if part.keys.len() <= SMALL_PART { all } else { needed };
    if keys.is_empty() {
        written.text("{ ");
        written.stop("");
        return written.text(" }");
    }
    for (number, key) in keys.iter().enumerate() {
        written.text(if number == 0 { "{ " } else { ", " });
        written.text(key.name);
        written.text(" = ");
        stub(asked, part, key, written);
    }
    written.text(" }");
}

/// The keys that a new table cannot do without: its name, those that are required, one of each set; each once.
pub(crate) fn needed(asked: &Asked<'_>, table: &'static TableSpec) -> Vec<&'static KeySpec> {
    let chosen: Vec<&str> = table.one_of.iter().filter_map(|set| choose(asked, table, set)).collect();
    let is_needed = |key: &&KeySpec| key.required || matches!(key.value, Type::Name) || chosen.contains(&key.name);
    table.keys.iter().filter(is_needed).collect()
}

/// The first key of a set that has something to refer to.
fn choose(asked: &Asked<'_>, table: &'static TableSpec, set: &[&'static str]) -> Option<&'static str> {
    let usable = |name: &&&str| match table.field(name).map(|field| table.key(field).value) {
        Some(Type::Refer(kinds, _)) => kinds.iter().any(|kind| known::any(asked, *kind)),
        form => form.is_some(),
    };
    set.iter().find(usable).copied()
}

/// Keys that the table leaves open, where they name something: rules, options of a rule, networks, columns.
fn open_keys(asked: &Asked<'_>, table: &'static TableSpec, taken: &[String]) -> Vec<Draft> {
    if !table.open {
        return Vec::new();
    }
    let free = |name: &str| !taken.iter().any(|it| it == name);
    if std::ptr::eq(table, &RULES) {
        return CATALOG
            .iter()
            .map(|rule| rule.about())
            .filter(|about| free(about.name))
            .map(|about| rule(asked, about))
            .collect();
    }
    if let Some(about) = known::rule_around(asked) {
        let options = about.options.iter().filter(|option| free(option.name));
        return options.map(|option| rule_option(asked, option)).collect();
    }
    known::open_names(asked, table)
        .into_iter()
        .filter(|(name, ..)| free(name))
        .map(|(name, detail, doc)| {
            let mut written = Written::of(&fit::key(&name));
            if !asked_goes_on(asked) {
                written.text(" = ");
                stub_of(asked, &table.open_value, "", &mut written);
            }
            Draft::new(CompletionKind::Key, name, Content::Made(written)).detail(detail).doc(doc).rank(OPTIONAL)
        })
        .collect()
}

fn rule(asked: &Asked<'_>, about: &'static guywire_rules::About) -> Draft {
    let mut written = Written::of(about.name);
    if !asked_goes_on(asked) {
        written.text(" = \"");
        written.choice(&known::levels_after(about.level));
        written.text("\"");
    }
    let mut doc = Page::of(about).summary;
    if about.always {
        doc.push_str("\n\nIt is always shown: no level takes it away.");
    }
    Draft::new(CompletionKind::Key, about.name, Content::Made(written))
        .detail(format!("{}, {} where nothing is said", about.family.word(), about.level.word()))
        .doc(doc)
        .rank(OPTIONAL)
}

fn rule_option(asked: &Asked<'_>, option: &guywire_rules::OptionSpec) -> Draft {
    let mut written = Written::of(option.name);
    if !asked_goes_on(asked) {
        written.text(" = ");
        written.stop(&option.default.to_string());
    }
    Draft::new(CompletionKind::Key, option.name, Content::Made(written))
        .detail(format!("a number; absent: {}", option.default))
        .doc(option.doc)
        .rank(OPTIONAL)
}

/// The names that a list beside the cursor holds.
pub(crate) fn listed(asked: &Asked<'_>, key: &str) -> Vec<String> {
    let Some(record) = asked.record() else { return Vec::new() };
    let value: Option<&Stored> = record.spec.field(key).and_then(|field| super::context::slot(record, field));
    names_in(value, asked.view)
}
