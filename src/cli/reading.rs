//! The commands that read: list, show, trace, claims, ledger, plan.

use std::borrow::Cow;

use super::arguments::{Claimant, Shown, Thing, Things, Traceable};
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{Discrepancy, LotId, RoomId, State, VesselId, WorkId};
use crate::cellar::views::books::ledger::Division;
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::bench::trial::{TrialCard, TrialView};
use crate::cli::books::claims::ClaimsView;
use crate::cli::books::discrepancy::DiscrepancyView;
use crate::cli::books::ledger::Ledger;
use crate::cli::books::recall::{self, Bottles};
use crate::cli::books::trace::{Direction, TraceView};
use crate::cli::bottles::bottle::BottlesView;
use crate::cli::bottles::run::{RunCard, RunView};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::suggestion::not_found;
use crate::cli::finish::filtration::FiltrationView;
use crate::cli::finish::fining_trial::{self, FiningTrialView};
use crate::cli::floor::lot::{LotCard, LotView, all_lots};
use crate::cli::floor::room::{RoomView, all_rooms};
use crate::cli::floor::vessel::{VesselCard, VesselView, all_vessels, due_vessels};
use crate::cli::floor::works::{WorkCard, WorkView};
use crate::cli::table::page::Page;
use crate::cli::tests::marks::MarkView;
use crate::cli::topping::plan::PlanView;
use crate::cli::wood::empties::EmptyView;
use crate::desk::Desk;
use crate::reckon::label_share::Rules;
use crate::sheets::books::trace::From;

/// The state as of a moment. Mostly that is the newest, which the desk holds already.
pub fn state_on(desk: &Desk, on: Moment) -> Outcome<Cow<'_, State>> {
    let newest = desk.state();
    let is_past = newest.last.as_ref().is_some_and(|(_, at)| at.instant() > on.instant());
    Ok(if is_past { Cow::Owned(desk.state_at(on)?) } else { Cow::Borrowed(newest) })
}

/// Lists things. `discrepancies` is asked only where they are wanted.
pub fn list(
    state: &State,
    discrepancies: impl FnOnce() -> Outcome<Vec<Discrepancy>>,
    things: Things,
    on: Moment,
    page: &mut Page<'_>,
) -> Outcome {
    match things {
        Things::Vessels { all } => {
            page.list(&VesselView::columns(), &all_vessels(state, on, all), "There are no vessels yet.")
        }
        Things::Lots => page.list(&LotView::columns(), &all_lots(state, on), "There are no lots yet."),
        Things::Rooms => page.list(&RoomView::columns(), &all_rooms(state, on), "There are no rooms yet."),
        Things::Empties => page.list(&EmptyView::columns(), &EmptyView::all(state, on), "No barrel is empty."),
        Things::Trials => page.list(&TrialView::columns(), &TrialView::all(state), "There are no trials yet."),
        Things::Runs => page.list(&RunView::columns(), &RunView::all(state, on), "No bottles were filled yet."),
        Things::Bottles => page.list(&BottlesView::COLUMNS, &BottlesView::all(state, on), "No bottle is in the house."),
        Things::Works => page.list(&WorkView::columns(), &WorkView::open(state, on), "No work is open."),
        Things::Finings => {
            page.list(&FiningTrialView::COLUMNS, &FiningTrialView::all(state), "There are no fining trials yet.")
        }
        Things::Filtrations => {
            page.list(&FiltrationView::COLUMNS, &FiltrationView::all(state), "No wine was filtered yet.")
        }
        Things::Due => page.list(&VesselView::due_columns(), &due_vessels(state, on), "Nothing is due."),
        Things::Marks => page.list(&MarkView::columns(), &MarkView::all(state), "There are no marks."),
        Things::Discrepancies => {
            let found: Vec<DiscrepancyView> = discrepancies()?.into_iter().map(DiscrepancyView::from).collect();
            page.list(&DiscrepancyView::columns(), &found, "Every fact fits the facts before it.")
        }
    }
}

/// Shows one thing.
pub fn show(state: &State, thing: &Shown, on: Moment, page: &mut Page<'_>) -> Outcome {
    match thing {
        Shown::Thing(Thing::Vessel { label }) => {
            VesselCard::of(state, state.vessels.get(vessel(state, label)?), on).write(page)
        }
        Shown::Thing(Thing::Lot { label }) => LotCard::of(state, lot(state, label)?, on).write(page),
        Shown::Run { label } => {
            let run = recall::find_run(state, Some(label), None)?;
            RunCard::of(state, state.runs.get(run), on).write(page)
        }
        Shown::Trial { label } => TrialCard::find(state, label, on)?.write(page),
        Shown::Work { label } => {
            let found = state.works.find(label);
            let id = found.ok_or_else(|| not_found("work", label, state.works.iter().map(|(_, work)| &work.label)))?;
            WorkCard::of(state, id, on).write(page)
        }
        Shown::Fining { label } => fining_trial::show(state, label, page),
    }
}

/// Traces one thing: forward where that is asked for, of a vessel the wine of one fill.
pub fn trace(
    tracer: &Tracer,
    thing: &Traceable,
    (forward, fill): (bool, Option<u32>),
    on: Moment,
    page: &mut Page<'_>,
) -> Outcome {
    let bottles = Bottles::find(tracer, thing, fill)?;
    let direction = if forward { Direction::Forward } else { Direction::Back };
    let view = match bottles {
        Bottles::Back(..) => return recall::run(tracer, &bottles, forward, on, page),
        Bottles::Forward(From::Material(_) | From::Block(_)) => return recall::forward(tracer, &bottles, on, page),
        Bottles::Forward(From::Vessel(fill)) => TraceView::of_fill(tracer, fill, direction),
        Bottles::Forward(From::Lot(lot)) => TraceView::of_lot(tracer, lot, direction),
    };
    view.write(page, || bottles.page(tracer, on))
}

/// Tells what the label of one thing could claim.
pub fn claims(state: &State, thing: &Claimant, rules: Option<Rules>, page: &mut Page<'_>) -> Outcome {
    let view = match thing {
        Claimant::Thing(Thing::Vessel { label }) => ClaimsView::of_vessel(state, vessel(state, label)?, rules),
        Claimant::Thing(Thing::Lot { label }) => ClaimsView::of_lot(state, lot(state, label)?, rules),
        Claimant::Run { label } => ClaimsView::of_run(state, recall::find_run(state, Some(label), None)?, rules),
    };
    view.write(page)
}

/// Plans a round.
pub fn plan_round(state: &State, label: &str, on: Moment, page: &mut Page<'_>) -> Outcome {
    PlanView::of(state, room(state, label)?, on).write(page)
}

/// Balances a period.
pub fn ledger(
    desk: &Desk,
    (from, to): (Moment, Moment),
    now: Moment,
    division: Division,
    page: &mut Page<'_>,
) -> Outcome {
    in_order(from, to)?;
    let period = desk.period(from, to, now)?;
    Ledger { period: &period, from, to }.write(division, page)
}

/// Refuses a period that ends before it begins.
pub fn in_order(from: Moment, to: Moment) -> Outcome {
    if from.instant() <= to.instant() {
        return Ok(());
    }
    let told = |moment: Moment| if from.date() == to.date() { moment.to_string() } else { moment.show_date() };
    let (from, to) = (told(from), told(to));
    let sentence = format!("The ledger would end on {to}, before it begins on {from}. Check --from and --to.");
    Err(Complaint::Refused(sentence))
}

/// A vessel by its label, one that is retired too.
pub fn vessel(state: &State, label: &str) -> Outcome<VesselId> {
    let found = state.vessels.find(label);
    found.ok_or_else(|| not_found("vessel", label, state.vessels.iter().map(|(_, vessel)| &vessel.label)))
}

/// A lot by its label.
pub fn lot(state: &State, label: &str) -> Outcome<LotId> {
    let found = state.lots.find(label);
    found.ok_or_else(|| not_found("lot", label, state.lots.iter().map(|(_, lot)| &lot.label)))
}

/// An open work by its label.
pub fn work(state: &State, label: &str) -> Outcome<WorkId> {
    let found = state.open_works.iter().copied().find(|&id| state.works.get(id).label.as_str() == label);
    found.ok_or_else(|| {
        let open: Vec<String> =
            state.open_works.iter().map(|&id| harmless(state.works.get(id).label.as_str())).collect();
        let open = if open.is_empty() { "None is open.".to_owned() } else { format!("Open are: {}.", open.join(", ")) };
        Complaint::Refused(format!("No open work is called '{}'. {open}", harmless(label)))
    })
}

/// A room by its label.
pub fn room(state: &State, label: &str) -> Outcome<RoomId> {
    let found = state.rooms.find(label);
    found.ok_or_else(|| not_found("room", label, state.rooms.iter().map(|(_, room)| &room.label)))
}
