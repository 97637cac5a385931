//! Values, by the form that the language table gives a key.

use guywire_plan::language::{KeySpec, MODEL_POWER, RADIOS_COLUMNS, RULE_OPTIONS, SHORTCUT, TableSpec, Type, describe};
use guywire_plan::{EntityId, Known, Stored};
use jiff::ToSpan;

use super::context::{Asked, Want, element_of, slot};
use super::cursor::{Step, Token};
use super::item::{Content, Draft, Written, finish};
use super::{air, fit, keys, known, names, numbers, paths};
use crate::answer::{Completion, CompletionKind};

pub(crate) fn complete(asked: &Asked<'_>, want: Want, token: &Token) -> (Vec<Completion>, bool) {
    let in_list = matches!(asked.cursor.steps.last(), Some(Step::Element));
    let mut drafts = of_form(asked, want, want.form, in_list);
    if in_list {
        // A list of names holds each once, but for those that leave a place empty.
        drafts.retain(|draft| match &draft.content {
            Content::Text(text) => text.is_empty() || !asked.cursor.elements.contains(text),
            Content::Made(_) => true,
        });
    }
    finish(drafts, fit::typed(asked, token), |draft| {
        if let Some(id) = draft.table {
            (draft.detail, draft.doc) = names::describe(asked, id);
        }
        fit::value(asked, token, draft)
    })
}

fn of_form(asked: &Asked<'_>, want: Want, form: &'static Type, in_list: bool) -> Vec<Draft> {
    let secret = want.key.is_some_and(|key| key.secret);
    match form {
        Type::Part(part) => vec![table(asked, part)],
        Type::Parts(part) => vec![listed(table(asked, part), !in_list)],
        Type::Either(first, second) => {
            let mut drafts = of_form(asked, want, first, in_list);
            drafts.extend(of_form(asked, want, second, in_list));
            drafts
        }
        // What is kept elsewhere may be named; the material itself is not helped into a plan.
        _ if secret => Vec::new(),
        Type::List(_) => match element_of(form) {
            Some(item) => of_form(asked, want, item, true).into_iter().map(|draft| listed(draft, true)).collect(),
            None => Vec::new(),
        },
        Type::OneOrMore(item) => of_form(asked, want, item, in_list),
        _ => scalar(asked, want, form),
    }
}

fn scalar(asked: &Asked<'_>, want: Want, form: &'static Type) -> Vec<Draft> {
    match form {
        Type::Word(words) => self::words(asked, want, words),
        Type::Refer(kinds, words) => names::drafts(asked, want, kinds, words),
        Type::Path(kind, built_in) => paths::of_kind(asked, *kind, built_in),
        Type::SheetPath => paths::sheets(asked),
        Type::Text => texts(asked, want),
        Type::Megahertz => air::carriers(asked, want),
        Type::Tone => air::tones(asked, want, &[]),
        Type::ToneOr(words) => air::tones(asked, want, words),
        Type::Designator => air::designators(asked),
        Type::Kilohertz | Type::Number(..) => numbers::usual(asked, want),
        Type::Whole(low, high) => numbers::whole(asked, want, *low, *high),
        Type::Truth => truths(want),
        Type::Date => dates(asked, want),
        Type::Anything => rule_option(asked),
        Type::Name
        | Type::Prose
        | Type::List(_)
        | Type::OneOrMore(_)
        | Type::Part(_)
        | Type::Parts(_)
        | Type::Either(..) => Vec::new(),
    }
}

fn listed(mut draft: Draft, in_list: bool) -> Draft {
    draft.in_list = in_list;
    draft
}

fn table(asked: &Asked<'_>, part: &'static TableSpec) -> Draft {
    let mut written = Written::default();
    match known::rule_around(asked).filter(|_| std::ptr::eq(part, &RULE_OPTIONS)) {
        Some(about) => rule_table(about, &mut written),
        None => keys::stub_part(asked, part, &mut written),
    }
    Draft::new(CompletionKind::Table, "{ … }", Content::Made(written))
        .filter("{")
        .detail(describe(&Type::Part(part)).replace('`', ""))
        .doc(part.doc)
}

/// The level of a rule and all its options.
fn rule_table(about: &guywire_rules::About, written: &mut Written) {
    written.text("{ level = \"");
    written.choice(&known::levels_after(about.level));
    written.text("\"");
    for option in about.options {
        written.text(&format!(", {} = ", option.name));
        written.stop(&option.default.to_string());
    }
    written.text(" }");
}

fn doc_of(want: Want) -> &'static str {
    want.key.map(|key: &KeySpec| key.doc).unwrap_or_default()
}

fn words(asked: &Asked<'_>, want: Want, words: &'static [&'static str]) -> Vec<Draft> {
    let obvious = want.key.and_then(|key| known::obvious(asked, want.table, key.name));
    let own = known::rule_around(asked).map(|about| about.level.word());
    let absent = |word: &str| doc_of(want).contains(&format!("absent: `{word}`"));
    words
        .iter()
        .map(|word| {
            let detail = match () {
                _ if own == Some(*word) => "the rule's own level",
                _ if absent(word) => "also when the key is absent",
                _ => "",
            };
            Draft::of_text(CompletionKind::Word, *word)
                .detail(detail)
                .doc(doc_of(want))
                .preselect(obvious.as_deref() == Some(word))
        })
        .collect()
}

fn truths(want: Want) -> Vec<Draft> {
    let said = if doc_of(want).contains("absent: `true`") { "false" } else { "true" };
    let of = |word: &'static str| Draft::of_raw(CompletionKind::Word, word).doc(doc_of(want)).preselect(word == said);
    vec![of("true"), of("false")]
}

/// Keys whose day is the last of something: it lies ahead.
const LAST_DAYS: [&str; 3] = ["expires", "rotate_by", "valid_until"];

fn dates(asked: &Asked<'_>, want: Want) -> Vec<Draft> {
    let Some(today) = asked.view.today() else { return Vec::new() };
    let ahead = want.key.is_some_and(|key| LAST_DAYS.contains(&key.name));
    let now = Draft::of_raw(CompletionKind::Date, today.to_string())
        .detail("the day that dates are judged by")
        .preselect(!ahead);
    let mut drafts = vec![now];
    if let Some(day) = today.checked_add(1.year()).ok().filter(|_| ahead) {
        drafts.push(Draft::of_raw(CompletionKind::Date, day.to_string()).detail("a year from then").preselect(true));
    }
    drafts
}

fn texts(asked: &Asked<'_>, want: Want) -> Vec<Draft> {
    let Some(key) = want.key else {
        return if std::ptr::eq(want.table, &RADIOS_COLUMNS) { columns(asked) } else { Vec::new() };
    };
    if known::is_button_place(want.table, key.name) {
        let places = known::button_places(asked).into_iter();
        return places
            .map(|(place, models)| Draft::of_text(CompletionKind::Word, place).detail(format!("button of {models}")))
            .collect();
    }
    if std::ptr::eq(want.table, &SHORTCUT) && key.name == "message" {
        return messages(asked);
    }
    match key.name {
        "power" => levels(asked),
        "level" if !std::ptr::eq(want.table, &MODEL_POWER) => levels(asked),
        "revision" => asked
            .view
            .today()
            .map(|day| day.strftime("%Y-%m").to_string())
            .map(|month| vec![Draft::of_text(CompletionKind::Date, month).detail("this month").preselect(true)])
            .unwrap_or_default(),
        "loaded" => revision(asked)
            .map(|it| vec![Draft::of_text(CompletionKind::Word, it).detail("the plan's revision").preselect(true)])
            .unwrap_or_default(),
        "emissions" => air::kinds(),
        "plans" => vec![
            Draft::of_text(CompletionKind::File, "**/*.plan.toml")
                .detail("all plan files; also when the key is absent"),
        ],
        "ingress" => {
            INGRESS.iter().map(|(code, means)| Draft::of_text(CompletionKind::Word, *code).detail(*means)).collect()
        }
        _ => Vec::new(),
    }
}

/// Codes that data sheets of radios carry (IEC 60529; what each digit stands for is from memory).
const INGRESS: [(&str, &str); 6] = [
    ("IP54", "dust does no harm; splashing water"),
    ("IP55", "dust does no harm; water jets"),
    ("IP65", "no dust; water jets"),
    ("IP66", "no dust; strong water jets"),
    ("IP67", "no dust; a short time under water"),
    ("IP68", "no dust; a long time under water, as the maker says"),
];

fn levels(asked: &Asked<'_>) -> Vec<Draft> {
    let all = known::models(asked).len();
    let levels = known::levels(asked).into_iter().enumerate();
    levels
        .map(|(number, level)| {
            let watts = level.watts.map(|watts| format!("{watts} W, ")).unwrap_or_default();
            let everywhere = level.models.len() == all;
            let doc =
                if everywhere { String::new() } else { "Not every model that holds the channel has it.".to_owned() };
            Draft::of_text(CompletionKind::Word, level.name)
                .detail(format!("{watts}{}", level.models.join(", ")))
                .doc(doc)
                .preselect(number == 0 && everywhere)
        })
        .collect()
}

fn revision(asked: &Asked<'_>) -> Option<String> {
    use guywire_plan::Row as _;
    let Known::Is(revision) = asked.view.plan()?.text(guywire_plan::language::plan::revision) else { return None };
    Some(asked.view.symbol(revision).to_owned())
}

fn messages(asked: &Asked<'_>) -> Vec<Draft> {
    use guywire_plan::language::{Kind, message};
    let text = |id: EntityId| match slot(&asked.db().entity(id)?.record, message::text.number())? {
        Stored::Text(text) => Some(asked.view.symbol(*text)),
        _ => None,
    };
    let mut found: Vec<&str> = asked.view.nameable(asked.file, Kind::Message).into_iter().filter_map(text).collect();
    found.sort_unstable();
    found.dedup();
    found.into_iter().map(|text| Draft::of_text(CompletionKind::Word, text).detail("message")).collect()
}

/// The headings of the sheet that is named beside the columns.
fn columns(asked: &Asked<'_>) -> Vec<Draft> {
    use guywire_plan::language::{Kind, radios};
    let fleets = asked.view.tables_in(asked.file, Kind::Fleet);
    let sheet = fleets.into_iter().find_map(|id| match slot(&asked.db().entity(id)?.record, radios::from.number())? {
        Stored::File(sheet) => Some(*sheet),
        _ => None,
    });
    let Some(sheet) = sheet else { return Vec::new() };
    let headings = asked.view.sheet_columns(sheet).iter().filter(|heading| !heading.is_empty());
    headings
        .map(|heading| Draft::of_text(CompletionKind::Word, heading.to_string()).detail("column of the sheet"))
        .collect()
}

/// The value that an option of a rule has where nothing is said.
fn rule_option(asked: &Asked<'_>) -> Vec<Draft> {
    let (Some(about), Some(Step::Key(name))) = (known::rule_around(asked), asked.cursor.steps.last()) else {
        return Vec::new();
    };
    let option = about.options.iter().find(|option| option.name == name);
    let draft = |option: &guywire_rules::OptionSpec| {
        Draft::of_raw(CompletionKind::Number, option.default.to_string())
            .detail("also when nothing is said")
            .doc(option.doc)
    };
    option.map(draft).into_iter().collect()
}
