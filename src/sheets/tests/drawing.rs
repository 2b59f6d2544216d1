//! The sheet of a sample: what to draw of each vessel, with a box to tick.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::views::tests::drawing::SamplePlan;
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::hazard::Caution;
use crate::units::exact_millilitres;

/// The sheet of what to draw.
#[must_use]
pub fn sheet(state: &State, plan: &SamplePlan, at: Moment) -> Document {
    let mut table = Table::with(&[
        ("place", Kind::Words),
        ("vessel", Kind::Words),
        ("draw", Kind::Numbers),
        ("drawn", Kind::Box),
        ("smells, looks", Kind::Room(20)),
    ]);
    for &(id, volume) in &plan.draws {
        let vessel = state.vessels.get(id);
        let place = state.place_of(vessel).map_or_else(String::new, |place| place.to_string());
        table.lines.push(Line::Cells(vec![place, vessel.label.to_string(), exact_millilitres(volume)]));
    }
    let lead = [Some(format!("{}. {}", at.show_date(), plan.words())), plan.held_words(state)];
    let by_hand = "Sample no. ________________  drawn by ________________  on ________".to_owned();
    Document {
        title: format!("Sample of {}", state.lots.get(plan.lot).label),
        lead: lead.into_iter().flatten().collect(),
        cautions: Document::cautions(&Caution::of_kind("sampled")),
        blocks: vec![Block::Table(table), Block::Words(by_hand)],
    }
}
