//! What is being written at a byte of a block, told from the text alone: the text may be broken there, and all around.

use std::ops::Range;

/// One step from a table to what is written in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Step {
    /// The value of this key.
    Key(String),
    /// An element of the list.
    Element,
}

/// A key with its value, as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Pair {
    /// The parts of the key.
    pub key: Vec<String>,
    /// The value; empty where there is none.
    pub value: Range<usize>,
    /// The cursor is in it.
    pub asked: bool,
}

/// The header that the cursor's table is written under.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct HeaderLine {
    /// The parts of its key.
    pub path: Vec<String>,
}

/// What is under the cursor where a value is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Token {
    /// Nothing yet.
    Empty,
    /// A word or number without quotes.
    Bare(Range<usize>),
    /// A string on one line.
    Quoted {
        /// The quote that opens it.
        quote: u8,
        /// The bytes between the quotes.
        inside: Range<usize>,
        /// A quote closes it.
        closed: bool,
    },
}

/// What the cursor is at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Place {
    /// The header of a table.
    Header {
        /// From the first bracket to the last one, or to where the text ends.
        whole: Range<usize>,
        /// Brackets that open it, 1 or 2.
        opens: usize,
        /// It ends in a bracket.
        closed: bool,
    },
    /// A key.
    Key {
        /// What is written of the part of the key that the cursor is in.
        part: Range<usize>,
        /// An equals sign or a point follows.
        goes_on: bool,
        /// It stands before another key, on the same line.
        before: bool,
    },
    /// A value.
    Value(Token),
    /// A comment, the end of a value, a text over several lines.
    Nothing,
}

/// All that the text says of a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cursor {
    /// What is being written.
    pub place: Place,
    /// The header above it; none before the first.
    pub header: Option<HeaderLine>,
    /// The way from that header's table.
    pub steps: Vec<Step>,
    /// The inline table around it: its keys, if there is one.
    pub around: Option<Vec<Pair>>,
    /// The list around it: the texts in it.
    pub elements: Vec<String>,
    /// The keys of the header's table, the cursor's own statement too.
    pub statements: Vec<Pair>,
    /// A comma must come before what is inserted.
    pub comma_before: bool,
    /// Nothing is written on the cursor's line but what it is in.
    pub own_line: bool,
}

/// Looks at a block with a cursor in it.
pub(crate) fn look(text: &str, at: usize) -> Cursor {
    let mut scanner = Scanner {
        text,
        bytes: text.as_bytes(),
        at,
        pos: 0,
        found: None,
        header: None,
        steps: Vec::new(),
        statements: Vec::new(),
        over: false,
    };
    scanner.block();
    let mut cursor = scanner.found.unwrap_or(Cursor {
        place: Place::Nothing,
        header: None,
        steps: Vec::new(),
        around: None,
        elements: Vec::new(),
        statements: Vec::new(),
        comma_before: false,
        own_line: false,
    });
    if cursor.header.is_none() {
        cursor.header = scanner.header;
    }
    cursor.statements = scanner.statements;
    cursor
}

struct Scanner<'t> {
    text: &'t str,
    bytes: &'t [u8],
    at: usize,
    pos: usize,
    found: Option<Cursor>,
    header: Option<HeaderLine>,
    steps: Vec<Step>,
    statements: Vec<Pair>,
    /// Another table begins after the cursor: what follows is none of its business.
    over: bool,
}

/// How a list or inline table ended.
#[derive(PartialEq, Eq)]
enum End {
    Closed,
    /// The line on which it should have ended is over, or another statement begins.
    Broken,
}

impl Scanner<'_> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.pos).copied()
    }

    fn skip(&mut self, is: impl Fn(u8) -> bool) {
        while self.peek().is_some_and(&is) {
            self.pos += 1;
        }
    }

    fn line_end(&self, from: usize) -> usize {
        self.bytes[from..].iter().position(|it| is_line_end(*it)).map_or(self.bytes.len(), |offset| from + offset)
    }

    fn find(&mut self, place: Place) {
        if self.found.is_some() {
            return;
        }
        self.found = Some(Cursor {
            place,
            header: self.header.clone(),
            steps: self.steps.clone(),
            around: None,
            elements: Vec::new(),
            statements: Vec::new(),
            comma_before: false,
            own_line: false,
        });
    }

    /// Whether the cursor is between two bytes, both included, and was not found before.
    fn is_in(&self, start: usize, end: usize) -> bool {
        self.found.is_none() && start <= self.at && self.at <= end
    }

    fn block(&mut self) {
        if self.text.starts_with('\u{feff}') {
            self.pos = '\u{feff}'.len_utf8();
        }
        while !self.over {
            let line = self.pos;
            self.skip(is_blank);
            match self.peek() {
                None => {
                    if self.is_in(line, self.pos) {
                        self.own_line();
                    }
                    return;
                }
                Some(b'#') => self.comment(line),
                Some(it) if is_line_end(it) => {
                    if self.is_in(line, self.pos) {
                        self.own_line();
                    }
                    self.pos += 1;
                }
                Some(b'[') => self.header(),
                Some(_) => self.statement(line),
            }
        }
    }

    fn own_line(&mut self) {
        self.find(Place::Key { part: self.at..self.at, goes_on: false, before: false });
        if let Some(found) = &mut self.found {
            found.own_line = true;
        }
    }

    fn comment(&mut self, line: usize) {
        let end = self.line_end(self.pos);
        if self.is_in(line, end) {
            self.find(Place::Nothing);
        }
        self.pos = end;
    }

    fn header(&mut self) {
        let start = self.pos;
        let end = self.line_end(start);
        if self.found.is_some() {
            self.over = true;
            return;
        }
        let opens = if self.bytes.get(start + 1) == Some(&b'[') { 2 } else { 1 };
        self.pos = start + opens;
        let path = self.header_path(end);
        self.skip(is_blank);
        let names_end = self.pos;
        self.skip(|it| it == b']');
        let closed = self.pos > names_end;
        let whole_end = if closed { self.pos } else { trimmed_end(self.bytes, start, names_end) };
        self.statements.clear();
        if self.is_in(start + 1, whole_end.max(start + opens)) {
            self.header = None;
            self.find(Place::Header { whole: start..whole_end.max(start + opens), opens, closed });
        } else {
            self.header = Some(HeaderLine { path });
            if self.is_in(start, end) {
                self.find(Place::Nothing);
            }
        }
        self.pos = end;
    }

    /// The parts of a header's key, up to its end or to something that no key has.
    fn header_path(&mut self, end: usize) -> Vec<String> {
        let mut path = Vec::new();
        loop {
            self.skip(is_blank);
            match self.segment(end) {
                Some((part, _)) => path.push(part),
                None => return path,
            }
            self.skip(is_blank);
            if self.peek() != Some(b'.') || self.pos >= end {
                return path;
            }
            self.pos += 1;
        }
    }

    /// One part of a key, unquoted, and where it stands.
    fn segment(&mut self, end: usize) -> Option<(String, Range<usize>)> {
        let start = self.pos;
        match self.peek() {
            Some(quote @ (b'"' | b'\'')) => {
                let close = string_end(&self.bytes[..end], start + 1, quote);
                self.pos = close.map_or(end, |close| close + 1);
                let inside = self.text.get(start + 1..close.unwrap_or(end))?;
                Some((unescaped(inside, quote), start..self.pos))
            }
            _ => {
                // Letters of other alphabets are no key, but they belong to what is being typed.
                self.skip(|it| is_key(it) || it >= 0x80);
                (self.pos > start).then(|| (self.text[start..self.pos].to_owned(), start..self.pos))
            }
        }
    }

    fn statement(&mut self, line: usize) {
        let start = self.pos;
        let before = self.found.is_some();
        let depth = self.steps.len();
        let key = self.key(line);
        let mut value = self.pos..self.pos;
        if self.peek() == Some(b'=') {
            self.pos += 1;
            value = self.value();
        }
        let end = self.rest_of_line(before);
        let asked = !before && self.found.is_some();
        if let Some(found) = self.found.as_mut().filter(|found| asked && matches!(found.place, Place::Key { .. })) {
            found.own_line |= found.around.is_none() && self.bytes[line..start].iter().all(|it| is_blank(*it));
        }
        self.steps.truncate(depth);
        if !key.is_empty() {
            self.statements.push(Pair { key, value, asked });
        }
        self.pos = end.max(start + 1).min(self.bytes.len());
    }

    /// What is left of a line after a statement belongs to nothing.
    fn rest_of_line(&mut self, before: bool) -> usize {
        let end = self.line_end(self.pos);
        if !before && self.is_in(self.pos, end) {
            self.find(Place::Nothing);
        }
        end
    }

    /// A key with its points; leaves the steps to its value, and the cursor where it is in it.
    fn key(&mut self, line: usize) -> Vec<String> {
        let mut parts = Vec::new();
        let mut from = line;
        loop {
            self.skip(is_blank);
            let end = self.line_end(self.pos);
            let segment = self.segment(end);
            let after = self.pos;
            self.skip(is_blank);
            let goes_on = matches!(self.peek(), Some(b'=' | b'.'));
            match &segment {
                Some((_, part)) if parts.is_empty() && self.is_in(from, part.start) => {
                    self.find(Place::Key { part: self.at..self.at, goes_on: false, before: true });
                }
                Some((_, part)) if self.is_in(part.start, part.end) => {
                    self.find(Place::Key { part: part.clone(), goes_on, before: false });
                }
                None if self.is_in(from, self.pos) => {
                    self.find(Place::Key { part: self.at..self.at, goes_on, before: false });
                }
                _ if self.is_in(after, self.pos) => self.find(Place::Nothing),
                _ => {}
            }
            let Some((text, _)) = segment else { return parts };
            self.steps.push(Step::Key(text.clone()));
            parts.push(text);
            if self.peek() != Some(b'.') {
                return parts;
            }
            self.pos += 1;
            from = self.pos;
        }
    }

    /// What follows an equals sign.
    fn value(&mut self) -> Range<usize> {
        let from = self.pos;
        self.skip(is_blank);
        let start = self.pos;
        if self.peek().is_none_or(|it| is_line_end(it) || matches!(it, b'#' | b',' | b']' | b'}')) {
            if self.is_in(from, start) {
                self.find(Place::Value(Token::Empty));
            }
            return start..start;
        }
        if from < start && self.is_in(from, start - 1) {
            self.find(Place::Nothing);
        }
        self.read();
        start..self.pos
    }

    /// Any value. The cursor right before a list or inline table is in nothing.
    fn read(&mut self) {
        let start = self.pos;
        match self.peek() {
            Some(b'[') => {
                if self.is_in(start, start) {
                    self.find(Place::Nothing);
                }
                self.pos += 1;
                self.list();
            }
            Some(b'{') => {
                if self.is_in(start, start) {
                    self.find(Place::Nothing);
                }
                self.pos += 1;
                self.inline();
            }
            Some(quote @ (b'"' | b'\'')) => self.string(quote),
            _ => self.bare(),
        }
    }

    fn string(&mut self, quote: u8) {
        let start = self.pos;
        let three = [quote; 3];
        if self.bytes[start..].starts_with(&three) {
            let body = start + 3;
            let end = triple_end(self.bytes, body, quote).unwrap_or(self.line_end(body));
            if self.is_in(start + 1, end - usize::from(end > body)) {
                self.find(Place::Nothing);
            }
            self.pos = end;
            return;
        }
        let inside = start + 1;
        let line = self.line_end(inside);
        let close = string_end(&self.bytes[..line], inside, quote);
        let asked = self.found.is_none() && inside <= self.at && self.at <= close.unwrap_or(line);
        let close = close.filter(|close| !asked || closes(&self.bytes[..line], *close));
        let end = match close {
            Some(close) => close,
            None if asked => open_end(self.bytes, self.at, line, inside),
            None => line,
        };
        if self.is_in(inside, end) {
            self.find(Place::Value(Token::Quoted { quote, inside: inside..end, closed: close.is_some() }));
        }
        self.pos = if close.is_some() { end + 1 } else { end };
        if self.is_in(start, start) {
            self.find(Place::Value(Token::Bare(start..self.pos)));
        }
    }

    fn bare(&mut self) {
        let start = self.pos;
        self.skip(|it| !is_line_end(it) && !matches!(it, b',' | b']' | b'}' | b'#'));
        let end = trimmed_end(self.bytes, start, self.pos);
        self.pos = end;
        if self.is_in(start, end) {
            self.find(Place::Value(Token::Bare(start..end)));
        }
        if end == start {
            // Something that no value begins with: it is stepped over, so that the scan goes on.
            self.pos +=
                usize::from(self.peek().is_some_and(|it| it != b',' && it != b']' && it != b'}' && !is_line_end(it)));
        }
    }

    fn list(&mut self) -> End {
        self.steps.push(Step::Element);
        let outside = self.found.is_some();
        let mut texts = Vec::new();
        let end = self.elements(&mut texts);
        self.steps.pop();
        if let Some(found) = self.found.as_mut().filter(|_| !outside) {
            let direct = found.steps.len() == self.steps.len() + 1;
            if direct {
                found.elements = texts;
            }
        }
        end
    }

    fn elements(&mut self, texts: &mut Vec<String>) -> End {
        // Whether a value stands before, without a comma after it.
        let mut before = false;
        loop {
            let from = self.pos;
            let goes_on = self.between();
            let start = self.pos;
            if self.is_in(from, start) {
                let nested = self.at == start && self.peek() == Some(b'[');
                self.find(if nested { Place::Nothing } else { Place::Value(Token::Empty) });
                if let Some(found) = &mut self.found {
                    found.comma_before = before;
                }
            }
            if !goes_on {
                return End::Broken;
            }
            match self.peek() {
                None => return End::Broken,
                Some(b']') => {
                    self.pos += 1;
                    return End::Closed;
                }
                Some(b',') => {
                    before = false;
                    self.pos += 1;
                }
                // A bracket of another kind closes nothing here.
                Some(b'}' | b'=') => return End::Broken,
                Some(_) => {
                    let unfound = self.found.is_none();
                    self.read();
                    if !(unfound && self.found.is_some()) {
                        texts.extend(text_of(&self.text[start..self.pos]));
                    }
                    before = true;
                }
            }
        }
    }

    /// Skips blanks, lines and comments in a list. False where a line begins another statement.
    fn between(&mut self) -> bool {
        loop {
            self.skip(is_blank);
            match self.peek() {
                Some(b'#') => {
                    let end = self.line_end(self.pos);
                    if self.is_in(self.pos + 1, end) {
                        self.find(Place::Nothing);
                    }
                    self.pos = end;
                }
                Some(it) if is_line_end(it) => {
                    if begins_statement(self.bytes, self.pos + 1) {
                        return false;
                    }
                    self.pos += 1;
                }
                _ => return true,
            }
        }
    }

    fn inline(&mut self) -> End {
        let outside = self.found.is_some();
        let depth = self.steps.len();
        let mut pairs = Vec::new();
        let end = self.pairs(&mut pairs, depth);
        if let Some(found) = self.found.as_mut().filter(|found| !outside && found.around.is_none()) {
            found.around = Some(pairs);
        }
        end
    }

    fn pairs(&mut self, pairs: &mut Vec<Pair>, depth: usize) -> End {
        let mut before = false;
        loop {
            let from = self.pos;
            self.skip(is_blank);
            match self.peek() {
                Some(b'}') | None => {
                    self.gap(from, before);
                    self.pos += usize::from(self.peek().is_some());
                    return End::Closed;
                }
                Some(b',') => {
                    self.gap(from, before);
                    before = false;
                    self.pos += 1;
                }
                Some(it) if is_line_end(it) || matches!(it, b'#' | b']') => {
                    self.gap(from, before);
                    return End::Broken;
                }
                Some(_) => {
                    let unfound = self.found.is_none();
                    let start = self.pos;
                    let key = self.key(from);
                    if before
                        && unfound
                        && let Some(found) = &mut self.found
                    {
                        found.comma_before = true;
                    }
                    let mut value = self.pos..self.pos;
                    if self.peek() == Some(b'=') {
                        self.pos += 1;
                        value = self.value();
                    }
                    self.steps.truncate(depth);
                    let asked = unfound && self.found.is_some();
                    if !key.is_empty() {
                        pairs.push(Pair { key, value, asked });
                    }
                    before = true;
                    if self.pos == start {
                        self.pos += 1;
                    }
                }
            }
        }
    }

    /// The cursor where a key of an inline table is due.
    fn gap(&mut self, from: usize, before: bool) {
        if self.is_in(from, self.pos) {
            self.find(Place::Key { part: self.at..self.at, goes_on: false, before: false });
            if let Some(found) = &mut self.found {
                found.comma_before = before;
            }
        }
    }
}

pub(crate) const fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t')
}

pub(crate) const fn is_line_end(byte: u8) -> bool {
    matches!(byte, b'\n' | b'\r')
}

/// Bytes of a key without quotes (TOML 1.0).
pub(crate) const fn is_key(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-')
}

fn trimmed_end(bytes: &[u8], start: usize, end: usize) -> usize {
    let kept = bytes[start..end].iter().rposition(|it| !is_blank(*it));
    kept.map_or(start, |last| start + last + 1)
}

/// The quote that ends a string on its line.
fn string_end(line: &[u8], from: usize, quote: u8) -> Option<usize> {
    let mut at = from;
    while let Some(byte) = line.get(at) {
        match *byte {
            b'\\' if quote == b'"' => at += 2,
            it if it == quote => return Some(at),
            _ => at += 1,
        }
    }
    None
}

fn triple_end(bytes: &[u8], from: usize, quote: u8) -> Option<usize> {
    let mut at = from;
    while at + 2 < bytes.len() {
        match bytes[at] {
            b'\\' if quote == b'"' => at += 2,
            it if it == quote && bytes[at..].starts_with(&[quote; 3]) => return Some(at + 3),
            _ => at += 1,
        }
    }
    None
}

/// Whether a quote ends a value: nothing but what may follow a value follows it. Otherwise it begins the next string.
fn closes(line: &[u8], quote: usize) -> bool {
    let after = line[quote + 1..].iter().find(|it| !is_blank(**it));
    after.is_none_or(|it| matches!(it, b',' | b']' | b'}' | b'#'))
}

/// Where a string that nothing closes ends, as far as can be told: before what would end a value.
fn open_end(bytes: &[u8], at: usize, line: usize, inside: usize) -> usize {
    let stop = bytes[at..line].iter().position(|it| matches!(it, b',' | b']' | b'}' | b'#' | b'"' | b'\''));
    let end = stop.map_or(line, |offset| at + offset);
    trimmed_end(bytes, inside, end).max(at)
}

/// Whether a line in a list reads as the beginning of a statement or header, which no list holds.
fn begins_statement(bytes: &[u8], line: usize) -> bool {
    let mut at = line;
    let skip = |at: &mut usize, is: fn(u8) -> bool| {
        while bytes.get(*at).is_some_and(|it| is(*it)) {
            *at += 1;
        }
    };
    skip(&mut at, is_blank);
    let key = at;
    skip(&mut at, |it| is_key(it) || it == b'.');
    if at == key {
        return bytes.get(at) == Some(&b'[');
    }
    skip(&mut at, is_blank);
    bytes.get(at) == Some(&b'=')
}

/// The text of a string as it is written on one line; none where it is something else.
pub(crate) fn text_of(written: &str) -> Option<String> {
    let quote = *written.as_bytes().first()?;
    if !matches!(quote, b'"' | b'\'') {
        return None;
    }
    let end = string_end(written.as_bytes(), 1, quote)?;
    (end + 1 == written.len()).then(|| unescaped(&written[1..end], quote))
}

/// The escapes that names have; others are left as they are.
fn unescaped(inside: &str, quote: u8) -> String {
    if quote == b'\'' || !inside.contains('\\') {
        inside.to_owned()
    } else {
        inside.replace("\\\"", "\"").replace("\\\\", "\\")
    }
}
