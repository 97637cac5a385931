//! Other spellings of a value that its key can take: a number written as text, a unit after a number, a tone without its
//! kind. Only what is written is looked at, and only for fixes.

use guywire_plan::language::{Kind, Type};
use guywire_radio::{FrequencyError, Hertz, Tone, ToneError};
use guywire_text::Datetime;

use crate::finding::{Safety, toml_string};
use crate::nearest;

/// A value as TOML, and whether it is the only thing that can have been meant.
pub(super) type Spelling = (Safety, String);

/// What a value is respelled by, beside its text.
pub(super) struct Wanted<'w> {
    /// What its key takes.
    pub form: Type,
    /// The unit that the key's name carries.
    pub unit: Option<&'static str>,
    /// Whether a table of one of these kinds has a name.
    pub is_name: &'w dyn Fn(&[Kind], &str) -> bool,
}

/// The spellings of `written` that the key can take; empty where nothing is near. `written` is TOML.
pub(super) fn respell(wanted: &Wanted<'_>, written: &str) -> Vec<Spelling> {
    let written = written.trim();
    let text = content(written);
    let safe = |spelling: Option<String>| spelling.map(|it| (Safety::Safe, it)).into_iter().collect();
    match wanted.form {
        Type::Whole(low, high) => safe(text.and_then(|text| whole(without_unit(text, wanted.unit), low, high))),
        Type::Number(low, high) => {
            let reads = |text: &str| text.parse::<f64>().is_ok_and(|number| (low..=high).contains(&number));
            safe(text.and_then(|text| pointed(without_unit(text, wanted.unit), &reads)))
        }
        Type::Megahertz => safe(text.and_then(|text| frequency(text, wanted.unit, Hertz::from_mhz_text))),
        Type::Kilohertz => safe(text.and_then(|text| frequency(text, wanted.unit, Hertz::from_khz_text))),
        Type::Truth => safe(text.map(str::to_ascii_lowercase).filter(|text| matches!(&**text, "true" | "false"))),
        Type::Date => safe(text.filter(|text| is_date(text)).map(str::to_owned)),
        Type::Word(words) => text.map_or_else(Vec::new, |text| word(text, words)),
        Type::Tone => text.map_or_else(Vec::new, tone),
        Type::ToneOr(words) => {
            let folded = |text| word(text, words).into_iter().filter(|(safety, _)| *safety == Safety::Safe);
            let found: Vec<Spelling> = text.into_iter().flat_map(folded).collect();
            if found.is_empty() { text.map_or_else(Vec::new, tone) } else { found }
        }
        Type::Name | Type::Prose | Type::Text => safe(bare_scalar(written).map(toml_string)),
        Type::Refer(kinds, _) => {
            let name = bare_scalar(written).filter(|name| (wanted.is_name)(kinds, name));
            safe(name.map(toml_string))
        }
        Type::List(item) => list(wanted, *item, written),
        Type::OneOrMore(item) => respell(&Wanted { form: *item, ..*wanted }, written),
        Type::Parts(_) => safe(tables(written)),
        Type::Either(first, second) => {
            let found = respell(&Wanted { form: *first, ..*wanted }, written);
            if found.is_empty() { respell(&Wanted { form: *second, ..*wanted }, written) } else { found }
        }
        Type::Path(..) | Type::SheetPath | Type::Designator | Type::Part(_) | Type::Anything => Vec::new(),
    }
}

/// One value where a list should be.
fn list(wanted: &Wanted<'_>, item: Type, written: &str) -> Vec<Spelling> {
    if reads_as(item, written) {
        return vec![(Safety::Safe, format!("[{written}]"))];
    }
    let inside = respell(&Wanted { form: item, ..*wanted }, written);
    inside.into_iter().map(|(safety, text)| (safety, format!("[{text}]"))).collect()
}

fn reads_as(form: Type, written: &str) -> bool {
    let quoted = written.starts_with(['"', '\'']);
    match form {
        Type::Name | Type::Prose | Type::Text | Type::Refer(..) | Type::Path(..) | Type::Designator => quoted,
        Type::Word(words) => quoted && content(written).is_some_and(|text| words.contains(&text)),
        Type::Tone => quoted && content(written).is_some_and(|text| text.parse::<Tone>().is_ok()),
        Type::Whole(low, high) => written.parse::<i64>().is_ok_and(|number| (low..=high).contains(&number)),
        Type::Megahertz => Hertz::from_mhz_text(written).is_ok(),
        Type::Kilohertz => Hertz::from_khz_text(written).is_ok(),
        _ => false,
    }
}

/// A table written once where any number may stand.
fn tables(written: &str) -> Option<String> {
    let inline = written.starts_with('{');
    let header = written.starts_with('[') && !written.starts_with("[[") && !written.contains('\n');
    (inline || header).then(|| format!("[{written}]"))
}

/// What is between the quotes of a string, where nothing in it is escaped; a value without quotes as it is.
fn content(written: &str) -> Option<&str> {
    let Some(quote) = written.chars().next().filter(|letter| matches!(letter, '"' | '\'')) else {
        return (!written.starts_with(['[', '{'])).then_some(written);
    };
    let inside = written.strip_prefix(quote)?.strip_suffix(quote)?;
    let plain = !inside.contains([quote, '\\', '\n', '\r']);
    plain.then(|| inside.trim())
}

/// A number, truth or date without quotes, as text that people would write.
fn bare_scalar(written: &str) -> Option<&str> {
    let plain = written.chars().all(|letter| letter.is_ascii_alphanumeric() || matches!(letter, '.' | '-' | ':'));
    (plain && !written.is_empty() && !written.starts_with("0x")).then_some(written)
}

/// The text without the key's own unit after it.
fn without_unit<'t>(text: &'t str, unit: Option<&str>) -> &'t str {
    let Some(unit) = unit else { return text };
    let Some(at) = text.len().checked_sub(unit.len()).filter(|at| text.is_char_boundary(*at)) else { return text };
    if text[at..].eq_ignore_ascii_case(unit) { text[..at].trim_end() } else { text }
}

fn whole(text: &str, low: i64, high: i64) -> Option<String> {
    let digits = match text.split_once('.') {
        Some((digits, fraction)) if !fraction.is_empty() && fraction.bytes().all(|digit| digit == b'0') => digits,
        Some(_) => return None,
        None => text,
    };
    let number = digits.parse::<i64>().ok()?;
    (low..=high).contains(&number).then(|| number.to_string())
}

/// A decimal number in TOML's form, where `reads` takes it. A comma counts as the point unless it can stand between
/// thousands.
fn pointed(text: &str, reads: &dyn Fn(&str) -> bool) -> Option<String> {
    let is_toml = |text: &str| {
        let size = text.strip_prefix(['-', '+']).unwrap_or(text);
        let (whole, fraction) = size.split_once('.').unwrap_or((size, "0"));
        let digits = |part: &str| !part.is_empty() && part.bytes().all(|digit| digit.is_ascii_digit());
        digits(whole) && digits(fraction) && (whole.len() == 1 || !whole.starts_with('0'))
    };
    let good = |text: &String| is_toml(text) && reads(text);
    let Some((whole, fraction)) = text.split_once(',') else { return Some(text.to_owned()).filter(good) };
    let with_point = format!("{whole}.{fraction}");
    let as_thousands = format!("{whole}{fraction}");
    if fraction.len() == 3 && good(&as_thousands) {
        return None;
    }
    Some(with_point).filter(good)
}

fn frequency(text: &str, unit: Option<&str>, read: fn(&str) -> Result<Hertz, FrequencyError>) -> Option<String> {
    let text = without_unit(text, unit);
    match read(text) {
        Err(FrequencyError::OtherUnit { suggestion, .. }) => Some(suggestion),
        _ => pointed(text, &|text| read(text).is_ok()),
    }
}

fn is_date(text: &str) -> bool {
    text.parse::<Datetime>().is_ok_and(|when| when.date.is_some() && when.time.is_none())
}

/// A word in another letter case or with other marks between its parts; else the nearest, for a person to decide.
fn word(text: &str, words: &[&str]) -> Vec<Spelling> {
    let folded = |text: &str| text.to_lowercase().replace([' ', '_'], "-");
    let alike: Vec<&&str> = words.iter().filter(|word| folded(word) == folded(text)).collect();
    if let [only] = alike.as_slice() {
        return vec![(Safety::Safe, toml_string(only))];
    }
    nearest(text, words.iter().copied()).map(|meant| (Safety::Choice, toml_string(meant))).into_iter().collect()
}

fn tone(text: &str) -> Vec<Spelling> {
    let pointed = text.replacen(',', ".", 1);
    let text = without_unit(&pointed, Some("Hz"));
    let one = |safety, suggestion: String| vec![(safety, toml_string(&suggestion))];
    match text.parse::<Tone>() {
        Ok(tone) => one(Safety::Safe, tone.to_string()),
        Err(
            ToneError::MissingKind { suggestion }
            | ToneError::MissingPoint { suggestion }
            | ToneError::CodeShort { suggestion },
        ) => one(Safety::Safe, suggestion),
        Err(ToneError::TooFine { suggestion }) => one(Safety::Choice, suggestion),
        Err(ToneError::MissingPolarity { normal, inverted }) => {
            [normal, inverted].into_iter().map(|it| (Safety::Choice, toml_string(&it))).collect()
        }
        Err(_) => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: &[&str] = &["digital", "analog", "off-air-call-setup"];

    fn safe(form: Type, unit: Option<&'static str>, written: &str) -> Option<String> {
        let is_name = |_: &[Kind], name: &str| name == "12";
        let found = respell(&Wanted { form, unit, is_name: &is_name }, written);
        found.into_iter().find(|(safety, _)| *safety == Safety::Safe).map(|(_, text)| text)
    }

    fn choices(form: Type, written: &str) -> Vec<String> {
        let found = respell(&Wanted { form, unit: None, is_name: &|_, _| false }, written);
        found.into_iter().filter(|(safety, _)| *safety == Safety::Choice).map(|(_, text)| text).collect()
    }

    #[test]
    fn numbers_as_text_lose_their_quotes() {
        for (form, unit, written, wanted) in [
            (Type::Whole(0, 15), None, "\"5\"", Some("5")),
            (Type::Whole(0, 15), None, "' 5 '", Some("5")),
            (Type::Whole(1, 2), None, "1.0", Some("1")),
            (Type::Whole(0, 15), None, "\"16\"", None),
            (Type::Whole(0, 15), None, "\"five\"", None),
            (Type::Whole(0, 3600), Some("s"), "\"60 s\"", Some("60")),
            (Type::Number(0.0, 5000.0), Some("W"), "\"4,5 W\"", Some("4.5")),
            (Type::Number(0.0, 5000.0), Some("W"), "\"1,500\"", None),
            (Type::Number(0.0, 100.0), Some("W"), "\"1,500\"", Some("1.500")),
            (Type::Number(0.0, 100.0), None, "\".5\"", None),
            (Type::Megahertz, Some("MHz"), "\"453.2125\"", Some("453.2125")),
            (Type::Megahertz, Some("MHz"), "\"453,2125 MHz\"", Some("453.2125")),
            (Type::Megahertz, Some("MHz"), "\"453,212\"", Some("453.212")),
            (Type::Megahertz, Some("MHz"), "453212.5", Some("453.2125")),
            (Type::Kilohertz, Some("kHz"), "12500", Some("12.5")),
            (Type::Kilohertz, Some("kHz"), "\"12.5khz\"", Some("12.5")),
            (Type::Truth, None, "\"True\"", Some("true")),
            (Type::Date, None, "\"2031-04-30\"", Some("2031-04-30")),
            (Type::Date, None, "\"2031-04-31\"", None),
            (Type::Date, None, "\"30.04.2031\"", None),
        ] {
            assert_eq!(safe(form, unit, written).as_deref(), wanted, "{written}");
        }
    }

    #[test]
    fn text_that_lacks_its_quotes_gets_them() {
        assert_eq!(safe(Type::Text, None, "1.10").as_deref(), Some("\"1.10\""));
        assert_eq!(safe(Type::Name, None, "7").as_deref(), Some("\"7\""));
        assert_eq!(safe(Type::Text, None, "0x1F"), None);
        assert_eq!(safe(Type::Text, None, "1_000"), None);
        assert_eq!(safe(Type::Text, None, "[1]"), None);
        assert_eq!(safe(Type::Refer(&[Kind::Talkgroup], &[]), None, "12").as_deref(), Some("\"12\""));
        assert_eq!(safe(Type::Refer(&[Kind::Talkgroup], &[]), None, "1201"), None);
    }

    #[test]
    fn words_are_known_in_any_case() {
        assert_eq!(safe(Type::Word(WORDS), None, "\"Digital\"").as_deref(), Some("\"digital\""));
        assert_eq!(safe(Type::Word(WORDS), None, "\"Off_Air call setup\"").as_deref(), Some("\"off-air-call-setup\""));
        assert_eq!(safe(Type::Word(WORDS), None, "\"digitl\""), None);
        assert_eq!(choices(Type::Word(WORDS), "\"digitl\""), ["\"digital\""]);
        assert!(choices(Type::Word(WORDS), "\"both\"").is_empty());
    }

    #[test]
    fn tones_get_their_kind() {
        for written in ["127.3", "\"127.3\"", "\"CTCSS 127,3\"", "\"127.3 Hz\"", "\"CTCSS 1273\""] {
            assert_eq!(safe(Type::Tone, None, written).as_deref(), Some("\"CTCSS 127.3\""), "{written}");
        }
        assert_eq!(safe(Type::Tone, None, "\"023N\"").as_deref(), Some("\"DCS 023N\""));
        assert_eq!(safe(Type::Tone, None, "\"DCS 23N\"").as_deref(), Some("\"DCS 023N\""));
        assert_eq!(safe(Type::ToneOr(&["none"]), None, "\"None\"").as_deref(), Some("\"none\""));
        assert_eq!(safe(Type::Tone, None, "\"DCS 023\""), None);
        assert_eq!(choices(Type::Tone, "\"DCS 023\""), ["\"DCS 023N\"", "\"DCS 023I\""]);
        assert_eq!(safe(Type::Tone, None, "\"buzz\""), None);
    }

    #[test]
    fn one_value_becomes_a_list_of_one() {
        const NAMES: Type = Type::Refer(&[Kind::Channel], &[]);
        assert_eq!(safe(Type::List(&NAMES), None, "\"Berths\"").as_deref(), Some("[\"Berths\"]"));
        assert_eq!(safe(Type::List(&Type::Kilohertz), None, "12.5").as_deref(), Some("[12.5]"));
        assert_eq!(safe(Type::List(&Type::Tone), None, "\"127.3\"").as_deref(), Some("[\"CTCSS 127.3\"]"));
        assert_eq!(
            safe(Type::Parts(&guywire_plan::language::MODEL_BAND), None, "[model.band]").as_deref(),
            Some("[[model.band]]")
        );
    }
}
