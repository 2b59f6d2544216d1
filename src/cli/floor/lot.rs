//! Lots as they are listed and shown.

use super::composition::part_columns;
use super::lot_review::{card_columns, write_mix, write_review};
use super::vessel;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{Lot, LotId, State};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::cli::core::complaint::Outcome;
use crate::cli::finish::{filtration, fining_trial};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};

/// A lot as it is told at a moment.
pub type LotSeen<'a> = Seen<'a, LotReview>;

/// Every lot of the cellar.
#[must_use]
pub fn all(state: &State, on: Moment) -> Vec<LotSeen<'_>> {
    seen(state, on, state.reviews(on))
}

/// A lot of the cellar.
#[must_use]
pub fn told(state: &State, lot: LotId, on: Moment) -> LotSeen<'_> {
    Seen { state, on, thing: state.review(lot, on) }
}

/// The columns of a list of lots.
#[must_use]
pub fn columns<'a>() -> Vec<Column<LotSeen<'a>>> {
    vec![
        Column::both("lot", "lot", |it| (&it.kept().label).into()),
        Column::both("colour", "colour", |it| Cell::word(&it.kept().colour)),
        Column::both("stage", "stage", |it| Cell::word(&it.kept().stage.map(|(stage, _)| stage))),
        Column::program("stage_since", |it| it.kept().stage.map(|(_, since)| since).into()),
        Column::both("round_days", "every", |it| it.kept().own_round_days().into()),
        Column::program("opened", |it| it.kept().opened.into()),
        Column::both("volume_ul", "litres", |it: &LotSeen<'_>| it.book.into()).summed(),
        Column::program("estimated_ul", |it: &LotSeen<'_>| it.estimated.into()).elsewhere(),
        Column::both("barrels", "barrels", |it: &LotSeen<'_>| it.barrels.into()).summed(),
        Column::program("vessels", |it| it.vessels.len().into()),
        Column::both("due", "due", |it: &LotSeen<'_>| it.due.into()).summed(),
        Column::both("over", "over", |it: &LotSeen<'_>| it.over.into()).summed(),
        Column::both("held", "held", |it: &LotSeen<'_>| it.held.len().into()).summed(),
        Column::within("rooms", |it| Cell::list(it.rooms())),
        Column::within("estimated_ul", |it| it.estimated.into()),
        Column::program("new_wood_share", |it| it.mix.new_wood_share().map_or(Cell::Nothing, Cell::Share)),
        // The mean over the litres in barrels.
        Column::program("days_in_wood", |it| it.in_wood.map(|days| rounded(days.mean, 1)).into()),
        // The score in the middle of the last tastes.
        Column::program("median_score", |it| it.tastes.spread.map(|spread| spread.median).into()),
        Column::program("free_so2_mg_l", |it| {
            let free = it.readings.iter().find(|reading| reading.analyte == Analyte::FreeSo2);
            free.map(|free| free.last.value).into()
        }),
        Column::program("last_tested", |it| {
            it.readings.iter().map(|reading| reading.last.at).max_by_key(|at| at.instant()).into()
        }),
        Column::program("evaporated_ul", |it| it.evaporated.into()),
        Column::program("organic_grapes", |it| it.organic.is_some().into()),
        Column::both("rooms", "rooms", |it: &LotSeen<'_>| Cell::list(it.rooms())).elsewhere(),
        Column::program("composition", |it: &LotSeen<'_>| it.wine_in_one_cell(&it.all_wine()))
            .nested()
            .whole(|it| it.wine(&it.all_wine())),
    ]
}

impl LotSeen<'_> {
    fn kept(&self) -> &Lot {
        self.state.lots.get(self.thing.lot)
    }

    /// The rooms that its vessels lie in, in the order in which the rooms were laid out.
    fn rooms(&self) -> impl Iterator<Item = &Label> {
        let room_of = |id| self.state.vessels.get(id).slot.map(|slot| slot.room);
        let lies_in = move |room| self.vessels.iter().any(|&id| room_of(id) == Some(room));
        self.state.rooms.iter().filter(move |(id, _)| lies_in(*id)).map(|(_, room)| &room.label)
    }

    /// The wine of all its vessels together.
    fn all_wine(&self) -> Wine {
        let mut wine = Wine::default();
        self.vessels.iter().for_each(|&id| wine.mix(&self.state.vessels.get(id).wine));
        wine
    }

    /// Gives its card out, with all that is known of it.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let (state, on, lot) = (self.state, self.on, self.thing.lot);
        let vessels = vessel::these(state, &self.vessels, on);
        page.report((&card_columns(), self), (&vessel::columns(), &vessels), |page| {
            page.pairs_of(&card_columns(), self)?;
            page.section("composition", &part_columns(), &self.parts(&self.all_wine()))?;
            write_mix(&self.mix, page)?;
            write_review(self, page)?;
            page.section("fined", &fining_trial::done_columns(), &seen(state, on, state.finings_of(lot)))?;
            page.section("filtered", &filtration::columns(), &seen(state, on, state.filtrations_of(lot)))?;
            page.section("in vessels", &vessel::columns(), &vessels)
        })
    }
}
