//! Difference tests from the desk: triangle, duo-trio and paired comparison.

use serde::Serialize;

use crate::cli::arguments::{DifferenceArguments, PairedArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
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
    let view = DifferenceView::of(&found, asked.correct.is_some());
    page.card(&DifferenceView::COLUMNS, &view, |page| match &view.words {
        Some(words) => below(page, words),
        None => Ok(()),
    })
}

/// Answers and what they say.
#[derive(Debug, Serialize)]
struct DifferenceView {
    method: &'static str,
    answers: u64,
    right: Option<u64>,
    p: Option<f64>,
    told: Option<bool>,
    least_right: Option<u64>,
    least_right_at_1_in_100: Option<u64>,
    least_right_at_1_in_1000: Option<u64>,
    right_pct: Option<f64>,
    right_low_pct: Option<f64>,
    right_high_pct: Option<f64>,
    discriminators_pct: Option<f64>,
    discriminators_low_pct: Option<f64>,
    discriminators_high_pct: Option<f64>,
    words: Option<String>,
}

impl DifferenceView {
    fn of(found: &Difference, is_judged: bool) -> DifferenceView {
        let least = |level: f64| least_correct(found.method, found.answers, level);
        let percent = |share: f64| rounded(share * 100.0, 1);
        let share = is_judged.then_some(found.share);
        let people = found.discriminators.filter(|_| is_judged);
        let of = |estimate: Option<Estimate>, value: fn(&Estimate) -> f64| Some(percent(value(&estimate?)));
        DifferenceView {
            method: found.method.word(),
            answers: found.answers,
            right: is_judged.then_some(found.correct),
            p: is_judged.then(|| rounded(found.p, 6)),
            told: is_judged.then_some(found.p <= LEVELS[0]),
            least_right: least(LEVELS[0]),
            least_right_at_1_in_100: least(LEVELS[1]),
            least_right_at_1_in_1000: least(LEVELS[2]),
            right_pct: of(share, |it| it.share),
            right_low_pct: of(share, |it| it.low),
            right_high_pct: of(share, |it| it.high),
            discriminators_pct: of(people, |it| it.share),
            discriminators_low_pct: of(people, |it| it.low),
            discriminators_high_pct: of(people, |it| it.high),
            words: is_judged.then(|| found.words()),
        }
    }

    const COLUMNS: [Column<DifferenceView>; 14] = [
        Column::both("method", "test", |it: &DifferenceView| Cell::Word(it.method.to_owned())),
        Column::both("answers", "answers", |it| it.answers.into()),
        Column::both("right", "right", |it| it.right.into()),
        Column::both("p", "p", |it| it.p.into()),
        Column::both("told", "told", |it| it.told.into()),
        Column::both("least_right", "least right", |it| it.least_right.into()),
        Column::both("least_right_at_1_in_100", "at 1 in 100", |it| it.least_right_at_1_in_100.into()),
        Column::both("least_right_at_1_in_1000", "at 1 in 1000", |it| it.least_right_at_1_in_1000.into()),
        Column::both("right_pct", "right %", |it| it.right_pct.into()),
        Column::both("right_low_pct", "low", |it| it.right_low_pct.into()),
        Column::both("right_high_pct", "high", |it| it.right_high_pct.into()),
        Column::both("discriminators_pct", "tell it %", |it| it.discriminators_pct.into()),
        Column::both("discriminators_low_pct", "low", |it| it.discriminators_low_pct.into()),
        Column::both("discriminators_high_pct", "high", |it| it.discriminators_high_pct.into()),
    ];
}
