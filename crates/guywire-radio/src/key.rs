//! Whether key material is of the right form and not a pattern. Nothing here returns or shows a digit of it.

use crate::source::Source;

/// Lengths and identifiers. ETSI defines no cipher; these are of an industry interoperability profile.
pub const KEY_SOURCE: Source = Source::memory("industry interoperability profile");

/// How speech is obscured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum KeyAlgorithm {
    /// A small index into fixed patterns: no secret at all.
    FixedScramble,
    /// 40 bits, obsolete: all of them can be tried.
    Arc4,
    /// 128 bits.
    Aes128,
    /// 256 bits.
    Aes256,
}

impl KeyAlgorithm {
    /// The algorithm that a plan writes so: `fixed-scramble`, `arc4-40`, `aes-128` or `aes-256`.
    pub fn named(word: &str) -> Option<KeyAlgorithm> {
        match word {
            "fixed-scramble" => Some(KeyAlgorithm::FixedScramble),
            "arc4-40" => Some(KeyAlgorithm::Arc4),
            "aes-128" => Some(KeyAlgorithm::Aes128),
            "aes-256" => Some(KeyAlgorithm::Aes256),
            _ => None,
        }
    }

    /// What it is, and what it is worth.
    pub const fn in_words(self) -> &'static str {
        match self {
            KeyAlgorithm::FixedScramble => "a fixed scramble: an index into fixed patterns, no secret",
            KeyAlgorithm::Arc4 => "ARC4 with 40 bits: few enough to try them all",
            KeyAlgorithm::Aes128 => "AES with 128 bits",
            KeyAlgorithm::Aes256 => "AES with 256 bits",
        }
    }

    /// Hexadecimal digits of a key; `None` for a scramble, which has an index instead.
    pub const fn hex_digits(self) -> Option<usize> {
        match self {
            KeyAlgorithm::FixedScramble => None,
            KeyAlgorithm::Arc4 => Some(10),
            KeyAlgorithm::Aes128 => Some(32),
            KeyAlgorithm::Aes256 => Some(64),
        }
    }

    /// Whether a key is told apart by an identifier, 1 to 255.
    pub const fn has_identifier(self) -> bool {
        !matches!(self, KeyAlgorithm::FixedScramble)
    }
}

/// Whether `id` can identify a key.
pub const fn is_key_identifier(id: i64) -> bool {
    matches!(id, 1..=255)
}

/// What is wrong with key material.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum KeyWeakness {
    /// A character that is no hexadecimal digit.
    #[error("a key is written in hexadecimal digits only")]
    NotHex,
    /// The wrong number of digits.
    #[error("the key has {found} digits; its algorithm needs {needed}")]
    WrongLength {
        /// Digits that the algorithm needs.
        needed: usize,
        /// Digits given.
        found: usize,
    },
    /// One digit repeated.
    #[error("the key is one digit repeated")]
    OneDigit,
    /// A short pattern repeated.
    #[error("the key is a short pattern repeated")]
    Pattern,
    /// Digits that count up or down.
    #[error("the digits of the key count up or down")]
    Sequential,
    /// Bytes that step evenly, like the example keys of standards.
    #[error("the bytes of the key step evenly, as example keys do")]
    Stepped,
}

impl KeyWeakness {
    /// Whether this is an error; else a warning.
    pub const fn is_error(self) -> bool {
        !matches!(self, KeyWeakness::Stepped)
    }
}

/// Checks the form and the pattern of `text`, hexadecimal digits in either case. `None`: nothing found, which does not make
/// it a good key.
pub fn key_weakness(text: &str, algorithm: KeyAlgorithm) -> Option<KeyWeakness> {
    let Some(digits) = text.chars().map(|it| it.to_digit(16)).collect::<Option<Vec<u32>>>() else {
        return Some(KeyWeakness::NotHex);
    };
    if let Some(needed) = algorithm.hex_digits()
        && digits.len() != needed
    {
        return Some(KeyWeakness::WrongLength { needed, found: digits.len() });
    }
    if digits.len() < 4 {
        return None;
    }
    pattern(&digits)
}

fn pattern(digits: &[u32]) -> Option<KeyWeakness> {
    if has_period(digits, 1) {
        return Some(KeyWeakness::OneDigit);
    }
    if (2..=8.min(digits.len() / 2)).any(|period| has_period(digits, period)) {
        return Some(KeyWeakness::Pattern);
    }
    let counts = |base: u32| steps_evenly(digits, base, 1) || steps_evenly(digits, base, base - 1);
    if counts(16) || counts(10) {
        return Some(KeyWeakness::Sequential);
    }
    let bytes: Vec<u32> = digits.chunks_exact(2).map(|it| it[0] * 16 + it[1]).collect();
    let step = (bytes.get(1)? + 256 - bytes.first()?) % 256;
    steps_evenly(&bytes, 256, step).then_some(KeyWeakness::Stepped)
}

fn has_period(digits: &[u32], period: usize) -> bool {
    digits.iter().zip(&digits[period..]).all(|(a, b)| a == b)
}

fn steps_evenly(numbers: &[u32], base: u32, step: u32) -> bool {
    numbers.iter().all(|it| *it < base) && numbers.windows(2).all(|it| (it[0] + step) % base == it[1])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn patterns() {
        use KeyAlgorithm::{Aes128, Aes256, Arc4, FixedScramble};
        let published = "00112233445566778899AABBCCDDEEFF";
        for (text, algorithm, expected) in [
            ("0000000000", Arc4, Some(KeyWeakness::OneDigit)),
            ("aaaaaaaaaa", Arc4, Some(KeyWeakness::OneDigit)),
            (&"1234".repeat(8), Aes128, Some(KeyWeakness::Pattern)),
            (&"1234".repeat(16), Aes256, Some(KeyWeakness::Pattern)),
            ("1234123412", Arc4, Some(KeyWeakness::Pattern)),
            ("0123456789", Arc4, Some(KeyWeakness::Sequential)),
            ("9876543210", Arc4, Some(KeyWeakness::Sequential)),
            ("6789ABCDEF", Arc4, Some(KeyWeakness::Sequential)),
            (published, Aes128, Some(KeyWeakness::Stepped)),
            ("000102030405060708090a0b0c0d0e0f", Aes128, Some(KeyWeakness::Stepped)),
            ("123456789", Arc4, Some(KeyWeakness::WrongLength { needed: 10, found: 9 })),
            (published, Aes256, Some(KeyWeakness::WrongLength { needed: 64, found: 32 })),
            ("12345678GZ", Arc4, Some(KeyWeakness::NotHex)),
            ("3f9c07d1b6", Arc4, None),
            ("17", FixedScramble, None),
        ] {
            assert_eq!(key_weakness(text, algorithm), expected, "{algorithm:?}");
        }
        assert!(KeyWeakness::Pattern.is_error() && !KeyWeakness::Stepped.is_error());
        assert!(is_key_identifier(1) && is_key_identifier(255) && !is_key_identifier(0) && !is_key_identifier(256));
    }

    #[test]
    fn all_forty_bit_keys_can_be_tried() {
        // 2^40 keys at 1e9 a second: 1099.512 s.
        let bits = KeyAlgorithm::Arc4.hex_digits().unwrap() as u32 * 4;
        assert_eq!(2_u64.pow(bits), 1_099_511_627_776);
    }

    proptest! {
        #[test]
        fn no_message_holds_the_key(text in "[0-9a-f]{10}|[0-9a-f]{1,9}|\\PC{4,12}") {
            if let Some(weakness) = key_weakness(&text, KeyAlgorithm::Arc4) {
                prop_assert!(text.len() < 4 || !weakness.to_string().contains(&text));
            }
        }

        #[test]
        fn case_does_not_matter(text in "[0-9a-f]{10}") {
            let upper = text.to_ascii_uppercase();
            prop_assert_eq!(key_weakness(&text, KeyAlgorithm::Arc4), key_weakness(&upper, KeyAlgorithm::Arc4));
        }
    }
}
