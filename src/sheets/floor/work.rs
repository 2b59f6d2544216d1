//! The sheet of a work: what is still to be racked, filled, treated or cared for, in walking order; of a blend its order.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId, Work, WorkId};
use crate::cellar::jobs::floor::work::{Stop, Task};
use crate::sheets::bench::assemblage;
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::hazard::Caution;
use crate::units::{Mass, Volume, VolumeUnit, litres};

/// The sheet of a work at a moment: what is done already is left out.
#[must_use]
pub fn sheet(state: &State, work: WorkId, at: Moment) -> Document {
    let work = state.works.get(work);
    if let Some(order) = assemblage::sheet(state, work, at) {
        return order;
    }
    let left: Vec<&Stop> = work.stops.iter().filter(|stop| stop.tick.is_none()).collect();
    let mut lead = vec![format!("{}. To do: {} of {}.", at.show_date(), left.len(), work.stops.len())];
    let (volume, amount): (Volume, Mass) =
        (left.iter().map(|stop| stop.volume).sum(), left.iter().map(|stop| stop.amount).sum());
    if !volume.is_zero() {
        lead.push(format!("{} in all.", litres(volume)));
    }
    if amount != Mass::default() {
        lead.push(format!("{} g in all.", amount.in_column(1)));
    }
    lead.extend(state.suspects_of_work(work));
    lead.extend(organic(state, work, &left));
    let title = format!("{}: {}", work.label, work.task.words(state));
    let by_hand = "Done by ________________  began ________  ended ________".to_owned();
    let blocks = vec![Block::Table(table(state, work, &left)), Block::Words(by_hand)];
    Document { title, lead, cautions: Document::cautions(&Caution::of_work(state, work)), blocks }
}

/// What the work would do to the claim of organic wine that it is still to be given to.
fn organic(state: &State, work: &Work, left: &[&Stop]) -> Option<String> {
    let Task::Treating { material } = &work.task else { return None };
    let vessels: Vec<VesselId> = left.iter().map(|stop| stop.vessel).collect();
    state.asks_of_organic(&vessels, material).map(|question| question.to_string())
}

fn table(state: &State, work: &Work, left: &[&Stop]) -> Table {
    let moved = matches!(work.task, Task::Racking { .. } | Task::BarrelDown { .. });
    let treated = matches!(work.task, Task::Treating { .. });
    let mut columns = vec![("done", Kind::Box), ("place", Kind::Words), ("vessel", Kind::Words), ("lot", Kind::Words)];
    if moved {
        columns.extend([("expected L", Kind::Numbers), ("measured L", Kind::Room(9))]);
    }
    if treated {
        columns.extend([("g", Kind::Numbers), ("mL", Kind::Numbers), ("given", Kind::Room(9))]);
    }
    columns.push(("seen, smelt", Kind::Room(18)));
    let mut table = Table::with(&columns);
    let mut before = None;
    for stop in left {
        let vessel = state.vessels.get(stop.vessel);
        let place = state.place_of(vessel);
        let row = place.as_ref().map(|place| format!("{}, row {}", place.rack.room, place.rack.row));
        if before.as_ref() != Some(&row) {
            table.lines.push(Line::Band(row.clone().unwrap_or_else(|| "In no room".to_owned())));
            before = Some(row);
        }
        let mut cells = vec![
            place.map(|place| place.within_room()).unwrap_or_default(),
            vessel.label.to_string(),
            vessel.lot.map(|lot| state.lots.get(lot).label.to_string()).unwrap_or_default(),
        ];
        if moved {
            cells.push(stop.volume.in_column(1));
        }
        if treated {
            cells.extend([stop.amount.in_column(2), stop.volume.in_column_of(VolumeUnit::Millilitre, 1)]);
        }
        table.lines.push(Line::Cells(cells));
    }
    table
}
