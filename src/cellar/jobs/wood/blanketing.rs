//! Blanketing: gas is laid over the wine of a vessel that is not full, and looked at again after some days.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};

/// The fact `blanketed`: gas was laid over what a vessel holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Blanketed {
    /// Which vessel.
    pub vessel: Label,
    /// Which gas.
    pub gas: Label,
}

/// The gas over a wine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Blanket {
    /// Which gas.
    pub gas: Label,
    /// When it was laid.
    pub at: Moment,
}

/// Something that is done to a wine again and again while it lies there: when it was done last, and when it is due.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kept {
    /// Of which vessel.
    pub vessel: VesselId,
    /// When it was done last.
    pub at: Moment,
    /// When it is due again.
    pub due: Moment,
}

impl Kept {
    /// What was done last at a moment and is due after so many days; none where it never was done.
    pub(super) fn of(vessel: VesselId, done: Option<Moment>, days: u32) -> Option<Kept> {
        let at = done?;
        let due = at.at_instant(at.instant().saturating_add(i64::from(days) * DAY_MICROSECONDS));
        Some(Kept { vessel, at, due })
    }

    /// Whether its day has come at a moment, by the days on the wall.
    #[must_use]
    pub fn is_due(&self, now: Moment) -> bool {
        now.days_since(self.due) >= 0
    }
}

impl State {
    /// When gas was last laid over what a vessel holds, and when it is to be looked at again: after the days of the house. None where there
    /// is no wine, or no gas was laid over it.
    #[must_use]
    pub fn blanket(&self, vessel: VesselId) -> Option<Kept> {
        let there = self.vessels.get(vessel);
        let laid = there.blanket.as_ref().filter(|_| !there.wine.is_empty()).map(|blanket| blanket.at);
        Kept::of(vessel, laid, self.practice.blanket_days)
    }
}

impl Job for Blanketed {
    type Ready = VesselId;

    /// A tank may be filled with gas before wine comes in.
    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        state.vessel(&self.vessel)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.blanket = Some(Box::new(Blanket { gas: self.gas.clone(), at: stamp.at }));
        vessel.history.remember(stamp, Event::Blanketed);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
