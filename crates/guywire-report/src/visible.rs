//! Text from a plan, safe on a terminal.

use std::borrow::Cow;

/// The text with what a terminal would obey or hide made visible: control characters as their pictures (U+2400 block),
/// characters that turn the direction of text or show nothing as `<U+202E>`. Line ends and tabs are control characters
/// too.
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    text.chars().for_each(|letter| push_visible(&mut shown, letter));
    Cow::Owned(shown)
}

/// Adds one character, made visible.
pub(crate) fn push_visible(shown: &mut String, letter: char) {
    match letter {
        '\0'..='\x1F' => shown.extend(char::from_u32(0x2400 + u32::from(letter))),
        '\x7F' => shown.push('\u{2421}'),
        letter if is_hidden(letter) => shown.push_str(&format!("<U+{:04X}>", u32::from(letter))),
        letter => shown.push(letter),
    }
}

/// Control characters; the marks of Unicode Standard Annex 9 that turn the direction of text; spaces of no width, line
/// separators and tags. The joiners U+200C and U+200D are left alone, since scripts and emoji need them.
pub(crate) fn is_hidden(letter: char) -> bool {
    // Most letters are these.
    if (' '..='~').contains(&letter) {
        return false;
    }
    letter.is_control()
        || matches!(letter,
            '\u{AD}' | '\u{61C}' | '\u{180E}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}'
            | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}')
}

#[cfg(test)]
mod tests {
    use super::visible;

    #[test]
    fn nothing_reaches_the_terminal_that_it_would_obey() {
        assert_eq!(visible("a\x1b[31mb\r\n\x07\x7f\u{9b}2J"), "a␛[31mb␍␊␇␡<U+009B>2J");
        assert_eq!(visible("Crane \u{202E}2\u{200B}"), "Crane <U+202E>2<U+200B>");
    }

    #[test]
    fn ordinary_text_is_left_alone() {
        for text in ["Bertha 2", "Kräne", "e\u{301}", "埠頭", "👩\u{200D}🚒"] {
            assert_eq!(visible(text), text);
        }
    }
}
