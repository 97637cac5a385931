//! A TOML document as it is edited: rope, positions in every encoding, blocks, statements, recovery.
//!
//! The text is cut into **blocks** at its header lines. A block is read by itself, so that an edit costs the block it
//! touches and not the file. Blocks that belong together make a [`Unit`]: a `[[x]]` entry with its sub-tables, or all
//! there is under one first key. [`Document::edit`] says which units to read again; reading them yields the same as
//! reading the whole text afresh.
//!
//! Broken text costs as little as possible: a statement that cannot be read costs its own key, and a bracket or string
//! that is never closed ends where the next header begins, or at the end of its line.
//!
//! The language is TOML as `toml_edit` 0.25 accepts it, which is TOML 1.1: line breaks and a last comma in inline
//! tables, `\e` and `\xHH`, times without seconds. TOML 1.0 text reads the same in both. One line of text may be as
//! long as it likes; brackets and keys nest up to [`MAX_DEPTH`]; a text holds up to 4 GiB.

mod blocks;
mod delta;
mod document;
mod edit;
mod error;
mod groups;
mod lex;
mod parse;
mod positions;
mod read;
mod scan;
mod tree;
mod types;
mod units;

pub use document::Document;
pub use error::{EditError, SyntaxError, SyntaxErrorKind};
pub use parse::Header;
pub use read::{Reading, Statement, read_block};
pub use scan::MARK;
pub use types::{
    BlockId, Datetime, Delta, Encoding, Entry, FileId, Item, Key, Place, Position, Span, Table, TopTable, Unit,
    UnitKey, Value,
};

/// How deep brackets, and the parts of one key, may nest. Source: `toml_edit` 0.25, its recursion limit.
pub const MAX_DEPTH: usize = 80;
