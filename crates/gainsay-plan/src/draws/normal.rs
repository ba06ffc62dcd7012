//! Quantiles of the standard normal distribution: algorithm AS 241, PPND16 (Wichura 1988), good to 1 part in 10¹⁶.
//!
//! Seventeen draws in twenty fall into the central region, a ratio of polynomials without logarithm or root. A whole block is
//! computed as if all did; the others are then picked out, computed side by side and put back.

use super::decibels::logarithms;
use super::lane::{LANES, Lane};

/// How many quantiles are computed together.
pub(crate) const BLOCK: usize = 128;

/// The central region reaches from ½ − 0.425 to ½ + 0.425.
const CENTRAL: f64 = 0.425;

/// Beyond this root of −ln p the far coefficients hold; a draw gets there once in 7·10¹⁰.
const FAR: f64 = 5.0;

/// Numerator and denominator, lowest coefficient first.
type Ratio = [[f64; 8]; 2];

const CENTRAL_RATIO: Ratio = [
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
];

const TAIL_RATIO: Ratio = [
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
];

const FAR_RATIO: Ratio = [
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
];

#[inline(always)]
fn ratio(x: Lane, [numerator, denominator]: &Ratio) -> Lane {
    x.polynomial(numerator) / x.polynomial(denominator)
}

/// Probabilities above 0 and below 1 become quantiles, in place.
#[inline(always)]
pub(crate) fn to_quantiles(probabilities: &mut [f64; BLOCK]) {
    let mut places = [0_u8; BLOCK];
    let mut count = 0;
    for (place, p) in (0..).zip(probabilities.iter()) {
        // Written always and counted only for a tail: no branch that a processor would guess wrongly.
        if let Some(slot) = places.get_mut(count % BLOCK) {
            *slot = place;
        }
        count += usize::from((p - 0.5).abs() > CENTRAL);
    }
    let places = places.get(..count).unwrap_or_default();
    let mut tails = [0.25; BLOCK];
    for (tail, place) in tails.iter_mut().zip(places) {
        *tail = probabilities.get(usize::from(*place)).copied().unwrap_or(0.25);
    }
    for lane in probabilities.as_chunks_mut().0 {
        let q = Lane(*lane) - 0.5;
        *lane = (q * ratio(Lane::all(0.180_625) - q * q, &CENTRAL_RATIO)).0;
    }
    tails_to_quantiles(tails.get_mut(..count.next_multiple_of(LANES)).unwrap_or_default());
    for (place, quantile) in places.iter().zip(tails) {
        if let Some(slot) = probabilities.get_mut(usize::from(*place)) {
            *slot = quantile;
        }
    }
}

/// Probabilities outside the central region become quantiles, in place.
#[inline(always)]
fn tails_to_quantiles(probabilities: &mut [f64]) {
    let mut tails = [0.25; BLOCK];
    for (tail, p) in tails.iter_mut().zip(probabilities.iter()) {
        *tail = if *p < 0.5 { *p } else { 1.0 - *p };
    }
    logarithms(tails.get_mut(..probabilities.len()).unwrap_or_default());
    let (lanes, _) = probabilities.as_chunks_mut::<LANES>();
    for (lane, logarithms) in lanes.iter_mut().zip(tails.as_chunks().0) {
        let r = Lane(*logarithms).map(|logarithm| (-logarithm).sqrt());
        let mut size = ratio(r - 1.6, &TAIL_RATIO);
        if r.0.iter().any(|r| *r > FAR) {
            let far = ratio(r - FAR, &FAR_RATIO);
            for ((size, far), r) in size.0.iter_mut().zip(far.0).zip(r.0) {
                *size = if r > FAR { far } else { *size };
            }
        }
        for (p, size) in lane.iter_mut().zip(size.0) {
            *p = if *p < 0.5 { -size } else { size };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Reference: standard normal quantiles, as in every statistics handbook; the far ones computed with mpmath 1.3.
    #[test]
    fn normal_quantiles() {
        let known = [
            (0.5, 0.0),
            (0.975, 1.959_963_984_540_054),
            (0.025, -1.959_963_984_540_054),
            (0.841_344_746_068_542_9, 1.0),
            (0.99, 2.326_347_874_040_841),
            (0.001, -3.090_232_306_167_813),
            (1e-9, -5.997_807_015_007_686),
            (1e-15, -7.941_345_326_170_997),
        ];
        // In any place of the block, among any others.
        for shift in 0..BLOCK {
            let mut block = [0.0; BLOCK];
            for (at, value) in block.iter_mut().enumerate() {
                *value = known[(at + shift) % known.len()].0;
            }
            to_quantiles(&mut block);
            for (at, got) in block.iter().enumerate() {
                let (p, want) = known[(at + shift) % known.len()];
                assert!(
                    (got - want).abs() < 1e-12,
                    "p = {p}: got {got}, want {want}, off by {:e}",
                    got - want
                );
            }
        }
    }

    // Reference: the complementary error function of the libm crate, Φ(x) = erfc(−x/√2)/2.
    #[test]
    fn quantiles_undo_the_distribution() {
        for step in 0..2_000 {
            let p = (f64::from(step) + 0.5) / 2_000.0;
            let mut block = [p; BLOCK];
            to_quantiles(&mut block);
            let back = 0.5 * gainsay_units::math::erfc(-block[17] / std::f64::consts::SQRT_2);
            assert!((back / p - 1.0).abs() < 2e-14, "p = {p} came back as {back}");
        }
    }
}
