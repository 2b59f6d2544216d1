//! The fit: the sittings taken out, what the levels of oak differ by, and the variances by restricted maximum likelihood.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::design::{Design, Ratios, Sittings, Weights};

/// What lies below this part of the largest is nought: a difference that the sittings never told.
const NOUGHT: f64 = 1e-9;
/// The ends of what is believed of a ratio are as good as nought and as good as without end: ratio / (1 + ratio) up to this.
const MOST_OF_ALL: f64 = 0.9995;
/// Where the search for a ratio begins: so many steps over all that may be, then so many golden cuts.
const COARSE_STEPS: usize = 8;
const GOLDEN_CUTS: usize = 14;
/// How often the size of the scatter and how barrels and fillings share in it are searched in turn.
const MOST_TURNS: usize = 4;
/// Where a turn betters the likelihood by less than this, it was the last.
const NO_BETTER: f64 = 1e-5;

/// What the levels of oak tell, in units of one taste's variance.
pub(super) struct Information {
    /// How closely differences of levels are known: the inverse of their covariance.
    pub matrix: DMatrix<f64>,
    /// What each level scored above its sittings, weighed.
    pub sums: DVector<f64>,
    /// The scatter of the scores about their sittings, weighed.
    pub scatter: f64,
    /// What the likelihood has of determinants but that of the matrix.
    log_determinants: f64,
}

impl Information {
    /// Of values and the columns that say which level each had.
    pub fn of(weights: &Weights<'_>, sittings: &Sittings, values: &[f64], columns: &[Vec<f64>]) -> Information {
        let swept = |column: &[f64]| sittings.taken_out(weights, column);
        let values = swept(values);
        let weighed = weights.times(&values);
        let columns: Vec<Vec<f64>> = columns.iter().map(|column| swept(column)).collect();
        let dot = |one: &[f64], other: &[f64]| one.iter().zip(other).map(|(a, b)| a * b).sum::<f64>();
        let mut matrix = DMatrix::zeros(columns.len(), columns.len());
        for (place, column) in columns.iter().enumerate() {
            let its = weights.times(column);
            for (other, there) in columns.iter().enumerate().take(place + 1) {
                matrix[(place, other)] = dot(&its, there);
                matrix[(other, place)] = matrix[(place, other)];
            }
        }
        let sums = DVector::from_iterator(columns.len(), columns.iter().map(|column| dot(column, &weighed)));
        let log_determinants = weights.log_determinant + sittings.log_determinant();
        Information { matrix, sums, scatter: dot(&values, &weighed), log_determinants }
    }

    /// What differences a matrix tells, with nothing observed.
    pub fn only(matrix: DMatrix<f64>) -> Information {
        let sums = DVector::zeros(matrix.nrows());
        Information { matrix, sums, scatter: 0.0, log_determinants: 0.0 }
    }
}

/// What levels differ by: the information turned round, as far as it goes.
pub(super) struct Solved {
    /// The covariance, in units of one taste's variance. What was never told is in none of it.
    pub covariance: DMatrix<f64>,
    /// The levels.
    pub levels: DVector<f64>,
    /// The directions of which nothing is told.
    untold: DMatrix<f64>,
    /// How many differences are told.
    pub rank: usize,
    /// The scatter that is left.
    pub left: f64,
    log_determinant: f64,
}

impl Solved {
    pub fn of(information: &Information) -> Solved {
        let size = information.matrix.nrows();
        if size == 0 {
            let (covariance, untold) = (DMatrix::zeros(0, 0), DMatrix::zeros(0, 0));
            let (levels, left) = (DVector::zeros(0), information.scatter);
            return Solved { covariance, levels, untold, rank: 0, left, log_determinant: 0.0 };
        }
        let SymmetricEigen { eigenvalues, eigenvectors } = SymmetricEigen::new(information.matrix.clone());
        let largest = eigenvalues.iter().copied().fold(0.0, f64::max);
        let is_told = |value: f64| value > NOUGHT * largest && largest > NOUGHT;
        let mut covariance = DMatrix::zeros(size, size);
        let (mut rank, mut log_determinant, mut untold) = (0, 0.0, Vec::new());
        for (value, vector) in eigenvalues.iter().zip(eigenvectors.column_iter()) {
            if is_told(*value) {
                covariance += vector * vector.transpose() / *value;
                (rank, log_determinant) = (rank + 1, log_determinant + value.ln());
            } else {
                untold.push(vector.into_owned());
            }
        }
        let untold = if untold.is_empty() { DMatrix::zeros(size, 0) } else { DMatrix::from_columns(&untold) };
        let levels = &covariance * &information.sums;
        let left = (information.scatter - information.sums.dot(&levels)).max(0.0);
        Solved { covariance, levels, untold, rank, left, log_determinant }
    }

    /// Whether a contrast of levels is told at all.
    pub fn tells(&self, contrast: &DVector<f64>) -> bool {
        (self.untold.transpose() * contrast).norm() < 1e-6 * contrast.norm()
    }

    /// A contrast's value and its variance in units of one taste's.
    pub fn contrast(&self, contrast: &DVector<f64>) -> (f64, f64) {
        (self.levels.dot(contrast), contrast.dot(&(&self.covariance * contrast)).max(0.0))
    }
}

/// The variances that the restricted likelihood (Patterson and Thompson 1971) is greatest at, with the one of a single taste taken out of it in
/// closed form: a search over the ratio of all that barrels share to it, and over how barrels and their fillings share in that.
pub(super) fn ratios(design: &Design, values: &[f64], columns: &[Vec<f64>]) -> Ratios {
    if !design.repeats_barrels() {
        return Ratios::default();
    }
    let splits = design.tells_fillings_from_barrels();
    let criterion = |whole: f64, share: f64| {
        let all = whole / (1.0 - whole);
        likelihood(design, Ratios { barrel: all * share, filling: all * (1.0 - share) }, values, columns)
    };
    let mut share = 1.0;
    let (mut whole, mut best) = least(MOST_OF_ALL, |whole| criterion(whole, share));
    for _ in 0..if splits { MOST_TURNS } else { 0 } {
        let before = best;
        share = least(1.0, |share| criterion(whole, share)).0;
        (whole, best) = least(MOST_OF_ALL, |whole| criterion(whole, share));
        if before - best < NO_BETTER {
            break;
        }
    }
    let all = whole / (1.0 - whole);
    Ratios { barrel: all * share, filling: all * (1.0 - share) }
}

/// Minus twice the logarithm of the restricted likelihood at ratios, but for what does not hang on them.
fn likelihood(design: &Design, ratios: Ratios, values: &[f64], columns: &[Vec<f64>]) -> f64 {
    let weights = Weights::of(design, ratios);
    let Some(sittings) = Sittings::factored(&weights) else { return f64::INFINITY };
    let information = Information::of(&weights, &sittings, values, columns);
    let solved = Solved::of(&information);
    let freedom = design.observations().saturating_sub(design.sittings + solved.rank);
    information.log_determinants + solved.log_determinant + freedom as f64 * solved.left.max(f64::MIN_POSITIVE).ln()
}

/// Where a function is least between nought and an end, and how much it is there; the ends themselves count.
fn least(end: f64, of: impl Fn(f64) -> f64) -> (f64, f64) {
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let coarse: Vec<(f64, f64)> = (0..=COARSE_STEPS)
        .map(|step| end * step as f64 / COARSE_STEPS as f64)
        .map(|place| (place, of(place)))
        .collect();
    let lowest = |one: &(f64, f64), other: &(f64, f64)| one.1.total_cmp(&other.1);
    let best = coarse.iter().copied().min_by(lowest).unwrap_or((0.0, f64::INFINITY));
    let width = end / COARSE_STEPS as f64;
    let (mut low, mut high) = ((best.0 - width).max(0.0), (best.0 + width).min(end));
    let cuts = |low: f64, high: f64| (high - golden * (high - low), low + golden * (high - low));
    let (one, other) = cuts(low, high);
    let (mut one, mut other) = ((one, of(one)), (other, of(other)));
    for _ in 0..GOLDEN_CUTS {
        if one.1 <= other.1 {
            (high, other) = (other.0, one);
            let place = cuts(low, high).0;
            one = (place, of(place));
        } else {
            (low, one) = (one.0, other);
            let place = cuts(low, high).1;
            other = (place, of(place));
        }
    }
    [one, other, best].into_iter().min_by(lowest).unwrap_or(best)
}
