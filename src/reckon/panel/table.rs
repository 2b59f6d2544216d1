//! What a panel said of its glasses: tasters by glasses, with cells left empty where somebody did not taste.

use crate::units::{by_count, counted};
use thiserror::Error;

/// More glasses are no panel's work: about 45 wines a day are common practice, and a trial holds fifty or sixty.
pub const MOST_GLASSES: usize = 128;

/// What the cells are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Given {
    /// Points of any scale, the more the better.
    Scores,
    /// Places, 1 the best. Equal places are ties.
    Ranks,
}

/// A panel's table.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    given: Given,
    tasters: Vec<String>,
    glasses: Vec<String>,
    rows: Vec<Vec<Option<f64>>>,
}

/// Why a table can't be one.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum TableError {
    /// A name stands twice.
    #[error("The {what} '{name}' stands twice. Give every {what} a name of its own.")]
    Twice {
        /// Taster or glass.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A row is too long or too short.
    #[error("{taster} has {} for {}. Leave a cell empty where nothing was tasted.", counted(*.found, "cell"), counted(*.glasses, "glass"))]
    Cells {
        /// Whose row it is.
        taster: String,
        /// How many cells it has.
        found: usize,
        /// How many there are to be.
        glasses: usize,
    },
    /// A number of rows that is not that of the tasters.
    #[error("There {} {} for {}. Give each taster one row.", by_count(*.rows, "is", "are"), counted(*.rows, "row"), counted(*.tasters, "taster"))]
    Rows {
        /// How many rows there are.
        rows: usize,
        /// How many there are to be.
        tasters: usize,
    },
    /// A score that can't be.
    #[error("{taster} gives glass {glass} {score}, which is no score.")]
    Score {
        /// Who gives it.
        taster: String,
        /// To which glass.
        glass: String,
        /// The score.
        score: f64,
    },
    /// A rank that can't be.
    #[error(
        "{taster} puts glass {glass} at {rank}. A rank is between 1, the best, and {glasses}, the number of glasses."
    )]
    Rank {
        /// Who gives it.
        taster: String,
        /// To which glass.
        glass: String,
        /// The rank.
        rank: f64,
        /// The number of glasses.
        glasses: usize,
    },
    /// Too many glasses.
    #[error("{0} glasses are more than a panel can taste. Take at most 128 into one table.")]
    TooMany(usize),
}

impl Table {
    /// A table of a row a taster and a cell a glass.
    pub fn new(
        given: Given,
        tasters: Vec<String>,
        glasses: Vec<String>,
        rows: Vec<Vec<Option<f64>>>,
    ) -> Result<Table, TableError> {
        if glasses.len() > MOST_GLASSES {
            return Err(TableError::TooMany(glasses.len()));
        }
        for (what, names) in [("taster", &tasters), ("glass", &glasses)] {
            if let Some(name) = twice(names) {
                return Err(TableError::Twice { what, name: name.to_owned() });
            }
        }
        if rows.len() != tasters.len() {
            return Err(TableError::Rows { rows: rows.len(), tasters: tasters.len() });
        }
        for (taster, row) in tasters.iter().zip(&rows) {
            if row.len() != glasses.len() {
                return Err(TableError::Cells { taster: taster.clone(), found: row.len(), glasses: glasses.len() });
            }
            for (glass, value) in glasses.iter().zip(row) {
                value.map_or(Ok(()), |value| check(given, taster, glass, value, glasses.len()))?;
            }
        }
        Ok(Table { given, tasters, glasses, rows })
    }

    /// Scores or ranks.
    #[must_use]
    pub const fn given(&self) -> Given {
        self.given
    }

    /// Who tasted.
    #[must_use]
    pub fn tasters(&self) -> &[String] {
        &self.tasters
    }

    /// What was tasted: the glasses' codes.
    #[must_use]
    pub fn glasses(&self) -> &[String] {
        &self.glasses
    }

    /// A row a taster.
    #[must_use]
    pub fn rows(&self) -> &[Vec<Option<f64>>] {
        &self.rows
    }

    /// The table without the tasters who tasted nothing and the glasses that nobody tasted.
    #[must_use]
    pub fn tasted(&self) -> Table {
        let keep = |glass: &usize| self.rows.iter().any(|row| row[*glass].is_some());
        let glasses: Vec<usize> = (0..self.glasses.len()).filter(keep).collect();
        let tasters: Vec<usize> =
            (0..self.tasters.len()).filter(|&taster| self.rows[taster].iter().any(Option::is_some)).collect();
        Table {
            given: self.given,
            tasters: tasters.iter().map(|&taster| self.tasters[taster].clone()).collect(),
            glasses: glasses.iter().map(|&glass| self.glasses[glass].clone()).collect(),
            rows: tasters
                .iter()
                .map(|&taster| glasses.iter().map(|&glass| self.rows[taster][glass]).collect())
                .collect(),
        }
    }
}

fn twice(names: &[String]) -> Option<&str> {
    let mut sorted: Vec<&str> = names.iter().map(String::as_str).collect();
    sorted.sort_unstable();
    sorted.windows(2).find(|pair| pair[0] == pair[1]).map(|pair| pair[0])
}

fn check(given: Given, taster: &str, glass: &str, value: f64, glasses: usize) -> Result<(), TableError> {
    let (taster, glass) = (taster.to_owned(), glass.to_owned());
    match given {
        Given::Scores if !value.is_finite() => Err(TableError::Score { taster, glass, score: value }),
        Given::Ranks if !(1.0..=glasses as f64).contains(&value) => {
            Err(TableError::Rank { taster, glass, rank: value, glasses })
        }
        Given::Scores | Given::Ranks => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(words: &str) -> Vec<String> {
        words.split(' ').map(str::to_owned).collect()
    }

    #[test]
    fn what_cannot_be_is_refused_in_a_sentence() {
        let table = |given, tasters, glasses, cells: &[&[f64]]| {
            let rows = cells.iter().map(|row| row.iter().map(|&cell| Some(cell)).collect()).collect();
            Table::new(given, names(tasters), names(glasses), rows).unwrap_err().to_string()
        };
        for (given, tasters, glasses, cells, part) in [
            (Given::Scores, "ann ann", "1 2", &[&[1.0, 2.0][..], &[1.0, 2.0]][..], "'ann' stands twice"),
            (Given::Scores, "ann", "1 1", &[&[1.0, 2.0]], "glass '1' stands twice"),
            (Given::Scores, "ann", "1 2", &[&[1.0]], "1 cell for 2 glasses"),
            (Given::Scores, "ann", "1 2", &[], "0 rows for 1 taster"),
            (Given::Scores, "ann", "1 2", &[&[1.0, f64::NAN]], "ann gives glass 2 NaN"),
            (Given::Ranks, "ann", "1 2", &[&[0.0, 2.0]], "ann puts glass 1 at 0"),
            (Given::Ranks, "ann", "1 2", &[&[1.0, 3.0]], "ann puts glass 2 at 3"),
        ] {
            let told = table(given, tasters, glasses, cells);
            assert!(told.contains(part), "{told}");
        }
        let many: Vec<String> = (0..129).map(|number| number.to_string()).collect();
        assert_eq!(Table::new(Given::Scores, vec![], many, vec![]), Err(TableError::TooMany(129)));
    }

    #[test]
    fn what_was_not_tasted_is_left_out() {
        let rows = vec![vec![Some(3.0), None, Some(4.0)], vec![None, None, None]];
        let table = Table::new(Given::Scores, names("ann bo"), names("a b c"), rows).unwrap().tasted();
        assert_eq!((table.tasters(), table.glasses()), (&names("ann")[..], &names("a c")[..]));
        assert_eq!(table.rows(), [[Some(3.0), Some(4.0)]]);
    }
}
