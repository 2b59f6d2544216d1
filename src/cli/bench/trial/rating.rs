//! `trial rate` and `trial missing`: one glass is rated, and what is still to be rated.

use std::io::Write;

use super::trial;
use crate::cellar::core::fact::What;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::rating::{GlassRated, Missing};
use crate::cellar::jobs::bench::trial::said::{Said, Scale};
use crate::cli::arguments::RateArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::desk::Desk;

/// Rates a glass; what was said of it before is replaced.
pub fn rate(desk: &mut Desk, asked: &RateArguments, now: Moment, out: &mut dyn Write) -> Outcome {
    let trial = desk.state().trials.get(trial(desk.state(), &asked.trial)?);
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
    asked.entering.enter(desk, vec![What::GlassRated(Box::new(rating))], None, now)?;
    let done = if corrected { "corrected" } else { "rated" };
    Ok(writeln!(out, "{done}: {} {}", asked.taster, asked.code)?)
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
