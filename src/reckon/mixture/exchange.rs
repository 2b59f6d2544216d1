//! One try at a good choice: a start of chance, then exchanges of a glass for a candidate as long as any helps.
//!
//! The start adds the candidate whose prediction is least certain again and again, after some of chance (Galil and Kiefer
//! 1980). Then, glass by glass, the candidate is put in its place that helps the most (the modified Fedorov exchange of Cook
//! and Nachtsheim, "A comparison of algorithms for constructing exact D-optimal designs", Technometrics 1980; Fedorov,
//! "Theory of optimal experiments", 1972). With A the inverse of X'X, d(a, b) = a'Ab and W the mean of the products of terms
//! over the region, exchanging i for j multiplies the determinant by (1 + d(j,j))(1 − d(i,i)) + d(i,j)², and takes from the
//! mean variance, tr AW, what `relief` says.

use super::basis::Basis;
use super::matrix::{Square, add_times, dot};
use super::optimal::Criterion;
use crate::reckon::chance::Chance;

/// What a start counts as known before the first glass, in glasses spread like the candidates.
const RIDGE: f64 = 1e-6;
/// An exchange must help by more than this part, or roundings would go round in circles.
const HELPS: f64 = 1e-9;
/// More rounds through all glasses are never needed by far.
const MOST_ROUNDS: usize = 100;

/// The candidates in a basis.
pub struct Field<'a> {
    pub basis: &'a Basis<'a>,
    pub criterion: Criterion,
    /// The terms of each candidate.
    pub terms: Vec<Vec<f64>>,
    /// The same, by term: a product with all candidates goes along these, many at a time.
    by_term: Vec<Vec<f64>>,
}

impl<'a> Field<'a> {
    pub fn new(basis: &'a Basis<'a>, criterion: Criterion, candidates: &[Vec<f64>]) -> Field<'a> {
        let terms: Vec<Vec<f64>> = candidates.iter().map(|candidate| basis.terms(candidate)).collect();
        let by_term = (0..basis.size()).map(|at| terms.iter().map(|terms| terms[at]).collect()).collect();
        Field { basis, criterion, terms, by_term }
    }

    /// The product of a vector with the terms of each candidate.
    fn with_all(&self, vector: &[f64]) -> Vec<f64> {
        let mut products = vec![0.0; self.terms.len()];
        self.by_term.iter().zip(vector).for_each(|(column, factor)| add_times(&mut products, *factor, column));
        products
    }
}

/// A choice that is being bettered.
pub struct Attempt<'a> {
    field: &'a Field<'a>,
    /// The terms of glasses that stay.
    fixed: &'a [Vec<f64>],
    /// The candidates that are chosen.
    pub chosen: Vec<usize>,
    known: Known,
}

/// What a choice tells.
struct Known {
    /// A: the inverse of X'X.
    inverse: Square,
    /// AWA; empty where only the determinant is asked for.
    weighed: Option<Square>,
    /// d(j, j) of each candidate.
    variances: Vec<f64>,
    /// The same of AWA.
    weights: Vec<f64>,
}

impl Known {
    fn of(field: &Field<'_>, inverse: Square) -> Known {
        let square = |matrix: &Square| field.terms.iter().map(|terms| dot(&matrix.times(terms), terms)).collect();
        let weighed =
            (field.criterion == Criterion::Average).then(|| inverse.product(&field.basis.moments).product(&inverse));
        let weights = weighed.as_ref().map_or(Vec::new(), square);
        Known { variances: square(&inverse), inverse, weighed, weights }
    }

    /// Puts a glass in (`sign` 1) or takes one out (−1).
    fn change(&mut self, field: &Field<'_>, glass: &[f64], sign: f64) {
        let along = self.inverse.times(glass);
        let factor = sign / (1.0 + sign * dot(glass, &along));
        let covariances = field.with_all(&along);
        if let Some(weighed) = &mut self.weighed {
            let across = weighed.times(glass);
            let weight = dot(glass, &across);
            let crossed = field.with_all(&across);
            for ((own, covariance), crossed) in self.weights.iter_mut().zip(&covariances).zip(&crossed) {
                *own += factor * covariance * (factor * weight * covariance - 2.0 * crossed);
            }
            weighed.add_product(-factor, &along, &across);
            weighed.add_product(-factor, &across, &along);
            weighed.add_product(factor * factor * weight, &along, &along);
        }
        for (own, covariance) in self.variances.iter_mut().zip(&covariances) {
            *own -= factor * covariance * covariance;
        }
        self.inverse.add_product(-factor, &along, &along);
    }
}

impl<'a> Attempt<'a> {
    /// A start: so many candidates, the first of chance, the others where least is known. None where glasses of such a number
    /// cannot tell all terms apart.
    pub fn start(
        field: &'a Field<'a>,
        fixed: &'a [Vec<f64>],
        count: usize,
        of_chance: usize,
        chance: &mut Chance,
    ) -> Option<Attempt<'a>> {
        let size = field.basis.size();
        let ridge = Square::from_fn(size, |row, column| if row == column { 1.0 / RIDGE } else { 0.0 });
        let variances = field.terms.iter().map(|terms| dot(terms, terms) / RIDGE).collect();
        let mut known = Known { inverse: ridge, weighed: None, variances, weights: Vec::new() };
        for glass in fixed {
            known.change(field, glass, 1.0);
        }
        let mut chosen = Vec::with_capacity(count);
        for number in 0..count {
            let next = if number < of_chance { chance.below(field.terms.len()) } else { largest(&known.variances)?.0 };
            known.change(field, &field.terms[next], 1.0);
            chosen.push(next);
        }
        let mut attempt = Attempt { field, fixed, chosen, known };
        attempt.reckon_anew()?;
        Some(attempt)
    }

    /// The terms of all glasses.
    pub fn glasses(&self) -> impl Iterator<Item = &[f64]> {
        let chosen = self.chosen.iter().map(|&at| self.field.terms[at].as_slice());
        self.fixed.iter().map(Vec::as_slice).chain(chosen)
    }

    /// Rids what is known of the roundings of many changes.
    fn reckon_anew(&mut self) -> Option<()> {
        let information = Square::of_products(self.field.basis.size(), self.glasses());
        self.known = Known::of(self.field, information.triangle().ok()?.inverse());
        Some(())
    }

    /// Exchanges until none helps any more (true) or `stop` says so (false).
    pub fn improve(&mut self, stop: &dyn Fn() -> bool) -> bool {
        for _ in 0..MOST_ROUNDS {
            let mut changed = false;
            for place in 0..self.chosen.len() {
                if stop() {
                    return false;
                }
                changed |= self.exchange(place);
            }
            if !changed || self.reckon_anew().is_none() {
                break;
            }
        }
        true
    }

    /// Exchanges one glass for the candidate that helps the most, if any does.
    fn exchange(&mut self, place: usize) -> bool {
        let field = self.field;
        let old = self.chosen[place];
        let covariances = field.with_all(&self.known.inverse.times(&field.terms[old]));
        let growth = |at: usize| {
            (1.0 + self.known.variances[at]) * (1.0 - self.known.variances[old]) + covariances[at] * covariances[at]
        };
        let helps: Vec<f64> = match &self.known.weighed {
            None => (0..field.terms.len()).map(|at| growth(at) - 1.0).collect(),
            Some(weighed) => {
                let crossed = field.with_all(&weighed.times(&field.terms[old]));
                let mean = self.known.inverse.dot(&field.basis.moments);
                (0..field.terms.len())
                    .map(|at| self.relief(old, at, growth(at), covariances[at], crossed[at]) / mean)
                    .collect()
            }
        };
        let Some((new, _)) = largest(&helps).filter(|(_, help)| *help > HELPS) else { return false };
        self.known.change(field, &field.terms[new], 1.0);
        self.known.change(field, &field.terms[old], -1.0);
        self.chosen[place] = new;
        true
    }

    /// By how much the mean variance falls when a glass is exchanged.
    fn relief(&self, old: usize, new: usize, growth: f64, covariance: f64, crossed: f64) -> f64 {
        // An exchange that leaves terms that cannot be told apart helps nobody.
        if growth < HELPS {
            return f64::NEG_INFINITY;
        }
        let known = &self.known;
        let fall = (1.0 - known.variances[old]) * known.weights[new] + 2.0 * covariance * crossed
            - (1.0 + known.variances[new]) * known.weights[old];
        fall / growth
    }
}

/// The largest of some values, the first where several are alike.
fn largest(values: &[f64]) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    for (at, &value) in values.iter().enumerate() {
        if best.is_none_or(|(_, most)| value > most) {
            best = Some((at, value));
        }
    }
    best
}
