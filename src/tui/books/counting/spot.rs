//! Which line of a count is chosen, by what it is: another program's facts never move it under the hand.

use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::books::counting::booking::Line;

/// A line of a count, by its labels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Spot {
    /// A vessel.
    Vessel(Label),
    /// A bin.
    Bin(Label),
}

impl Spot {
    /// What a line is.
    pub(super) fn of(state: &State, line: &Line) -> Spot {
        match line {
            Line::Vessel(id) => Spot::Vessel(state.vessels.get(*id).label.clone()),
            Line::Bottles { place, .. } | Line::Bin(place) => Spot::Bin(place.clone()),
        }
    }

    /// Where it stands among lines; none where it is not there any more.
    pub(super) fn among(&self, state: &State, lines: &[Line]) -> Option<usize> {
        lines.iter().position(|line| self.is(state, line))
    }

    fn is(&self, state: &State, line: &Line) -> bool {
        match (self, line) {
            (Spot::Vessel(label), Line::Vessel(id)) => state.vessels.get(*id).label == *label,
            (Spot::Bin(place), Line::Bin(lies)) => lies == place,
            _ => false,
        }
    }

    /// What it is called.
    pub(super) fn name(&self) -> &Label {
        match self {
            Spot::Vessel(label) | Spot::Bin(label) => label,
        }
    }
}
