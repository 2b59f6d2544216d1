//! Lots as they are listed and shown.

use serde::Serialize;

use super::composition::{OriginShare, composition, in_one_cell};
use super::lot_review::{MixView, ReviewView};
use super::vessel::VesselView;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::floor::lot::{Colour, Stage};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::cli::core::complaint::Outcome;
use crate::cli::finish::filtration::FiltrationView;
use crate::cli::finish::fining_trial::FiningDoneView;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::units::Volume;

/// A lot at a moment, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct LotView {
    lot: Label,
    colour: Colour,
    stage: Option<Stage>,
    stage_since: Option<When>,
    round_days: Option<u32>,
    opened: When,
    volume_ul: Volume,
    barrels: usize,
    vessels: usize,
    due: usize,
    over: usize,
    held: usize,
    rooms: Vec<Label>,
    estimated_ul: Volume,
    new_wood_share: Option<f64>,
    /// The mean over the litres in barrels.
    days_in_wood: Option<f64>,
    /// The score in the middle of the last tastes.
    median_score: Option<f64>,
    free_so2_mg_l: Option<f64>,
    last_tested: Option<When>,
    evaporated_ul: Volume,
    composition: Vec<OriginShare>,
}

/// A lot with all that is known of it.
#[derive(Debug, Serialize)]
pub struct LotCard {
    #[serde(flatten)]
    lot: LotView,
    barrel_mix: MixView,
    #[serde(flatten)]
    review: ReviewView,
    finings: Vec<FiningDoneView>,
    filtrations: Vec<FiltrationView>,
    in_vessels: Vec<VesselView>,
}

impl LotView {
    fn of(state: &State, review: &LotReview) -> LotView {
        let lot = state.lots.get(review.lot);
        let composition = composition(state, &wine_of(state, &review.vessels));
        let free = review.readings.iter().find(|reading| reading.analyte == Analyte::FreeSo2);
        let last_tested = review.readings.iter().map(|reading| reading.last.at).max_by_key(|at| at.instant());
        LotView {
            lot: lot.label.clone(),
            colour: lot.colour,
            stage: lot.stage.map(|(stage, _)| stage),
            stage_since: lot.stage.map(|(_, since)| When(since)),
            round_days: lot.own_round_days(),
            opened: When(lot.opened),
            volume_ul: review.book,
            barrels: review.barrels,
            vessels: review.vessels.len(),
            due: review.due,
            over: review.over,
            held: review.held.len(),
            rooms: rooms_of(state, &review.vessels),
            estimated_ul: review.estimated,
            new_wood_share: review.mix.new_wood_share(),
            days_in_wood: review.in_wood.map(|days| (days.mean * 10.0).round() / 10.0),
            median_score: review.tastes.spread.map(|spread| spread.median),
            free_so2_mg_l: free.map(|free| free.last.value),
            last_tested: last_tested.map(When),
            evaporated_ul: review.evaporated,
            composition,
        }
    }

    /// The columns of a list of lots.
    #[must_use]
    pub fn columns() -> Vec<Column<LotView>> {
        vec![
            Column::both("lot", "lot", |it| (&it.lot).into()),
            Column::both("colour", "colour", |it| Cell::word(&it.colour)),
            Column::both("stage", "stage", |it| Cell::word(&it.stage)),
            Column::program("stage_since", |it| it.stage_since.into()),
            Column::both("round_days", "every", |it| it.round_days.into()),
            Column::program("opened", |it| it.opened.into()),
            Column::both("volume_ul", "litres", |it: &LotView| it.volume_ul.into()).summed(),
            Column::program("estimated_ul", |it| it.estimated_ul.into()),
            Column::both("barrels", "barrels", |it: &LotView| it.barrels.into()).summed(),
            Column::program("vessels", |it| it.vessels.into()),
            Column::both("due", "due", |it: &LotView| it.due.into()).summed(),
            Column::both("over", "over", |it: &LotView| it.over.into()).summed(),
            Column::both("held", "held", |it: &LotView| it.held.into()).summed(),
            Column::program("new_wood_share", |it| share(it.new_wood_share)),
            Column::program("days_in_wood", |it| it.days_in_wood.into()),
            Column::program("median_score", |it| it.median_score.into()),
            Column::program("free_so2_mg_l", |it| it.free_so2_mg_l.into()),
            Column::program("last_tested", |it| it.last_tested.into()),
            Column::program("evaporated_ul", |it| it.evaporated_ul.into()),
            Column::both("rooms", "rooms", |it| labels(&it.rooms)),
            Column::program("composition", |it: &LotView| in_one_cell(&it.composition)).nested(),
        ]
    }
}

fn share(share: Option<f64>) -> Cell {
    share.map_or(Cell::Nothing, Cell::Share)
}

/// The rooms that some vessels lie in, in the order in which the rooms were laid out.
fn rooms_of(state: &State, vessels: &[VesselId]) -> Vec<Label> {
    let room_of = |id: &VesselId| state.vessels.get(*id).slot.map(|slot| slot.room);
    let lies_in = |room| vessels.iter().any(|id| room_of(id) == Some(room));
    state.rooms.iter().filter(|(id, _)| lies_in(*id)).map(|(_, room)| room.label.clone()).collect()
}

fn labels(labels: &[Label]) -> Cell {
    match labels {
        [] => Cell::Nothing,
        labels => Cell::Text(labels.iter().map(Label::as_str).collect::<Vec<_>>().join(", ")),
    }
}

/// Every lot of the cellar.
#[must_use]
pub fn all_lots(state: &State, on: Moment) -> Vec<LotView> {
    state.reviews(on).iter().map(|review| LotView::of(state, review)).collect()
}

/// All wine of some vessels together.
#[must_use]
pub fn wine_of(state: &State, vessels: &[VesselId]) -> Wine {
    let mut wine = Wine::default();
    for &id in vessels {
        wine.mix(&state.vessels.get(id).wine);
    }
    wine
}

impl LotCard {
    /// A lot at a moment, with all that is known of it.
    #[must_use]
    pub fn of(state: &State, id: LotId, on: Moment) -> LotCard {
        let review = state.review(id, on);
        let in_vessels = review.vessels.iter().map(|&id| VesselView::of(state, state.vessels.get(id), on)).collect();
        LotCard {
            lot: LotView::of(state, &review),
            barrel_mix: MixView::of(&review.mix),
            review: ReviewView::of(state, &review, on),
            finings: state.finings_of(id).map(|done| FiningDoneView::of(state, done)).collect(),
            filtrations: state.filtrations_of(id).map(|filtration| FiltrationView::of(state, filtration)).collect(),
            in_vessels,
        }
    }

    /// Gives the card out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &LotView::columns(), std::slice::from_ref(&self.lot), |page| {
            page.card(&LotView::columns(), &self.lot, |page| {
                page.section("composition", &OriginShare::COLUMNS, &self.lot.composition)?;
                self.barrel_mix.write(page)?;
                self.review.write(page)?;
                page.section("fined", &FiningDoneView::COLUMNS, &self.finings)?;
                page.section("filtered", &FiltrationView::COLUMNS, &self.filtrations)?;
                page.section("in vessels", &VesselView::columns(), &self.in_vessels)
            })
        })
    }
}
