//! The third-octave bands in which everything is computed, and quadrature nodes inside them.
//!
//! IEC 61260-1:2014 base-10 bands: G = 10^(3/10), centres 1000·G^(x/3), edges a sixth of an octave (G^(1/6)) to either side,
//! for x = −17 … 13 (nominal 20 Hz to 20 kHz). The first band is clipped at 20 Hz and the last at 20 kHz, so that the bands
//! add up to exactly 19 980 Hz.

use crate::math::exp10;
use std::sync::LazyLock;

/// How many bands there are.
pub const N_BANDS: usize = 31;

/// Quadrature nodes in a band. Four Gauss–Legendre nodes integrate a polynomial of degree seven exactly; a weighting or a
/// divider inside a third of an octave is far smoother than that.
pub const NODES_PER_BAND: usize = 4;

/// Nominal centre frequencies in hertz, as labels (ISO 266).
pub const NOMINAL_HZ: [f64; N_BANDS] = [
    20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0,
    800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10000.0, 12500.0,
    16000.0, 20000.0,
];

/// Gauss–Legendre abscissae and weights on −1…1 (Abramowitz and Stegun 1964, table 25.4, n = 4).
pub(crate) const GAUSS: [(f64, f64); NODES_PER_BAND] = [
    (-0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
    (-0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
    (0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
    (0.861_136_311_594_052_6, 0.347_854_845_137_453_85),
];

/// A frequency inside a band at which a transfer function is evaluated, and the bandwidth that it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Frequency in hertz.
    pub hz: f64,
    /// Bandwidth in hertz; the four of a band add up to the band.
    pub width_hz: f64,
}

/// One third-octave band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Nominal centre in hertz (ISO 266), for labels.
    pub nominal_hz: f64,
    /// Exact centre in hertz.
    pub centre_hz: f64,
    /// Lower edge in hertz.
    pub lower_hz: f64,
    /// Upper edge in hertz.
    pub upper_hz: f64,
    /// Quadrature nodes.
    pub nodes: [Node; NODES_PER_BAND],
}

impl Band {
    /// Width in hertz.
    #[must_use]
    pub fn width_hz(&self) -> f64 {
        self.upper_hz - self.lower_hz
    }

    /// The mean of `f(hz)` over the band, as white noise would see it.
    #[must_use]
    pub fn mean(&self, mut f: impl FnMut(f64) -> f64) -> f64 {
        self.nodes.iter().map(|node| f(node.hz) * node.width_hz).sum::<f64>() / self.width_hz()
    }
}

/// The bands, lowest first.
#[must_use]
pub fn bands() -> &'static [Band; N_BANDS] {
    static BANDS: LazyLock<[Band; N_BANDS]> = LazyLock::new(|| {
        let mut x = -18.0;
        NOMINAL_HZ.map(|nominal_hz| {
            x += 1.0;
            let edge = |sixths: f64| 1000.0 * exp10(0.3 * (x / 3.0 + sixths / 6.0));
            let lower_hz = edge(-1.0).max(20.0);
            let upper_hz = edge(1.0).min(20_000.0);
            let half = (upper_hz - lower_hz) / 2.0;
            let nodes =
                GAUSS.map(|(at, weight)| Node { hz: lower_hz + half * (1.0 + at), width_hz: half * weight });
            Band { nominal_hz, centre_hz: edge(0.0), lower_hz, upper_hz, nodes }
        })
    });
    &BANDS
}

/// A power in each band, in a unit that its owner states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandPowers(pub [f64; N_BANDS]);

impl BandPowers {
    /// Nothing in any band.
    pub const ZERO: Self = Self([0.0; N_BANDS]);

    /// White noise of unit density: each band's width in hertz.
    #[must_use]
    pub fn white() -> Self {
        Self(bands().map(|band| band.width_hz()))
    }

    /// From a function of the band.
    #[must_use]
    pub fn from_fn(f: impl FnMut(&'static Band) -> f64) -> Self {
        let mut values = bands().iter().map(f);
        Self(std::array::from_fn(|_| values.next().unwrap_or_default()))
    }

    /// From levels in dB in each band.
    #[must_use]
    pub fn from_levels(levels_db: &[f64; N_BANDS]) -> Self {
        Self(levels_db.map(|level| exp10(level / 10.0)))
    }

    /// The sum over the bands.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.0.iter().sum()
    }

    /// The sum over the bands, each times a weight.
    #[must_use]
    pub fn weighted(&self, weights: &Self) -> f64 {
        self.0.iter().zip(&weights.0).map(|(power, weight)| power * weight).sum()
    }

    /// Every band times a factor.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self(self.0.map(|power| power * factor))
    }

    /// Band by band, the product.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        let mut result = *self;
        for (power, factor) in result.0.iter_mut().zip(&other.0) {
            *power *= factor;
        }
        result
    }

    /// Band by band, the sum.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let mut result = *self;
        for (power, more) in result.0.iter_mut().zip(&other.0) {
            *power += more;
        }
        result
    }
}

/// Octave-band levels spread over third-octaves so that the three thirds of every octave add up to it again. Inside, the
/// thirds follow a straight line between neighbouring octaves (level against the logarithm of frequency).
///
/// `octaves_db` holds the levels of the octaves centred 31.5 Hz to 8 kHz. The 16 kHz octave and the upper third of the 16 Hz
/// octave go on with the slope of the nearest two. The result is in dB for each band.
#[must_use]
pub fn thirds_from_octaves(octaves_db: &[f64; 9]) -> [f64; N_BANDS] {
    let [first, second, .., before_last, last] = *octaves_db;
    let mut octaves = vec![first + (first - second)];
    octaves.extend_from_slice(octaves_db);
    octaves.push(last + (last - before_last));
    let mut thirds = Vec::with_capacity(octaves.len() * 3);
    for (index, &level) in octaves.iter().enumerate() {
        let before = index.checked_sub(1).and_then(|i| octaves.get(i)).copied();
        let after = octaves.get(index + 1).copied();
        // At either end there is no neighbour: the line goes on.
        let before = before.unwrap_or(level + level - after.unwrap_or(level));
        let after = after.unwrap_or(level + level - before);
        let raw = [level + (before - level) / 3.0, level, level + (after - level) / 3.0];
        let sum: f64 = raw.iter().map(|l| exp10(l / 10.0)).sum();
        let correction = level - 10.0 * crate::math::log10(sum);
        thirds.extend(raw.map(|l| l + correction));
    }
    // Octaves from 16 Hz give thirds from 12.5 Hz; ours begin at 20 Hz, two further on.
    let mut values = thirds.into_iter().skip(2);
    std::array::from_fn(|_| values.next().unwrap_or(f64::NEG_INFINITY))
}

/// Interpolates levels given at frequencies (in hertz, rising) linearly against the logarithm of frequency, and holds the
/// end values outside.
#[must_use]
pub fn interpolate_levels(points: &[(f64, f64)], hz: f64) -> f64 {
    let mut previous: Option<(f64, f64)> = None;
    for &(at, level) in points {
        if hz <= at {
            let Some((before, low)) = previous else { return level };
            let t = crate::math::ln(hz / before) / crate::math::ln(at / before);
            return low + (level - low) * t;
        }
        previous = Some((at, level));
    }
    previous.map_or(f64::NEG_INFINITY, |(_, level)| level)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::log10;

    #[test]
    fn bands_fill_the_audio_band() {
        let total: f64 = bands().iter().map(Band::width_hz).sum();
        assert!((total - 19_980.0).abs() < 1e-8, "bands add up to {total} Hz, off by {}", total - 19_980.0);
        for pair in bands().windows(2) {
            assert!((pair[0].upper_hz - pair[1].lower_hz).abs() < 1e-9 * pair[0].upper_hz);
        }
    }

    #[test]
    fn nodes_fill_their_band() {
        let fourth = |hz: f64| hz * hz * hz * hz;
        for band in bands() {
            let width: f64 = band.nodes.iter().map(|n| n.width_hz).sum();
            assert!(
                (width - band.width_hz()).abs() < 1e-9 * width,
                "{width} Hz, off by {}",
                width - band.width_hz()
            );
            let mean_cube = band.mean(|hz| hz * hz * hz);
            let want = (fourth(band.upper_hz) - fourth(band.lower_hz)) / 4.0 / band.width_hz();
            assert!((mean_cube / want - 1.0).abs() < 1e-9, "mean of the cube {mean_cube}, want {want}");
        }
    }

    #[test]
    fn thirds_add_up_to_their_octaves() {
        let octaves = [75.8, 59.2, 48.1, 39.9, 34.0, 30.0, 26.9, 24.6, 22.9];
        let thirds = thirds_from_octaves(&octaves);
        for (index, octave) in octaves.iter().enumerate() {
            // 25 Hz is band 1, so the 31.5 Hz octave is bands 1 to 3.
            let sum: f64 = thirds[1 + 3 * index..4 + 3 * index].iter().map(|l| exp10(l / 10.0)).sum();
            let level = 10.0 * log10(sum);
            assert!((level - octave).abs() < 1e-9, "octave {index}: {level} dB, want {octave}");
        }
    }
}
