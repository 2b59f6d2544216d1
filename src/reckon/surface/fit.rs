//! The fit of a surface by least squares, with an effect of each taster.
//!
//! A rating is the surface at the glass, what its taster gives more or less than the panel, and noise. Effects of tasters
//! sum to nought, so that what the surface says is what the mean taster of this panel would give. They are taken out
//! beforehand: scores and terms less their means by taster (Frisch and Waugh 1933), which leaves small matrices however
//! many taste.

use nalgebra::{DMatrix, DVector};
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor, StudentsT};

use super::hull::Hull;
use super::lack_of_fit::LackOfFit;
use super::tasting::Tasting;
use super::terms::Model;

/// A term that adds less than this part of itself to those before it adds nothing.
const NEW: f64 = 1e-7;
/// The chance of error that is accepted throughout: the usual one in twenty.
pub const ACCEPTED: f64 = 0.05;

/// Why a surface cannot be fitted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// There are fewer different blends than terms.
    Blends {
        /// How many there are.
        there: usize,
        /// How many it takes.
        needed: usize,
    },
    /// Nothing would be left to tell the noise by.
    Ratings,
    /// The glasses, as they were given to tasters, do not tell its terms apart.
    Confounded {
        /// The pairs of components whose coefficient cannot be told.
        pairs: Vec<(usize, usize)>,
    },
}

/// What a score is expected to be, and how well that is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Predicted {
    /// The score.
    pub score: f64,
    /// Its standard error, as the mean of this panel.
    pub error: f64,
}

/// A coefficient of the canonical polynomial.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Coefficient {
    /// The component.
    pub first: usize,
    /// The other of a pair; none for a component alone, whose coefficient is what it would score unmixed.
    pub second: Option<usize>,
    /// Its value, in the unit of the scores.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
}

/// What differences are judged by: a mean square, in squared units of the scores.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Noise {
    /// The mean square.
    pub mean_square: f64,
    /// Its degrees of freedom.
    pub freedom: usize,
    /// Whether it is what glasses scatter about the surface, because they scatter more than ratings do.
    pub of_glasses: bool,
}

/// A test by variances.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Ratio {
    /// The ratio of two mean squares.
    pub f: f64,
    /// Degrees of freedom of the upper.
    pub upper: usize,
    /// Degrees of freedom of the lower.
    pub lower: usize,
    /// How often chance alone gives such a ratio or a higher one.
    pub p: f64,
}

/// A fitted surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Its terms.
    pub model: Model,
    /// The room it is fitted in.
    pub hull: Hull,
    /// What remains, squared and summed.
    pub residual_sum: f64,
    /// Degrees of freedom of what remains.
    pub freedom: usize,
    /// What the blends could explain, squared and summed.
    pub total: f64,
    /// Its degrees of freedom.
    pub total_freedom: usize,
    /// What standard errors are reckoned with.
    pub noise: Noise,
    /// How it fits the single blends; none where that cannot be told.
    pub lack_of_fit: Option<LackOfFit>,
    pub(super) residuals: DVector<f64>,
    /// Orthonormal columns that span the terms within tasters, a row for a rating.
    pub(super) basis: DMatrix<f64>,
    /// The surface on those columns.
    pub(super) slopes: DVector<f64>,
    /// What makes terms less `centre` out of the columns' terms.
    pub(super) turned: DMatrix<f64>,
    pub(super) centre: DVector<f64>,
    /// The score at `centre`.
    pub(super) level: f64,
    /// The variance of `level`, in units of the noise.
    level_variance: f64,
}

impl Ratio {
    /// The test of what so many terms explain against a noise.
    #[must_use]
    pub fn of(explained: f64, upper: usize, noise: Noise) -> Option<Ratio> {
        if upper == 0 || noise.freedom == 0 {
            return None;
        }
        let f = (explained.max(0.0) / upper as f64) / noise.mean_square;
        let p = FisherSnedecor::new(upper as f64, noise.freedom as f64).ok()?.sf(f);
        Some(Ratio { f, upper, lower: noise.freedom, p: if p.is_finite() { p } else { 0.0 } })
    }

    /// Whether chance is no fair explanation.
    #[must_use]
    pub fn is_significant(&self) -> bool {
        self.p < ACCEPTED
    }
}

impl Noise {
    /// How many standard errors a difference must be beyond so that chance, on both sides together, is accepted.
    #[must_use]
    pub fn two_sided(&self) -> f64 {
        self.quantile(1.0 - ACCEPTED / 2.0)
    }

    /// The same where only one side is asked for.
    #[must_use]
    pub fn one_sided(&self) -> f64 {
        self.quantile(1.0 - ACCEPTED)
    }

    fn quantile(&self, part: f64) -> f64 {
        /// Student's quantile for one degree of freedom and 97.5 %: the widest that is asked for.
        const WIDEST: f64 = 12.706;
        StudentsT::new(0.0, 1.0, self.freedom.max(1) as f64).map_or(WIDEST, |student| student.inverse_cdf(part))
    }
}

impl Fit {
    /// Fits a model to the ratings.
    pub fn new(tasting: &Tasting, hull: &Hull, model: Model) -> Result<Fit, Unfit> {
        let slopes = model.slopes(hull.dimensions());
        let (ratings, tasters, blends) = (tasting.rows.len(), tasting.tasters.len(), tasting.blends.len());
        if blends < slopes + 1 {
            return Err(Unfit::Blends { there: blends, needed: slopes + 1 });
        }
        if ratings <= tasters + slopes {
            return Err(Unfit::Ratings);
        }
        let of_blend: Vec<Vec<f64>> =
            tasting.blends.iter().map(|blend| model.terms(&hull.coordinates(blend))).collect();
        let means = tasting.means_by_taster(&of_blend);
        let columns = DMatrix::from_fn(ratings, slopes, |row, column| {
            let row = tasting.rows[row];
            of_blend[row.blend][column] - means[row.taster][column]
        });
        let centre =
            DVector::from_fn(slopes, |column, _| means.iter().map(|mean| mean[column]).sum::<f64>() / tasters as f64);
        let scores =
            DVector::from_iterator(ratings, tasting.rows.iter().map(|row| row.score - tasting.means[row.taster]));
        let Some((basis, turned)) = orthonormal(&columns) else {
            let pairs = untold_pairs(&columns, hull, model);
            return Err(Unfit::Confounded { pairs });
        };
        let on_basis = basis.tr_mul(&scores);
        let residuals = scores - &basis * &on_basis;
        let (residual_sum, freedom) = (residuals.norm_squared(), ratings - tasters - slopes);
        let mean_square = (residual_sum / freedom as f64).max(tasting.grain);
        let level_variance = tasting.ratings_by.iter().map(|&count| 1.0 / count as f64).sum::<f64>();
        Ok(Fit {
            model,
            hull: hull.clone(),
            residual_sum,
            freedom,
            total: tasting.total,
            total_freedom: ratings - tasters,
            noise: Noise { mean_square, freedom, of_glasses: false },
            lack_of_fit: None,
            residuals,
            basis,
            slopes: on_basis,
            turned,
            centre,
            level: tasting.means.iter().sum::<f64>() / tasters as f64,
            level_variance: level_variance / (tasters * tasters) as f64,
        })
    }

    /// Takes in how the surface fits the single blends. Where they scatter about it more than ratings do, standard errors
    /// and tests go by that scatter: the glasses are then what the surface is known by, not the ratings.
    #[must_use]
    pub fn judged_by(mut self, lack_of_fit: Option<LackOfFit>) -> Fit {
        if let Some(lack) = lack_of_fit.filter(|lack| lack.ratio.is_significant()) {
            let mean_square = lack.sum / lack.ratio.upper as f64;
            self.noise = Noise { mean_square, freedom: lack.ratio.upper, of_glasses: true };
        }
        self.lack_of_fit = lack_of_fit;
        self
    }

    /// The standard deviation of what remains.
    #[must_use]
    pub fn residual_deviation(&self) -> f64 {
        (self.residual_sum / self.freedom as f64).sqrt()
    }

    /// The part of the differences within tasters that the surface explains. With one taster that is R² about the mean.
    #[must_use]
    pub fn explained(&self) -> f64 {
        1.0 - self.residual_sum / self.total
    }

    /// The same, adjusted for the number of terms; below nought where chance would explain more.
    #[must_use]
    pub fn explained_adjusted(&self) -> f64 {
        1.0 - (self.residual_sum / self.freedom as f64) / (self.total / self.total_freedom as f64)
    }

    /// The test against: all glasses are alike.
    #[must_use]
    pub fn against_alike(&self) -> Option<Ratio> {
        Ratio::of(self.total - self.residual_sum, self.slopes.len(), self.noise)
    }

    /// The test of what it has beyond a simpler fit of the same ratings.
    #[must_use]
    pub fn against(&self, simpler: &Fit) -> Option<Ratio> {
        let further = self.slopes.len().saturating_sub(simpler.slopes.len());
        Ratio::of(simpler.residual_sum - self.residual_sum, further, self.noise)
    }

    /// Where a place stands on the orthonormal columns.
    pub(super) fn place(&self, at: &[f64]) -> DVector<f64> {
        let terms = DVector::from_vec(self.model.terms(at)) - &self.centre;
        self.turned.tr_mul(&terms)
    }

    /// The score that is expected at a place on the columns.
    pub(super) fn score_at(&self, place: &DVector<f64>) -> f64 {
        self.level + place.dot(&self.slopes)
    }

    /// How far a score at some coordinates lies below that of a place, and the standard error of that difference.
    pub(super) fn below(&self, best: &DVector<f64>, at: &[f64]) -> (f64, f64) {
        let away = best - self.place(at);
        (away.dot(&self.slopes), away.norm() * self.noise.mean_square.sqrt())
    }

    /// What a blend would score; none where the glasses say nothing of such a blend.
    #[must_use]
    pub fn predict(&self, shares: &[f64]) -> Option<Predicted> {
        Some(self.predict_at(&self.hull.coordinates_within(shares)?))
    }

    pub(super) fn predict_at(&self, at: &[f64]) -> Predicted {
        let place = self.place(at);
        let variance = self.noise.mean_square * (self.level_variance + place.norm_squared());
        Predicted { score: self.score_at(&place), error: variance.sqrt() }
    }

    /// The coefficients of the canonical polynomial in the shares, as far as the glasses tell them.
    #[must_use]
    pub fn coefficients(&self) -> Vec<Coefficient> {
        let components = self.hull.shares(&vec![0.0; self.hull.dimensions()]).len();
        let unmixed = |it: usize| self.hull.coordinates_within(&shares_of(components, &[it]));
        let mut coefficients: Vec<Coefficient> = (0..components)
            .filter_map(|first| {
                let Predicted { score: value, error } = self.predict_at(&unmixed(first)?);
                Some(Coefficient { first, second: None, value, error })
            })
            .collect();
        if self.model == Model::Quadratic {
            coefficients.extend(pairs(components).filter_map(|(first, second)| {
                let both = self.hull.coordinates_within(&shares_of(components, &[first, second]))?;
                let (one, other) = (self.place(&unmixed(first)?), self.place(&unmixed(second)?));
                let beyond = self.place(&both) * 4.0 - (one + other) * 2.0;
                let error = beyond.norm() * self.noise.mean_square.sqrt();
                Some(Coefficient { first, second: Some(second), value: beyond.dot(&self.slopes), error })
            }));
        }
        coefficients
    }
}

/// All pairs of so many things.
fn pairs(of: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..of).flat_map(move |first| (first + 1..of).map(move |second| (first, second)))
}

/// Equal shares of some components.
fn shares_of(components: usize, some: &[usize]) -> Vec<f64> {
    let share = |it: usize| if some.contains(&it) { 1.0 / some.len() as f64 } else { 0.0 };
    (0..components).map(share).collect()
}

/// Orthonormal columns that span some columns, and the matrix that makes them out of those; none where one of the
/// columns is made up of the others.
fn orthonormal(columns: &DMatrix<f64>) -> Option<(DMatrix<f64>, DMatrix<f64>)> {
    let width = columns.ncols();
    if width == 0 {
        return Some((columns.clone(), DMatrix::zeros(0, 0)));
    }
    let norms: Vec<f64> = columns.column_iter().map(|column| column.norm()).collect();
    let triangle = columns.clone().qr().unpack_r();
    let told = (0..width).all(|it| triangle[(it, it)].abs() > NEW * norms[it].max(NEW));
    let turned = if told { triangle.solve_upper_triangular(&DMatrix::identity(width, width))? } else { return None };
    let basis = columns * &turned;
    Some((basis, turned))
}

/// The pairs of components whose coefficient the columns do not tell: it has a part in a direction of terms in which no
/// rating differs from another of its taster.
fn untold_pairs(columns: &DMatrix<f64>, hull: &Hull, model: Model) -> Vec<(usize, usize)> {
    /// A part less than this of the whole is rounding.
    const ROUNDING: f64 = 1e-5;
    if model != Model::Quadratic {
        return Vec::new();
    }
    let components = hull.shares(&vec![0.0; hull.dimensions()]).len();
    let products = columns.tr_mul(columns).symmetric_eigen();
    let largest = products.eigenvalues.max();
    let untold: Vec<usize> =
        (0..columns.ncols()).filter(|&it| products.eigenvalues[it] <= largest * NEW * NEW.sqrt()).collect();
    let untold = products.eigenvectors.select_columns(&untold);
    let terms = |some: &[usize]| DVector::from_vec(model.terms(&hull.coordinates(&shares_of(components, some))));
    pairs(components)
        .filter(|&(first, second)| {
            let beyond = terms(&[first, second]) * 4.0 - (terms(&[first]) + terms(&[second])) * 2.0;
            untold.tr_mul(&beyond).norm() > ROUNDING * beyond.norm()
        })
        .collect()
}
