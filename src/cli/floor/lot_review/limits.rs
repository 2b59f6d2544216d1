//! How a lot stands to what the law allows, as it is shown.

use serde::Serialize;

use super::VesselValue;
use crate::cellar::core::state::State;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::cellar::views::floor::lot_review::limits::LimitReview;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::tests::sulfur::rounded;
use crate::reckon::limits::Judgement;

/// A limit, and how a lot and its vessels stand to it.
#[derive(Debug, Serialize)]
pub struct LimitView {
    subject: &'static str,
    most: f64,
    amber_from: f64,
    unit: &'static str,
    /// The last result of the lot, of sulfur dioxide with all that was given since.
    value: f64,
    /// What of it was given since it was tested.
    given_since: f64,
    judgement: &'static str,
    rules: &'static str,
    section: &'static str,
    /// The vessels whose own last results are above the limit.
    red: Vec<VesselValue>,
    /// Those that are near it.
    amber: Vec<VesselValue>,
}

impl LimitView {
    /// The limits of what was tested.
    #[must_use]
    pub fn all(state: &State, review: &LotReview) -> Vec<LimitView> {
        review.limits.iter().map(|judged| LimitView::of(state, judged)).collect()
    }

    fn of(state: &State, judged: &LimitReview) -> LimitView {
        let (limit, (value, judgement)) = (judged.limit, judged.last);
        let vessels = |worse| {
            let of_it = judged.beyond_fine.iter().filter(|&&(.., judgement)| judgement == worse);
            VesselValue::all(state, &of_it.map(|&(id, value, _)| (id, value)).collect::<Vec<_>>())
        };
        LimitView {
            subject: limit.subject.word(),
            most: rounded(limit.most, 3),
            amber_from: rounded(limit.amber_from(), 3),
            unit: limit.subject.unit(),
            value: rounded(value, 3),
            given_since: judged.given_since,
            judgement: judgement.word(),
            rules: state.practice.rules_word(),
            section: limit.section,
            red: vessels(Judgement::Red),
            amber: vessels(Judgement::Amber),
        }
    }

    /// The columns for people.
    pub const COLUMNS: [Column<Self>; 9] = [
        Column::people("limited", |it| Cell::Word(it.subject.to_owned())),
        Column::people("last", |it| it.value.into()),
        Column::people("given since", |it: &LimitView| Some(it.given_since).filter(|given| *given > 0.0).into())
            .sparse(),
        Column::people("most", |it| it.most.into()),
        Column::people("unit", |it| Cell::Word(it.unit.to_owned())),
        Column::people("judged", |it| it.judgement.into()),
        Column::people("red", |it: &LimitView| super::values(&it.red)).sparse(),
        Column::people("amber", |it: &LimitView| super::values(&it.amber)).sparse(),
        Column::people("section", |it| Cell::Word(it.section.to_owned())),
    ];
}
