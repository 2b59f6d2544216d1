//! `evolve`: what a fact does to the state. Pure and total: a fact that does not fit is kept as a discrepancy, and no
//! history, however odd, stops the fold.

use super::fact::{Stamp, What};
use super::state::State;

/// Folds one fact into the state. Facts come in their order; those that are taken back do not come at all.
pub fn evolve(state: &mut State, stamp: &Stamp, what: &What) {
    what.deed().fold(state, stamp, what.kind());
    state.facts += 1;
    state.last = Some((stamp.key(), stamp.at));
}
