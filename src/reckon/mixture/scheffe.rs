//! Scheffé's models of a mixture: what is said of a glass hangs on its shares (Scheffé 1958).

use super::matrix::Square;

/// A model.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Model {
    /// Each component by itself: a plane.
    Linear,
    /// And each pair of components, which may be better or worse together.
    Quadratic,
}

impl Model {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Model::Linear => "linear",
            Model::Quadratic => "quadratic",
        }
    }

    /// How many terms it has, and so how many different glasses it needs at least.
    #[must_use]
    pub const fn size(self, components: usize) -> usize {
        match self {
            Model::Linear => components,
            Model::Quadratic => components * (components + 1) / 2,
        }
    }

    /// The terms of a mixture: its shares, then the products of two of them, 12, 13 … 23 ….
    #[must_use]
    pub fn terms(self, mixture: &[f64]) -> Vec<f64> {
        let mut terms = mixture.to_vec();
        if self == Model::Quadratic {
            for (at, first) in mixture.iter().enumerate() {
                terms.extend(mixture[at + 1..].iter().map(|second| first * second));
            }
        }
        terms
    }

    /// Which components each term is made of.
    fn factors(self, components: usize) -> Vec<Vec<usize>> {
        let mut factors: Vec<Vec<usize>> = (0..components).map(|one| vec![one]).collect();
        if self == Model::Quadratic {
            factors.extend((0..components).flat_map(|one| (one + 1..components).map(move |other| vec![one, other])));
        }
        factors
    }

    /// The mean products of two terms over all mixtures, exactly: the moments of the even Dirichlet distribution,
    /// (q − 1)! Π aᵢ! / (q − 1 + Σ aᵢ)! for the powers aᵢ.
    pub(super) fn moments(self, components: usize) -> Square {
        let factors = self.factors(components);
        let mean = |one: usize, other: usize| {
            let mut powers = vec![0_u32; components];
            factors[one].iter().chain(&factors[other]).for_each(|&at| powers[at] += 1);
            let above: f64 = powers.iter().map(|&power| (1..=power).map(f64::from).product::<f64>()).product();
            let degree: u32 = powers.iter().sum();
            let below: f64 = (0..degree).map(|at| components as f64 + f64::from(at)).product();
            above / below
        };
        Square::from_fn(factors.len(), mean)
    }

    /// The determinant's change with the scale of pseudocomponents: det X'X in shares is det X'X in pseudocomponents times
    /// the width to this power. A linear change of the shares by a matrix B changes the terms by B itself or by its second
    /// symmetric power, whose determinant is det B to the q + 1; and det B is the width to the q − 1.
    pub(super) fn scale_power(self, components: usize) -> i32 {
        let components = i32::try_from(components).unwrap_or(0);
        match self {
            Model::Linear => 2 * (components - 1),
            Model::Quadratic => 2 * (components - 1) * (components + 1),
        }
    }
}
