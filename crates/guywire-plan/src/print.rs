//! A print of what a computation read, to tell without comparing whether it read the same as before.

use std::hash::{Hash, Hasher};

/// A print of what was read, in the order of reading: 128 bits, so that two that differ never
/// come to the same in practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Print(u64, u64);

/// Two hashes that are made side by side, by multiplication to 128 bits, whose halves are folded together.
struct Mixer(u64, u64);

impl Mixer {
    fn add(&mut self, word: u64) {
        self.0 = folded(self.0 ^ word, 0x9e37_79b9_7f4a_7c15);
        self.1 = folded(self.1 ^ word.rotate_left(32), 0xd1b5_4a32_d192_ed03);
        // A factor of zero would forget all that came before.
        self.0 = self.0.wrapping_add(0x2545_f491_4f6c_dd1d);
        self.1 = self.1.wrapping_add(0xa076_1d64_78bd_642f);
    }
}

fn folded(a: u64, b: u64) -> u64 {
    let product = u128::from(a) * u128::from(b);
    product as u64 ^ (product >> 64) as u64
}

impl Hasher for Mixer {
    fn finish(&self) -> u64 {
        self.0 ^ self.1
    }

    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..chunk.len()].copy_from_slice(chunk);
            self.add(u64::from_le_bytes(word));
        }
        self.add(bytes.len() as u64);
    }

    fn write_u8(&mut self, word: u8) {
        self.add(u64::from(word));
    }

    fn write_u32(&mut self, word: u32) {
        self.add(u64::from(word));
    }

    fn write_u64(&mut self, word: u64) {
        self.add(word);
    }

    fn write_isize(&mut self, word: isize) {
        self.add(word as u64);
    }
}

impl Print {
    /// The print of things in an order.
    pub fn of(things: impl IntoIterator<Item = impl Hash>) -> Print {
        let mut mixer = Mixer(0x8ebc_6af0_9c88_c6e3, 0x5899_65cc_7537_4cc3);
        things.into_iter().for_each(|thing| thing.hash(&mut mixer));
        Print(mixer.0, mixer.1)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn small_numbers_in_any_place_and_order_come_to_prints_of_their_own() {
        let mut seen: HashSet<(u64, u64)> = HashSet::new();
        let mut firsts: HashSet<u64> = HashSet::new();
        let mut seconds: HashSet<u64> = HashSet::new();
        for a in 0..40_u32 {
            for b in 0..40_u32 {
                for c in 0..40_u8 {
                    let Print(first, second) = Print::of([(a, b, c)]);
                    assert!(seen.insert((first, second)));
                    // Each half alone tells them apart.
                    assert!(firsts.insert(first) && seconds.insert(second), "{a} {b} {c}");
                }
            }
        }
        assert_ne!(Print::of([1, 2]), Print::of([2, 1]), "the order tells");
        assert_ne!(Print::of([1]), Print::of([1, 1]), "how often tells");
        assert_ne!(Print::of([0_u32; 0]), Print::of([0]), "a zero tells");
    }
}
