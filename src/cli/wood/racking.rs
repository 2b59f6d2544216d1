//! `plan racking`: which barrels go into a tank, in which order, with how many litres, and whether it has room.

use serde::Serialize;

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::cellar::jobs::wood::racking::{CAUTION, Racking, RackingAsked, RackingStop};
use crate::cellar::views::books::claims::Broken;
use crate::cellar::views::wood::in_the_tank::SulfurOnTheWay;
use crate::cli::arguments::RackingArguments;
use crate::cli::books::claims::ClaimView;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::rounded;
use crate::cli::topping::plan::{HeldView, SuspectView, place};
use crate::units::{Mass, Volume, VolumeUnit};

/// The plan of a racking, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct RackingView {
    lot: Label,
    to: Label,
    /// The lot that it is in the tank, where that was said.
    into_lot: Option<Label>,
    barrels: Vec<StopView>,
    expected_ul: Volume,
    lees_ul: Volume,
    lees_each_ul: Option<Volume>,
    /// How many rackings of a barrel that is the median of.
    lees_rackings: Option<usize>,
    room_ul: Volume,
    room_after_ul: Volume,
    short_ul: Volume,
    held: Vec<HeldView>,
    suspect: Vec<SuspectView>,
    claims_now: Vec<ClaimView>,
    claims_then: Vec<ClaimView>,
    /// The claims that lots hold now and would hold no longer.
    claims_lost: Vec<String>,
    /// What most of the wine could claim, in a sentence.
    #[serde(skip)]
    label: String,
    so2_on_the_way: Option<SulfurView>,
    #[serde(skip)]
    sulfur: String,
}

/// The sulfur dioxide of what comes together in the tank.
#[derive(Debug, Serialize)]
struct SulfurView {
    volume_ul: Volume,
    free_so2_mg_l: f64,
    oldest_test: When,
    model: &'static str,
    target_mg_l: f64,
    molecular_so2_mg_l: Option<f64>,
    wanted_free_mg_l: Option<f64>,
    metabisulfite_ug: Option<Mass>,
}

/// A barrel of it.
#[derive(Debug, Serialize)]
struct StopView {
    order: usize,
    vessel: Label,
    place: Option<String>,
    expected_ul: Volume,
    sd_ul: Volume,
    lees_ul: Volume,
}

/// Plans what the command line asks for.
pub fn plan(state: &State, asked: &RackingArguments, on: Moment) -> Outcome<Racking> {
    let into = asked.into_lot.as_ref().map(|label| reading::lot(state, label)).transpose()?;
    let rack = |place: &crate::cellar::core::place::RackPlace| {
        let room = reading::room(state, place.room.as_str())?;
        let slots = state.rooms.get(room).rack_slots(place);
        let slots =
            slots.ok_or_else(|| Complaint::from(crate::cellar::core::refusal::Refusal::UnknownRack(place.clone())))?;
        Ok((room, slots))
    };
    let asked = RackingAsked {
        lot: reading::lot(state, &asked.lot)?,
        racks: asked.racks.iter().map(rack).collect::<Outcome<_>>()?,
        to: reading::vessel(state, &asked.to)?,
        into,
    };
    Ok(state.plan_racking(asked, on)?)
}

impl RackingView {
    /// A plan as it is told.
    #[must_use]
    pub fn of(state: &State, plan: &Racking, on: Moment) -> RackingView {
        let tank = state.in_the_tank(plan, on);
        let told = |broken: &Broken| Question::ClaimLost { broken: broken.clone() }.to_string();
        let lot = |lot| state.lots.get(lot).label.clone();
        RackingView {
            lot: lot(plan.asked.lot),
            to: state.vessels.get(plan.asked.to).label.clone(),
            into_lot: plan.asked.into.map(lot),
            barrels: (1..).zip(&plan.stops).map(|(order, stop)| StopView::of(state, order, stop)).collect(),
            expected_ul: plan.expected,
            lees_ul: plan.lees,
            lees_each_ul: plan.lees_found.map(|found| found.each),
            lees_rackings: plan.lees_found.map(|found| found.rackings),
            room_ul: plan.room,
            room_after_ul: plan.room.saturating_sub(plan.expected),
            short_ul: plan.short(),
            held: plan.held.iter().map(|&id| HeldView::of(state, id)).collect(),
            suspect: plan.suspect.iter().map(|&id| SuspectView::of(state, id)).collect(),
            claims_now: tank.before.iter().map(ClaimView::of).collect(),
            claims_then: tank.after.iter().map(ClaimView::of).collect(),
            claims_lost: tank.broken.iter().map(told).collect(),
            label: tank.label_words(),
            sulfur: tank.sulfur_words(state, on),
            so2_on_the_way: tank.sulfur.ok().map(|sulfur| SulfurView::of(&sulfur)),
        }
    }

    /// Gives the plan out; as a spreadsheet, its barrels.
    pub fn write(&self, plan: &Racking, page: &mut Page<'_>) -> Outcome {
        page.report(self, &StopView::columns(), &self.barrels, |page| {
            let litres = |volume: Volume| volume.show(VolumeUnit::Litre, 1);
            let (lot, to) = (harmless(self.lot.as_str()), harmless(self.to.as_str()));
            let barrels = if self.barrels.len() == 1 { "1 barrel" } else { &format!("{} barrels", self.barrels.len()) };
            page.line(&format!("Racking of {lot} into {to}: {barrels}, about {}", litres(self.expected_ul)))?;
            page.line(&if self.short_ul.is_zero() {
                format!("{to} has room for {}; {} is left then.", litres(self.room_ul), litres(self.room_after_ul))
            } else {
                format!("{to} has room for {} and is short by {}.", litres(self.room_ul), litres(self.short_ul))
            })?;
            page.line(&plan.lees_words())?;
            page.line(&harmless(&self.label))?;
            self.claims_lost.iter().try_for_each(|lost| page.line(&harmless(lost)))?;
            page.line(&harmless(&self.sulfur))?;
            page.line(CAUTION)?;
            page.section("to rack, in the order of the walk", &StopView::columns(), &self.barrels)?;
            page.section("held and left out", &HeldView::COLUMNS, &self.held)?;
            page.section("suspect among them", &SuspectView::COLUMNS, &self.suspect)
        })
    }
}

impl SulfurView {
    fn of(sulfur: &SulfurOnTheWay) -> SulfurView {
        let molecular = sulfur.molecular.as_ref().ok();
        SulfurView {
            volume_ul: sulfur.volume,
            free_so2_mg_l: rounded(sulfur.free_mg_l, 1),
            oldest_test: When(sulfur.oldest),
            model: sulfur.model.word(),
            target_mg_l: sulfur.target_mg_l,
            molecular_so2_mg_l: molecular.map(|it| rounded(it.molecular_mg_l, 2)),
            wanted_free_mg_l: molecular.map(|it| rounded(it.wanted_free_mg_l, 1)),
            metabisulfite_ug: molecular.map(|it| it.powder.unwrap_or_default()),
        }
    }
}

impl StopView {
    fn of(state: &State, order: usize, stop: &RackingStop) -> StopView {
        StopView {
            order,
            vessel: state.vessels.get(stop.vessel).label.clone(),
            place: place(state, stop.vessel),
            expected_ul: stop.expected,
            sd_ul: stop.deviation,
            lees_ul: stop.lees,
        }
    }

    fn columns() -> Vec<Column<StopView>> {
        vec![
            Column::both("order", "order", |it: &StopView| it.order.into()),
            Column::both("vessel", "vessel", |it| (&it.vessel).into()),
            Column::both("place", "place", |it| it.place.as_ref().into()),
            Column::program("expected_ul", |it| it.expected_ul.into()),
            Column::program("sd_ul", |it| it.sd_ul.into()),
            Column::people("litres", |it| Cell::Estimate(it.expected_ul, it.sd_ul)),
            Column::both("lees_ul", "lees", |it| it.lees_ul.into()),
        ]
    }
}
