//! The pages of works: those that are open, the tank of a racking with its plan, and the end of a work.

use ratatui::text::Line;

use crate::cellar::care::not_done;
use crate::cellar::label::Label;
use crate::cellar::question::Question;
use crate::cellar::racking::{CAUTION, InTheTank, Racking};
use crate::cellar::state::{LotId, State, VesselId, Work, WorkId};
use crate::cellar::work::{Task, Tick};
use crate::tui::assemblage;
use crate::tui::choice;
use crate::tui::dosing;
use crate::tui::model::Model;
use crate::tui::pages::choice_line;
use crate::tui::text::{columns, fit, left, wrap};
use crate::tui::theme::Meaning;
use crate::tui::works::{Ending, TankChoice, TankLine};
use crate::tui::works_page::{Entry, WorksPage};
use crate::units::{Volume, VolumeUnit, counted};

/// How many barrels a summary names before it only counts.
const NAMED: usize = 12;
/// How many claims that would be lost are named before they are only counted.
const CLAIMS_NAMED: usize = 2;
/// So many transfers of a blend are in sight.
const GIVEN_SHOWN: usize = 6;
/// A work's label is not cut below so many columns for its lot's sake.
const LEAST_LABEL: usize = 7;
/// So many tanks are in sight at least.
const TANKS_SHOWN: usize = 3;

/// The open works, and what can be begun here.
pub(super) fn open_works(model: &Model, page: &WorksPage, width: usize, height: usize) -> Vec<Line<'static>> {
    let entries = WorksPage::entries(model);
    choice::lines(model, &entries, &page.chosen, height.max(1), width, |entry| entry_line(model, entry))
}

fn entry_line(model: &Model, entry: &Entry) -> String {
    match entry {
        Entry::Open(work) => {
            let Some(work) = model.state.works.by_label(work.as_str()) else { return String::new() };
            let progress = work.progress();
            let name = left(work.label.as_str(), 34, model.looks.marks);
            format!("{name} {}, {} of {} done", work.task.words(&model.state), progress.done, progress.of)
        }
        Entry::Sulfur(lot) => {
            let Some(lot) = model.state.lots.find(lot.as_str()) else { return String::new() };
            format!("{}: plan it", dosing::called(model, lot, dosing::held_here(model).as_ref()))
        }
        Entry::Move(tank) => format!("Rack or filter {tank} into another tank: plan it"),
        Entry::TryAgent(tank) => format!("Fining for {tank}: try an agent in glasses"),
        Entry::Check(lot) => format!("Before bottling {lot}: its checklist"),
        Entry::Bottle(tank) => format!("Bottle {tank}: plan it"),
        Entry::Rack(lot) => format!("Rack {lot} into a tank: plan it"),
        Entry::Fill(tank) => {
            let Some(tank) = model.state.vessels.by_label(tank.as_str()) else { return String::new() };
            let of = tank.lot.map_or_else(String::new, |lot| format!(" of {}", model.state.lots.get(lot).label));
            format!("Fill barrels from {}: plan it ({}{of})", tank.label, litres(tank.volume()))
        }
    }
}

/// The tanks, and the plan of the racking into the chosen one. Of the tanks as many stand above as leave room for the plan,
/// but some always; what does not fit is scrolled to.
pub(super) fn tanks(model: &Model, choice: &TankChoice, width: usize, height: usize) -> Vec<Line<'static>> {
    let said = match &choice.plan {
        Ok((plan, then)) => planned(model, plan, then, width),
        Err(refusal) => paragraph(model, &refusal.to_string(), width, Meaning::Due),
    };
    let inside = height.saturating_sub(said.len() + 1).max(TANKS_SHOWN);
    let first = choice.chosen.saturating_sub(inside - 1);
    let shown = choice.tanks.iter().enumerate().skip(first).take(inside);
    let tank =
        |(index, &line): (usize, &TankLine)| choice_line(model, index == choice.chosen, &tank_line(model, line), width);
    shown.map(tank).chain(std::iter::once(Line::default())).chain(said).collect()
}

fn tank_line(model: &Model, line: TankLine) -> String {
    let vessel = model.state.vessels.get(line.tank);
    let lot = |lot: LotId| &model.state.lots.get(lot).label;
    let label = left(vessel.label.as_str(), 12, model.looks.marks);
    let room = short_litres(vessel.book_headspace());
    match (vessel.lot, line.all_is) {
        (None, _) => format!("{label} room {room:>7}, empty"),
        (Some(holds), None) => format!("{label} room {room:>7}, {} of {}", short_litres(vessel.volume()), lot(holds)),
        (Some(holds), Some(all_is)) => {
            let turns = if holds == all_is { "all stays" } else { "all becomes" };
            format!("{label} room {room:>7}, {} there; {turns} {}", short_litres(vessel.volume()), lot(all_is))
        }
    }
}

fn planned(model: &Model, plan: &Racking, then: &InTheTank, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    let (barrels, expected) = (counted(plan.stops.len(), "barrel"), litres(plan.expected));
    say(&format!("{barrels}, about {expected}; the tank has room for {}", litres(plan.room)), Meaning::Strong);
    match plan.room.checked_sub(plan.expected) {
        Some(after) => say(&format!("room left then {}", litres(after)), Meaning::Base),
        None => say(&format!("the tank is short by {}", litres(plan.short())), Meaning::Over),
    }
    say(&plan.lees_words(), Meaning::Muted);
    if let (Some(first), Some(last)) = (plan.stops.first(), plan.stops.last()) {
        let stop = |id: VesselId| where_it_lies(&model.state, id);
        say(&format!("from {} to {}", stop(first.vessel), stop(last.vessel)), Meaning::Muted);
    }
    if !plan.held.is_empty() {
        say(&format!("held and left out: {}", names(&model.state, &plan.held)), Meaning::Held);
    }
    if !plan.suspect.is_empty() {
        say(&format!("suspect: {}", model.state.suspects_in_words(&plan.suspect)), Meaning::Warning);
    }
    for broken in then.broken.iter().take(CLAIMS_NAMED) {
        say(&Question::ClaimLost { broken: broken.clone() }.to_string(), Meaning::Over);
    }
    if then.broken.len() > CLAIMS_NAMED {
        say(&format!("and {} more claims", then.broken.len() - CLAIMS_NAMED), Meaning::Over);
    }
    say(&then.label_words(), Meaning::Base);
    say(&then.sulfur_words(&model.state, model.now), Meaning::Base);
    say(CAUTION, Meaning::Muted);
    lines
}

fn where_it_lies(state: &State, id: VesselId) -> String {
    let vessel = state.vessels.get(id);
    state.place_of(vessel).map_or_else(|| vessel.label.to_string(), |place| format!("{} at {place}", vessel.label))
}

pub(super) fn names(state: &State, vessels: &[VesselId]) -> String {
    let named: Vec<String> = vessels.iter().take(NAMED).map(|&id| state.vessels.get(id).label.to_string()).collect();
    match vessels.len().saturating_sub(NAMED) {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    }
}

/// The summary of a work before it is closed.
pub(super) fn ending(model: &Model, ending: &Ending, width: usize) -> Vec<Line<'static>> {
    let work = model.state.works.get(ending.work);
    let progress = work.progress();
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    say(&format!("{}, {}", work.label, work.task.words(&model.state)), Meaning::Strong);
    say(&format!("begun {}", work.begun.show_clock()), Meaning::Muted);
    let moved = if progress.moved.is_zero() { String::new() } else { format!(" with {}", litres(progress.moved)) };
    let stops = if matches!(work.task, Task::Blending { .. }) { "vessels" } else { "barrels" };
    say(&format!("{} of {} {stops} done{moved}", progress.done, progress.of), Meaning::Base);
    let left = |tick: Option<Tick>| -> Vec<VesselId> {
        work.stops.iter().filter(|stop| stop.tick == tick).map(|stop| stop.vessel).collect()
    };
    let (to_do, skipped) = (left(None), left(Some(Tick::Skipped)));
    if !to_do.is_empty() {
        say(&format!("{} not done and not skipped: esc, then n, goes to the next", to_do.len()), Meaning::Due);
    }
    if !skipped.is_empty() {
        say(&format!("skipped: {}", names(&model.state, &skipped)), Meaning::Due);
    }
    if let Some(stands) = assemblage::standing(model, ending.work) {
        lines.extend(assemblage::page(model, ending.work, &stands, width));
    }
    lines.extend(given_lines(model, ending, width));
    if let Some(to) = work.task.fills() {
        let tank = model.state.vessels.get(to);
        let lot = match work.task {
            Task::Blending { lot, .. } => format!(" of {}", model.state.lots.get(lot).label),
            Task::Racking { .. } | Task::BarrelDown { .. } | Task::Treating { .. } | Task::Caring { .. } => {
                String::new()
            }
        };
        let book = format!("{} holds {}{lot} by the book", tank.label, litres(tank.volume()));
        lines.extend(paragraph(model, &book, width, Meaning::Base));
        lines.push(Line::default());
        let typed = model.written(&ending.gauged, width.saturating_sub(20));
        let what = if ending.given.is_some() { "that transfer was, litres" } else { "gauged at, litres" };
        let asked = format!("{what}: {typed}");
        lines.push(Line::styled(fit(&asked, width, model.looks.marks), model.looks.theme.style(Meaning::Strong)));
        lines.extend(paragraph(
            model,
            if ending.given.is_some() {
                "enter puts that transfer right; down goes back to the gauging; esc goes on with the work"
            } else {
                "enter closes the work and books the difference; with nothing typed the book stands; esc goes on with it"
            },
            width,
            Meaning::Muted,
        ));
    } else {
        lines.push(Line::default());
        lines.extend(paragraph(model, "enter closes the work, esc goes on with it", width, Meaning::Muted));
    }
    lines
}

/// What was given to a blend, transfer by transfer.
fn given_lines(model: &Model, ending: &Ending, width: usize) -> Vec<Line<'static>> {
    let given = model.state.given_to(ending.work);
    if given.is_empty() {
        return Vec::new();
    }
    let how = "the transfers; up chooses one to correct:";
    let mut lines = paragraph(model, how, width, Meaning::Muted);
    // A few of many are in sight, the chosen one among them.
    let chosen = given.iter().position(|(_, doing)| ending.given.as_ref() == Some(&doing.id));
    let first = chosen.unwrap_or(given.len()).min(given.len().saturating_sub(GIVEN_SHOWN));
    lines.extend(given.iter().skip(first).take(GIVEN_SHOWN).map(|(vessel, doing)| {
        let (label, at) = (&model.state.vessels.get(*vessel).label, doing.at.show_clock());
        choice_line(model, ending.given.as_ref() == Some(&doing.id), &format!("{label} {}, {at}", doing.much()), width)
    }));
    lines
}

/// How far the work that is walked has come, for the head: what stands last goes first where there is no room.
pub(super) fn head_parts(model: &Model, id: WorkId) -> Vec<String> {
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
pub(super) fn name_with_lot(model: &Model, work: &Work, room: usize) -> String {
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
pub(super) fn stop_words(model: &Model, id: VesselId) -> Option<(String, Meaning)> {
    let working = model.working?;
    let work = model.state.works.get(working);
    let Some(stop) = work.stop(id) else { return Some(("not of it".to_owned(), Meaning::Muted)) };
    Some(match stop.tick {
        Some(Tick::Done(volume)) if volume.is_zero() => (format!("{} done", model.looks.marks.yes), Meaning::Fine),
        Some(Tick::Done(volume)) => (format!("{} done, {}", model.looks.marks.yes, litres(volume)), Meaning::Fine),
        Some(Tick::Skipped) => ("skipped".to_owned(), Meaning::Due),
        None => {
            let expected = model.state.expected_at(working, id, model.now).filter(|volume| !volume.is_zero());
            let volume = expected.map_or_else(String::new, |volume| format!(", {}", litres(volume)));
            let amount = if stop.amount.as_ug() == 0 { String::new() } else { format!(", {}", stop.amount.show(1)) };
            (format!("to do{volume}{amount}"), Meaning::Strong)
        }
    })
}

/// What the wood of the chosen barrel wants before it is filled in the work that is walked, by the book.
pub(super) fn wood_words(model: &Model, id: VesselId) -> Option<String> {
    let work = model.state.works.get(model.working?);
    let to_do = work.stop(id).is_some_and(|stop| !matches!(stop.tick, Some(Tick::Done(_))));
    let fills = matches!(work.task, Task::BarrelDown { .. }) && to_do;
    fills.then(|| not_done(&model.state.wants_before_wine(id, model.now))).flatten()
}

pub(super) fn paragraph(model: &Model, text: &str, width: usize, meaning: Meaning) -> Vec<Line<'static>> {
    let style = model.looks.theme.style(meaning);
    wrap(text, width, model.looks.marks).into_iter().map(|line| Line::styled(line, style)).collect()
}

/// Litres to a tenth; what is added drop by drop in millilitres.
pub(super) fn litres(volume: Volume) -> String {
    if !volume.is_zero() && volume < Volume::from_litres(1) {
        volume.show(VolumeUnit::Millilitre, 0)
    } else {
        volume.show(VolumeUnit::Litre, 1)
    }
}

/// Litres where there is little room: tenths only below a thousand.
pub(super) fn short_litres(volume: Volume) -> String {
    if volume < Volume::from_litres(1_000) { litres(volume) } else { volume.show(VolumeUnit::Litre, 0) }
}
