//! How a lot stands to what the law allows, as it is shown.

use super::{value_columns, values};
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::tests::testing::{Analyte, ReadAs};
use crate::cellar::views::floor::lot_review::limits::LimitReview;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::seen::Seen;
use crate::reckon::limits::Judgement;

/// A limit, and how a lot and its vessels stand to it.
type LimitSeen<'a> = Seen<'a, &'a LimitReview>;

/// The columns of limits.
pub fn columns<'a>() -> Vec<Column<LimitSeen<'a>>> {
    vec![
        Column::both("subject", "limited", |it| Cell::Word(it.limit.subject.word().to_owned())),
        // The last result of the lot, of sulfur dioxide with all that was given since.
        Column::people("last", |it: &LimitSeen<'_>| rounded(it.as_read().last.0, 3).into()),
        // What of it was given since it was tested.
        Column::people("given since", |it: &LimitSeen<'_>| Some(it.given_since).filter(|given| *given > 0.0).into())
            .sparse(),
        Column::people("most", |it: &LimitSeen<'_>| rounded(it.as_read().limit.most, 3).into()),
        Column::program("most", |it| rounded(it.limit.most, 3).into()),
        Column::program("amber_from", |it| rounded(it.limit.amber_from(), 3).into()),
        Column::people("unit", |it| it.read_as().unit().into()),
        Column::program("unit", |it| Cell::Word(it.limit.subject.unit().to_owned())),
        Column::program("value", |it| rounded(it.last.0, 3).into()),
        Column::program("given_since", |it| it.given_since.into()),
        Column::both("judgement", "judged", |it| it.last.1.word().into()),
        // The vessels whose own last results are above the limit, and those that are near it.
        Column::people("red", |it: &LimitSeen<'_>| values(it, &it.vessels_read(Judgement::Red))).sparse(),
        Column::people("amber", |it: &LimitSeen<'_>| values(it, &it.vessels_read(Judgement::Amber))).sparse(),
        Column::program("rules", |it| it.state.practice.rules_word().into()),
        Column::both("section", "section", |it| Cell::Word(it.limit.section.to_owned())),
        Column::within("red", |it| it.within(&value_columns(), &it.vessels(Judgement::Red))),
        Column::within("amber", |it| it.within(&value_columns(), &it.vessels(Judgement::Amber))),
    ]
}

impl LimitSeen<'_> {
    /// How the house reads what it is of.
    fn read_as(&self) -> ReadAs {
        self.state.read_as(Analyte::of_subject(self.limit.subject))
    }

    fn as_read(&self) -> LimitReview {
        self.thing.read(self.read_as())
    }

    fn vessels_read(&self, judged: Judgement) -> Vec<(VesselId, f64)> {
        let read = self.read_as();
        self.vessels(judged).into_iter().map(|(id, value)| (id, read.value(value))).collect()
    }

    fn vessels(&self, judged: Judgement) -> Vec<(VesselId, f64)> {
        let of_it = self.beyond_fine.iter().filter(|&&(.., judgement)| judgement == judged);
        of_it.map(|&(id, value, _)| (id, value)).collect()
    }
}
