//! Care of empty wood: what was done to a barrel between two wines, and when it is due again.

use serde::{Deserialize, Serialize};

use super::book;
use super::fact::Stamp;
use super::history::Event;
use super::job::Job;
use super::label::Label;
use super::moment::Moment;
use super::refusal::Refusal;
use super::state::{State, Vessel, VesselId};
use super::work::Tick;
use crate::units::Volume;

/// What is done to empty wood.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Care {
    /// Rinsed with water.
    Rinsed,
    /// Steamed.
    Steamed,
    /// Treated with ozone in water.
    Ozonated,
    /// Sulfur burnt, or gas let in.
    Sulfured,
    /// Swelled with water so that it holds.
    Soaked,
    /// Drained and dried.
    Dried,
}

impl Care {
    /// Every one.
    pub const ALL: [Care; 6] = [Care::Rinsed, Care::Steamed, Care::Ozonated, Care::Sulfured, Care::Soaked, Care::Dried];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Care::Rinsed => "rinsed",
            Care::Steamed => "steamed",
            Care::Ozonated => "ozonated",
            Care::Sulfured => "sulfured",
            Care::Soaked => "soaked",
            Care::Dried => "dried",
        }
    }
}

/// The fact `barrel_cared`: something was done to an empty barrel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BarrelCared {
    /// Which barrel.
    pub vessel: Label,
    /// What.
    pub care: Care,
}

/// When each kind of care was last given, since the barrel was last emptied.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CareGiven {
    last: [Option<Moment>; Care::ALL.len()],
}

impl CareGiven {
    /// When a kind of care was last given.
    #[must_use]
    pub const fn last(&self, care: Care) -> Option<Moment> {
        self.last[care as usize]
    }
}

impl Vessel {
    /// When a kind of care was last given to its wood since it was last emptied.
    #[must_use]
    pub fn cared(&self, care: Care) -> Option<Moment> {
        self.care.last(care)
    }
}

impl Job for BarrelCared {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        let id = state.vessel(&self.vessel)?;
        if book::is_wood(state.vessels.get(id)) { Ok(id) } else { Err(Refusal::NoWood(self.vessel.clone())) }
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        let volume = state.vessels.get(id).volume();
        (!volume.is_zero()).then(|| Refusal::CaredWhileFull { vessel: self.vessel.clone(), volume })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.care.last[self.care as usize] = Some(stamp.at);
        vessel.history.remember(stamp, Event::Cared(self.care));
        state.tick(id, |task| task.cares(self.care), Tick::Done(Volume::ZERO));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
