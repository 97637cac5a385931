//! The list of blocks, in chunks with sums, so that an edit costs neither the length of the text nor the number of
//! blocks.

use std::ops::Range;

use crate::BlockId;
use crate::scan::HEALED;

/// A first key, interned in the document.
pub(crate) type GroupId = u32;

/// What the header of a block says about the unit it belongs to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Shape {
    /// No header: the block before the first one.
    Root,
    /// A header that cannot be read.
    Unreadable,
    /// `[x]`
    Table(GroupId),
    /// `[[x]]`
    Entry(GroupId),
    /// `[x.y]` or `[[x.y]]`
    Sub(GroupId),
}

impl Shape {
    pub(crate) fn group(self) -> Option<GroupId> {
        match self {
            Shape::Root | Shape::Unreadable => None,
            Shape::Table(group) | Shape::Entry(group) | Shape::Sub(group) => Some(group),
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Block {
    pub(crate) id: BlockId,
    pub(crate) bytes: u32,
    pub(crate) flags: u8,
    pub(crate) shape: Shape,
    pub(crate) hash: u64,
}

/// A block by its chunk and its place in it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Cursor {
    pub(crate) chunk: usize,
    pub(crate) index: usize,
}

#[derive(Clone, Debug)]
struct Chunk {
    /// Names the chunk for as long as it exists, wherever it moves.
    key: u32,
    bytes: usize,
    /// One bit for each group that may have a block here.
    mask: u64,
    flags: u8,
    blocks: Vec<Block>,
}

#[derive(Clone, Copy, Debug)]
struct Slot {
    generation: u32,
    chunk: u32,
}

const FULL: usize = 256;
const FREE: u32 = u32::MAX;

#[derive(Clone, Debug)]
pub(crate) struct BlockList {
    /// Never empty, and no chunk is.
    chunks: Vec<Chunk>,
    /// Fenwick tree over the bytes of the chunks.
    sums: Vec<usize>,
    /// Chunk key to place in `chunks`.
    places: Vec<u32>,
    slots: Vec<Slot>,
    free_slots: Vec<u32>,
    free_keys: Vec<u32>,
    len: usize,
}

fn bit(group: GroupId) -> u64 {
    1 << (group & 63)
}

impl BlockList {
    /// A list without blocks, to be filled by [`BlockList::splice`] before anything else.
    pub(crate) fn new() -> BlockList {
        BlockList {
            chunks: Vec::new(),
            sums: Vec::new(),
            places: Vec::new(),
            slots: Vec::new(),
            free_slots: Vec::new(),
            free_keys: Vec::new(),
            len: 0,
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.len
    }

    pub(crate) fn get(&self, at: Cursor) -> Option<&Block> {
        self.chunks.get(at.chunk)?.blocks.get(at.index)
    }

    pub(crate) fn first(&self) -> Cursor {
        Cursor { chunk: 0, index: 0 }
    }

    /// After the last block.
    pub(crate) fn end(&self) -> Cursor {
        Cursor { chunk: self.chunks.len(), index: 0 }
    }

    pub(crate) fn next(&self, at: Cursor) -> Cursor {
        match self.chunks.get(at.chunk) {
            Some(chunk) if at.index + 1 < chunk.blocks.len() => Cursor { index: at.index + 1, ..at },
            Some(_) => Cursor { chunk: at.chunk + 1, index: 0 },
            None => at,
        }
    }

    pub(crate) fn previous(&self, at: Cursor) -> Option<Cursor> {
        if at.index > 0 {
            return Some(Cursor { index: at.index - 1, ..at });
        }
        let chunk = at.chunk.checked_sub(1)?;
        Some(Cursor { chunk, index: self.chunks[chunk].blocks.len() - 1 })
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = &Block> + '_ {
        self.chunks.iter().flat_map(|chunk| &chunk.blocks)
    }

    /// The blocks of a group with their places, from `from` on.
    pub(crate) fn of_group(&self, group: GroupId, from: Cursor) -> impl Iterator<Item = (Cursor, &Block)> + '_ {
        self.chunks.iter().enumerate().skip(from.chunk).filter(move |(_, chunk)| chunk.mask & bit(group) != 0).flat_map(
            move |(n, chunk)| {
                let skip = if n == from.chunk { from.index } else { 0 };
                let blocks = chunk.blocks.iter().enumerate().skip(skip);
                blocks
                    .filter(move |(_, block)| block.shape.group() == Some(group))
                    .map(move |(index, block)| (Cursor { chunk: n, index }, block))
            },
        )
    }

    /// The last `[[x]]` block of a group before `before`.
    pub(crate) fn entry_before(&self, group: GroupId, before: Cursor) -> Option<&Block> {
        let chunks = self.chunks.iter().enumerate().take(before.chunk + 1).rev();
        chunks.filter(|(_, chunk)| chunk.mask & bit(group) != 0).find_map(|(n, chunk)| {
            let end = if n == before.chunk { before.index } else { chunk.blocks.len() };
            chunk.blocks[..end].iter().rev().find(|block| block.shape == Shape::Entry(group))
        })
    }

    /// The number of blocks from one place to another.
    pub(crate) fn distance(&self, from: Cursor, to: Cursor) -> usize {
        let between = from.chunk..to.chunk.max(from.chunk);
        let whole: usize = self.chunks[between].iter().map(|chunk| chunk.blocks.len()).sum();
        whole + to.index - from.index
    }

    /// The place so many blocks further on.
    pub(crate) fn cursor_after(&self, from: Cursor, mut count: usize) -> Cursor {
        let mut at = from;
        while let Some(chunk) = self.chunks.get(at.chunk) {
            let left = chunk.blocks.len() - at.index;
            if count < left {
                return Cursor { index: at.index + count, ..at };
            }
            count -= left;
            at = Cursor { chunk: at.chunk + 1, index: 0 };
        }
        self.end()
    }

    pub(crate) fn blocks_from(&self, from: Cursor, count: usize) -> Vec<Block> {
        let mut blocks = Vec::with_capacity(count);
        let mut at = from;
        while let Some(block) = self.get(at).filter(|_| blocks.len() < count) {
            blocks.push(*block);
            at = self.next(at);
        }
        blocks
    }

    /// The first block with a flag, from `from` on.
    pub(crate) fn with_flag(&self, flag: u8, from: Cursor) -> Option<Cursor> {
        let chunks = self.chunks.iter().enumerate().skip(from.chunk).filter(|(_, chunk)| chunk.flags & flag != 0);
        chunks.into_iter().find_map(|(n, chunk)| {
            let skip = if n == from.chunk { from.index } else { 0 };
            let index = chunk.blocks.iter().skip(skip).position(|block| block.flags & flag != 0)?;
            Some(Cursor { chunk: n, index: skip + index })
        })
    }

    pub(crate) fn first_healed_before(&self, at: Cursor) -> Option<Cursor> {
        self.with_flag(HEALED, self.first()).filter(|healed| *healed < at)
    }

    /// Bytes in the chunks before this one.
    fn before_chunk(&self, chunk: usize) -> usize {
        let (mut n, mut sum) = (chunk, 0);
        while n > 0 {
            sum += self.sums[n - 1];
            n &= n - 1;
        }
        sum
    }

    /// The first byte of a block.
    pub(crate) fn start(&self, at: Cursor) -> usize {
        let within = self
            .chunks
            .get(at.chunk)
            .map_or(0, |chunk| chunk.blocks[..at.index].iter().map(|block| block.bytes as usize).sum());
        self.before_chunk(at.chunk) + within
    }

    /// The block that holds a byte, and its start; the last one for the end of the text.
    pub(crate) fn at(&self, byte: usize) -> (Cursor, usize) {
        let (mut chunk, mut start) = (0, 0);
        let mut step = self.chunks.len().next_power_of_two();
        while step > 0 {
            let next = chunk + step;
            // Not into the last chunk's end: the end of the text belongs to a block.
            if next < self.chunks.len() && start + self.sums[next - 1] <= byte {
                start += self.sums[next - 1];
                chunk = next;
            }
            step /= 2;
        }
        let blocks = &self.chunks[chunk].blocks;
        let mut index = 0;
        while index + 1 < blocks.len() && start + blocks[index].bytes as usize <= byte {
            start += blocks[index].bytes as usize;
            index += 1;
        }
        (Cursor { chunk, index }, start)
    }

    pub(crate) fn find(&self, id: BlockId) -> Option<Cursor> {
        let slot = self.slots.get(id.slot as usize)?;
        if slot.generation != id.generation || slot.chunk == FREE {
            return None;
        }
        let chunk = self.places[slot.chunk as usize] as usize;
        let index = self.chunks[chunk].blocks.iter().position(|block| block.id == id)?;
        Some(Cursor { chunk, index })
    }

    /// A name for a block about to be inserted.
    pub(crate) fn fresh(&mut self) -> BlockId {
        if let Some(slot) = self.free_slots.pop() {
            return BlockId { slot, generation: self.slots[slot as usize].generation };
        }
        self.slots.push(Slot { generation: 0, chunk: FREE });
        BlockId { slot: self.slots.len() as u32 - 1, generation: 0 }
    }

    /// Ends a name; its block must be gone from the list.
    pub(crate) fn retire(&mut self, id: BlockId) {
        let slot = &mut self.slots[id.slot as usize];
        slot.generation = slot.generation.wrapping_add(1);
        slot.chunk = FREE;
        self.free_slots.push(id.slot);
    }

    /// Puts `with` in the place of `count` blocks from `at` on.
    pub(crate) fn splice(&mut self, at: Cursor, count: usize, with: &[Block]) {
        self.len = self.len + with.len() - count;
        if let Some(chunk) = self.chunks.get_mut(at.chunk) {
            let len = chunk.blocks.len() + with.len();
            if at.index + count <= chunk.blocks.len() && len > count && len - count <= 2 * FULL {
                chunk.blocks.splice(at.index..at.index + count, with.iter().copied());
                self.refresh(at.chunk, with);
                return;
            }
        }
        self.rebuild(at, count, with);
    }

    /// Brings sums, mask and slots in line with the blocks of one chunk, of which `new` may be new there.
    fn refresh(&mut self, at: usize, new: &[Block]) {
        let chunk = &mut self.chunks[at];
        let before = chunk.bytes;
        chunk.tally();
        let (key, after) = (chunk.key, chunk.bytes);
        for block in new {
            self.slots[block.id.slot as usize].chunk = key;
        }
        let mut n = at + 1;
        while n <= self.sums.len() {
            self.sums[n - 1] = self.sums[n - 1] + after - before;
            n += n & n.wrapping_neg();
        }
    }

    /// The way for edits that fill, empty or cross chunks: cuts new chunks from all that is touched.
    fn rebuild(&mut self, at: Cursor, count: usize, with: &[Block]) {
        let touched = self.chunks_holding(at, count);
        let mut blocks: Vec<Block> = Vec::new();
        for chunk in &self.chunks[touched.clone()] {
            blocks.extend_from_slice(&chunk.blocks);
        }
        let index = if touched.is_empty() { 0 } else { at.index };
        blocks.splice(index..index + count, with.iter().copied());
        for chunk in &self.chunks[touched.clone()] {
            self.free_keys.push(chunk.key);
        }
        let parts = blocks.len().div_ceil(FULL).max(1);
        let mut chunks = Vec::with_capacity(parts);
        for part in blocks.chunks(blocks.len().div_ceil(parts).max(1)) {
            let key = self.free_keys.pop().unwrap_or_else(|| {
                self.places.push(0);
                self.places.len() as u32 - 1
            });
            let mut chunk = Chunk { key, bytes: 0, mask: 0, flags: 0, blocks: part.to_vec() };
            chunk.tally();
            for block in &chunk.blocks {
                self.slots[block.id.slot as usize].chunk = key;
            }
            chunks.push(chunk);
        }
        self.chunks.splice(touched, chunks);
        self.sum_up();
    }

    /// The chunks with the blocks of a range, and a neighbor where little would be left.
    fn chunks_holding(&self, at: Cursor, count: usize) -> Range<usize> {
        let mut end = at.chunk;
        let mut held = 0;
        while end < self.chunks.len() && held < at.index + count {
            held += self.chunks[end].blocks.len();
            end += 1;
        }
        if end < self.chunks.len() && held - (at.index + count).min(held) + at.index < FULL / 8 {
            end += 1;
        }
        at.chunk.min(self.chunks.len())..end
    }

    fn sum_up(&mut self) {
        self.sums = vec![0; self.chunks.len()];
        for (n, chunk) in self.chunks.iter().enumerate() {
            self.places[chunk.key as usize] = n as u32;
            self.sums[n] += chunk.bytes;
            let parent = n + 1 + ((n + 1) & (n + 1).wrapping_neg());
            if parent <= self.sums.len() {
                self.sums[parent - 1] += self.sums[n];
            }
        }
    }
}

impl Chunk {
    fn tally(&mut self) {
        self.bytes = self.blocks.iter().map(|block| block.bytes as usize).sum();
        self.mask = self.blocks.iter().filter_map(|block| block.shape.group()).fold(0, |mask, group| mask | bit(group));
        self.flags = self.blocks.iter().fold(0, |flags, block| flags | block.flags);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next(state: &mut u64) -> usize {
        *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*state >> 33) as usize
    }

    fn new_block(list: &mut BlockList, state: &mut u64) -> Block {
        let group = next(state) as u32 % 70;
        let shape = if next(state).is_multiple_of(3) { Shape::Entry(group) } else { Shape::Sub(group) };
        let flags = if next(state).is_multiple_of(50) { HEALED } else { 0 };
        Block { id: list.fresh(), bytes: next(state) as u32 % 40, flags, shape, hash: 0 }
    }

    /// Every answer of the list against one found by walking a plain vector.
    fn check(list: &BlockList, plain: &[Block], state: &mut u64) {
        assert_eq!(list.iter().copied().collect::<Vec<_>>(), plain);
        assert_eq!(list.len(), plain.len());
        let n = next(state) % plain.len();
        let start: usize = plain[..n].iter().map(|b| b.bytes as usize).sum();
        let at = list.find(plain[n].id).unwrap();
        assert_eq!((list.get(at), list.start(at)), (Some(&plain[n]), start));
        if plain[n].bytes > 0 {
            assert_eq!(list.at(start + plain[n].bytes as usize - 1), (at, start));
        }
        let group = plain[n].shape.group().unwrap();
        let of_group: Vec<_> = list.of_group(group, at).map(|(_, b)| *b).collect();
        assert_eq!(of_group, plain[n..].iter().filter(|b| b.shape.group() == Some(group)).copied().collect::<Vec<_>>());
        let before = plain[..n].iter().rev().find(|b| b.shape == Shape::Entry(group));
        assert_eq!(list.entry_before(group, at), before);
        let healed = plain[n..].iter().find(|b| b.flags & HEALED != 0);
        assert_eq!(list.with_flag(HEALED, at).and_then(|c| list.get(c)), healed);
    }

    #[test]
    fn a_list_answers_as_a_plain_vector_does() {
        let mut state = 7;
        let (mut list, mut plain) = (BlockList::new(), Vec::new());
        let first: Vec<Block> = (0..1000).map(|_| new_block(&mut list, &mut state)).collect();
        list.splice(list.first(), 0, &first);
        plain.extend(first);
        for step in 0..3000 {
            let at = next(&mut state) % plain.len();
            let most = if step % 100 == 0 { 600 } else { 3 };
            let count = (next(&mut state) % most).min(plain.len() - at - usize::from(at == 0));
            let added = next(&mut state) % most;
            let with: Vec<Block> = (0..added).map(|_| new_block(&mut list, &mut state)).collect();
            let cursor = list.find(plain[at].id).unwrap();
            list.splice(cursor, count, &with);
            let gone: Vec<Block> = plain.splice(at..at + count, with).collect();
            for block in gone {
                list.retire(block.id);
                assert_eq!(list.find(block.id), None);
            }
            check(&list, &plain, &mut state);
        }
    }
}
