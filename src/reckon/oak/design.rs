//! Which tastes hang together: of which sitting, of which filling of which barrel; and how they are weighed against each other.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::Observation;
use super::fit::{Information, Solved};

/// Where the sittings are taken out by steps, this much of them may be left.
const LEFT_OVER: f64 = 1e-13;
/// The most steps of that.
const MOST_STEPS: usize = 2_000;

/// Observations by sitting, filling and barrel, each numbered from nought without a gap.
#[derive(Clone, Debug, Default)]
pub(super) struct Design {
    sitting: Vec<usize>,
    filling: Vec<usize>,
    /// The barrel of a filling.
    barrel: Vec<usize>,
    /// How often a filling was observed.
    times: Vec<f64>,
    pub sittings: usize,
    pub barrels: usize,
}

/// Numbers things in the order in which they come.
#[derive(Default)]
struct Numbered(rustc_hash::FxHashMap<usize, usize>);

impl Numbered {
    fn of(&mut self, thing: usize) -> usize {
        let next = self.0.len();
        *self.0.entry(thing).or_insert(next)
    }
}

impl Design {
    pub fn of(seen: &[Observation]) -> Design {
        let (mut sittings, mut fillings, mut barrels) = <(Numbered, Numbered, Numbered)>::default();
        let mut design = Design::default();
        for one in seen {
            design.sitting.push(sittings.of(one.sitting));
            let filling = fillings.of(one.filling);
            design.filling.push(filling);
            if filling == design.times.len() {
                design.times.push(0.0);
                design.barrel.push(barrels.of(one.barrel));
            }
            design.times[filling] += 1.0;
        }
        (design.sittings, design.barrels) = (sittings.0.len(), barrels.0.len());
        design
    }

    pub fn observations(&self) -> usize {
        self.sitting.len()
    }

    pub fn fillings(&self) -> usize {
        self.times.len()
    }

    /// How often a filling was observed, in the mean.
    pub fn mean_times(&self) -> f64 {
        self.observations() as f64 / self.fillings().max(1) as f64
    }

    /// Whether barrels were observed in several fillings and these more than once, so that the one scatter is told from the other.
    pub fn tells_fillings_from_barrels(&self) -> bool {
        self.fillings() > self.barrels && self.tells_fillings_from_tastes()
    }

    /// Whether something was observed more than once.
    pub fn tells_fillings_from_tastes(&self) -> bool {
        self.observations() > self.fillings()
    }

    /// Whether a barrel was observed more than once, be it in several fillings.
    pub fn repeats_barrels(&self) -> bool {
        self.observations() > self.barrels
    }

    /// How many differences of barrels the sittings tell: those there are, less one for each part that was never tasted beside the others.
    pub fn differences_of_barrels(&self) -> usize {
        self.barrels - self.parts(self.barrels, |one| self.barrel[self.filling[one]])
    }

    /// The same of fillings.
    pub fn differences_of_fillings(&self) -> usize {
        self.fillings() - self.parts(self.fillings(), |one| self.filling[one])
    }

    /// Into how many parts things fall that share no sitting.
    fn parts(&self, things: usize, thing: impl Fn(usize) -> usize) -> usize {
        let mut above: Vec<usize> = (0..things + self.sittings).collect();
        for one in 0..self.observations() {
            let (its, sitting) = (top(&mut above, thing(one)), top(&mut above, things + self.sitting[one]));
            above[its] = sitting;
        }
        (0..above.len()).filter(|&one| above[one] == one).count()
    }

    /// Which part of what barrels scatter by stays with them from one filling to the next: the mean product of what two fillings of a barrel scored above
    /// their sittings and their kinds of oak, against the mean product of two tastes of one filling. By moments and plain means: where there are too many
    /// sittings for the likelihood.
    pub fn lasting_share(&self, values: &[f64], columns: &[Vec<f64>]) -> f64 {
        let sizes = self.spread(&self.by_sitting(&vec![1.0; self.observations()]));
        let centred = |column: &[f64]| -> Vec<f64> {
            let means = self.spread(&self.by_sitting(column));
            column.iter().zip(means.iter().zip(&sizes)).map(|(value, (sum, size))| value - sum / size).collect()
        };
        let (values, columns) = (centred(values), columns.iter().map(|it| centred(it)).collect::<Vec<_>>());
        let left = left_of(&values, &columns);
        // A mean over few takes a part of each with it.
        let whole: Vec<f64> = left.iter().zip(&sizes).map(|(left, size)| left * size / (size - 1.0).max(1.0)).collect();
        let (mut of_filling, mut squares) = (vec![0.0; self.fillings()], vec![0.0; self.fillings()]);
        for (&filling, left) in self.filling.iter().zip(&whole) {
            of_filling[filling] += left;
            squares[filling] += left * left;
        }
        let (mut of_barrel, mut times, mut within) = (vec![0.0; self.barrels], vec![0.0; self.barrels], [0.0, 0.0]);
        let mut across = [0.0, 0.0];
        for (filling, &barrel) in self.barrel.iter().enumerate() {
            let (sum, count) = (of_filling[filling], self.times[filling]);
            of_barrel[barrel] += sum;
            times[barrel] += count;
            within = [within[0] + sum * sum - squares[filling], within[1] + count * (count - 1.0)];
            across = [across[0] - sum * sum, across[1] - count * count];
        }
        for (sum, count) in of_barrel.iter().zip(&times) {
            across = [across[0] + sum * sum, across[1] + count * count];
        }
        let mean = |[sum, count]: [f64; 2]| if count > 0.0 { sum / count } else { 0.0 };
        let all = mean(within);
        if across[1] <= 0.0 || all <= 0.0 { 1.0 } else { (mean(across) / all).clamp(0.0, 1.0) }
    }

    /// The sums of a column by sitting.
    fn by_sitting(&self, column: &[f64]) -> DVector<f64> {
        let mut sums = DVector::zeros(self.sittings);
        self.sitting.iter().zip(column).for_each(|(&sitting, value)| sums[sitting] += value);
        sums
    }

    /// A value of each sitting, at each observation.
    fn spread(&self, of_sitting: &DVector<f64>) -> Vec<f64> {
        self.sitting.iter().map(|&sitting| of_sitting[sitting]).collect()
    }
}

/// The thing that stands for the part that one belongs to; the way there is made shorter.
fn top(above: &mut [usize], mut one: usize) -> usize {
    while above[one] != one {
        above[one] = above[above[one]];
        one = above[one];
    }
    one
}

/// What columns leave of values, by least squares.
fn left_of(values: &[f64], columns: &[Vec<f64>]) -> Vec<f64> {
    let dot = |one: &[f64], other: &[f64]| one.iter().zip(other).map(|(a, b)| a * b).sum::<f64>();
    let matrix = DMatrix::from_fn(columns.len(), columns.len(), |one, other| dot(&columns[one], &columns[other]));
    let sums = DVector::from_iterator(columns.len(), columns.iter().map(|column| dot(column, values)));
    let levels = Solved::of(&Information::only(matrix)).covariance * sums;
    let told = |at: usize| columns.iter().zip(levels.iter()).map(|(column, level)| column[at] * level).sum::<f64>();
    values.iter().enumerate().map(|(at, value)| value - told(at)).collect()
}

/// The variances of barrels and of their fillings, in units of one taste's.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Ratios {
    pub barrel: f64,
    pub filling: f64,
}

/// What observations weigh where those of a barrel hang together: the inverse of their covariance, in closed form.
pub(super) struct Weights<'a> {
    pub design: &'a Design,
    ratios: Ratios,
    /// By filling: 1 / (1 + ratio × times).
    held: Vec<f64>,
    /// By barrel: ratio / (1 + ratio × what its fillings weigh).
    shared: Vec<f64>,
    /// The logarithm of the determinant of the covariance.
    pub log_determinant: f64,
}

impl<'a> Weights<'a> {
    pub fn of(design: &'a Design, ratios: Ratios) -> Weights<'a> {
        let held: Vec<f64> = design.times.iter().map(|times| 1.0 / (1.0 + ratios.filling * times)).collect();
        let mut weighs = vec![0.0; design.barrels];
        for ((&barrel, times), held) in design.barrel.iter().zip(&design.times).zip(&held) {
            weighs[barrel] += times * held;
        }
        let log_determinant = weighs.iter().map(|weighs| (ratios.barrel * weighs).ln_1p()).sum::<f64>()
            - held.iter().map(|held| held.ln()).sum::<f64>();
        let shared = weighs.iter().map(|weighs| ratios.barrel / (1.0 + ratios.barrel * weighs)).collect();
        Weights { design, ratios, held, shared, log_determinant }
    }

    /// The inverse of the covariance, times a column.
    pub fn times(&self, column: &[f64]) -> Vec<f64> {
        let design = self.design;
        let mut of_filling = vec![0.0; design.fillings()];
        design.filling.iter().zip(column).for_each(|(&filling, value)| of_filling[filling] += value);
        let mut of_barrel = vec![0.0; design.barrels];
        for ((&barrel, sum), held) in design.barrel.iter().zip(&of_filling).zip(&self.held) {
            of_barrel[barrel] += sum * held;
        }
        for ((sum, held), &barrel) in of_filling.iter_mut().zip(&self.held).zip(&design.barrel) {
            *sum = held * (self.ratios.filling * *sum + self.shared[barrel] * of_barrel[barrel]);
        }
        design.filling.iter().zip(column).map(|(&filling, value)| value - of_filling[filling]).collect()
    }

    /// What the sittings' levels weigh, as a matrix.
    fn of_sittings(&self) -> DMatrix<f64> {
        let design = self.design;
        let mut seats: Vec<Vec<(usize, f64)>> = vec![Vec::new(); design.fillings()];
        let mut matrix = DMatrix::zeros(design.sittings, design.sittings);
        for (&sitting, &filling) in design.sitting.iter().zip(&design.filling) {
            matrix[(sitting, sitting)] += 1.0;
            match seats[filling].iter_mut().find(|(there, _)| *there == sitting) {
                Some((_, count)) => *count += 1.0,
                None => seats[filling].push((sitting, 1.0)),
            }
        }
        let mut take = |seats: &[(usize, f64)], factor: f64| {
            for &(one, count) in seats {
                for &(other, its) in seats {
                    matrix[(one, other)] -= factor * count * its;
                }
            }
        };
        let mut of_barrel: Vec<Vec<(usize, f64)>> = vec![Vec::new(); design.barrels];
        for ((seats, held), &barrel) in seats.iter().zip(&self.held).zip(&design.barrel) {
            take(seats, self.ratios.filling * held);
            of_barrel[barrel].extend(seats.iter().map(|&(sitting, count)| (sitting, count * held)));
        }
        of_barrel
            .iter()
            .zip(&self.shared)
            .filter(|(_, shared)| **shared > 0.0)
            .for_each(|(seats, &shared)| take(seats, shared));
        matrix
    }
}

/// How the sittings' own levels are taken out of a column.
pub(super) enum Sittings {
    /// By the factored matrix of what they weigh.
    Factored(Box<Cholesky<f64, Dyn>>),
    /// By steps, where there are too many of them for that.
    Stepped,
}

impl Sittings {
    /// The factored matrix; none where it cannot be factored.
    pub fn factored(weights: &Weights<'_>) -> Option<Sittings> {
        weights.of_sittings().cholesky().map(|it| Sittings::Factored(Box::new(it)))
    }

    /// The logarithm of the determinant of what they weigh; nothing is known of it where they are taken out by steps.
    pub fn log_determinant(&self) -> f64 {
        match self {
            Sittings::Factored(factor) => 2.0 * factor.l_dirty().diagonal().iter().map(|it| it.ln()).sum::<f64>(),
            Sittings::Stepped => f64::NAN,
        }
    }

    /// A column without the levels of the sittings.
    pub fn taken_out(&self, weights: &Weights<'_>, column: &[f64]) -> Vec<f64> {
        let sums = weights.design.by_sitting(&weights.times(column));
        let levels = match self {
            Sittings::Factored(factor) => factor.solve(&sums),
            Sittings::Stepped => solved_by_steps(weights, &sums),
        };
        column.iter().zip(weights.design.spread(&levels)).map(|(value, level)| value - level).collect()
    }
}

/// The levels of sittings by conjugate gradients (Hestenes and Stiefel 1952), each sitting scaled by its size.
fn solved_by_steps(weights: &Weights<'_>, sums: &DVector<f64>) -> DVector<f64> {
    let design = weights.design;
    let sizes = design.by_sitting(&vec![1.0; design.observations()]);
    let matrix_times = |levels: &DVector<f64>| design.by_sitting(&weights.times(&design.spread(levels)));
    let mut levels = DVector::zeros(design.sittings);
    let mut left = sums.clone();
    let mut scaled = left.component_div(&sizes);
    let mut direction = scaled.clone();
    let mut size = left.dot(&scaled);
    let enough = size * LEFT_OVER * LEFT_OVER;
    for _ in 0..MOST_STEPS {
        if size <= enough || size <= f64::MIN_POSITIVE {
            break;
        }
        let turned = matrix_times(&direction);
        let step = size / direction.dot(&turned);
        levels.axpy(step, &direction, 1.0);
        left.axpy(-step, &turned, 1.0);
        scaled = left.component_div(&sizes);
        let next = left.dot(&scaled);
        direction = &scaled + direction * (next / size);
        size = next;
    }
    levels
}
