//! `plan sulfur`: which barrels are given how much sulfur dioxide, in the order of the walk, and what is to be weighed out.

use std::ops::Range;

use super::sulfur::strength_pct;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::place::RackPlace;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RoomId, State, VesselId};
use crate::cellar::jobs::tests::sulfuring::{Found, SulfurKnown};
use crate::cellar::views::tests::dosing::{Dosed, Dosing, DosingAsked, DosingStop, LeftOut};
use crate::cli::arguments::DosingArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::reckon::sulfur::{Model, USUAL_BOUND_SHARE};
use crate::told::hazard::{Caution, Hazard};
use crate::told::tests::bound_at_once;
use crate::units::{Volume, figure, figure_to, millilitres, weighed, whole_litres};

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

/// A work list of sulfur dioxide.
type DosingSeen<'a> = Seen<'a, &'a Dosing>;

fn columns<'a>() -> Vec<Column<DosingSeen<'a>>> {
    vec![
        Column::program("lot", |it: &DosingSeen<'_>| it.lot(it.asked.of.lot)),
        Column::program("goal", |it| it.goal().into()),
        Column::program("model", |it| it.model.word().into()),
        Column::program("form", |it| it.asked.form.word().into()),
        Column::program("strength_pct", |it| strength_pct(it.asked.form).into()),
        Column::program("material", |it| it.asked.form.material().word().into()),
        Column::program("bound_pct", |it| it.bound_pct().into()),
        Column::within("barrels", |it| Cell::things(&stop_columns(false), it.stops())),
        Column::program("volume_ul", |it| it.volume().into()),
        Column::program("amount_ug", |it| it.amount.into()),
        Column::program("solution_ul", |it| it.solution.into()),
        Column::program("total_so2", |it| it.total_words(it.state, it.on).into()),
        Column::program("organic", |it| it.organic_words(it.state).into()),
        Column::program("note", |it| it.beyond().map(|beyond| beyond.to_string()).into()),
        Column::within("left_out", |it| it.within(&left_out_columns(), &it.left_out)),
        Column::program("caution", |_| caution().words().into()),
    ]
}

impl<'a> DosingSeen<'a> {
    fn goal(&self) -> String {
        self.asked.goal.words(self.model)
    }

    fn bound_pct(&self) -> f64 {
        rounded(self.asked.bound_share * 100.0, 1)
    }

    fn volume(&self) -> Volume {
        self.stops.iter().map(|stop| stop.holds).sum()
    }

    fn stops(&self) -> Vec<StopSeen<'a>> {
        let model = self.model;
        let stops = (1..).zip(&self.thing.stops).map(|(order, stop)| OfWalk { order, stop, model });
        seen(self.state, self.on, stops)
    }

    /// What is measured or weighed out in all.
    fn weighed(&self) -> String {
        let grams = weighed(self.amount);
        let material = self.asked.form.material().word();
        match (self.solution, strength_pct(self.asked.form)) {
            (Some(volume), Some(strength)) => format!(
                "Measure out {} of a {strength} % solution in all: {grams} of {material} are in it.",
                millilitres(volume),
            ),
            _ => format!("Weigh out {grams} of {material} in all."),
        }
    }
}

/// What can hurt somebody who doses sulfur dioxide.
fn caution() -> Caution {
    Caution::of(&[Hazard::SulfurDioxide])
}

/// Gives the plan out; as a spreadsheet, its barrels.
pub fn write(state: &State, plan: &Dosing, on: Moment, page: &mut Page<'_>) -> Outcome {
    let told = Seen { state, on, thing: plan };
    let (stops, stop_columns) = (told.stops(), stop_columns(plan.solution.is_some()));
    page.report((&columns(), &told), (&stop_columns, &stops), |page| {
        let of = plan.asked.of.lot.map(|lot| format!(" for {}", harmless(told.lot_label(lot).as_str())));
        let litres = whole_litres(told.volume());
        let of = of.unwrap_or_default();
        page.line(&format!("Sulfur dioxide{of}: {}, {litres}, {}", plan.counted(state), told.goal()))?;
        page.caution(&caution())?;
        page.line(&told.weighed())?;
        page.line(&bound_at_once(plan.asked.bound_share))?;
        if !stops.is_empty() {
            page.line(&harmless(&plan.total_words(state, on)))?;
        }
        plan.organic_words(state).iter().try_for_each(|words| page.line(&harmless(words)))?;
        plan.beyond().iter().try_for_each(|note| page.line(&format!("Note: {note}.")))?;
        page.section("to treat, in the order of the walk", &stop_columns, &stops)?;
        page.section("left out", &left_out_columns(), &seen(state, on, &plan.left_out))
    })
}

/// A vessel of it, which one of the walk it is, and by which model molecular is reckoned.
struct OfWalk<'a> {
    order: usize,
    stop: &'a DosingStop,
    model: Model,
}

type StopSeen<'a> = Seen<'a, OfWalk<'a>>;

fn round(value: Option<f64>, decimals: i32) -> Cell {
    value.map(|value| rounded(value, decimals)).into()
}

/// People measure a solution and weigh everything else.
fn stop_columns<'a>(measured: bool) -> Vec<Column<StopSeen<'a>>> {
    let dose = if measured {
        Column::people("mL", |it: &StopSeen<'_>| it.stop.solution.map_or(Cell::Nothing, Cell::Measured))
    } else {
        Column::people("grams", |it: &StopSeen<'_>| it.stop.amount.into())
    };
    let mut columns = vec![
        Column::both("order", "order", |it: &StopSeen<'_>| it.order.into()),
        Column::both("vessel", "vessel", |it| it.vessel(it.stop.vessel)),
        Column::both("place", "place", |it| it.place(it.stop.vessel)),
        dose,
    ];
    columns.extend(columns_of_tests());
    columns.extend(columns_of_dose());
    columns
}

fn columns_of_tests<'a>() -> Vec<Column<StopSeen<'a>>> {
    vec![
        Column::both("volume_ul", "litres", |it: &StopSeen<'_>| it.stop.holds.into()),
        Column::both("free_so2_mg_l", "free", |it| it.known().free.map(|found| found.value).into()),
        Column::people("tested", |it| it.told_of(it.known().free).map(|(of, days)| format!("{of}, {days} d")).into()),
        Column::program("tested", |it| it.known().free.map(|found| found.at).into()),
        Column::program("tested_days", |it| it.days_since(it.known().free.map(|found| found.at))),
        Column::program("tested_of", |it| it.known().free.map(|found| found.of.word()).into()),
        Column::people("given since", |it: &StopSeen<'_>| {
            Some(rounded(it.known().given_since_free, 1)).filter(|given| *given > 0.0).into()
        })
        .sparse(),
        Column::program("given_since_mg_l", |it| rounded(it.known().given_since_free, 1).into()),
        Column::both("free_now_mg_l", "now", |it| round(it.known().free_now.map(|now| now.free_mg_l), 1)),
        Column::program("free_now_low_mg_l", |it| round(it.known().free_now.map(|now| now.low_mg_l), 1)),
        Column::program("free_now_high_mg_l", |it| round(it.known().free_now.map(|now| now.high_mg_l), 1)),
        Column::people("pH", Seen::ph_tested),
        Column::program("ph", |it| it.known().ph.map(|found| found.value).into()),
        Column::program("ph_days", |it| it.days_since(it.known().ph.map(|found| found.at))),
        Column::program("ph_of", |it| it.known().ph.map(|found| found.of.word()).into()),
    ]
}

fn columns_of_dose<'a>() -> Vec<Column<StopSeen<'a>>> {
    vec![
        Column::program("model", |it: &StopSeen<'_>| it.model.word().into()),
        Column::program("molecular_so2_mg_l", |it| round(it.stop.molecular_mg_l, 2)),
        Column::people("molecular", |it| it.by_model(it.stop.molecular_mg_l)),
        Column::both("wanted_free_mg_l", "wanted", |it: &StopSeen<'_>| round(it.stop.wanted_free_mg_l, 1)).sparse(),
        Column::program("amount_ug", |it| it.stop.amount.into()),
        Column::program("solution_ul", |it| it.stop.solution.into()),
        Column::both("free_then_mg_l", "free then", |it| round(it.stop.free_then_mg_l, 1)),
        Column::program("molecular_then_mg_l", |it| round(it.stop.molecular_then_mg_l, 2)),
        Column::people("molecular then", |it| it.by_model(it.stop.molecular_then_mg_l)),
        Column::program("total_so2_mg_l", |it| it.known().total.map(|found| found.value).into()),
        Column::program("total_days", |it| it.days_since(it.known().total.map(|found| found.at))),
        Column::program("total_of", |it| it.known().total.map(|found| found.of.word()).into()),
        Column::program("total_now_mg_l", |it| round(it.known().total_now, 1)),
        Column::program("total_rise_mg_l", |it| rounded(it.stop.total_rise_mg_l, 1).into()),
        Column::both("total_then_mg_l", "total then", |it: &StopSeen<'_>| round(it.stop.total_then_mg_l, 0)).sparse(),
        Column::program("total_limit_mg_l", |it| it.stop.judged.map(|(limit, _)| limit.most).into()),
        Column::both("judgement", "judged", |it: &StopSeen<'_>| it.stop.judged.map(|(_, judged)| judged.word()).into())
            .sparse(),
        Column::program("section", |it| it.stop.judged.map(|(limit, _)| limit.section).into()),
    ]
}

impl StopSeen<'_> {
    const fn known(&self) -> &SulfurKnown {
        &self.thing.stop.known
    }

    /// Whose test something is from, and how old that is.
    fn told_of(&self, found: Option<Found>) -> Option<(&'static str, i64)> {
        found.map(|found| (found.of.word(), self.on.days_since(found.at)))
    }

    /// The pH, and where it is of another test than the free, of which and how old.
    fn ph_tested(&self) -> Cell {
        let known = self.known();
        let Some((ph, (of, days))) = known.ph.map(|found| found.value).zip(self.told_of(known.ph)) else {
            return Cell::Nothing;
        };
        let same = self.told_of(known.free) == Some((of, days));
        Cell::Text(if same { figure(ph) } else { format!("{} {of}, {days} d", figure(ph)) })
    }

    /// Molecular with the name of its model.
    fn by_model(&self, molecular: Option<f64>) -> Cell {
        molecular.map(|molecular| format!("{} {}", figure_to(2, rounded(molecular, 2)), self.model.word())).into()
    }
}

/// A vessel that is left out.
type LeftOutSeen<'a> = Seen<'a, &'a (VesselId, LeftOut)>;

fn left_out_columns<'a>() -> [Column<LeftOutSeen<'a>>; 3] {
    [
        Column::both("vessel", "vessel", |it: &LeftOutSeen<'_>| it.vessel(it.0)),
        Column::both("place", "place", |it| it.place(it.0)),
        Column::both("why", "why", |it| it.1.to_string().into()),
    ]
}
