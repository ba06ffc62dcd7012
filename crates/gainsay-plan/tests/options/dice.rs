//! Random numbers, the same from run to run.

/// SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014; constants from memory).
#[derive(Debug, Clone)]
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// 0 up to, but not including, `end`.
    pub(crate) const fn below(&mut self, end: usize) -> usize {
        ((self.next() as u128 * end as u128) >> 64) as usize
    }

    /// From `first` to `last`, both included.
    pub(crate) const fn within(&mut self, first: usize, last: usize) -> usize {
        first + self.below(last - first + 1)
    }

    /// True so many times of a hundred.
    pub(crate) const fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub(crate) fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }
}
