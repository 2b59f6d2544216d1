//! What a person said of a table, kept for the next one of the same columns.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::fields::{TABLES, Table};
use super::{Answers, Proposal};

/// What was said of a table, and which table that is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// What it lists.
    table: String,
    /// What its columns are called, from the left.
    columns: Vec<String>,
    /// What was said of it.
    answers: Answers,
}

/// Why what was said of one table is not said of another.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum OtherTable {
    /// It lists other things.
    #[error("It is for a list of {0}.")]
    Lists(String),
    /// Its columns are others.
    #[error("It is for the columns {}; here are {}.", .there.join(", "), .here.join(", "))]
    Columns {
        /// What it is for.
        there: Vec<String>,
        /// What there is.
        here: Vec<String>,
    },
}

impl Mapping {
    /// What is kept of what was said of a table. That rooms are laid out is said once and not kept.
    #[must_use]
    pub fn of(table: &Table, proposal: &Proposal, answers: &Answers) -> Mapping {
        let answers = Answers { lay_out: false, ..answers.clone() };
        Mapping { table: table.name.to_owned(), columns: titles(proposal), answers }
    }

    /// The kind of table that it was said of; none of one that is not known here.
    #[must_use]
    pub fn table(&self) -> Option<&'static Table> {
        TABLES.into_iter().find(|table| table.name == self.table)
    }

    /// Whether it was said of a table with the same columns.
    pub fn fits(&self, table: &Table, proposal: &Proposal) -> Result<(), OtherTable> {
        if self.table != table.name {
            return Err(OtherTable::Lists(self.table.clone()));
        }
        let here = titles(proposal);
        if self.columns == here { Ok(()) } else { Err(OtherTable::Columns { there: self.columns.clone(), here }) }
    }

    /// What is said now, and what was said then of all else.
    #[must_use]
    pub fn under(&self, now: Answers) -> Answers {
        let then = &self.answers;
        let both = |now: Vec<(String, String)>, then: &[(String, String)]| {
            let other = then.iter().filter(|(field, _)| now.iter().all(|(said, _)| said != field)).cloned();
            let other: Vec<_> = other.collect();
            [now, other].concat()
        };
        Answers {
            head: now.head.or(then.head),
            decimal: now.decimal.or(then.decimal),
            dates: now.dates.or(then.dates),
            acid: now.acid.or(then.acid),
            columns: both(now.columns, &then.columns),
            constants: both(now.constants, &then.constants),
            lay_out: now.lay_out,
        }
    }
}

fn titles(proposal: &Proposal) -> Vec<String> {
    proposal.columns.iter().map(|column| column.title.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::import::Column;
    use crate::import::fields::{BARRELS, WINE};
    use crate::spreadsheet::number::DecimalSign;

    fn proposal(titles: &[&str]) -> Proposal {
        let columns =
            titles.iter().zip(1..).map(|(title, number)| Column { number, title: (*title).to_owned(), field: None });
        Proposal { columns: columns.collect(), ..Proposal::default() }
    }

    #[test]
    fn it_is_for_one_table_and_what_is_said_now_goes_before_it() {
        let pair = |field: &str, column: &str| (field.to_owned(), column.to_owned());
        let then = Answers {
            decimal: Some(DecimalSign::Comma),
            columns: vec![pair("capacity", "Size"), pair("made", "Y")],
            lay_out: true,
            ..Answers::default()
        };
        let kept = Mapping::of(&BARRELS, &proposal(&["A", "Size"]), &then);
        let read: Mapping = serde_json::from_str(&serde_json::to_string(&kept).unwrap()).unwrap();
        assert_eq!(read, kept);
        assert_eq!(kept.fits(&BARRELS, &proposal(&["A", "Size"])), Ok(()));
        let other = kept.fits(&BARRELS, &proposal(&["A", "B"])).unwrap_err();
        assert_eq!(other.to_string(), "It is for the columns A, Size; here are A, B.");
        assert_eq!(kept.fits(&WINE, &proposal(&["A", "Size"])), Err(OtherTable::Lists("barrels".to_owned())));
        let now = Answers { columns: vec![pair("capacity", "Litres")], ..Answers::default() };
        let both = kept.under(now);
        assert_eq!(both.columns, [pair("capacity", "Litres"), pair("made", "Y")]);
        assert_eq!((both.decimal, both.lay_out), (Some(DecimalSign::Comma), false));
    }
}
