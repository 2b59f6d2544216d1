//! The commands that read: list, show, trace, claims, ledger, plan.

use std::borrow::Cow;

use super::arguments::{Claimant, Shown, Thing, Things, Traceable};
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, RoomId, State, VesselId, WorkId};
use crate::cellar::views::books::ledger::Division;
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::bench::trial;
use crate::cli::books::claims::{self, Claimed};
use crate::cli::books::discrepancy;
use crate::cli::books::ledger::Ledger;
use crate::cli::books::recall::{self, Bottles};
use crate::cli::bottles::{bottle as bottles, run as runs};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::suggestion::called;
use crate::cli::finish::{filtration, fining_trial};
use crate::cli::floor::{lot as lots, room as rooms, vessel as vessels, works};
use crate::cli::table::page::Page;
use crate::cli::table::seen::seen;
use crate::cli::tests::marks;
use crate::cli::wood::{empties, kept};
use crate::desk::Desk;
use crate::reckon::label_share::Rules;

/// The state as of a moment. Mostly that is the newest, which the desk holds already. As of now it is that too where the newest lies
/// ahead of this laptop's clock: what is there is not hidden by a clock that is behind.
pub fn state_on(desk: &Desk, on: Moment) -> Outcome<Cow<'_, State>> {
    let newest = desk.state();
    let is_past = !desk.is_now(on) && newest.last.as_ref().is_some_and(|(_, at)| at.instant() > on.instant());
    Ok(if is_past { Cow::Owned(desk.state_at(on)?) } else { Cow::Borrowed(newest) })
}

/// Lists things.
pub fn list(state: &State, things: Things, on: Moment, page: &mut Page<'_>) -> Outcome {
    match things {
        Things::Vessels { all } => {
            page.list(&vessels::columns(), &vessels::all(state, on, all), "There are no vessels yet.")
        }
        Things::Lots => page.list(&lots::columns(), &lots::all(state, on), "There are no lots yet."),
        Things::Rooms => page.list(&rooms::columns(), &rooms::all(state, on), "There are no rooms yet."),
        Things::Empties => page.list(&empties::columns(), &empties::all(state, on), "No barrel is empty."),
        Things::Stirrings => {
            page.list(&kept::stirred_columns(), &kept::all(state, on, State::stirring), "No lees are stirred.")
        }
        Things::Blankets => {
            page.list(&kept::blanketed_columns(), &kept::all(state, on, State::blanket), "No wine lies under gas.")
        }
        Things::Trials => {
            let all = seen(state, on, state.trials.iter().map(|(_, trial)| trial));
            page.list(&trial::columns(), &all, "There are no trials yet.")
        }
        Things::Runs => page.list(&runs::columns(), &runs::all(state, on), "No bottles were filled yet."),
        Things::Bottles => page.list(&bottles::columns(), &bottles::all(state, on), "No bottle is in the house."),
        Things::Works => page.list(&works::columns(), &works::open(state, on), "No work is open."),
        Things::Finings => {
            let all = seen(state, on, state.finings.iter().map(|(_, trial)| trial));
            page.list(&fining_trial::columns(), &all, "There are no fining trials yet.")
        }
        Things::Filtrations => {
            page.list(&filtration::columns(), &seen(state, on, state.filtrations.iter()), "No wine was filtered yet.")
        }
        Things::Due => page.list(&vessels::due_columns(), &vessels::due(state, on), "Nothing is due."),
        Things::Marks => page.list(&marks::columns(), &state.marks().collect::<Vec<_>>(), "There are no marks."),
        // The desk keeps more of them than a state; its command asks it.
        Things::Discrepancies => discrepancy::list(&state.discrepancies, page),
    }
}

/// Shows one thing.
pub fn show(state: &State, thing: &Shown, on: Moment, page: &mut Page<'_>) -> Outcome {
    match thing {
        Shown::Thing(Thing::Vessel { label }) => vessels::told(state, vessel(state, label)?, on).write(page),
        Shown::Thing(Thing::Lot { label }) => lots::told(state, lot(state, label)?, on).write(page),
        Shown::Run { label } => runs::told(state, recall::find_run(state, Some(label), None)?, on).write(page),
        Shown::Trial { label } => trial::show(state, label, on, page),
        Shown::Work { label } => works::told(state, called("work", &state.works, label)?, on).write(page),
        Shown::Fining { label } => fining_trial::show(state, label, on, page),
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
    recall::write(tracer, &Bottles::find(tracer, thing, fill)?, forward, on, page)
}

/// Tells what the label of one thing could claim.
pub fn claims(state: &State, thing: &Claimant, rules: Option<Rules>, page: &mut Page<'_>) -> Outcome {
    match thing {
        Claimant::Thing(Thing::Vessel { label }) => {
            let id = vessel(state, label)?;
            let vessel = state.vessels.get(id);
            let wine = (&vessel.wine, state.least_sugar(&[id]));
            claims::write(state, Claimed::Vessel(&vessel.label), wine, rules, page)
        }
        Claimant::Thing(Thing::Lot { label }) => {
            let lot = lot(state, label)?;
            let (wine, sugar) = (state.wine_of_lot(lot), state.least_sugar(&state.vessels_of(lot)));
            claims::write(state, Claimed::Lot(&state.lots.get(lot).label), (&wine, sugar), rules, page)
        }
        Claimant::Run { label } => {
            let run = state.runs.get(recall::find_run(state, Some(label), None)?);
            claims::write(state, Claimed::Run(&run.label), (&run.wine(), None), rules, page)
        }
    }
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
    called("vessel", &state.vessels, label)
}

/// A lot by its label.
pub fn lot(state: &State, label: &str) -> Outcome<LotId> {
    called("lot", &state.lots, label)
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
    called("room", &state.rooms, label)
}
