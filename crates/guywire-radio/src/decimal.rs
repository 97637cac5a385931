//! Exact decimal text to whole units, never through a float.

/// A decimal number scaled by a power of ten and rounded half up to a whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Scaled {
    pub negative: bool,
    /// Magnitude, rounded half up.
    pub whole: i64,
    /// Whether nothing but zeros was cut.
    pub exact: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ScaleError {
    NotANumber,
    TooLarge,
}

struct Parts {
    negative: bool,
    digits: Vec<u8>,
    /// Digits that stand left of the point, exponent applied.
    point: i64,
}

/// Reads `text` (TOML number form: sign, underscores between digits, fraction, exponent) as a count of 10^-`places`.
pub(crate) fn scale(text: &str, places: u32) -> Result<Scaled, ScaleError> {
    let parts = split(text.trim()).ok_or(ScaleError::NotANumber)?;
    let leading_zeros = parts.digits.iter().take_while(|d| **d == b'0').count();
    let digits = &parts.digits[leading_zeros..];
    if digits.is_empty() {
        return Ok(Scaled { negative: parts.negative, whole: 0, exact: true });
    }
    let point = parts.point.saturating_add(i64::from(places)).saturating_sub(leading_zeros as i64);
    if point > 18 {
        return Err(ScaleError::TooLarge);
    }
    let kept = usize::try_from(point).unwrap_or(0);
    let whole = (0..kept).fold(0_i64, |sum, at| sum * 10 + digits.get(at).map_or(0, |d| i64::from(d - b'0')));
    let rest = digits.get(kept..).unwrap_or(&[]);
    let exact = rest.iter().all(|d| *d == b'0');
    let round_up = point >= 0 && rest.first().is_some_and(|d| *d >= b'5');
    Ok(Scaled { negative: parts.negative, whole: whole + i64::from(round_up), exact })
}

fn split(text: &str) -> Option<Parts> {
    let (negative, text) = match text.as_bytes().first()? {
        b'-' => (true, &text[1..]),
        b'+' => (false, &text[1..]),
        _ => (false, text),
    };
    let (mantissa, exponent) = match text.find(['e', 'E']) {
        Some(at) => (&text[..at], read_exponent(&text[at + 1..])?),
        None => (text, 0),
    };
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let mut digits = Vec::with_capacity(mantissa.len());
    let whole_digits = push_digits(whole, &mut digits)?;
    push_digits(fraction, &mut digits)?;
    if digits.is_empty() {
        return None;
    }
    Some(Parts { negative, digits, point: (whole_digits as i64).saturating_add(exponent) })
}

fn push_digits(text: &str, digits: &mut Vec<u8>) -> Option<usize> {
    let before = digits.len();
    let bytes = text.as_bytes();
    for (at, byte) in bytes.iter().enumerate() {
        match byte {
            b'0'..=b'9' => digits.push(*byte),
            b'_' if at > 0 && bytes[at - 1].is_ascii_digit() && bytes.get(at + 1).is_some_and(u8::is_ascii_digit) => {}
            _ => return None,
        }
    }
    Some(digits.len() - before)
}

fn read_exponent(text: &str) -> Option<i64> {
    let (negative, text) = match text.as_bytes().first()? {
        b'-' => (true, &text[1..]),
        b'+' => (false, &text[1..]),
        _ => (false, text),
    };
    let mut digits = Vec::new();
    if push_digits(text, &mut digits)? == 0 {
        return None;
    }
    let size = digits.iter().fold(0_i64, |sum, d| sum.saturating_mul(10).saturating_add(i64::from(d - b'0')));
    Some(if negative { -size } else { size })
}

/// `units` of 10^-`places` as decimal text with at least `least` decimals and no further trailing zeros.
pub(crate) fn show(units: i64, places: usize, least: usize) -> String {
    let sign = if units < 0 { "-" } else { "" };
    let size = 10_u64.pow(places as u32);
    let (whole, part) = (units.unsigned_abs() / size, units.unsigned_abs() % size);
    let fraction = format!("{part:0places$}");
    let needed = fraction.trim_end_matches('0').len().max(least);
    if needed == 0 {
        return format!("{sign}{whole}");
    }
    format!("{sign}{whole}.{}", &fraction[..needed])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn exact(whole: i64) -> Result<Scaled, ScaleError> {
        Ok(Scaled { negative: false, whole, exact: true })
    }

    #[test]
    fn every_number_form_of_the_file_format() {
        for text in ["453.2125", "+453.2125", "4_5_3.212_5", "4.532125e2", "4532125E-4", "453.2125000000", "0453.2125"]
        {
            assert_eq!(scale(text, 6), exact(453_212_500), "{text}");
        }
        assert_eq!(scale("5", 6), exact(5_000_000));
        assert_eq!(scale("0", 6), exact(0));
        assert_eq!(scale("0.0e999999999999999999999", 6), exact(0));
    }

    #[test]
    fn what_is_no_number() {
        for text in
            ["", "+", "-", ".", "e3", "1e", "1e+", "inf", "nan", "0x10", "1__0", "_1", "1_", "1._5", "1.2.3", "4 5"]
        {
            assert_eq!(scale(text, 6), Err(ScaleError::NotANumber), "{text:?}");
        }
    }

    #[test]
    fn huge_and_tiny_exponents_cost_nothing() {
        assert_eq!(scale("1e999999999999", 6), Err(ScaleError::TooLarge));
        assert_eq!(scale("1e-999999999999", 6), Ok(Scaled { negative: false, whole: 0, exact: false }));
        assert_eq!(scale("1e-99999999999999999999999999", 6), Ok(Scaled { negative: false, whole: 0, exact: false }));
    }

    #[test]
    fn cut_digits_round_half_up() {
        assert_eq!(scale("0.0000005", 6), Ok(Scaled { negative: false, whole: 1, exact: false }));
        assert_eq!(scale("0.00000049", 6), Ok(Scaled { negative: false, whole: 0, exact: false }));
        assert_eq!(scale("0.00000005", 6), Ok(Scaled { negative: false, whole: 0, exact: false }));
        assert_eq!(scale("453.21249999", 6), Ok(Scaled { negative: false, whole: 453_212_500, exact: false }));
    }

    proptest! {
        #[test]
        fn show_then_scale_is_the_identity(units in 0_i64..1_000_000_000_000, least in 0_usize..=6) {
            prop_assert_eq!(scale(&show(units, 6, least), 6), exact(units));
        }

        #[test]
        fn never_panics(text in "\\PC{0,24}", places in 0_u32..9) {
            let _ = scale(&text, places);
        }

        #[test]
        fn never_panics_on_number_like_text(text in "[-+]?[0-9_.eE+-]{0,24}", places in 0_u32..9) {
            let _ = scale(&text, places);
        }
    }
}
