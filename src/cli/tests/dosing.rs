//! `plan sulfur`: which barrels are given how much sulfur dioxide, in the order of the walk, and what is to be weighed out.

use std::ops::Range;

use serde::Serialize;

use super::sulfur::{below, rounded};
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::place::RackPlace;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RoomId, State, VesselId};
use crate::cellar::views::tests::dosing::{Dosed, Dosing, DosingAsked, DosingStop};
use crate::cli::arguments::DosingArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::topping::plan::place;
use crate::reckon::sulfur::{CAUTION, Form, Model, USUAL_BOUND_SHARE};
use crate::units::{Mass, Volume, VolumeUnit};

/// A work list of sulfur dioxide, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct DosingView {
    lot: Option<Label>,
    goal: String,
    model: &'static str,
    form: &'static str,
    strength_pct: Option<f64>,
    material: &'static str,
    bound_pct: f64,
    #[serde(skip)]
    counted: String,
    barrels: Vec<StopView>,
    volume_ul: Volume,
    amount_ug: Mass,
    solution_ul: Option<Volume>,
    total_so2: String,
    note: Option<String>,
    left_out: Vec<LeftOutView>,
    caution: &'static str,
}

/// A vessel of it.
#[derive(Debug, Serialize)]
struct StopView {
    order: usize,
    vessel: Label,
    place: Option<String>,
    volume_ul: Volume,
    free_so2_mg_l: Option<f64>,
    tested: Option<When>,
    tested_days: Option<i64>,
    tested_of: Option<&'static str>,
    given_since_mg_l: f64,
    free_now_mg_l: Option<f64>,
    free_now_low_mg_l: Option<f64>,
    free_now_high_mg_l: Option<f64>,
    ph: Option<f64>,
    ph_days: Option<i64>,
    ph_of: Option<&'static str>,
    model: &'static str,
    molecular_so2_mg_l: Option<f64>,
    wanted_free_mg_l: Option<f64>,
    amount_ug: Mass,
    solution_ul: Option<Volume>,
    free_then_mg_l: Option<f64>,
    molecular_then_mg_l: Option<f64>,
    total_so2_mg_l: Option<f64>,
    total_days: Option<i64>,
    total_of: Option<&'static str>,
    total_now_mg_l: Option<f64>,
    total_rise_mg_l: f64,
    total_then_mg_l: Option<f64>,
    total_limit_mg_l: Option<f64>,
    judgement: Option<&'static str>,
    section: Option<&'static str>,
}

/// A vessel that is left out.
#[derive(Debug, Serialize)]
struct LeftOutView {
    vessel: Label,
    place: Option<String>,
    why: String,
}

/// Plans what the command line asks for.
pub fn plan(state: &State, asked: &DosingArguments, on: Moment) -> Outcome<Dosing> {
    let slots = |place: &RackPlace, whole_stack: bool| -> Outcome<(RoomId, Range<usize>)> {
        let id = reading::room(state, place.room.as_str())?;
        let room = state.rooms.get(id);
        let rack = room.rack_slots(place);
        let tiers = room.rows.iter().find(|row| row.row == place.row).map_or(1, |row| usize::from(row.tiers));
        let rack = rack.ok_or_else(|| Complaint::from(Refusal::UnknownRack(place.clone())))?;
        let tiers = if whole_stack { tiers } else { 1 };
        Ok((id, rack.start..rack.start + rack.len() * tiers))
    };
    let racks = asked.racks.iter().map(|place| slots(place, false));
    let stacks = asked.stacks.iter().map(|place| slots(place, true));
    let of = Dosed {
        lot: asked.lot.as_ref().map(|label| reading::lot(state, label)).transpose()?,
        slots: racks.chain(stacks).collect::<Outcome<_>>()?,
        vessels: asked.vessels.iter().map(|label| reading::vessel(state, label)).collect::<Outcome<_>>()?,
    };
    let asked = DosingAsked {
        of,
        goal: asked.goal(state.practice.molecular_so2_mg_l),
        form: asked.form,
        per: asked.per.into(),
        bound_share: asked.bound.unwrap_or(USUAL_BOUND_SHARE),
    };
    Ok(state.plan_dosing(asked, on)?)
}

impl DosingView {
    /// A plan as it is told.
    #[must_use]
    pub fn of(state: &State, plan: &Dosing, on: Moment) -> DosingView {
        let strength_pct = match plan.asked.form {
            Form::Solution(solution) => Some(solution.percent()),
            Form::Gas | Form::Powder | Form::Sulfur => None,
        };
        let left_out = |(id, why): &(VesselId, crate::cellar::views::tests::dosing::LeftOut)| LeftOutView {
            vessel: state.vessels.get(*id).label.clone(),
            place: place(state, *id),
            why: why.to_string(),
        };
        DosingView {
            lot: plan.asked.of.lot.map(|lot| state.lots.get(lot).label.clone()),
            goal: plan.asked.goal.words(plan.model),
            model: plan.model.word(),
            form: plan.asked.form.word(),
            strength_pct,
            material: plan.asked.form.material().word(),
            bound_pct: rounded(plan.asked.bound_share * 100.0, 1),
            counted: plan.counted(state),
            barrels: (1..)
                .zip(&plan.stops)
                .map(|(order, stop)| StopView::of(state, order, stop, plan.model, on))
                .collect(),
            volume_ul: plan.stops.iter().map(|stop| stop.holds).sum(),
            amount_ug: plan.amount,
            solution_ul: plan.solution,
            total_so2: plan.total_words(state, on),
            note: plan.beyond().map(|beyond| beyond.to_string()),
            left_out: plan.left_out.iter().map(left_out).collect(),
            caution: CAUTION,
        }
    }

    /// Gives the plan out; as a spreadsheet, its barrels.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let measured = self.solution_ul.is_some();
        page.report(self, &StopView::columns(measured), &self.barrels, |page| {
            let of = self.lot.as_ref().map_or_else(String::new, |lot| format!(" for {}", harmless(lot.as_str())));
            let litres = self.volume_ul.show(VolumeUnit::Litre, 0);
            page.line(&format!("Sulfur dioxide{of}: {}, {litres}, {}", self.counted, self.goal))?;
            page.line(&self.weighed())?;
            page.line(&format!(
                "Of an addition {} % is taken to be bound at once: test before and some days after.",
                self.bound_pct
            ))?;
            if !self.barrels.is_empty() {
                page.line(&harmless(&self.total_so2))?;
            }
            self.note.iter().try_for_each(|note| page.line(&format!("Note: {note}.")))?;
            page.section("to treat, in the order of the walk", &StopView::columns(measured), &self.barrels)?;
            page.section("left out", &LeftOutView::COLUMNS, &self.left_out)?;
            below(page, CAUTION)
        })
    }

    /// What is measured or weighed out in all.
    fn weighed(&self) -> String {
        let grams = self.amount_ug.show(1);
        match (self.solution_ul, self.strength_pct) {
            (Some(volume), Some(strength)) => format!(
                "Measure out {} of a {strength} % solution in all: {grams} of {} are in it.",
                volume.show(VolumeUnit::Millilitre, 0),
                self.material
            ),
            _ => format!("Weigh out {grams} of {} in all.", self.material),
        }
    }
}

impl StopView {
    fn of(state: &State, order: usize, stop: &DosingStop, model: Model, on: Moment) -> StopView {
        let known = &stop.known;
        let round = |value: Option<f64>, decimals| value.map(|value| rounded(value, decimals));
        StopView {
            order,
            vessel: state.vessels.get(stop.vessel).label.clone(),
            place: place(state, stop.vessel),
            volume_ul: stop.holds,
            free_so2_mg_l: known.free.map(|found| found.value),
            tested: known.free.map(|found| When(found.at)),
            tested_days: known.free.map(|found| on.days_since(found.at)),
            tested_of: known.free.map(|found| found.of.word()),
            given_since_mg_l: rounded(known.given_since_free, 1),
            free_now_mg_l: round(known.free_now.map(|now| now.free_mg_l), 1),
            free_now_low_mg_l: round(known.free_now.map(|now| now.low_mg_l), 1),
            free_now_high_mg_l: round(known.free_now.map(|now| now.high_mg_l), 1),
            ph: known.ph.map(|found| found.value),
            ph_days: known.ph.map(|found| on.days_since(found.at)),
            ph_of: known.ph.map(|found| found.of.word()),
            model: model.word(),
            molecular_so2_mg_l: round(stop.molecular_mg_l, 2),
            wanted_free_mg_l: round(stop.wanted_free_mg_l, 1),
            amount_ug: stop.amount,
            solution_ul: stop.solution,
            free_then_mg_l: round(stop.free_then_mg_l, 1),
            molecular_then_mg_l: round(stop.molecular_then_mg_l, 2),
            total_so2_mg_l: known.total.map(|found| found.value),
            total_days: known.total.map(|found| on.days_since(found.at)),
            total_of: known.total.map(|found| found.of.word()),
            total_now_mg_l: round(known.total_now, 1),
            total_rise_mg_l: rounded(stop.total_rise_mg_l, 1),
            total_then_mg_l: round(stop.total_then_mg_l, 0),
            total_limit_mg_l: stop.judged.map(|(limit, _)| limit.most),
            judgement: stop.judged.map(|(_, judgement)| judgement.word()),
            section: stop.judged.map(|(limit, _)| limit.section),
        }
    }

    fn columns(measured: bool) -> Vec<Column<StopView>> {
        // People measure a solution and weigh everything else.
        let dose = if measured {
            Column::people("mL", |it: &StopView| it.solution_ul.map_or(Cell::Nothing, Cell::Measured))
        } else {
            Column::people("grams", |it: &StopView| it.amount_ug.into())
        };
        vec![
            Column::both("order", "order", |it: &StopView| it.order.into()),
            Column::both("vessel", "vessel", |it| (&it.vessel).into()),
            Column::both("place", "place", |it| it.place.as_ref().into()),
            dose,
            Column::both("volume_ul", "litres", |it| it.volume_ul.into()),
            Column::both("free_so2_mg_l", "free", |it| it.free_so2_mg_l.into()),
            Column::people("tested", StopView::test),
            Column::program("tested", |it| it.tested.into()),
            Column::program("tested_days", |it| it.tested_days.into()),
            Column::program("tested_of", |it| it.tested_of.into()),
            Column::people("given since", |it: &StopView| {
                Some(it.given_since_mg_l).filter(|given| *given > 0.0).into()
            })
            .sparse(),
            Column::program("given_since_mg_l", |it| it.given_since_mg_l.into()),
            Column::both("free_now_mg_l", "now", |it| it.free_now_mg_l.into()),
            Column::program("free_now_low_mg_l", |it| it.free_now_low_mg_l.into()),
            Column::program("free_now_high_mg_l", |it| it.free_now_high_mg_l.into()),
            Column::people("pH", StopView::ph_tested),
            Column::program("ph", |it| it.ph.into()),
            Column::program("ph_days", |it| it.ph_days.into()),
            Column::program("ph_of", |it| it.ph_of.into()),
            Column::program("model", |it| it.model.into()),
            Column::program("molecular_so2_mg_l", |it| it.molecular_so2_mg_l.into()),
            Column::people("molecular", |it| it.by_model(it.molecular_so2_mg_l)),
            Column::both("wanted_free_mg_l", "wanted", |it: &StopView| it.wanted_free_mg_l.into()).sparse(),
            Column::program("amount_ug", |it| it.amount_ug.into()),
            Column::program("solution_ul", |it| it.solution_ul.into()),
            Column::both("free_then_mg_l", "free then", |it| it.free_then_mg_l.into()),
            Column::program("molecular_then_mg_l", |it| it.molecular_then_mg_l.into()),
            Column::people("molecular then", |it| it.by_model(it.molecular_then_mg_l)),
            Column::program("total_so2_mg_l", |it| it.total_so2_mg_l.into()),
            Column::program("total_days", |it| it.total_days.into()),
            Column::program("total_of", |it| it.total_of.into()),
            Column::program("total_now_mg_l", |it| it.total_now_mg_l.into()),
            Column::program("total_rise_mg_l", |it| it.total_rise_mg_l.into()),
            Column::both("total_then_mg_l", "total then", |it: &StopView| it.total_then_mg_l.into()).sparse(),
            Column::program("total_limit_mg_l", |it| it.total_limit_mg_l.into()),
            Column::both("judgement", "judged", |it: &StopView| it.judgement.into()).sparse(),
            Column::program("section", |it| it.section.into()),
        ]
    }

    /// Whose test the free is from, and how old that is.
    fn test(&self) -> Cell {
        let told = self.tested_of.zip(self.tested_days).map(|(of, days)| format!("{of}, {days} d"));
        told.map_or(Cell::Nothing, Cell::Text)
    }

    /// The pH, and where it is of another test than the free, of which and how old.
    fn ph_tested(&self) -> Cell {
        let Some(((ph, of), days)) = self.ph.zip(self.ph_of).zip(self.ph_days) else { return Cell::Nothing };
        let same = (self.tested_of, self.tested_days) == (Some(of), Some(days));
        Cell::Text(if same { ph.to_string() } else { format!("{ph} {of}, {days} d") })
    }

    /// Molecular with the name of its model.
    fn by_model(&self, molecular: Option<f64>) -> Cell {
        molecular.map_or(Cell::Nothing, |molecular| Cell::Text(format!("{molecular:.2} {}", self.model)))
    }
}

impl LeftOutView {
    const COLUMNS: [Column<LeftOutView>; 3] = [
        Column::both("vessel", "vessel", |it: &LeftOutView| (&it.vessel).into()),
        Column::both("place", "place", |it| it.place.as_ref().into()),
        Column::both("why", "why", |it| (&it.why).into()),
    ];
}
