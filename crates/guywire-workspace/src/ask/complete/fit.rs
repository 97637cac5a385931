//! How what is chosen fits into the text that is there: quotes, brackets and commas, whether or not they are written.

use super::context::Asked;
use super::cursor::{Token, is_blank, is_key, is_line_end};
use super::item::{Content, Draft, Fitted, Written};

/// What is typed of a value, without the quote.
pub(crate) fn typed<'a>(asked: &'a Asked<'_>, token: &Token) -> &'a str {
    let start = match token {
        Token::Empty => asked.at,
        Token::Bare(bytes) => bytes.start,
        Token::Quoted { inside, .. } => inside.start,
    };
    asked.text.get(start..asked.at).unwrap_or_default()
}

/// A value in the place of what is written of it.
pub(crate) fn value(asked: &Asked<'_>, token: &Token, draft: &Draft) -> Fitted {
    if let (Token::Quoted { quote, inside, closed }, Content::Text(text), false) =
        (token, &draft.content, draft.in_list)
        && let Some(mut text) = inside_quotes(text, *quote)
    {
        text.push(char::from(*quote));
        let end = inside.end + usize::from(*closed);
        let written = followed(asked, Written::of(&text), end);
        return Fitted { bytes: asked.base + inside.start..asked.base + end, written, lead: String::new() };
    }
    let (start, end) = match token {
        Token::Empty => (asked.at, asked.at),
        Token::Bare(bytes) => (bytes.start, bytes.end),
        Token::Quoted { inside, closed, .. } => (inside.start - 1, inside.end + usize::from(*closed)),
    };
    let mut written = Written::of(before(asked, start));
    if draft.in_list {
        written.text("[");
    }
    match &draft.content {
        Content::Text(text) => written.text(&quoted(text)),
        Content::Made(made) => written.append(made),
    }
    if draft.in_list {
        written.text("]");
    }
    let lead = match token {
        Token::Quoted { quote, .. } => char::from(*quote).to_string(),
        _ => String::new(),
    };
    Fitted { bytes: asked.base + start..asked.base + end, written: followed(asked, written, end), lead }
}

/// What must come before something that is inserted.
pub(crate) fn before(asked: &Asked<'_>, start: usize) -> &'static str {
    match asked.text[..start].chars().next_back() {
        _ if asked.cursor.comma_before => ", ",
        Some('=') => " ",
        _ => "",
    }
}

fn followed(asked: &Asked<'_>, mut written: Written, end: usize) -> Written {
    written.text(comma_after(asked, end));
    written
}

/// A comma, where another element or key comes next without one.
pub(crate) fn comma_after(asked: &Asked<'_>, end: usize) -> &'static str {
    let in_list = matches!(asked.cursor.steps.last(), Some(super::cursor::Step::Element));
    if !in_list && asked.cursor.around.is_none() {
        return "";
    }
    let bytes = asked.text.as_bytes();
    let mut at = end;
    let mut same_line = true;
    loop {
        match bytes.get(at) {
            Some(it) if is_blank(*it) => at += 1,
            Some(it) if is_line_end(*it) => {
                same_line = false;
                at += 1;
            }
            Some(b'#') => at += bytes[at..].iter().position(|it| is_line_end(*it)).unwrap_or(bytes.len() - at),
            Some(b'"' | b'\'' | b'{') => break,
            // On a line of its own it may as well be the next statement.
            Some(it) if is_key(*it) && (same_line || it.is_ascii_digit()) => break,
            _ => return "",
        }
    }
    if at == end { ", " } else { "," }
}

/// A text as TOML.
pub(crate) fn quoted(text: &str) -> String {
    let mut written = String::with_capacity(text.len() + 2);
    written.push('"');
    escaped(text, &mut written);
    written.push('"');
    written
}

/// A name as a key of TOML: bare where it can be.
pub(crate) fn key(name: &str) -> String {
    let bare = !name.is_empty() && name.bytes().all(is_key);
    if bare { name.to_owned() } else { quoted(name) }
}

/// A text as it stands between these quotes; none where it cannot.
fn inside_quotes(text: &str, quote: u8) -> Option<String> {
    if quote == b'\'' {
        return text.chars().all(|letter| letter != '\'' && !letter.is_control()).then(|| text.to_owned());
    }
    let mut written = String::with_capacity(text.len() + 1);
    escaped(text, &mut written);
    Some(written)
}

/// The escapes of a basic string (TOML 1.0).
fn escaped(text: &str, out: &mut String) {
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            letter if letter.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(letter))),
            letter => out.push(letter),
        }
    }
}
