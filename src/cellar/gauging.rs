//! Gauging: what a vessel holds was measured.

use serde::{Deserialize, Serialize};

use super::account::Entry;
use super::book;
use super::fact::Stamp;
use super::history::Event;
use super::job::Job;
use super::label::Label;
use super::refusal::Refusal;
use super::state::{State, Vessel, VesselId};
use crate::reckon::gauging::Gauge;
use crate::units::Volume;

/// The fact `gauged`: what a vessel holds was measured, as a volume or as a dip.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Gauged {
    /// Which vessel.
    pub vessel: Label,
    /// What it holds.
    #[serde(default, rename = "volume_ul")]
    pub volume: Option<Volume>,
    /// The depth of the headspace under the bung of a lying barrel, mm.
    #[serde(default)]
    pub dip_mm: Option<f64>,
}

/// The table of a lying barrel, scaled by its capacity. None for a vessel without one, which is never registered.
#[must_use]
pub fn gauge(vessel: &Vessel) -> Option<Gauge> {
    Gauge::new(vessel.wood.lying(), vessel.capacity.as_litres())
}

impl Gauged {
    /// What the vessel holds by this measurement.
    pub fn measured(&self, vessel: &Vessel) -> Result<Volume, Refusal> {
        match (self.volume, self.dip_mm) {
            (Some(volume), None) => {
                book::sane(volume)?;
                Ok(volume)
            }
            (None, Some(dip_mm)) => {
                if !book::is_wood(vessel) {
                    return Err(Refusal::NotABarrel(self.vessel.clone()));
                }
                let out_of_range = |bilge_mm| Refusal::DipOutOfRange { vessel: self.vessel.clone(), dip_mm, bilge_mm };
                let gauge = gauge(vessel).ok_or_else(|| Refusal::NoCapacity(self.vessel.clone()))?;
                let missing = gauge.missing_litres(dip_mm).ok_or_else(|| out_of_range(gauge.barrel().bilge_mm()))?;
                Ok(vessel.capacity.saturating_sub(Volume::nearest_to_litres(missing)))
            }
            _ => Err(Refusal::VolumeOrDip),
        }
    }
}

impl Job for Gauged {
    /// The vessel and what it holds.
    type Ready = (VesselId, Volume);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let id = state.vessel(&self.vessel)?;
        let vessel = state.vessels.get(id);
        let measured = self.measured(vessel)?;
        if vessel.wine.is_empty() && !measured.is_zero() {
            return Err(Refusal::SourceEmpty(self.vessel.clone()));
        }
        Ok((id, measured))
    }

    fn doubt(&self, state: &State, &(id, measured): &Self::Ready) -> Option<Refusal> {
        book::doubt_volume(state.vessels.get(id), measured)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (id, measured): Self::Ready) {
        let vessel = state.vessels.get_mut(id);
        vessel.history.remember(stamp, Event::Gauged(measured));
        let book = vessel.volume();
        if measured.is_zero() {
            vessel.draw(book, Entry::Evaporation, stamp.at);
            return;
        }
        vessel.gain(measured.saturating_sub(book));
        if let Some(finding) = vessel.find_evaporation(book.saturating_sub(measured), stamp.at) {
            state.learn(id, &finding);
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
