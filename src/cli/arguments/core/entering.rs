//! What can be said of everything that a command enters.

use chrono::NaiveTime;
use clap::Args;

use crate::cellar::core::label::{Text, harmless};
use crate::cellar::core::moment::{Moment, MomentError, WallTime};
use crate::spreadsheet::date::{DateOrder, read};

/// Who enters something and when it happened, and what was asked about it before.
#[derive(Debug, Args)]
pub struct Entering {
    /// When it happened: a day, or a day and a time, by the clock on the wall where no offset stands with it; a day alone is its noon
    /// [default: now]
    #[arg(long, value_name = "DATE-TIME", value_parser = said)]
    pub at: Option<When>,
    /// Who enters it, or for whom it is entered [default: the variable `BARRELWALK_BY`, else `by` in your looks, else your user name]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Words that are kept beside it
    #[arg(long, value_name = "WORDS", value_parser = |text: &str| Text::new(text))]
    pub note: Option<Text>,
    /// It is so, though it surprises
    #[arg(long)]
    pub sure: bool,
    /// Why it is done though a vessel is held or a checklist is open; the words are kept
    #[arg(long, value_name = "WHY", value_parser = |text: &str| Text::new(text))]
    pub despite: Option<Text>,
}

/// A moment as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// With its offset.
    At(Moment),
    /// By the clock on the wall.
    OnWall(WallTime),
}

/// Reads a day, or a day and a time. A day that would be another one with the month first is not guessed at.
pub fn said(text: &str) -> Result<When, String> {
    if let Ok(moment) = Moment::parse(text) {
        return Ok(When::At(moment));
    }
    match [DateOrder::DayMonth, DateOrder::MonthDay].map(|order| read(text, order)) {
        [Some((day, time)), Some(other)] if other == (day, time) => Ok(When::OnWall(WallTime { day, time })),
        _ => {
            let text = harmless(&text.chars().take(40).collect::<String>());
            Err(format!("'{text}' is no day and no time. Write it like 2026-11-27, or 2026-11-27T08:15."))
        }
    }
}

impl When {
    /// The moment; a day alone is its noon, and today it is now.
    pub fn moment(self, now: Moment) -> Result<Moment, MomentError> {
        match self {
            When::At(moment) => Ok(moment),
            When::OnWall(said) => Moment::on_wall(said, now),
        }
    }

    /// The moment at which something happened that was dated by a wrong clock: of a day alone at the time that this said.
    pub fn on_day_of(self, wrong: Moment, now: Moment) -> Result<Moment, MomentError> {
        match self {
            When::OnWall(WallTime { day, time: None }) => {
                When::OnWall(WallTime { day, time: Some(wrong.wall_time()) }).moment(now)
            }
            other => other.moment(now),
        }
    }

    /// The same, but of a day alone its first moment: what is so since a day comes before all that happened on it.
    pub fn beginning(self, now: Moment) -> Result<Moment, MomentError> {
        match self {
            When::OnWall(WallTime { day, time: None }) => When::OnWall(WallTime { day, time: Some(NaiveTime::MIN) }),
            other => other,
        }
        .moment(now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_said_so_that_it_can_be_no_other() {
        for text in ["2026-11-27", "2026-11-27 08:15", "2026-11-27T08:15", "27 Nov 2026", "27.11.2026", "27/11/2026"] {
            let is_it = text != "27/11/2026";
            assert_eq!(said(text).is_ok(), is_it, "{text}");
        }
        assert_eq!(
            said("2026-11-27T08:15:00+01:00"),
            Ok(When::At(Moment::parse("2026-11-27T08:15:00+01:00").unwrap()))
        );
        for text in ["yesterday", "03/04/2026", "2026-13-01", "", "08:15"] {
            assert!(said(text).unwrap_err().contains("Write it like"), "{text}");
        }
    }
}
