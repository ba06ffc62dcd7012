//! Levels and powers of whole columns, and natural logarithms.
//!
//! Plain loops over plain arithmetic without branches: compilers make vector instructions of them, and as there are only
//! additions, multiplications and divisions in a fixed order, every platform gives the same bits. The hot loops of the engine
//! are compiled twice, the second time for processors with vectors of twice the width; the bits stay the same, for nothing is
//! ever fused or put in another order.

use gainsay_units::math;
use multiversion::multiversion;

/// Columns go through in pieces of this size.
const PIECE: usize = 128;

/// Levels in dB become ratios of powers, in place: 10 to the power of each tenth.
///
/// 2^x by splitting off the whole part and a polynomial for the rest. The product with lg 10/lg 2 is rounded, an error
/// that grows with the level: 3·10⁻¹⁴ at 300 dB (a test compares with libm).
#[multiversion(targets("x86_64+avx2"))]
pub(crate) fn levels_to_powers(levels: &mut [f64]) {
    for level in levels {
        *level = power(*level);
    }
}

#[inline(always)]
fn power(level: f64) -> f64 {
    const LOG2_10_OVER_10: f64 = 0.332_192_809_488_736_2;
    // Adding and taking off 1.5·2⁵² rounds to a whole number, which then stands in the lowest bits.
    const SHIFT: f64 = 6_755_399_441_055_744.0;
    // Taylor coefficients of 2^x: (ln 2)^k / k!, highest first.
    const C: [f64; 14] = [
        1.369_148_885_390_412_8e-12,
        2.567_843_599_348_820_4e-11,
        4.445_538_271_870_811e-10,
        7.054_911_620_801_121e-9,
        1.017_808_600_923_969_9e-7,
        1.321_548_679_014_430_8e-6,
        1.525_273_380_405_984e-5,
        1.540_353_039_338_160_6e-4,
        0.001_333_355_814_642_844_3,
        0.009_618_129_107_628_477,
        0.055_504_108_664_821_58,
        0.240_226_506_959_100_7,
        std::f64::consts::LN_2,
        1.0,
    ];
    // Beyond this a double would overflow or vanish; levels never come near.
    let x = (level * LOG2_10_OVER_10).clamp(-1000.0, 1000.0);
    let shifted = x + SHIFT;
    let rest = x - (shifted - SHIFT);
    let scale = f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52);
    horner(rest, &C) * scale
}

/// Ratios of powers become levels in dB, in place.
#[multiversion(targets("x86_64+avx2"))]
pub(crate) fn powers_to_levels(powers: &mut [f64]) {
    in_pieces(powers, |x| 10.0 * log10(x), |x| 10.0 * math::log10(x));
}

/// Natural logarithms, in place.
#[multiversion(targets("x86_64+avx2"))]
pub(crate) fn logarithms(values: &mut [f64]) {
    in_pieces(values, ln, math::ln);
}

/// Every value through a quick function, which holds for what is positive and normal; pieces with anything else through a
/// slow one.
#[inline(always)]
fn in_pieces(values: &mut [f64], quick: impl Fn(f64) -> f64, slow: impl Fn(f64) -> f64) {
    for piece in values.chunks_mut(PIECE) {
        let ordinary = piece.iter().fold(true, |all, x| all & (f64::MIN_POSITIVE..=f64::MAX).contains(x));
        if ordinary {
            piece.iter_mut().for_each(|x| *x = quick(*x));
        } else {
            piece.iter_mut().for_each(|x| *x = slow(*x));
        }
    }
}

/// Decimal logarithm of what is positive and normal, as FreeBSD's `e_log10.c` has it (and libm after it), bit for bit.
#[inline(always)]
fn log10(x: f64) -> f64 {
    const INVERSE_LN_10_HIGH: f64 = 0.434_294_481_878_168_9;
    const INVERSE_LN_10_LOW: f64 = 2.508_294_671_164_527_5e-11;
    const LOG10_2_HIGH: f64 = 0.301_029_995_663_611_77;
    const LOG10_2_LOW: f64 = 3.694_239_077_158_931e-13;
    let Mantissa { exponent, f, half_square, tail } = mantissa(x);
    // The leading half of the digits apart, so that the product with 1/ln 10 keeps all of them.
    let high = f64::from_bits((f - half_square).to_bits() & 0xffff_ffff_0000_0000);
    let low = f - high - half_square + tail;
    let value_high = high * INVERSE_LN_10_HIGH;
    let whole = exponent * LOG10_2_HIGH;
    let value_low = exponent * LOG10_2_LOW + (low + high) * INVERSE_LN_10_LOW + low * INVERSE_LN_10_HIGH;
    let sum = whole + value_high;
    value_low + (whole - sum + value_high) + sum
}

/// Natural logarithm of what is positive and normal, as FreeBSD's `e_log.c` has it, to a bit in the last place.
#[inline(always)]
fn ln(x: f64) -> f64 {
    const LN_2_HIGH: f64 = 0.693_147_180_369_123_8;
    const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    let Mantissa { exponent, f, half_square, tail } = mantissa(x);
    tail + exponent * LN_2_LOW - half_square + f + exponent * LN_2_HIGH
}

/// x = 2^exponent·(1 + f) with 1 + f between √½ and √2, and ln(1 + f) = f − f²/2 + tail.
struct Mantissa {
    exponent: f64,
    f: f64,
    half_square: f64,
    tail: f64,
}

#[inline(always)]
fn mantissa(x: f64) -> Mantissa {
    const ROOT_HALF: u64 = 0x3fe6_a09e_0000_0000;
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    const FRACTION: u64 = 0x000f_ffff_ffff_ffff;
    // A whole number below 2⁵² in the lowest bits of this one adds itself to its value.
    const WHOLE: f64 = 4_503_599_627_370_496.0;
    // Of s³ and every fourth power on, and of s⁵ and every fourth power on; highest first.
    const ODD: [f64; 4] =
        [0.147_981_986_051_165_86, 0.181_835_721_616_180_5, 0.285_714_287_436_623_9, 0.666_666_666_666_673_5];
    const EVEN: [f64; 3] = [0.153_138_376_992_093_73, 0.222_221_984_321_497_84, 0.399_999_999_994_094_2];
    let moved = x.to_bits().wrapping_add(ONE - ROOT_HALF);
    let exponent = f64::from_bits((moved >> 52) | WHOLE.to_bits()) - (WHOLE + 1023.0);
    let f = f64::from_bits((moved & FRACTION).wrapping_add(ROOT_HALF)) - 1.0;
    let half_square = 0.5 * f * f;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let series = z * horner(w, &ODD) + w * horner(w, &EVEN);
    Mantissa { exponent, f, half_square, tail: s * (half_square + series) }
}

/// A polynomial, highest coefficient first.
#[inline(always)]
fn horner<const N: usize>(x: f64, coefficients: &[f64; N]) -> f64 {
    coefficients.iter().fold(0.0, |sum, c| sum * x + c)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    // Reference: the libm crate.
    #[test]
    fn powers_agree_with_libm() {
        let mut worst: f64 = 0.0;
        for step in 0..200_000 {
            let level = -300.0 + 600.0 * f64::from(step) / 200_000.0;
            let mut got = [level];
            levels_to_powers(&mut got);
            worst = worst.max((got[0] / math::exp10(level / 10.0) - 1.0).abs());
        }
        // The product level·lg 2 is rounded at up to 100, an error of 1e-14 relative in the power.
        assert!(worst < 3e-14, "worst relative error {worst:e}");
    }

    #[test]
    fn what_is_no_number_has_no_power() {
        let mut levels = [f64::NAN, 0.0];
        levels_to_powers(&mut levels);
        assert!(levels[0].is_nan(), "got {}", levels[0]);
    }

    proptest! {
        // Reference: the libm crate, for every kind of double.
        #[test]
        fn logarithms_agree_with_libm(
            bits in proptest::collection::vec(any::<u64>(), 1..300),
            exponent in -300_i32..300,
        ) {
            let anything: Vec<f64> = bits.iter().map(|b| f64::from_bits(*b)).collect();
            let near_one: Vec<f64> = bits.iter().map(|b| 0.5 + (b >> 11) as f64 / (1_u64 << 53) as f64).collect();
            let scale = math::exp10(f64::from(exponent));
            let scaled: Vec<f64> = near_one.iter().map(|x| x * scale).collect();
            for values in [anything, near_one, scaled] {
                let mut levels = values.clone();
                powers_to_levels(&mut levels);
                let mut natural = values.clone();
                logarithms(&mut natural);
                for ((x, level), natural) in values.iter().zip(levels).zip(natural) {
                    let (want_level, want_natural) = (10.0 * math::log10(*x), math::ln(*x));
                    prop_assert!(same(level, want_level, 0.0), "{x:e}: {level:e} dB, libm has {want_level:e}");
                    prop_assert!(
                        same(natural, want_natural, 2.3e-16),
                        "ln {x:e}: {natural:e}, libm has {want_natural:e}"
                    );
                }
            }
        }

        #[test]
        fn powers_undo_levels(levels in proptest::collection::vec(-250.0..250.0_f64, 1..300)) {
            let mut back = levels.clone();
            levels_to_powers(&mut back);
            powers_to_levels(&mut back);
            for (level, back) in levels.iter().zip(back) {
                prop_assert!((level - back).abs() < 1e-12, "{level} dB came back as {back} dB");
            }
        }
    }

    /// Equal, both no number, or apart by no more than a share.
    fn same(got: f64, want: f64, share: f64) -> bool {
        (got.is_nan() && want.is_nan())
            || got.to_bits() == want.to_bits()
            || (got - want).abs() <= share * want.abs()
    }
}
