//! The sheet of a round: barrels in walking order, what each is expected to take, and room for what it took.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State, Vessel};
use crate::cellar::views::topping::plan::Stop;
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::hazard::Caution;
use crate::units::{counted, litres};

/// The sheet of the round that a room needs at a moment, or of what is left of the one that is open there.
#[must_use]
pub fn sheet(state: &State, room: RoomId, at: Moment) -> Document {
    let plan = state.plan_round(room, at);
    let label = |id| state.vessels.get(id).label.to_string();
    let mut lead = vec![format!(
        "{}. {}, {} expected; carry {}.",
        at.show_date(),
        counted(plan.stops.len(), "barrel"),
        litres(plan.expected),
        litres(plan.carry)
    )];
    lead.extend(plan.unrecorded_words());
    lead.extend(plan.draws.iter().map(|draw| {
        let (from, holds) = (label(draw.source), litres(draw.holds));
        format!("From {from}: {}, {}; it holds {holds}.", counted(draw.barrels, "barrel"), litres(draw.expected))
    }));
    let held = plan.held.iter().map(|&id| {
        let why = state.vessels.get(id).held.as_ref().map(|hold| hold.why.to_string()).unwrap_or_default();
        format!("{} ({why})", label(id))
    });
    let held: Vec<String> = held.collect();
    let mut blocks = vec![Block::Table(table(state, &plan.stops, at))];
    if let Some(words) = state.unplaced_words(&plan) {
        blocks.push(Block::Words(words));
    }
    if let Some(words) = state.odd_words(&plan.odd) {
        blocks.push(Block::Words(words));
    }
    if !held.is_empty() {
        blocks.push(Block::Words(format!("Held, not to be topped: {}.", held.join(", "))));
    }
    if !plan.suspect_sources.is_empty() {
        let suspect = state.suspects_in_words(&plan.suspect_sources);
        blocks.push(Block::Words(format!("Suspect, not to be topped from: {suspect}.")));
    }
    blocks.push(Block::Words("Topped by ________________  from __________  began ________  ended ________".to_owned()));
    let title = format!("Round of {}", state.rooms.get(room).label);
    Document { title, lead, cautions: Document::cautions(&Caution::of_kind("round_begun")), blocks }
}

fn table(state: &State, stops: &[Stop], at: Moment) -> Table {
    let mut table = Table::with(&[
        ("done", Kind::Box),
        ("place", Kind::Words),
        ("barrel", Kind::Words),
        ("lot", Kind::Words),
        ("days", Kind::Numbers),
        ("expected L", Kind::Numbers),
        ("took L", Kind::Room(8)),
        ("seen, smelt", Kind::Room(18)),
    ]);
    let mut before = None;
    for stop in stops {
        let now = Some((stop.group, stop.from));
        if before != now {
            let from = stop
                .from
                .map_or("no vessel holds enough".to_owned(), |id| format!("from {}", state.vessels.get(id).label));
            table.lines.push(Line::Band(format!("{}, {from}", stop.group.words())));
            before = now;
        }
        let vessel = state.vessels.get(stop.vessel);
        table.lines.push(Line::Cells(vec![
            state.place_of(vessel).map_or_else(|| "no place".to_owned(), |place| place.within_room()),
            vessel.label.to_string(),
            vessel.lot.map(|lot| state.lots.get(lot).label.to_string()).unwrap_or_default(),
            days_since_topped(vessel, at),
            stop.expected.in_column(1),
        ]));
    }
    table
}

/// For how many days a vessel has not been topped; a question mark where that was not written down.
fn days_since_topped(vessel: &Vessel, at: Moment) -> String {
    let days = vessel.last_topped.map(|topped| at.days_since(topped).to_string());
    let not_known = vessel.kept_since.map(|_| "?".to_owned());
    days.or(not_known).unwrap_or_default()
}
