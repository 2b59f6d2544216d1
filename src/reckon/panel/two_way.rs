//! Scores by glass and by taster: the two-way analysis of variance without interaction, missing cells by least squares.
//!
//! Each effect is judged after the other is taken out (adjusted sums of squares, "type II"). All sums are of deviations, so
//! that large scores lose no digits.

use thiserror::Error;

use super::contrasts::Contrasts;
use super::groups::Apart;
use super::probability::{LEVEL, f_tail, held_back, student_tails};

/// Scatter below this part of the whole is what arithmetic leaves over.
const NO_SCATTER: f64 = 1e-12;

/// One effect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// The sum of squares, the other effect taken out.
    pub squares: f64,
    /// Its degrees of freedom.
    pub degrees: usize,
    /// The mean square by that of the residual.
    pub f: f64,
    /// The probability that chance alone brings so great an F.
    pub p: f64,
}

/// The analysis.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoWay {
    /// Do the glasses differ?
    pub glass: Effect,
    /// Do the tasters' levels differ?
    pub taster: Effect,
    /// What neither explains: the sum of squares.
    pub residual_squares: f64,
    /// Its degrees of freedom.
    pub residual_degrees: usize,
    /// The score of each glass as if everybody had tasted it.
    pub adjusted: Vec<f64>,
    /// What is told apart, by Student's distribution, held back for the number of pairs (Holm).
    pub apart: Apart,
}

impl TwoWay {
    /// The residual's mean square.
    #[must_use]
    pub fn residual(&self) -> f64 {
        self.residual_squares / self.residual_degrees as f64
    }
}

/// Why scores can't be analysed so.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum NoTwoWay {
    /// Flights that never meet.
    #[error("The flights share no glasses, so that their scores can't be held against each other.")]
    Apart,
    /// As many unknowns as scores.
    #[error("There are too few scores to tell what is glass, what is taster and what is chance.")]
    TooFew,
    /// Nothing is left over to judge by.
    #[error("Glass and taster explain every score to the last digit, so that there is no scatter to judge by.")]
    NoScatter,
}

/// A score: taster, glass, points.
type Cell = (usize, usize, f64);

/// Analyses a row a taster of scores, in which each taster and each glass has at least one.
pub fn two_way(rows: &[Vec<Option<f64>>]) -> Result<TwoWay, NoTwoWay> {
    let glasses = rows.first().map_or(0, Vec::len);
    let given: Vec<Cell> = rows
        .iter()
        .enumerate()
        .flat_map(|(taster, row)| row.iter().enumerate().filter_map(move |(glass, it)| Some((taster, glass, (*it)?))))
        .collect();
    let unknowns = (rows.len() + glasses).saturating_sub(1);
    if rows.len() < 2 || glasses < 2 || given.len() <= unknowns {
        return Err(NoTwoWay::TooFew);
    }
    let tasted: Vec<Vec<usize>> =
        rows.iter().map(|row| (0..glasses).filter(|&glass| row[glass].is_some()).collect()).collect();
    let tasters: Vec<(&[usize], f64)> = tasted.iter().map(|tasted| (&tasted[..], 1.0)).collect();
    let contrasts = Contrasts::of(glasses, &tasters).ok_or(NoTwoWay::Apart)?;
    let grand = given.iter().map(|cell| cell.2).sum::<f64>() / given.len() as f64;
    let cells: Vec<Cell> = given.iter().map(|&(taster, glass, points)| (taster, glass, points - grand)).collect();
    let of_taster = means(&cells, rows.len(), |cell| cell.0);
    let of_glass = means(&cells, glasses, |cell| cell.1);
    let within: Vec<Cell> = cells.iter().map(|&(taster, glass, it)| (taster, glass, it - of_taster[taster])).collect();
    let mut sums = vec![0.0; glasses];
    for &(_, glass, it) in &within {
        sums[glass] += it;
    }
    let effects = contrasts.effects(&sums);
    let left: Vec<Cell> = within_of(&within, &effects, rows.len());
    let residual_squares = squares(&left);
    let residual_degrees = given.len() - unknowns;
    let total = squares(&cells);
    if residual_squares <= NO_SCATTER * total.max(f64::MIN_POSITIVE) {
        return Err(NoTwoWay::NoScatter);
    }
    let by_glass: f64 = cells.iter().map(|cell| of_glass[cell.1] * of_glass[cell.1]).sum();
    let residual = residual_squares / residual_degrees as f64;
    let effect = |squares: f64, degrees: usize| {
        let f = squares.max(0.0) / degrees as f64 / residual;
        Effect { squares: squares.max(0.0), degrees, f, p: f_tail(f, degrees, residual_degrees) }
    };
    let level = grand + level(&of_taster, &tasted, &effects);
    Ok(TwoWay {
        glass: effect(contrasts.explained(&sums), glasses - 1),
        taster: effect(total - by_glass - residual_squares, rows.len() - 1),
        residual_squares,
        residual_degrees,
        apart: apart(&effects, &contrasts, residual, residual_degrees),
        adjusted: effects.into_iter().map(|effect| level + effect).collect(),
    })
}

/// The mean of the cells of each taster, or of each glass.
fn means(cells: &[Cell], number: usize, of: impl Fn(&Cell) -> usize) -> Vec<f64> {
    let mut sums = vec![(0.0, 0_usize); number];
    for cell in cells {
        let sum = &mut sums[of(cell)];
        *sum = (sum.0 + cell.2, sum.1 + 1);
    }
    sums.into_iter().map(|(sum, count)| sum / count as f64).collect()
}

/// Deviations within tasters, less what the glasses explain of them.
fn within_of(within: &[Cell], effects: &[f64], tasters: usize) -> Vec<Cell> {
    let explained: Vec<Cell> = within.iter().map(|&(taster, glass, _)| (taster, glass, effects[glass])).collect();
    let mean = means(&explained, tasters, |cell| cell.0);
    let left = |&(taster, glass, it): &Cell| (taster, glass, it - (effects[glass] - mean[taster]));
    within.iter().map(left).collect()
}

fn squares(cells: &[Cell]) -> f64 {
    cells.iter().map(|cell| cell.2 * cell.2).sum()
}

/// The mean over tasters of their level, once it is known what they tasted.
fn level(of_taster: &[f64], tasted: &[Vec<usize>], effects: &[f64]) -> f64 {
    let own = |(mean, tasted): (&f64, &Vec<usize>)| {
        mean - tasted.iter().map(|&glass| effects[glass]).sum::<f64>() / tasted.len() as f64
    };
    of_taster.iter().zip(tasted).map(own).sum::<f64>() / of_taster.len() as f64
}

fn apart(effects: &[f64], contrasts: &Contrasts, residual: f64, degrees: usize) -> Apart {
    let pairs: Vec<(usize, usize)> =
        (0..effects.len()).flat_map(|other| (0..other).map(move |one| (one, other))).collect();
    let tails = |&(one, other): &(usize, usize)| {
        student_tails((effects[one] - effects[other]) / libm::sqrt(residual * contrasts.variance(one, other)), degrees)
    };
    let held = held_back(&pairs.iter().map(tails).collect::<Vec<_>>());
    let mut apart = Apart::nothing(effects.len());
    pairs.iter().zip(held).filter(|(_, held)| *held <= LEVEL).for_each(|(&(one, other), _)| apart.tell(one, other));
    apart
}

#[cfg(test)]
pub(super) mod samples {
    //! Scores for tests.

    /// Nine judges by row, ten red wines, 2012: the R package rethinking, data Wines2012.
    pub const WINE_PANEL: &str = "14 16 11 16 14 15 13 11 10 15|19 18 8 15 15 12 15 16 7 17|\
        15 19.5 14 12 13 16 14.5 15 16 16|15 11 12 16 14 11 14.5 13 10 14.5|17.5 19 18 18 15 16 18 18 17 17.5|\
        13 14 17 16 15 17 14 15.5 13 18|10 17 9 14 19 12 15 10 11 18|13 17 13 16 12 15 10 12 8 11|\
        14 11 16 12 14 13 14 12 13 11";
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::rows;
    use super::samples::WINE_PANEL;
    use super::*;
    use crate::reckon::chance::Chance;

    fn near(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() < within, "{found} is not {expected}");
    }

    /// statsmodels 0.14 (`anova_lm`, type 2) of the same scores.
    #[test]
    fn a_complete_wine_panel() {
        let found = two_way(&rows(WINE_PANEL)).unwrap();
        near(found.glass.squares, 114.902_778, 1e-6);
        near(found.glass.f, 2.326_425, 1e-6);
        near(found.glass.p, 0.023_207, 1e-6);
        near(found.taster.squares, 180.322_222, 1e-6);
        near(found.taster.p, 0.000_447, 1e-6);
        near(found.residual_squares, 395.122_222, 1e-6);
        assert_eq!((found.glass.degrees, found.taster.degrees, found.residual_degrees), (9, 8, 72));
        near(found.adjusted[0], 130.5 / 9.0, 1e-9);
    }

    /// The same without five cells, again by statsmodels: differences of glasses from its coefficients.
    #[test]
    fn missing_cells_by_least_squares() {
        let mut rows = rows(WINE_PANEL);
        for (taster, glass) in [(0, 0), (1, 3), (4, 9), (7, 2), (8, 8)] {
            rows[taster][glass] = None;
        }
        let found = two_way(&rows).unwrap();
        near(found.glass.squares, 125.587_842, 1e-6);
        near(found.glass.f, 2.438_928, 1e-6);
        near(found.glass.p, 0.018_271, 1e-6);
        near(found.taster.squares, 184.530_898, 1e-6);
        near(found.taster.f, 4.031_559, 1e-6);
        near(found.residual_squares, 383.337_158, 1e-6);
        assert_eq!(found.residual_degrees, 67);
        near(found.adjusted[1] - found.adjusted[0], 1.355_047, 1e-6);
        near(found.adjusted[8] - found.adjusted[0], -3.161_972, 1e-6);
    }

    #[test]
    fn what_cannot_be_analysed_says_why() {
        for (text, why) in [
            ("12 14 15", NoTwoWay::TooFew),
            ("12 14|13 - ", NoTwoWay::TooFew),
            ("12 14 - -|13 12 - -|- - 12 13|- - 14 12|- - 14 17|12 13 - -", NoTwoWay::Apart),
            ("12 14 15|13 15 16|10 12 13", NoTwoWay::NoScatter),
            ("12 12 12|12 12 12|12 12 12", NoTwoWay::NoScatter),
        ] {
            assert_eq!(two_way(&rows(text)).unwrap_err(), why, "{text}");
        }
    }

    /// By chance alone about one table in twenty is told, whatever is missing; a planted glass is found.
    #[test]
    fn chance_alone_is_seldom_told_and_a_planted_glass_is() {
        let mut chance = Chance::from_seed(4);
        let mut told = |rise: f64| {
            let mut found = 0_u32;
            let mut apart = 0_u32;
            for _ in 0..1_000 {
                let mut cell = |glass: usize| {
                    let normal = (0..12).map(|_| chance.fraction()).sum::<f64>() - 6.0;
                    let score = 14.0 + normal + if glass == 0 { rise } else { 0.0 };
                    (chance.fraction() < 0.85).then_some(score)
                };
                let rows: Vec<Vec<Option<f64>>> = (0..8).map(|_| (0..6).map(&mut cell).collect()).collect();
                let analysis = two_way(&rows).unwrap();
                found += u32::from(analysis.glass.p <= LEVEL);
                apart += u32::from(analysis.apart.any());
            }
            (f64::from(found) / 1_000.0, f64::from(apart) / 1_000.0)
        };
        let (alone, pairs) = told(0.0);
        assert!((0.035..=0.065).contains(&alone) && pairs <= 0.065, "{alone} {pairs}");
        let power = told(2.5).0;
        assert!(power > 0.9, "{power}");
    }
}
