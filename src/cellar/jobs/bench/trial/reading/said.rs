//! What a panel said, as it is analysed: scores, or ranks where more ranks than scores were given.

use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::{Glass, Taster, Trial};
use crate::reckon::panel::table::{Given, Table, TableError};
use crate::reckon::surface;
use crate::units::{by_count, counted};

/// What was said.
pub(super) struct Said {
    /// Scores or ranks.
    pub given: Given,
    /// A row a taster who said something; a row a flight where ranks begin anew with every flight.
    pub rows: Vec<Row>,
    /// What must be known of how it was read.
    pub remarks: Vec<String>,
}

/// One order of glasses.
pub(super) struct Row {
    /// Whose it is.
    pub name: String,
    /// Glasses, by their places in the key, with the flight and what was given; a glass that was served twice stands there twice.
    pub values: Vec<(usize, usize, f64)>,
}

impl Said {
    pub fn of(trial: &Trial) -> Said {
        let scores = trial.ratings().filter(|rating| rating.score.is_some()).count();
        let ranks = trial.ratings().filter(|rating| rating.rank.is_some()).count();
        let given = if ranks > scores { Given::Ranks } else { Given::Scores };
        let codes: Vec<_> = trial.codes().collect();
        let value = |rating: &Rating| match given {
            Given::Scores => rating.score,
            Given::Ranks => rating.rank,
        };
        let mut rows = Vec::new();
        let mut by_flight = false;
        for taster in trial.tasters() {
            let ratings: Vec<&Rating> = trial.ratings_of(&taster.name).collect();
            let row = |name: String, flight: Option<Option<u32>>| {
                let of_flight = ratings.iter().filter(|rating| flight.is_none_or(|flight| rating.flight == flight));
                let flight = |rating: &Rating| rating.flight.and_then(|it| usize::try_from(it).ok()).unwrap_or(0);
                let values = of_flight.filter_map(|rating| {
                    Some((codes.binary_search(&rating.code).ok()?, flight(rating), value(rating)?))
                });
                Row { name, values: values.collect() }
            };
            if given == Given::Ranks && begins_anew(taster, &ratings) {
                by_flight = true;
                let flights = (1_u32..).zip(&taster.flights);
                rows.extend(
                    flights.map(|(flight, _)| row(format!("{}, flight {flight}", taster.name), Some(Some(flight)))),
                );
            } else {
                rows.push(row(taster.name.to_string(), None));
            }
        }
        rows.retain(|row| !row.values.is_empty());
        Said { given, rows, remarks: remarks(trial, given, (scores, ranks), by_flight) }
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

    /// Every value by itself.
    pub fn ratings(&self) -> Vec<surface::Rating> {
        let of_row = |(taster, row): (usize, &Row)| {
            let rating =
                |&(glass, flight, score): &(usize, usize, f64)| surface::Rating { taster, flight, glass, score };
            row.values.iter().map(rating).collect::<Vec<_>>()
        };
        self.rows.iter().enumerate().flat_map(of_row).collect()
    }
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

fn remarks(trial: &Trial, given: Given, (scores, ranks): (usize, usize), by_flight: bool) -> Vec<String> {
    let mut remarks = Vec::new();
    let (used, other, of_other) = match given {
        Given::Scores => ("scores", "ranks", ranks),
        Given::Ranks => ("ranks", "scores", scores),
    };
    if of_other > 0 {
        let only = |rating: &&Rating| match given {
            Given::Scores => rating.score.is_none() && rating.rank.is_some(),
            Given::Ranks => rating.rank.is_none() && rating.score.is_some(),
        };
        let left_out = match trial.ratings().filter(only).count() {
            0 => String::new(),
            many => format!(
                " {} {} none and {} left out.",
                counted(many, "rating"),
                by_count(many, "has", "have"),
                by_count(many, "is", "are")
            ),
        };
        let why = if scores == ranks { "say more" } else { "are more" };
        remarks.push(format!(
            "Scores and ranks were given. The {used} are read, which {why}; the {other} are not.{left_out}"
        ));
    }
    if by_flight {
        let text =
            "Ranks begin anew with every flight: each flight is read as an order of its own, and counted as a taster.";
        remarks.push(text.to_owned());
    }
    let missing = trial.missing().len();
    if missing > 0 {
        let were = by_count(missing, "was", "were");
        remarks.push(format!("{} of {} {were} never rated.", counted(missing, "glass"), trial.servings()));
    }
    remarks
}
