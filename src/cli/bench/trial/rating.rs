//! `trial rate` and `trial missing`: one glass is rated, and what is still to be rated.

use std::path::Path;

use super::trial;
use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::rating::{GlassRated, Missing};
use crate::cellar::jobs::bench::trial::said::{Said, Scale};
use crate::cli::arguments::RateArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::{Counter, Decided, own_state};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;

impl Counter<'_, '_> {
    /// Rates a glass; what was said of it before is replaced.
    pub(super) fn rate(&mut self, cellar: &Path, asked: &RateArguments) -> Outcome {
        self.act(
            cellar,
            (&asked.entering, true),
            own_state,
            |_, state| rated(state, asked),
            |counter, _, done, _| Ok(writeln!(counter.out, "{done}: {} {}", asked.taster, asked.code)?),
        )
    }
}

/// The rating of a glass, and whether it is a first one.
fn rated(state: &State, asked: &RateArguments) -> Outcome<Decided<&'static str>> {
    let trial = state.trials.get(trial(state, &asked.trial)?);
    let corrected = trial
        .ratings_of(&asked.taster)
        .any(|rating| rating.code == asked.code && asked.flight.is_none_or(|flight| rating.flight == Some(flight)));
    let said =
        Said::read(&asked.said.join(" "), Scale::Score).map_err(|error| Complaint::Refused(error.to_string()))?;
    let rating = GlassRated {
        trial: trial.label.clone(),
        taster: asked.taster.clone(),
        code: asked.code,
        flight: asked.flight,
        score: said.number,
        rank: asked.rank,
        text: said.text,
    };
    let done = if corrected { "corrected" } else { "rated" };
    Ok(Decided::of(vec![What::GlassRated(Box::new(rating))], done))
}

/// The columns of the glasses that are still to be rated.
pub fn missing_columns() -> [Column<Missing>; 3] {
    [
        Column::both("taster", "taster", |it: &Missing| (&it.taster).into()),
        Column::both("flight", "flight", |it| it.flight.into()),
        Column::both("code", "code", |it| it.code.to_string().into()),
    ]
}

/// Lists the glasses that nobody has rated yet who was served them.
pub fn missing(state: &State, label: &str, page: &mut Page<'_>) -> Outcome {
    let missing = state.trials.get(trial(state, label)?).missing();
    page.list(&missing_columns(), &missing, "Every glass that was served is rated.")
}
