//! The ratings of a tasting, gathered by blend and taster.

use super::{NoSurface, Question, Scale};
use crate::reckon::liking::normal_scores;

/// Shares nearer to each other than this are the same blend: the millionth to which shares are kept, and its rounding.
const SAME_SHARE: f64 = 2e-6;
/// A glass is a whole if its shares sum to one so nearly.
const WHOLE_WITHIN: f64 = 1e-4;
/// Scores that differ by less than this part of the largest differ by roundings only.
const GRAIN: f64 = 1e-9;

/// One rating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Who rated, among those who rated anything.
    pub taster: usize,
    /// In which of the taster's flights.
    pub flight: usize,
    /// Which blend, among those that were rated.
    pub blend: usize,
    /// What was given.
    pub score: f64,
}

/// All ratings. Glasses of the same blend (hidden repeats) are one blend here.
#[derive(Clone, Debug, PartialEq)]
pub struct Tasting {
    /// How many components a blend has.
    pub components: usize,
    /// The blends that were rated: fractions that sum to one.
    pub blends: Vec<Vec<f64>>,
    /// Which blend each glass of the question holds; none of a glass that nobody rated.
    pub blend_of_glass: Vec<Option<usize>>,
    /// Which taster of the question each taster here is.
    pub tasters: Vec<usize>,
    /// The ratings.
    pub rows: Vec<Row>,
    /// How many ratings each taster gave.
    pub ratings_by: Vec<usize>,
    /// The mean score of each taster.
    pub means: Vec<f64>,
    /// The squares of the scores' distances from their taster's mean, summed: what the blends could explain.
    pub total: f64,
    /// What is less than this, as a mean square, is rounding.
    pub grain: f64,
}

impl Tasting {
    /// Gathers what was rated, ranks as normal scores, or says what is wrong with it.
    pub fn of(question: &Question) -> Result<Tasting, NoSurface> {
        match question.scale {
            Scale::Scores => Tasting::gather(question),
            Scale::Ranks => {
                Tasting::gather(&Question { ratings: normal_scores(&question.ratings), ..question.clone() })
            }
        }
    }

    fn gather(question: &Question) -> Result<Tasting, NoSurface> {
        let components = question.components.len();
        let glasses = question.glasses.iter().enumerate().map(|(glass, parts)| whole(glass, parts, components));
        let glasses: Vec<Vec<f64>> = glasses.collect::<Result<_, _>>()?;
        let mut tasting = Tasting {
            components,
            blends: Vec::new(),
            blend_of_glass: vec![None; glasses.len()],
            tasters: Vec::new(),
            rows: Vec::with_capacity(question.ratings.len()),
            ratings_by: Vec::new(),
            means: Vec::new(),
            total: 0.0,
            grain: 0.0,
        };
        for rating in &question.ratings {
            let Some(parts) = glasses.get(rating.glass) else { return Err(NoSurface::UnknownGlass(rating.glass + 1)) };
            if rating.taster >= question.tasters.len() {
                return Err(NoSurface::UnknownTaster(rating.taster + 1));
            }
            if !rating.score.is_finite() {
                return Err(NoSurface::Score(rating.score));
            }
            let blend = tasting.blend(rating.glass, parts);
            let taster = tasting.taster(rating.taster);
            tasting.rows.push(Row { taster, flight: rating.flight, blend, score: rating.score });
        }
        tasting.sum_up();
        tasting.refuse_what_says_nothing()?;
        Ok(tasting)
    }

    fn blend(&mut self, glass: usize, parts: &[f64]) -> usize {
        if let Some(blend) = self.blend_of_glass[glass] {
            return blend;
        }
        let same = |blend: &Vec<f64>| blend.iter().zip(parts).all(|(one, other)| (one - other).abs() <= SAME_SHARE);
        let blend = self.blends.iter().position(same).unwrap_or_else(|| {
            self.blends.push(parts.to_vec());
            self.blends.len() - 1
        });
        self.blend_of_glass[glass] = Some(blend);
        blend
    }

    fn taster(&mut self, asked: usize) -> usize {
        self.tasters.iter().position(|&taster| taster == asked).unwrap_or_else(|| {
            self.tasters.push(asked);
            self.tasters.len() - 1
        })
    }

    fn sum_up(&mut self) {
        self.ratings_by = vec![0; self.tasters.len()];
        let mut sums = vec![0.0; self.tasters.len()];
        for row in &self.rows {
            self.ratings_by[row.taster] += 1;
            sums[row.taster] += row.score;
        }
        self.means = sums.iter().zip(&self.ratings_by).map(|(sum, &count)| sum / count as f64).collect();
        self.total = self.rows.iter().map(|row| (row.score - self.means[row.taster]).powi(2)).sum();
        let largest = self.rows.iter().fold(1e-3_f64, |largest, row| largest.max(row.score.abs()));
        self.grain = (GRAIN * largest).powi(2);
    }

    fn refuse_what_says_nothing(&self) -> Result<(), NoSurface> {
        if self.rows.is_empty() {
            return Err(NoSurface::NoRatings);
        }
        if self.blends.len() < 2 {
            return Err(NoSurface::OneBlend);
        }
        if self.ratings_by.iter().all(|&count| count < 2) {
            return Err(NoSurface::OneGlassEach);
        }
        if self.total <= self.grain * self.rows.len() as f64 {
            return Err(NoSurface::AllAlike);
        }
        Ok(())
    }

    /// The tasters who gave two or more glasses and all of them the same score.
    #[must_use]
    pub fn constant_tasters(&self) -> Vec<usize> {
        let spread = |taster: usize| {
            let scores = self.rows.iter().filter(|row| row.taster == taster).map(|row| row.score);
            scores.fold(0.0_f64, |most, score| most.max((score - self.means[taster]).abs()))
        };
        let constant = |&taster: &usize| self.ratings_by[taster] > 1 && spread(taster).powi(2) <= self.grain;
        (0..self.tasters.len()).filter(constant).collect()
    }

    /// For each taster the mean over his ratings of what each blend has: a row for a taster, a column for a value.
    pub fn means_by_taster(&self, of_blend: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let width = of_blend.first().map_or(0, Vec::len);
        let mut means = vec![vec![0.0; width]; self.tasters.len()];
        for row in &self.rows {
            let share = 1.0 / self.ratings_by[row.taster] as f64;
            for (mean, value) in means[row.taster].iter_mut().zip(&of_blend[row.blend]) {
                *mean += value * share;
            }
        }
        means
    }

    /// The positions of the ratings of each blend.
    #[must_use]
    pub fn rows_by_blend(&self) -> Vec<Vec<usize>> {
        let mut rows = vec![Vec::new(); self.blends.len()];
        for (position, row) in self.rows.iter().enumerate() {
            rows[row.blend].push(position);
        }
        rows
    }
}

/// The shares of a glass, made to sum to one exactly.
fn whole(glass: usize, parts: &[f64], components: usize) -> Result<Vec<f64>, NoSurface> {
    let sum: f64 = parts.iter().sum();
    let fine = parts.len() == components && parts.iter().all(|&part| part >= 0.0) && (sum - 1.0).abs() <= WHOLE_WITHIN;
    if !fine {
        return Err(NoSurface::NoMixture(glass + 1));
    }
    Ok(parts.iter().map(|part| part / sum).collect())
}
