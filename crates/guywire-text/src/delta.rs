//! What an edit means for units: which are gone, and which are to be read again.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::blocks::{Block, Cursor, GroupId, Shape};
use crate::document::ORPHAN;
use crate::{BlockId, Delta, Document, UnitKey};

/// Old blocks and the new ones that take their place.
pub(crate) struct Change {
    pub(crate) from: Cursor,
    pub(crate) old: Vec<Block>,
    pub(crate) new: Vec<Block>,
    /// Removed, or of another text now.
    pub(crate) old_touched: Vec<bool>,
    /// Added, or of another text before.
    pub(crate) new_touched: Vec<bool>,
    /// For each new block, whether its identity is that of an old one.
    pub(crate) kept: Vec<bool>,
}

impl Change {
    /// A change of which everything is still to be told apart.
    pub(crate) fn new(from: Cursor, old: Vec<Block>, new: Vec<Block>) -> Change {
        let (old_touched, new_touched) = (vec![true; old.len()], vec![true; new.len()]);
        Change { from, old, new, old_touched, new_touched, kept: Vec::new() }
    }

    fn old_touched(&self) -> impl Iterator<Item = &Block> + '_ {
        self.old.iter().zip(&self.old_touched).filter(|(_, touched)| **touched).map(|(block, _)| block)
    }

    fn new_touched(&self) -> impl Iterator<Item = &Block> + '_ {
        self.new.iter().zip(&self.new_touched).filter(|(_, touched)| **touched).map(|(block, _)| block)
    }

    fn blocks_delta(&self) -> Delta {
        let mut delta = Delta::default();
        let stays: FxHashSet<BlockId> =
            self.new.iter().zip(&self.kept).filter(|(_, kept)| **kept).map(|(block, _)| block.id).collect();
        delta.removed.extend(self.old.iter().map(|block| block.id).filter(|id| !stays.contains(id)));
        for ((block, touched), kept) in self.new.iter().zip(&self.new_touched).zip(&self.kept) {
            match (kept, touched) {
                (false, _) => delta.added.push(block.id),
                (true, true) => delta.changed.push(block.id),
                (true, false) => {}
            }
        }
        delta
    }
}

/// A group that an edit touched, as it was before.
struct Before {
    group: GroupId,
    used: bool,
    list: bool,
    subs: bool,
}

impl Document {
    /// Puts a change into the list. `first_text`: the text of the first new block.
    pub(crate) fn commit(&mut self, mut change: Change, first_text: &str) -> Delta {
        let mut delta = change.blocks_delta();
        let new_root = self.new_root(&mut change, first_text);
        let before = self.groups_before(&change, new_root.as_deref());
        let mut gone = self.gone_candidates(&change, &before);
        self.install(&change, new_root, &delta);
        for before in &before {
            self.compare(before, &change, &mut gone, &mut delta.read);
        }
        self.compare_sub_tables(&before, &change, &mut delta.read);
        delta
            .read
            .extend(change.new_touched().filter(|block| is_unnamed(block)).map(|block| UnitKey::Unnamed(block.id)));
        gone.retain(|key| !self.exists(key));
        delta.gone = gone;
        for before in &before {
            self.groups.release(before.group);
        }
        delta
    }

    /// The first keys of the block before the first header, if that block came, went or changed.
    fn new_root(&mut self, change: &mut Change, first_text: &str) -> Option<Vec<GroupId>> {
        let is_root = |block: Option<&Block>, touched: Option<&bool>| {
            touched == Some(&true) && block.is_some_and(|block| block.shape == Shape::Root)
        };
        if is_root(change.new.first(), change.new_touched.first()) {
            let (root, orphan) = self.root_groups(first_text);
            change.new[0].flags |= orphan;
            return Some(root);
        }
        is_root(change.old.first(), change.old_touched.first()).then(Vec::new)
    }

    fn groups_before(&self, change: &Change, new_root: Option<&[GroupId]>) -> Vec<Before> {
        let touched = change.old_touched().chain(change.new_touched());
        let mut groups: Vec<GroupId> = touched.filter_map(|block| block.shape.group()).collect();
        if let Some(root) = new_root {
            groups.extend(self.root.iter().chain(root));
        }
        groups.sort_unstable();
        groups.dedup();
        let before = |group| {
            let counts = self.groups.get(group);
            Before { group, used: counts.is_used(), list: self.is_list(group), subs: counts.subs > 0 }
        };
        groups.into_iter().map(before).collect()
    }

    /// Units that may not outlive the change; what is missing are the entries of a list that is none any more.
    fn gone_candidates(&self, change: &Change, before: &[Before]) -> Vec<UnitKey> {
        let was_list =
            |group: GroupId| before.binary_search_by_key(&group, |before| before.group).is_ok_and(|n| before[n].list);
        let mut gone: Vec<UnitKey> = Vec::new();
        for block in change.old_touched() {
            match block.shape {
                Shape::Entry(group) if was_list(group) => gone.push(UnitKey::Entry(block.id)),
                _ if is_unnamed(block) => gone.push(UnitKey::Unnamed(block.id)),
                _ => {}
            }
        }
        let whole = before.iter().filter(|before| before.used && !before.list);
        gone.extend(whole.map(|before| UnitKey::Group(self.groups.get(before.group).name.clone())));
        gone
    }

    fn install(&mut self, change: &Change, new_root: Option<Vec<GroupId>>, delta: &Delta) {
        for block in &change.old {
            self.groups.count(block.shape, -1);
        }
        for block in &change.new {
            self.groups.count(block.shape, 1);
        }
        if let Some(root) = new_root {
            self.set_root(root);
        }
        self.list.splice(change.from, change.old.len(), &change.new);
        for id in &delta.removed {
            self.list.retire(*id);
        }
    }

    fn compare(&self, before: &Before, change: &Change, gone: &mut Vec<UnitKey>, read: &mut Vec<UnitKey>) {
        let counts = self.groups.get(before.group);
        let list = self.is_list(before.group);
        let entry = Shape::Entry(before.group);
        let all = || self.list.of_group(before.group, self.list.first()).map(|(_, block)| block);
        if before.list && !list {
            // Those in the change are candidates already.
            let touched: FxHashSet<BlockId> = change.new_touched().map(|block| block.id).collect();
            let entries = all().filter(|block| block.shape == entry && !touched.contains(&block.id));
            gone.extend(entries.map(|block| UnitKey::Entry(block.id)));
        }
        if !list {
            read.extend(counts.is_used().then(|| UnitKey::Group(counts.name.clone())));
        } else if !before.list {
            read.extend(all().filter(|block| block.shape == entry).map(|block| UnitKey::Entry(block.id)));
        } else if !before.subs && counts.subs == 0 {
            let entries = change.new_touched().filter(|block| block.shape == entry);
            read.extend(entries.map(|block| UnitKey::Entry(block.id)));
        }
    }

    /// Lists with sub-tables, before and after: an entry is read again if it, or what follows it, is not the same.
    fn compare_sub_tables(&self, before: &[Before], change: &Change, read: &mut Vec<UnitKey>) {
        let mut groups: FxHashMap<GroupId, [Vec<Segment>; 2]> = FxHashMap::default();
        let lists = before.iter().filter(|before| before.list && self.is_list(before.group));
        for before in lists.filter(|before| before.subs || self.groups.get(before.group).subs > 0) {
            groups.insert(before.group, [vec![Segment::default()], vec![Segment::default()]]);
        }
        if groups.is_empty() {
            return;
        }
        let sides = [(&change.old, &change.old_touched), (&change.new, &change.new_touched)];
        for (side, (blocks, touched)) in sides.into_iter().enumerate() {
            for (block, touched) in blocks.iter().zip(touched) {
                let Some(segments) = block.shape.group().and_then(|group| groups.get_mut(&group)) else { continue };
                add_segment(&mut segments[side], block, *touched);
            }
        }
        let after = self.list.cursor_after(change.from, change.new.len());
        for before in before {
            let Some([old, new]) = groups.get(&before.group) else { continue };
            let follows = self.list.of_group(before.group, after).next();
            let sub_follows = follows.is_some_and(|(_, block)| block.shape == Shape::Sub(before.group));
            for owner in changed_owners(old, new, sub_follows) {
                let id = owner.or_else(|| self.list.entry_before(before.group, change.from).map(|block| block.id));
                read.extend(id.map(UnitKey::Entry));
            }
        }
    }
}

fn is_unnamed(block: &Block) -> bool {
    match block.shape {
        Shape::Unreadable => true,
        Shape::Root => block.flags & ORPHAN != 0,
        _ => false,
    }
}

/// An entry within a change, and its sub-tables there. No owner: an entry before the change.
#[derive(Default)]
struct Segment {
    owner: Option<BlockId>,
    touched: bool,
    subs: Vec<BlockId>,
}

fn add_segment(segments: &mut Vec<Segment>, block: &Block, touched: bool) {
    if matches!(block.shape, Shape::Entry(_)) {
        segments.push(Segment { owner: Some(block.id), touched, subs: Vec::new() });
    } else if let Some(segment) = segments.last_mut() {
        segment.touched |= touched;
        segment.subs.push(block.id);
    }
}

/// The owners of new segments that are not as they were. `sub_follows`: sub-tables after the change belong to whichever
/// segment is the last.
fn changed_owners(old: &[Segment], new: &[Segment], sub_follows: bool) -> Vec<Option<BlockId>> {
    let places: FxHashMap<Option<BlockId>, usize> =
        old.iter().enumerate().map(|(n, segment)| (segment.owner, n)).collect();
    let is_changed = |(n, segment): &(usize, &Segment)| {
        let Some(place) = places.get(&segment.owner) else { return true };
        let was_last = place + 1 == old.len();
        let is_last = n + 1 == new.len();
        segment.touched || old[*place].subs != segment.subs || (sub_follows && was_last != is_last)
    };
    new.iter().enumerate().filter(is_changed).map(|(_, segment)| segment.owner).collect()
}
