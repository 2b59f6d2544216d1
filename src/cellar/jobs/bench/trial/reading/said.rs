//! What a panel said, as it is analysed: scores, or ranks where more ranks than scores were given.

use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::{Glass, Taster, Trial};
use crate::reckon::panel::table::{Given, Table, TableError};
use crate::units::{by_count, counted};

/// What was said.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Said {
    /// Scores or ranks.
    pub given: Given,
    /// A row a taster who said something; a row a flight where ranks begin anew with every flight.
    pub rows: Vec<Row>,
}

/// One order of glasses.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    /// Whose it is.
    pub name: String,
    /// Whether it is of one flight alone.
    pub is_of_flight: bool,
    /// Glasses, by their places in the key, with the flight and what was given; a glass that was served twice stands there twice.
    pub values: Vec<(usize, usize, f64)>,
}

/// Ratings that are meant: everybody's, or one taster's.
fn meant<'a>(trial: &'a Trial, whose: Option<&'a Label>) -> impl Iterator<Item = &'a Rating> {
    trial.ratings().filter(move |rating| whose.is_none_or(|name| rating.taster == *name))
}

impl Said {
    /// What was said by everybody, or by one taster: scores, or ranks where more of these were given.
    pub fn of(trial: &Trial, whose: Option<&Label>) -> Said {
        let (scores, ranks) = counts(trial, whose);
        Said::as_given(trial, whose, if ranks > scores { Given::Ranks } else { Given::Scores })
    }

    /// The scores that were given, or the ranks.
    pub fn as_given(trial: &Trial, whose: Option<&Label>, given: Given) -> Said {
        let codes: Vec<_> = trial.codes().collect();
        let value = |rating: &Rating| match given {
            Given::Scores => rating.score,
            Given::Ranks => rating.rank,
        };
        let mut rows = Vec::new();
        for taster in trial.tasters() {
            let ratings: Vec<&Rating> = meant(trial, whose).filter(|rating| rating.taster == taster.name).collect();
            let row = |name: String, flight: Option<Option<u32>>| {
                let of_flight = ratings.iter().filter(|rating| flight.is_none_or(|flight| rating.flight == flight));
                let number = |rating: &Rating| rating.flight.and_then(|it| usize::try_from(it).ok()).unwrap_or(0);
                let values = of_flight.filter_map(|rating| {
                    Some((codes.binary_search(&rating.code).ok()?, number(rating), value(rating)?))
                });
                Row { name, is_of_flight: flight.is_some(), values: values.collect() }
            };
            if given == Given::Ranks && begins_anew(taster, &ratings) {
                let flights = (1_u32..).zip(&taster.flights);
                rows.extend(
                    flights.map(|(flight, _)| row(format!("{}, flight {flight}", taster.name), Some(Some(flight)))),
                );
            } else {
                rows.push(row(taster.name.to_string(), None));
            }
        }
        rows.retain(|row| !row.values.is_empty());
        Said { given, rows }
    }

    /// The table of tasters and glasses. A glass that was served twice to somebody has the mean of both.
    pub fn table(&self, glasses: &[Glass]) -> Result<Table, TableError> {
        let cells = |row: &Row| (0..glasses.len()).map(|glass| row.mean(glass)).collect();
        Table::new(
            self.given,
            self.rows.iter().map(|row| row.name.clone()).collect(),
            glasses.iter().map(|glass| glass.code.to_string()).collect(),
            self.rows.iter().map(cells).collect(),
        )
    }

    /// What must be known of how it was read.
    pub fn remarks(&self, trial: &Trial, whose: Option<&Label>) -> Vec<String> {
        let mut remarks: Vec<String> = self.of_both(trial, whose).into_iter().collect();
        if self.rows.iter().any(|row| row.is_of_flight) {
            let text = "Ranks begin anew with every flight: each flight is read as an order of its own, and counted as a taster.";
            remarks.push(text.to_owned());
        }
        let is_meant = |name: &Label| whose.is_none_or(|meant| meant == name);
        let missing = trial.missing().iter().filter(|glass| is_meant(&glass.taster)).count();
        if missing > 0 {
            let served: usize =
                trial.tasters().iter().filter(|it| is_meant(&it.name)).map(|it| it.served().count()).sum();
            let were = by_count(missing, "was", "were");
            remarks.push(format!("{} of {served} {were} never rated.", counted(missing, "glass")));
        }
        remarks
    }

    /// Which were read, where scores and ranks were given.
    fn of_both(&self, trial: &Trial, whose: Option<&Label>) -> Option<String> {
        let (scores, ranks) = counts(trial, whose);
        let (used, other, of_other) = match self.given {
            Given::Scores => ("scores", "ranks", ranks),
            Given::Ranks => ("ranks", "scores", scores),
        };
        if of_other == 0 {
            return None;
        }
        let only = |rating: &&Rating| match self.given {
            Given::Scores => rating.score.is_none() && rating.rank.is_some(),
            Given::Ranks => rating.rank.is_none() && rating.score.is_some(),
        };
        let left_out = match meant(trial, whose).filter(only).count() {
            0 => String::new(),
            many => format!(
                " {} {} none and {} left out.",
                counted(many, "rating"),
                by_count(many, "has", "have"),
                by_count(many, "is", "are")
            ),
        };
        let why = if scores == ranks { "say more" } else { "are more" };
        Some(format!("Scores and ranks were given. The {used} are read, which {why}; the {other} are not.{left_out}"))
    }
}

/// How many scores were given, and how many ranks.
fn counts(trial: &Trial, whose: Option<&Label>) -> (usize, usize) {
    let scores = meant(trial, whose).filter(|rating| rating.score.is_some()).count();
    (scores, meant(trial, whose).filter(|rating| rating.rank.is_some()).count())
}

impl Row {
    fn mean(&self, glass: usize) -> Option<f64> {
        let values = self.values.iter().filter(|(of, _, _)| *of == glass);
        let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), (_, _, value)| (sum + value, count + 1));
        (count > 0).then(|| sum / f64::from(count))
    }
}

/// Whether a taster's ranks begin anew with every flight: there are several, and no rank goes beyond its flight.
fn begins_anew(taster: &Taster, ratings: &[&Rating]) -> bool {
    let size =
        |flight: u32| (1_u32..).zip(&taster.flights).find(|(number, _)| *number == flight).map_or(0, |it| it.1.len());
    let ranked: Vec<(u32, f64)> = ratings.iter().filter_map(|rating| Some((rating.flight?, rating.rank?))).collect();
    let several = ranked.iter().any(|(flight, _)| *flight != ranked[0].0);
    several && ranked.iter().all(|&(flight, rank)| rank <= size(flight) as f64)
}
