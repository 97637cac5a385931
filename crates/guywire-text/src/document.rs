//! The document: a rope and its list of blocks.

use std::borrow::Cow;
use std::hash::{Hash, Hasher};
use std::ops::Range;

use ropey::Rope;

use crate::blocks::{Block, BlockList, Cursor, GroupId, Shape};
use crate::groups::Groups;
use crate::lex::{after_blanks, after_mark, line_end};
use crate::parse::Parser;
use crate::read::{first_keys, read_block};
use crate::scan::{Cut, MARKED, Window, scan};
use crate::{BlockId, Span};

/// The block before the first header has an error, or a line, that belongs to no key.
pub(crate) const ORPHAN: u8 = 8;

/// A text with its blocks. Holds the text once, some 40 bytes for each block, and no parse.
#[derive(Clone, Debug)]
pub struct Document {
    pub(crate) rope: Rope,
    pub(crate) list: BlockList,
    pub(crate) groups: Groups,
    /// The first keys of the block before the first header, in text order.
    pub(crate) root: Vec<GroupId>,
}

impl Document {
    /// Takes a text, with or without a byte-order mark, whatever its line ends.
    pub fn new(text: &str) -> Document {
        let mut document = Document {
            rope: Rope::from_str(text),
            list: BlockList::new(),
            groups: Groups::default(),
            root: Vec::new(),
        };
        let (cuts, _) = scan(&Window { text, first: true, last: true, stops: &[] }, |_| false);
        let mut blocks = Vec::with_capacity(cuts.len());
        for cut in cuts {
            let id = document.list.fresh();
            let block_text = &text[cut.start..cut.end];
            let block = document.describe(id, block_text, cut, hash(block_text));
            document.groups.count(block.shape, 1);
            blocks.push(block);
        }
        document.list.splice(document.list.first(), 0, &blocks);
        if let Some(block) = blocks.first().filter(|block| block.shape == Shape::Root) {
            let (root, orphan) = document.root_groups(&text[..block.bytes as usize]);
            document.set_root(root);
            let block = Block { flags: block.flags | orphan, ..*block };
            document.list.splice(document.list.first(), 1, &[block]);
        }
        document
    }

    /// What is kept of a block. Its first key is interned, not counted.
    pub(crate) fn describe(&mut self, id: BlockId, text: &str, cut: Cut, hash: u64) -> Block {
        let shape = self.shape(text);
        Block { id, bytes: text.len() as u32, flags: cut.flags, shape, hash }
    }

    fn shape(&mut self, text: &str) -> Shape {
        let bytes = text.as_bytes();
        let first = after_blanks(bytes, after_mark(bytes));
        if bytes.get(first) != Some(&b'[') {
            return Shape::Root;
        }
        let mut parser = Parser::new(text, BlockId::ALONE);
        parser.begin(first..line_end(bytes, first));
        let Ok(header) = parser.header() else { return Shape::Unreadable };
        let Some(key) = header.keys.first() else { return Shape::Unreadable };
        let group = self.groups.intern(&key.text);
        match (header.keys.len(), header.array) {
            (1, false) => Shape::Table(group),
            (1, true) => Shape::Entry(group),
            _ => Shape::Sub(group),
        }
    }

    /// The first keys of the block before the first header, and its flag for what belongs to none of them.
    pub(crate) fn root_groups(&mut self, text: &str) -> (Vec<GroupId>, u8) {
        let reading = read_block(text);
        let groups = first_keys(&reading).into_iter().map(|key| self.groups.intern(key)).collect();
        let orphan = if reading.broken || !reading.errors.is_empty() { ORPHAN } else { 0 };
        (groups, orphan)
    }

    /// Takes the first keys of the block before the first header, and returns those it had before.
    pub(crate) fn set_root(&mut self, root: Vec<GroupId>) -> Vec<GroupId> {
        for group in &self.root {
            self.groups.set_root(*group, false);
        }
        for group in &root {
            self.groups.set_root(*group, true);
        }
        std::mem::replace(&mut self.root, root)
    }

    /// Length of the text in bytes, a byte-order mark included.
    pub fn len(&self) -> usize {
        self.rope.len_bytes()
    }

    /// Whether the text is empty.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The first byte of a block. `None`: there is no such block now.
    pub fn start(&self, block: BlockId) -> Option<usize> {
        self.list.find(block).map(|at| self.list.start(at))
    }

    /// The block that holds a byte, and the byte's offset in it. The end of the text belongs to the last block; offsets
    /// after it count as the end.
    pub fn at(&self, byte: usize) -> (BlockId, u32) {
        let byte = byte.min(self.len());
        let (at, start) = self.list.at(byte);
        // The list never gives a place without a block.
        let id = self.list.get(at).map_or(BlockId::ALONE, |block| block.id);
        (id, (byte - start) as u32)
    }

    /// The blocks in text order. There is always at least one.
    pub fn blocks(&self) -> impl Iterator<Item = BlockId> + '_ {
        self.list.iter().map(|block| block.id)
    }

    /// How many blocks there are.
    pub fn block_count(&self) -> usize {
        self.list.len()
    }

    /// The blocks from one on, in text order.
    pub fn blocks_from(&self, block: BlockId) -> impl Iterator<Item = BlockId> + '_ {
        let first = self.list.find(block);
        std::iter::successors(first, |at| Some(self.list.next(*at)))
            .map_while(|at| self.list.get(at).map(|block| block.id))
    }

    /// The blocks that have [`MARK`](crate::MARK) somewhere, in text order. Costs the number of chunks and of those found.
    pub fn marked_blocks(&self) -> Vec<BlockId> {
        let mut found = Vec::new();
        let mut at = self.list.first();
        while let Some(marked) = self.list.with_flag(MARKED, at) {
            found.extend(self.list.get(marked).map(|block| block.id));
            at = self.list.next(marked);
        }
        found
    }

    /// The text of a block. `None`: there is no such block now.
    pub fn block_text(&self, block: BlockId) -> Option<Cow<'_, str>> {
        self.text_at(self.list.find(block)?)
    }

    pub(crate) fn text_at(&self, at: Cursor) -> Option<Cow<'_, str>> {
        let start = self.list.start(at);
        self.slice(start..start + self.list.get(at)?.bytes as usize)
    }

    /// The bytes of the document that a span covers. `None`: no such block now, or it is shorter.
    pub fn range(&self, span: Span) -> Option<Range<usize>> {
        let at = self.list.find(span.block)?;
        if span.start > span.end || span.end > self.list.get(at)?.bytes {
            return None;
        }
        let start = self.list.start(at);
        Some(start + span.start as usize..start + span.end as usize)
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

    /// What of a range of bytes stands on its first line. The range itself where it is out of the text or cuts a character.
    pub fn first_line(&self, bytes: Range<usize>) -> Range<usize> {
        if bytes.end > self.rope.len_bytes() {
            return bytes;
        }
        let is_end = |byte: &u8| matches!(byte, b'\n' | b'\r');
        let mut from = bytes.start;
        while from < bytes.end {
            let Some((chunk, start, _, _)) = self.rope.get_chunk_at_byte(from) else { return bytes };
            let here = &chunk.as_bytes()[from - start..(bytes.end - start).min(chunk.len())];
            if let Some(end) = here.iter().position(is_end) {
                return bytes.start..from + end;
            }
            from = start + chunk.len();
        }
        bytes
    }

    /// The whole text.
    pub fn whole_text(&self) -> String {
        self.rope.to_string()
    }
}

pub(crate) fn hash(text: &str) -> u64 {
    let mut hasher = rustc_hash::FxHasher::default();
    text.hash(&mut hasher);
    hasher.finish()
}
