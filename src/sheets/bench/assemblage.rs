//! The order of a blend: the vessels in their order, the litres from each, and what must then be in the receiving vessel.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Work};
use crate::cellar::jobs::bench::assemblage::{Aim, Assemblage};
use crate::cellar::jobs::floor::work::{Stop, Task, Tick};
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::hazard::Caution;
use crate::units::{Volume, litres, show_percent};

/// The order of a blend at a moment; none where the work is no blend.
#[must_use]
pub fn sheet(state: &State, work: &Work, at: Moment) -> Option<Document> {
    let Task::Blending { into, lot, aim } = &work.task else { return None };
    let stands = state.assemblage(state.works.find(work.label.as_str())?, at)?;
    let into = &state.vessels.get(*into).label;
    let ratio: Vec<String> =
        stands.wines.iter().map(|wine| format!("{} {}%", wine.name, show_percent(wine.share))).collect();
    let lot = &state.lots.get(*lot).label;
    let mut lead = vec![
        format!("{}. Lot {lot}, {} planned into {into}.", at.show_date(), litres(stands.planned)),
        format!("{}; at the end every share within {}%.", ratio.join(", "), show_percent(aim.tolerance.millionths())),
    ];
    if !stands.arrived.is_zero() {
        lead.push(format!("{} are in; the litres below bring the ratio right from there.", litres(stands.arrived)));
    }
    lead.extend(state.suspects_of_work(work));
    let ask = "Write down what the meter says. Where it is not what stands here, the litres of the next change: enter it, and \
               the screen or a new order tells them.";
    let by_hand = "Blended by ________________  began ________  ended ________".to_owned();
    let signed = "Checked by ________________  signed ________________  date ________".to_owned();
    Some(Document {
        title: format!("Blend order: {}", work.label),
        lead,
        cautions: Document::cautions(&Caution::of_work(state, work)),
        blocks: vec![
            Block::Table(table(state, work, aim, &stands, into.as_str())),
            Block::Words(ask.to_owned()),
            Block::Words(by_hand),
            Block::Words(signed),
        ],
    })
}

fn table(state: &State, work: &Work, aim: &Aim, stands: &Assemblage, into: &str) -> Table {
    let then = format!("then in {into}, L");
    let lie_somewhere = work.stops.iter().any(|stop| state.vessels.get(stop.vessel).slot.is_some());
    let mut columns = vec![("done", Kind::Box), ("from", Kind::Words), ("lot", Kind::Words)];
    if lie_somewhere {
        columns.push(("place", Kind::Words));
    }
    columns.extend([
        ("share", Kind::Numbers),
        ("litres", Kind::Numbers),
        ("measured L", Kind::Room(10)),
        (&then, Kind::Numbers),
        ("by dip or meter", Kind::Room(12)),
    ]);
    let mut table = Table::with(&columns);
    let number = |volume: Volume| volume.in_column(1);
    let mut running = stands.arrived;
    // Those that have given come last: they give again only to bring the ratio right.
    let given = |stop: &Stop| matches!(stop.tick, Some(Tick::Done(_)));
    let rows = || work.stops.iter().zip(&aim.parts).zip(&stands.still);
    let fresh = rows().filter(|((stop, _), _)| !given(stop));
    let again = rows().filter(|((stop, _), still)| given(stop) && !still.is_zero() && !stands.holds());
    for ((stop, part), &still) in fresh.chain(again) {
        let vessel = state.vessels.get(stop.vessel);
        running += still;
        let mut cells = vec![
            if given(stop) { format!("{} again", vessel.label) } else { vessel.label.to_string() },
            vessel.lot.map(|lot| state.lots.get(lot).label.to_string()).unwrap_or_default(),
        ];
        if lie_somewhere {
            cells.push(state.place_of(vessel).map(|place| place.to_string()).unwrap_or_default());
        }
        let share = stands.wines.get(part.component as usize).map_or(0, |wine| wine.share);
        cells.extend([format!("{}%", show_percent(share)), number(still), number(running)]);
        table.lines.push(Line::Cells(cells));
    }
    table
}
