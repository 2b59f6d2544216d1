//! The average over the surfaces, in closed form: what each blend is liked more than the mean of all that are allowed, and how sure it is.

use std::sync::Arc;

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::kernel::Kernel;
use super::ratings::{Ratings, Sums};
use super::space::Space;
use super::{LENGTHS, VARIATIONS};

/// Contrasts of blends that were held against one another less than this part of the most often held are not told.
const TOLD: f64 = 1e-8;

/// The least that ratings scatter about a surface, as a part of how they scatter at all.
const LEAST_SCATTER: f64 = 1e-9;

/// A surface: how supple, how much it varies, and how much it counts among all.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Surface {
    /// How much it counts: all counts are one.
    weight: f64,
    /// The variance of the liking over that of one rating.
    variation: f64,
    /// The squares of the ratings that it leaves, and its own bending.
    left: f64,
}

/// All surfaces of one length: the ratings turned so that each counts by itself.
#[derive(Clone, Debug, PartialEq)]
struct Turned {
    /// From the turned contrasts to the blends.
    to_blends: DMatrix<f64>,
    /// From what blends are liked more to the turned contrasts.
    from_more: DMatrix<f64>,
    /// How much each contrast is expected to vary.
    expected: DVector<f64>,
    /// For each variation, what the contrasts are expected to vary with the noise: a part of the likelihood that no score changes.
    volumes: [f64; VARIATIONS.len()],
}

/// What the ratings say at one length.
#[derive(Clone, Debug, PartialEq)]
struct Said {
    contrasts: DVector<f64>,
    surfaces: [Surface; VARIATIONS.len()],
    /// What each blend adds to the liking of another.
    pulls: DVector<f64>,
}

/// How the blends lie before anything was rated.
#[derive(Clone, Debug, PartialEq)]
struct Layout {
    turned: Vec<Turned>,
    freedom: f64,
}

/// The average surface of some ratings.
#[derive(Clone, Debug, PartialEq)]
pub struct Averaged {
    space: Arc<Space>,
    kernels: Vec<Kernel>,
    /// Where each blend lies.
    places: Vec<Vec<f64>>,
    /// How alike each blend is to all, a length each.
    with_all: Vec<Vec<f64>>,
    layout: Layout,
    said: Vec<Said>,
    factor: f64,
}

/// A blend, with what is needed to hold it against others.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    at: Vec<f64>,
    lengths: Vec<AtLength>,
}

#[derive(Clone, Debug, PartialEq)]
struct AtLength {
    with_all: f64,
    contrasts: DVector<f64>,
    likings: [f64; VARIATIONS.len()],
}

/// A sum of places, each so many times: what is told of it.
#[derive(Clone, Debug, PartialEq)]
struct Summed {
    contrasts: DVector<f64>,
    likings: [f64; VARIATIONS.len()],
    /// Its variance before anything was rated.
    before: f64,
}

/// Places that are summed once, each so many times, to hold many others against.
#[derive(Clone, Debug, PartialEq)]
pub struct Gathered {
    places: Vec<(f64, Place)>,
    lengths: Vec<Summed>,
}

impl Averaged {
    /// The average surface of blends that were rated, each taster counted by a weight. None where the ratings tell nothing: all of a
    /// sitting alike, or one to a sitting.
    #[must_use]
    pub fn of(space: &Arc<Space>, blends: &[Vec<f64>], ratings: &Ratings, weights: &[f64]) -> Option<Averaged> {
        let sums = ratings.sums(weights);
        if sums.scatter <= 0.0 || ratings.freedom() < 1.0 {
            return None;
        }
        let kernels: Vec<Kernel> = LENGTHS.iter().map(|&length| Kernel::new(space, length)).collect();
        let places: Vec<Vec<f64>> = blends.iter().map(|blend| space.at(blend)).collect();
        let with_all: Vec<Vec<f64>> =
            kernels.iter().map(|kernel| places.iter().map(|place| kernel.with_all(place)).collect()).collect();
        let covariances = kernels.iter().zip(&with_all).map(|(kernel, all)| {
            DMatrix::from_fn(places.len(), places.len(), |one, other| {
                kernel.covariance((&places[one], all[one]), (&places[other], all[other]))
            })
        });
        let turned = turned(ratings.against(weights), covariances);
        let layout = Layout { turned, freedom: ratings.freedom() };
        let (factor, said) = layout.hear(&sums);
        Some(Averaged { space: Arc::clone(space), kernels, places, with_all, layout, said, factor })
    }

    /// By how much the ratings speak for the surfaces and against none: the logarithm of a ratio of likelihoods.
    #[must_use]
    pub fn factor(&self) -> f64 {
        self.factor
    }

    /// The same of other scores for the same glasses.
    #[must_use]
    pub fn factor_of(&self, sums: &Sums) -> f64 {
        let said: Vec<Said> = self.layout.turned.iter().map(|turned| self.layout.hear_at(turned, sums)).collect();
        self.layout.weigh(&said, sums).0
    }

    /// The variance of one rating about the surface.
    #[must_use]
    pub fn noise(&self) -> f64 {
        let left: f64 = self.surfaces().map(|surface| surface.weight * surface.left).sum();
        left / self.layout.freedom
    }

    fn surfaces(&self) -> impl Iterator<Item = &Surface> {
        self.said.iter().flat_map(|said| &said.surfaces)
    }

    fn covariances(&self, length: usize, (at, with_all): (&[f64], f64)) -> DVector<f64> {
        let (kernel, all) = (&self.kernels[length], &self.with_all[length]);
        DVector::from_fn(self.places.len(), |blend, _| {
            kernel.covariance((at, with_all), (&self.places[blend], all[blend]))
        })
    }

    /// By how much a blend is liked more than the mean of all that are allowed.
    #[must_use]
    pub fn liking(&self, blend: &[f64]) -> f64 {
        let at = self.space.at(blend);
        let of = |length: usize| {
            let with_all = self.kernels[length].with_all(&at);
            self.covariances(length, (&at, with_all)).dot(&self.said[length].pulls)
        };
        (0..LENGTHS.len()).map(of).sum()
    }

    /// A blend, to be held against others.
    #[must_use]
    pub fn place(&self, blend: &[f64]) -> Place {
        let at = self.space.at(blend);
        let of = |length: usize| {
            let (turned, said) = (&self.layout.turned[length], &self.said[length]);
            let with_all = self.kernels[length].with_all(&at);
            let contrasts = turned.to_blends.tr_mul(&self.covariances(length, (&at, with_all)));
            let likings = said.surfaces.map(|Surface { variation, .. }| {
                let told = contrasts.iter().zip(&said.contrasts).zip(&turned.expected);
                variation * told.map(|((own, said), expected)| own * said / (1.0 + variation * expected)).sum::<f64>()
            });
            AtLength { with_all, contrasts, likings }
        };
        Place { lengths: (0..LENGTHS.len()).map(of).collect(), at }
    }

    /// The mean and the variance of how much one place is liked more than another.
    #[must_use]
    pub fn more(&self, one: &Place, other: &Place) -> (f64, f64) {
        self.against(one, &self.gather(vec![(-1.0, other.clone())]))
    }

    /// Sums places, each so many times.
    #[must_use]
    pub fn gather(&self, places: Vec<(f64, Place)>) -> Gathered {
        let summed = |length: usize| {
            let mut summed = Summed {
                contrasts: DVector::zeros(self.layout.turned[length].expected.len()),
                likings: [0.0; VARIATIONS.len()],
                before: 0.0,
            };
            for (times, place) in &places {
                summed.add(*times, &place.lengths[length]);
                let with = |(other_times, other): &(f64, Place)| other_times * self.covariance(length, place, other);
                summed.before += times * places.iter().map(with).sum::<f64>();
            }
            summed
        };
        Gathered { lengths: (0..LENGTHS.len()).map(summed).collect(), places }
    }

    fn covariance(&self, length: usize, one: &Place, other: &Place) -> f64 {
        let all = |place: &Place| place.lengths[length].with_all;
        self.kernels[length].covariance((&one.at, all(one)), (&other.at, all(other)))
    }

    /// The mean and the variance of a place together with others that are summed already: how much it is liked more than one of them, say.
    /// The variance is that of the surfaces themselves and that between them.
    #[must_use]
    pub fn against(&self, place: &Place, others: &Gathered) -> (f64, f64) {
        let (mut mean, mut square) = (0.0, 0.0);
        for (length, gathered) in others.lengths.iter().enumerate() {
            let mut summed = gathered.clone();
            summed.add(1.0, &place.lengths[length]);
            let with: f64 =
                others.places.iter().map(|(times, other)| times * self.covariance(length, place, other)).sum();
            summed.before += self.covariance(length, place, place) + 2.0 * with;
            for (at, Surface { weight, variation, left }) in self.said[length].surfaces.iter().enumerate() {
                let told = summed.contrasts.iter().zip(&self.layout.turned[length].expected);
                let told: f64 = told.map(|(own, expected)| own * own / (1.0 + variation * expected)).sum();
                let variance = left / self.layout.freedom * variation * (summed.before - variation * told);
                let liking = summed.likings[at];
                mean += weight * liking;
                square += weight * (variance.max(0.0) + liking * liking);
            }
        }
        (mean, (square - mean * mean).max(0.0))
    }
}

impl Summed {
    fn add(&mut self, times: f64, place: &AtLength) {
        self.contrasts.axpy(times, &place.contrasts, 1.0);
        self.likings.iter_mut().zip(&place.likings).for_each(|(sum, liking)| *sum += times * liking);
    }
}

/// Turns the contrasts that the sittings tell, at each length, so that each is expected to vary by itself.
fn turned(against: DMatrix<f64>, covariances: impl Iterator<Item = DMatrix<f64>>) -> Vec<Turned> {
    let blends = against.nrows();
    let eigen = SymmetricEigen::new(against);
    let most = eigen.eigenvalues.iter().copied().fold(0.0, f64::max);
    let kept: Vec<usize> = (0..blends).filter(|&at| eigen.eigenvalues[at] > TOLD * most).collect();
    let stretched = |by: fn(f64) -> f64| {
        DMatrix::from_fn(blends, kept.len(), |blend, at| {
            eigen.eigenvectors[(blend, kept[at])] * by(eigen.eigenvalues[kept[at]])
        })
    };
    let (root, inverse) = (stretched(f64::sqrt), stretched(|value| 1.0 / value.sqrt()));
    covariances
        .map(|covariance| {
            let eigen = SymmetricEigen::new(root.transpose() * covariance * &root);
            let expected = eigen.eigenvalues.map(|value| value.max(0.0));
            let volume =
                |deviation: f64| expected.iter().map(|it| (1.0 + deviation * deviation * it).ln()).sum::<f64>();
            Turned {
                to_blends: &root * &eigen.eigenvectors,
                from_more: eigen.eigenvectors.transpose() * inverse.transpose(),
                volumes: VARIATIONS.map(volume),
                expected,
            }
        })
        .collect()
}

impl Layout {
    /// What the ratings say to each surface, and by how much they speak for surfaces at all.
    fn hear(&self, sums: &Sums) -> (f64, Vec<Said>) {
        let mut said: Vec<Said> = self.turned.iter().map(|turned| self.hear_at(turned, sums)).collect();
        let (factor, most, sum) = self.weigh(&said, sums);
        for (said, turned) in said.iter_mut().zip(&self.turned) {
            said.surfaces.iter_mut().for_each(|surface| surface.weight = (surface.weight - most).exp() / sum);
            let pull = |at: usize| {
                let shrunk = |surface: &Surface| {
                    surface.weight * surface.variation / (1.0 + surface.variation * turned.expected[at])
                };
                said.surfaces.iter().map(shrunk).sum::<f64>() * said.contrasts[at]
            };
            said.pulls = &turned.to_blends * DVector::from_fn(turned.expected.len(), |at, _| pull(at));
        }
        (factor, said)
    }

    /// By how much ratings speak for surfaces, the largest logarithm among these, and the sum of all over it.
    fn weigh(&self, said: &[Said], sums: &Sums) -> (f64, f64, f64) {
        let logs = || said.iter().flat_map(|said| said.surfaces.map(|surface| surface.weight));
        let most = logs().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = logs().map(|log| (log - most).exp()).sum();
        let count = logs().count() as f64;
        (most + (sum / count).ln() + self.freedom / 2.0 * sums.scatter.ln(), most, sum)
    }

    /// The same at one length; the weights are logarithms still.
    fn hear_at(&self, turned: &Turned, sums: &Sums) -> Said {
        let contrasts = &turned.from_more * &sums.more;
        let rest = (sums.scatter - contrasts.norm_squared()).max(LEAST_SCATTER * sums.scatter);
        let mut surfaces = [Surface::default(); VARIATIONS.len()];
        for ((surface, deviation), volume) in surfaces.iter_mut().zip(VARIATIONS).zip(turned.volumes) {
            let variation = deviation * deviation;
            let bent = turned.expected.iter().zip(&contrasts);
            let bent: f64 = bent.map(|(expected, contrast)| contrast * contrast / (1.0 + variation * expected)).sum();
            let left = rest + bent;
            *surface = Surface { weight: -0.5 * volume - self.freedom / 2.0 * left.ln(), variation, left };
        }
        Said { contrasts, surfaces, pulls: DVector::zeros(0) }
    }
}
