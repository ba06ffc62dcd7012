//! Order statistics: exactly those that sorting would give, without sorting.
//!
//! The range of the values is cut into equal buckets. One pass counts; the counts tell in which bucket each wanted rank lies;
//! only what is in those buckets is then looked at, some ten values of ten thousand.

use multiversion::multiversion;

/// Median and the ends of the probabilistically symmetric 95 % interval (JCGM 101:2008, 7.7) of a set of draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Quantiles {
    pub(crate) low: f64,
    pub(crate) median: f64,
    pub(crate) high: f64,
}

impl Quantiles {
    pub(crate) fn of(values: &[f64]) -> Self {
        let n = values.len();
        let low_rank = n / 40;
        let high_rank = n.saturating_sub(1).saturating_sub(low_rank);
        let [low, median, high] = order_statistics(values, [low_rank, n / 2, high_rank]);
        Self { low, median, high }
    }

    pub(crate) fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { low: f(self.low), median: f(self.median), high: f(self.high) }
    }
}

/// The middle of a set of draws, as in [`Quantiles`].
pub(crate) fn median(values: &[f64]) -> f64 {
    let [median] = order_statistics(values, [values.len() / 2]);
    median
}

/// How many buckets; their numbers fit into sixteen bits.
const BUCKETS: usize = 1024;

/// Below this counting into buckets saves nothing.
const FEW: usize = 256;

/// The values at some ranks, counted from the smallest at 0; no number beyond the last.
pub(crate) fn order_statistics<const K: usize>(values: &[f64], ranks: [usize; K]) -> [f64; K] {
    let Some(scale) = Scale::of(values).filter(|_| values.len() >= FEW) else {
        let mut members = values.to_vec();
        return ranks.map(|rank| match rank < members.len() {
            true => *members.select_nth_unstable_by(rank, f64::total_cmp).1,
            false => f64::NAN,
        });
    };
    let mut buckets = vec![0; values.len()];
    fill(&scale, values, &mut buckets);
    let mut counts = [0_u32; BUCKETS];
    for bucket in &buckets {
        if let Some(count) = counts.get_mut(usize::from(*bucket) % BUCKETS) {
            *count += 1;
        }
    }
    let places = ranks.map(|rank| Place::of(rank, &counts));
    let mut members: [Vec<f64>; K] = places.map(|place| Vec::with_capacity(place.members));
    // Few values are wanted: most chunks are passed over at a glance.
    const GLANCE: usize = 64;
    for (values, buckets) in values.chunks(GLANCE).zip(buckets.chunks(GLANCE)) {
        for (members, place) in members.iter_mut().zip(places) {
            if place.is_among(buckets) {
                members.extend(
                    values.iter().zip(buckets).filter(|(_, b)| **b == place.bucket).map(|(value, _)| *value),
                );
            }
        }
    }
    let mut found = [f64::NAN; K];
    for ((found, members), place) in found.iter_mut().zip(&mut members).zip(places) {
        if place.rank < members.len() {
            *found = *members.select_nth_unstable_by(place.rank, f64::total_cmp).1;
        }
    }
    found
}

/// From values to buckets.
struct Scale {
    lowest: f64,
    /// Buckets for each unit.
    factor: f64,
}

impl Scale {
    /// None if anything is infinite or no number, or if all are equal.
    fn of(values: &[f64]) -> Option<Self> {
        let (lowest, highest, finite) = extremes(values);
        let factor = (BUCKETS - 1) as f64 / (highest - lowest);
        (finite && highest > lowest && factor < f64::MAX).then_some(Self { lowest, factor })
    }

    /// A larger value never has a lower bucket: every step of this rounds without changing the order.
    #[inline(always)]
    fn bucket(&self, value: f64) -> u16 {
        // A number in the lowest bits, once 2⁵² is added.
        const WHOLE: f64 = 4_503_599_627_370_496.0;
        ((value - self.lowest) * self.factor + WHOLE).to_bits() as u16
    }
}

#[multiversion(targets("x86_64+avx2"))]
fn fill(scale: &Scale, values: &[f64], buckets: &mut [u16]) {
    for (bucket, value) in buckets.iter_mut().zip(values) {
        *bucket = scale.bucket(*value);
    }
}

/// Smallest and largest, and whether everything is finite. Three passes: in one, compilers mix the comparisons up.
fn extremes(values: &[f64]) -> (f64, f64, bool) {
    let smaller = |a, b| if b < a { b } else { a };
    let larger = |a, b| if b > a { b } else { a };
    let lowest = lowest(values).into_iter().fold(f64::INFINITY, smaller);
    let highest = highest(values).into_iter().fold(f64::NEG_INFINITY, larger);
    (lowest, highest, zeros(values).into_iter().all(|zero| zero.abs() < 1.0))
}

/// Running results side by side, so that none waits for the one before.
const SIDE_BY_SIDE: usize = 16;

#[inline(always)]
fn side_by_side(values: &[f64], start: f64, step: impl Fn(f64, f64) -> f64) -> [f64; SIDE_BY_SIDE] {
    let mut running = [start; SIDE_BY_SIDE];
    let (chunks, rest) = values.as_chunks::<SIDE_BY_SIDE>();
    for chunk in chunks {
        for (running, value) in running.iter_mut().zip(chunk) {
            *running = step(*running, *value);
        }
    }
    for (running, value) in running.iter_mut().zip(rest) {
        *running = step(*running, *value);
    }
    running
}

#[multiversion(targets("x86_64+avx2"))]
fn lowest(values: &[f64]) -> [f64; SIDE_BY_SIDE] {
    side_by_side(values, f64::INFINITY, |low, value| if value < low { value } else { low })
}

#[multiversion(targets("x86_64+avx2"))]
fn highest(values: &[f64]) -> [f64; SIDE_BY_SIDE] {
    side_by_side(values, f64::NEG_INFINITY, |high, value| if value > high { value } else { high })
}

/// Zero times the values: zero as long as they are finite.
#[multiversion(targets("x86_64+avx2"))]
fn zeros(values: &[f64]) -> [f64; SIDE_BY_SIDE] {
    side_by_side(values, 0.0, |zero, value| zero + value * 0.0)
}

/// Where a rank lies.
#[derive(Clone, Copy)]
struct Place {
    bucket: u16,
    /// Rank within the bucket.
    rank: usize,
    /// How many values are in the bucket.
    members: usize,
}

impl Place {
    /// Whether its bucket is one of some.
    #[inline(always)]
    fn is_among(self, buckets: &[u16]) -> bool {
        buckets.iter().fold(0, |among, bucket| among | u16::from(*bucket == self.bucket)) != 0
    }

    fn of(rank: usize, counts: &[u32; BUCKETS]) -> Self {
        let mut before = 0;
        for (bucket, members) in (0..).zip(counts) {
            let members = *members as usize;
            if rank < before + members {
                return Self { bucket, rank: rank - before, members };
            }
            before += members;
        }
        Self { bucket: u16::MAX, rank: 0, members: 0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Draws of many shapes: even, in a heap, skewed, few different ones, with what is not finite.
    fn shaped(uniform: f64, shape: u8) -> f64 {
        match shape {
            0 => uniform * 40.0 - 20.0,
            1 => gainsay_units::math::exp10(uniform * 30.0 - 20.0),
            2 => (uniform * 3.0).floor(),
            3 if uniform < 0.01 => f64::NAN,
            4 if uniform < 0.01 => f64::NEG_INFINITY,
            5 => 7.0,
            6 => 1.0 / uniform.max(1e-12),
            7 => (uniform - 0.5) * 1e-310,
            8 if uniform < 0.5 => -0.0,
            8 => 0.0,
            9 => (uniform - 0.5) * f64::MAX,
            _ => -uniform * uniform,
        }
    }

    proptest! {
        // Reference: sorting everything.
        #[test]
        fn as_sorting_would_give(
            uniform in proptest::collection::vec(0.0..1.0_f64, 1..3_000),
            shape in 0..11_u8,
            share in 0.0..1.1_f64,
        ) {
            let values: Vec<f64> = uniform.iter().map(|u| shaped(*u, shape)).collect();
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            let n = values.len();
            let any = (n as f64 * share) as usize;
            let ranks = [any, 0, n - 1, n / 2, n / 40];
            let want = ranks.map(|rank| sorted.get(rank).copied().unwrap_or(f64::NAN));
            let got = order_statistics(&values, ranks);
            for ((rank, want), got) in ranks.iter().zip(want).zip(got) {
                // Zeros of either sign are one value and share a bucket.
                let equal = (got.is_nan() && want.is_nan()) || got.total_cmp(&want).is_eq();
                prop_assert!(equal, "rank {rank} of {n}, shape {shape}: got {got:e}, sorting gives {want:e}");
            }
            let Quantiles { low, median: middle, high } = Quantiles::of(&values);
            let [want_low, want_middle, want_high] = [n / 40, n / 2, n - 1 - n / 40].map(|rank| sorted[rank]);
            prop_assert!(low.total_cmp(&want_low).is_eq(), "low {low:e}, sorting gives {want_low:e}");
            prop_assert!(middle.total_cmp(&want_middle).is_eq(), "median {middle:e}, sorting gives {want_middle:e}");
            prop_assert!(high.total_cmp(&want_high).is_eq(), "high {high:e}, sorting gives {want_high:e}");
            prop_assert!(median(&values).total_cmp(&want_middle).is_eq());
        }
    }

    #[test]
    fn of_nothing_there_is_none() {
        assert!(median(&[]).is_nan());
        assert!(Quantiles::of(&[]).low.is_nan());
    }
}
