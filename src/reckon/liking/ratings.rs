//! What was rated, sitting by sitting: a sitting is a taster in a flight, whose own mean says nothing of the blends.

use std::collections::BTreeSet;

use nalgebra::{DMatrix, DVector};

use super::averaged::Averaged;
use crate::reckon::chance::Chance;

/// So many ratings that scatter like everybody's are thought of beside a taster's own when it is judged how these scatter.
const THOUGHT_OF: f64 = 8.0;

/// Scores that differ by less are the same.
const GRAIN: f64 = 1e-9;

/// A rating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rated {
    /// Who: a position among the tasters.
    pub taster: usize,
    /// In which flight.
    pub flight: usize,
    /// Of what: a position among the blends.
    pub blend: usize,
    /// The score: more is better.
    pub score: f64,
}

#[derive(Clone, Debug, PartialEq)]
struct Sitting {
    taster: usize,
    blends: Vec<usize>,
    scores: Vec<f64>,
}

/// The ratings, sitting by sitting.
#[derive(Clone, Debug, PartialEq)]
pub struct Ratings {
    sittings: Vec<Sitting>,
    blends: usize,
    tasters: usize,
}

/// What the ratings come to when each sitting's own mean is taken out.
#[derive(Clone, Debug, PartialEq)]
pub struct Sums {
    /// By how much each blend was liked more than its sittings were.
    pub more: DVector<f64>,
    /// How the ratings scatter about their sittings: a sum of squares.
    pub scatter: f64,
}

impl Ratings {
    /// Ratings of so many blends, in any order.
    #[must_use]
    pub fn new(ratings: &[Rated], blends: usize) -> Ratings {
        let mut sittings: Vec<((usize, usize), Sitting)> = Vec::new();
        for rated in ratings {
            let key = (rated.taster, rated.flight);
            let known = sittings.iter().position(|(other, _)| *other == key);
            let at = known.unwrap_or_else(|| {
                sittings.push((key, Sitting { taster: rated.taster, blends: Vec::new(), scores: Vec::new() }));
                sittings.len() - 1
            });
            let sitting = &mut sittings[at].1;
            sitting.blends.push(rated.blend);
            sitting.scores.push(rated.score);
        }
        let tasters = ratings.iter().map(|rated| rated.taster + 1).max().unwrap_or(0);
        Ratings { sittings: sittings.into_iter().map(|(_, sitting)| sitting).collect(), blends, tasters }
    }

    /// How many tasters there are.
    #[must_use]
    pub fn tasters(&self) -> usize {
        self.tasters
    }

    /// How many ratings there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.sittings.iter().map(|sitting| sitting.scores.len()).sum()
    }

    /// Degrees of freedom: a rating each, but for one of each sitting.
    #[must_use]
    pub fn freedom(&self) -> f64 {
        (self.count() - self.sittings.len()) as f64
    }

    /// The mean of all scores.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.sittings.iter().flat_map(|sitting| &sitting.scores).sum::<f64>() / self.count() as f64
    }

    /// Each blend's part of what a taster rates, in the mean over the tasters.
    #[must_use]
    pub fn parts(&self) -> Vec<f64> {
        let mut parts = vec![0.0; self.blends];
        for taster in 0..self.tasters {
            let own = || {
                self.sittings.iter().filter(move |sitting| sitting.taster == taster).flat_map(|sitting| &sitting.blends)
            };
            let count = own().count() as f64;
            own().for_each(|&blend| parts[blend] += 1.0 / count / self.tasters as f64);
        }
        parts
    }

    /// The blends that a taster liked best of all, by the mean of what was given to each.
    #[must_use]
    pub fn put_first(&self, taster: usize) -> Vec<usize> {
        let mut given = vec![(0.0, 0.0); self.blends];
        for sitting in self.sittings.iter().filter(|sitting| sitting.taster == taster) {
            for (&blend, score) in sitting.blends.iter().zip(&sitting.scores) {
                given[blend].0 += score;
                given[blend].1 += 1.0;
            }
        }
        let means: Vec<Option<f64>> = given.iter().map(|(sum, count)| (*count > 0.0).then(|| sum / count)).collect();
        let most = means.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
        (0..self.blends).filter(|&blend| means[blend].is_some_and(|mean| mean >= most)).collect()
    }

    /// How many blends a taster rated.
    #[must_use]
    pub fn blends_of(&self, taster: usize) -> usize {
        let own = self.sittings.iter().filter(|sitting| sitting.taster == taster).flat_map(|sitting| &sitting.blends);
        own.collect::<BTreeSet<_>>().len()
    }

    /// Whether every sitting gave all its glasses the same.
    #[must_use]
    pub fn is_level(&self) -> bool {
        self.sittings.iter().all(|sitting| sitting.scores.windows(2).all(|two| (two[0] - two[1]).abs() < GRAIN))
    }

    /// The logarithm of in how many different ways the scores could have been dealt among the glasses of their sittings.
    #[must_use]
    pub fn ways(&self) -> f64 {
        let factorial = |count: usize| (1..=count).map(|it| (it as f64).ln()).sum::<f64>();
        let of = |sitting: &Sitting| {
            let mut scores = sitting.scores.clone();
            scores.sort_by(f64::total_cmp);
            let tied = scores.chunk_by(|one, next| one.to_bits() == next.to_bits());
            factorial(scores.len()) - tied.map(|it| factorial(it.len())).sum::<f64>()
        };
        self.sittings.iter().map(of).sum()
    }

    /// Blend by blend, how often they were held against one another in a sitting, each taster counted by a weight.
    #[must_use]
    pub fn against(&self, weights: &[f64]) -> DMatrix<f64> {
        let mut against = DMatrix::zeros(self.blends, self.blends);
        for sitting in &self.sittings {
            let weight = weights[sitting.taster];
            for &one in &sitting.blends {
                against[(one, one)] += weight;
                for &other in &sitting.blends {
                    against[(one, other)] -= weight / sitting.blends.len() as f64;
                }
            }
        }
        against
    }

    /// What the ratings come to, each taster counted by a weight.
    #[must_use]
    pub fn sums(&self, weights: &[f64]) -> Sums {
        let (mut more, mut scatter) = (DVector::zeros(self.blends), 0.0);
        for sitting in &self.sittings {
            let weight = weights[sitting.taster];
            let mean = sitting.scores.iter().sum::<f64>() / sitting.scores.len() as f64;
            for (&blend, score) in sitting.blends.iter().zip(&sitting.scores) {
                more[blend] += weight * (score - mean);
                scatter += weight * (score - mean) * (score - mean);
            }
        }
        Sums { more, scatter }
    }

    /// Deals the scores of each sitting anew among its glasses.
    pub fn deal(&mut self, chance: &mut Chance) {
        self.sittings.iter_mut().for_each(|sitting| chance.shuffle(&mut sitting.scores));
    }

    /// All tasters counted alike.
    #[must_use]
    pub fn even(&self) -> Vec<f64> {
        vec![1.0; self.tasters]
    }

    /// How much each taster counts where it is judged whether the panel tells anything: the less, the more his scores scatter within their
    /// sittings. Dealing these anew changes nothing of it, so that the scores as they are stay one deal among others.
    #[must_use]
    pub fn by_scatter(&self) -> Vec<f64> {
        let mut own = vec![(0.0, 0.0, 0.0); self.tasters];
        for sitting in &self.sittings {
            let count = sitting.scores.len() as f64;
            let mean = sitting.scores.iter().sum::<f64>() / count;
            let (squares, freedom, ratings) = &mut own[sitting.taster];
            *squares += sitting.scores.iter().map(|score| (score - mean) * (score - mean)).sum::<f64>();
            *freedom += count - 1.0;
            *ratings += count;
        }
        let variances: Vec<f64> = own.iter().map(|(squares, freedom, _)| squares / freedom.max(1.0)).collect();
        let of_all = variances.iter().sum::<f64>() / self.tasters as f64;
        if of_all <= 0.0 {
            return self.even();
        }
        let weight = |((_, _, count), variance): (&(f64, f64, f64), &f64)| {
            of_all * (count + THOUGHT_OF) / (variance * count + THOUGHT_OF * of_all)
        };
        own.iter().zip(&variances).map(weight).collect()
    }

    /// How much each taster counts: the less, the more his ratings scatter about a surface of all.
    #[must_use]
    pub fn weights(&self, surface: &Averaged, blends: &[Vec<f64>]) -> Vec<f64> {
        if self.tasters < 2 {
            return self.even();
        }
        let liking: Vec<f64> = blends.iter().map(|blend| surface.liking(blend)).collect();
        let mut own = vec![(0.0, 0.0); self.tasters];
        for sitting in &self.sittings {
            let apart: Vec<f64> =
                sitting.blends.iter().zip(&sitting.scores).map(|(&blend, score)| score - liking[blend]).collect();
            let mean = apart.iter().sum::<f64>() / apart.len() as f64;
            let (squares, count) = &mut own[sitting.taster];
            *squares += apart.iter().map(|one| (one - mean) * (one - mean)).sum::<f64>();
            *count += apart.len() as f64;
        }
        let of_all = own.iter().map(|(squares, _)| squares).sum::<f64>() / self.count() as f64;
        if of_all <= 0.0 {
            return self.even();
        }
        let weight = |(squares, count): &(f64, f64)| of_all * (count + THOUGHT_OF) / (squares + THOUGHT_OF * of_all);
        own.iter().map(weight).collect()
    }
}
