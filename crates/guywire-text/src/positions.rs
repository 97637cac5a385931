//! Lines, columns and bytes.

use std::ops::Range;

use crate::{Document, Encoding, Position};

impl Document {
    /// The number of lines; a text that ends with a line end has an empty last line.
    pub fn line_count(&self) -> usize {
        self.rope.len_lines()
    }

    /// The bytes of a line without its line end. `None`: there is no such line.
    pub fn line_range(&self, line: u32) -> Option<Range<usize>> {
        let line = line as usize;
        if line >= self.rope.len_lines() {
            return None;
        }
        let start = self.rope.line_to_byte(line);
        let mut end = self.rope.line_to_byte(line + 1);
        for ending in [b'\n', b'\r'] {
            if end > start && line + 1 < self.rope.len_lines() && self.rope.byte(end - 1) == ending {
                end -= 1;
            }
        }
        Some(start..end)
    }

    /// The position of a byte. Bytes after the text count as its end, bytes inside a character as the character's
    /// start, bytes inside a line end as the end of the line.
    pub fn to_protocol(&self, byte: usize, e: Encoding) -> Position {
        let line = self.rope.byte_to_line(byte.min(self.len()));
        let range = self.line_range(line as u32).unwrap_or(0..0);
        let chr = self.rope.byte_to_char(byte.min(range.end));
        let first = self.rope.byte_to_char(range.start);
        let character = match e {
            Encoding::Utf8 => self.rope.char_to_byte(chr) - range.start,
            Encoding::Utf16 => self.rope.char_to_utf16_cu(chr) - self.rope.char_to_utf16_cu(first),
            Encoding::Utf32 => chr - first,
        };
        Position { line: line as u32, character: character as u32 }
    }

    /// The byte of a position. A line after the last counts as the end of the text, a column after the end of its line
    /// as the end of the line, a column inside a character as the character's start.
    pub fn from_protocol(&self, p: Position, e: Encoding) -> usize {
        let Some(range) = self.line_range(p.line) else { return self.len() };
        let column = p.character as usize;
        let byte = match e {
            Encoding::Utf8 => {
                let byte = range.start.saturating_add(column).min(range.end);
                self.rope.char_to_byte(self.rope.byte_to_char(byte))
            }
            Encoding::Utf16 => {
                let first = self.rope.char_to_utf16_cu(self.rope.byte_to_char(range.start));
                let unit = first.saturating_add(column).min(self.rope.len_utf16_cu());
                self.rope.char_to_byte(self.rope.utf16_cu_to_char(unit))
            }
            Encoding::Utf32 => {
                let chr = self.rope.byte_to_char(range.start).saturating_add(column).min(self.rope.len_chars());
                self.rope.char_to_byte(chr)
            }
        };
        byte.min(range.end)
    }

    /// The line end of the text: the first one met, a line feed if there is none.
    pub fn line_ending(&self) -> &'static str {
        if self.rope.len_lines() < 2 {
            return "\n";
        }
        let end = self.rope.line_to_byte(1);
        if self.rope.byte(end - 1) == b'\r' {
            return "\r";
        }
        if end > 1 && self.rope.byte(end - 2) == b'\r' { "\r\n" } else { "\n" }
    }
}
