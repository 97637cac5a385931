//! What is kept of a text beside its hash, where the text itself is not kept: nothing that gives any of it away.

use guywire_radio::key::{KeyAlgorithm, KeyWeakness, key_weakness};

/// What a text looks like that is kept as a hash only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shape {
    /// Nothing is known of it.
    Plain,
    /// Text for people that holds a mail address.
    MailAddress,
    /// Text for people that holds a telephone number.
    TelephoneNumber,
    /// A secret written in hexadecimal digits.
    Digits(KeyShape),
}

/// What key material looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct KeyShape {
    /// Its hexadecimal digits, separators left out.
    pub digits: u16,
    /// The pattern that it follows, if one was found.
    pub pattern: Option<Pattern>,
}

/// A pattern that makes key material easy to guess.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pattern {
    /// One digit repeated.
    OneDigit,
    /// A few digits repeated.
    Repeated,
    /// Digits that count up or down.
    Counting,
    /// Bytes that step evenly, as in published examples.
    Stepped,
}

/// Digits of a secret without the separators that people put between them, in one letter case.
pub(crate) fn material(text: &str) -> String {
    text.chars().filter(|letter| !matches!(letter, ' ' | '-' | ':')).flat_map(char::to_lowercase).collect()
}

/// The shape of a secret that [`material`] gave.
pub(crate) fn of_secret(material: &str) -> Shape {
    // A scramble has no length, so that only the pattern is looked at.
    let pattern = match key_weakness(material, KeyAlgorithm::FixedScramble) {
        Some(KeyWeakness::NotHex) => return Shape::Plain,
        Some(KeyWeakness::OneDigit) => Some(Pattern::OneDigit),
        Some(KeyWeakness::Pattern) => Some(Pattern::Repeated),
        Some(KeyWeakness::Sequential) => Some(Pattern::Counting),
        Some(KeyWeakness::Stepped) => Some(Pattern::Stepped),
        Some(KeyWeakness::WrongLength { .. }) | None => None,
    };
    match u16::try_from(material.len()) {
        Ok(digits) if digits > 0 => Shape::Digits(KeyShape { digits, pattern }),
        _ => Shape::Plain,
    }
}

/// The shape of text for people.
pub(crate) fn of_prose(text: &str) -> Shape {
    if has_mail_address(text) {
        Shape::MailAddress
    } else if has_telephone_number(text) {
        Shape::TelephoneNumber
    } else {
        Shape::Plain
    }
}

/// An address as RFC 5322, section 3.4.1, has it (dot-atom on both sides), with a domain that ends in letters.
fn has_mail_address(text: &str) -> bool {
    text.match_indices('@').any(|(at, _)| {
        let is_local = |letter: char| letter.is_ascii_alphanumeric() || ".!#$%&'*+-/=?^_`{|}~".contains(letter);
        let before = text[..at].chars().next_back().is_some_and(|letter| is_local(letter) && letter != '.');
        let end = text[at + 1..].find(|letter: char| !letter.is_ascii_alphanumeric() && letter != '.' && letter != '-');
        let domain = &text[at + 1..][..end.unwrap_or(text.len() - at - 1)];
        let labels: Vec<&str> = domain.trim_end_matches('.').split('.').collect();
        let top = labels.last().copied().unwrap_or_default();
        let is_domain = labels.len() > 1 && labels.iter().all(|label| !label.is_empty()) && top.len() > 1;
        before && is_domain && top.bytes().all(|byte| byte.is_ascii_alphabetic())
    })
}

/// A number with its country (`+` and 9 to 15 digits, ITU-T E.164), or one of ten digits grouped as `207-555-0123` or
/// `(207) 555-0123`. Frequencies, dates, coordinates and serial numbers have other forms.
fn has_telephone_number(text: &str) -> bool {
    let letters: Vec<char> = text.chars().collect();
    (0..letters.len()).any(|at| {
        let free = at == 0 || !(letters[at - 1].is_alphanumeric() || "+-./".contains(letters[at - 1]));
        free && (is_international(&letters[at..]) || GROUPED.iter().any(|form| is_grouped(&letters[at..], form)))
    })
}

const GROUPED: [&str; 3] = ["000-000-0000", "(000) 000-0000", "(000)000-0000"];

fn is_international(letters: &[char]) -> bool {
    if letters.first() != Some(&'+') {
        return false;
    }
    let rest = &letters[1..];
    let end =
        rest.iter().position(|letter| !letter.is_ascii_digit() && !" -()".contains(*letter)).unwrap_or(rest.len());
    let digits = rest[..end].iter().filter(|letter| letter.is_ascii_digit()).count();
    (9..=15).contains(&digits) && ends(rest, end)
}

fn is_grouped(letters: &[char], form: &str) -> bool {
    let fits =
        |(letter, wanted): (&char, char)| if wanted == '0' { letter.is_ascii_digit() } else { *letter == wanted };
    letters.len() >= form.len() && letters.iter().zip(form.chars()).all(fits) && ends(letters, form.len())
}

/// Whether what begins at `end` does not go on with the number: a point counts where a digit follows it.
fn ends(letters: &[char], end: usize) -> bool {
    match letters.get(end) {
        Some('.') => !letters.get(end + 1).is_some_and(char::is_ascii_digit),
        Some(letter) => !letter.is_alphanumeric() && *letter != '-',
        None => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mail_addresses_are_seen_and_other_at_signs_are_not() {
        for text in ["ask keeper@harbor.example", "<lock.keeper+2@mail.harbor.example>.", "a@b.co"] {
            assert_eq!(of_prose(text), Shape::MailAddress, "{text}");
        }
        for text in
            ["2 radios @ 4 W", "beacon@453.2125", "@keeper", "slot 1@harbor", "keeper@harbor.", "a@b.c", "x@.example"]
        {
            assert_eq!(of_prose(text), Shape::Plain, "{text}");
        }
    }

    #[test]
    fn telephone_numbers_are_seen_and_other_numbers_are_not() {
        for text in [
            "Call 207-555-0123 first.",
            "(207) 555-0123",
            "keeper: +1 207 555 0123",
            "+442079460123",
            "+49 (30) 12345-678, nights",
        ] {
            assert_eq!(of_prose(text), Shape::TelephoneNumber, "{text}");
        }
        for text in [
            "453.2125 458.2125",
            "offset +5.000000 MHz",
            "+5 MHz since 2026-11-25 08:30",
            "44.1021, -68.8113",
            "serial HH-207-555-0123",
            "207-555-01234",
            "1207-555-0123",
            "-119 -120 -121 dBm",
            "+45 000 000 Hz",
            "ids 21007 21008 21009 21010",
            "207-555-0123.5",
        ] {
            assert_eq!(of_prose(text), Shape::Plain, "{text}");
        }
    }

    #[test]
    fn secrets_keep_their_pattern_and_length_only() {
        let shape = |text: &str| of_secret(&material(text));
        let digits = |digits, pattern| Shape::Digits(KeyShape { digits, pattern });
        assert_eq!(shape("AA:AA:AA:AA:AA"), digits(10, Some(Pattern::OneDigit)));
        assert_eq!(shape("1234 1234 1234"), digits(12, Some(Pattern::Repeated)));
        assert_eq!(shape("0123456789"), digits(10, Some(Pattern::Counting)));
        assert_eq!(shape("00112233445566778899AABBCCDDEEFF"), digits(32, Some(Pattern::Stepped)));
        assert_eq!(shape("3f9c07d1b6"), digits(10, None));
        assert_eq!(shape("17"), digits(2, None));
        assert_eq!(shape("vault:harbor/radio/17"), Shape::Plain);
        assert_eq!(shape(""), Shape::Plain);
    }

    #[test]
    fn a_value_takes_no_more_room_for_its_shape() {
        assert_eq!(size_of::<crate::Stored>(), 16);
    }
}
