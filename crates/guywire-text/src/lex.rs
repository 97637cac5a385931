//! Tokens, as far as blocks and statements need them. The rules are those of `toml_parser` 1.1: a quote inside a bare
//! run opens no string, a string on one line ends at the line's end at the latest.
//!
//! A line ends at LF, CR LF or a CR alone here, as positions count lines; TOML has no CR alone, so texts that are valid
//! never show the difference.

/// The two kinds of strings over several lines.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Quote {
    Basic,
    Literal,
}

impl Quote {
    pub(crate) fn byte(self) -> u8 {
        match self {
            Quote::Basic => b'"',
            Quote::Literal => b'\'',
        }
    }
}

/// UTF-8 byte-order mark.
pub(crate) const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";

/// Where the text proper starts: after a byte-order mark, if there is one.
pub(crate) fn after_mark(bytes: &[u8]) -> usize {
    if bytes.starts_with(BYTE_ORDER_MARK) { BYTE_ORDER_MARK.len() } else { 0 }
}

/// The end of the line that holds `at`, before its line end.
pub(crate) fn line_end(bytes: &[u8], at: usize) -> usize {
    bytes[at..].iter().position(|b| matches!(b, b'\n' | b'\r')).map_or(bytes.len(), |n| at + n)
}

/// The start of the next line, for `at` on the first byte of a line end.
pub(crate) fn after_line_end(bytes: &[u8], at: usize) -> usize {
    match bytes.get(at) {
        Some(b'\r') if bytes.get(at + 1) == Some(&b'\n') => at + 2,
        Some(_) => at + 1,
        None => at,
    }
}

/// The first byte from `at` on that is neither space nor tab.
pub(crate) fn after_blanks(bytes: &[u8], at: usize) -> usize {
    bytes[at..].iter().position(|b| !matches!(b, b' ' | b'\t')).map_or(bytes.len(), |n| at + n)
}

/// The kind of the string over several lines that opens at `at`, if one does.
pub(crate) fn triple_at(bytes: &[u8], at: usize) -> Option<Quote> {
    let rest = &bytes[at..];
    if rest.starts_with(b"\"\"\"") {
        return Some(Quote::Basic);
    }
    rest.starts_with(b"'''").then_some(Quote::Literal)
}

/// The end of a string on one line that opens at `at`, and whether its closing quote is there.
pub(crate) fn single_end(bytes: &[u8], at: usize) -> (usize, bool) {
    let quote = bytes[at];
    let mut i = at + 1;
    while let Some(&b) = bytes.get(i) {
        match b {
            b'\n' | b'\r' => return (i, false),
            b'\\' if quote == b'"' => {
                i += if matches!(bytes.get(i + 1), Some(b'"' | b'\\')) { 2 } else { 1 };
            }
            _ if b == quote => return (i + 1, true),
            _ => i += 1,
        }
    }
    (i, false)
}

/// The end of a string over several lines whose content goes on at `from`: after its closing quotes, of which two more
/// than three may belong to the content.
pub(crate) fn triple_end(bytes: &[u8], from: usize, quote: Quote) -> Option<usize> {
    let q = quote.byte();
    let mut i = from;
    while i < bytes.len() {
        if bytes[i] == b'\\' && quote == Quote::Basic {
            i += if matches!(bytes.get(i + 1), Some(b'"' | b'\\')) { 2 } else { 1 };
        } else if bytes[i] == q && bytes[i..].starts_with(&[q, q, q]) {
            let more = bytes[i + 3..].iter().take(2).take_while(|b| **b == q).count();
            return Some(i + 3 + more);
        } else {
            i += 1;
        }
    }
    None
}

/// Whether three quotes of a kind stand side by side anywhere.
pub(crate) fn has_triple(bytes: &[u8], quote: Quote) -> bool {
    let q = quote.byte();
    let mut i = 2;
    while i < bytes.len() {
        if bytes[i] != q {
            i += 3;
        } else if bytes[i - 1] == q && bytes[i - 2] == q {
            return true;
        } else {
            i += 1;
        }
    }
    false
}

/// The end of the bare run that starts at `at`.
pub(crate) fn atom_end(bytes: &[u8], at: usize) -> usize {
    bytes[at..].iter().position(|b| ATOM_END[*b as usize]).map_or(bytes.len(), |n| at + n)
}

const ATOM_END: [bool; 256] = {
    let mut ends = [false; 256];
    let set = b".=,[]{} \t#\r\n";
    let mut i = 0;
    while i < set.len() {
        ends[set[i] as usize] = true;
        i += 1;
    }
    ends
};

pub(crate) fn is_bare(b: u8) -> bool {
    b.is_ascii_alphanumeric() || matches!(b, b'_' | b'-')
}

/// Whether a character may not stand in a comment or on a line of a string. Source: TOML 1.0.0, "Comment", "String".
pub(crate) fn is_control(b: u8) -> bool {
    (b < 0x20 && b != b'\t') || b == 0x7f
}

/// Whether a line, from its first byte that is not blank, reads as a header of bare keys and nothing but a comment after
/// it, with a name that is no value. Inside brackets no valid text has such a line, so a header that follows an unclosed
/// bracket is told from an array.
pub(crate) fn is_bare_header(line: &[u8]) -> bool {
    let open = if line.starts_with(b"[[") { 2 } else { 1 };
    let start = after_blanks(line, open);
    if !line.get(start).is_some_and(|b| b.is_ascii_alphabetic() || *b == b'_') {
        return false;
    }
    let Some(end) = bare_path_end(line, start) else { return false };
    if matches!(line[start..end].trim_ascii(), b"true" | b"false" | b"inf" | b"nan") {
        return false;
    }
    let close: &[u8] = if open == 2 { b"]]" } else { b"]" };
    if !line[end..].starts_with(close) {
        return false;
    }
    let rest = after_blanks(line, end + open);
    matches!(line.get(rest), None | Some(b'#'))
}

/// The end of `name.name` with blanks around its parts.
fn bare_path_end(line: &[u8], start: usize) -> Option<usize> {
    let mut i = start;
    loop {
        i = after_blanks(line, i);
        let end = line[i..].iter().position(|b| !is_bare(*b)).map_or(line.len(), |n| i + n);
        if end == i {
            return None;
        }
        i = after_blanks(line, end);
        if line.get(i) != Some(&b'.') {
            return Some(i);
        }
        i += 1;
    }
}

/// Whether a line that starts at `at` begins with a key and an equals sign. Inside an array no valid text has such a
/// line, so a statement that follows an unclosed bracket is told from an element.
pub(crate) fn is_statement(bytes: &[u8], at: usize) -> bool {
    let mut i = at;
    loop {
        i = after_blanks(bytes, i);
        let end = match bytes.get(i) {
            Some(b'"' | b'\'') if triple_at(bytes, i).is_none() => match single_end(bytes, i) {
                (end, true) => end,
                _ => return false,
            },
            _ => bytes[i..].iter().position(|b| !is_bare(*b)).map_or(bytes.len(), |n| i + n),
        };
        if end == i {
            return false;
        }
        i = after_blanks(bytes, end);
        match bytes.get(i) {
            Some(b'=') => return true,
            Some(b'.') => i += 1,
            _ => return false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_of_bare_keys_is_told_from_an_array() {
        for header in ["[a]", "[[a]]", "[ a . b-1 ]  # x", "[_x]", "[[true.a]]", "[a1.2]"] {
            assert!(is_bare_header(header.as_bytes()), "{header}");
        }
        for other in
            ["[2]", "[1.5]", "[1979-05-27]", "[true]", "[ false ]", "[inf]", "[[nan]]", "[a],", "[a", "[a]]", "[]"]
        {
            assert!(!is_bare_header(other.as_bytes()), "{other}");
        }
    }

    #[test]
    fn strings_end_where_toml_ends_them() {
        assert_eq!(single_end(br#""a\"b" c"#, 0), (6, true));
        assert_eq!(single_end(b"'a\\' c", 0), (4, true));
        assert_eq!(single_end(b"\"a\nb\"", 0), (2, false));
        assert_eq!(triple_end(br#""""a\"""b""""" c"#, 3, Quote::Basic), Some(14));
        assert_eq!(triple_end(b"'''a\\''' c", 3, Quote::Literal), Some(8));
        assert_eq!(triple_end(br#""""a\""""#, 3, Quote::Basic), None);
    }

    #[test]
    fn three_quotes_are_found_wherever_they_stand() {
        for n in 0..8 {
            let text = format!("{}'''{}", "x".repeat(n), "y".repeat(n % 3));
            assert!(has_triple(text.as_bytes(), Quote::Literal), "{text}");
            assert!(!has_triple(text.as_bytes(), Quote::Basic), "{text}");
            assert!(!has_triple(text.replace("'''", "''x''").as_bytes(), Quote::Literal));
        }
    }

    #[test]
    fn a_statement_is_told_from_an_element() {
        for statement in ["a = 1", " a.'b c' . \"d\"= 1", "1 ="] {
            assert!(is_statement(statement.as_bytes(), 0), "{statement}");
        }
        for other in ["\"a\",", "1, 2", "{ a = 1 }", "a", "", "# a = 1", "'a = 1"] {
            assert!(!is_statement(other.as_bytes(), 0), "{other}");
        }
    }
}
