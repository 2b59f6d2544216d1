//! Which line of a count is chosen, by what it is: another program's facts never move it under the hand.

use crate::cellar::counting::booking::Line;
use crate::cellar::label::Label;
use crate::cellar::state::State;

/// A line of a count, by its labels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Spot {
    /// A vessel.
    Vessel(Label),
    /// Bottles of one lot code in a bin.
    Bottles {
        /// Of which run.
        run: Label,
        /// What stands on them.
        lot_code: Option<Label>,
        /// Where they lie.
        place: Label,
    },
    /// A bin in which nothing lies.
    Bin(Label),
}

impl Spot {
    /// What a line is.
    pub(super) fn of(state: &State, line: &Line) -> Spot {
        match line {
            Line::Vessel(id) => Spot::Vessel(state.vessels.get(*id).label.clone()),
            Line::Bottles { run, lot_code, place } => Spot::Bottles {
                run: state.runs.get(*run).label.clone(),
                lot_code: lot_code.clone(),
                place: place.clone(),
            },
            Line::EmptyBin(place) => Spot::Bin(place.clone()),
        }
    }

    /// Where it stands among lines; none where it is not there any more.
    pub(super) fn among(&self, state: &State, lines: &[Line]) -> Option<usize> {
        lines.iter().position(|line| self.is(state, line))
    }

    fn is(&self, state: &State, line: &Line) -> bool {
        match (self, line) {
            (Spot::Vessel(label), Line::Vessel(id)) => state.vessels.get(*id).label == *label,
            (Spot::Bottles { run, lot_code, place }, Line::Bottles { run: of, lot_code: code, place: lies }) => {
                state.runs.get(*of).label == *run && code == lot_code && lies == place
            }
            (Spot::Bin(place), Line::EmptyBin(lies)) => lies == place,
            _ => false,
        }
    }

    /// What it is called.
    pub(super) fn name(&self) -> &Label {
        match self {
            Spot::Vessel(label) | Spot::Bin(label) => label,
            Spot::Bottles { run, lot_code, .. } => lot_code.as_ref().unwrap_or(run),
        }
    }
}
