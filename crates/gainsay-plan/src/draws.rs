//! Monte Carlo draws (JCGM 101:2008): one stream of random numbers for each figure, so that the same figure has the same draws
//! wherever it is used, and adding a source changes nothing for the others.

use gainsay_units::Spread;
use gainsay_units::math::ln;

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

/// The kernel works on so many draws at a time.
pub(crate) const LANES: usize = 8;

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
    /// For each draw its class among [`BINS`] of equal probability.
    pub(crate) bins: Vec<u8>,
}

/// The smallest fraction of a positive quantity that a draw may have.
const LEAST_FRACTION: f64 = 0.05;

impl Column {
    /// Draws of a figure. `positive` keeps a linear quantity above a twentieth of its value.
    pub(crate) fn draw(key: &str, value: f64, spread: Spread, positive: bool, draws: Draws) -> Self {
        let count = draws.rounded();
        let stream = Stream::new(draws.seed, key);
        let bins = (0..count as u64).map(|index| (stream.uniform(index) * BINS as f64) as u8).collect();
        let mut values: Vec<f64> = match spread {
            Spread::Exact => vec![value; count],
            Spread::Rectangular { below, above } => (0..count as u64)
                .map(|index| value - below + (below + above) * stream.uniform(index))
                .collect(),
            Spread::Normal { standard_deviation } => (0..count as u64)
                .map(|index| value + standard_deviation * normal_quantile(stream.uniform(index)))
                .collect(),
        };
        if positive {
            let least = LEAST_FRACTION * value;
            values.iter_mut().for_each(|v| *v = v.max(least));
        }
        Self { values, bins }
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
        Self(mix(hash ^ mix(seed.wrapping_add(0x9e37_79b9_7f4a_7c15))))
    }

    /// The number at an index, between 0 and 1 and never either.
    #[inline]
    pub(crate) fn uniform(&self, index: u64) -> f64 {
        let bits = mix(self.0.wrapping_add(index.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15))) >> 12;
        (bits as f64 + 0.5) * (1.0 / (1_u64 << 52) as f64)
    }
}

#[inline]
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Quantile of the standard normal distribution: algorithm AS 241, PPND16 (Wichura 1988), good to 1 part in 10¹⁶.
#[inline]
pub(crate) fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(
            r,
            [
                3.387_132_872_796_366_5,
                133.141_667_891_784_38,
                1_971.590_950_306_551_3,
                13_731.693_765_509_46,
                45_921.953_931_549_87,
                67_265.770_927_008_7,
                33_430.575_583_588_13,
                2_509.080_928_730_122_7,
            ],
            [
                1.0,
                42.313_330_701_600_91,
                687.187_007_492_057_9,
                5_394.196_021_424_751,
                21_213.794_301_586_597,
                39_307.895_800_092_71,
                28_729.085_735_721_943,
                5_226.495_278_852_545,
            ],
        );
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-ln(tail)).sqrt();
    let x = if r <= 5.0 {
        ratio(
            r - 1.6,
            [
                1.423_437_110_749_683_5,
                4.630_337_846_156_546,
                5.769_497_221_460_691,
                3.647_848_324_763_204_5,
                1.270_458_252_452_368_4,
                0.241_780_725_177_450_6,
                0.022_723_844_989_269_184,
                7.745_450_142_783_414e-4,
            ],
            [
                1.0,
                2.053_191_626_637_759,
                1.676_384_830_183_803_8,
                0.689_767_334_985_1,
                0.148_103_976_427_480_08,
                0.015_198_666_563_616_457,
                5.475_938_084_995_345e-4,
                1.050_750_071_644_416_9e-9,
            ],
        )
    } else {
        ratio(
            r - 5.0,
            [
                6.657_904_643_501_103,
                5.463_784_911_164_114,
                1.784_826_539_917_291_3,
                0.296_560_571_828_504_87,
                0.026_532_189_526_576_124,
                0.001_242_660_947_388_078_4,
                2.711_555_568_743_487_6e-5,
                2.010_334_399_292_288_1e-7,
            ],
            [
                1.0,
                0.599_832_206_555_888,
                0.136_929_880_922_735_8,
                0.014_875_361_290_850_615,
                7.868_691_311_456_133e-4,
                1.846_318_317_510_054_8e-5,
                1.421_511_758_316_446e-7,
                2.044_263_103_389_939_8e-15,
            ],
        )
    };
    if q < 0.0 { -x } else { x }
}

/// A ratio of two polynomials, lowest coefficient first.
#[inline]
fn ratio(x: f64, numerator: [f64; 8], denominator: [f64; 8]) -> f64 {
    let horner = |coefficients: [f64; 8]| coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c);
    horner(numerator) / horner(denominator)
}

/// 10 to the power of each tenth: a level in dB as a ratio of powers, in place.
///
/// 2^x by splitting off the whole part and a polynomial for the rest, in plain additions and multiplications only, so that
/// compilers vectorise it and every platform gives the same bits. The largest relative error is below 4·10⁻¹⁶ of the
/// argument's own rounding (a test compares with libm).
pub(crate) fn levels_to_powers(levels: &mut [f64]) {
    const LOG2_10_OVER_10: f64 = 0.332_192_809_488_736_2;
    // Adding and taking off 1.5·2⁵² rounds to a whole number, which then stands in the lowest bits.
    const SHIFT: f64 = 6_755_399_441_055_744.0;
    // Taylor coefficients of 2^x: (ln 2)^k / k!.
    const C: [f64; 14] = [
        1.0,
        0.693_147_180_559_945_3,
        0.240_226_506_959_100_7,
        0.055_504_108_664_821_58,
        0.009_618_129_107_628_477,
        0.001_333_355_814_642_844_3,
        1.540_353_039_338_160_6e-4,
        1.525_273_380_405_984e-5,
        1.321_548_679_014_430_8e-6,
        1.017_808_600_923_969_9e-7,
        7.054_911_620_801_121e-9,
        4.445_538_271_870_811e-10,
        2.567_843_599_348_820_4e-11,
        1.369_148_885_390_412_8e-12,
    ];
    for level in levels {
        // Beyond this a double would overflow or vanish; levels never come near.
        let x = (*level * LOG2_10_OVER_10).clamp(-1000.0, 1000.0);
        let shifted = x + SHIFT;
        let whole = shifted - SHIFT;
        let rest = x - whole;
        let polynomial = C.iter().rev().fold(0.0, |sum, c| sum * rest + c);
        let scale = f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52);
        *level = polynomial * scale;
    }
}

/// Median and the ends of the probabilistically symmetric 95 % interval (JCGM 101:2008, 7.7) of a set of draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Quantiles {
    pub(crate) low: f64,
    pub(crate) median: f64,
    pub(crate) high: f64,
}

impl Quantiles {
    /// Reorders `values`.
    pub(crate) fn of(values: &mut [f64]) -> Self {
        let n = values.len();
        let low_index = (n / 40).min(n.saturating_sub(1));
        let high_index = n.saturating_sub(1) - low_index;
        let high = order_statistic(values, high_index);
        let below = values.get_mut(..=high_index.min(n.saturating_sub(1))).unwrap_or_default();
        let median = order_statistic(below, n / 2);
        let below = below.get_mut(..=(n / 2).min(high_index)).unwrap_or_default();
        let low = order_statistic(below, low_index);
        Self { low, median, high }
    }

    pub(crate) fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { low: f(self.low), median: f(self.median), high: f(self.high) }
    }
}

/// The value at a rank; values below it come before it afterwards.
pub(crate) fn order_statistic(values: &mut [f64], rank: usize) -> f64 {
    if rank >= values.len() {
        return f64::NAN;
    }
    let (_, value, _) = values.select_nth_unstable_by(rank, f64::total_cmp);
    *value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_agree_with_libm() {
        let mut worst: f64 = 0.0;
        for step in 0..200_000 {
            let level = -300.0 + 600.0 * f64::from(step) / 200_000.0;
            let mut got = [level];
            levels_to_powers(&mut got);
            let want = libm_exp10(level / 10.0);
            worst = worst.max((got[0] / want - 1.0).abs());
        }
        // The product level·lg 2 is rounded at up to 100, an error of 1e-14 relative in the power.
        assert!(worst < 3e-14, "worst relative error {worst:e}");
    }

    fn libm_exp10(x: f64) -> f64 {
        gainsay_units::math::exp10(x)
    }

    // Reference: standard normal quantiles, as in every statistics handbook.
    #[test]
    fn normal_quantiles() {
        for (p, want) in [
            (0.5, 0.0),
            (0.975, 1.959_963_984_540_054),
            (0.025, -1.959_963_984_540_054),
            (0.841_344_746_068_542_9, 1.0),
            (0.99, 2.326_347_874_040_841),
            (0.001, -3.090_232_306_167_813),
            (1e-9, -5.997_807_015_007_686),
            (1e-15, -7.941_345_326_170_997),
        ] {
            let got = normal_quantile(p);
            assert!((got - want).abs() < 1e-12, "p = {p}: got {got}, want {want}, off by {:e}", got - want);
        }
    }

    #[test]
    fn draws_have_the_stated_distribution() {
        let draws = Draws { count: 100_000, seed: 7 };
        let normal = Column::draw("a", 10.0, Spread::Normal { standard_deviation: 2.0 }, false, draws);
        let n = normal.values.len() as f64;
        let mean = normal.values.iter().sum::<f64>() / n;
        let sd = (normal.values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n).sqrt();
        assert!((mean - 10.0).abs() < 0.03, "mean {mean}");
        assert!((sd - 2.0).abs() < 0.02, "standard deviation {sd}");
        let mut uniform =
            Column::draw("b", 10.0, Spread::Rectangular { below: 1.0, above: 3.0 }, false, draws).values;
        let quantiles = Quantiles::of(&mut uniform);
        assert!((quantiles.low - 9.1).abs() < 0.02, "2.5 % at {}", quantiles.low);
        assert!((quantiles.median - 11.0).abs() < 0.03, "median {}", quantiles.median);
        assert!((quantiles.high - 12.9).abs() < 0.02, "97.5 % at {}", quantiles.high);
    }
}
