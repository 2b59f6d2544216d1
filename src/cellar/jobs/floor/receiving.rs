//! Receiving: wine comes into the book.

use serde::{Deserialize, Serialize};

use super::lot::Colour;
use crate::cellar::core::account::Entry;
use crate::cellar::core::book::{self, Arrival};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::finish::checklist::lapse::Change;
use crate::units::Volume;

/// The fact `wine_received`: wine comes into the book.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WineReceived {
    /// The vessel it comes into.
    pub vessel: Label,
    /// The lot it is from now on.
    pub lot: Label,
    /// What it is made of.
    pub parts: Vec<ReceivedPart>,
}

/// So much of one origin.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReceivedPart {
    /// Which origin.
    pub origin: Label,
    /// How much of it.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
}

/// What a receiving names, looked up.
pub struct ReadyReceiving {
    vessel: VesselId,
    lot: LotId,
    wine: Wine,
    colour: Colour,
}

impl ReadyReceiving {
    fn arrival(&self) -> Arrival {
        Arrival { volume: self.wine.volume(), lot: Some(self.lot), colour: Some(self.colour) }
    }
}

impl Job for WineReceived {
    type Ready = ReadyReceiving;

    fn ready(&self, state: &State) -> Result<ReadyReceiving, Refusal> {
        let vessel = state.vessel(&self.vessel)?;
        let lot = state.lot(&self.lot)?;
        let mut wine = Wine::default();
        let mut colour = state.lots.get(lot).colour;
        for part in &self.parts {
            let origin =
                state.origins.find(part.origin.as_str()).ok_or_else(|| Refusal::UnknownOrigin(part.origin.clone()))?;
            if part.volume.is_zero() {
                return Err(Refusal::NoVolume);
            }
            book::sane(part.volume)?;
            // One red part makes the wine red: it would stain the wood.
            if state.origins.get(origin).0.colour == Colour::Red {
                colour = Colour::Red;
            }
            wine.put(Some(origin), part.volume);
        }
        if wine.is_empty() {
            return Err(Refusal::NoVolume);
        }
        book::sane(wine.volume())?;
        Ok(ReadyReceiving { vessel, lot, wine, colour })
    }

    fn doubt(&self, state: &State, ready: &ReadyReceiving) -> Option<Refusal> {
        book::doubt_arrival(state, ready.vessel, ready.arrival())
    }

    fn bar(&self, state: &State, ready: &Self::Ready) -> Option<Refusal> {
        state.barred(&[ready.vessel])
    }

    fn slip(&self, _state: &State, ready: &ReadyReceiving) -> Option<Refusal> {
        plausible::doubt_litres(&self.vessel, ready.wine.volume(), plausible::RECEIVED)
    }

    fn questions(&self, state: &State, ready: &ReadyReceiving, _at: Moment) -> Vec<Question> {
        let vessel = state.vessels.get(ready.vessel);
        let other = vessel.lot.filter(|&lot| lot != ready.lot).map(|lot| Question::LotRenamed {
            vessel: self.vessel.clone(),
            holds: vessel.volume(),
            lot: state.lots.get(lot).label.clone(),
            becomes: self.lot.clone(),
        });
        other.into_iter().chain(plausible::asks_of_little(vessel, ready.wine.volume())).collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: ReadyReceiving) {
        state.carry_suspicion(None, ready.vessel, ready.wine.volume(), stamp.at);
        let vessel = state.vessels.get_mut(ready.vessel);
        vessel.pour(&ready.wine, Entry::Received, ready.arrival(), stamp.at);
        vessel.came_in.come(stamp.at, false);
        vessel.history.remember(stamp, Event::Received(ready.wine.volume()));
        state.wine_changed(ready.vessel, stamp, Change::Blended);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
