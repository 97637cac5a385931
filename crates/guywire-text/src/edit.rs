//! Edits: which blocks are cut anew, and which of them are still the same.

use std::ops::Range;

use ropey::Rope;
use rustc_hash::FxHashMap;

use crate::blocks::{Block, Cursor};
use crate::delta::Change;
use crate::document::hash;
use crate::lex::{Quote, has_triple, triple_end};
use crate::scan::{Cut, Outcome, TRIPLE_BASIC, TRIPLE_LITERAL, Window, scan, triple_flag};
use crate::{BlockId, Delta, Document, EditError};

/// Cuts of the new text that take the place of `count` old blocks from `from` on.
struct Rescan {
    from: Cursor,
    count: usize,
    text: String,
    cuts: Vec<Cut>,
}

impl Document {
    /// Replaces a range of bytes. An error leaves everything as it was.
    pub fn edit(&mut self, bytes: Range<usize>, with: &str) -> Result<Delta, EditError> {
        self.check(&bytes)?;
        if bytes.is_empty() && with.is_empty() {
            return Ok(Delta::default());
        }
        let from = self.restart(&bytes);
        let triple = self.has_triple_in(&bytes);
        let chars = self.rope.byte_to_char(bytes.start)..self.rope.byte_to_char(bytes.end);
        self.rope.remove(chars.clone());
        self.rope.insert(chars.start, with);
        let new = bytes.start..bytes.start + with.len();
        let from = match self.list.first_healed_before(from) {
            Some(healed) if triple || self.makes_triple(&new) => healed,
            _ => from,
        };
        let rescan = self.rescan(from, &bytes, with.len());
        Ok(self.take(&rescan))
    }

    /// Replaces the whole text, as one edit between what the old and the new text have in common at both ends.
    pub fn replace(&mut self, text: &str) -> Delta {
        let (before, after) = common_ends(&self.rope, text);
        let old = before..self.len() - after;
        // The ends are on character boundaries of both texts.
        self.edit(old, &text[before..text.len() - after]).unwrap_or_default()
    }

    fn check(&self, bytes: &Range<usize>) -> Result<(), EditError> {
        if bytes.start > bytes.end {
            return Err(EditError::Reversed { start: bytes.start, end: bytes.end });
        }
        if bytes.end > self.len() {
            return Err(EditError::OutOfRange { end: bytes.end, len: self.len() });
        }
        for byte in [bytes.start, bytes.end] {
            if self.rope.get_byte_slice(byte..).is_none() {
                return Err(EditError::InsideCharacter { byte });
            }
        }
        Ok(())
    }

    /// The block to cut anew from: the one that holds the edit, or the one before it if the edit touches the first line.
    fn restart(&self, bytes: &Range<usize>) -> Cursor {
        let (at, start) = self.list.at(bytes.start);
        let within = self.rope.bytes_at(start).take(bytes.start - start).take(MAX_HEADER);
        if within.into_iter().any(|b| matches!(b, b'\n' | b'\r')) {
            return at;
        }
        self.list.previous(at).unwrap_or(at)
    }

    fn has_triple_in(&self, bytes: &Range<usize>) -> bool {
        let (mut at, mut start) = self.list.at(bytes.start);
        while let Some(block) = self.list.get(at) {
            if start > bytes.end {
                return false;
            }
            if block.flags & (TRIPLE_BASIC | TRIPLE_LITERAL) != 0 {
                return true;
            }
            start += block.bytes as usize;
            at = self.list.next(at);
        }
        false
    }

    fn makes_triple(&self, new: &Range<usize>) -> bool {
        let start = new.start.saturating_sub(2);
        let near: Vec<u8> = self.rope.bytes_at(start).take(new.end + 2 - start).collect();
        has_triple(&near, Quote::Basic) || has_triple(&near, Quote::Literal)
    }

    /// Cuts the new text from the block at `from` on, until a block starts where one started before.
    fn rescan(&self, from: Cursor, old: &Range<usize>, new_len: usize) -> Rescan {
        let start = self.list.start(from);
        // The list still has the old blocks: the first that starts at the end of the edit or after it.
        let (mut stop, mut stop_start) = self.list.at(old.end);
        if stop_start < old.end {
            stop_start += self.list.get(stop).map_or(0, |block| block.bytes as usize);
            stop = self.list.next(stop);
        }
        let moved = |byte: usize| byte - old.end + old.start + new_len;
        let (mut cursors, mut stops) = (Vec::new(), Vec::new());
        let mut wanted = 2;
        loop {
            while cursors.len() < wanted && self.list.get(stop).is_some() {
                cursors.push(stop);
                stops.push(moved(stop_start) - start);
                stop_start += self.list.get(stop).map_or(0, |block| block.bytes as usize);
                stop = self.list.next(stop);
            }
            let last = self.list.get(stop).is_none();
            let end = if last { self.len() } else { moved(stop_start) };
            let text = self.rope.byte_slice(start..end).to_string();
            let window = Window { text: &text, first: start == 0, last, stops: &stops };
            let (cuts, outcome) = scan(&window, |quote| self.closes_after(stop, quote, moved));
            let to = match outcome {
                Outcome::Short => {
                    wanted *= 2;
                    continue;
                }
                Outcome::Met(at) => stops.binary_search(&at).map_or(self.list.end(), |n| cursors[n]),
                Outcome::End => self.list.end(),
            };
            return Rescan { from, count: self.list.distance(from, to), text, cuts };
        }
    }

    /// Whether a string that is open where the block at `from` starts is closed in it or later. `moved`: the new place of
    /// an old byte.
    fn closes_after(&self, from: Cursor, quote: Quote, moved: impl Fn(usize) -> usize) -> bool {
        let mut at = from;
        while let Some(found) = self.list.with_flag(triple_flag(quote), at) {
            let start = moved(self.list.start(found));
            let bytes = self.list.get(found).map_or(0, |block| block.bytes as usize);
            let text = std::borrow::Cow::from(self.rope.byte_slice(start..start + bytes));
            // A backslash never reaches over a line end, so a block can be searched by itself.
            if triple_end(text.as_bytes(), 0, quote).is_some() {
                return true;
            }
            at = self.list.next(found);
        }
        false
    }

    /// Puts the new cuts in the place of the old blocks.
    fn take(&mut self, rescan: &Rescan) -> Delta {
        let text = |cut: &Cut| &rescan.text[cut.start..cut.end];
        let old = self.list.blocks_from(rescan.from, rescan.count);
        let mut new = Vec::with_capacity(rescan.cuts.len());
        let prints: Vec<Print> =
            rescan.cuts.iter().map(|cut| (hash(text(cut)), (cut.end - cut.start) as u32)).collect();
        let same = same_blocks(&old, &prints);
        for ((cut, print), same) in rescan.cuts.iter().zip(&prints).zip(&same) {
            new.push(match same {
                Some(n) => old[*n],
                None => self.describe(BlockId::ALONE, text(cut), *cut, print.0),
            });
        }
        let partners = partners(&old, &new, &same);
        let mut change = Change::new(rescan.from, old, new);
        for (n, partner) in partners.into_iter().enumerate() {
            change.kept.push(partner.is_some());
            let Some(at) = partner else {
                change.new[n].id = self.list.fresh();
                continue;
            };
            let touched = print_of(&change.old[at]) != prints[n];
            (change.old_touched[at], change.new_touched[n]) = (touched, touched);
            match touched {
                true => change.new[n].id = change.old[at].id,
                false => change.new[n] = change.old[at],
            }
        }
        self.commit(change, rescan.cuts.first().map_or("", text))
    }
}

/// A header longer than this counts as touched by any edit of its block.
const MAX_HEADER: usize = 4096;

/// Hash and length of a block's text.
type Print = (u64, u32);

fn print_of(block: &Block) -> Print {
    (block.hash, block.bytes)
}

/// For each new block the old one of the same text, in the same order: those at both ends, and between them those whose
/// text is there once before and once after.
fn same_blocks(old: &[Block], new: &[Print]) -> Vec<Option<usize>> {
    let mut same = vec![None; new.len()];
    let before = old.iter().zip(new).take_while(|(old, new)| print_of(old) == **new).count();
    let ends = old[before..].iter().rev().zip(new[before..].iter().rev());
    let after = ends.take_while(|(old, new)| print_of(old) == **new).count();
    for (n, place) in same.iter_mut().enumerate().take(before) {
        *place = Some(n);
    }
    for n in 0..after {
        same[new.len() - 1 - n] = Some(old.len() - 1 - n);
    }
    let (olds, news) = (before..old.len() - after, before..new.len() - after);
    if olds.is_empty() || news.is_empty() {
        return same;
    }
    let mut places: FxHashMap<Print, (u32, usize, u32, usize)> = FxHashMap::default();
    for n in olds {
        let place = places.entry(print_of(&old[n])).or_default();
        (place.0, place.1) = (place.0 + 1, n);
    }
    for n in news.clone() {
        let place = places.entry(new[n]).or_default();
        (place.2, place.3) = (place.2 + 1, n);
    }
    let once = |n: usize| places.get(&new[n]).filter(|p| p.0 == 1 && p.2 == 1).map(|p| (n, p.1));
    for (new, old) in longest_ascent(&news.filter_map(once).collect::<Vec<_>>()) {
        same[new] = Some(old);
    }
    same
}

/// The longest part of a list of pairs, ascending in the first, that ascends in the second too.
fn longest_ascent(pairs: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let mut tails: Vec<usize> = Vec::new();
    let mut before = vec![None; pairs.len()];
    for (n, (_, old)) in pairs.iter().enumerate() {
        let at = tails.partition_point(|tail| pairs[*tail].1 < *old);
        before[n] = at.checked_sub(1).map(|b| tails[b]);
        if at == tails.len() {
            tails.push(n);
        } else {
            tails[at] = n;
        }
    }
    let mut ascent = Vec::with_capacity(tails.len());
    let mut at = tails.last().copied();
    while let Some(n) = at {
        ascent.push(pairs[n]);
        at = before[n];
    }
    ascent.reverse();
    ascent
}

/// For each new block the old one whose identity it takes: the one of the same text; and in the gaps between those, the
/// one in the same place if as many stand there as before, or else those of the same header from both ends of the gap.
fn partners(old: &[Block], new: &[Block], same: &[Option<usize>]) -> Vec<Option<usize>> {
    let mut partners = same.to_vec();
    let (mut from_old, mut from_new) = (0, 0);
    for n in 0..=new.len() {
        let to_old = match same.get(n) {
            Some(None) => continue,
            Some(Some(at)) => *at,
            None => old.len(),
        };
        let (olds, news) = (from_old..to_old, from_new..n);
        let even = olds.len() == news.len();
        let alike = |(o, n): &(usize, usize)| even || old[*o].shape == new[*n].shape;
        let mut front = 0;
        for (o, n) in olds.clone().zip(news.clone()).take_while(alike) {
            partners[n] = Some(o);
            front += 1;
        }
        let rest = olds.skip(front).rev().zip(news.skip(front).rev());
        for (o, n) in rest.take_while(alike) {
            partners[n] = Some(o);
        }
        (from_old, from_new) = (to_old + 1, n + 1);
    }
    partners
}

/// How many bytes a rope and a text have in common at the start and, after that, at the end, in whole characters.
fn common_ends(rope: &Rope, text: &str) -> (usize, usize) {
    let mut before = 0;
    for chunk in rope.chunks() {
        let rest = &text.as_bytes()[before..];
        if rest.starts_with(chunk.as_bytes()) {
            before += chunk.len();
            continue;
        }
        let same = chunk.bytes().zip(rest).take_while(|(a, b)| a == *b).count();
        before += same;
        if same < chunk.len() {
            break;
        }
    }
    while !text.is_char_boundary(before) {
        before -= 1;
    }
    let most = rope.len_bytes().min(text.len()) - before;
    let mut after = 0;
    let (mut chunks, ..) = rope.chunks_at_byte(rope.len_bytes());
    // Iterators in ropes stand between chunks: the last chunk is the next one at the end of the text.
    chunks.next();
    while let Some(chunk) = chunks.prev() {
        let rest = &text.as_bytes()[..text.len() - after];
        if rest.ends_with(chunk.as_bytes()) {
            after += chunk.len();
            continue;
        }
        let same = chunk.bytes().rev().zip(rest.iter().rev()).take_while(|(a, b)| a == *b).count();
        after += same;
        if same < chunk.len() {
            break;
        }
    }
    after = after.min(most);
    while !text.is_char_boundary(text.len() - after) {
        after -= 1;
    }
    (before, after)
}
