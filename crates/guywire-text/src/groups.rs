//! The first keys of a document, interned, with how each is written.

use std::sync::Arc;

use rustc_hash::FxHashMap;

use crate::blocks::{GroupId, Shape};

/// How often a first key is written in which way.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    pub(crate) name: Arc<str>,
    pub(crate) tables: u32,
    pub(crate) entries: u32,
    pub(crate) subs: u32,
    /// Whether the block before the first header has a key of this name.
    pub(crate) root: bool,
}

impl Group {
    pub(crate) fn is_used(&self) -> bool {
        self.tables > 0 || self.entries > 0 || self.subs > 0 || self.root
    }
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Groups {
    by_name: FxHashMap<Arc<str>, GroupId>,
    groups: Vec<Group>,
    free: Vec<GroupId>,
}

impl Groups {
    pub(crate) fn get(&self, group: GroupId) -> &Group {
        &self.groups[group as usize]
    }

    pub(crate) fn find(&self, name: &str) -> Option<GroupId> {
        self.by_name.get(name).copied().filter(|group| self.get(*group).is_used())
    }

    pub(crate) fn intern(&mut self, name: &str) -> GroupId {
        if let Some(group) = self.by_name.get(name) {
            return *group;
        }
        let name: Arc<str> = name.into();
        let new = Group { name: name.clone(), tables: 0, entries: 0, subs: 0, root: false };
        let group = match self.free.pop() {
            Some(group) => {
                self.groups[group as usize] = new;
                group
            }
            None => {
                self.groups.push(new);
                self.groups.len() as GroupId - 1
            }
        };
        self.by_name.insert(name, group);
        group
    }

    /// Counts a block in (`1`) or out (`-1`).
    pub(crate) fn count(&mut self, shape: Shape, by: i32) {
        let Some(group) = shape.group() else { return };
        let group = &mut self.groups[group as usize];
        let count = match shape {
            Shape::Table(_) => &mut group.tables,
            Shape::Entry(_) => &mut group.entries,
            _ => &mut group.subs,
        };
        *count = count.saturating_add_signed(by);
    }

    pub(crate) fn set_root(&mut self, group: GroupId, root: bool) {
        self.groups[group as usize].root = root;
    }

    /// Forgets a group that nothing is written under.
    pub(crate) fn release(&mut self, group: GroupId) {
        let held = &self.groups[group as usize];
        if !held.is_used() && self.by_name.remove(&held.name).is_some() {
            self.free.push(group);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_no_longer_written_take_no_room() {
        let mut groups = Groups::default();
        let kept = groups.intern("kept");
        groups.count(Shape::Entry(kept), 1);
        for n in 0..100 {
            let group = groups.intern(&format!("half typed {n}"));
            groups.count(Shape::Table(group), 1);
            groups.count(Shape::Table(group), -1);
            groups.release(group);
            groups.release(group);
        }
        groups.release(kept);
        assert_eq!((groups.groups.len(), groups.by_name.len()), (2, 1));
        assert_eq!(groups.find("kept"), Some(kept));
        assert_eq!(groups.find("half typed 7"), None);
    }
}
