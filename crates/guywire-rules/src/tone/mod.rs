//! Squelch tones and codes.

pub mod lockout_against_own_repeater;
pub mod open_to_digital;
#[cfg(test)]
mod tests;
pub mod tone_missing_for_repeater;
pub mod tone_near_mains;
pub mod tone_never_sent;
pub mod tone_not_standard;
pub mod tone_pair_confusable;

use guywire_radio::Tone;
use guywire_radio::dcs::CodeSet;

use tone_missing_for_repeater::missing;
use tone_never_sent::never_sent;

/// Tones as they are shown.
pub(crate) fn shown(tones: &[Tone]) -> String {
    let mut tones = tones.to_vec();
    tones.sort_unstable();
    tones.dedup();
    tones.iter().map(Tone::to_string).collect::<Vec<_>>().join(" or ")
}

/// Whether a tone or code is one of the 50 and 104 in common use.
fn is_listed(tone: Tone) -> bool {
    match tone {
        Tone::Ctcss(tone) => tone.standard().is_some(),
        Tone::Dcs(code) => code.set() != CodeSet::Other,
    }
}
