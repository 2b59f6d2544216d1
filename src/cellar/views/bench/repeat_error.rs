//! How far one rating strays from another of the same wine: learned from the hidden repeats of this house's trials, else taken.

use std::collections::BTreeMap;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::{Key, Trial};
use crate::reckon::panel::repeatability::{Repeatability, pooled, repeatability};
use crate::units::{Shares, counted, figure};

/// What a rating is taken to stray by while the house has too few repeats, points of 20: between what trained and untrained tasters
/// stray by (our choice).
const USUAL: f64 = 1.5;

/// Fewer repeats say too little.
const FEWEST: usize = 6;

/// How far one rating strays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RepeatError {
    /// Its standard deviation, points of 20.
    pub deviation: f64,
    /// Where it is from.
    pub from: Source,
}

/// Where it is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// So many repeats in so many trials of the house.
    Learned {
        /// How many ratings there were of a wine that the taster had rated before in the same trial.
        repeats: usize,
        /// In how many trials.
        trials: usize,
    },
    /// Somebody said so.
    Said,
    /// Nobody knows better.
    Taken,
}

impl RepeatError {
    /// What somebody says.
    #[must_use]
    pub const fn said(deviation: f64) -> RepeatError {
        RepeatError { deviation, from: Source::Said }
    }

    /// That in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let points = figure((self.deviation * 10.0).round() / 10.0);
        match self.from {
            Source::Learned { repeats, trials } => format!(
                "One rating strays by {points} points (SD), by {} in {} of this house.",
                counted(repeats, "hidden repeat"),
                counted(trials, "trial")
            ),
            Source::Said => format!("One rating is said to stray by {points} points (SD)."),
            Source::Taken => format!(
                "One rating is taken to stray by {points} points (SD): too few hidden repeats of this house tell it yet."
            ),
        }
    }
}

impl State {
    /// How far one rating strays in this house, by the trials that are revealed.
    #[must_use]
    pub fn repeat_error(&self) -> RepeatError {
        let of_trials: Vec<Repeatability> =
            self.trials.iter().filter_map(|(_, trial)| pooled(&of_trial(trial, trial.opened()?))).collect();
        let learned = pooled(&of_trials).filter(|it| it.repeats >= FEWEST && it.deviation > 0.0);
        let found = learned.map(|it| RepeatError {
            deviation: it.deviation,
            from: Source::Learned { repeats: it.repeats, trials: of_trials.len() },
        });
        found.unwrap_or(RepeatError { deviation: USUAL, from: Source::Taken })
    }
}

/// What the tasters of a trial say of a wine that they were given twice. What a flight was rated higher than another as a whole is no
/// straying.
fn of_trial(trial: &Trial, key: Key<'_>) -> Vec<Repeatability> {
    let of_taster = |taster: &Label| {
        let scored: Vec<(Option<u32>, &Shares, f64)> = trial
            .ratings_of(taster)
            .filter_map(|rating| Some((rating.flight, &key.glass(rating.code)?.shares, rating.score?)))
            .collect();
        let mean = |flight: Option<u32>| {
            let of_flight = scored.iter().filter(|(of, ..)| *of == flight).map(|(.., score)| *score);
            let (sum, count) = of_flight.fold((0.0, 0_u32), |(sum, count), score| (sum + score, count + 1));
            sum / f64::from(count.max(1))
        };
        let row: Vec<Option<f64>> = scored.iter().map(|(flight, _, score)| Some(score - mean(*flight))).collect();
        let mut alike: BTreeMap<&[u32], Vec<usize>> = BTreeMap::new();
        for (at, (_, shares, _)) in scored.iter().enumerate() {
            alike.entry(shares.millionths()).or_default().push(at);
        }
        repeatability(&row, &alike.into_values().collect::<Vec<_>>())
    };
    trial.tasters().iter().filter_map(|taster| of_taster(&taster.name)).collect()
}
