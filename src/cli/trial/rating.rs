//! `trial rate` and `trial missing`: one glass is rated, and what is still to be rated.

use std::io::Write;

use serde::Serialize;

use super::{enter, trial};
use crate::cellar::fact::What;
use crate::cellar::label::{Label, Text};
use crate::cellar::moment::Moment;
use crate::cellar::state::State;
use crate::cellar::trial::code::Code;
use crate::cellar::trial::rating::GlassRated;
use crate::cli::arguments::RateArguments;
use crate::cli::column::Column;
use crate::cli::complaint::{Complaint, Outcome};
use crate::cli::page::Page;
use crate::desk::Desk;
use crate::units::parse_decimal;

/// Rates a glass; what was said of it before is replaced.
pub fn rate(desk: &mut Desk, asked: &RateArguments, now: Moment, out: &mut dyn Write) -> Outcome {
    let trial = desk.state().trials.get(trial(desk.state(), &asked.trial)?);
    let corrected = trial
        .ratings_of(&asked.taster)
        .any(|rating| rating.code == asked.code && asked.flight.is_none_or(|flight| rating.flight == Some(flight)));
    let (score, text) = said(&asked.said)?;
    let rating = GlassRated {
        trial: trial.label.clone(),
        taster: asked.taster.clone(),
        code: asked.code,
        flight: asked.flight,
        score,
        rank: asked.rank,
        text,
    };
    enter(desk, vec![What::GlassRated(Box::new(rating))], &asked.by, now)?;
    let done = if corrected { "corrected" } else { "rated" };
    Ok(writeln!(out, "{done}: {} {}", asked.taster, asked.code)?)
}

/// A score, where the first word is a number, and the words behind it.
fn said(words: &[String]) -> Outcome<(Option<f64>, Option<Text>)> {
    let words = words.join(" ");
    let words = words.trim();
    let (first, rest) = words.split_once(char::is_whitespace).unwrap_or((words, ""));
    let (score, rest) = match parse_decimal(first) {
        Ok(score) => (Some(score), rest.trim()),
        Err(_) => (None, words),
    };
    let text = if rest.is_empty() { None } else { Some(Text::new(rest)) };
    Ok((score, text.transpose().map_err(|error| Complaint::Refused(error.to_string()))?))
}

/// A glass that is still to be rated, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct MissingView {
    taster: Label,
    flight: u32,
    code: Code,
}

impl MissingView {
    /// The glasses of a trial that are still to be rated.
    pub fn all(trial: &crate::cellar::trial::Trial) -> Vec<MissingView> {
        let missing = trial.missing().into_iter();
        missing.map(|it| MissingView { taster: it.taster, flight: it.flight, code: it.code }).collect()
    }

    /// The columns of a list of them.
    pub fn columns() -> Vec<Column<MissingView>> {
        vec![
            Column::both("taster", "taster", |it: &MissingView| (&it.taster).into()),
            Column::both("flight", "flight", |it| it.flight.into()),
            Column::both("code", "code", |it| it.code.to_string().as_str().into()),
        ]
    }
}

/// Lists the glasses that nobody has rated yet who was served them.
pub fn missing(state: &State, label: &str, page: &mut Page<'_>) -> Outcome {
    let missing = MissingView::all(state.trials.get(trial(state, label)?));
    page.list(&MissingView::columns(), &missing, "Every glass that was served is rated.")
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_rating_begins_with_its_score_if_it_has_one() {
        let said = |words: &[&str]| {
            let words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
            let (score, text) = super::said(&words).unwrap();
            (score, text.map(|text| text.as_str().to_owned()))
        };
        assert_eq!(said(&["14.5"]), (Some(14.5), None));
        assert_eq!(said(&["14,5", "plum,", "long"]), (Some(14.5), Some("plum, long".to_owned())));
        assert_eq!(said(&["plum 14"]), (None, Some("plum 14".to_owned())));
        assert_eq!(said(&[]), (None, None));
    }
}
