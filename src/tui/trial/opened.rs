//! What a trial tells once its card is pulled: what every code is, the best by its mean first.

use ratatui::text::Line;

use crate::cellar::state::State;
use crate::cellar::trial::rating::Rating;
use crate::cellar::trial::{Glass, Trial};
use crate::tui::model::Model;
use crate::tui::text::{fit, wrap};
use crate::tui::theme::Meaning;

/// The lines; none while the card is not pulled.
pub(super) fn lines(model: &Model, trial: &Trial, width: usize) -> Vec<Line<'static>> {
    let Some(key) = trial.opened() else { return Vec::new() };
    let marks = model.looks.marks;
    let style = |meaning| model.looks.theme.style(meaning);
    let (sealed, meaning) = if key.is_as_sealed(&model.state) {
        ("The key is the one that was sealed.", Meaning::Fine)
    } else {
        ("THE KEY IS NOT THE ONE THAT WAS SEALED. Check the log with `barrelwalk verify`.", Meaning::Error)
    };
    let mut lines: Vec<Line<'static>> =
        wrap(sealed, width, marks).into_iter().map(|line| Line::styled(line, style(meaning))).collect();
    lines.push(Line::default());
    lines.push(Line::styled(fit("code  score   rank  ratings  holds, %", width, marks), style(Meaning::Muted)));
    let mut glasses: Vec<Means<'_>> = key.glasses().iter().map(|glass| Means::of(trial, glass)).collect();
    glasses.sort_by(Means::best_first);
    lines.extend(
        glasses
            .iter()
            .map(|glass| Line::styled(fit(&glass.line(&model.state, trial), width, marks), style(Meaning::Base))),
    );
    lines
}

/// A glass and the means of what was said of it.
struct Means<'a> {
    glass: &'a Glass,
    score: Option<f64>,
    rank: Option<f64>,
    ratings: usize,
}

impl<'a> Means<'a> {
    fn of(trial: &Trial, glass: &'a Glass) -> Means<'a> {
        let ratings: Vec<&Rating> = trial.ratings().filter(|rating| rating.code == glass.code).collect();
        let mean = |values: Vec<f64>| (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
        Means {
            glass,
            score: mean(ratings.iter().filter_map(|rating| rating.score).collect()),
            rank: mean(ratings.iter().filter_map(|rating| rating.rank).collect()),
            ratings: ratings.len(),
        }
    }

    fn best_first(one: &Means<'_>, other: &Means<'_>) -> std::cmp::Ordering {
        let worth = |means: &Means<'_>| means.score.unwrap_or(-1.0);
        let place = |means: &Means<'_>| means.rank.unwrap_or(f64::MAX);
        worth(other).total_cmp(&worth(one)).then(place(one).total_cmp(&place(other)))
    }

    fn line(&self, state: &State, trial: &Trial) -> String {
        let number = |mean: Option<f64>| mean.map_or_else(String::new, |mean| format!("{mean:.2}"));
        let used = trial.components().iter().zip(self.glass.shares.millionths()).filter(|(_, part)| **part > 0);
        let holds: Vec<String> = used
            .map(|(wine, &part)| format!("{} {:.1}", state.vessels.get(wine.vessel).label, f64::from(part) / 10_000.0))
            .collect();
        let same = self.glass.repeat_of.map_or_else(String::new, |of| format!(", the same as {of}"));
        let (score, rank, ratings) = (number(self.score), number(self.rank), self.ratings);
        format!("{}   {score:>5}  {rank:>5}  {ratings:>7}  {}{same}", self.glass.code, holds.join(" + "))
    }
}
