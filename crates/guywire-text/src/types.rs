//! The plain types of a document: places, units, and the tree that a unit reads as.

use std::sync::Arc;

pub use toml_edit::Datetime;

use crate::SyntaxError;

/// A file among those loaded. The number carries no order of meaning beyond telling files apart.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct FileId(pub u32);

/// The identity of a block within one [`Document`](crate::Document). It outlives edits elsewhere in the text and edits
/// within the block; once the block is removed it never names another. It has no order and is never shown.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct BlockId {
    pub(crate) slot: u32,
    pub(crate) generation: u32,
}

impl BlockId {
    /// The block of spans that [`read_block`](crate::read_block) yields for a text that belongs to no document.
    pub const ALONE: BlockId = BlockId { slot: u32::MAX, generation: u32::MAX };
}

/// A range of bytes inside a block: `start` included, `end` excluded, both on character boundaries.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Span {
    /// The block that the bytes are counted in.
    pub block: BlockId,
    /// First byte, counted from the start of the block.
    pub start: u32,
    /// First byte after the range.
    pub end: u32,
}

impl Span {
    /// The number of bytes.
    pub fn len(self) -> u32 {
        self.end.saturating_sub(self.start)
    }

    /// Whether the range holds no byte.
    pub fn is_empty(self) -> bool {
        self.end <= self.start
    }
}

/// A span in one of several files.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// The bytes, inside one of its blocks.
    pub span: Span,
}

/// What the columns of a [`Position`] count. Source: Language Server Protocol 3.17, `PositionEncodingKind`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// UTF-16 code units, the protocol's default.
    Utf16,
    /// Characters (Unicode scalar values).
    Utf32,
}

/// A zero-based line and column. Lines break at LF, CR LF and CR only. Source: Language Server Protocol 3.17, `Position`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub struct Position {
    /// Line, from zero.
    pub line: u32,
    /// Column, from zero, in the units of an [`Encoding`].
    pub character: u32,
}

/// What is read together.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum UnitKey {
    /// A `[[x]]` block with the sub-table blocks of `x` that follow it, up to the next `[[x]]`.
    Entry(BlockId),
    /// Everything under one first key, where it is written in any other way: `[x]`, keys at the root, a mixture, or a
    /// sub-table before the first `[[x]]`. Where there is a `[[x]]` it is a list all the same: a `[x]` is an entry of it,
    /// and what stands outside the entries is a table of its own, in front; both are errors.
    Group(Arc<str>),
    /// A block whose header cannot be read; or the block before the first header, where a line of it has no readable
    /// key or carries an error that belongs to no key.
    Unnamed(BlockId),
}

/// What an edit did.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Delta {
    /// Blocks that exist no more.
    pub removed: Vec<BlockId>,
    /// Blocks that did not exist before.
    pub added: Vec<BlockId>,
    /// Blocks that exist still, with another text.
    pub changed: Vec<BlockId>,
    /// Units that existed before and do not any more.
    pub gone: Vec<UnitKey>,
    /// Units to read now: new ones, and those whose text or make-up may have changed.
    pub read: Vec<UnitKey>,
}

/// What a unit reads as. A pure function of the texts of its blocks.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Unit {
    /// Its top-level tables and values, in text order.
    pub tables: Vec<TopTable>,
    /// What is wrong, in text order.
    pub errors: Vec<SyntaxError>,
}

/// One top-level table, one entry of a top-level array of tables (`[[x]]` or `x = [{…}, {…}]`), or one other value
/// at the root.
#[derive(Clone, PartialEq, Debug)]
pub struct TopTable {
    /// The first key where this table is written. `None`: its header, or its key at the root, cannot be read.
    pub name: Option<Key>,
    /// Whether it is written as an entry of an array. `x = []` and an array that holds anything but tables are one
    /// value, not entries.
    pub array: bool,
    /// Its number among the tables of the unit, from zero.
    pub ordinal: u32,
    /// The table; for a value at the root, that value.
    pub value: Item,
}

/// One part of a key.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Key {
    /// The name, unquoted and unescaped.
    pub text: Box<str>,
    /// Where it is written, quotes included.
    pub span: Span,
}

/// A value and its place.
#[derive(Clone, PartialEq, Debug)]
pub struct Item {
    /// A value: its text, quotes and brackets included. A table made by a header: the header's brackets and what is
    /// between them. An array of tables made by headers: its first header. A table made by a dotted key or by the
    /// header of a table below it: that part of the key.
    pub span: Span,
    /// The value.
    pub value: Value,
}

/// A TOML value. An array of tables made by headers reads the same as an inline one.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// A string, unescaped.
    String(Box<str>),
    /// An integer.
    Integer(i64),
    /// A float as written, underscores and sign included, so that no digit is lost.
    Float(Box<str>),
    /// A boolean.
    Boolean(bool),
    /// A date, a time or both.
    Datetime(Datetime),
    /// An array.
    Array(Vec<Item>),
    /// A table.
    Table(Table),
    /// Something stands here that cannot be read; an error says why.
    Unreadable,
}

/// A table, however it is written.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Table {
    /// The header that defines it, brackets included, without blanks, comment or line end. Empty for inline tables and
    /// for tables that only dotted keys or headers of their sub-tables make.
    pub headers: Vec<Span>,
    /// Its keys in text order of their first mention.
    pub entries: Vec<Entry>,
    /// Whether more was meant to stand here than `entries` holds: a statement without a readable key, or a second
    /// table of the same name that was left out. Do not call a key absent then.
    pub broken: bool,
}

impl Table {
    /// The value of a key, if the table has it.
    pub fn get(&self, key: &str) -> Option<&Item> {
        self.entries.iter().find(|entry| &*entry.key.text == key).map(|entry| &entry.value)
    }
}

/// A key of a table with its value.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry {
    /// The key; for a dotted one, its part at this level.
    pub key: Key,
    /// The value.
    pub value: Item,
}
