//! The search for the barrels of a plan: better and better ones are told, and it can be stopped.

use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::cellar::views::wood::fill::{FillPlan, PreparedFill};
use crate::reckon::fill::{Answer as Choice, choose};
use crate::tui::core::apart::Search;

/// After so long the best so far must do: what is not proved then is rarely proved later, and a laptop in the aisle runs on
/// its battery (our choice).
const LONGEST: Duration = Duration::from_secs(60);

/// The search for the barrels that answer a question best.
pub(super) fn of(prepared: Arc<PreparedFill>) -> Search {
    Search::of(move |apart| {
        let begun = Instant::now();
        let is_due = || apart.is_stopped() || begun.elapsed() >= LONGEST;
        let mut better = |choice: &Choice| apart.so_far(FillPlan::so_far(&prepared, choice.clone()));
        let found = choose(&prepared.question, &is_due, &mut better);
        found.map(|answer| FillPlan::of(&prepared, answer)).map_err(|error| error.to_string())
    })
}
