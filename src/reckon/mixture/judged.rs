//! How good the glasses of a design are as they are poured, and what rounding to the steps of a cylinder broke, in words.

use std::collections::BTreeMap;

use super::design::Wanted;
use super::optimal::{Quality, candidates, quality};
use super::pour::UNSEEN;
use super::region::Region;
use crate::units::Shares;

/// Below this part of the best there can be nothing is said of it: of few glasses it says little (our choice).
const WORTH_A_WORD: f64 = 0.5;

/// How good poured glasses are for the model that they were laid out for.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The name of the model.
    pub model: &'static str,
    /// How many terms it has.
    pub terms: usize,
    /// How many glasses there are.
    pub glasses: usize,
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
            glasses: poured.len(),
            quality: quality(region, wanted.model, &fractions, &candidates(region, wanted.seed)),
        }
    }

    /// That in a sentence or two.
    #[must_use]
    pub fn words(&self) -> String {
        let Judged { model, terms, glasses, quality } = self;
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
