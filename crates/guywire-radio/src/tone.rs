//! A squelch tone or code as a plan writes it: `CTCSS 100.0`, `DCS 023N`, `DCS 023I`.

use std::fmt;
use std::str::FromStr;

use crate::ctcss::Ctcss;
use crate::dcs::Dcs;
use crate::decimal;

/// What an analog transmission carries under the voice to open a receiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tone {
    /// A continuous tone.
    Ctcss(Ctcss),
    /// A digital code.
    Dcs(Dcs),
}

/// Why two settings on one frequency do not keep two users apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Confusion {
    /// The very same setting.
    Same,
    /// Tones too close for a decoder to tell apart.
    CloseTones,
    /// Different codes or polarities, one stream on the air.
    SameStream,
}

/// Why a tone was refused. Where there is one right spelling, `suggestion` has it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ToneError {
    /// Neither a tone nor a code.
    #[error("not a tone; write `CTCSS 100.0`, `DCS 023N` or `DCS 023I`")]
    UnknownForm,
    /// A number or code that does not say its kind.
    #[error("says not whether it is CTCSS or DCS; write `{suggestion}`")]
    MissingKind {
        /// The full spelling.
        suggestion: String,
    },
    /// `CTCSS` without a number.
    #[error("`CTCSS` needs a tone in hertz, such as `CTCSS 100.0`")]
    NotATone,
    /// A tone ten times too high.
    #[error("the decimal point is missing; write `{suggestion}`")]
    MissingPoint {
        /// The tone with its point.
        suggestion: String,
    },
    /// More than one decimal.
    #[error("tones have one decimal; the nearest is `{suggestion}`")]
    TooFine {
        /// The tone rounded to a tenth.
        suggestion: String,
    },
    /// Outside 50.0 to 300.0 Hz.
    #[error("a CTCSS tone lies between 50.0 and 300.0 Hz; check the digits")]
    OutOfRange,
    /// Not three octal digits.
    #[error("a DCS code has three digits from 0 to 7, such as `DCS 023N`")]
    CodeDigits,
    /// Fewer than three digits.
    #[error("a DCS code has three digits; write `{suggestion}`")]
    CodeShort {
        /// The code filled up with zeros.
        suggestion: String,
    },
    /// No `N` or `I`.
    #[error("a DCS code needs its polarity; write `{normal}` or `{inverted}`")]
    MissingPolarity {
        /// The code sent as it is.
        normal: String,
        /// The code sent complemented.
        inverted: String,
    },
}

impl Tone {
    /// Whether two settings on one frequency fail to keep two users apart, and why.
    pub fn confusion(self, other: Tone) -> Option<Confusion> {
        if self == other {
            return Some(Confusion::Same);
        }
        match (self, other) {
            (Tone::Ctcss(a), Tone::Ctcss(b)) => a.confusable(b).then_some(Confusion::CloseTones),
            (Tone::Dcs(a), Tone::Dcs(b)) => a.opens(b).then_some(Confusion::SameStream),
            _ => None,
        }
    }

    /// Whether a receiver set to `receiver` opens to this: the same tone, or the same stream of code.
    pub fn opens(self, receiver: Tone) -> bool {
        matches!(self.confusion(receiver), Some(Confusion::Same | Confusion::SameStream))
    }
}

impl fmt::Display for Tone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Tone::Ctcss(tone) => write!(f, "CTCSS {tone}"),
            Tone::Dcs(code) => write!(f, "DCS {code}"),
        }
    }
}

impl FromStr for Tone {
    type Err = ToneError;

    /// Reads `CTCSS` and a number with at most one decimal, or `DCS`, three octal digits and `N` or `I`; upper or lower
    /// case, one or more spaces.
    fn from_str(text: &str) -> Result<Tone, ToneError> {
        let text = text.trim().to_ascii_uppercase();
        if let Some(rest) = text.strip_prefix("CTCSS") {
            return parse_ctcss(rest.trim()).map(Tone::Ctcss);
        }
        if let Some(rest) = text.strip_prefix("DCS") {
            return parse_dcs(rest.trim()).map(Tone::Dcs);
        }
        if let Ok(tone) = parse_ctcss(&text)
            && (text.contains('.') || tone.standard().is_some())
        {
            return Err(ToneError::MissingKind { suggestion: Tone::Ctcss(tone).to_string() });
        }
        if let Ok(code) = parse_dcs(text.strip_prefix('D').unwrap_or(&text)) {
            return Err(ToneError::MissingKind { suggestion: Tone::Dcs(code).to_string() });
        }
        Err(ToneError::UnknownForm)
    }
}

fn parse_ctcss(text: &str) -> Result<Ctcss, ToneError> {
    let is_number = text.bytes().all(|it| it.is_ascii_digit() || it == b'.');
    let scaled = decimal::scale(text, 1).ok().filter(|_| is_number).ok_or(ToneError::NotATone)?;
    let tone = Ctcss::from_tenths(u32::try_from(scaled.whole).map_err(|_| ToneError::OutOfRange)?)?;
    if !scaled.exact {
        return Err(ToneError::TooFine { suggestion: Tone::Ctcss(tone).to_string() });
    }
    Ok(tone)
}

fn parse_dcs(text: &str) -> Result<Dcs, ToneError> {
    let digits = text.trim_end_matches(['N', 'I']);
    let polarity = &text[digits.len()..];
    let octal = !digits.is_empty() && digits.len() <= 3 && digits.bytes().all(|it| (b'0'..=b'7').contains(&it));
    if !octal {
        return Err(ToneError::CodeDigits);
    }
    let code = u16::from_str_radix(digits, 8).map_err(|_| ToneError::CodeDigits)?;
    let read = |inverted: bool| Dcs::new(code, inverted);
    let inverted = match polarity {
        "N" => false,
        "I" => true,
        _ => {
            let spell = |inverted| read(inverted).map(|it| Tone::Dcs(it).to_string());
            return Err(ToneError::MissingPolarity { normal: spell(false)?, inverted: spell(true)? });
        }
    };
    if digits.len() < 3 {
        return Err(ToneError::CodeShort { suggestion: Tone::Dcs(read(inverted)?).to_string() });
    }
    read(inverted)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn parse(text: &str) -> Result<String, String> {
        text.parse::<Tone>().map(|it| it.to_string()).map_err(|it| it.to_string())
    }

    #[test]
    fn spellings() {
        for (text, shown) in [
            ("CTCSS 100.0", "CTCSS 100.0"),
            ("ctcss 100", "CTCSS 100.0"),
            ("CTCSS  67.0 ", "CTCSS 67.0"),
            ("CTCSS 254.10", "CTCSS 254.1"),
            ("DCS 023N", "DCS 023N"),
            ("dcs 754i", "DCS 754I"),
            ("DCS 000N", "DCS 000N"),
        ] {
            assert_eq!(parse(text).as_deref(), Ok(shown));
        }
    }

    #[test]
    fn refusals_say_what_to_write() {
        for (text, message) in [
            ("CTCSS 1000", "the decimal point is missing; write `CTCSS 100.0`"),
            ("CTCSS 1001", "a CTCSS tone lies between 50.0 and 300.0 Hz; check the digits"),
            ("CTCSS 1000.5", "a CTCSS tone lies between 50.0 and 300.0 Hz; check the digits"),
            ("CTCSS 100.04", "tones have one decimal; the nearest is `CTCSS 100.0`"),
            ("CTCSS", "`CTCSS` needs a tone in hertz, such as `CTCSS 100.0`"),
            ("CTCSS 1e2", "`CTCSS` needs a tone in hertz, such as `CTCSS 100.0`"),
            ("100.0", "says not whether it is CTCSS or DCS; write `CTCSS 100.0`"),
            ("023N", "says not whether it is CTCSS or DCS; write `DCS 023N`"),
            ("D023I", "says not whether it is CTCSS or DCS; write `DCS 023I`"),
            ("DCS 023", "a DCS code needs its polarity; write `DCS 023N` or `DCS 023I`"),
            ("DCS 23N", "a DCS code has three digits; write `DCS 023N`"),
            ("DCS 089N", "a DCS code has three digits from 0 to 7, such as `DCS 023N`"),
            ("DCS 0023N", "a DCS code has three digits from 0 to 7, such as `DCS 023N`"),
            ("DCS 023NI", "a DCS code needs its polarity; write `DCS 023N` or `DCS 023I`"),
            ("", "not a tone; write `CTCSS 100.0`, `DCS 023N` or `DCS 023I`"),
            ("loud", "not a tone; write `CTCSS 100.0`, `DCS 023N` or `DCS 023I`"),
        ] {
            assert_eq!(parse(text), Err(message.to_owned()), "{text}");
        }
    }

    #[test]
    fn twins_are_one_on_the_air() {
        // 023 inverted is 047 normal: computed from the TIA-603 word, agreeing with a published conversion chart.
        let tone = |text: &str| text.parse::<Tone>().unwrap();
        assert_eq!(tone("DCS 023I").confusion(tone("DCS 047N")), Some(Confusion::SameStream));
        assert!(tone("DCS 023N").opens(tone("DCS 047I")));
        assert_eq!(tone("DCS 023N").confusion(tone("DCS 047N")), None);
        assert_eq!(tone("CTCSS 203.5").confusion(tone("CTCSS 206.5")), Some(Confusion::CloseTones));
        assert!(!tone("CTCSS 203.5").opens(tone("CTCSS 206.5")));
        assert_eq!(tone("CTCSS 100.0").confusion(tone("CTCSS 100.0")), Some(Confusion::Same));
        assert_eq!(tone("CTCSS 136.5").confusion(tone("DCS 023N")), None);
    }

    proptest! {
        #[test]
        fn display_then_parse(code in 0_u16..512, inverted: bool, tenths in 500_u32..=3000) {
            for tone in [Tone::Dcs(Dcs::new(code, inverted).unwrap()), Tone::Ctcss(Ctcss::from_tenths(tenths).unwrap())] {
                prop_assert_eq!(tone.to_string().parse::<Tone>(), Ok(tone));
            }
        }

        #[test]
        fn never_panics(text in "\\PC{0,12}", kind in "(CTCSS|DCS|D)? ?") {
            let _ = text.parse::<Tone>();
            let _ = format!("{kind}{text}").parse::<Tone>();
        }

        #[test]
        fn confusion_is_symmetric(a in 0_u16..512, b in 0_u16..512, i: bool, j: bool) {
            let (a, b) = (Tone::Dcs(Dcs::new(a, i).unwrap()), Tone::Dcs(Dcs::new(b, j).unwrap()));
            prop_assert_eq!(a.confusion(b), b.confusion(a));
        }
    }
}
