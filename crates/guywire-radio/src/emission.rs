//! Emission designators, such as `11K2F3E`, and necessary bandwidth.
//!
//! Layout and rounding: 47 CFR 2.201 and 2.202, ITU Radio Regulations Appendix 1.

use std::fmt;
use std::str::FromStr;

use crate::frequency::{Band, Hertz};
use crate::source::Source;

mod words;
pub use words::{MODULATION_SOURCE, SIGNAL_SOURCE};

/// Layout, ranges and rounding of the bandwidth part.
pub const DESIGNATOR_SOURCE: Source = Source::confirmed("47 CFR 2.201, 2.202");
/// Bn = 2M + 2DK.
pub const NECESSARY_BANDWIDTH_SOURCE: Source = Source::memory("47 CFR 2.202(g), ITU-R SM.1138");

const FIRST: &str = "NAHRJBCFGDPKLMQVWX";
const SECOND: &str = "0123789X";
const THIRD: &str = "NABCDEFWX";

/// A well-formed emission designator. `Display` is the strict text; equality is of the text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Emission {
    /// Thousandths of a hertz, at most three significant digits: the notation reaches down to 0.001 Hz.
    bandwidth_millihertz: i64,
    kind: Kind,
    detail: Option<char>,
    multiplex: Option<char>,
}

/// The three symbols that follow the bandwidth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Kind {
    /// Modulation of the main carrier.
    pub modulation: char,
    /// Nature of the modulating signal.
    pub signal: char,
    /// Type of information.
    pub information: char,
}

/// What an emission carries, as far as the symbols say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EmissionClass {
    /// Telephony on an analog channel, such as `F3E`.
    AnalogVoice,
    /// Telephony on a digital channel, such as `FXE`.
    DigitalVoice,
    /// Data, such as `FXD`.
    DigitalData,
    /// Both, such as `FXW`.
    DigitalVoiceAndData,
    /// Morse or other telegraphy.
    Telegraphy,
    /// A bare carrier.
    Carrier,
    /// Anything else.
    Other,
}

/// Whether a licensed emission covers one that is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cover {
    /// Kind and bandwidth fit.
    Covered,
    /// The kind fits, the bandwidth is over.
    TooWide,
    /// Another kind of emission.
    OtherKind,
}

/// Why a designator was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EmissionError {
    /// Not 7 to 9 characters.
    #[error("an emission designator has four characters of bandwidth and three to five symbols, such as `11K2F3E`")]
    Length,
    /// Right but for case, blanks or a letter O.
    #[error("write `{suggestion}`")]
    Misspelled {
        /// The right spelling.
        suggestion: String,
    },
    /// The first four characters are no bandwidth.
    #[error(
        "the bandwidth needs three digits and one of H, K, M, G at the decimal point, not starting with 0, such as `11K2`"
    )]
    Bandwidth,
    /// A symbol that its place does not have.
    #[error("symbol {place} of the emission cannot be `{found}`; allowed: {allowed}")]
    Symbol {
        /// 1 to 5.
        place: u8,
        /// What stands there.
        found: char,
        /// What may stand there.
        allowed: &'static str,
    },
    /// A number outside the range of the computation.
    #[error("a carrier or bandwidth must be above 0 Hz and below 1000 GHz, a stability from 0 to 1000 ppm")]
    OutOfRange,
}

impl Kind {
    /// The three symbols as text, such as `F3E`.
    ///
    /// # Errors
    /// [`EmissionError::Symbol`], or [`EmissionError::Length`] unless there are three.
    pub fn parse(text: &str) -> Result<Kind, EmissionError> {
        let mut symbols = text.chars();
        let three = (symbols.next(), symbols.next(), symbols.next(), symbols.next());
        let (Some(modulation), Some(signal), Some(information), None) = three else {
            return Err(EmissionError::Length);
        };
        symbol(1, modulation, FIRST)?;
        symbol(2, signal, SECOND)?;
        symbol(3, information, THIRD)?;
        Ok(Kind { modulation, signal, information })
    }

    /// Known to be in order when the program is compiled.
    pub(crate) const fn of(modulation: char, signal: char, information: char) -> Kind {
        Kind { modulation, signal, information }
    }

    /// What the symbols say is carried.
    pub const fn class(self) -> EmissionClass {
        match (self.signal, self.information) {
            ('0', 'N') => EmissionClass::Carrier,
            ('3' | '8', 'E') => EmissionClass::AnalogVoice,
            ('1' | '2' | '7' | '9' | 'X', 'E') => EmissionClass::DigitalVoice,
            ('1' | '2' | '7' | '9' | 'X', 'D') => EmissionClass::DigitalData,
            ('1' | '2' | '7' | '9' | 'X', 'W') => EmissionClass::DigitalVoiceAndData,
            (_, 'A' | 'B') => EmissionClass::Telegraphy,
            _ => EmissionClass::Other,
        }
    }

    /// Whether the two are the same kind: where F is written, G is acceptable too (47 CFR 2.201(c), note).
    pub fn same(self, other: Kind) -> bool {
        let angle = |it: char| if it == 'G' { 'F' } else { it };
        angle(self.modulation) == angle(other.modulation)
            && self.signal == other.signal
            && self.information == other.information
    }

    /// Whether a license for `self` reaches `sent`: the same kind, or another customary spelling of the same directly
    /// modulated digital emission (`FXE`, `F1E`, `F7E`), where `W` includes voice and data.
    fn reaches(self, sent: Kind) -> bool {
        let direct = |it: Kind| matches!(it.modulation, 'F' | 'G') && matches!(it.signal, '1' | '7' | '9' | 'X');
        let includes =
            self.information == sent.information || (self.information == 'W' && matches!(sent.information, 'D' | 'E'));
        self.same(sent) || (direct(self) && direct(sent) && includes)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}{}", self.modulation, self.signal, self.information)
    }
}

impl Emission {
    /// A designator for a `width` of whole hertz: rounded half up to three significant digits, so 11.25 kHz is `11K3`.
    ///
    /// # Errors
    /// [`EmissionError::OutOfRange`] unless the width is above zero and below 1000 GHz once rounded.
    pub fn new(width: Hertz, kind: Kind) -> Result<Emission, EmissionError> {
        let millihertz = width.get().checked_mul(1000).ok_or(EmissionError::OutOfRange)?;
        Ok(Emission { bandwidth_millihertz: rounded(millihertz)?, kind, detail: None, multiplex: None })
    }

    /// Necessary bandwidth in thousandths of a hertz, as the text says it.
    pub const fn bandwidth_millihertz(self) -> i64 {
        self.bandwidth_millihertz
    }

    /// Necessary bandwidth, rounded up to a whole hertz.
    pub const fn bandwidth(self) -> Hertz {
        Hertz((self.bandwidth_millihertz + 999) / 1000)
    }

    /// The three symbols.
    pub const fn kind(self) -> Kind {
        self.kind
    }

    /// What is carried.
    pub const fn class(self) -> EmissionClass {
        self.kind.class()
    }

    /// Whether a license for `self` covers `sent`. 11.0 to 11.3 kHz count as one width: 11.25 kHz is strictly `11K3`,
    /// and licenses write `11K2` or `11K0`.
    pub fn covers(self, sent: Emission) -> Cover {
        if !self.kind.reaches(sent.kind) {
            return Cover::OtherKind;
        }
        let width = |it: Emission| match it.bandwidth_millihertz {
            11_000_000..=11_300_000 => 11_250_000,
            other => other,
        };
        if width(sent) > width(self) { Cover::TooWide } else { Cover::Covered }
    }
}

/// The best that a list of licensed emissions says about one that is sent; `None` for an empty list.
pub fn best_cover(licensed: &[Emission], sent: Emission) -> Option<Cover> {
    let rank = |it: &Cover| match it {
        Cover::Covered => 0,
        Cover::TooWide => 1,
        Cover::OtherKind => 2,
    };
    licensed.iter().map(|it| it.covers(sent)).min_by_key(rank)
}

impl fmt::Display for Emission {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", bandwidth_text(self.bandwidth_millihertz), self.kind)?;
        self.detail.into_iter().chain(self.multiplex).try_for_each(|it| write!(f, "{it}"))
    }
}

impl FromStr for Emission {
    type Err = EmissionError;

    fn from_str(text: &str) -> Result<Emission, EmissionError> {
        let text = text.trim();
        read(text).map_err(|error| match read(&respelled(text)) {
            Ok(meant) => EmissionError::Misspelled { suggestion: meant.to_string() },
            Err(_) => error,
        })
    }
}

fn respelled(text: &str) -> String {
    let dense = text.chars().filter(|it| !it.is_whitespace() && *it != '-').map(|it| it.to_ascii_uppercase());
    dense.enumerate().map(|(at, it)| if it == 'O' && at < 4 { '0' } else { it }).collect()
}

fn read(text: &str) -> Result<Emission, EmissionError> {
    if !text.is_ascii() || !(7..=9).contains(&text.len()) {
        return Err(EmissionError::Length);
    }
    let bandwidth_millihertz = read_bandwidth(&text[..4]).ok_or(EmissionError::Bandwidth)?;
    let kind = Kind::parse(&text[4..7])?;
    let mut further = text[7..].chars();
    let (detail, multiplex) = (further.next(), further.next());
    for (place, found) in [(4, detail), (5, multiplex)] {
        if let Some(found) = found.filter(|it| !it.is_ascii_uppercase()) {
            return Err(EmissionError::Symbol { place, found, allowed: "a letter" });
        }
    }
    Ok(Emission { bandwidth_millihertz, kind, detail, multiplex })
}

fn symbol(place: u8, found: char, allowed: &'static str) -> Result<(), EmissionError> {
    if allowed.contains(found) { Ok(()) } else { Err(EmissionError::Symbol { place, found, allowed }) }
}

fn read_bandwidth(text: &str) -> Option<i64> {
    let point = text.find(['H', 'K', 'M', 'G'])?;
    let unit = unit_millihertz(text.as_bytes()[point]);
    let digits: String = text[..point].chars().chain(text[point + 1..].chars()).collect();
    let starts_well = point > 0 || text.starts_with('H');
    if digits.len() != 3 || !starts_well || text.starts_with('0') || !digits.bytes().all(|it| it.is_ascii_digit()) {
        return None;
    }
    let number: i64 = digits.parse().ok()?;
    let value = number * (unit / 10_i64.pow(3 - point as u32));
    (value > 0).then_some(value)
}

const fn unit_millihertz(letter: u8) -> i64 {
    match letter {
        b'G' => 1_000_000_000_000,
        b'M' => 1_000_000_000,
        b'K' => 1_000_000,
        _ => 1_000,
    }
}

fn rounded(millihertz: i64) -> Result<i64, EmissionError> {
    if !(1..1_000_000_000_000_000).contains(&millihertz) {
        return Err(EmissionError::OutOfRange);
    }
    let last = 10_i64.pow(millihertz.ilog10().saturating_sub(2));
    let value = (millihertz + last / 2) / last * last;
    if value < 1_000_000_000_000_000 { Ok(value) } else { Err(EmissionError::OutOfRange) }
}

fn bandwidth_text(millihertz: i64) -> String {
    if millihertz < 1000 {
        return format!("H{millihertz:03}");
    }
    let letter = [b'G', b'M', b'K'].into_iter().find(|it| millihertz >= unit_millihertz(*it)).unwrap_or(b'H');
    let digits = millihertz / 10_i64.pow(millihertz.ilog10() - 2);
    let point = (millihertz / unit_millihertz(letter)).ilog10() as usize + 1;
    let mut text = digits.to_string();
    text.insert(point, char::from(letter));
    text
}

/// Necessary bandwidth of frequency-modulated telephony, 2M + 2D with K = 1, for the highest modulating frequency M and
/// the peak deviation D. Not for 4FSK, whose bandwidth is measured. This is also Carson's rule.
///
/// # Errors
/// [`EmissionError::OutOfRange`] unless both are above zero.
pub fn fm_voice_bandwidth(highest_modulating: Hertz, peak_deviation: Hertz) -> Result<Hertz, EmissionError> {
    if highest_modulating.get() <= 0 || peak_deviation.get() <= 0 {
        return Err(EmissionError::OutOfRange);
    }
    Ok((highest_modulating + peak_deviation).times(2))
}

/// Necessary bandwidth of double-sideband amplitude-modulated telephony, 2M.
///
/// # Errors
/// [`EmissionError::OutOfRange`] unless `highest_modulating` is above zero.
pub fn am_voice_bandwidth(highest_modulating: Hertz) -> Result<Hertz, EmissionError> {
    if highest_modulating.get() <= 0 {
        return Err(EmissionError::OutOfRange);
    }
    Ok(highest_modulating.times(2))
}

/// Peak deviation customary in a channel of `width`: 2.5 kHz in 12.5, 4 in 20, 5 in 25 (EN 300 086, from memory; the
/// first and last also 47 CFR 95.1775). `None` for another width.
pub const fn peak_deviation(width: Hertz) -> Option<Hertz> {
    match width.get() {
        12_500 => Some(Hertz(2_500)),
        20_000 => Some(Hertz(4_000)),
        25_000 => Some(Hertz(5_000)),
        _ => None,
    }
}

/// What an emission may occupy when its carrier is off by `ppm` (0 to 1000) of its frequency, rounded outward.
///
/// # Errors
/// [`EmissionError::OutOfRange`] unless carrier and width are above zero and `ppm` in range.
pub fn occupied_band(carrier: Hertz, width: Hertz, ppm: f64) -> Result<Band, EmissionError> {
    if carrier.get() <= 0 || width.get() <= 0 || !(0.0..=1000.0).contains(&ppm) {
        return Err(EmissionError::OutOfRange);
    }
    let off = Hertz((carrier.as_mhz() * ppm).ceil() as i64);
    Band::around(carrier, width + off.times(2)).map_err(|_| EmissionError::OutOfRange)
}

const FM_VOICE: Kind = Kind::of('F', '3', 'E');

/// The customary designator of analog voice in a channel of `width`: `11K2F3E`, `14K0F3E`, `16K0F3E`.
pub const fn usual_analog_voice(width: Hertz) -> Option<Emission> {
    let bandwidth_millihertz = match width.get() {
        12_500 => 11_200_000,
        20_000 => 14_000_000,
        25_000 => 16_000_000,
        _ => return None,
    };
    Some(Emission { bandwidth_millihertz, kind: FM_VOICE, detail: None, multiplex: None })
}

/// The narrowest that a license may write and still mean analog voice in a channel of `width`: 8.5 kHz up to 12.5 kHz
/// (`8K50F3E`, from memory), above that more than the 11.3 kHz of a 12.5 kHz channel. `None` under 11 kHz and over 25 kHz.
pub const fn narrowest_analog_voice(width: Hertz) -> Option<Emission> {
    let bandwidth_millihertz = match width.get() {
        11_000..=12_500 => 8_500_000,
        12_501..=25_000 => 11_400_000,
        _ => return None,
    };
    Some(Emission { bandwidth_millihertz, kind: FM_VOICE, detail: None, multiplex: None })
}

/// The kinds under which licenses and services write two-slot digital voice, alone or with data (from memory).
pub const TWO_SLOT_KINDS: [Kind; 8] = [
    Kind::of('F', 'X', 'E'),
    Kind::of('F', '1', 'E'),
    Kind::of('F', '7', 'E'),
    Kind::of('F', '9', 'E'),
    Kind::of('F', 'X', 'W'),
    Kind::of('F', '1', 'W'),
    Kind::of('F', '7', 'W'),
    Kind::of('F', '9', 'W'),
];

/// The customary designator of two-slot digital voice, `7K60FXE` (from memory).
pub const TWO_SLOT_VOICE: Emission = two_slot('E');
/// The customary designator of two-slot data, `7K60FXD` (from memory).
pub const TWO_SLOT_DATA: Emission = two_slot('D');

const fn two_slot(information: char) -> Emission {
    Emission { bandwidth_millihertz: 7_600_000, kind: Kind::of('F', 'X', information), detail: None, multiplex: None }
}

#[cfg(test)]
#[path = "emission_tests.rs"]
mod tests;
