//! How good forecasts of toppings were: each was made before the topping was seen, beside three naive ones and one that looks back.
//!
//! **The backtest's fixed rate** is the published one, 20 mL a day: known beforehand, and harder to beat than the mean of a first round,
//! which the soak-in spoils. The best rate in hindsight is printed beside it; no forecast can know it, so no goal hangs on it.

use super::headspace::PUBLISHED_RATE;

/// Half widths of the bands that should hold 50, 80 and 95 of a hundred, in standard deviations (normal quantiles).
pub const BANDS: [(u8, f64); 3] = [(50, 0.674_490), (80, 1.281_552), (95, 1.959_964)];

/// One topping to the brim, and what was said of it before it was seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trial {
    /// What was missing, as it was poured, litres.
    pub found: f64,
    /// What the model said, litres.
    pub said: f64,
    /// The standard deviation that it gave, litres.
    pub deviation: f64,
    /// What the book knew to be missing beside what evaporates, litres; below nothing where the book is ahead.
    pub known: f64,
    /// Days since the level was last known.
    pub days: f64,
    /// What the barrel lost between the last two times before, litres a day.
    pub last_rate: f64,
    /// What the barrels of its room lost until then, litres a day.
    pub room_rate: f64,
    /// How often its level had been found before in this fill.
    pub earlier: u32,
}

impl Trial {
    /// What a fixed rate lets expect.
    fn at(&self, rate: f64) -> f64 {
        (self.known + rate * self.days).max(0.0)
    }
}

/// How one set of forecasts did.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Scores {
    /// How many toppings were forecast.
    pub count: usize,
    /// What they took in the mean, litres.
    pub mean_found: f64,
    /// Mean absolute error of the model, litres.
    pub model: f64,
    /// Of one rate for all, chosen beforehand: the published one, litres.
    pub fixed: f64,
    /// Of the best one rate for all there is. It is known only afterwards, so that this is no forecast, litres.
    pub hindsight: f64,
    /// That rate, litres a day.
    pub hindsight_rate: f64,
    /// Of the barrel's last rate, litres.
    pub last: f64,
    /// Of the mean of its room so far, litres.
    pub room: f64,
    /// The parts of the toppings that lay inside the bands.
    pub inside: [f64; 3],
}

/// Scores forecasts. Nothing comes of none.
#[must_use]
pub fn score(trials: &[Trial]) -> Scores {
    let Some(per) = (!trials.is_empty()).then(|| 1.0 / trials.len() as f64) else { return Scores::default() };
    let mean = |of: &dyn Fn(&Trial) -> f64| trials.iter().map(of).sum::<f64>() * per;
    let error = |said: &dyn Fn(&Trial) -> f64| mean(&|trial| (trial.found - said(trial)).abs());
    let hindsight_rate = best_rate(trials);
    Scores {
        count: trials.len(),
        mean_found: mean(&|trial| trial.found),
        model: error(&|trial| trial.said),
        fixed: error(&|trial| trial.at(PUBLISHED_RATE)),
        hindsight: error(&|trial| trial.at(hindsight_rate)),
        hindsight_rate,
        last: error(&|trial| trial.at(trial.last_rate)),
        room: error(&|trial| trial.at(trial.room_rate)),
        inside: BANDS.map(|(_, width)| {
            mean(&|trial| f64::from(u8::from((trial.found - trial.said).abs() <= width * trial.deviation)))
        }),
    }
}

/// The one rate with the least mean absolute error: the median of what each topping would have wanted, weighted by its
/// days (the weighted median minimises a sum of absolute deviations).
fn best_rate(trials: &[Trial]) -> f64 {
    let mut wanted: Vec<(f64, f64)> = trials
        .iter()
        .filter(|trial| trial.days > 0.0)
        .map(|trial| ((trial.found - trial.known) / trial.days, trial.days))
        .collect();
    wanted.sort_by(|one, other| one.0.total_cmp(&other.0));
    let half = wanted.iter().map(|(_, days)| days).sum::<f64>() / 2.0;
    let mut passed = 0.0;
    let middle = wanted.iter().find(|(_, days)| {
        passed += days;
        passed >= half
    });
    middle.map_or(0.0, |(rate, _)| rate.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRIAL: Trial = Trial {
        found: 1.0,
        said: 1.1,
        deviation: 0.1,
        known: 0.2,
        days: 20.0,
        last_rate: 0.05,
        room_rate: 0.03,
        earlier: 4,
    };

    #[test]
    fn the_errors_of_one_topping_with_a_pencil() {
        let scores = score(&[TRIAL]);
        // 0.2 known and 20 days at 0.05 are 1.2; at 0.03 they are 0.8; at the published 0.02 0.6; 0.04 is the rate that hits.
        let expected = [0.1, 0.2, 0.2, 0.4, 0.0, 0.04];
        let had = [scores.model, scores.last, scores.room, scores.fixed, scores.hindsight, scores.hindsight_rate];
        assert!(had.iter().zip(expected).all(|(had, expected)| (had - expected).abs() < 1e-9), "{scores:?}");
        assert_eq!(scores.inside.map(|part| part > 0.5), [false, true, true]);
    }

    #[test]
    fn the_best_rate_is_the_weighted_median() {
        let of = |found, days| Trial { found, known: 0.0, days, ..TRIAL };
        // Rates 0.1, 0.2 and 0.3 over 10, 10 and 30 days.
        assert!((best_rate(&[of(1.0, 10.0), of(2.0, 10.0), of(9.0, 30.0)]) - 0.3).abs() < 1e-12);
    }

    #[test]
    fn no_forecast_no_score() {
        assert_eq!(score(&[]), Scores::default());
        assert!(score(&[Trial { days: 0.0, ..TRIAL }]).fixed.is_finite());
    }
}
