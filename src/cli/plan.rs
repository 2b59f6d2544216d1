//! The plan of a round: where to walk, and how much to carry.

use serde::Serialize;

use super::cell::Cell;
use super::column::Column;
use super::complaint::Outcome;
use super::page::Page;
use crate::cellar::label::{Label, Text, harmless};
use crate::cellar::moment::Moment;
use crate::cellar::plan::Stop;
use crate::cellar::state::{RoomId, State, VesselId};
use crate::reckon::due::Due;
use crate::units::{Volume, VolumeUnit};

/// The plan of a round, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct PlanView {
    room: Label,
    barrels: Vec<StopView>,
    expected_ul: Volume,
    carry_ul: Volume,
    held: Vec<HeldView>,
    sources: Vec<SourceView>,
}

/// A barrel to top.
#[derive(Debug, Serialize)]
struct StopView {
    vessel: Label,
    place: Option<String>,
    lot: Option<Label>,
    expected_ul: Volume,
    sd_ul: Volume,
    days_since_topped: Option<i64>,
    due: Option<&'static str>,
}

/// A barrel that is held back.
#[derive(Debug, Serialize)]
struct HeldView {
    vessel: Label,
    place: Option<String>,
    held_why: Option<Text>,
}

/// A vessel that could be topped from.
#[derive(Debug, Serialize)]
struct SourceView {
    vessel: Label,
    lot: Option<Label>,
    volume_ul: Volume,
}

impl PlanView {
    /// The plan of a round of a room at a moment.
    #[must_use]
    pub fn of(state: &State, room: RoomId, on: Moment) -> PlanView {
        let plan = state.plan_round(room, on);
        PlanView {
            room: state.rooms.get(room).label.clone(),
            barrels: plan.stops.iter().map(|stop| StopView::of(state, stop, on)).collect(),
            expected_ul: plan.expected,
            carry_ul: plan.carry,
            held: plan.held.iter().map(|&id| HeldView::of(state, id)).collect(),
            sources: plan.sources.iter().map(|&id| SourceView::of(state, id)).collect(),
        }
    }

    /// Gives the plan out; as a spreadsheet, the barrels to top.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &StopView::columns(), &self.barrels, |page| {
            let litres = |volume: Volume| volume.show(VolumeUnit::Litre, 1);
            let (expected, carry) = (litres(self.expected_ul), litres(self.carry_ul));
            let room = harmless(self.room.as_str());
            match self.barrels.len() {
                0 => page.line(&format!("There is nothing to top in {room}."))?,
                1 => page.line(&format!("Round of {room}: 1 barrel, {expected} expected, carry {carry}"))?,
                many => page.line(&format!("Round of {room}: {many} barrels, {expected} expected, carry {carry}"))?,
            }
            page.section("to top, in walking order", &StopView::columns(), &self.barrels)?;
            page.section("held back", &HeldView::COLUMNS, &self.held)?;
            page.section("could be topped from", &SourceView::COLUMNS, &self.sources)
        })
    }
}

fn place(state: &State, id: VesselId) -> Option<String> {
    state.place_of(state.vessels.get(id)).map(|place| place.to_string())
}

fn lot(state: &State, id: VesselId) -> Option<Label> {
    state.vessels.get(id).lot.map(|lot| state.lots.get(lot).label.clone())
}

impl StopView {
    fn of(state: &State, stop: &Stop, on: Moment) -> StopView {
        let vessel = state.vessels.get(stop.vessel);
        StopView {
            vessel: vessel.label.clone(),
            place: place(state, stop.vessel),
            lot: lot(state, stop.vessel),
            expected_ul: stop.expected,
            sd_ul: stop.deviation,
            days_since_topped: vessel.last_topped.map(|topped| on.days_since(topped)),
            due: state.due(vessel, on).map(Due::word),
        }
    }

    fn columns() -> Vec<Column<StopView>> {
        vec![
            Column::both("vessel", "vessel", |it: &StopView| (&it.vessel).into()),
            Column::both("place", "place", |it| it.place.as_ref().into()),
            Column::both("lot", "lot", |it| it.lot.as_ref().into()),
            Column::program("expected_ul", |it| it.expected_ul.into()),
            Column::program("sd_ul", |it| it.sd_ul.into()),
            Column::people("litres", |it| Cell::Estimate(it.expected_ul, it.sd_ul)),
            Column::both("days_since_topped", "days", |it| it.days_since_topped.into()),
            Column::both("due", "due", |it| it.due.map(|word| Cell::Word(word.to_owned())).into()),
        ]
    }
}

impl HeldView {
    fn of(state: &State, id: VesselId) -> HeldView {
        let vessel = state.vessels.get(id);
        HeldView {
            vessel: vessel.label.clone(),
            place: place(state, id),
            held_why: vessel.held.as_ref().map(|hold| hold.why.clone()),
        }
    }

    const COLUMNS: [Column<HeldView>; 3] = [
        Column::people("vessel", |it: &HeldView| Cell::Text(it.vessel.to_string())),
        Column::people("place", |it| it.place.as_ref().into()),
        Column::people("why", |it| it.held_why.as_ref().into()),
    ];
}

impl SourceView {
    fn of(state: &State, id: VesselId) -> SourceView {
        let vessel = state.vessels.get(id);
        SourceView { vessel: vessel.label.clone(), lot: lot(state, id), volume_ul: vessel.volume() }
    }

    const COLUMNS: [Column<SourceView>; 3] = [
        Column::people("vessel", |it: &SourceView| Cell::Text(it.vessel.to_string())),
        Column::people("lot", |it| it.lot.as_ref().into()),
        Column::people("litres", |it| it.volume_ul.into()),
    ];
}
