//! `decide`: may this be done? Pure: the state and the clock come in, nothing or a refusal comes out.

use super::fact::What;
use super::moment::Moment;
use super::refusal::Refusal;
use super::state::State;

/// How far ahead of this laptop's clock a fact may be dated: two laptops' clocks may differ by so much.
pub const CLOCK_TOLERANCE_MICROSECONDS: i64 = 5 * 60 * 1_000_000;

/// Whether something may be done: what it names is there, it can be true, and it is no likely slip of the hand.
///
/// `at` is when it is said to have happened, `now` the clock of this laptop.
pub fn decide(state: &State, what: &What, at: Moment, now: Moment) -> Result<(), Refusal> {
    decide_despite(state, what, false, at, now)
}

/// The same of what is done despite a hold or a checklist, where a reason is given.
pub fn decide_despite(state: &State, what: &What, despite: bool, at: Moment, now: Moment) -> Result<(), Refusal> {
    if is_future(at, now) {
        return Err(Refusal::Future { at, now });
    }
    what.deed().permitted(state, despite)
}

/// Whether a moment lies ahead of a clock by more than two clocks differ.
#[must_use]
pub fn is_future(at: Moment, now: Moment) -> bool {
    at.instant() > now.instant() + CLOCK_TOLERANCE_MICROSECONDS
}
