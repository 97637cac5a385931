//! Squelch tones and codes.

#[cfg(test)]
mod tests;
pub mod tone_missing_for_repeater;

use guywire_radio::Tone;

/// Tones as they are shown.
pub(crate) fn shown(tones: &[Tone]) -> String {
    let mut tones = tones.to_vec();
    tones.sort_unstable();
    tones.dedup();
    tones.iter().map(Tone::to_string).collect::<Vec<_>>().join(" or ")
}
