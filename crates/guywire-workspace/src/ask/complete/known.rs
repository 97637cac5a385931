//! What the plan around a cursor already answers: the repeater's color code, the levels of the model, the day.

use guywire_plan::language::{
    CHANNEL, CONTROLS_BUTTON, FIELD, FileKind, Kind, MODEL, PLAN, RADIO, RADIO_IDS, RADIOS_COLUMNS, REGIME, SHORTCUT,
    TableSpec, Type, channel, model, model__button, model__power, repeater,
};
use guywire_plan::{EntityId, Known, Ref, Row, Stored};
use guywire_radio::Hertz;
use guywire_radio::regime::Regime;
use guywire_rules::{About, Level, find};
use guywire_text::FileId;

use super::context::{Asked, slot};
use super::cursor::Step;
use super::numbers;

/// The day by which dated things are judged.
pub(crate) fn today(asked: &Asked<'_>) -> Option<String> {
    asked.view.today().map(|day| day.to_string())
}

/// Whether a name of this kind could be written here at all.
pub(crate) fn any(asked: &Asked<'_>, kind: Kind) -> bool {
    std::iter::once(asked.file)
        .chain(asked.db().scope(asked.view.viewer()).iter().copied())
        .any(|file| asked.db().names(file, kind).next().is_some())
}

/// More names than this are looked for by typing, not chosen from a list.
const FEW: usize = 12;

/// The names or paths that a value of this form may have, where they are few; else none. A name that the text of a
/// plan cannot hold as it is is none of them.
pub(crate) fn few(asked: &Asked<'_>, form: &Type) -> Vec<String> {
    let mut found: Vec<String> = match form {
        Type::Refer(kinds, _) => {
            let (db, viewer) = (asked.db(), asked.view.viewer());
            let scope = db.scope(viewer).iter().copied().filter(|file| *file != asked.file);
            let files: Vec<FileId> = std::iter::once(asked.file).chain(scope).collect();
            let names = files.iter().flat_map(|file| kinds.iter().flat_map(move |kind| db.names(*file, *kind)));
            names.take(LOOKED_AT).map(|name| db.symbols.text(name).to_owned()).collect()
        }
        Type::Path(kind, built_in) => super::paths::known(asked, *kind)
            .into_iter()
            .map(|(path, _)| path)
            .chain(built_in.iter().map(|it| (*it).to_owned()))
            .collect(),
        _ => return Vec::new(),
    };
    found.sort_unstable();
    found.dedup();
    found.retain(|name| !name.contains(['"', '\\']) && !name.contains(char::is_control));
    if found.len() > FEW { Vec::new() } else { found }
}

/// Names that are looked at to see whether they are few.
const LOOKED_AT: usize = 64;

/// The value that a key almost always has here, as it is written, without quotes.
pub(crate) fn obvious(asked: &Asked<'_>, table: &'static TableSpec, key: &str) -> Option<String> {
    if key == "format" && [&PLAN, &MODEL, &REGIME, &FIELD].iter().any(|it| std::ptr::eq(*it, table)) {
        return Some("1".to_owned());
    }
    if key == "id" {
        return numbers::next_id(asked, table, numbers::LOOKED_AT).map(|id| id.to_string());
    }
    if !std::ptr::eq(table, &CHANNEL) {
        return None;
    }
    let repeater = repeater(asked);
    let width = |width: Known<Hertz>| width.value().map(Hertz::khz_text);
    match key {
        "color_code" => repeater?.whole(repeater::color_code).value().map(|code| code.to_string()),
        "slot" => carrying_slot(asked).map(|slot| slot.to_string()),
        "bandwidth_khz" => Some(
            repeater
                .and_then(|repeater| width(repeater.frequency(repeater::bandwidth_khz)))
                .unwrap_or_else(|| "12.5".to_owned()),
        ),
        "power" => levels(asked).first().map(|level| level.name.clone()),
        _ => None,
    }
}

/// The repeater that the channel around the cursor names.
pub(crate) fn repeater<'w>(asked: &Asked<'w>) -> Option<Ref<'w, repeater::Table>> {
    let name = asked.beside("repeater")?;
    let symbol = asked.view.find_symbol(&name)?;
    let named = |id: &EntityId| asked.view.name_symbol(*id) == Known::Is(symbol);
    let id = asked.view.nameable(asked.file, Kind::Repeater).into_iter().find(named)?;
    asked.view.get(id)
}

/// The slot of the channel's repeater that carries what the channel calls, where only one does.
fn carrying_slot(asked: &Asked<'_>) -> Option<i64> {
    let (repeater, call) = (repeater(asked)?, asked.beside("call")?);
    let carries = |slot: &i64| carried(asked, repeater, *slot).contains(&call);
    let slots: Vec<i64> = [1, 2].into_iter().filter(carries).collect();
    if let [only] = slots.as_slice() { Some(*only) } else { None }
}

/// The names of the talkgroups that a slot of a repeater is written to carry, whatever they lead to.
pub(crate) fn carried(asked: &Asked<'_>, repeater: Ref<'_, repeater::Table>, number: i64) -> Vec<String> {
    use guywire_plan::language::repeater__slot;
    let field = if number == 1 { repeater::slot_1 } else { repeater::slot_2 };
    match repeater.known(field) {
        Known::Is(Stored::Part(part)) => {
            super::context::names_in(slot(part, repeater__slot::talkgroups.number()), asked.view)
        }
        Known::Is(list) => super::context::names_in(Some(list), asked.view),
        _ => Vec::new(),
    }
}

/// The models of the radios that hold the channel around the cursor; the plan's, or all that are known, where none does.
pub(crate) fn models<'w>(asked: &Asked<'w>) -> Vec<Ref<'w, model::Table>> {
    let view = asked.view;
    if asked.kind == FileKind::Model {
        return view.main(asked.file).and_then(|id| view.get(id)).into_iter().collect();
    }
    let held = asked.id.filter(|id| view.kind(*id) == Kind::Channel).map(|id| view.channel_models(id));
    if let Some(models) = held.filter(|models| !models.is_empty()) {
        return models;
    }
    let named = asked.db().main(asked.file).and_then(|id| asked.db().entity(id)).and_then(|main| {
        let field = main.record.spec.field("model")?;
        match slot(&main.record, field)? {
            Stored::File(file) => view.main(*file),
            _ => None,
        }
    });
    named.or_else(|| view.plan_model()).and_then(|id| view.get(id)).into_iter().collect()
}

/// A power level of a model.
pub(crate) struct LevelOf {
    pub name: String,
    pub watts: Option<f64>,
    /// The models that have it.
    pub models: Vec<String>,
}

/// The power levels of those models, in the order of the first that has them.
pub(crate) fn levels(asked: &Asked<'_>) -> Vec<LevelOf> {
    let mut found: Vec<LevelOf> = Vec::new();
    for model in models(asked) {
        let named = model.name().unwrap_or("the model").to_owned();
        for power in model.parts::<model__power::Table>(model::power) {
            let Known::Is(name) = power.text(model__power::level) else { continue };
            let name = asked.view.symbol(name);
            let watts = power.number(model__power::watts).value();
            match found.iter_mut().find(|level| level.name == name) {
                Some(level) => {
                    level.watts = level.watts.filter(|known| Some(*known) == watts);
                    level.models.push(named.clone());
                }
                None => found.push(LevelOf { name: name.to_owned(), watts, models: vec![named.clone()] }),
            }
        }
    }
    found
}

/// The places of buttons of the models, each with the model.
pub(crate) fn button_places(asked: &Asked<'_>) -> Vec<(String, String)> {
    let view = asked.view;
    let db = asked.db();
    let mut files: Vec<_> = db.file_ids().filter(|file| db.file(*file).kind == Some(FileKind::Model)).collect();
    files.sort_by_key(|file| &db.file(*file).path);
    let mut found: Vec<(String, String)> = Vec::new();
    for file in files {
        let named = view.main(file).and_then(|id| view.name_of(id)).unwrap_or("a model").to_owned();
        let mut buttons = view.tables_in(file, Kind::ModelButton);
        buttons.sort_by_key(|id| db.header_start(*id));
        for button in buttons {
            let Some(Stored::Text(place)) =
                db.entity(button).and_then(|it| slot(&it.record, model__button::place.number()))
            else {
                continue;
            };
            let place = view.symbol(*place).to_owned();
            match found.iter_mut().find(|(name, _)| *name == place) {
                Some((_, models)) if !models.contains(&named) => models.push_str(&format!(", {named}")),
                Some(_) => {}
                None => found.push((place, named.clone())),
            }
        }
    }
    found
}

/// Whether a key holds the place of a button.
pub(crate) fn is_button_place(table: &'static TableSpec, key: &str) -> bool {
    (std::ptr::eq(table, &CONTROLS_BUTTON) && key == "place") || (std::ptr::eq(table, &SHORTCUT) && key == "button")
}

/// The service whose conditions hold at the cursor: built in, or a file's.
pub(crate) fn service<'w>(asked: &Asked<'w>) -> Option<&'w Regime> {
    let channel: Option<Ref<'w, channel::Table>> = asked.id.and_then(|id| asked.view.get(id));
    // A line that is half typed hides no key that is written.
    let own = channel.filter(|channel| channel.has(channel::regime));
    asked.view.service(own)
}

/// The rule whose options are being written.
pub(crate) fn rule_around(asked: &Asked<'_>) -> Option<&'static About> {
    if asked.kind != FileKind::Settings {
        return None;
    }
    let header = asked.cursor.header.as_ref()?.path.iter().map(String::as_str);
    let steps = asked.cursor.steps.iter().filter_map(|step| match step {
        Step::Key(name) => Some(name.as_str()),
        Step::Element => None,
    });
    let mut path = header.chain(steps);
    (path.next() == Some("rules")).then(|| path.next()).flatten().and_then(find).map(|rule| rule.about())
}

/// Levels, the one that a rule has by itself last: nobody writes that one.
pub(crate) fn levels_after(own: Level) -> Vec<&'static str> {
    let mut levels = vec![Level::Off, Level::Hint, Level::Information, Level::Warning, Level::Error];
    levels.sort_by_key(|level| *level == own);
    levels.into_iter().map(Level::word).collect()
}

/// Names that the open keys of a table may have: networks, keys of `[[radio]]` for the columns of a sheet. With what they
/// are and what is to be said of them.
pub(crate) fn open_names(asked: &Asked<'_>, table: &'static TableSpec) -> Vec<(String, String, String)> {
    if std::ptr::eq(table, &RADIOS_COLUMNS) {
        let keys = RADIO.keys.iter();
        return keys.map(|key| (key.name.to_owned(), "a key of [[radio]]".to_owned(), key.doc.to_owned())).collect();
    }
    if std::ptr::eq(table, &RADIO_IDS) {
        let mut names: Vec<&str> = asked
            .view
            .nameable(asked.file, Kind::Network)
            .into_iter()
            .filter_map(|id| asked.view.name_of(id))
            .collect();
        names.sort_unstable();
        names.dedup();
        return names.into_iter().map(|name| (name.to_owned(), "network".to_owned(), String::new())).collect();
    }
    Vec::new()
}
