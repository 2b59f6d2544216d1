//! The second of two sittings: a trial of the wines of an earlier one, whose glasses are laid out from what was said of that, while its
//! key may still be sealed. Nothing of the key is told: whoever sets it learns codes only.

use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::views::bench::laying_out::{NoLayout, TrialAsked};
use crate::reckon::liking::{Rated, Ratings};
use crate::reckon::mixture::design::Kind;
use crate::reckon::mixture::{region_of_words, steps};
use crate::reckon::second_sitting::{First, usual_count};
use crate::units::Shares;

impl State {
    /// What a second sitting after a trial is to be: its wines, bounds, limits and panel unless others are said, and glasses by what was
    /// said of its own.
    pub fn second_sitting(&self, first: &Trial, mut asked: TrialAsked) -> Result<TrialAsked, NoLayout> {
        let labels = first.components().iter().map(|it| self.vessels.get(it.vessel).label.clone());
        let names: Vec<String> = first.components().iter().map(|it| it.called.to_string()).collect();
        let words = first.laid_out_for().map(|words| {
            let words = words.map_or("", |words| words.as_str());
            words.split("; ").filter(|words| !words.is_empty()).map(str::to_owned).collect::<Vec<_>>()
        });
        let region = region_of_words(&names, &words[0], &words[1], None)?;
        let (blends, ratings) = said(first);
        let (steps, seed) = (steps(asked.glass, asked.read)?, asked.seed);
        let told = First { region: &region, blends: &blends, ratings: &ratings, steps, seed };
        let count = asked.count.unwrap_or_else(|| usual_count(first.codes().len()));
        let glasses = told.second(count).ok_or_else(|| NoLayout::NothingSaid(first.label.clone()))?;
        asked.free_hand = glasses.iter().filter_map(|glass| Shares::from_reals(glass).ok()).collect();
        asked.from = labels.collect();
        if asked.panel.is_empty() {
            asked.panel = first.tasters().iter().map(|taster| taster.name.clone()).collect();
        }
        // In words of the vessels as they are called now it was written then.
        if asked.from.iter().zip(&names).all(|(now, then)| now.as_str() == then) {
            [asked.bounds, asked.limits] = words;
        }
        (asked.kind, asked.count, asked.repeats) = (Kind::FreeHand, None, Some(0));
        Ok(asked)
    }
}

/// The blends of a trial, each once, and what was scored.
fn said(trial: &Trial) -> (Vec<Vec<f64>>, Ratings) {
    let glasses = trial.pouring().glasses();
    let mut blends: Vec<&Shares> = Vec::new();
    for glass in glasses {
        if !blends.contains(&&glass.shares) {
            blends.push(&glass.shares);
        }
    }
    let mut rated = Vec::new();
    for (taster, of) in trial.tasters().iter().enumerate() {
        for rating in trial.ratings_of(&of.name) {
            let shares = glasses.iter().find(|glass| glass.code == rating.code).map(|glass| &glass.shares);
            let blend = shares.and_then(|shares| blends.iter().position(|blend| *blend == shares));
            if let Some((blend, score)) = blend.zip(rating.score) {
                rated.push(Rated { taster, flight: rating.flight.unwrap_or(0) as usize, blend, score });
            }
        }
    }
    let ratings = Ratings::new(&rated, blends.len());
    (blends.into_iter().map(Shares::fractions).collect(), ratings)
}
