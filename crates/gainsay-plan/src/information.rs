//! What knowing a figure would be worth before a decision.
//!
//! The expected value of partial perfect information of a figure θ is E over θ of the best expected benefit given θ, less the best
//! expected benefit without knowing it (Raiffa and Schlaifer 1961). It is estimated from one set of draws by dividing them into
//! classes of equal probability of the figure, within which the conditional expectation is a mean (Strong and Oakley 2013,
//! "An efficient method for computing single-parameter partial expected value of perfect information"; a special case of the
//! regression of Strong, Oakley and Brennan 2014, with a step function as the regression).

/// What knowing a figure exactly would be worth, in the unit of the benefits.
///
/// `benefits` holds for each way of deciding the benefit in every draw, `figure` the figure's value in every draw. `classes` is
/// the number of classes of equal probability; the estimate rises a little with it by chance alone, and leaves out what happens
/// inside of a class: the square root of the number of draws is a good choice. Gives 0 where there is nothing to decide.
#[must_use]
pub fn worth_of_knowing(benefits: &[Vec<f64>], figure: &[f64], classes: usize) -> f64 {
    let mut order: Vec<usize> = (0..figure.len()).collect();
    let value = |index: &usize| figure.get(*index).copied().unwrap_or(f64::NAN);
    order.sort_by(|a, b| value(a).total_cmp(&value(b)));
    let mut class_of = vec![0_usize; figure.len()];
    for (rank, index) in order.iter().enumerate() {
        if let Some(class) = class_of.get_mut(*index) {
            *class = rank * classes.max(1) / figure.len();
        }
    }
    worth_by_classes(benefits, &class_of, classes.max(1))
}

/// The same where the class of each draw is known.
pub(crate) fn worth_by_classes(benefits: &[Vec<f64>], class_of: &[usize], classes: usize) -> f64 {
    let n = class_of.len().max(1) as f64;
    let mut best_of = vec![f64::NEG_INFINITY; classes];
    let mut blind = f64::NEG_INFINITY;
    for benefit in benefits {
        let mut sums = vec![0.0; classes];
        for (class, benefit) in class_of.iter().zip(benefit) {
            if let Some(sum) = sums.get_mut(*class) {
                *sum += benefit;
            }
        }
        blind = f64::max(blind, sums.iter().sum::<f64>() / n);
        for (best, sum) in best_of.iter_mut().zip(&sums) {
            *best = best.max(*sum);
        }
    }
    let informed: f64 = best_of.iter().filter(|best| best.is_finite()).sum();
    if blind.is_finite() { (informed / n - blind).max(0.0) } else { 0.0 }
}
