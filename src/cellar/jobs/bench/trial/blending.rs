//! The blend: a glass or a ratio is chosen, and the cellar blends the vessels to it, one after the other.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::code::Code;
use super::refusal::TrialRefusal;
use super::{Component, Trial};
use crate::cellar::core::book;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{LABEL_CHARACTERS, Label};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Lot, LotId, State, TrialId, VesselId, Work, WorkId};
use crate::cellar::jobs::bench::assemblage::{Aim, Part};
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::work::{Stop, Task};
use crate::reckon::scale_up::{Asked, ScaleError, Taking, Tank, Tolerance, scale_up};
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
    /// What is kept back of each wine, in the order of the components.
    #[serde(default, rename = "keep_ul", skip_serializing_if = "Vec::is_empty")]
    pub keep: Vec<Volume>,
    /// By how much a share may differ, so that the litres of it can be had, and at the end.
    #[serde(default, rename = "tolerance_ppm", skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Tolerance>,
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

/// What a vessel gives to a blend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Portion {
    vessel: VesselId,
    share: u32,
    planned: Volume,
    keep: Volume,
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

impl ReadyBlend {
    /// The vessels of the wines that have a share.
    fn used(&self, state: &State) -> Vec<VesselId> {
        let components = state.trials.get(self.trial).components();
        let used = components.iter().zip(self.shares.millionths()).filter(|(_, share)| **share > 0);
        used.map(|(component, _)| component.vessel).collect()
    }
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

    /// Why a vessel cannot give what is asked of it beside what open works are still to take, if so.
    fn takes_promised(&self, state: &State, trial: &Trial, portion: &Portion) -> Option<TrialRefusal> {
        let at = trial.components().iter().position(|component| component.vessel == portion.vessel)?;
        let kept = self.keep.get(at).copied().unwrap_or_default();
        let keep = state.kept_beside_works(&trial.components()[at], kept);
        let promised = state.promised(portion.vessel);
        let vessel = state.vessels.get(portion.vessel);
        let beyond = portion.planned > vessel.volume().saturating_sub(promised).saturating_sub(keep);
        (beyond && !promised.is_zero()).then(|| TrialRefusal::Promised {
            vessel: vessel.label.clone(),
            holds: vessel.volume(),
            promised,
            wanted: portion.planned,
        })
    }

    /// What the wines that have a share give, those with the least to spare first. Where they cannot give so much, why not,
    /// and what the ratio itself asks for.
    fn portions(&self, state: &State, trial: &Trial, shares: &Shares) -> (Vec<Portion>, Option<ScaleError>) {
        let kept = self.keep.iter().copied().chain(std::iter::repeat(Volume::ZERO));
        let asked = trial.components().iter().zip(shares.millionths()).zip(kept).filter(|((_, share), _)| **share > 0);
        let mut portions: Vec<Portion> = asked
            .map(|((component, &share), kept)| Portion {
                vessel: component.vessel,
                share,
                planned: Volume::ZERO,
                keep: state.kept_back(component, kept),
            })
            .collect();
        let tank = |portion: &Portion| Tank {
            name: state.vessels.get(portion.vessel).label.to_string(),
            holds: state.vessels.get(portion.vessel).volume(),
            keep: portion.keep,
            taking: Taking::AsAsked,
        };
        let tanks: Vec<Tank> = portions.iter().map(tank).collect();
        let shares = shares.without_noughts();
        let litres = Some(self.volume);
        match scale_up(&Asked { shares: &shares, tanks: &tanks, tolerance: self.tolerance, room: None, litres }) {
            Ok(batch) => {
                portions.iter_mut().zip(batch.parts).for_each(|(portion, part)| portion.planned = part);
                (batch.transfers.into_iter().map(|at| portions[at]).collect(), None)
            }
            Err(why) => {
                let weights: Vec<u64> = portions.iter().map(|portion| u64::from(portion.share)).collect();
                // Shares sum to a million, so there is something to split by.
                let volumes = apportion(self.volume.as_ul(), &weights).unwrap_or_default();
                portions.iter_mut().zip(volumes).for_each(|(portion, ul)| portion.planned = Volume::from_ul(ul));
                (portions, Some(why))
            }
        }
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
        let components = state.trials.get(trial).components().len();
        if self.keep.len() > components {
            return Err(TrialRefusal::BlendKept { kept: self.keep.len(), components }.into());
        }
        Ok(ReadyBlend { trial, shares, into, lot, colour, work: self.work_label(state)? })
    }

    fn doubt(&self, state: &State, ready: &ReadyBlend) -> Option<Refusal> {
        let (trial, into) = (state.trials.get(ready.trial), state.vessels.get(ready.into));
        if trial.reveal.is_none() {
            return Some(TrialRefusal::RevealFirst(self.trial.clone()).into());
        }
        let (portions, why_not) = self.portions(state, trial, &ready.shares);
        if portions.iter().any(|portion| portion.vessel == ready.into) {
            return Some(TrialRefusal::IntoComponent(self.into.clone()).into());
        }
        let other = ready.lot.map(|lot| state.lots.get(lot)).filter(|lot| lot.colour != ready.colour);
        if let Some(lot) = other {
            let (lot, lot_colour) = (lot.label.clone(), lot.colour);
            return Some(Refusal::LotColour { lot, lot_colour, colour: ready.colour });
        }
        book::doubt_volume(into, into.volume() + self.volume)
            .or_else(|| why_not.map(|why| TrialRefusal::Scale(why).into()))
    }

    fn slip(&self, state: &State, ready: &ReadyBlend) -> Option<Refusal> {
        let trial = state.trials.get(ready.trial);
        if let Some(refusal) = state.why_not_blend_into(ready.into, ready.lot, false) {
            return Some(refusal);
        }
        let is_changed = |portion: &Portion| {
            state.vessels.get(portion.vessel).filled.is_some_and(|filled| filled.instant() > trial.set.instant())
        };
        let (portions, _) = self.portions(state, trial, &ready.shares);
        let changed = portions.iter().find(|portion| is_changed(portion));
        let other = changed.map(|portion| TrialRefusal::OtherWine(state.vessels.get(portion.vessel).label.clone()));
        other
            .or_else(|| portions.iter().find_map(|portion| self.takes_promised(state, trial, portion)))
            .map(Refusal::from)
    }

    fn bar(&self, state: &State, ready: &ReadyBlend) -> Option<Refusal> {
        let mut named = ready.used(state);
        named.push(ready.into);
        state.barred(&named)
    }

    fn questions(&self, state: &State, ready: &ReadyBlend, _at: Moment) -> Vec<Question> {
        let little = plausible::asks_of_little(state.vessels.get(ready.into), self.volume);
        let suspect = ready.used(state).into_iter().filter_map(|id| state.asks_of_suspect(id, ready.into));
        suspect.chain(little).collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: ReadyBlend) {
        let (mut portions, _) = self.portions(state, state.trials.get(ready.trial), &ready.shares);
        let ReadyBlend { trial, shares, into, lot, colour, work } = ready;
        // What is in the vessel already is not drawn from itself.
        portions.retain(|portion| portion.vessel != into);
        let weights: Vec<u64> = portions.iter().map(|portion| u64::from(portion.share)).collect();
        let lot = lot.unwrap_or_else(|| state.lots.add(Lot::opened(self.lot.clone(), colour, stamp.at)));
        let aim = Aim {
            // Of nothing but the vessel itself no ratio is left.
            shares: Shares::in_proportion(&weights).unwrap_or_else(|_| shares.clone()),
            tolerance: self.tolerance.unwrap_or(Tolerance::USUAL),
            parts: (0..).zip(&portions).map(|(at, it)| Part { component: at, keep: it.keep, empties: false }).collect(),
        };
        let stops = portions.into_iter().map(|portion| Stop {
            vessel: portion.vessel,
            volume: portion.planned,
            amount: Mass::default(),
            lees: Volume::ZERO,
            tick: None,
        });
        let work = state.works.add(Work {
            label: work,
            task: Task::Blending { into, lot, aim: aim.into() },
            stops: Arc::new(stops.collect()),
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
    /// What must stay in the vessel of a component: what was kept back for other use or is kept back now, and what is
    /// beyond what there was said to be for the blend.
    #[must_use]
    pub fn kept_back(&self, component: &Component, now: Volume) -> Volume {
        let holds = self.vessels.get(component.vessel).volume();
        let beyond = component.available.map_or(Volume::ZERO, |available| holds.saturating_sub(available));
        component.reserve.max(now).max(beyond)
    }

    /// What must stay in the vessel of a component beside what open works are still to take. What is beyond what there was
    /// said to be for the blend may be theirs.
    #[must_use]
    pub fn kept_beside_works(&self, component: &Component, now: Volume) -> Volume {
        let kept = self.kept_back(component, now);
        let asked = component.reserve.max(now);
        kept.saturating_sub(self.promised(component.vessel)).max(asked)
    }
}

impl Label {
    /// A label with a number behind it where it is taken, shortened where it is too long. None where a thousand are taken.
    fn numbered(text: &str, is_taken: impl Fn(&Label) -> bool) -> Option<Label> {
        let text: String = text.chars().take(LABEL_CHARACTERS - 5).collect();
        (1..1000).find_map(|number| {
            let text = if number == 1 { text.clone() } else { format!("{text} {number}") };
            Label::read(&text).ok().filter(|label| !is_taken(label))
        })
    }
}
