//! Digital code squelch (DCS): the 23-bit word, its endless stream, and which settings are the same on the air.
//!
//! A receiver sees the word repeated without a gap, so two settings are one if the word of one is a rotation of the
//! other's. An inverted code sends the complement.

use std::fmt;

use crate::source::Source;
use crate::tone::ToneError;

/// Word layout, rate and the 83 codes.
pub const DCS_SOURCE: Source = Source::confirmed("TIA-603");
/// The 21 further codes that most radios have.
pub const DCS_EXTRA_SOURCE: Source = Source::secondary("code lists of 104 codes");

/// Bits a second, sent without a gap.
pub const DCS_BITS_PER_S: f64 = 134.4;
/// Bits in a word.
pub const DCS_WORD_BITS: u32 = 23;

const WORD_MASK: u32 = 0x7F_FFFF;
/// x^11+x^10+x^6+x^5+x^4+x^2+1, data read most significant bit first as the high powers.
const GENERATOR: u32 = 0xC75;
const FIXED: u32 = 0b100;

/// The 83 codes of TIA-603.
pub const STANDARD_CODES: [u16; 83] = [
    0o023, 0o025, 0o026, 0o031, 0o032, 0o043, 0o047, 0o051, 0o054, 0o065, 0o071, 0o072, 0o073, 0o074, 0o114, 0o115,
    0o116, 0o125, 0o131, 0o132, 0o134, 0o143, 0o152, 0o155, 0o156, 0o162, 0o165, 0o172, 0o174, 0o205, 0o223, 0o226,
    0o243, 0o244, 0o245, 0o251, 0o261, 0o263, 0o265, 0o271, 0o306, 0o311, 0o315, 0o331, 0o343, 0o346, 0o351, 0o364,
    0o365, 0o371, 0o411, 0o412, 0o413, 0o423, 0o431, 0o432, 0o445, 0o464, 0o465, 0o466, 0o503, 0o506, 0o516, 0o532,
    0o546, 0o565, 0o606, 0o612, 0o624, 0o627, 0o631, 0o632, 0o654, 0o662, 0o664, 0o703, 0o712, 0o723, 0o731, 0o732,
    0o734, 0o743, 0o754,
];

/// The 21 codes that complete lists of 104.
pub const EXTRA_CODES: [u16; 21] = [
    0o036, 0o053, 0o122, 0o145, 0o212, 0o225, 0o246, 0o252, 0o255, 0o266, 0o274, 0o325, 0o332, 0o356, 0o446, 0o452,
    0o454, 0o455, 0o462, 0o523, 0o526,
];

/// Which list a code is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CodeSet {
    /// One of the 83 of TIA-603.
    Standard,
    /// One of the 21 further codes in common use.
    Extra,
    /// Any other three octal digits.
    Other,
}

/// A code and its polarity. `Display` is three octal digits and `N` or `I`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dcs {
    code: u16,
    inverted: bool,
}

/// What a receiver sees: the least of all rotations of the word sent. Equal streams open each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stream(u32);

impl Stream {
    /// The least rotation, 23 bits.
    pub const fn bits(self) -> u32 {
        self.0
    }
}

impl Dcs {
    /// `code` as a number (`0o023`), 0 to 0o777.
    ///
    /// # Errors
    /// [`ToneError::CodeDigits`] above 0o777.
    pub fn new(code: u16, inverted: bool) -> Result<Dcs, ToneError> {
        if code > 0o777 {
            return Err(ToneError::CodeDigits);
        }
        Ok(Dcs { code, inverted })
    }

    /// The code as a number.
    pub const fn code(self) -> u16 {
        self.code
    }

    /// Whether the complement is sent.
    pub const fn inverted(self) -> bool {
        self.inverted
    }

    /// Which list the code is from.
    pub fn set(self) -> CodeSet {
        if STANDARD_CODES.contains(&self.code) {
            return CodeSet::Standard;
        }
        if EXTRA_CODES.contains(&self.code) { CodeSet::Extra } else { CodeSet::Other }
    }

    /// The same code in the other polarity.
    pub const fn opposite(self) -> Dcs {
        Dcs { code: self.code, inverted: !self.inverted }
    }

    /// The 23 bits on the air, most significant first: 11 of parity, `100`, 9 of code; complemented if inverted.
    /// They are sent least significant bit first.
    pub fn word(self) -> u32 {
        let plain = golay_word(self.code);
        if self.inverted { !plain & WORD_MASK } else { plain }
    }

    /// What a receiver sees, independent of where the word starts.
    pub fn stream(self) -> Stream {
        let word = self.word();
        Stream((0..DCS_WORD_BITS).map(|by| rotate(word, by)).min().unwrap_or(word))
    }

    /// Whether a receiver set to `other` opens to this.
    pub fn opens(self, other: Dcs) -> bool {
        self.stream() == other.stream()
    }

    /// Every other code that makes the same stream in the same polarity, rising.
    pub fn aliases(self) -> Vec<u16> {
        codes_in(golay_word(self.code)).into_iter().filter(|it| *it != self.code).collect()
    }

    /// Every code whose other polarity makes the same stream, rising.
    pub fn twins(self) -> Vec<u16> {
        codes_in(!golay_word(self.code) & WORD_MASK)
    }

    /// The twin that is on the lists of 83 or 104: `023` inverted is `047` normal.
    pub fn listed_twin(self) -> Option<Dcs> {
        let listed = |it: &Dcs| it.set() != CodeSet::Other;
        self.twins().into_iter().map(|code| Dcs { code, inverted: !self.inverted }).find(listed)
    }

    /// The nearest listed code in number, to suggest in place of one that is on no list.
    pub fn nearest_listed(self) -> Dcs {
        let listed = STANDARD_CODES.iter().chain(&EXTRA_CODES);
        let code = listed.min_by_key(|it| (it.abs_diff(self.code), **it)).copied().unwrap_or(self.code);
        Dcs { code, inverted: self.inverted }
    }
}

impl fmt::Display for Dcs {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:03o}{}", self.code, if self.inverted { 'I' } else { 'N' })
    }
}

fn golay_word(code: u16) -> u32 {
    let data = (FIXED << 9) | u32::from(code & 0o777);
    (remainder(data << 11, GENERATOR) << 12) | data
}

fn remainder(dividend: u32, generator: u32) -> u32 {
    (11..DCS_WORD_BITS)
        .rev()
        .fold(dividend, |rest, bit| if rest & (1 << bit) == 0 { rest } else { rest ^ (generator << (bit - 11)) })
}

const fn rotate(word: u32, by: u32) -> u32 {
    ((word << by) | (word >> (DCS_WORD_BITS - by))) & WORD_MASK
}

fn codes_in(word: u32) -> Vec<u16> {
    let rotations = (0..DCS_WORD_BITS).map(|by| rotate(word, by));
    let mut codes: Vec<u16> = rotations.filter(|it| (it >> 9) & 0b111 == FIXED).map(|it| (it & 0o777) as u16).collect();
    codes.sort_unstable();
    codes.dedup();
    codes
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn normal(code: u16) -> Dcs {
        Dcs::new(code, false).unwrap()
    }

    fn all() -> impl Iterator<Item = Dcs> {
        (0..512).map(normal)
    }

    fn octal(text: &str) -> u16 {
        u16::from_str_radix(text, 8).unwrap()
    }

    #[test]
    fn worked_words() {
        // TIA-603 word layout; parity by the generator 0xC75, agreeing with eleven published per-bit equations.
        for (code, word, sent) in [
            (0o023, 0x76_3813, "11001000000111000110111"),
            (0o047, 0x0F_D827, "11100100000110111111000"),
            (0o114, 0x35_E84C, "00110010000101111010110"),
            (0o612, 0x67_198A, "01010001100110001110011"),
            (0o754, 0x20_F9EC, "00110111100111110000010"),
        ] {
            assert_eq!(normal(code).word(), word);
            let bits: String = (0..23).map(|bit| if word & (1 << bit) == 0 { '0' } else { '1' }).collect();
            assert_eq!(bits, sent, "{code:o}");
        }
    }

    #[test]
    fn the_reciprocal_generator_in_this_bit_order_is_wrong() {
        let data = (FIXED << 9) | 0o023;
        assert_eq!((remainder(data << 11, 0xAE3) << 12) | data, 0x7E_8813);
        assert_ne!(0x7E_8813, normal(0o023).word());
    }

    #[test]
    fn any_two_words_differ_in_seven_bits() {
        // Golay (23,12): minimum distance 7.
        let words: Vec<u32> = all().map(Dcs::word).collect();
        let apart =
            words.iter().enumerate().flat_map(|(at, a)| words[at + 1..].iter().map(move |b| (a ^ b).count_ones()));
        assert_eq!(apart.min(), Some(7));
    }

    #[test]
    fn every_row_of_the_table_of_104() {
        let mut seen = Vec::new();
        for row in include_str!("../tests/data/dcs-104.txt").lines().filter(|it| !it.starts_with('#')) {
            let fields: Vec<&str> = row.split(' ').collect();
            let code = normal(octal(fields[0].trim_end_matches('+')));
            let set = if fields[0].ends_with('+') { CodeSet::Extra } else { CodeSet::Standard };
            assert_eq!(code.set(), set, "{row}");
            assert_eq!(format!("0x{:06X}", code.word()), fields[1], "{row}");
            assert_eq!(code.listed_twin().unwrap().code(), octal(fields[2]), "{row}");
            let aliases: Vec<u16> = fields[3..].iter().map(|it| octal(it)).collect();
            assert_eq!(code.aliases(), aliases, "{row}");
            seen.push(code);
        }
        assert_eq!(seen.len(), 104);
    }

    #[test]
    fn streams_among_all_codes() {
        // 177 distinct streams, a published figure; no code is its own inverse.
        assert_eq!(all().map(Dcs::stream).collect::<BTreeSet<_>>().len(), 177);
        assert!(all().all(|it| !it.opens(it.opposite())));
    }

    #[test]
    fn the_104_pair_off() {
        let listed: Vec<Dcs> = STANDARD_CODES.iter().chain(&EXTRA_CODES).map(|it| normal(*it)).collect();
        assert_eq!(listed.iter().map(|it| it.stream()).collect::<BTreeSet<_>>().len(), 104);
        for it in &listed {
            let twin = it.listed_twin().unwrap();
            assert!(twin.inverted() && it.opens(twin), "{it} {twin}");
            assert_eq!(twin.listed_twin(), Some(*it));
            assert_eq!(it.twins().iter().filter(|c| normal(**c).set() != CodeSet::Other).count(), 1);
        }
        let alone = |it: &&u16| normal(**it).twins().iter().all(|twin| !STANDARD_CODES.contains(twin));
        assert_eq!(STANDARD_CODES.iter().filter(alone).collect::<Vec<_>>(), [&0o172]);
    }

    #[test]
    fn inversion_twice_is_the_same_stream() {
        for it in all() {
            assert_eq!(it.opposite().opposite(), it);
            for twin in it.twins() {
                assert_eq!(Dcs::new(twin, true).unwrap().stream(), it.stream());
            }
            for alias in it.aliases() {
                assert_eq!(normal(alias).stream(), it.stream());
            }
        }
    }

    #[test]
    fn the_nearest_listed_code_of_a_listed_one_is_itself() {
        assert_eq!(normal(0o023).nearest_listed(), normal(0o023));
        assert_eq!(normal(0o024).nearest_listed().code(), 0o023);
        assert_eq!(Dcs::new(0o1000, false), Err(ToneError::CodeDigits));
    }
}
