//! Errors, typed: what is wrong with the text, and what is wrong with an edit.

use crate::Span;

/// Something in the text that TOML does not allow.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{kind}")]
pub struct SyntaxError {
    /// Where, inside one block, on character boundaries. May be empty: something is missing there.
    pub span: Span,
    /// What.
    pub kind: SyntaxErrorKind,
    /// The other place, such as the first of two equal keys.
    pub related: Option<Span>,
}

/// What is wrong. The text says what to do, and never quotes the source.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SyntaxErrorKind {
    /// A string does not end.
    #[error("this string does not end: close it with the quotes it began with")]
    UnclosedString,
    /// An array or an inline table does not end.
    #[error("this bracket is never closed: add the closing bracket")]
    UnclosedBracket,
    /// A closing bracket of the wrong kind, or a stray one.
    #[error("this bracket closes nothing here: remove it, or use the kind that was opened")]
    StrayBracket,
    /// Two elements without a comma.
    #[error("a comma is missing before this: separate the elements with commas")]
    MissingComma,
    /// A comma with nothing before it.
    #[error("there is a comma too many here: remove it")]
    ExtraComma,
    /// `key =` and nothing more.
    #[error("the value is missing: write one after the equals sign")]
    MissingValue,
    /// A key and no equals sign.
    #[error("an equals sign is missing: write the key, an equals sign and the value")]
    MissingEquals,
    /// A key that cannot be read.
    #[error(
        "this is not a key: use letters, digits, underscores and dashes, or put the key in quotes, and write an equals \
         sign and a value after it"
    )]
    UnreadableKey,
    /// A header that cannot be read.
    #[error("this table header cannot be read: write [name] for a table, or [[name]] for an entry of a list")]
    UnreadableHeader,
    /// A value that is neither number, date nor boolean, and has no quotes.
    #[error("this is not a value: put text in quotes; numbers, dates, true and false stand without")]
    UnreadableValue,
    /// Something like a number.
    #[error(
        "this number cannot be read: use digits with a point for decimals, no leading zeros, and underscores only \
         between digits"
    )]
    UnreadableNumber,
    /// Something like a date or a time.
    #[error("this date or time cannot be read, or does not exist: write 2026-01-31, 23:59:00 or 2026-01-31T23:59:00Z")]
    UnreadableDate,
    /// A backslash sequence that does not exist.
    #[error("this backslash sequence is not known: double the backslash, or use single quotes around the text")]
    BadEscape,
    /// More on the line than a value.
    #[error("there is more text after the value: start a new line, or put text in quotes")]
    TextAfterValue,
    /// More on the line than a header.
    #[error("there is more text after the table header: start a new line")]
    TextAfterHeader,
    /// A key twice in one table.
    #[error("this key is already set in this table: keep one of the two")]
    DuplicateKey,
    /// A table by header twice.
    #[error("this table is already defined: keep one of the two, or use double brackets for a list")]
    DuplicateTable,
    /// One name for a value and for a table.
    #[error("this name is used both for a value and for a table: keep one of the two, or rename one")]
    ValueAndTable,
    /// One name for a table and for an array of tables.
    #[error("this name is used both with single and with double brackets: use one form throughout")]
    ArrayAndTable,
    /// `[x.y]` before the first `[[x]]`.
    #[error("this belongs to an entry of a list, but stands before the first one: move it below its entry's header")]
    BeforeEntries,
    /// Brackets, or parts of a key, nested beyond [`MAX_DEPTH`](crate::MAX_DEPTH).
    #[error("this is nested too deep to be read: use fewer levels")]
    TooDeep,
    /// A character that may not stand in TOML as it is, or a carriage return alone.
    #[error(
        "a control character stands here: remove it, or write its backslash sequence in double quotes; lines end with \
         a line feed, with or without a carriage return before it"
    )]
    ControlCharacter,
    /// A number that does not fit.
    #[error("this number is out of range: integers have 64 bits")]
    OutOfRange,
    /// Anything else.
    #[error("this cannot be read: check the line against the TOML rules")]
    Other,
}

/// An edit that does not fit the text. Nothing was changed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum EditError {
    /// The range ends after the text.
    #[error("the edit ends at byte {end}, but the text has {len} bytes: send the whole text again")]
    OutOfRange {
        /// End of the range asked for.
        end: usize,
        /// Length of the text in bytes.
        len: usize,
    },
    /// The range ends before it starts.
    #[error("the edit starts at byte {start} but ends at byte {end}: swap the two")]
    Reversed {
        /// Start of the range asked for.
        start: usize,
        /// End of the range asked for.
        end: usize,
    },
    /// An end of the range lies inside a character.
    #[error("byte {byte} lies inside a character: move the edit to a character boundary")]
    InsideCharacter {
        /// The end that is wrong.
        byte: usize,
    },
}
