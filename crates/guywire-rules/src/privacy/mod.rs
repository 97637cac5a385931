//! Keys and what they protect.

pub mod anyone_may_stun;
pub mod code_in_clear;
pub mod key_algorithm_differs;
pub mod key_id_clash;
pub mod key_id_range;
pub mod key_in_clear;
pub mod key_missing_in_radio;
pub mod key_past_rotation;
pub mod key_reused;
pub mod key_weak;
pub mod listen_in_open;
pub mod lost_radio_holds_key;
pub mod personal_data_in_notes;
pub mod privacy_differs_in_talkgroup;
pub mod privacy_not_permitted;
pub mod privacy_not_supported;
pub mod privacy_on_emergency;
pub mod rollover_split;
pub mod scramble_is_not_privacy;
pub(crate) mod split;
pub mod stun_without_way_back;

use guywire_plan::language::{Field, key, profile, radio};
use guywire_plan::{EntityId, FieldPath, KeyShape, Known, Pattern, Ref, Row, Shape, Stored, View};
use guywire_radio::key::KeyAlgorithm;

use crate::finding::{Edit, Fix, Safety, toml_string};

/// The algorithm of a key, where it is written.
pub(crate) fn algorithm(view: View<'_>, it: Ref<'_, key::Table>) -> Option<KeyAlgorithm> {
    KeyAlgorithm::named(view.symbol(it.text(key::algorithm).value()?))
}

/// Why key material that is written in the plan is easy to guess or cannot be loaded, in the middle of a sentence. None
/// where nothing is found, and where what is written is no material.
pub(crate) fn weakness(view: View<'_>, it: Ref<'_, key::Table>) -> Option<String> {
    let Known::Is(Stored::Hash(_, Shape::Digits(KeyShape { digits, pattern }))) = it.known(key::value) else {
        return None;
    };
    match pattern {
        Some(Pattern::OneDigit) => return Some("it is one digit repeated".to_owned()),
        Some(Pattern::Repeated) => return Some("it is a short pattern repeated".to_owned()),
        Some(Pattern::Counting) => return Some("its digits count up or down".to_owned()),
        Some(Pattern::Stepped) => return Some("its bytes step evenly, as published examples do".to_owned()),
        None => {}
    }
    let needed = algorithm(view, it)?.hex_digits()?;
    let wrong = usize::from(*digits) != needed;
    wrong.then(|| format!("it has {digits} hexadecimal digits where its algorithm needs {needed}"))
}

/// Puts a note of where the material is kept in the place of the material.
pub(crate) fn take_out(it: Ref<'_, key::Table>) -> Fix {
    let path = FieldPath::key(key::value.number());
    let edits = if it.has(key::held_in) {
        vec![Edit::Remove(it.id(), path)]
    } else {
        let place = format!("vault:{}", it.name().unwrap_or("where-it-is-kept"));
        vec![Edit::SetKey(it.id(), path, "held_in".to_owned()), Edit::Set(it.id(), path, toml_string(&place))]
    };
    Fix {
        title: "Take the material out of the plan (then change the key: the history keeps it)".to_owned(),
        safety: Safety::Choice,
        edits,
    }
}

/// What a class of radios, or a radio that says something of its own about it, does when it is told over the air.
pub(crate) struct Obeys<'v> {
    /// The commands that it carries out.
    pub commands: Vec<&'v str>,
    /// A command must prove where it comes from.
    pub authenticated: bool,
    /// The commands are written here, not in the profile.
    pub own: bool,
    /// Where it is written.
    pub at: FieldPath,
}

/// What a profile or radio obeys; none where something of it is not known, and where a radio only has its profile's.
pub(crate) fn obeys(view: View<'_>, it: EntityId) -> Option<Obeys<'_>> {
    if let Some(profile) = view.get::<profile::Table>(it) {
        let commands = words(view, &profile, profile::obeys)?;
        let authenticated = truth(&profile, profile::authenticated)?.unwrap_or(false);
        return Some(Obeys { commands, authenticated, own: true, at: FieldPath::key(profile::obeys.number()) });
    }
    let radio = view.get::<radio::Table>(it)?;
    let own = radio.has(radio::obeys);
    if !own && !radio.has(radio::authenticated) {
        return None;
    }
    let class = match view.named::<profile::Table, _>(radio, radio::profile) {
        Known::Is(profile) => Some(profile),
        Known::Absent => None,
        Known::Unreadable => return None,
    };
    let commands = match &class {
        Some(profile) if !own => words(view, profile, profile::obeys)?,
        _ => words(view, &radio, radio::obeys)?,
    };
    let authenticated = match (truth(&radio, radio::authenticated)?, &class) {
        (Some(own), _) => own,
        (None, Some(profile)) => truth(profile, profile::authenticated)?.unwrap_or(false),
        (None, None) => false,
    };
    let written = if own { radio::obeys } else { radio::authenticated };
    Some(Obeys { commands, authenticated, own, at: FieldPath::key(written.number()) })
}

/// The words of a list; none where one cannot be read.
fn words<'v, T: guywire_plan::language::Tabled>(
    view: View<'v>,
    row: &impl Row<T>,
    field: Field<T>,
) -> Option<Vec<&'v str>> {
    match row.list(field) {
        Known::Is(elements) => elements
            .iter()
            .map(|element| match element.value {
                Stored::Text(word) => Some(view.symbol(word)),
                _ => None,
            })
            .collect(),
        Known::Absent => Some(Vec::new()),
        Known::Unreadable => None,
    }
}

/// A truth that may be absent; none where it cannot be read.
fn truth<T: guywire_plan::language::Tabled>(row: &impl Row<T>, field: Field<T>) -> Option<Option<bool>> {
    match row.truth(field) {
        Known::Is(truth) => Some(Some(truth)),
        Known::Absent => Some(None),
        Known::Unreadable => None,
    }
}
