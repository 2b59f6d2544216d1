//! How alike two blends are liked, before anybody has tasted: the squared exponential of their distance, held to an average of nought
//! over all blends that are allowed (Rasmussen & Williams 2006, chapter 2).

use std::sync::Arc;

use super::space::{Space, apart};

/// A bend of the surface: over how wide a stretch likings go together.
#[derive(Clone, Debug, PartialEq)]
pub struct Kernel {
    space: Arc<Space>,
    length: f64,
    /// The mean over the mean of each blend that is allowed with all.
    mean: f64,
}

impl Kernel {
    /// The kernel of a length, in standard deviations of the blends that are allowed.
    #[must_use]
    pub fn new(space: &Arc<Space>, length: f64) -> Kernel {
        let mut kernel = Kernel { space: Arc::clone(space), length, mean: 0.0 };
        let reference = space.reference();
        kernel.mean = reference.iter().map(|place| kernel.with_all(place)).sum::<f64>() / reference.len() as f64;
        kernel
    }

    fn plain(&self, one: &[f64], other: &[f64]) -> f64 {
        (-apart(one, other) / (2.0 * self.length * self.length)).exp()
    }

    /// How alike a place is, on average, to all that are allowed.
    #[must_use]
    pub fn with_all(&self, place: &[f64]) -> f64 {
        let reference = self.space.reference();
        reference.iter().map(|other| self.plain(place, other)).sum::<f64>() / reference.len() as f64
    }

    /// The mean of that over all that are allowed.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// The covariance of two places, whose means with all are known.
    #[must_use]
    pub fn covariance(&self, (one, one_all): (&[f64], f64), (other, other_all): (&[f64], f64)) -> f64 {
        (self.plain(one, other) - one_all - other_all + self.mean) / (1.0 - self.mean)
    }
}
