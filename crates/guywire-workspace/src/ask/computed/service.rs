//! What is computed of a radio service: its conditions in words, each with its source.

use guywire_radio::Caution;
use guywire_radio::regime::{Cited, Licensing, PrivacyRule};

use super::super::figures::{cited, counted, listed};
use super::super::page::Page;
use super::Ask;

/// Kinds of emission that are shown.
const EMISSIONS: usize = 16;

pub(super) fn say_service(ask: &Ask<'_>, page: &mut Page) {
    let Some(service) = ask.service() else { return };
    let terms = service.terms();
    let (bands, channels) = (terms.bands.len(), terms.channels.len());
    page.fact(format!(
        "{}: {} and {} ({})",
        terms.title,
        counted(bands, "band"),
        counted(channels, "channel"),
        cited(&terms.coverage)
    ));
    let shared = if terms.shared { ", on frequencies that are shared" } else { "" };
    page.fact(format!("{}{shared}", licensing(terms.licensing)));
    if let Some(Cited { value, source }) = &terms.identification {
        let clear = if value.in_clear { ", in clear analog speech or Morse code" } else { "" };
        page.fact(format!(
            "a station says who it is at least every {} min{clear} ({})",
            value.every_min,
            cited(source)
        ));
    }
    let privacy = match terms.privacy.value {
        PrivacyRule::IdentifyInClear => "speech may be made unintelligible, the identification not",
        PrivacyRule::Barred => "speech may not be made unintelligible",
        PrivacyRule::Unstated => "nothing is said here about privacy",
    };
    page.fact(format!("{privacy} ({})", cited(&terms.privacy.source)));
    let repeaters = if terms.repeaters.value { "repeaters are part of it" } else { "no repeaters" };
    page.fact(format!("{repeaters} ({})", cited(&terms.repeaters.source)));
    if let Some(Cited { value, source }) = &terms.emissions {
        let kinds: Vec<String> = value.iter().map(ToString::to_string).collect();
        page.fact(format!("only these emissions: {} ({})", listed(&kinds, EMISSIONS), cited(source)));
    }
    if let Some(Cited { value, source }) = &terms.longest_transmission_s {
        page.fact(format!("no transmission over {value} s ({})", cited(source)));
    }
    page.caution(Caution::License);
}

fn licensing(licensing: Licensing) -> &'static str {
    match licensing {
        Licensing::Assigned => "by a license that names frequencies, powers and emissions",
        Licensing::Personal => "by a personal license for the whole service",
        Licensing::Amateur => "by a license that needs an examination",
        Licensing::Ship => "by a ship or coast station license",
        Licensing::ByRule => "without a license while the rules are kept",
    }
}
