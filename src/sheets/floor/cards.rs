//! Cards of barrels and tanks: what hangs on the vessel, with a code that a scanner reads.
//!
//! **Codes on cards are QR codes**: they hold any label in any script, and a quarter of one may be lost to wine and water. They hold the
//! label alone, so that a scanner types what a hand would type.

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::sheets::core::code::Code;
use crate::sheets::core::document::{Block, Card, Document};
use crate::units::{counted, whole_litres};

/// Cards of some vessels at a moment.
#[must_use]
pub fn sheet(state: &State, vessels: &[VesselId], at: Moment) -> Document {
    let cards = vessels.iter().filter_map(|&id| card(state, state.vessels.get(id), at)).collect();
    let lead = vec![format!("{}. A scanner types the label, and the map jumps there.", at.show_date())];
    Document { title: "Cards".to_owned(), lead, cautions: Vec::new(), blocks: vec![Block::Cards(cards)] }
}

fn card(state: &State, vessel: &Vessel, at: Moment) -> Option<Card> {
    let wood = [
        vessel.wood.cooper.as_ref().map(ToString::to_string),
        vessel.wood.forest.as_ref().map(ToString::to_string),
        vessel.wood.toast.as_ref().map(|toast| format!("{toast} toast")),
        vessel.wood.made.map(|year| year.to_string()),
    ];
    let wood: Vec<String> = wood.into_iter().flatten().collect();
    let lot = vessel.lot.map(|lot| format!("lot {}", state.lots.get(lot).label));
    let fills = (vessel.fills > 0 && !wood.is_empty()).then(|| format!("fill {}", vessel.fills));
    let topped = vessel
        .last_topped
        .map(|topped| format!("topped {} ({})", topped.show_date(), counted(at.days_since(topped), "day")));
    let not_known = vessel.kept_since.map(|_| "last topping not known".to_owned());
    let lines = [
        Some(whole_litres(vessel.capacity)),
        (!wood.is_empty()).then(|| wood.join(", ")),
        fills,
        lot,
        state.place_of(vessel).map(|place| place.to_string()),
        topped.or(not_known),
        vessel.held.as_ref().map(|hold| format!("HELD: {}", hold.why)),
        state.suspect_words(vessel).map(|why| format!("SUSPECT: {why}")),
    ];
    Some(Card {
        code: Code::of(vessel.label.as_str())?,
        title: vessel.label.to_string(),
        lines: lines.into_iter().flatten().collect(),
    })
}
