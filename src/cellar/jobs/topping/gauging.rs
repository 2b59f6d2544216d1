//! Gauging: what a vessel holds was measured.
//!
//! **What is gauged surprises** beyond three deviations of the headspace estimate, or 2 % of what the book has of another vessel
//! (`State::expected_in`).

use serde::{Deserialize, Serialize};

use crate::cellar::core::account::Entry;
use crate::cellar::core::book;
use crate::cellar::core::fact::{Stamp, What};
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::jobs::wood::racking::RackedIn;
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
    /// Where what is missing went; evaporated where that is not said.
    #[serde(default)]
    pub cause: Option<Missing>,
}

/// Where that went which a gauging finds missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    /// Through the wood, or from a tank that is not full.
    Evaporation,
    /// It stayed behind with the lees of the barrels that were racked.
    Lees,
    /// It was lost on the way in: in pumps and hoses.
    Handling,
}

impl Missing {
    /// The line of the account that it is booked under.
    const fn entry(self) -> Entry {
        match self {
            Missing::Evaporation => Entry::Evaporation,
            Missing::Lees => Entry::Lees,
            Missing::Handling => Entry::Handling,
        }
    }

    /// The words for it, as a ledger has them.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Missing::Evaporation => "evaporation",
            Missing::Lees => "lees",
            Missing::Handling => "movement loss",
        }
    }
}

/// How long after wine came in a gauging tells of the coming in and not of what evaporated since (our choice).
const JUST_CAME_MICROSECONDS: i64 = DAY_MICROSECONDS;

/// How wine last came into a vessel, and what was racked into it since its level was known.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CameIn {
    /// When.
    at: Option<Moment>,
    /// Whether it was racked.
    racked: bool,
    /// What was racked in since the level was known.
    pub(in crate::cellar) from_barrels: RackedIn,
}

impl CameIn {
    /// Wine comes in.
    pub(in crate::cellar) fn come(&mut self, at: Moment, racked: bool) {
        (self.at, self.racked) = (Some(at), racked);
    }

    /// Where that went which is missing at a moment, if it is known by then that anything is.
    #[must_use]
    pub fn missing(&self, at: Moment) -> Missing {
        let came = self.at.is_some_and(|came| at.instant().saturating_sub(came.instant()) <= JUST_CAME_MICROSECONDS);
        match (came, self.racked) {
            (true, true) => Missing::Lees,
            (true, false) => Missing::Handling,
            (false, _) => Missing::Evaporation,
        }
    }
}

/// What is measured of a vessel that is kept full surprises beyond so many deviations of the headspace estimate …
const SURPRISING_DEVIATIONS: u64 = 3;
/// … but never within so many thousandths of what it can hold: a dip is read to some millimetres (common practice).
const BARREL_THOUSANDTHS: u64 = 3;
/// … and of another vessel beyond so many hundredths of what its book says: nobody reads a sight glass or a dip in a tank
/// better (common practice).
const TANK_HUNDREDTHS: u64 = 2;

/// What a vessel is expected to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Expected {
    /// How much.
    pub volume: Volume,
    /// The standard deviation of that; none where the book says it exactly.
    pub deviation: Volume,
    /// What is measured within so much of it surprises nobody.
    pub band: Volume,
}

/// The table of a lying barrel, scaled by its capacity. None for a vessel without one, which is never registered.
#[must_use]
pub fn gauge(vessel: &Vessel) -> Option<Gauge> {
    Gauge::new(vessel.wood.lying(), vessel.capacity.as_litres())
}

impl Gauged {
    /// A gauging of a volume.
    #[must_use]
    pub const fn of_volume(vessel: Label, volume: Volume) -> Gauged {
        Gauged { vessel, volume: Some(volume), dip_mm: None, cause: None }
    }

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

impl State {
    /// What a vessel is expected to hold at a moment: by the headspace estimate where it is kept full, else by its book.
    #[must_use]
    pub fn expected_in(&self, vessel: &Vessel, at: Moment) -> Expected {
        let book = vessel.volume();
        if !self.is_to_be_topped(vessel) {
            let band = Volume::from_ul(book.as_ul() / 100 * TANK_HUNDREDTHS);
            return Expected { volume: book, deviation: Volume::ZERO, band };
        }
        let headspace = self.headspace(vessel, at);
        let read = vessel.capacity.as_ul() / 1000 * BARREL_THOUSANDTHS;
        Expected {
            volume: vessel.capacity.saturating_sub(headspace.missing),
            deviation: headspace.deviation,
            band: Volume::from_ul((headspace.deviation.as_ul() * SURPRISING_DEVIATIONS).max(read)),
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

    fn completed(&self, state: &State, &(id, measured): &Self::Ready, at: Moment) -> Option<What> {
        let vessel = state.vessels.get(id);
        let is_open = self.cause.is_none() && measured < vessel.volume();
        is_open.then(|| What::Gauged(Gauged { cause: Some(vessel.came_in.missing(at)), ..self.clone() }))
    }

    fn slip(&self, _state: &State, &(_, measured): &Self::Ready) -> Option<Refusal> {
        plausible::doubt_litres(&self.vessel, self.volume.and(Some(measured))?, plausible::GAUGED)
    }

    fn questions(&self, state: &State, &(id, measured): &Self::Ready, at: Moment) -> Vec<Question> {
        let Expected { volume: expected, band, .. } = state.expected_in(state.vessels.get(id), at);
        let by = Volume::from_ul(measured.as_ul().abs_diff(expected.as_ul()));
        let surprises = by > band;
        let question = Question::SurprisingGauging { vessel: self.vessel.clone(), measured, expected };
        surprises.then_some(question).into_iter().collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (id, measured): Self::Ready) {
        state.learn_lees(id, measured, self.cause, stamp.at);
        let vessel = state.vessels.get_mut(id);
        vessel.history.remember(stamp, Event::Gauged(measured));
        let book = vessel.volume();
        let cause = self.cause.unwrap_or(Missing::Evaporation);
        if measured.is_zero() {
            let entry = if cause == Missing::Evaporation { vessel.missing_entry() } else { cause.entry() };
            vessel.draw(book, entry, stamp.at);
            return;
        }
        vessel.gain(measured.saturating_sub(book));
        let missing = book.saturating_sub(measured);
        if cause != Missing::Evaporation {
            vessel.draw(missing, cause.entry(), stamp.at);
        }
        let evaporated = vessel.volume().saturating_sub(measured);
        if let Some(finding) = vessel.find_evaporation(evaporated, stamp.at) {
            state.learn(id, &finding);
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
