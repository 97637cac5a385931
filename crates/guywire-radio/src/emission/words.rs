//! Emission designators in words.

use super::{Emission, Kind};
use crate::source::Source;

/// Modulation of the main carrier.
pub const MODULATION_SOURCE: Source = Source::confirmed("47 CFR 2.201(c)");
/// Nature of the signal and type of information.
pub const SIGNAL_SOURCE: Source = Source::memory("47 CFR 2.201(d), (e)");

impl Kind {
    /// The three symbols in words: `frequency modulation, one analog channel, telephony`.
    pub fn in_words(self) -> String {
        format!("{}, {}, {}", modulation(self.modulation), signal(self.signal), information(self.information))
    }
}

impl Emission {
    /// The designator in words, bandwidth first: `11.2 kHz, frequency modulation, one analog channel, telephony`.
    pub fn in_words(self) -> String {
        let millihertz = self.bandwidth_millihertz();
        let units = [("GHz", 1_000_000_000_000), ("MHz", 1_000_000_000), ("kHz", 1_000_000)];
        let (unit, scale) = units.into_iter().find(|(_, scale)| millihertz >= *scale).unwrap_or(("Hz", 1_000));
        let width = format!("{} {unit}", millihertz as f64 / scale as f64);
        format!("{width}, {}", self.kind().in_words())
    }
}

const fn modulation(symbol: char) -> &'static str {
    match symbol {
        'N' => "unmodulated carrier",
        'A' => "double-sideband amplitude modulation",
        'H' => "single sideband with full carrier",
        'R' => "single sideband with reduced carrier",
        'J' => "single sideband with suppressed carrier",
        'B' => "independent sidebands",
        'C' => "vestigial sideband",
        'F' => "frequency modulation",
        'G' => "phase modulation",
        'D' => "amplitude and angle modulation",
        'P' => "unmodulated pulses",
        'K' => "pulses modulated in amplitude",
        'L' => "pulses modulated in width",
        'M' => "pulses modulated in position",
        'Q' => "pulses with angle modulation",
        'V' => "other pulses",
        'W' => "a combination of modulations",
        _ => "another modulation",
    }
}

const fn signal(symbol: char) -> &'static str {
    match symbol {
        '0' => "no modulating signal",
        '1' => "one digital channel without subcarrier",
        '2' => "one digital channel with subcarrier",
        '3' => "one analog channel",
        '7' => "two or more digital channels",
        '8' => "two or more analog channels",
        '9' => "digital and analog channels",
        _ => "another kind of signal",
    }
}

const fn information(symbol: char) -> &'static str {
    match symbol {
        'N' => "no information",
        'A' => "telegraphy by ear",
        'B' => "automatic telegraphy",
        'C' => "facsimile",
        'D' => "data",
        'E' => "telephony",
        'F' => "television",
        'W' => "a combination of these",
        _ => "other information",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn designators_in_words() {
        // The readings of 16K0F3E and 6K00A3E are those of 47 CFR 2.201; those of 4FSK are from memory.
        let words = |text: &str| text.parse::<Emission>().map(Emission::in_words).unwrap_or_default();
        assert_eq!(words("16K0F3E"), "16 kHz, frequency modulation, one analog channel, telephony");
        assert_eq!(words("6K00A3E"), "6 kHz, double-sideband amplitude modulation, one analog channel, telephony");
        assert_eq!(words("7K60FXE"), "7.6 kHz, frequency modulation, another kind of signal, telephony");
        assert_eq!(
            words("7K60F7W"),
            "7.6 kHz, frequency modulation, two or more digital channels, a combination of these"
        );
        assert_eq!(words("H100N0N"), "0.1 Hz, unmodulated carrier, no modulating signal, no information");
        assert_eq!(
            words("1M25F9W"),
            "1.25 MHz, frequency modulation, digital and analog channels, a combination of these"
        );
    }
}
