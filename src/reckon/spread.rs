//! How values of many barrels lie together, and which of them stand out.
//!
//! **What stands out** is `reckon::spread`: three deviations by the median distance, of at least five values, and never less than what two
//! tests of one wine differ by. Only a barrel's own results are held against each other; a composite hides what is looked for.

/// A standard deviation is so many median absolute deviations where values are spread normally: 1 / Φ⁻¹(¾).
const DEVIATIONS_A_MAD: f64 = 1.4826;
/// A value stands out that is further from the median than so many such deviations: the Hampel identifier with its usual
/// three (Hampel 1974; from memory).
const FAR: f64 = 3.0;
/// Of fewer values none stands out: there is no crowd to stand out from (our choice).
const A_CROWD: usize = 5;

/// How values lie together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// How many there are.
    pub count: usize,
    /// The least.
    pub least: f64,
    /// The one in the middle, or the mean of the two there.
    pub median: f64,
    /// Their sum by their number.
    pub mean: f64,
    /// The most.
    pub most: f64,
    /// The median of their distances from the median.
    pub median_distance: f64,
}

impl Spread {
    /// The spread of some values; none of no value.
    #[must_use]
    pub fn of(values: &[f64]) -> Option<Spread> {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let (&least, &most) = (sorted.first()?, sorted.last()?);
        let median = middle(&sorted);
        let mean = sorted.iter().sum::<f64>() / sorted.len() as f64;
        let mut distances: Vec<f64> = sorted.iter().map(|value| (value - median).abs()).collect();
        distances.sort_by(f64::total_cmp);
        Some(Spread { count: sorted.len(), least, median, mean, most, median_distance: middle(&distances) })
    }

    /// Whether a value stands out: further from the median than three standard deviations, as the median distance tells
    /// them, and than `grain`, what is not worth a word however alike the others are.
    #[must_use]
    pub fn stands_out(&self, value: f64, grain: f64) -> bool {
        let bound = (FAR * DEVIATIONS_A_MAD * self.median_distance).max(grain);
        self.count >= A_CROWD && (value - self.median).abs() > bound
    }
}

/// The middle of sorted values, of which there is at least one.
fn middle(sorted: &[f64]) -> f64 {
    let half = sorted.len() / 2;
    if sorted.len() % 2 == 1 { sorted[half] } else { sorted[half - 1].midpoint(sorted[half]) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// By hand: the median is 14, the distances 0 0 0 1 1 1 1 2 5 have the median 1, so that the bound is 4.4478.
    #[test]
    fn one_score_of_nine_stands_out() {
        let scores = [14.0, 9.0, 15.0, 13.0, 14.0, 12.0, 15.0, 13.0, 14.0];
        let spread = Spread::of(&scores).unwrap();
        assert_eq!((spread.least, spread.median, spread.most, spread.median_distance), (9.0, 14.0, 15.0, 1.0));
        assert!((spread.mean - 119.0 / 9.0).abs() < 1e-12);
        let out: Vec<f64> = scores.into_iter().filter(|&score| spread.stands_out(score, 1.0)).collect();
        assert_eq!(out, [9.0]);
    }

    #[test]
    fn among_equals_the_grain_decides() {
        let spread = Spread::of(&[3.6, 3.6, 3.6, 3.6, 3.6, 3.62]).unwrap();
        assert!(!spread.stands_out(3.62, 0.05) && spread.stands_out(3.66, 0.05));
    }

    #[test]
    fn of_few_none_stands_out() {
        let spread = Spread::of(&[14.0, 14.0, 14.0, 2.0]).unwrap();
        assert!(!spread.stands_out(2.0, 1.0));
        assert_eq!(Spread::of(&[]), None);
    }

    proptest! {
        #[test]
        fn at_least_half_never_stand_out(values in prop::collection::vec(-100.0_f64..100.0, 1..40)) {
            let spread = Spread::of(&values).unwrap();
            prop_assert!(spread.least <= spread.median && spread.median <= spread.most);
            let out = values.iter().filter(|&&value| spread.stands_out(value, 0.0)).count();
            prop_assert!(out * 2 <= values.len());
        }
    }
}
