//! A line taken apart into what is shown for each character, secrets as one piece each.

use std::ops::Range;

use unicode_width::UnicodeWidthChar;

use crate::visible::push_visible;

/// What stands in the place of a secret, whatever its length.
pub const REDACTED: &str = "[redacted]";
/// How a tab is shown.
const TAB: &str = "    ";

/// What is shown for some bytes of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Piece {
    /// The bytes.
    pub bytes: Range<usize>,
    /// What is shown, safe on a terminal.
    pub shown: String,
    /// Columns of it on a terminal.
    pub columns: usize,
}

impl Piece {
    fn secret(bytes: Range<usize>) -> Piece {
        Piece { bytes, shown: REDACTED.to_owned(), columns: REDACTED.len() }
    }

    fn letter(at: usize, letter: char) -> Piece {
        let mut shown = String::new();
        match letter {
            '\t' => shown.push_str(TAB),
            // The byte-order mark of a file is no text.
            '\u{FEFF}' if at == 0 => {}
            letter => push_visible(&mut shown, letter),
        }
        let columns = shown.chars().map(|letter| letter.width().unwrap_or(0)).sum();
        Piece { bytes: at..at + letter.len_utf8(), shown, columns }
    }
}

/// The pieces of a part of the line that starts at byte `line` of the file. `text` starts at byte `start`; `secrets` are
/// ordered bytes of the file, not overlapping. A comment behind a secret on its line is a secret too: it may quote what
/// was there before.
pub(crate) fn pieces(line: usize, text: &str, start: usize, secrets: &[Range<usize>]) -> Vec<Piece> {
    let end = start + text.len();
    let mut hidden = secrets.iter().filter(|secret| secret.end > start && secret.start < end).peekable();
    let mut after_secret = secrets.iter().any(|secret| secret.end > line && secret.start < start);
    let mut pieces: Vec<Piece> = Vec::new();
    for (offset, letter) in text.char_indices() {
        let at = start + offset;
        while hidden.peek().is_some_and(|secret| secret.end <= at) {
            hidden.next();
        }
        match hidden.peek() {
            Some(secret) if secret.start < at + letter.len_utf8() => {
                after_secret = true;
                let whole = secret.start.max(start)..secret.end.min(end);
                if pieces.last().is_none_or(|last| last.bytes != whole) {
                    pieces.push(Piece::secret(whole));
                }
            }
            _ if after_secret && letter == '#' => {
                pieces.push(Piece::secret(at..end));
                break;
            }
            _ => pieces.push(Piece::letter(at, letter)),
        }
    }
    pieces
}

/// The shown text of pieces.
pub(crate) fn joined(pieces: &[Piece]) -> String {
    pieces.iter().map(|piece| piece.shown.as_str()).collect()
}

/// Columns of pieces.
pub(crate) fn columns(pieces: &[Piece]) -> usize {
    pieces.iter().map(|piece| piece.columns).sum()
}

#[cfg(test)]
#[allow(clippy::single_range_in_vec_init)]
mod tests {
    use super::*;

    fn shown(text: &str, secrets: &[Range<usize>]) -> String {
        joined(&pieces(100, text, 100, secrets))
    }

    #[test]
    fn a_secret_is_one_mark_of_one_length() {
        for secret in ["\"a\"", "\"a much longer one\""] {
            let text = format!("value = {secret}");
            assert_eq!(shown(&text, &[108..100 + text.len()]), "value = [redacted]");
        }
    }

    #[test]
    fn secrets_that_begin_before_or_end_after_the_text_are_hidden() {
        assert_eq!(shown("abcdef", &[90..102, 104..120]), "[redacted]cd[redacted]");
        assert_eq!(shown("abcdef", &[0..1000]), "[redacted]");
        assert_eq!(shown("abcdef", &[90..100, 106..120]), "abcdef");
    }

    #[test]
    fn a_comment_behind_a_secret_is_hidden() {
        assert_eq!(shown("v = 'x' # 'y' before", &[104..107]), "v = [redacted] [redacted]");
        assert_eq!(shown("v = 1 # 'y' before", &[50..90]), "v = 1 # 'y' before");
        assert_eq!(
            joined(&pieces(100, " # 'y'", 200, &[104..107])),
            " [redacted]",
            "the line is cut behind the secret"
        );
    }

    #[test]
    fn a_secret_that_cuts_a_character_hides_it_whole() {
        assert_eq!(shown("aéb", &[102..103]), "a[redacted]b");
    }

    #[test]
    fn columns_are_those_of_a_terminal() {
        assert_eq!(columns(&pieces(5, "埠頭", 5, &[])), 4);
        assert_eq!(columns(&pieces(5, "e\u{301}", 5, &[])), 1);
        assert_eq!(columns(&pieces(5, "\t", 5, &[])), 4);
        assert_eq!(columns(&pieces(0, "\u{FEFF}[", 0, &[])), 1);
    }
}
