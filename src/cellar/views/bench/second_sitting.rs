//! The second of two sittings: a trial of the wines of an earlier one, whose glasses are laid out from what was said of that, while its
//! key may still be sealed. Nothing of the key is told: whoever sets it learns codes only.

use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::views::bench::laying_out::{NoLayout, TrialAsked};
use crate::reckon::liking::{Rated, Ratings};
use crate::reckon::mixture::design::Kind;
use crate::reckon::mixture::{region_of_words, steps};
use crate::reckon::second_sitting::{First, usual_count};
use crate::reckon::surface::Tasting;
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
        let nothing = || NoLayout::NothingSaid(first.label.clone());
        let (blends, ratings) = said(self, first).ok_or_else(nothing)?;
        let (steps, seed) = (steps(asked.glass, asked.read)?, asked.seed);
        let told = First { region: &region, blends: &blends, ratings: &ratings, steps, seed };
        let count = asked.count.unwrap_or_else(|| usual_count(first.codes().len()));
        let glasses = told.second(count).ok_or_else(nothing)?;
        asked.free_hand = glasses.iter().filter_map(|glass| Shares::from_reals(glass).ok()).collect();
        asked.from = labels.collect();
        asked.after = Some(first.label.clone());
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

/// The blends of a trial, each once, and what was said of them: scores, or ranks as normal scores. None where that is nothing.
fn said(state: &State, trial: &Trial) -> Option<(Vec<Vec<f64>>, Ratings)> {
    // What an earlier sitting said is read with it, and stands for nothing alone.
    if !trial.ratings().any(|rating| rating.score.is_some() || rating.rank.is_some()) {
        return None;
    }
    let to_read = trial.pouring().to_read(state, None);
    let tasting = Tasting::of(to_read.question()).ok()?;
    let rows = tasting.rows.iter();
    let rated: Vec<Rated> =
        rows.map(|row| Rated { taster: row.taster, flight: row.flight, blend: row.blend, score: row.score }).collect();
    Some((tasting.blends.clone(), Ratings::new(&rated, tasting.blends.len())))
}
