//! How good the glasses of a design are as they are poured, and what rounding to the steps of a cylinder broke, in words.

use std::collections::{BTreeMap, HashSet};

use super::design::{Kind, Wanted};
use super::optimal::{Quality, candidates, quality};
use super::pour::UNSEEN;
use super::region::Region;
use super::spreading::{REFERENCE, allowed, reference};
use crate::units::{Shares, by_count, counted};

/// Below this part of the best there can be nothing is said of it: of few glasses it says little (our choice).
const WORTH_A_WORD: f64 = 0.5;

/// How good poured glasses are for the model that they were laid out for.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The name of the model.
    pub model: &'static str,
    /// How many terms it has.
    pub terms: usize,
    /// How they were laid out.
    pub kind: Kind,
    /// How many glasses there are.
    pub glasses: usize,
    /// How many of them are of a ratio that no other has.
    pub different: usize,
    /// In how much of the glass a ratio that is allowed differs from the nearest that is poured, at most.
    pub farthest: f64,
    /// How good they are; none where they cannot tell the terms apart.
    pub quality: Option<Quality>,
}

impl Judged {
    /// Judges glasses.
    #[must_use]
    pub fn of(region: &Region, wanted: &Wanted, poured: &[Shares]) -> Judged {
        let fractions: Vec<Vec<f64>> = poured.iter().map(Shares::fractions).collect();
        Judged {
            model: wanted.model.word(),
            terms: wanted.model.size(region.components()),
            kind: wanted.kind,
            glasses: poured.len(),
            different: poured.iter().collect::<HashSet<_>>().len(),
            farthest: farthest(region, &fractions, wanted.seed),
            quality: quality(region, wanted.model, &fractions, &candidates(region, wanted.seed)),
        }
    }

    /// What they are for, and how good they are for that, in a few sentences.
    #[must_use]
    pub fn words(&self) -> String {
        let good = if self.kind == Kind::Spread { self.words_of_spread() } else { self.words_of_model() };
        format!("{} {good}", self.kind.purpose())
    }

    fn words_of_spread(&self) -> String {
        let (glasses, different) = (counted(self.glasses, "glass"), self.different);
        let twice = match self.glasses - different {
            0 => String::new(),
            again => format!(", {again} of which {} twice to test the tasters", by_count(again, "stands", "stand")),
        };
        let part = rounded(self.farthest * 100.0, 0);
        format!(
            "{glasses} of {}{twice}. No ratio that is allowed differs from the nearest of them in more than {part} % of the glass.",
            counted(different, "different ratio")
        )
    }

    fn words_of_model(&self) -> String {
        let Judged { model, terms, glasses, quality, .. } = self;
        let Some(quality) = quality else {
            return format!("These glasses cannot tell the {terms} terms of a {model} model apart.");
        };
        let g_efficiency = rounded(quality.g_efficiency, 4);
        let at_least = rounded(quality.d_efficiency_at_least, 4);
        let best = format!(", at least {} % of the best there can be", rounded(at_least * 100.0, 0));
        format!(
            "{glasses} glasses for the {terms} terms of a {model} model. What is predicted has on average {} of the \
             variance of one taste (I), at worst {} (G {} %). D is {}{}.",
            significant(rounded(quality.average_variance, 6)),
            significant(*terms as f64 / (*glasses as f64 * g_efficiency)),
            rounded(g_efficiency * 100.0, 0),
            significant(quality.d),
            if at_least < WORTH_A_WORD { "" } else { &best },
        )
    }
}

/// In how much of the glass a blend that is allowed differs from the nearest that is poured, at most: half the sum of what its shares
/// differ by.
fn farthest(region: &Region, poured: &[Vec<f64>], seed: u64) -> f64 {
    let differ =
        |one: &[f64], other: &[f64]| one.iter().zip(other).map(|(one, other)| (one - other).abs()).sum::<f64>() / 2.0;
    let all = reference(&allowed(region, poured.len()), seed);
    let nearest = |blend: &Vec<f64>| poured.iter().map(|glass| differ(glass, blend)).fold(1.0, f64::min);
    all.iter().chain(region.corners().points().iter().take(REFERENCE)).map(nearest).fold(0.0, f64::max)
}

/// A number to about three digits that count, however small.
#[must_use]
pub fn significant(number: f64) -> String {
    if number >= 0.1 { rounded(number, 3).to_string() } else { format!("{number:.2e}") }
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = libm::pow(10.0, f64::from(decimals));
    // Nought has no sign.
    (value * scale).round() / scale + 0.0
}

/// The bounds and limits that rounding to the cylinder's steps broke, in words, with the glasses, numbered from 1.
#[must_use]
pub fn broken_by_rounding(region: &Region, poured: &[Shares]) -> BTreeMap<String, Vec<usize>> {
    let mut broken: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (number, shares) in (1..).zip(poured) {
        if let Some(words) = region.broken_by(&shares.fractions(), UNSEEN) {
            broken.entry(words).or_default().push(number);
        }
    }
    broken
}
