//! Monte Carlo draws (JCGM 101:2008): one stream of random numbers for each figure, so that the same figure has the same draws
//! wherever it is used, and adding a source changes nothing for the others.

pub(crate) mod decibels;
pub(crate) mod lane;
mod normal;
pub(crate) mod order;

use decibels::levels_to_powers;
use gainsay_units::Spread;
use lane::{LANES, View};
use multiversion::multiversion;
use normal::{BLOCK, to_quantiles};
use std::cell::OnceCell;

/// How many draws, and from which seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    /// Number of draws; rounded up to a multiple of eight.
    pub count: usize,
    /// Seed. The same seed gives the same results to the last bit on every platform.
    pub seed: u64,
}

impl Default for Draws {
    fn default() -> Self {
        Self { count: 10_000, seed: 1 }
    }
}

impl Draws {
    pub(crate) fn rounded(self) -> usize {
        self.count.clamp(LANES, 10_000_000).next_multiple_of(LANES)
    }
}

/// How many classes of equal probability a figure's draws are sorted into, to ask what knowing it would be worth.
pub(crate) const BINS: usize = 20;

/// Draws of one figure.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Column {
    /// The values, in the base unit of the figure.
    pub(crate) values: Vec<f64>,
    /// For each draw its class among [`BINS`] of equal probability; empty if the figure is exact.
    pub(crate) bins: Vec<u8>,
    /// How many draws are in each class.
    bin_counts: [u32; BINS],
    /// Values in dB as ratios of powers, once anyone has asked for them.
    powers: OnceCell<Vec<f64>>,
}

/// The smallest fraction of a positive quantity that a draw may have.
const LEAST_FRACTION: f64 = 0.05;

impl Column {
    /// Draws of a figure. `positive` keeps a linear quantity above a twentieth of its value.
    pub(crate) fn draw(key: &str, value: f64, spread: Spread, positive: bool, draws: Draws) -> Self {
        let count = draws.rounded();
        let least = if positive { LEAST_FRACTION * value } else { f64::NEG_INFINITY };
        let mut column = Self {
            values: Vec::with_capacity(count),
            bins: Vec::new(),
            bin_counts: [0; BINS],
            powers: OnceCell::new(),
        };
        if spread == Spread::Exact {
            column.values.resize(count, value.max(least));
            return column;
        }
        column.bins.reserve_exact(count);
        let stream = Stream::new(draws.seed, key);
        let mut start = 0;
        while column.values.len() < count {
            let (mut values, mut bins) = ([0.0; BLOCK], [0; BLOCK]);
            block(&stream, start, &mut values, &mut bins);
            shape(&mut values, value, spread, least);
            start += BLOCK as u64;
            let left = BLOCK.min(count - column.values.len());
            column.values.extend_from_slice(values.get(..left).unwrap_or_default());
            column.bins.extend_from_slice(bins.get(..left).unwrap_or_default());
        }
        column.bin_counts = counts(&column.bins);
        column
    }

    /// The values, eight at a time.
    pub(crate) fn view(&self) -> View<'_> {
        View::of(&self.values)
    }

    /// The values of a figure in dB as ratios of powers.
    pub(crate) fn powers(&self) -> View<'_> {
        View::of(self.powers.get_or_init(|| {
            let mut powers = self.values.clone();
            levels_to_powers(&mut powers);
            powers
        }))
    }

    /// How often each class of a result falls into each bin; nothing if the figure is exact.
    ///
    /// Most draws have one class. Only the others are counted, at their indices; what is left of a bin has the usual class.
    pub(crate) fn classes_by_bin(&self, classes: &Classes) -> [[u32; 3]; BINS] {
        let mut table = [[0_u32; 3]; BINS];
        for (row, all) in table.iter_mut().zip(self.bin_counts) {
            if let Some(count) = row.get_mut(usize::from(classes.usual)) {
                *count = all;
            }
        }
        for (index, class) in &classes.others {
            let bin = self.bins.get(*index as usize).map_or(BINS, |bin| usize::from(*bin));
            let Some(row) = table.get_mut(bin) else { continue };
            if let Some(count) = row.get_mut(usize::from(*class)) {
                *count += 1;
            }
            if let Some(count) = row.get_mut(usize::from(classes.usual)) {
                *count -= 1;
            }
        }
        table
    }
}

/// Numbers between 0 and 1 from an index on, and their bins.
#[multiversion(targets("x86_64+avx2"))]
fn block(stream: &Stream, start: u64, values: &mut [f64; BLOCK], bins: &mut [u8; BLOCK]) {
    let mut bits = [0; BLOCK];
    let mut state = stream.state(start);
    for bits in &mut bits {
        *bits = mix(state) >> 12;
        state = state.wrapping_add(STEP);
    }
    *values = bits.map(uniform);
    *bins = bits.map(bin_of);
}

/// From numbers between 0 and 1 to draws of an uncertain figure.
#[multiversion(targets("x86_64+avx2"))]
fn shape(numbers: &mut [f64; BLOCK], value: f64, spread: Spread, least: f64) {
    match spread {
        Spread::Exact => numbers.fill(value),
        Spread::Rectangular { below, above } => {
            numbers.iter_mut().for_each(|v| *v = value - below + (below + above) * *v);
        }
        Spread::Normal { standard_deviation } => {
            to_quantiles(numbers);
            numbers.iter_mut().for_each(|v| *v = value + standard_deviation * *v);
        }
    }
    numbers.iter_mut().for_each(|v| *v = if *v > least { *v } else { least });
}

fn counts(bins: &[u8]) -> [u32; BINS] {
    // A place for every byte spares the question whether there is one.
    let mut counts = [0_u32; 256];
    for bin in bins {
        if let Some(count) = counts.get_mut(usize::from(*bin)) {
            *count += 1;
        }
    }
    std::array::from_fn(|bin| counts.get(bin).copied().unwrap_or(0))
}

/// The class of every draw (0, 1 or 2), as the usual one and the draws that have another.
pub(crate) struct Classes {
    usual: u8,
    others: Vec<(u32, u8)>,
}

impl Classes {
    pub(crate) fn of(classes: &[u8]) -> Self {
        let count = |class: u8| classes.iter().filter(|c| **c == class).count();
        let usual = (0..3).max_by_key(|class| count(*class)).unwrap_or(0);
        let others = (0..).zip(classes).filter(|(_, class)| **class != usual).map(|(i, c)| (i, *c)).collect();
        Self { usual, others }
    }
}

/// A stream of random numbers by counter: SplitMix64 (Steele, Lea and Flood 2014), started from seed and key.
pub(crate) struct Stream(u64);

impl Stream {
    pub(crate) fn new(seed: u64, key: &str) -> Self {
        // FNV-1a of the key; the mixing below spreads it over all bits.
        let hash = key.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        Self(mix(hash ^ mix(seed.wrapping_add(STEP))))
    }

    /// What is mixed into the number at an index.
    fn state(&self, index: u64) -> u64 {
        self.0.wrapping_add(index.wrapping_add(1).wrapping_mul(STEP))
    }
}

/// From the state of one index to that of the next.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

/// A number between 0 and 1, and never either, of 52 random bits.
#[inline(always)]
fn uniform(bits: u64) -> f64 {
    // The bits in those of 2⁵² add themselves to it: quicker than a conversion, and as exact.
    const WHOLE: f64 = 4_503_599_627_370_496.0;
    (f64::from_bits(bits | WHOLE.to_bits()) - WHOLE + 0.5) * (1.0 / WHOLE)
}

/// The bin of that number: the whole part of [`BINS`] times it, to the 32 leading bits, which is one multiplication.
#[inline(always)]
fn bin_of(bits: u64) -> u8 {
    (((bits >> 20) * BINS as u64) >> 32) as u8
}

#[inline(always)]
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::order::Quantiles;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn draws_have_the_stated_distribution() {
        let draws = Draws { count: 100_000, seed: 7 };
        let normal = Column::draw("a", 10.0, Spread::Normal { standard_deviation: 2.0 }, false, draws);
        let n = normal.values.len() as f64;
        let mean = normal.values.iter().sum::<f64>() / n;
        let sd = (normal.values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n).sqrt();
        assert!((mean - 10.0).abs() < 0.03, "mean {mean}");
        assert!((sd - 2.0).abs() < 0.02, "standard deviation {sd}");
        let uniform =
            Column::draw("b", 10.0, Spread::Rectangular { below: 1.0, above: 3.0 }, false, draws).values;
        let quantiles = Quantiles::of(&uniform);
        assert!((quantiles.low - 9.1).abs() < 0.02, "2.5 % at {}", quantiles.low);
        assert!((quantiles.median - 11.0).abs() < 0.03, "median {}", quantiles.median);
        assert!((quantiles.high - 12.9).abs() < 0.02, "97.5 % at {}", quantiles.high);
    }

    #[test]
    fn a_positive_figure_stays_positive() {
        let spread = Spread::Normal { standard_deviation: 1.0 };
        let column = Column::draw("a", 1.0, spread, true, Draws { count: 10_000, seed: 3 });
        let least = column.values.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((least - 0.05).abs() < 1e-15, "least draw {least}, want a twentieth of the value");
    }

    #[test]
    fn more_draws_begin_with_the_same_ones() {
        let spread = Spread::Normal { standard_deviation: 1.0 };
        let few = Column::draw("a", 1.0, spread, false, Draws { count: 200, seed: 3 });
        let many = Column::draw("a", 1.0, spread, false, Draws { count: 1000, seed: 3 });
        assert_eq!(few.values.len(), 200);
        assert_eq!(few.values[..], many.values[..200]);
        assert_eq!(few.bins[..], many.bins[..200]);
    }

    #[test]
    fn bins_follow_the_values() {
        // From 0 to 20 each bin is one unit wide.
        let spread = Spread::Rectangular { below: 0.0, above: BINS as f64 };
        let column = Column::draw("a", 0.0, spread, false, Draws { count: 10_000, seed: 5 });
        for (value, bin) in column.values.iter().zip(&column.bins) {
            assert_eq!(value.floor() as u8, *bin, "value {value} is in bin {bin}");
        }
    }

    #[test]
    fn powers_of_a_column_are_those_of_its_values() {
        let spread = Spread::Normal { standard_deviation: 3.0 };
        let column = Column::draw("a", -20.0, spread, false, Draws { count: 1000, seed: 5 });
        for (index, level) in column.values.iter().enumerate() {
            let got = column.powers().at(index / LANES).0[index % LANES];
            let want = gainsay_units::math::exp10(level / 10.0);
            assert!((got / want - 1.0).abs() < 1e-14, "{level} dB: {got}, want {want}");
        }
    }

    proptest! {
        #[test]
        fn classes_are_counted_by_bin(classes in proptest::collection::vec(0..3_u8, 400), seed: u64) {
            let spread = Spread::Rectangular { below: 1.0, above: 1.0 };
            let column = Column::draw("a", 0.0, spread, false, Draws { count: 400, seed });
            let mut want = [[0_u32; 3]; BINS];
            for (bin, class) in column.bins.iter().zip(&classes) {
                want[usize::from(*bin)][usize::from(*class)] += 1;
            }
            prop_assert_eq!(column.classes_by_bin(&Classes::of(&classes)), want);
        }
    }
}
