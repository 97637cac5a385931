//! Where blocks start.
//!
//! A block starts at a header line: a line whose first byte that is not blank is `[`, outside brackets, strings and
//! comments. Two cases heal an unclosed start, and neither touches a text that is valid. Inside brackets a line that
//! reads as a header of bare keys starts a block. A string over several lines that never ends in the whole rest of the
//! text ends with its own line. So a block depends on the text from its start on, and on nothing before.

use crate::lex::{
    Quote, after_blanks, after_line_end, after_mark, atom_end, has_triple, is_bare_header, line_end, single_end,
    triple_at, triple_end,
};

/// A string over several lines was ended at its own line.
pub(crate) const HEALED: u8 = 1;
/// The block has three double quotes side by side.
pub(crate) const TRIPLE_BASIC: u8 = 2;
/// The block has three single quotes side by side.
pub(crate) const TRIPLE_LITERAL: u8 = 4;

/// The block has [`MARK`].
pub(crate) const MARKED: u8 = 16;

/// What begins a waiver in a comment. Blocks that have it are known, so that waivers are found without looking at the rest.
pub const MARK: &str = "waive(";

pub(crate) fn triple_flag(quote: Quote) -> u8 {
    match quote {
        Quote::Basic => TRIPLE_BASIC,
        Quote::Literal => TRIPLE_LITERAL,
    }
}

/// A block found by a scan: its bytes in the scanned text, and its flags.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Cut {
    pub(crate) start: usize,
    pub(crate) end: usize,
    pub(crate) flags: u8,
}

/// How a scan ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Outcome {
    /// At the end of the document.
    End,
    /// At a block start among `stops`, at this byte; no cut begins there.
    Met(usize),
    /// The text is too short to tell.
    Short,
}

/// What a scan covers.
pub(crate) struct Window<'t> {
    /// The text, from a block start on.
    pub(crate) text: &'t str,
    /// Whether it starts where the document starts.
    pub(crate) first: bool,
    /// Whether it ends where the document ends; otherwise it ends at a block start of the text as it was.
    pub(crate) last: bool,
    /// Block starts at which to stop, ascending.
    pub(crate) stops: &'t [usize],
}

/// Cuts a text into blocks. `later` tells whether a string of a kind that is still open at the end of the window is
/// closed after it.
pub(crate) fn scan(window: &Window<'_>, later: impl Fn(Quote) -> bool) -> (Vec<Cut>, Outcome) {
    let bytes = window.text.as_bytes();
    let mut cuts = Vec::new();
    let mut stops = window.stops.iter().copied().peekable();
    let mut met = |at: usize| {
        while stops.next_if(|stop| *stop < at).is_some() {}
        stops.peek() == Some(&at)
    };
    let body = if window.first { after_mark(bytes) } else { 0 };
    let (mut start, mut flags, mut depth) = (0, 0, 0_usize);
    let (mut i, mut at_line_start) = (body, true);
    while i < bytes.len() {
        if std::mem::take(&mut at_line_start) {
            let line = i;
            i = after_blanks(bytes, i);
            if bytes.get(i) == Some(&b'[') && (depth == 0 || is_bare_header(&bytes[i..line_end(bytes, i)])) {
                if line > body {
                    cuts.push(cut(bytes, start, line, flags));
                    (start, flags) = (line, 0);
                }
                if start == line && met(line) {
                    return (cuts, Outcome::Met(line));
                }
                depth = 0;
                i = line_end(bytes, i);
            }
            continue;
        }
        match bytes[i] {
            b' ' | b'\t' | b'.' | b'=' | b',' => i += 1,
            b'\n' | b'\r' => {
                i = after_line_end(bytes, i);
                at_line_start = true;
            }
            b'#' => i = line_end(bytes, i),
            b'[' | b'{' => {
                depth += 1;
                i += 1;
            }
            b']' | b'}' => {
                depth = depth.saturating_sub(1);
                i += 1;
            }
            b'"' | b'\'' => {
                let Some(quote) = triple_at(bytes, i) else {
                    i = single_end(bytes, i).0;
                    continue;
                };
                match triple_end(bytes, i + 3, quote) {
                    Some(end) => i = end,
                    None if !window.last && later(quote) => return (cuts, Outcome::Short),
                    None => {
                        flags |= HEALED;
                        i = line_end(bytes, i);
                    }
                }
            }
            _ => i = atom_end(bytes, i),
        }
    }
    if !window.last {
        return (cuts, Outcome::Short);
    }
    cuts.push(cut(bytes, start, bytes.len(), flags));
    (cuts, Outcome::End)
}

fn cut(bytes: &[u8], start: usize, end: usize, flags: u8) -> Cut {
    let mut cut = Cut { start, end, flags };
    for quote in [Quote::Basic, Quote::Literal] {
        if has_triple(&bytes[start..end], quote) {
            cut.flags |= triple_flag(quote);
        }
    }
    if has_mark(&bytes[start..end]) {
        cut.flags |= MARKED;
    }
    cut
}

fn has_mark(bytes: &[u8]) -> bool {
    let mark = MARK.as_bytes();
    let ends = bytes.iter().enumerate().filter(|(_, byte)| **byte == b'(');
    ends.into_iter().any(|(end, _)| bytes[..=end].ends_with(mark))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blocks(text: &str) -> Vec<&str> {
        let (cuts, outcome) = scan(&Window { text, first: true, last: true, stops: &[] }, |_| false);
        assert_eq!(outcome, Outcome::End);
        cuts.iter().map(|cut| &text[cut.start..cut.end]).collect()
    }

    #[test]
    fn a_block_runs_from_header_to_header() {
        assert_eq!(blocks(""), [""]);
        assert_eq!(blocks("[a]\n"), ["[a]\n"]);
        assert_eq!(blocks("\u{feff}[a]\nx=1\n  [b]"), ["\u{feff}[a]\nx=1\n", "  [b]"]);
        assert_eq!(blocks("# c\n\n[a]\r\n# d\r\n[[b]]\r\n"), ["# c\n\n", "[a]\r\n# d\r\n", "[[b]]\r\n"]);
    }

    #[test]
    fn header_shaped_lines_in_values_start_no_block() {
        assert_eq!(blocks("a = [\n[2],\n[true]\n,[1979-05-27]\n]\n[b]").len(), 2);
        assert_eq!(blocks("a = \"\"\"\n[x]\n\"\"\"\n[b]").len(), 2);
        assert_eq!(blocks("a = '''\n[x]\n'''\n[b]").len(), 2);
        // Quotes inside a bare run open nothing.
        assert_eq!(blocks("a = b\"\"\"\n[x]\n[b]").len(), 3);
    }

    #[test]
    fn unclosed_brackets_and_strings_heal() {
        assert_eq!(blocks("a = [\n1,\n[b]\nc = 1\n"), ["a = [\n1,\n", "[b]\nc = 1\n"]);
        assert_eq!(blocks("a = \"\"\"half\n[b]\nc = 1\n"), ["a = \"\"\"half\n", "[b]\nc = 1\n"]);
        assert_eq!(blocks("[[half\n[b]"), ["[[half\n", "[b]"]);
        assert_eq!(blocks("a = \"half\n[b]"), ["a = \"half\n", "[b]"]);
    }
}
