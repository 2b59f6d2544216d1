//! Difference tests from the desk: triangle, duo-trio and paired comparison.

use crate::cli::arguments::{DifferenceArguments, PairedArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::reckon::difference::{Difference, DifferenceError, Estimate, LEVELS, Method, least_correct};

impl From<DifferenceError> for Complaint {
    fn from(error: DifferenceError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Judges a triangle test.
pub fn triangle(asked: &DifferenceArguments, page: &mut Page<'_>) -> Outcome {
    judge(Method::Triangle, *asked, page)
}

/// Judges a duo-trio test.
pub fn duo_trio(asked: &DifferenceArguments, page: &mut Page<'_>) -> Outcome {
    judge(Method::DuoTrio, *asked, page)
}

/// Judges a paired comparison.
pub fn paired(asked: &PairedArguments, page: &mut Page<'_>) -> Outcome {
    let method = if asked.one_sided { Method::PairedOneSided } else { Method::PairedTwoSided };
    judge(method, asked.answers, page)
}

fn judge(method: Method, asked: DifferenceArguments, page: &mut Page<'_>) -> Outcome {
    // Without right answers the number of answers is checked all the same.
    let found = Difference::of(method, asked.answers, asked.correct.unwrap_or(0))?;
    let told = Told { found, is_judged: asked.correct.is_some() };
    page.card(&COLUMNS, &told, |page| match told.judged() {
        Some(found) => below(page, &found.words()),
        None => Ok(()),
    })
}

/// Answers and what they say.
struct Told {
    found: Difference,
    /// Whether right answers were said.
    is_judged: bool,
}

impl Told {
    fn judged(&self) -> Option<&Difference> {
        Some(&self.found).filter(|_| self.is_judged)
    }

    fn least(&self, level: usize) -> Cell {
        least_correct(self.found.method, self.found.answers, LEVELS[level]).into()
    }

    fn share(&self, value: fn(&Estimate) -> f64) -> Cell {
        self.judged().map(|found| percent(value(&found.share))).into()
    }

    fn people(&self, value: fn(&Estimate) -> f64) -> Cell {
        self.judged().and_then(|found| found.discriminators.as_ref()).map(|it| percent(value(it))).into()
    }
}

fn percent(share: f64) -> f64 {
    rounded(share * 100.0, 1)
}

const COLUMNS: [Column<Told>; 15] = [
    Column::both("method", "test", |it: &Told| Cell::Word(it.found.method.word().to_owned())),
    Column::both("answers", "answers", |it| it.found.answers.into()),
    Column::both("right", "right", |it| it.judged().map(|found| found.correct).into()),
    Column::both("p", "p", |it| it.judged().map(|found| rounded(found.p, 6)).into()),
    Column::both("told", "told", |it| it.judged().map(|found| found.p <= LEVELS[0]).into()),
    Column::both("least_right", "least right", |it| it.least(0)),
    Column::both("least_right_at_1_in_100", "at 1 in 100", |it| it.least(1)),
    Column::both("least_right_at_1_in_1000", "at 1 in 1000", |it| it.least(2)),
    Column::both("right_pct", "right %", |it| it.share(|it| it.share)),
    Column::both("right_low_pct", "low", |it| it.share(|it| it.low)),
    Column::both("right_high_pct", "high", |it| it.share(|it| it.high)),
    Column::both("discriminators_pct", "tell it %", |it| it.people(|it| it.share)),
    Column::both("discriminators_low_pct", "low", |it| it.people(|it| it.low)),
    Column::both("discriminators_high_pct", "high", |it| it.people(|it| it.high)),
    Column::within("words", |it| it.judged().map(Difference::words).into()),
];
