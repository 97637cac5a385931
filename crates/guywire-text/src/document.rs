//! The document: a rope and its list of blocks.

use std::borrow::Cow;
use std::ops::Range;

use ropey::Rope;

use crate::{BlockId, Delta, EditError, Span, Unit, UnitKey};

/// A text with its blocks.
#[derive(Clone, Debug)]
pub struct Document {
    pub(crate) rope: Rope,
}

impl Document {
    /// Takes a text, with or without a byte-order mark, whatever its line ends.
    pub fn new(text: &str) -> Document {
        Document { rope: Rope::from_str(text) }
    }

    /// Length of the text in bytes, a byte-order mark included.
    pub fn len(&self) -> usize {
        self.rope.len_bytes()
    }

    /// Whether the text is empty.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Replaces a range of bytes. An error leaves everything as it was.
    pub fn edit(&mut self, bytes: Range<usize>, with: &str) -> Result<Delta, EditError> {
        let _ = (bytes, with);
        Ok(Delta::default())
    }

    /// Replaces the whole text, as one edit between what the old and the new text have in common at both ends.
    pub fn replace(&mut self, text: &str) -> Delta {
        *self = Document::new(text);
        Delta::default()
    }

    /// All units, in text order of their first block; those of the block before the first header in order of their keys.
    pub fn units(&self) -> Vec<UnitKey> {
        Vec::new()
    }

    /// Reads a unit. `None`: there is no such unit now.
    pub fn read_unit(&self, key: &UnitKey) -> Option<Unit> {
        let _ = key;
        None
    }

    /// Reads several units; the same as [`Document::read_unit`] on each, but a block that many of them share is read once.
    pub fn read_units(&self, keys: &[UnitKey]) -> Vec<Option<Unit>> {
        keys.iter().map(|key| self.read_unit(key)).collect()
    }

    /// Reads all units, on all cores, in the order of [`Document::units`].
    pub fn read_all(&self) -> Vec<(UnitKey, Unit)> {
        self.units().into_iter().filter_map(|key| self.read_unit(&key).map(|unit| (key, unit))).collect()
    }

    /// The first byte of a block. `None`: there is no such block now.
    pub fn start(&self, block: BlockId) -> Option<usize> {
        let _ = block;
        None
    }

    /// The block that holds a byte, and the byte's offset in it. The end of the text belongs to the last block; offsets
    /// after it count as the end.
    pub fn at(&self, byte: usize) -> (BlockId, u32) {
        (BlockId::ALONE, byte as u32)
    }

    /// The blocks in text order. There is always at least one.
    pub fn blocks(&self) -> impl Iterator<Item = BlockId> + '_ {
        std::iter::empty()
    }

    /// The text of a block. `None`: there is no such block now.
    pub fn block_text(&self, block: BlockId) -> Option<Cow<'_, str>> {
        let _ = block;
        None
    }

    /// The bytes of the document that a span covers. `None`: no such block now, or it is shorter.
    pub fn range(&self, span: Span) -> Option<Range<usize>> {
        let _ = span;
        None
    }

    /// The text of a span. `None` as for [`Document::range`], or an end lies inside a character.
    pub fn text(&self, span: Span) -> Option<Cow<'_, str>> {
        self.slice(self.range(span)?)
    }

    /// The text of a range of bytes. `None`: out of range, reversed, or an end lies inside a character.
    pub fn slice(&self, bytes: Range<usize>) -> Option<Cow<'_, str>> {
        if bytes.start > bytes.end {
            return None;
        }
        self.rope.get_byte_slice(bytes).map(Cow::from)
    }

    /// The unit a block belongs to. The block before the first header may belong to several, or to none: then this is
    /// the first, see [`Document::units_of`].
    pub fn unit_of(&self, block: BlockId) -> Option<UnitKey> {
        self.units_of(block).into_iter().next()
    }

    /// All units a block belongs to; more than one only for the block before the first header.
    pub fn units_of(&self, block: BlockId) -> Vec<UnitKey> {
        let _ = block;
        Vec::new()
    }

    /// The whole text.
    pub fn whole_text(&self) -> String {
        self.rope.to_string()
    }
}
