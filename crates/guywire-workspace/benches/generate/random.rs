//! Random numbers that are the same on every machine.

/// The generator SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014).
pub struct SplitMix64(pub u64);

impl SplitMix64 {
    /// The next number.
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `end`, which is not 0. The bias of the remainder does not matter here.
    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    /// One of some things, of which there is at least one.
    pub fn pick<'t, T>(&mut self, things: &'t [T]) -> &'t T {
        &things[self.below(things.len())]
    }
}
