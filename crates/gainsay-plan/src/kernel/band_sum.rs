//! Sums over the bands of what a divider leaves of a weight, for eight draws at a time.
//!
//! With u = ω² over the highest ω², a divider's |H|² is 1/(1 + u·q + u²·r) but for a factor that is the same in every band. At
//! audio frequencies cables hardly load a microphone: q and r are some thousandths. The fraction is then a geometric series
//! Σ c·uᵏ, and Σ over bands of weight·uᵏ is the same for all draws: instead of 31 bands with a division each, half a dozen
//! terms. Where the series would be long, as with a guitar pickup and its cable, the bands are added up one by one.

use crate::draws::lane::Lane;
use gainsay_units::bands::N_BANDS;

/// Longer series take longer than the bands one by one.
const MOST_TERMS: usize = 16;

/// What the series may leave out, relative to the sum: half a unit in the last place.
const NEGLIGIBLE: f64 = 1.110_223_024_625_156_5e-16;

/// N sums, each with its own weights.
pub(super) enum BandSum<const N: usize> {
    /// For each power of u the sums of the weights times it.
    Series(Vec<[f64; N]>),
    /// u and weights of each band.
    Bands(Vec<(f64, [f64; N])>),
}

/// The dividers of some draws: the largest |q| and r among them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reach {
    pub(super) q: f64,
    pub(super) r: f64,
}

impl Reach {
    /// How many terms of the series are not negligible, if it is not too long.
    ///
    /// The coefficients follow c = −q·c′ − r·c″, so that the k-th is at most (k + 1)·ρᵏ with ρ the larger root of
    /// x² − |q|·x − r.
    fn terms(self) -> Option<usize> {
        let rho = (self.q + (self.q * self.q + 4.0 * self.r).sqrt()) / 2.0;
        let mut power = 1.0;
        for k in 1..=MOST_TERMS {
            power *= rho;
            // All terms from the k-th on.
            let left_out = (k + 1) as f64 * power / ((1.0 - rho) * (1.0 - rho));
            if rho < 0.5 && left_out < NEGLIGIBLE {
                return Some(k);
            }
        }
        None
    }
}

impl<const N: usize> BandSum<N> {
    /// For draws within a reach; `u` and `weights` by band.
    pub(super) fn new(u: &[f64; N_BANDS], weights: &[[f64; N]; N_BANDS], reach: Reach) -> Self {
        let Some(terms) = reach.terms() else {
            return Self::Bands(u.iter().copied().zip(weights.iter().copied()).collect());
        };
        let mut powers = [1.0; N_BANDS];
        let moments = (0..terms).map(|_| {
            let mut sums = [0.0; N];
            for ((power, u), weights) in powers.iter_mut().zip(u).zip(weights) {
                for (sum, weight) in sums.iter_mut().zip(weights) {
                    *sum += *weight * *power;
                }
                *power *= *u;
            }
            sums
        });
        Self::Series(moments.collect())
    }

    /// Σ over bands of weight / (1 + u·q + u²·r).
    #[inline(always)]
    pub(super) fn at(&self, q: Lane, r: Option<Lane>) -> [Lane; N] {
        let mut sums = [Lane::ZERO; N];
        match self {
            Self::Series(moments) => {
                let (mut before, mut c) = (Lane::ZERO, Lane::all(1.0));
                for moments in moments {
                    for (sum, moment) in sums.iter_mut().zip(moments) {
                        *sum += c * *moment;
                    }
                    let next = match r {
                        Some(r) => q * c + r * before,
                        None => q * c,
                    };
                    (before, c) = (c, Lane::ZERO - next);
                }
            }
            Self::Bands(bands) => {
                for (u, weights) in bands {
                    let load = r.map_or(q, |r| q + r * *u) * *u + 1.0;
                    let h = Lane::all(1.0) / load;
                    for (sum, weight) in sums.iter_mut().zip(weights) {
                        *sum += h * *weight;
                    }
                }
            }
        }
        sums
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use gainsay_units::bands::bands;
    use proptest::prelude::*;

    fn at_bands() -> [f64; N_BANDS] {
        let highest = bands()[N_BANDS - 1].centre_hz;
        bands().map(|band| (band.centre_hz / highest) * (band.centre_hz / highest))
    }

    proptest! {
        // Reference: the sum written out, band by band.
        #[test]
        fn as_adding_up_the_bands(
            most_q in (0.0..30.0_f64).prop_map(|x| gainsay_units::math::exp10(-x / 6.0)),
            resonance in 0.0..0.2_f64,
            shares in proptest::array::uniform8(-1.0..1.0_f64),
            weights in proptest::collection::vec(proptest::array::uniform2(0.0..1.0_f64), N_BANDS),
        ) {
            let u = at_bands();
            let mut table = [[0.0; 2]; N_BANDS];
            table.iter_mut().zip(&weights).for_each(|(row, weights)| *row = *weights);
            // A divider's q is negative where a resonance lifts the highest band, and then q² < 4r.
            let most_r = if resonance < 0.05 { 0.0 } else { most_q * resonance };
            let sum = BandSum::new(&u, &table, Reach { q: most_q, r: most_r });
            let q = Lane(shares.map(|share| if most_r > 0.0 { most_q * share * 0.9 } else { most_q * share.abs() }));
            let r = (most_r > 0.0).then(|| Lane::all(most_r));
            let got = sum.at(q, r);
            for lane in 0..8 {
                for which in 0..2 {
                    let load = |u: f64| 1.0 + u * (q.0[lane] + u * r.map_or(0.0, |r| r.0[lane]));
                    let want: f64 = u.iter().zip(&table).map(|(u, w)| w[which] / load(*u)).sum();
                    let off = (got[which].0[lane] / want - 1.0).abs();
                    prop_assert!(off < 1e-13, "q {:e}, r {most_r:e}: off by {off:e} of {want}", q.0[lane]);
                }
            }
        }
    }

    #[test]
    fn a_microphone_takes_a_series_and_a_pickup_does_not() {
        // 200 Ω and 10 m of 100 pF/m: ωRC at 20 kHz is 0.025.
        assert!(matches!(Reach { q: 6.3e-4, r: 0.0 }.terms(), Some(2..8)));
        // 3 H, 8 kΩ and 4 m of 115 pF/m resonate in the middle of the band.
        assert_eq!(Reach { q: 43.0, r: 470.0 }.terms(), None);
    }
}
