//! The plan of a barrel-down: which barrels to fill, the mix they make beside the wished one, and what stands against it.

use std::time::Duration;

use serde::Serialize;

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::wood::care::{Care, not_done};
use crate::cellar::jobs::wood::racking::CAUTION;
use crate::cellar::views::wood::fill::{FillPlan, FillRequest, Granted, NoFill, PassedOver, Portion, PreparedFill};
use crate::cli::arguments::FillArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::stop::Stop;
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::fill::choose;
use crate::units::{Volume, VolumeUnit};

/// The plan of a barrel-down, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct FillView {
    tank: Label,
    lot: Option<Label>,
    /// The lot that it is in the barrels, where that was said.
    into_lot: Option<Label>,
    barrels: Vec<BarrelView>,
    placed_ul: Volume,
    stays_ul: Volume,
    wishes: Vec<WishView>,
    missed_ul: Volume,
    bound_ul: Volume,
    proved: bool,
    empties: usize,
    held: usize,
    red_wood: usize,
    elsewhere: usize,
    in_work: usize,
    /// What open works are still to take from the tank.
    promised_ul: Volume,
    #[serde(skip)]
    verdict: Option<String>,
}

/// A barrel to fill.
#[derive(Debug, Serialize)]
struct BarrelView {
    order: usize,
    vessel: Label,
    place: Option<String>,
    capacity_ul: Volume,
    fill: u32,
    cooper: Option<Label>,
    forest: Option<Label>,
    grain: Option<Label>,
    seasoning_months: Option<u32>,
    toast: Option<Label>,
    /// What its wood wants first, by the book.
    wants: Vec<Care>,
}

/// A wish and what became of it.
#[derive(Debug, Serialize)]
struct WishView {
    wish: String,
    wanted_ul: Volume,
    volume_ul: Volume,
    share: f64,
    missed_ul: Volume,
    why: Option<String>,
}

impl From<NoFill> for Complaint {
    fn from(refused: NoFill) -> Complaint {
        Complaint::Refused(refused.to_string())
    }
}

/// Plans the barrel-down that the command line asks for.
pub fn plan(state: &State, asked: &FillArguments) -> Outcome<(PreparedFill, FillPlan)> {
    let prepared = state.prepare_fill(request(state, asked)?)?;
    let stop = Stop::within(Duration::from_secs(asked.within.into()));
    let answer = choose(&prepared.question, &|| stop.is_due(), &mut |_| {}).map_err(NoFill::from)?;
    let plan = FillPlan::of(&prepared, answer);
    Ok((prepared, plan))
}

fn request(state: &State, asked: &FillArguments) -> Outcome<FillRequest> {
    let mut wishes = asked.wishes.clone();
    if let Some(label) = &asked.like {
        wishes.extend(state.fill_pattern(reading::lot(state, label)?)?);
    }
    Ok(FillRequest {
        tank: reading::vessel(state, &asked.tank)?,
        portion: match (asked.litres, asked.barrels) {
            (_, Some(count)) => Portion::Barrels(count),
            (Some(volume), None) => Portion::Litres(volume),
            (None, None) => Portion::All,
        },
        wishes,
        room: asked.room.as_ref().map(|label| reading::room(state, label)).transpose()?,
        into: asked.into_lot.as_ref().map(|label| reading::lot(state, label)).transpose()?,
    })
}

impl FillView {
    /// A plan as it is told at a moment.
    #[must_use]
    pub fn of(state: &State, prepared: &PreparedFill, plan: &FillPlan, on: Moment) -> FillView {
        let tank = state.vessels.get(prepared.tank);
        let PassedOver { held, red_wood, elsewhere, in_work } = prepared.passed_over;
        let placed = plan.answer.placed;
        FillView {
            tank: tank.label.clone(),
            lot: tank.lot.map(|lot| state.lots.get(lot).label.clone()),
            into_lot: prepared.into.map(|lot| state.lots.get(lot).label.clone()),
            barrels: (1..).zip(&plan.barrels).map(|(order, &id)| BarrelView::of(state, order, id, on)).collect(),
            placed_ul: placed,
            stays_ul: tank.volume().saturating_sub(placed),
            wishes: plan.wishes.iter().map(|granted| WishView::of(granted, placed)).collect(),
            missed_ul: plan.answer.missed,
            bound_ul: plan.answer.bound,
            proved: plan.answer.proved,
            empties: prepared.empties.len(),
            held,
            red_wood,
            elsewhere,
            in_work,
            promised_ul: prepared.promised,
            verdict: plan.verdict(),
        }
    }

    /// Gives the plan out; as a spreadsheet, the barrels to fill.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &BarrelView::columns(), &self.barrels, |page| {
            page.line(&self.summary())?;
            if let Some(passed) = self.passed_over().words() {
                page.line(&format!("Empties passed over: {passed}."))?;
            }
            if !self.promised_ul.is_zero() {
                page.line(&format!("Open works are still to take {} of it.", litres(self.promised_ul)))?;
            }
            if let Some(verdict) = &self.verdict {
                let more = if self.proved { "" } else { " --within gives more time." };
                page.line(&format!("{verdict}{more}"))?;
            }
            page.line(CAUTION)?;
            page.section("the mix", &WishView::columns(), &self.wishes)?;
            for wish in &self.wishes {
                if let Some(why) = &wish.why {
                    page.line(&harmless(&format!("{}: {why}.", wish.wish)))?;
                }
            }
            page.section("to fill, in the order of the walk", &BarrelView::columns(), &self.barrels)
        })
    }

    fn passed_over(&self) -> PassedOver {
        let FillView { held, red_wood, elsewhere, in_work, .. } = *self;
        PassedOver { held, red_wood, elsewhere, in_work }
    }

    fn summary(&self) -> String {
        let (placed, stays) = (litres(self.placed_ul), litres(self.stays_ul));
        let barrels = match self.barrels.len() {
            1 => "1 barrel".to_owned(),
            many => format!("{many} barrels"),
        };
        let of = match &self.lot {
            Some(lot) => format!("{} ({})", harmless(self.tank.as_str()), harmless(lot.as_str())),
            None => harmless(self.tank.as_str()),
        };
        format!("From {of}: {placed} into {barrels} of {} empties, each filled full; {stays} stay in it.", self.empties)
    }
}

fn litres(volume: Volume) -> String {
    volume.show(VolumeUnit::Litre, 1)
}

impl BarrelView {
    fn of(state: &State, order: usize, id: VesselId, on: Moment) -> BarrelView {
        let vessel = state.vessels.get(id);
        let wood = &vessel.wood;
        BarrelView {
            order,
            vessel: vessel.label.clone(),
            place: state.place_of(vessel).map(|place| place.to_string()),
            capacity_ul: vessel.capacity,
            fill: vessel.fills + 1,
            cooper: wood.cooper.clone(),
            forest: wood.forest.clone(),
            grain: wood.grain.clone(),
            seasoning_months: wood.seasoning_months,
            toast: wood.toast.clone(),
            wants: state.wants_before_wine(id, on),
        }
    }

    fn columns() -> Vec<Column<BarrelView>> {
        vec![
            Column::program("order", |it: &BarrelView| it.order.into()),
            Column::both("vessel", "vessel", |it: &BarrelView| (&it.vessel).into()),
            Column::both("place", "place", |it: &BarrelView| it.place.as_ref().into()),
            Column::both("capacity_ul", "litres", |it: &BarrelView| it.capacity_ul.into()).summed(),
            Column::program("fill", |it: &BarrelView| it.fill.into()),
            Column::people("fill", |it: &BarrelView| if it.fill == 1 { "new".into() } else { it.fill.into() }),
            Column::both("forest", "forest", |it: &BarrelView| it.forest.as_ref().into()).sparse(),
            Column::both("toast", "toast", |it: &BarrelView| it.toast.as_ref().into()).sparse(),
            Column::both("cooper", "cooper", |it: &BarrelView| it.cooper.as_ref().into()).sparse(),
            Column::both("grain", "grain", |it: &BarrelView| it.grain.as_ref().into()).sparse(),
            Column::both("seasoning_months", "seasoned", |it: &BarrelView| it.seasoning_months.into()).sparse(),
            Column::program("wants", |it: &BarrelView| {
                Cell::Text(it.wants.iter().map(|care| care.word()).collect::<Vec<_>>().join(" "))
            }),
            Column::people("wood", |it: &BarrelView| not_done(&it.wants).map(Cell::Text).into()).sparse(),
        ]
    }
}

impl WishView {
    fn of(granted: &Granted, placed: Volume) -> WishView {
        let share = if placed.is_zero() { 0.0 } else { granted.volume.as_litres() / placed.as_litres() };
        WishView {
            wish: granted.wish.to_string(),
            wanted_ul: granted.wanted,
            volume_ul: granted.volume,
            share,
            missed_ul: granted.missed,
            why: granted.why.clone(),
        }
    }

    fn columns() -> Vec<Column<WishView>> {
        vec![
            Column::people("wish", |it: &WishView| Cell::Text(it.wish.clone())),
            Column::people("asked for", |it: &WishView| it.wanted_ul.into()),
            Column::people("reached", |it: &WishView| it.volume_ul.into()),
            Column::people("share", |it: &WishView| Cell::Share(it.share)),
            Column::people(
                "missed by",
                |it: &WishView| if it.why.is_some() { it.missed_ul.into() } else { Cell::Nothing },
            )
            .sparse(),
            Column::people("met", |it: &WishView| Cell::Text(if it.why.is_some() { "no" } else { "yes" }.to_owned())),
        ]
    }
}
