#![cfg(test)]
//! What knowing a figure is worth, against the closed form of a textbook's choice between two options.
//!
//! Nothing is gained by the first option; by the second a normally distributed amount. To know that amount exactly before one
//! chooses is worth its standard deviation times the unit normal linear loss integral of its mean in standard deviations (Raiffa
//! and Schlaifer 1961, "Applied Statistical Decision Theory", chapter 5). What else spreads the gain and isn't known changes
//! nothing about it.

use gainsay_plan::information::worth_of_knowing;

/// Means in standard deviations, and the unit normal linear loss integral there, as tables of it have it (quoted from memory).
const LOSS: [(f64, f64); 6] =
    [(0.0, 0.3989), (0.25, 0.2863), (0.5, 0.1978), (1.0, 0.0833), (1.5, 0.0293), (2.0, 0.0085)];

const DRAWS: usize = 400_000;

/// The square root of the number of draws, about.
const CLASSES: usize = 600;

/// SplitMix64 (Steele, Lea and Flood 2014).
struct Dice(u64);

impl Dice {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal to about a thousandth: the sum of twelve uniform numbers has a kurtosis that is a tenth too low.
    fn normal(&mut self) -> f64 {
        // Of four such sums the tenth is a fortieth.
        (0..48).map(|_| self.uniform() - 0.5).sum::<f64>() / 2.0
    }
}

/// The gain of the second option in every draw, and the part of it that could be known.
fn draws(mean: f64, known: f64, unknown: f64, seed: u64) -> (Vec<f64>, Vec<f64>) {
    let mut dice = Dice(seed);
    (0..DRAWS)
        .map(|_| {
            let figure = known * (mean + dice.normal());
            (figure + unknown * dice.normal(), figure)
        })
        .unzip()
}

#[test]
fn a_choice_between_two_options_has_the_worth_of_the_normal_loss_integral() {
    let mut off = Vec::new();
    for (index, (mean, loss)) in LOSS.into_iter().enumerate() {
        for sign in [1.0, -1.0] {
            for (known, unknown) in [(1.0, 0.0), (1.0, 1.0), (250.0, 250.0), (0.02, 0.04)] {
                let (gain, figure) = draws(sign * mean, known, unknown, 17 + index as u64);
                let worth = worth_of_knowing(&[vec![0.0; DRAWS], gain], &figure, CLASSES);
                let expected = known * loss;
                // Five standard errors of a mean of so many draws, and the last digit of the table.
                let close =
                    5.0 * (known * known + unknown * unknown).sqrt() / (DRAWS as f64).sqrt() + known * 1e-4;
                let by = worth - expected;
                if by.abs() > close {
                    off.push(format!(
                        "mean {mean}, spread {known}, beside {unknown}: {worth:.5}, closed form {expected:.5}, off by {by:+.5}"
                    ));
                }
            }
        }
    }
    assert!(off.is_empty(), "{}", off.join("\n"));
}

#[test]
fn what_has_no_influence_is_worth_next_to_nothing() {
    let (gain, _) = draws(0.5, 1.0, 0.0, 5);
    let (_, other) = draws(0.0, 1.0, 0.0, 9);
    let worth = worth_of_knowing(&[vec![0.0; DRAWS], gain], &other, 20);
    assert!(worth < 0.001, "{worth}");
}

#[test]
fn with_one_way_to_decide_nothing_is_worth_knowing() {
    let (gain, figure) = draws(0.0, 1.0, 0.0, 3);
    assert!(worth_of_knowing(&[gain], &figure, CLASSES) < 1e-9);
    assert!(worth_of_knowing(&[], &figure, CLASSES) < 1e-9);
    assert!(worth_of_knowing(&[Vec::new()], &[], CLASSES) < 1e-9);
}
