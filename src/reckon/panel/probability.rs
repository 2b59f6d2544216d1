//! How likely chance alone would go so far, and how that was reckoned.

use crate::units::figure;
use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor, Normal, StudentsT};

/// The level at which something counts as told from chance.
pub const LEVEL: f64 = 0.05;
/// So many halvings find a value to the last digit that counts.
const HALVINGS: u32 = 60;

/// How a probability was reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// All orders that chance could have brought, counted.
    Exact,
    /// So many orders drawn by a seeded generator, the one seen counted among them.
    Draws(usize),
    /// The chi-square distribution.
    ChiSquare,
    /// The F distribution.
    F,
    /// The normal distribution.
    Normal,
}

impl By {
    /// Its name.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            By::Exact => "exact".to_owned(),
            By::Draws(draws) => format!("from {} drawn orders", figure(draws as f64)),
            By::ChiSquare => "by chi-square".to_owned(),
            By::F => "by F".to_owned(),
            By::Normal => "by the normal distribution".to_owned(),
        }
    }
}

/// A probability that chance alone would go so far or further.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Probability {
    /// From 0 to 1.
    pub p: f64,
    /// How it was reckoned.
    pub by: By,
}

impl Probability {
    /// Its standard error, where it was drawn.
    #[must_use]
    pub fn error(self) -> Option<f64> {
        match self.by {
            By::Draws(draws) => Some(libm::sqrt(self.p * (1.0 - self.p) / draws as f64)),
            By::Exact | By::ChiSquare | By::F | By::Normal => None,
        }
    }

    /// How it was reckoned, with its error where it was drawn: `from 40000 drawn orders, ± 0.0011`.
    #[must_use]
    pub fn how(self) -> String {
        let error = self.error().map(|error| format!(", ± {}", figure(two_figures(error))));
        format!("{}{}", self.by.words(), error.unwrap_or_default())
    }

    /// Whether it is told from chance at the level of one in twenty.
    #[must_use]
    pub fn tells(self) -> bool {
        self.p <= LEVEL
    }
}

/// A small number to its first two figures, however small it is.
#[must_use]
pub fn two_figures(value: f64) -> f64 {
    // What is written of it and read again has no roundings behind the last figure.
    if value > 0.0 { format!("{value:.1e}").parse().unwrap_or(value) } else { 0.0 }
}

/// The upper tail of the chi-square distribution.
#[must_use]
pub fn chi_square_tail(value: f64, degrees: usize) -> f64 {
    ChiSquared::new(degrees as f64).map_or(1.0, |it| it.sf(value.max(0.0)))
}

/// The value below which a part of the chi-square distribution lies. The library's own gives no number for one degree.
#[must_use]
pub fn chi_square_below(part: f64, degrees: usize) -> f64 {
    let (mut low, mut high) = (0.0, degrees as f64);
    while 1.0 - chi_square_tail(high, degrees) < part && high < f64::MAX / 2.0 {
        high *= 2.0;
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if 1.0 - chi_square_tail(middle, degrees) < part { low = middle } else { high = middle }
    }
    high
}

/// The upper tail of the F distribution.
#[must_use]
pub fn f_tail(value: f64, above: usize, below: usize) -> f64 {
    if value == f64::INFINITY {
        return 0.0;
    }
    FisherSnedecor::new(above as f64, below as f64).map_or(1.0, |it| it.sf(value.max(0.0)))
}

/// The upper tail of the normal distribution.
#[must_use]
pub fn normal_tail(value: f64) -> f64 {
    Normal::standard().sf(value)
}

/// Both tails of Student's distribution.
#[must_use]
pub fn student_tails(value: f64, degrees: usize) -> f64 {
    StudentsT::new(0.0, 1.0, degrees as f64).map_or(1.0, |it| 2.0 * it.sf(value.abs())).min(1.0)
}

/// Probabilities of several comparisons held back for their number: the step-down method of Holm (1979), which keeps the
/// chance of one false word among all of them at the level.
#[must_use]
pub fn held_back(probabilities: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..probabilities.len()).collect();
    order.sort_by(|&one, &other| probabilities[one].total_cmp(&probabilities[other]));
    let mut held = vec![1.0; probabilities.len()];
    let mut most = 0.0_f64;
    for (step, &place) in order.iter().enumerate() {
        most = most.max(probabilities[place] * (order.len() - step) as f64).min(1.0);
        held[place] = most;
    }
    held
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Holm's method as R's `p.adjust` gives it for 0.01, 0.02, 0.03, 0.04: 0.04, 0.06, 0.06, 0.06.
    #[test]
    fn comparisons_are_held_back() {
        let held = held_back(&[0.04, 0.01, 0.03, 0.02]);
        for (found, expected) in held.iter().zip([0.06, 0.04, 0.06, 0.06]) {
            assert!((found - expected).abs() < 1e-12, "{held:?}");
        }
    }

    /// Tables: chi-square 5.991 with 2, F 4.2565 with 2 and 9, normal 1.96, Student 2.2622 with 9, each at five in a hundred; chi-square's
    /// points of 2.5 and 97.5 in a hundred.
    #[test]
    fn tails_are_those_of_the_tables() {
        for p in
            [chi_square_tail(5.9915, 2), f_tail(4.2565, 2, 9), 2.0 * normal_tail(1.95996), student_tails(-2.26216, 9)]
        {
            assert!((p - 0.05).abs() < 1e-5, "{p}");
        }
        for (part, degrees, value) in [(0.025, 1, 0.000_982), (0.025, 2, 0.0506), (0.975, 9, 19.0228)] {
            assert!((chi_square_below(part, degrees) - value).abs() < 5e-5);
        }
        assert_eq!((f_tail(f64::INFINITY, 2, 9), chi_square_tail(-1.0, 3)), (0.0, 1.0));
    }
}
