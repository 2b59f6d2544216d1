//! The pages of works: those that are open, the tank of a racking with its plan, and the end of a work.

use crate::cellar::core::label::Label;
use crate::cellar::core::state::{State, VesselId, Work, WorkId};
use crate::cellar::jobs::floor::work::{Task, Tick};
use crate::cellar::jobs::wood::care::not_done;
use crate::tui::bench::assemblage;
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit};
use crate::tui::core::theme::Meaning;
use crate::units::{poured, short_litres, weighed};

/// How many barrels a summary names before it only counts.
const NAMED: usize = 12;
/// A work's label is not cut below so many columns for its lot's sake.
const LEAST_LABEL: usize = 7;

pub(in crate::tui) fn names(state: &State, vessels: &[VesselId]) -> String {
    let named: Vec<String> = vessels.iter().take(NAMED).map(|&id| state.vessels.get(id).label.to_string()).collect();
    match vessels.len().saturating_sub(NAMED) {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    }
}

/// How far the work that is walked has come, for the head: what stands last goes first where there is no room.
pub(in crate::tui) fn head_parts(model: &Model, id: WorkId) -> Vec<String> {
    if let Some(stands) = assemblage::standing(model, id) {
        return assemblage::head_parts(model, id, &stands);
    }
    let work = model.state.works.get(id);
    let progress = work.progress();
    let done = format!("{} of {} done", progress.done, progress.of);
    let mut parts: Vec<String> = tank_words(model, work).into_iter().chain([done]).collect();
    if !progress.to_come.is_zero() {
        parts.push(format!("{} to come", short_litres(progress.to_come)));
    }
    if work.task.tank().is_some() {
        parts.push(format!("{} moved", short_litres(progress.moved)));
    }
    if progress.skipped > 0 {
        parts.push(format!("{} skipped", progress.skipped));
    }
    if work.task.tank().is_none() {
        parts.push(work.task.words(&model.state));
    }
    parts
}

/// A work by its label, and the lot that it is about where that does not stand in it, in at most so many columns: of the two the
/// label is cut first.
pub(in crate::tui) fn name_with_lot(model: &Model, work: &Work, room: usize) -> String {
    let marks = model.looks.marks;
    let lot = lot_of(&model.state, work).filter(|lot| !work.label.as_str().contains(lot.as_str()));
    let lot = lot.map_or_else(String::new, |lot| fit(&format!(", {lot}"), room.saturating_sub(LEAST_LABEL), marks));
    fit(work.label.as_str(), room.saturating_sub(columns(&lot)), marks) + &lot
}

/// The lot that a work is about: the one it makes, else that of the vessel it fills from, else of its first barrel that holds
/// wine; where its barrels were emptied, of the vessel that it filled.
fn lot_of<'a>(state: &'a State, work: &Work) -> Option<&'a Label> {
    let of_vessel = |id: VesselId| state.vessels.get(id).lot;
    let of_stops = || work.stops.iter().find_map(|stop| of_vessel(stop.vessel));
    let lot = match work.task {
        Task::Blending { lot, .. } => Some(lot),
        Task::BarrelDown { from, lot } => lot.or_else(|| of_vessel(from)).or_else(of_stops),
        Task::Racking { to, lot } => lot.or_else(of_stops).or_else(|| of_vessel(to)),
        Task::Treating { .. } | Task::Caring { .. } => of_stops(),
    };
    lot.map(|lot| &state.lots.get(lot).label)
}

/// What the tank of a work has room for, or still holds.
fn tank_words(model: &Model, work: &Work) -> Option<String> {
    let vessel = |id| model.state.vessels.get(id);
    match work.task {
        Task::Racking { to, .. } | Task::Blending { into: to, .. } => {
            Some(format!("{} room {}", vessel(to).label, short_litres(vessel(to).book_headspace())))
        }
        Task::BarrelDown { from, .. } => {
            Some(format!("{}, {} left", vessel(from).label, short_litres(vessel(from).volume())))
        }
        Task::Treating { .. } | Task::Caring { .. } => None,
    }
}

/// What is to be done at the chosen barrel, for its card: a few words, and how they are meant.
pub(in crate::tui) fn stop_words(model: &Model, id: VesselId) -> Option<(String, Meaning)> {
    let working = model.working?;
    let work = model.state.works.get(working);
    let Some(stop) = work.stop(id) else { return Some(("not of it".to_owned(), Meaning::Muted)) };
    Some(match stop.tick {
        Some(Tick::Done(volume)) if volume.is_zero() => (format!("{} done", model.looks.marks.yes), Meaning::Fine),
        Some(Tick::Done(volume)) => (format!("{} done, {}", model.looks.marks.yes, poured(volume)), Meaning::Fine),
        Some(Tick::Skipped) => ("skipped".to_owned(), Meaning::Due),
        None => {
            let expected = model.state.expected_at(working, id, model.now).filter(|volume| !volume.is_zero());
            let volume = expected.map_or_else(String::new, |volume| format!(", {}", poured(volume)));
            let amount = if stop.amount.as_ug() == 0 { String::new() } else { format!(", {}", weighed(stop.amount)) };
            (format!("to do{volume}{amount}"), Meaning::Strong)
        }
    })
}

/// What the wood of the chosen barrel wants before it is filled in the work that is walked, by the book.
pub(in crate::tui) fn wood_words(model: &Model, id: VesselId) -> Option<String> {
    let work = model.state.works.get(model.working?);
    let to_do = work.stop(id).is_some_and(|stop| !matches!(stop.tick, Some(Tick::Done(_))));
    let fills = matches!(work.task, Task::BarrelDown { .. }) && to_do;
    fills.then(|| not_done(&model.state.wants_before_wine(id, model.now))).flatten()
}
