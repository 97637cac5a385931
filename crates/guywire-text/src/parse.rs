//! Keys, values and headers. Structure is read here; the content of strings with escapes, numbers other than plain
//! integers, and dates is decoded by `toml_edit`.

use std::ops::Range;

use crate::lex::{
    after_blanks, after_line_end, atom_end, is_bare, is_control, line_end, single_end, triple_at, triple_end,
};
use crate::tree::Builder;
use crate::{BlockId, Item, Key, MAX_DEPTH, Span, SyntaxError, SyntaxErrorKind, Value};

/// A table's header line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Header {
    /// The parts of its key.
    pub keys: Vec<Key>,
    /// Whether it has double brackets.
    pub array: bool,
    /// Its brackets and what is between them.
    pub span: Span,
}

/// What is wrong and where, before a value or key is given up.
pub(crate) struct Fault {
    pub(crate) bytes: Range<usize>,
    pub(crate) kind: SyntaxErrorKind,
}

/// A reader of one statement at a time, which ends at `end`.
pub(crate) struct Parser<'t> {
    pub(crate) text: &'t str,
    pub(crate) block: BlockId,
    pub(crate) at: usize,
    pub(crate) end: usize,
    pub(crate) errors: Vec<SyntaxError>,
    /// A bracket was not closed, or too many were open: the rest of the statement is skipped without further errors.
    lost: bool,
    /// A carriage return alone was reported; once a block is enough.
    returned: bool,
}

impl<'t> Parser<'t> {
    pub(crate) fn new(text: &'t str, block: BlockId) -> Parser<'t> {
        Parser { text, block, at: 0, end: text.len(), errors: Vec::new(), lost: false, returned: false }
    }

    /// Goes on with the statement in these bytes.
    pub(crate) fn begin(&mut self, bytes: Range<usize>) {
        (self.at, self.end, self.lost) = (bytes.start, bytes.end, false);
    }

    pub(crate) fn bytes(&self) -> &'t [u8] {
        &self.text.as_bytes()[..self.end]
    }

    pub(crate) fn peek(&self) -> Option<u8> {
        self.bytes().get(self.at).copied()
    }

    pub(crate) fn span(&self, bytes: Range<usize>) -> Span {
        Span { block: self.block, start: bytes.start as u32, end: bytes.end as u32 }
    }

    pub(crate) fn error(&mut self, bytes: Range<usize>, kind: SyntaxErrorKind) {
        let span = self.span(bytes);
        self.errors.push(SyntaxError { span, kind, related: None });
    }

    pub(crate) fn skip_blanks(&mut self) {
        self.at = after_blanks(self.bytes(), self.at);
    }

    /// From here to the end of the line, blanks at the end left out.
    pub(crate) fn rest_of_line(&self, from: usize) -> Range<usize> {
        let end = line_end(self.bytes(), from);
        let kept = self.bytes()[from..end].trim_ascii_end().len();
        from..from + kept
    }

    /// A comment, if one starts here.
    pub(crate) fn comment(&mut self) {
        if self.peek() != Some(b'#') {
            return;
        }
        let end = line_end(self.bytes(), self.at);
        if let Some(n) = self.bytes()[self.at..end].iter().position(|b| is_control(*b)) {
            self.error(self.at + n..self.at + n + 1, SyntaxErrorKind::ControlCharacter);
        }
        self.at = end;
    }

    /// A line end. TOML knows LF and CR LF.
    pub(crate) fn newline(&mut self) {
        let next = after_line_end(self.bytes(), self.at);
        if next == self.at + 1 && self.peek() == Some(b'\r') && !std::mem::replace(&mut self.returned, true) {
            self.error(self.at..next, SyntaxErrorKind::ControlCharacter);
        }
        self.at = next;
    }

    /// Blanks, comments and line ends.
    fn skip_lines(&mut self) {
        loop {
            self.skip_blanks();
            match self.peek() {
                Some(b'#') => self.comment(),
                Some(b'\n' | b'\r') => self.newline(),
                _ => return,
            }
        }
    }

    /// `[name]` or `[[name]]`, for a `[` here.
    pub(crate) fn header(&mut self) -> Result<Header, Fault> {
        let start = self.at;
        let array = self.bytes()[start..].starts_with(b"[[");
        let width = if array { 2 } else { 1 };
        self.at += width;
        let keys = self.keys()?;
        let close: &[u8] = if array { b"]]" } else { b"]" };
        if !self.bytes()[self.at..].starts_with(close) {
            return Err(Fault { bytes: self.at..self.at, kind: SyntaxErrorKind::UnreadableHeader });
        }
        self.at += width;
        if self.peek() == Some(b']') {
            return Err(Fault { bytes: self.at..self.at + 1, kind: SyntaxErrorKind::UnreadableHeader });
        }
        let span = self.span(start..self.at);
        Ok(Header { keys, array, span })
    }

    /// `a."b".c` with blanks around its parts.
    pub(crate) fn keys(&mut self) -> Result<Vec<Key>, Fault> {
        let start = self.at;
        let mut keys = Vec::with_capacity(1);
        loop {
            self.skip_blanks();
            keys.push(self.key()?);
            self.skip_blanks();
            if self.peek() != Some(b'.') {
                break;
            }
            self.at += 1;
        }
        if keys.len() > MAX_DEPTH {
            return Err(Fault { bytes: start..self.at, kind: SyntaxErrorKind::TooDeep });
        }
        Ok(keys)
    }

    fn key(&mut self) -> Result<Key, Fault> {
        let start = self.at;
        let bytes = self.bytes();
        if let Some(b'"' | b'\'') = self.peek() {
            let (end, closed) = single_end(bytes, start);
            if triple_at(bytes, start).is_some() {
                return Err(Fault { bytes: start..start + 3, kind: SyntaxErrorKind::UnreadableKey });
            }
            if !closed {
                return Err(Fault { bytes: start..end, kind: SyntaxErrorKind::UnclosedString });
            }
            let text = decode_string(&self.text[start..end], start)?;
            self.at = end;
            return Ok(Key { text, span: self.span(start..end) });
        }
        let end = bytes[start..].iter().position(|b| !is_bare(*b)).map_or(bytes.len(), |n| start + n);
        let atom = atom_end(bytes, start);
        if end == start || atom != end {
            return Err(Fault { bytes: start..atom, kind: SyntaxErrorKind::UnreadableKey });
        }
        self.at = end;
        Ok(Key { text: self.text[start..end].into(), span: self.span(start..end) })
    }

    /// A value, for a byte here that starts one or is wrong. Always moves on.
    pub(crate) fn value(&mut self, depth: usize) -> Item {
        let start = self.at;
        let value = match self.peek() {
            Some(b'[' | b'{') if depth >= MAX_DEPTH => {
                self.error(start..start + 1, SyntaxErrorKind::TooDeep);
                self.lost = true;
                self.at = self.end;
                Value::Unreadable
            }
            Some(b'[') => self.array(depth),
            Some(b'{') => self.inline_table(depth),
            Some(b'"' | b'\'') => self.string(),
            _ => self.scalar(),
        };
        let mut end = self.at;
        if self.lost {
            end = start + self.bytes()[start..end].trim_ascii_end().len();
        }
        Item { span: self.span(start..end), value }
    }

    fn string(&mut self) -> Value {
        let (start, bytes) = (self.at, self.bytes());
        let (end, closed) = match triple_at(bytes, start) {
            Some(quote) => match triple_end(bytes, start + 3, quote) {
                Some(end) => (end, true),
                None => (line_end(bytes, start), false),
            },
            None => single_end(bytes, start),
        };
        self.at = end;
        if !closed {
            let bytes = self.rest_of_line(start);
            self.error(bytes, SyntaxErrorKind::UnclosedString);
            return Value::Unreadable;
        }
        match decode_string(&self.text[start..end], start) {
            Ok(text) => Value::String(text),
            Err(fault) => self.unreadable(fault),
        }
    }

    fn unreadable(&mut self, fault: Fault) -> Value {
        self.error(fault.bytes, fault.kind);
        Value::Unreadable
    }

    fn scalar(&mut self) -> Value {
        let (start, bytes) = (self.at, self.bytes());
        let mut end = scalar_end(bytes, start);
        if end == start {
            // A lone `=`, `]` or `}`; whole characters all of them.
            self.at += 1;
            self.error(start..start + 1, SyntaxErrorKind::UnreadableValue);
            return Value::Unreadable;
        }
        if is_date(&bytes[start..end]) && is_time_after_blank(&bytes[end..]) {
            end = scalar_end(bytes, end + 1);
        }
        self.at = end;
        match decode_scalar(&self.text[start..end]) {
            Ok(value) => value,
            Err(kind) => self.unreadable(Fault { bytes: start..end, kind }),
        }
    }

    fn array(&mut self, depth: usize) -> Value {
        let open = self.at;
        self.at += 1;
        let mut items = Vec::new();
        let mut comma = true;
        loop {
            self.skip_lines();
            let at = self.at;
            match self.peek() {
                None => return self.unclosed(open),
                Some(b']') => {
                    self.at += 1;
                    return Value::Array(items);
                }
                Some(b',') => {
                    if std::mem::replace(&mut comma, true) {
                        self.error(at..at + 1, SyntaxErrorKind::ExtraComma);
                    }
                    self.at += 1;
                }
                Some(b'}') => {
                    self.error(at..at + 1, SyntaxErrorKind::StrayBracket);
                    self.at += 1;
                }
                Some(_) => {
                    let item = self.value(depth + 1);
                    if !std::mem::replace(&mut comma, false) && !self.lost {
                        self.error(item.span.start as usize..item.span.end as usize, SyntaxErrorKind::MissingComma);
                    }
                    items.push(item);
                }
            }
        }
    }

    fn unclosed(&mut self, open: usize) -> Value {
        if !std::mem::replace(&mut self.lost, true) {
            self.error(open..open + 1, SyntaxErrorKind::UnclosedBracket);
        }
        Value::Unreadable
    }

    fn inline_table(&mut self, depth: usize) -> Value {
        let open = self.at;
        self.at += 1;
        let mut table = Builder::root(self.span(open..open + 1));
        let mut comma = true;
        loop {
            self.skip_lines();
            let at = self.at;
            match self.peek() {
                None => return self.unclosed(open),
                Some(b'}') => {
                    self.at += 1;
                    return Value::Table(table.into_table());
                }
                Some(b',') => {
                    if std::mem::replace(&mut comma, true) {
                        self.error(at..at + 1, SyntaxErrorKind::ExtraComma);
                    }
                    self.at += 1;
                }
                Some(b']') => {
                    self.error(at..at + 1, SyntaxErrorKind::StrayBracket);
                    self.at += 1;
                }
                Some(_) => {
                    if !std::mem::replace(&mut comma, false) {
                        self.error(at..at, SyntaxErrorKind::MissingComma);
                    }
                    self.inline_entry(&mut table, depth + 1);
                }
            }
        }
    }

    fn inline_entry(&mut self, table: &mut Builder, depth: usize) {
        let keys = match self.keys() {
            Ok(keys) => keys,
            Err(fault) => {
                table.broken = true;
                self.error(fault.bytes, fault.kind);
                self.skip_element();
                return;
            }
        };
        let item = self.assignment(&keys, depth);
        if matches!(item.value, Value::Unreadable) {
            self.skip_element();
        }
        if let Err(clash) = table.insert(keys, item) {
            self.errors.push(clash.into());
        }
    }

    /// `= value` after a key.
    pub(crate) fn assignment(&mut self, keys: &[Key], depth: usize) -> Item {
        let key = match keys {
            [first, .., last] => first.span.start as usize..last.span.end as usize,
            [only] => only.span.start as usize..only.span.end as usize,
            [] => self.at..self.at,
        };
        if self.peek() != Some(b'=') {
            self.error(key.clone(), SyntaxErrorKind::MissingEquals);
            return Item { span: self.span(key), value: Value::Unreadable };
        }
        let equals = self.at;
        self.at += 1;
        self.skip_blanks();
        if matches!(self.peek(), None | Some(b'\n' | b'\r' | b'#' | b',' | b']' | b'}')) {
            self.error(equals..equals + 1, SyntaxErrorKind::MissingValue);
            return Item { span: self.span(equals + 1..equals + 1), value: Value::Unreadable };
        }
        self.value(depth)
    }

    /// To the comma, closing bracket or line end after a broken element.
    fn skip_element(&mut self) {
        let mut depth = 0_usize;
        while let Some(b) = self.peek() {
            match b {
                b',' | b']' | b'}' | b'\n' | b'\r' if depth == 0 => return,
                b']' | b'}' => depth -= 1,
                b'[' | b'{' => depth += 1,
                _ => {}
            }
            self.at = token_end(self.bytes(), self.at);
        }
    }
}

/// The end of the token that starts at `at`, however it is broken. Always moves on.
pub(crate) fn token_end(bytes: &[u8], at: usize) -> usize {
    match bytes[at] {
        b'#' => line_end(bytes, at),
        b'"' | b'\'' => match triple_at(bytes, at) {
            Some(quote) => triple_end(bytes, at + 3, quote).unwrap_or_else(|| line_end(bytes, at)),
            None => single_end(bytes, at).0,
        },
        b'\n' | b'\r' => after_line_end(bytes, at),
        _ => atom_end(bytes, at).max(at + 1),
    }
}

fn scalar_end(bytes: &[u8], at: usize) -> usize {
    let is_end = |b: &u8| matches!(b, b' ' | b'\t' | b'\n' | b'\r' | b'#' | b',' | b'[' | b']' | b'{' | b'}' | b'=');
    bytes[at..].iter().position(is_end).map_or(bytes.len(), |n| at + n)
}

fn is_date(token: &[u8]) -> bool {
    token.len() == 10
        && token.iter().enumerate().all(|(n, b)| if n == 4 || n == 7 { *b == b'-' } else { b.is_ascii_digit() })
}

fn is_time_after_blank(rest: &[u8]) -> bool {
    matches!(rest, [b' ', a, b, b':', ..] if a.is_ascii_digit() && b.is_ascii_digit())
}

/// The content of a string, its quotes included in `token`, which starts at `start`.
fn decode_string(token: &str, start: usize) -> Result<Box<str>, Fault> {
    let bytes = token.as_bytes();
    if triple_at(bytes, 0).is_none() {
        let inner = &token[1..token.len() - 1];
        if let Some(n) = inner.bytes().position(is_control) {
            return Err(Fault { bytes: start + 1 + n..start + 2 + n, kind: SyntaxErrorKind::ControlCharacter });
        }
        if bytes[0] == b'\'' || !inner.contains('\\') {
            return Ok(inner.into());
        }
    }
    match token.parse::<toml_edit::Value>() {
        Ok(toml_edit::Value::String(text)) => Ok(text.into_value().into_boxed_str()),
        Ok(_) => Err(Fault { bytes: start..start + token.len(), kind: SyntaxErrorKind::Other }),
        Err(error) => Err(string_fault(token, start, error.span())),
    }
}

fn string_fault(token: &str, start: usize, place: Option<Range<usize>>) -> Fault {
    let control = |(n, b): (usize, u8)| {
        let alone = b == b'\r' && token.as_bytes().get(n + 1) != Some(&b'\n');
        (alone || (is_control(b) && !matches!(b, b'\n' | b'\r'))).then_some(n)
    };
    if let Some(n) = token.bytes().enumerate().find_map(control) {
        return Fault { bytes: start + n..start + n + 1, kind: SyntaxErrorKind::ControlCharacter };
    }
    // The place given may be the empty one after the backslash: mark the backslash and what follows it.
    let place = place.filter(|place| token.get(place.clone()).is_some()).unwrap_or(0..token.len());
    let first = token[..place.end].rfind('\\').unwrap_or(place.start);
    let next = token[first..].char_indices().nth(2).map_or(token.len(), |(n, _)| first + n);
    Fault { bytes: start + first..start + place.end.max(next), kind: SyntaxErrorKind::BadEscape }
}

fn decode_scalar(token: &str) -> Result<Value, SyntaxErrorKind> {
    match token {
        "true" => return Ok(Value::Boolean(true)),
        "false" => return Ok(Value::Boolean(false)),
        _ => {}
    }
    if let Some(value) = plain_integer(token) {
        return Ok(Value::Integer(value));
    }
    let digits = token.trim_start_matches(['+', '-']);
    if !digits.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '_')) && !matches!(digits, "inf" | "nan") {
        return Err(SyntaxErrorKind::UnreadableValue);
    }
    match token.parse::<toml_edit::Value>() {
        Ok(toml_edit::Value::Integer(value)) => Ok(Value::Integer(value.into_value())),
        Ok(toml_edit::Value::Float(_)) => Ok(Value::Float(token.into())),
        Ok(toml_edit::Value::Datetime(value)) => Ok(Value::Datetime(value.into_value())),
        Ok(_) => Err(SyntaxErrorKind::UnreadableValue),
        Err(_) => Err(scalar_fault(token)),
    }
}

/// An integer as nearly all are written: digits without leading zero or underscore, too few to overflow.
fn plain_integer(token: &str) -> Option<i64> {
    let digits = token.strip_prefix('-').unwrap_or(token);
    let plain = (1..=18).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
    if !plain || (digits.len() > 1 && digits.starts_with('0')) {
        return None;
    }
    token.parse().ok()
}

fn scalar_fault(token: &str) -> SyntaxErrorKind {
    let bytes = token.as_bytes();
    let is_dated = bytes.len() > 4 && bytes[..4].iter().all(u8::is_ascii_digit) && bytes[4] == b'-';
    if is_dated || token.contains(':') {
        return SyntaxErrorKind::UnreadableDate;
    }
    let digits = token.trim_start_matches(['+', '-']).replace('_', "");
    let is_integer = |radix| {
        let digits = if radix == 10 { Some(&*digits) } else { digits.get(2..) };
        digits.is_some_and(|d| d.len() > 15 && !d.starts_with('0') && d.chars().all(|c| c.is_digit(radix)))
    };
    let too_large = match digits.get(..2) {
        Some("0x") => is_integer(16),
        Some("0o") => is_integer(8),
        Some("0b") => is_integer(2),
        _ => is_integer(10),
    };
    let is_infinite = digits.parse::<f64>().is_ok_and(f64::is_infinite);
    if too_large || is_infinite { SyntaxErrorKind::OutOfRange } else { SyntaxErrorKind::UnreadableNumber }
}
