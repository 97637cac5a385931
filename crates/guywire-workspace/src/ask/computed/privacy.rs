//! What is computed of privacy keys: never of their material, which nothing here can reach.

use guywire_plan::language::{channel, key, profile, radio};
use guywire_plan::{Known, Row};
use guywire_radio::Caution;
use guywire_radio::key::{KEY_SOURCE, KeyAlgorithm};

use super::super::figures::{cited, listed};
use super::super::page::Page;
use super::Ask;
use super::license::days_until;

/// Names of a list that are shown.
const NAMED: usize = 5;
/// More digits are no check value: they might be the material.
const CHECK_DIGITS: usize = 16;

pub(super) fn say_key(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<key::Table>() else { return };
    let algorithm = row.text(key::algorithm).value().map(|word| ask.view.symbol(word)).and_then(KeyAlgorithm::named);
    if let Some(algorithm) = algorithm {
        let digits =
            algorithm.hex_digits().map(|digits| format!(", {digits} hexadecimal digits ({})", cited(&KEY_SOURCE)));
        page.fact(format!("{}{}", algorithm.in_words(), digits.unwrap_or_default()));
        let fixed = algorithm == KeyAlgorithm::FixedScramble;
        page.caution(if fixed { Caution::Scramble } else { Caution::Privacy });
    }
    if let (Known::Is(number), true) = (row.whole(key::id), algorithm.is_none_or(KeyAlgorithm::has_identifier)) {
        page.fact(format!("receivers find it by id {number}"));
    }
    if let Known::Is(check) = row.text(key::check_value).map(|text| ask.view.symbol(text)) {
        let is_short = check.len() <= CHECK_DIGITS && check.bytes().all(|it| it.is_ascii_hexdigit());
        page.fact(if is_short {
            format!("check value {check}: loaders that hold it show the same")
        } else {
            "the check value is too long to be one, so it is not shown".to_owned()
        });
    }
    for (word, field) in [("made", key::created), ("to be replaced by", key::rotate_by)] {
        if let Known::Is(day) = row.date(field) {
            page.maybe(days_until(ask, day).map(|days| format!("{word} {day}, {days}")));
        }
    }
    let channels = ask.names(ask.view.referrers::<channel::Table>(row.id()));
    if !channels.is_empty() {
        page.fact(format!("used on {}", listed(&channels, NAMED)));
    }
    let profiles = ask.names(ask.view.referrers::<profile::Table>(row.id()));
    let radios = ask.names(ask.view.referrers::<radio::Table>(row.id()));
    let holders: Vec<String> = profiles.iter().map(|it| format!("profile {it}")).chain(radios).collect();
    page.fact(match holders.as_slice() {
        [] => "loaded into no radio".to_owned(),
        _ => format!("loaded into {}", listed(&holders, NAMED)),
    });
}
