//! Reading one block: its header and its statements, each alone.

use crate::lex::{after_blanks, after_line_end, after_mark, is_statement, line_end};
use crate::parse::{Fault, Header, Parser, token_end};
use crate::{BlockId, Item, Key, Span, SyntaxError, SyntaxErrorKind, Value};

/// One `key = value` of a block, which may run over several lines.
#[derive(Clone, PartialEq, Debug)]
pub struct Statement {
    /// The parts of its key.
    pub key: Vec<Key>,
    /// The value; [`Value::Unreadable`] if it cannot be read.
    pub value: Item,
    /// What is wrong with it.
    pub errors: Vec<SyntaxError>,
}

/// What one block reads as by itself.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Reading {
    /// The header. `None`: there is none, or it cannot be read.
    pub header: Option<Header>,
    /// The line of a header that cannot be read, without blanks around it.
    pub unreadable_header: Option<Span>,
    /// The statements that have a readable key, in text order.
    pub statements: Vec<Statement>,
    /// What is wrong outside these statements: the header, lines without a readable key, comments.
    pub errors: Vec<SyntaxError>,
    /// Whether a line has no readable key.
    pub broken: bool,
}

/// Reads a text as one block. Total: whatever cannot be read becomes an error and costs its own key only. Spans name
/// [`BlockId::ALONE`].
pub fn read_block(text: &str) -> Reading {
    read_as(text, BlockId::ALONE)
}

/// So many unclosed inline tables in one block are searched to the block's end for the bracket that closes them.
const PATIENCE: u32 = 16;

pub(crate) fn read_as(text: &str, block: BlockId) -> Reading {
    let bytes = text.as_bytes();
    let mut reading = Reading::default();
    let mut parser = Parser::new(text, block);
    let mut patience = PATIENCE;
    let mut at = after_mark(bytes);
    if bytes.get(after_blanks(bytes, at)) == Some(&b'[') {
        at = read_header(&mut parser, at, &mut reading);
    }
    while at < bytes.len() {
        let first = after_blanks(bytes, at);
        let end = match bytes.get(first) {
            None => break,
            Some(b'#') => line_end(bytes, first),
            Some(b'\n' | b'\r') => first,
            Some(_) => statement_end(bytes, at, &mut patience),
        };
        parser.begin(first..end);
        match bytes[first] {
            b'#' => parser.comment(),
            b'\n' | b'\r' => {}
            _ => read_statement(&mut parser, &mut reading),
        }
        at = after_line(&mut parser, end, &mut reading);
    }
    reading
}

/// Takes the line end at `at` and what went wrong before it.
fn after_line(parser: &mut Parser<'_>, at: usize, reading: &mut Reading) -> usize {
    parser.begin(at..parser.text.len());
    if at < parser.text.len() {
        parser.newline();
    }
    reading.errors.append(&mut parser.errors);
    parser.at
}

fn read_header(parser: &mut Parser<'_>, line: usize, reading: &mut Reading) -> usize {
    let bytes = parser.text.as_bytes();
    let first = after_blanks(bytes, line);
    let end = line_end(bytes, first);
    parser.begin(first..end);
    let whole = parser.rest_of_line(first);
    match parser.header() {
        Ok(header) => {
            reading.header = Some(header);
            parser.skip_blanks();
            if !matches!(parser.peek(), None | Some(b'#')) {
                let rest = parser.rest_of_line(parser.at);
                parser.error(rest, SyntaxErrorKind::TextAfterHeader);
            } else {
                parser.comment();
            }
        }
        Err(fault) => {
            reading.unreadable_header = Some(parser.span(whole.clone()));
            let kind = match fault.kind {
                SyntaxErrorKind::UnreadableKey => SyntaxErrorKind::UnreadableHeader,
                kind => kind,
            };
            parser.error(whole, kind);
        }
    }
    after_line(parser, end, reading)
}

fn read_statement(parser: &mut Parser<'_>, reading: &mut Reading) {
    let start = parser.at;
    let key = match parser.keys() {
        Ok(key) => key,
        Err(fault) => return broken_statement(parser, start, fault, reading),
    };
    let mut value = parser.assignment(&key, 0);
    parser.skip_blanks();
    match parser.peek() {
        None | Some(b'\n' | b'\r') => {}
        Some(b'#') => parser.comment(),
        // The value is wrong already, and the rest of the line with it.
        Some(_) if matches!(value.value, Value::Unreadable) && !parser.errors.is_empty() => {}
        Some(_) => {
            let rest = parser.rest_of_line(parser.at);
            parser.error(rest, SyntaxErrorKind::TextAfterValue);
            value.value = Value::Unreadable;
        }
    }
    let errors = std::mem::take(&mut parser.errors);
    reading.statements.push(Statement { key, value, errors });
}

fn broken_statement(parser: &mut Parser<'_>, start: usize, fault: Fault, reading: &mut Reading) {
    reading.broken = true;
    let line = parser.rest_of_line(start);
    let bytes = match fault.kind {
        SyntaxErrorKind::UnreadableKey => line,
        _ => fault.bytes,
    };
    parser.error(bytes, fault.kind);
    reading.errors.append(&mut parser.errors);
}

/// Where the statement that starts at `from` ends, before its line end: at the first line end outside brackets and
/// strings. A bracket that is never closed ends where another statement begins.
fn statement_end(bytes: &[u8], from: usize, patience: &mut u32) -> usize {
    let mut open = Vec::new();
    let mut heal = None;
    let mut at = from;
    while at < bytes.len() {
        match bytes[at] {
            b'\n' | b'\r' => {
                if open.is_empty() {
                    return at;
                }
                let next = after_line_end(bytes, at);
                if is_statement(bytes, next) {
                    let place = *heal.get_or_insert(at);
                    // Only inline tables hold keys.
                    if open.last() == Some(&b'[') || *patience == 0 {
                        *patience = patience.saturating_sub(u32::from(place < at));
                        return place;
                    }
                }
                at = next;
                continue;
            }
            b @ (b'[' | b'{') => open.push(b),
            b']' | b'}' => drop(open.pop()),
            _ => {}
        }
        at = token_end(bytes, at);
    }
    if open.is_empty() {
        return at;
    }
    *patience = patience.saturating_sub(1);
    heal.unwrap_or(at)
}

/// The first parts of the keys at the root, each once, in text order; for a block without a header.
pub(crate) fn first_keys(reading: &Reading) -> Vec<&str> {
    let mut seen = rustc_hash::FxHashSet::default();
    reading
        .statements
        .iter()
        .filter_map(|statement| statement.key.first())
        .map(|key| &*key.text)
        .filter(|key| seen.insert(*key))
        .collect()
}
