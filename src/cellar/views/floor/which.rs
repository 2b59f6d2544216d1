//! Which vessels some words mean: labels, a series of them, a rack, a row, a room, a lot.

use super::written::LineError;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;

/// The vessels that are named between commas, each once, in the order in which they are named: `0417, 0420-0425, rack A-03-1, M24`. A lot
/// means all vessels in which it lies; a vessel goes before a lot of the same name.
pub fn vessels_said(state: &State, text: &str) -> Result<Vec<Label>, String> {
    let mut named: Vec<Label> = Vec::new();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let lot = if state.vessels.find(part).is_some() { None } else { state.lots.find(part) };
        let ids = match lot.map_or_else(|| state.vessels_meant(part), |lot| Ok(state.vessels_of(lot))) {
            Ok(ids) => ids,
            // A label alone that nothing is called by is for the cellar to refuse, which knows what came later.
            Err(LineError::NoVessel(label)) if label == part => {
                named.push(Label::new(part).map_err(|error| error.to_string())?);
                continue;
            }
            Err(error) => return Err(error.to_string()),
        };
        if ids.is_empty() {
            return Err(format!("Nothing lies in lot {part}."));
        }
        for id in ids {
            let label = &state.vessels.get(id).label;
            if !named.contains(label) {
                named.push(label.clone());
            }
        }
    }
    if named.is_empty() { Err("Name a vessel, like 0417, 0420-0425 or rack A-03-1.".to_owned()) } else { Ok(named) }
}
