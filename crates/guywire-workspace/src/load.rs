//! From bytes to text: what a file is when it cannot be read as it should.

use guywire_plan::FileProblem;
use guywire_text::Document;

use crate::source::ReadError;

/// The text of a file's bytes, or why there is none.
pub(crate) fn document(bytes: Result<Vec<u8>, ReadError>) -> Result<Document, FileProblem> {
    contents(bytes).map(|text| Document::new(&text))
}

/// The text of a file's bytes as a whole, or why there is none.
pub(crate) fn contents(bytes: Result<Vec<u8>, ReadError>) -> Result<String, FileProblem> {
    match bytes {
        Ok(bytes) => text(bytes),
        Err(ReadError::Missing) => Err(FileProblem::Missing),
        Err(other) => Err(FileProblem::Unreadable(capital(&other.to_string()))),
    }
}

/// The bytes as UTF-8.
pub(crate) fn text(bytes: Vec<u8>) -> Result<String, FileProblem> {
    match String::from_utf8(bytes) {
        // Plain letters in UTF-16 are UTF-8 too, with a zero byte beside each.
        Ok(text) if is_utf_16(text.as_bytes()) => Err(FileProblem::Unreadable(UTF_16.to_owned())),
        Ok(text) => Ok(text),
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            Err(FileProblem::Unreadable(not_utf8(error.as_bytes(), at)))
        }
    }
}

const UTF_16: &str = "The file is UTF-16; a plan is UTF-8. Save it as UTF-8";

fn is_utf_16(bytes: &[u8]) -> bool {
    let every_other_is_zero = |first: usize| {
        let looked: Vec<u8> = bytes.iter().skip(first).step_by(2).take(64).copied().collect();
        looked.len() > 1 && looked.iter().filter(|byte| **byte == 0).count() * 2 > looked.len()
    };
    bytes.starts_with(&[0xFF, 0xFE])
        || bytes.starts_with(&[0xFE, 0xFF])
        || every_other_is_zero(0)
        || every_other_is_zero(1)
}

fn not_utf8(bytes: &[u8], at: usize) -> String {
    if is_utf_16(bytes) {
        return UTF_16.to_owned();
    }
    let line = 1 + bytes[..at].iter().filter(|byte| **byte == b'\n').count();
    format!(
        "The file is not UTF-8: line {line} (byte {at} of the file) holds a byte that no UTF-8 text has. Save it as UTF-8"
    )
}

/// The text with a capital first letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn why(bytes: &[u8]) -> String {
        match text(bytes.to_vec()) {
            Err(FileProblem::Unreadable(why)) => why,
            other => format!("{other:?}"),
        }
    }

    #[test]
    fn utf_16_is_named_as_such() {
        assert!(why(b"\xFF\xFE[\0p\0l\0a\0n\0]\0").contains("UTF-16"));
        assert!(why(b"\xFE\xFF\0[\0p\0l\0a\0n\0]").contains("UTF-16"));
        assert!(why(b"[\0p\0l\0a\0n\0]\0\n\0").contains("UTF-16"));
        assert!(why(b"\0[\0p\0l\0a\0n\0]\0\n").contains("UTF-16"));
    }

    #[test]
    fn the_place_of_a_wrong_byte_is_told() {
        let why = why(b"[plan]\ntitle = \"\xE9\"\n");
        assert!(why.contains("line 2") && why.contains("byte 16"), "{why}");
    }
}
