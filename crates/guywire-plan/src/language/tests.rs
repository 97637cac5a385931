//! The table is whole, says what it says once, and covers the example of the language both ways.

use std::collections::{BTreeMap, BTreeSet};

use toml_edit::{Item, Table, TableLike, Value};

use super::*;

const FILES: [FileKind; 6] =
    [FileKind::Plan, FileKind::Model, FileKind::Regime, FileKind::Bench, FileKind::Field, FileKind::Settings];

/// Every table of the language, parts included, once.
fn every_table() -> Vec<&'static TableSpec> {
    fn add(found: &mut Vec<&'static TableSpec>, spec: &'static TableSpec) {
        if found.iter().any(|known| std::ptr::eq(*known, spec)) {
            return;
        }
        found.push(spec);
        let open = spec.open.then_some(&spec.open_value);
        for value in spec.keys.iter().map(|key| &key.value).chain(open) {
            parts_in(value).into_iter().for_each(|(part, _)| add(found, part));
        }
    }
    let mut found = Vec::new();
    FILES.iter().flat_map(|file| tables(*file)).for_each(|spec| add(&mut found, spec));
    found
}

/// A type and every type inside it.
fn types_in(value: &Type) -> Vec<&Type> {
    let inner: Vec<&Type> = match value {
        Type::List(item) | Type::OneOrMore(item) => types_in(item),
        Type::Either(first, second) => types_in(first).into_iter().chain(types_in(second)).collect(),
        _ => Vec::new(),
    };
    [value].into_iter().chain(inner).collect()
}

#[test]
fn every_table_of_the_language_is_there() {
    let expected: [(FileKind, &[&str]); 6] = [
        (
            FileKind::Plan,
            &[
                "[plan]",
                "[[site]]",
                "[[license]]",
                "[[network]]",
                "[[repeater]]",
                "[[station]]",
                "[[talkgroup]]",
                "[[contact]]",
                "[[receive_group]]",
                "[[key]]",
                "[[channel]]",
                "[[scan_list]]",
                "[[zone]]",
                "[[emergency]]",
                "[[profile]]",
                "[[radio]]",
                "[radios]",
                "[[report]]",
                "[[message]]",
                "[signaling]",
                "[controls]",
                "[security]",
                "[audio]",
                "[display]",
                "[[shortcut]]",
                "[[kit]]",
                "[requirements]",
            ],
        ),
        (FileKind::Model, &["[model]", "[capacity]", "[receiver]", "[antenna]", "[battery]", "[[button]]"]),
        (FileKind::Regime, &["[regime]", "[[band]]", "[[channel]]", "[[pair]]"]),
        (FileKind::Bench, &["[bench]", "[[reading]]"]),
        (FileKind::Field, &["[field]", "[[trial]]"]),
        (FileKind::Settings, &["[workspace]", "[rules]", "[waivers]", "[[house_rule]]"]),
    ];
    for (file, headers) in expected {
        let found: Vec<String> = tables(file).iter().map(|spec| spec.header()).collect();
        assert_eq!(found, headers, "{file:?}");
    }
}

#[test]
fn each_top_level_table_has_a_kind_of_its_own_and_stands_in_its_file() {
    let mut kinds = BTreeSet::new();
    for file in FILES {
        for spec in tables(file) {
            assert!(kinds.insert(spec.kind), "{:?} twice", spec.kind);
            assert!(!matches!(spec.kind, Kind::Part | Kind::Unknown), "{}", spec.name);
            assert_ne!(spec.kind.noun(), "table", "{}", spec.name);
            assert_eq!(spec.file, file, "{}", spec.name);
            assert_ne!(spec.many, Many::Part, "{}", spec.name);
            assert!(std::ptr::eq(table_named(file, spec.name).unwrap(), *spec));
            assert!(std::ptr::eq(table_of(spec.kind).unwrap(), *spec));
        }
        assert_eq!(tables(file)[0].field("format"), Some(0), "{file:?}");
    }
}

#[test]
fn parts_are_reached_from_their_own_kind_of_file_only() {
    for spec in every_table() {
        for (part, _) in spec.keys.iter().flat_map(|key| parts_in(&key.value)) {
            assert_eq!((part.kind, part.many), (Kind::Part, Many::Part), "{}", part.name);
            assert_eq!(part.file, spec.file, "{} in {}", part.name, spec.name);
        }
    }
}

#[test]
fn keys_are_unique_documented_and_named_by_the_sets_that_need_them() {
    for spec in every_table() {
        let names: BTreeSet<&str> = spec.keys.iter().map(|key| key.name).collect();
        assert_eq!(names.len(), spec.keys.len(), "{}", spec.name);
        assert_sentence(spec.doc, spec.name);
        for key in spec.keys {
            let place = format!("{}.{}", spec.name, key.name);
            assert_sentence(key.doc, &place);
            assert!(key.doc.matches(". ").count() < 2, "{place}: more than two sentences");
            assert!(!key.name.contains('#') && !key.name.is_empty(), "{place}");
        }
        for set in spec.one_of {
            assert!(set.len() > 1, "{}", spec.name);
            for name in *set {
                let key = spec.field(name).map(|field| spec.key(field));
                assert!(key.is_some_and(|key| !key.required), "{}.{name}", spec.name);
            }
        }
        assert!(spec.keys.iter().filter(|key| matches!(key.value, Type::Name)).count() <= 1, "{}", spec.name);
    }
}

fn assert_sentence(doc: &str, place: &str) {
    assert!(doc.ends_with('.') && doc.len() > 5 && doc.trim() == doc, "{place}: {doc:?}");
    let first = doc.trim_start_matches('`');
    assert!(first.starts_with(|c: char| c.is_uppercase()) || first != doc, "{place}: {doc:?}");
}

#[test]
fn values_are_well_formed() {
    for spec in every_table() {
        let open = spec.open.then_some(&spec.open_value);
        for value in spec.keys.iter().map(|key| &key.value).chain(open).flat_map(types_in) {
            match value {
                Type::Word(words) | Type::ToneOr(words) | Type::Refer(_, words) | Type::Path(_, words) => {
                    let unique: BTreeSet<&&str> = words.iter().collect();
                    assert_eq!(unique.len(), words.len(), "{}: {words:?}", spec.name);
                    assert!(!matches!(value, Type::Word([])), "{}", spec.name);
                }
                Type::Whole(low, high) => assert!(low <= high, "{}", spec.name),
                Type::Number(low, high) => assert!(low < high, "{}", spec.name),
                _ => {}
            }
            if let Type::Refer(kinds, _) = value {
                assert!(!kinds.is_empty());
                for kind in *kinds {
                    let named = table_of(*kind).and_then(TableSpec::name_field);
                    assert!(named.is_some(), "{}: nothing refers to a {}", spec.name, kind.noun());
                }
            }
            assert!(!describe(value).is_empty());
        }
    }
}

/// Numbers that count, or are a number on the air or a mark.
const WITHOUT_UNIT: [&str; 24] = [
    "format",
    "id",
    "units",
    "slot",
    "color_code",
    "tries",
    "each",
    "level",
    "programmable_actions",
    "itu_region",
    "zones",
    "channels_per_zone",
    "channels",
    "talkgroups",
    "contacts",
    "receive_groups",
    "receive_group_members",
    "scan_lists",
    "scan_list_members",
    "keys",
    "messages",
    "message_characters",
    "name_characters",
    "alias_characters",
];

#[test]
fn numbers_carry_their_unit_in_the_key() {
    for spec in every_table() {
        for key in spec.keys {
            let types = types_in(&key.value);
            let unit = key.unit();
            let place = format!("{}.{}", spec.name, key.name);
            if types.iter().any(|value| matches!(value, Type::Megahertz)) {
                assert_eq!(unit, Some("MHz"), "{place}");
            } else if types.iter().any(|value| matches!(value, Type::Kilohertz)) {
                assert_eq!(unit, Some("kHz"), "{place}");
            } else if types.iter().any(|value| matches!(value, Type::Whole(..) | Type::Number(..))) {
                assert!(unit.is_some() != WITHOUT_UNIT.contains(&key.name), "{place}: {unit:?}");
            } else {
                assert_eq!(unit, None, "{place}");
            }
        }
    }
}

#[test]
fn a_radio_takes_every_key_of_a_profile_but_its_name() {
    for key in PROFILE.keys.iter().filter(|key| key.name != "name") {
        let on_radio = RADIO.keys.iter().find(|other| other.name == key.name);
        let on_radio = on_radio.unwrap_or_else(|| panic!("a radio has no {}", key.name));
        assert_eq!(describe(&on_radio.value), describe(&key.value));
        assert_eq!((on_radio.reach, on_radio.doc), (key.reach, key.doc));
    }
}

#[test]
fn secrets_are_key_material_and_codes_and_nothing_else() {
    let mut secrets = Vec::new();
    for spec in every_table() {
        secrets.extend(spec.keys.iter().filter(|key| key.secret).map(|key| (spec.name, key.name)));
    }
    secrets.sort_unstable();
    assert_eq!(secrets, [("key", "value"), ("security", "power_on_code"), ("security", "programming_code")]);
}

#[test]
fn only_a_plan_and_what_a_model_hears_or_radiates_reach_further_than_paper() {
    for spec in every_table() {
        if matches!(spec.file, FileKind::Plan | FileKind::Model) {
            continue;
        }
        for key in spec.keys {
            assert_eq!(key.reach, Reach::Paper, "{}.{}", spec.name, key.name);
        }
    }
    let paper = [&SITE, &LICENSE, &KIT, &REQUIREMENTS];
    for (spec, key) in paper.iter().flat_map(|spec| spec.keys.iter().map(move |key| (spec, key))) {
        assert_eq!(key.reach, Reach::Paper, "{}.{}", spec.name, key.name);
    }
}

#[test]
fn numbers_of_keys_follow_the_table() {
    assert_eq!(CHANNEL.field("name"), Some(channel::name.number()));
    assert_eq!(CHANNEL.field("repeater"), Some(channel::repeater.number()));
    assert_eq!(LICENSE_ASSIGNMENT.field("use"), Some(license__assignment::r#use.number()));
    assert_eq!(RADIO.field("man_down"), Some(radio::man_down.number()));
    assert_eq!(HOUSE_RULE.key(house_rule::r#for.number()).name, "for");
    assert_eq!(LICENSE_ASSIGNMENT.name, "assignment");
    assert_eq!(CHANNEL.doc.chars().next(), Some('O'));
}

#[test]
fn types_in_words() {
    let words = |spec: &TableSpec, name: &str| describe(&spec.key(spec.field(name).unwrap()).value);
    assert_eq!(words(&CHANNEL, "sends"), "one of `digital`, `analog`, `nothing`");
    assert_eq!(words(&CHANNEL, "call"), "the name of a talkgroup or contact");
    assert_eq!(words(&CHANNEL, "rx_mhz"), "a frequency in MHz");
    assert_eq!(words(&CHANNEL, "emergency"), "the name of an emergency set-up");
    assert_eq!(words(&CHANNEL, "purpose"), "`announce`");
    assert_eq!(words(&ZONE, "channels"), "a list, each item the name of a channel, or an empty text");
    assert_eq!(words(&SCAN_LIST, "reply"), "the name of a channel, or one of `last-heard`, `selected`");
    assert_eq!(words(&RADIO, "stands_by"), "a table with `zone`, `channel`");
    assert_eq!(words(&RADIO, "ids"), "a table");
    assert_eq!(words(&PLAN, "format"), "`1`");
    assert_eq!(words(&SITE, "latitude"), "a number from -90 to 90");
    assert_eq!(words(&MODEL, "band"), "any number of tables with `low_mhz`, `high_mhz`");
    assert_eq!(words(&SECURITY, "power_on_code"), "a table with `held_in`; or text");
}

#[test]
fn the_printed_reference_is_the_table() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/language.md");
    let rendered = render_reference();
    if std::env::var_os("GUYWIRE_BLESS").is_some() {
        std::fs::write(path, &rendered).unwrap();
    }
    let printed = std::fs::read_to_string(path).unwrap_or_default().replace("\r\n", "\n");
    assert!(printed == rendered, "docs/language.md is out of date; run the tests with GUYWIRE_BLESS=1");
}

#[test]
fn computations_are_all_used_and_never_of_a_secret() {
    let mut used: Vec<Computed> = Vec::new();
    for spec in every_table() {
        for key in spec.keys {
            assert!(!key.secret || key.computed.is_empty(), "{}.{}", spec.name, key.name);
            used.extend(key.computed);
        }
    }
    for computed in Computed::ALL {
        assert!(used.contains(computed), "{computed:?} is computed of nothing");
    }
}

// The example of the language.

const EXAMPLE: [(FileKind, &str); 7] = [
    (FileKind::Plan, include_str!("../../tests/language/harbor.plan.toml")),
    (FileKind::Plan, include_str!("../../tests/language/groups.plan.toml")),
    (FileKind::Model, include_str!("../../tests/language/hh-uhf.model.toml")),
    (FileKind::Regime, include_str!("../../tests/language/quay.regime.toml")),
    (FileKind::Bench, include_str!("../../tests/language/unit-41.bench.toml")),
    (FileKind::Field, include_str!("../../tests/language/outing.field.toml")),
    (FileKind::Settings, include_str!("../../tests/language/guywire.toml")),
];

/// What a walk over a file against the table finds.
#[derive(Default)]
struct Walk {
    problems: Vec<String>,
    /// Keys met: table by address, number of the key.
    used: BTreeSet<(usize, u8)>,
    names: BTreeMap<Kind, BTreeSet<String>>,
    references: Vec<(String, &'static [Kind], String)>,
}

impl Walk {
    fn file(&mut self, file: FileKind, text: &str) {
        let document: toml_edit::Document<String> = text.parse().unwrap();
        for (name, item) in document.as_table().iter() {
            let Some(spec) = table_named(file, name) else {
                self.problems.push(format!("unknown table {name}"));
                continue;
            };
            match (spec.many, item) {
                (Many::One, Item::Table(table)) => self.table(spec, table),
                (Many::Any, Item::ArrayOfTables(all)) => all.iter().for_each(|table| self.table(spec, table)),
                _ => self.problems.push(format!("{name}: written as {}", item.type_name())),
            }
        }
    }

    fn table(&mut self, spec: &'static TableSpec, table: &dyn TableLike) {
        for (name, item) in table.iter() {
            let place = format!("{}.{name}", spec.name);
            match spec.field(name) {
                Some(field) => {
                    self.used.insert((std::ptr::from_ref(spec) as usize, field));
                    self.item(spec, &spec.key(field).value, item, &place);
                }
                None if spec.open => {
                    if !spec.open_names.is_empty() {
                        self.references.push((place.clone(), spec.open_names, name.to_string()));
                    }
                    self.item(spec, &spec.open_value, item, &place);
                }
                None => self.problems.push(format!("unknown key {place}")),
            }
        }
        let missing = spec.keys.iter().filter(|key| key.required && !table.contains_key(key.name));
        self.problems.extend(missing.map(|key| format!("{}.{} is missing", spec.name, key.name)));
        for set in spec.one_of {
            if !set.iter().any(|name| table.contains_key(name)) {
                self.problems.push(format!("{}: none of {set:?}", spec.name));
            }
        }
    }

    fn item(&mut self, spec: &'static TableSpec, form: &'static Type, item: &Item, place: &str) {
        let fits = match (form, item) {
            (Type::Anything, _) => true,
            (Type::Part(part), Item::Table(table)) => {
                self.table(part, table);
                true
            }
            (Type::Parts(part), Item::ArrayOfTables(all)) => {
                all.iter().for_each(|table: &Table| self.table(part, table));
                true
            }
            (_, Item::Value(value)) => self.value(spec, form, value, place),
            _ => false,
        };
        if !fits {
            self.problems.push(format!("{place}: {} is not {}", item.type_name(), describe(form)));
        }
    }

    fn value(&mut self, spec: &'static TableSpec, form: &'static Type, value: &Value, place: &str) -> bool {
        match (form, value) {
            (Type::Name, Value::String(text)) => {
                self.names.entry(spec.kind).or_default().insert(text.value().clone());
                true
            }
            (Type::Prose | Type::Text | Type::SheetPath, Value::String(_)) => true,
            (Type::Word(words), Value::String(text)) => words.contains(&text.value().as_str()),
            (Type::Refer(kinds, words), Value::String(text)) => {
                if !words.contains(&text.value().as_str()) {
                    self.references.push((place.to_string(), kinds, text.value().clone()));
                }
                true
            }
            (Type::Path(file, words), Value::String(text)) => {
                words.contains(&text.value().as_str()) || FileKind::of_name(text.value()) == Some(*file)
            }
            (Type::Tone, Value::String(text)) => is_tone(text.value()),
            (Type::ToneOr(words), Value::String(text)) => {
                words.contains(&text.value().as_str()) || is_tone(text.value())
            }
            (Type::Designator, Value::String(text)) => text.value().len() == 7,
            (Type::Megahertz | Type::Kilohertz, _) => number(value).is_some_and(|number| number > 0.0),
            (Type::Whole(low, high), Value::Integer(number)) => (*low..=*high).contains(number.value()),
            (Type::Number(low, high), _) => number(value).is_some_and(|number| (*low..=*high).contains(&number)),
            (Type::Truth, Value::Boolean(_)) => true,
            (Type::Date, Value::Datetime(when)) => when.value().date.is_some() && when.value().time.is_none(),
            (Type::List(item) | Type::OneOrMore(item), Value::Array(all)) => {
                all.iter().all(|value| self.value(spec, item, value, place))
            }
            (Type::OneOrMore(item), _) => self.value(spec, item, value, place),
            (Type::Part(part), Value::InlineTable(table)) => {
                self.table(part, table);
                true
            }
            (Type::Parts(part), Value::Array(all)) => all.iter().all(|value| match value {
                Value::InlineTable(table) => {
                    self.table(part, table);
                    true
                }
                _ => false,
            }),
            (Type::Either(first, second), _) => {
                self.value(spec, first, value, place) || self.value(spec, second, value, place)
            }
            _ => false,
        }
    }
}

fn number(value: &Value) -> Option<f64> {
    value.as_float().or(value.as_integer().map(|number| number as f64))
}

fn is_tone(text: &str) -> bool {
    match text.split_once(' ') {
        Some(("CTCSS", hertz)) => hertz.parse::<f64>().is_ok_and(|hertz| (60.0..300.0).contains(&hertz)),
        Some(("DCS", code)) => code.len() == 4 && code.ends_with(['N', 'I']),
        _ => false,
    }
}

fn walk_example() -> Walk {
    let mut walk = Walk::default();
    EXAMPLE.iter().for_each(|(file, text)| walk.file(*file, text));
    walk
}

#[test]
fn the_example_uses_keys_of_the_table_only_and_values_that_fit() {
    let walk = walk_example();
    assert_eq!(walk.problems, [] as [String; 0]);
    for (place, kinds, name) in &walk.references {
        let there = kinds.iter().any(|kind| walk.names.get(kind).is_some_and(|names| names.contains(name)));
        assert!(there, "{place}: no {name:?} among {kinds:?}");
    }
    assert!(walk.references.len() > 50, "{}", walk.references.len());
}

#[test]
fn the_example_uses_every_key_of_the_table() {
    let used = walk_example().used;
    let mut unused = Vec::new();
    for spec in every_table() {
        let address = std::ptr::from_ref(spec) as usize;
        let keys = spec.keys.iter().zip(0u8..);
        unused
            .extend(keys.filter(|(_, field)| !used.contains(&(address, *field))).map(|(key, _)| (spec.name, key.name)));
    }
    assert_eq!(unused, [] as [(&str, &str); 0]);
}

#[test]
fn the_walk_finds_what_does_not_belong() {
    let problems = |text: &str| {
        let mut walk = Walk::default();
        walk.file(FileKind::Plan, text);
        walk.problems
    };
    assert_eq!(problems("[[berth]]\nname = \"x\""), ["unknown table berth"]);
    assert_eq!(problems("[[talkgroup]]\nname = \"x\"\nid = 1\nslot = 1"), ["unknown key talkgroup.slot"]);
    assert_eq!(problems("[[talkgroup]]\nname = \"x\""), ["talkgroup.id is missing"]);
    assert_eq!(problems("[[contact]]\nname = \"x\""), ["contact: none of [\"id\", \"all_call\"]"]);
    assert_eq!(problems("[[talkgroup]]\nname = \"x\"\nid = 16777216").len(), 1);
    assert_eq!(problems("[radios]\nfrom = 1").len(), 1);
    assert_eq!(problems("[[plan]]"), ["plan: written as array of tables"]);
}
