//! Sets of small numbers.

/// A set of small whole numbers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Set(Vec<u64>);

impl Set {
    /// Adds a number.
    pub(super) fn insert(&mut self, number: usize) {
        let at = number / 64;
        if self.0.len() <= at {
            self.0.resize(at + 1, 0);
        }
        if let Some(word) = self.0.get_mut(at) {
            *word |= 1 << (number % 64);
        }
    }

    /// Whether a number is in it.
    pub(super) fn contains(&self, number: usize) -> bool {
        self.0.get(number / 64).is_some_and(|word| word & (1 << (number % 64)) != 0)
    }

    /// Adds all of another set.
    pub(super) fn add_all(&mut self, other: &Self) {
        if self.0.len() < other.0.len() {
            self.0.resize(other.0.len(), 0);
        }
        for (mine, theirs) in self.0.iter_mut().zip(&other.0) {
            *mine |= theirs;
        }
    }

    /// How many numbers are in it.
    pub(super) fn count(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }
}
