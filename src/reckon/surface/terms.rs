//! The terms of a surface.

use serde::Serialize;

/// How scores are thought to follow the shares (Scheffé 1958, canonical polynomials).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Model {
    /// Not at all: every blend is as good as any other.
    Mean,
    /// By each component's share: Σ βᵢ xᵢ.
    Linear,
    /// And by pairs of components that do together more or less than apart: Σ βᵢ xᵢ + Σ βᵢⱼ xᵢ xⱼ.
    Quadratic,
}

impl Model {
    /// All of them, the simplest first.
    pub const ALL: [Model; 3] = [Model::Mean, Model::Linear, Model::Quadratic];

    /// Its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Model::Mean => "mean",
            Model::Linear => "linear",
            Model::Quadratic => "quadratic",
        }
    }

    /// How many terms it has besides a level, on blends that spread in so many directions. On the simplex these terms and
    /// a level span the same surfaces as the canonical polynomial.
    #[must_use]
    pub const fn slopes(self, dimensions: usize) -> usize {
        match self {
            Model::Mean => 0,
            Model::Linear => dimensions,
            Model::Quadratic => dimensions + dimensions * (dimensions + 1) / 2,
        }
    }

    /// The terms at some coordinates: each, then, of the quadratic, the product of each with itself and the later ones.
    #[must_use]
    pub fn terms(self, at: &[f64]) -> Vec<f64> {
        let mut terms = Vec::with_capacity(self.slopes(at.len()));
        if self >= Model::Linear {
            terms.extend_from_slice(at);
        }
        if self == Model::Quadratic {
            for (first, &one) in at.iter().enumerate() {
                terms.extend(at[first..].iter().map(|other| one * other));
            }
        }
        terms
    }
}
