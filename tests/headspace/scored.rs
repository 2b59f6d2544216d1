//! How the model did on simulated rooms.

use barrelwalk::reckon::backtest::{Scores, Trial, score};

use crate::house::House;
use crate::simulated::run;

/// Forecasts of barrels of which so many levels were found before are judged.
const KNOWN_LEVELS: u32 = 4;
/// Each house is simulated so often, with other seeds.
const TIMES: u64 = 3;

/// The scores, and the mean absolute error of one who knows what is truly missing.
pub struct Judged {
    pub scores: Scores,
    pub oracle: f64,
    /// That of the observer who knows all but chance.
    pub ideal: f64,
}

/// Simulates the rooms of a cellar and scores them together.
pub fn judge(rooms: &[House]) -> Judged {
    let mut trials: Vec<(Trial, (f64, f64))> = Vec::new();
    for room in rooms {
        for time in 0..TIMES {
            let outcome = run(&House { seed: room.seed + 1_000 * time, ..room.clone() });
            trials.extend(outcome.trials.into_iter().zip(outcome.oracle.into_iter().zip(outcome.ideal)));
        }
    }
    trials.retain(|(trial, _)| trial.earlier >= KNOWN_LEVELS);
    let mean = |of: fn(&(f64, f64)) -> f64| {
        trials.iter().map(|(_, errors)| of(errors)).sum::<f64>() / trials.len().max(1) as f64
    };
    let (oracle, ideal) = (mean(|errors| errors.0), mean(|errors| errors.1));
    let trials: Vec<Trial> = trials.into_iter().map(|(trial, _)| trial).collect();
    Judged { scores: score(&trials), oracle, ideal }
}

impl Judged {
    /// By which part the model's error is smaller than another's.
    pub fn gain(&self, other: f64) -> f64 {
        1.0 - self.scores.model / other
    }

    /// By how much each band misses what it says, in hundredths.
    pub fn missed(&self) -> [f64; 3] {
        let [half, eighty, ninety_five] = self.scores.inside;
        [half - 0.50, eighty - 0.80, ninety_five - 0.95].map(|miss| miss * 100.0)
    }

    /// A line to read.
    pub fn line(&self, name: &str) -> String {
        let Scores { count, model, fixed, hindsight, last, room, inside, .. } = self.scores;
        let gains = [fixed, last, room, hindsight].map(|other| (self.gain(other) * 1_000.0).round() / 10.0);
        let inside = inside.map(|part| (part * 1_000.0).round() / 10.0);
        format!(
            "{name:26} {count:6} model {model:.4} oracle {:.4} ideal {:.4} gains on fixed, last, room, hindsight {gains:?} \
             inside {inside:?}",
            self.oracle, self.ideal
        )
    }
}
