//! The plan of a barrel-down: which barrels to fill, the mix they make beside the wished one, and what stands against it.

use std::time::Duration;

use crate::cellar::core::label::harmless;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::jobs::wood::care::{Care, not_done};
use crate::cellar::views::wood::fill::{FillPlan, FillRequest, Granted, NoFill, Portion, PreparedFill};
use crate::cli::arguments::FillArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::stop::Stop;
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::reckon::fill::choose;
use crate::told::hazard::Caution;
use crate::units::{Volume, counted, litres};

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

/// The plan of a barrel-down as it is told.
pub type FillSeen<'a> = Seen<'a, (&'a PreparedFill, &'a FillPlan)>;

fn columns<'a>() -> Vec<Column<FillSeen<'a>>> {
    vec![
        Column::program("tank", |it: &FillSeen<'_>| it.vessel(it.0.tank)),
        Column::program("lot", |it| it.lot(it.tank().lot)),
        // The lot that it is in the barrels, where that was said.
        Column::program("into_lot", |it| it.lot(it.0.into)),
        Column::within("barrels", |it| it.within(&barrel_columns(), (1..).zip(it.1.barrels.iter().copied()))),
        Column::program("placed_ul", |it| it.1.answer.placed.into()),
        Column::program("stays_ul", |it| it.stays().into()),
        Column::within("wishes", |it| Cell::things(&wish_columns(), it.wishes())),
        Column::program("missed_ul", |it| it.1.answer.missed.into()),
        Column::program("bound_ul", |it| it.1.answer.bound.into()),
        Column::program("proved", |it| it.1.answer.proved.into()),
        Column::program("empties", |it| it.0.empties.len().into()),
        Column::program("held", |it| it.0.passed_over.held.into()),
        Column::program("red_wood", |it| it.0.passed_over.red_wood.into()),
        Column::program("elsewhere", |it| it.0.passed_over.elsewhere.into()),
        Column::program("in_work", |it| it.0.passed_over.in_work.into()),
        // What open works are still to take from the tank.
        Column::program("promised_ul", |it| it.0.promised.into()),
    ]
}

impl<'a> FillSeen<'a> {
    fn tank(&self) -> &'a Vessel {
        self.state.vessels.get(self.0.tank)
    }

    fn stays(&self) -> Volume {
        self.tank().volume().saturating_sub(self.1.answer.placed)
    }

    fn wishes(&self) -> Vec<Wished<'a>> {
        let plan = self.thing.1;
        plan.wishes.iter().map(|granted| (granted, plan.answer.placed)).collect()
    }

    /// Gives the plan out; as a spreadsheet, the barrels to fill.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let (prepared, plan) = self.thing;
        let barrels = seen(self.state, self.on, (1..).zip(plan.barrels.iter().copied()));
        page.report((&columns(), self), (&barrel_columns(), &barrels), |page| {
            page.line(&self.summary())?;
            page.caution(&Caution::of_filling(self.state, &plan.barrels))?;
            if let Some(passed) = prepared.passed_over.words() {
                page.line(&format!("Empties passed over: {passed}."))?;
            }
            if !prepared.promised.is_zero() {
                page.line(&format!("Open works are still to take {} of it.", litres(prepared.promised)))?;
            }
            if let Some(verdict) = plan.verdict() {
                let more = if plan.answer.proved { "" } else { " --within gives more time." };
                page.line(&format!("{verdict}{more}"))?;
            }
            page.section("the mix", &wish_columns(), &self.wishes())?;
            for wish in &plan.wishes {
                if let Some(why) = &wish.why {
                    page.line(&harmless(&format!("{}: {why}.", wish.wish)))?;
                }
            }
            page.section("to fill, in the order of the walk", &barrel_columns(), &barrels)
        })
    }

    fn summary(&self) -> String {
        let (prepared, plan) = self.thing;
        let (placed, stays) = (litres(plan.answer.placed), litres(self.stays()));
        let barrels = counted(plan.barrels.len(), "barrel");
        let tank = harmless(self.tank().label.as_str());
        let of = match self.tank().lot {
            Some(lot) => format!("{tank} ({})", harmless(self.lot_label(lot).as_str())),
            None => tank,
        };
        let empties = prepared.empties.len();
        format!("From {of}: {placed} into {barrels} of {empties} empties, each filled full; {stays} stay in it.")
    }
}

/// A barrel to fill, and which one of the walk it is.
type BarrelSeen<'a> = Seen<'a, (usize, VesselId)>;

impl BarrelSeen<'_> {
    fn barrel(&self) -> &Vessel {
        self.state.vessels.get(self.1)
    }

    /// What its wood wants first, by the book.
    fn wants(&self) -> Vec<Care> {
        self.state.wants_before_wine(self.1, self.on)
    }
}

fn barrel_columns<'a>() -> Vec<Column<BarrelSeen<'a>>> {
    vec![
        Column::program("order", |it: &BarrelSeen<'_>| it.0.into()),
        Column::both("vessel", "vessel", |it| it.vessel(it.1)),
        Column::both("place", "place", |it| it.place(it.1)),
        Column::both("capacity_ul", "litres", |it: &BarrelSeen<'_>| it.barrel().capacity.into()).summed(),
        Column::program("fill", |it| (it.barrel().fills + 1).into()),
        Column::people("fill", |it| match it.barrel().fills {
            0 => "new".into(),
            fills => (fills + 1).into(),
        }),
        Column::within("cooper", |it| it.barrel().wood.cooper.as_ref().into()),
        Column::both("forest", "forest", |it: &BarrelSeen<'_>| it.barrel().wood.forest.as_ref().into()).sparse(),
        Column::within("grain", |it| it.barrel().wood.grain.as_ref().into()),
        Column::within("seasoning_months", |it| it.barrel().wood.seasoning_months.into()),
        Column::both("toast", "toast", |it: &BarrelSeen<'_>| it.barrel().wood.toast.as_ref().into()).sparse(),
        Column::both("cooper", "cooper", |it: &BarrelSeen<'_>| it.barrel().wood.cooper.as_ref().into())
            .sparse()
            .elsewhere(),
        Column::both("grain", "grain", |it: &BarrelSeen<'_>| it.barrel().wood.grain.as_ref().into())
            .sparse()
            .elsewhere(),
        Column::both("seasoning_months", "seasoned", |it: &BarrelSeen<'_>| it.barrel().wood.seasoning_months.into())
            .sparse()
            .elsewhere(),
        Column::program("wants", |it: &BarrelSeen<'_>| {
            it.wants().iter().map(|care| care.word()).collect::<Vec<_>>().join(" ").into()
        })
        .whole(|it| Cell::list(it.wants().iter().map(Cell::word))),
        Column::people("wood", |it: &BarrelSeen<'_>| not_done(&it.wants()).into()).sparse(),
    ]
}

/// A wish and what became of it, and all that is placed.
type Wished<'a> = (&'a Granted, Volume);

fn share((granted, placed): &Wished<'_>) -> f64 {
    if placed.is_zero() { 0.0 } else { granted.volume.as_litres() / placed.as_litres() }
}

fn wish_columns<'a>() -> Vec<Column<Wished<'a>>> {
    vec![
        Column::both("wish", "wish", |it: &Wished<'_>| it.0.wish.to_string().into()),
        Column::both("wanted_ul", "asked for", |it| it.0.wanted.into()),
        Column::both("volume_ul", "reached", |it| it.0.volume.into()),
        Column::program("share", |it| share(it).into()),
        Column::people("share", |it| Cell::Share(share(it))),
        Column::program("missed_ul", |it| it.0.missed.into()),
        Column::people("missed by", |it: &Wished<'_>| it.0.why.as_ref().map(|_| it.0.missed).into()).sparse(),
        Column::people("met", |it| if it.0.why.is_some() { "no" } else { "yes" }.into()),
        Column::program("why", |it| it.0.why.as_ref().into()),
    ]
}
