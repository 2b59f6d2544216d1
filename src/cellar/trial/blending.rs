//! The blend: a glass or a ratio is chosen, and the cellar blends the vessels to it, one after the other.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::code::Code;
use super::refusal::TrialRefusal;
use super::{Component, Trial};
use crate::cellar::book;
use crate::cellar::fact::Stamp;
use crate::cellar::job::Job;
use crate::cellar::label::{LABEL_CHARACTERS, Label};
use crate::cellar::lot::Colour;
use crate::cellar::moment::Moment;
use crate::cellar::refusal::Refusal;
use crate::cellar::state::{Lot, LotId, State, TrialId, VesselId, Work, WorkId};
use crate::cellar::work::{Stop, Task, Tick};
use crate::units::{Mass, Shares, Volume, apportion};

/// The fact `blend_chosen`: a glass of a trial, or a ratio of its wines, is blended. It sets up the work of doing so.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BlendChosen {
    /// Which trial.
    pub trial: Label,
    /// The glass that is blended, if it is one.
    #[serde(default)]
    pub code: Option<Code>,
    /// The shares, a share a component, if it is no glass.
    #[serde(default, rename = "shares_ppm")]
    pub shares: Option<Shares>,
    /// The vessel that the wines come into.
    pub into: Label,
    /// How much blend there will be.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// The lot that it is. It is opened where there is none of that label.
    pub lot: Label,
    /// The label of the work; one after the lot where it is not said.
    #[serde(default)]
    pub work: Option<Label>,
}

/// A blend that was chosen after a trial.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Blend {
    /// When it was chosen.
    pub at: Moment,
    /// The glass, if it is one.
    pub code: Option<Code>,
    /// The shares, in the order of the trial's components.
    pub shares: Shares,
    /// The vessel that the wines come into.
    pub into: VesselId,
    /// How much blend there will be.
    pub volume: Volume,
    /// The lot that it is.
    pub lot: LotId,
    /// The work of doing it.
    pub work: WorkId,
}

/// What a share of a blend comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Portion {
    /// The vessel that gives.
    pub vessel: VesselId,
    /// What it is to give.
    pub planned: Volume,
    /// What must be kept back there.
    pub reserve: Volume,
}

/// What each component gives to so much of a blend: in sum exactly that. Components without a share are left out.
#[must_use]
pub fn portions(components: &[Component], shares: &Shares, volume: Volume) -> Vec<Portion> {
    let weights: Vec<u64> = shares.millionths().iter().map(|&part| u64::from(part)).collect();
    // Shares sum to a million, so there is something to split by.
    let volumes = apportion(volume.as_ul(), &weights).unwrap_or_default();
    let portions = components.iter().zip(volumes).filter(|(_, volume)| *volume > 0);
    let portion = |(component, ul): (&Component, u64)| Portion {
        vessel: component.vessel,
        planned: Volume::from_ul(ul),
        reserve: component.reserve,
    };
    portions.map(portion).collect()
}

/// What a chosen blend names, looked up.
pub struct ReadyBlend {
    trial: TrialId,
    shares: Shares,
    into: VesselId,
    /// None where the blend opens it.
    lot: Option<LotId>,
    colour: Colour,
    work: Label,
}

impl BlendChosen {
    fn mixture(&self, trial: &Trial) -> Result<Shares, TrialRefusal> {
        let components = trial.components().len();
        match (&self.code, &self.shares) {
            (Some(code), None) => {
                let glass = trial.layout.glasses.iter().find(|glass| glass.code == *code);
                let unknown = || TrialRefusal::UnknownCode { trial: self.trial.clone(), code: *code };
                glass.map(|glass| glass.shares.clone()).ok_or_else(unknown)
            }
            (None, Some(shares)) if shares.components() == components => Ok(shares.clone()),
            (None, Some(shares)) => Err(TrialRefusal::BlendShares { shares: shares.components(), components }),
            _ => Err(TrialRefusal::CodeOrShares),
        }
    }

    /// A label for the work: the one said, or one after the lot.
    fn work_label(&self, state: &State) -> Result<Label, Refusal> {
        let is_free = |label: &Label| state.works.find(label.as_str()).is_none();
        match &self.work {
            Some(label) if is_free(label) => Ok(label.clone()),
            Some(label) => Err(Refusal::LabelTaken { what: "A work", label: label.clone() }),
            None => Label::numbered(&format!("blend {}", self.lot), |label| !is_free(label))
                .ok_or_else(|| TrialRefusal::NoWorkLabel(self.lot.clone()).into()),
        }
    }

    /// Why a component cannot give its portion, if it cannot.
    fn too_low(&self, state: &State, trial: &Trial, shares: &Shares) -> Option<TrialRefusal> {
        portions(trial.components(), shares, self.volume).into_iter().find_map(|portion| {
            let vessel = state.vessels.get(portion.vessel);
            let (holds, wanted, reserve) = (vessel.volume(), portion.planned, portion.reserve);
            let vessel = vessel.label.clone();
            (wanted + reserve > holds).then_some(TrialRefusal::ComponentTooLow { vessel, holds, wanted, reserve })
        })
    }
}

/// The colour of a mixture: that of its darkest wine. None where nothing of it is left in its vessels.
fn colour_of(state: &State, components: &[Component], shares: &Shares) -> Option<Colour> {
    let used = components.iter().zip(shares.millionths()).filter(|(_, part)| **part > 0);
    let colours: Vec<Colour> =
        used.filter_map(|(component, _)| state.colour_in(state.vessels.get(component.vessel))).collect();
    [Colour::Red, Colour::Rose, Colour::White].into_iter().find(|colour| colours.contains(colour))
}

impl Job for BlendChosen {
    type Ready = ReadyBlend;

    fn ready(&self, state: &State) -> Result<ReadyBlend, Refusal> {
        let trial = state.trial(&self.trial)?;
        book::sane(self.volume)?;
        if self.volume.is_zero() {
            return Err(Refusal::NoVolume);
        }
        let shares = self.mixture(state.trials.get(trial))?;
        let into = state.vessel(&self.into)?;
        let lot = state.lots.find(self.lot.as_str());
        let comes = colour_of(state, state.trials.get(trial).components(), &shares);
        let colour = comes.or_else(|| lot.map(|lot| state.lots.get(lot).colour));
        let colour = colour.ok_or_else(|| Refusal::UnknownLot(self.lot.clone()))?;
        Ok(ReadyBlend { trial, shares, into, lot, colour, work: self.work_label(state)? })
    }

    fn doubt(&self, state: &State, ready: &ReadyBlend) -> Option<Refusal> {
        let (trial, into) = (state.trials.get(ready.trial), state.vessels.get(ready.into));
        if trial.card.is_none() {
            return Some(TrialRefusal::CardFirst(self.trial.clone()).into());
        }
        if portions(trial.components(), &ready.shares, self.volume).iter().any(|portion| portion.vessel == ready.into) {
            return Some(TrialRefusal::IntoComponent(self.into.clone()).into());
        }
        let other = ready.lot.map(|lot| state.lots.get(lot)).filter(|lot| lot.colour != ready.colour);
        if let Some(lot) = other {
            let (lot, lot_colour) = (lot.label.clone(), lot.colour);
            return Some(Refusal::LotColour { lot, lot_colour, colour: ready.colour });
        }
        book::doubt_volume(into, into.volume() + self.volume)
            .or_else(|| self.too_low(state, trial, &ready.shares).map(Refusal::from))
    }

    fn slip(&self, state: &State, ready: &ReadyBlend) -> Option<Refusal> {
        let (trial, into) = (state.trials.get(ready.trial), state.vessels.get(ready.into));
        if !into.wine.is_empty() && into.lot != ready.lot {
            let (vessel, holds) = (self.into.clone(), into.volume());
            return Some(TrialRefusal::IntoHolds { vessel, holds }.into());
        }
        let changed = portions(trial.components(), &ready.shares, self.volume).into_iter().find(|portion| {
            state.vessels.get(portion.vessel).filled.is_some_and(|filled| filled.instant() > trial.set.instant())
        });
        changed.map(|portion| TrialRefusal::OtherWine(state.vessels.get(portion.vessel).label.clone()).into())
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: ReadyBlend) {
        let ReadyBlend { trial, shares, into, lot, colour, work } = ready;
        let lot = lot.unwrap_or_else(|| state.lots.add(Lot::opened(self.lot.clone(), colour, stamp.at)));
        let components = state.trials.get(trial).components();
        let stops = portions(components, &shares, self.volume).into_iter().map(|portion| Stop {
            vessel: portion.vessel,
            volume: portion.planned,
            amount: Mass::default(),
            lees: Volume::ZERO,
            tick: None,
        });
        // What is in the vessel already is not drawn from itself.
        let stops: Vec<Stop> = stops.filter(|stop| stop.vessel != into).collect();
        let work = state.works.add(Work {
            label: work,
            task: Task::Blending { into, lot },
            stops: Arc::new(stops),
            begun: stamp.at,
            ended: None,
            done: 0,
        });
        state.open_works.push(work);
        let blend = Blend { at: stamp.at, code: self.code, shares, into, volume: self.volume, lot, work };
        state.trials.get_mut(trial).blends.push(blend);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.trial)
    }
}

impl State {
    /// Wine came from a component into a blend: it is counted in the first open work that blends there. A vessel may give
    /// several times, to bring the ratio right.
    pub(in crate::cellar) fn blended(&mut self, from: VesselId, into: VesselId, volume: Volume) {
        for &id in &self.open_works {
            let work = self.works.get(id);
            if !work.task.blends_into(into) {
                continue;
            }
            if let Some(index) = work.stops.iter().position(|stop| stop.vessel == from) {
                let tick = &mut Arc::make_mut(&mut self.works.get_mut(id).stops)[index].tick;
                let before = if let Some(Tick::Done(before)) = *tick { before } else { Volume::ZERO };
                *tick = Some(Tick::Done(before + volume));
                return;
            }
        }
    }
}

impl Label {
    /// A label with a number behind it where it is taken, shortened where it is too long. None where a thousand are taken.
    fn numbered(text: &str, is_taken: impl Fn(&Label) -> bool) -> Option<Label> {
        let text: String = text.chars().take(LABEL_CHARACTERS - 5).collect();
        (1..1000).find_map(|number| {
            let text = if number == 1 { text.clone() } else { format!("{text} {number}") };
            Label::new(&text).ok().filter(|label| !is_taken(label))
        })
    }
}
