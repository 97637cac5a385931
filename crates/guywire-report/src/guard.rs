//! What may be shown of a table that holds secrets, judged from its text alone: only what is known to be harmless. This
//! stands beside what the workspace names as secret, for text that no table can be read from.

use std::ops::Range;

use guywire_plan::language::{FileKind, TableSpec, table_named};
use guywire_text::{Reading, Span, Statement, Value, read_block};

/// Characters of the longest name of a key, and some more.
const LONGEST_NAME: usize = 32;

/// Bytes of a block's text that are not known to be harmless, ordered, not overlapping. A table that the language knows
/// and that has no secret key is harmless; of any other, its header, the names of its keys, and the values of those that
/// are known and not secret are.
pub(crate) fn hidden(kind: FileKind, text: &str) -> Vec<Range<usize>> {
    let reading = read_block(text);
    let spec = table(kind, &reading);
    if is_bare(&reading) || spec.is_some_and(|spec| !spec.keys.iter().any(|key| key.secret)) {
        return Vec::new();
    }
    let mut harmless: Vec<Range<usize>> =
        reading.statements.iter().filter_map(|statement| of_statement(spec?, statement, text)).collect();
    harmless.extend(header(&reading, text));
    all_but(text, harmless)
}

/// The table that the block is, where its header is that table's own.
fn table(kind: FileKind, reading: &Reading) -> Option<&'static TableSpec> {
    let header = reading.header.as_ref()?;
    let spec = table_named(kind, &header.keys.first()?.text)?;
    let holds_secrets = spec.keys.iter().any(|key| key.secret);
    // What a header below a table with secrets makes is not looked up: nothing of it is known.
    (header.keys.len() == 1 || !holds_secrets).then_some(spec)
}

/// Nothing but comments before the first header.
fn is_bare(reading: &Reading) -> bool {
    reading.header.is_none()
        && reading.unreadable_header.is_none()
        && reading.statements.is_empty()
        && reading.errors.is_empty()
        && !reading.broken
}

/// What is harmless of a statement: all of it, its key and equals sign, or nothing.
fn of_statement(spec: &TableSpec, statement: &Statement, text: &str) -> Option<Range<usize>> {
    let [key] = statement.key.as_slice() else { return None };
    let known = spec.keys.iter().find(|known| known.name == &*key.text);
    if known.is_none() && !is_wordlike(&key.text) {
        return None;
    }
    let (key, value) = (range(key.span), range(statement.value.span));
    let simple = !matches!(statement.value.value, Value::Unreadable | Value::Table(_));
    if known.is_some_and(|known| !known.secret) && simple && statement.errors.is_empty() {
        return Some(key.start..value.end);
    }
    let equals = text.get(key.end..value.start).is_some_and(|between| between.trim() == "=");
    Some(if equals { key.start..value.start } else { key })
}

/// Looks like the name of a key and not like material, which has digits or capitals.
pub(crate) fn is_wordlike(name: &str) -> bool {
    name.len() <= LONGEST_NAME && name.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'_')
}

fn range(span: Span) -> Range<usize> {
    span.start as usize..span.end as usize
}

/// The header of a table's own; of one that cannot be read, what looks like the beginning of a header.
fn header(reading: &Reading, text: &str) -> Option<Range<usize>> {
    match (&reading.header, reading.unreadable_header) {
        (Some(header), _) if header.keys.len() == 1 => Some(range(header.span)),
        (None, Some(span)) => {
            let line = text.get(range(span))?;
            let looks = |letter: char| letter.is_ascii_alphanumeric() || "[]_-.".contains(letter);
            let end = line.find(|letter| !looks(letter)).unwrap_or(line.len());
            Some(range(span).start..range(span).start + end)
        }
        _ => None,
    }
}

/// All of the text but `shown` and the blanks around it.
fn all_but(text: &str, mut shown: Vec<Range<usize>>) -> Vec<Range<usize>> {
    shown.sort_by_key(|range| range.start);
    let mut hidden = Vec::new();
    let mut at = 0;
    for range in shown.into_iter().chain(Some(text.len()..text.len())) {
        if range.start > at {
            hidden.extend(trimmed(text, at..range.start));
        }
        at = at.max(range.end);
    }
    hidden
}

/// The range without blanks and line ends around it; none where there is nothing else.
pub(crate) fn trimmed(text: &str, range: Range<usize>) -> Option<Range<usize>> {
    let part = text.get(range.clone())?;
    let start = range.start + (part.len() - part.trim_start().len());
    let end = start + part.trim().len();
    (start < end).then_some(start..end)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> String {
        let mut shown = text.to_owned();
        for range in hidden(FileKind::Plan, text).into_iter().rev() {
            shown.replace_range(range, "~");
        }
        shown
    }

    #[test]
    fn tables_without_secrets_are_shown_as_they_are() {
        for text in ["[plan]\ntitel = 1 # x\n", "[[license.assignment]]\ntx_mhz = 1\n", "# a comment\n\n", ""] {
            assert_eq!(shown(text), text);
        }
    }

    #[test]
    fn of_a_table_with_secrets_what_is_known_is_shown() {
        let text = "[[key]] # a\n  name = \"a\" # b\nid = 3\nvalue = \"c\"\nvaleu = \"d\"\ne5\n";
        assert_eq!(shown(text), "[[key]] ~\n  name = \"a\" ~\nid = 3\nvalue = ~\nvaleu = ~\n");
        assert_eq!(shown("[key.value]\nhex = 1\n"), "~\n");
        assert_eq!(
            shown("[security]\nprogramming_code = { held_in = \"vault:a\" }\n"),
            "[security]\nprogramming_code = ~\n"
        );
    }

    #[test]
    fn of_an_unknown_table_the_header_is_shown() {
        assert_eq!(shown("[[kee]]\nname = \"a\"\n"), "[[kee]]\n~\n");
        assert_eq!(shown("[[key\nname = \"a\"\n"), "[[key\n~\n");
        assert_eq!(shown("[[key] value = \"a\"\n"), "[[key] ~\n");
        assert_eq!(shown("value = \"a\"\n"), "~\n");
    }

    /// Secrets of parts of tables would need a look at those parts above.
    #[test]
    fn secrets_stand_in_tables_of_the_top_level() {
        fn in_parts(spec: &TableSpec) -> bool {
            spec.keys
                .iter()
                .flat_map(|key| guywire_plan::language::parts_in(&key.value))
                .any(|(part, _)| part.keys.iter().any(|key| key.secret) || in_parts(part))
        }
        assert!(!guywire_plan::language::tables(FileKind::Plan).iter().any(|spec| in_parts(spec)));
    }
}
