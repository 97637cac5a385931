//! A set of entities with counts that is small almost always and huge sometimes.

use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use crate::entity::EntityId;

/// More than this many are kept by hash.
const FEW: usize = 16;

/// How often each entity is in it.
#[derive(Debug, Clone)]
pub(crate) enum Bag {
    Few(SmallVec<[(EntityId, u32); 1]>),
    Many(FxHashMap<EntityId, u32>),
}

impl Default for Bag {
    fn default() -> Self {
        Bag::Few(SmallVec::new())
    }
}

impl Bag {
    pub fn is_empty(&self) -> bool {
        match self {
            Bag::Few(few) => few.is_empty(),
            Bag::Many(many) => many.is_empty(),
        }
    }

    pub fn len(&self) -> usize {
        match self {
            Bag::Few(few) => few.len(),
            Bag::Many(many) => many.len(),
        }
    }

    pub fn iter(&self) -> impl Iterator<Item = EntityId> + '_ {
        let (few, many) = match self {
            Bag::Few(few) => (few.as_slice(), None),
            Bag::Many(many) => (&[][..], Some(many)),
        };
        few.iter().map(|(id, _)| *id).chain(many.into_iter().flat_map(FxHashMap::keys).copied())
    }

    /// Adds one; true where the entity was not in it.
    pub fn add(&mut self, id: EntityId) -> bool {
        match self {
            Bag::Few(few) => {
                if let Some((_, count)) = few.iter_mut().find(|(held, _)| *held == id) {
                    *count += 1;
                    return false;
                }
                if few.len() >= FEW {
                    let mut many: FxHashMap<_, _> = few.drain(..).collect();
                    many.insert(id, 1);
                    *self = Bag::Many(many);
                } else {
                    few.push((id, 1));
                }
                true
            }
            Bag::Many(many) => {
                let count = many.entry(id).or_insert(0);
                *count += 1;
                *count == 1
            }
        }
    }

    /// Takes one away; true where the entity is not in it any more.
    pub fn take(&mut self, id: EntityId) -> bool {
        match self {
            Bag::Few(few) => {
                let Some(at) = few.iter().position(|(held, _)| *held == id) else { return false };
                few[at].1 -= 1;
                let gone = few[at].1 == 0;
                if gone {
                    few.swap_remove(at);
                }
                gone
            }
            Bag::Many(many) => {
                let Some(count) = many.get_mut(&id) else { return false };
                *count -= 1;
                let gone = *count == 0;
                if gone {
                    many.remove(&id);
                }
                gone
            }
        }
    }
}
