//! Setting a trial: the glasses, their key, and who is served what.

use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::code::Code;
use super::refusal::TrialRefusal;
use super::seal::{Sealed, digest};
use super::{Component, Glass, Layout, Taster, Trial};
use crate::cellar::core::book;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::plausible;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};
use crate::units::{Shares, Volume};

/// The fact `trial_set`: glasses of one or several wines are mixed for a panel that tastes blind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrialSet {
    /// The trial's label.
    pub trial: Label,
    /// The vessels whose wines are mixed.
    pub components: Vec<ComponentSet>,
    /// What is in a glass.
    #[serde(rename = "glass_ul")]
    pub glass: Volume,
    /// The glasses: the key of the trial.
    pub glasses: Vec<GlassSet>,
    /// The trial of which it is the second sitting, of the same wines: both are read together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<Label>,
    /// Who tastes.
    pub panel: Vec<Label>,
    /// The codes that each taster gets, flight by flight, in the order of tasting.
    pub servings: BTreeMap<Label, Vec<Vec<Code>>>,
    /// The least and most of each component that the glasses were laid out for, in words.
    #[serde(default)]
    pub bounds: Option<Text>,
    /// What else the glasses keep to, in words.
    #[serde(default)]
    pub limits: Option<Text>,
    /// What codes and orders were drawn from, so that the trial can be laid out again.
    #[serde(default)]
    pub seed: Option<u64>,
    /// What is sealed with the key, so that nobody finds the key by trying.
    #[serde(default)]
    pub salt: Option<Label>,
    /// The digest that was printed: see [`super::seal`].
    #[serde(default)]
    pub digest: Option<Text>,
}

/// A component as it is set.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ComponentSet {
    /// The vessel.
    pub vessel: Label,
    /// What of it there is for the blend; all that it holds where it is not said.
    #[serde(default, rename = "available_ul", skip_serializing_if = "Option::is_none")]
    pub available: Option<Volume>,
    /// What must be kept back.
    #[serde(default, rename = "reserve_ul", skip_serializing_if = "Option::is_none")]
    pub reserve: Option<Volume>,
}

/// A glass as it is set.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GlassSet {
    /// What stands on it.
    pub code: Code,
    /// What is in it, a share a component.
    #[serde(rename = "shares_ppm")]
    pub shares: Shares,
    /// The glass that it is the same as, to test the tasters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat_of: Option<Code>,
}

impl TrialSet {
    /// The digest of the key and the salt, 64 hexadecimal digits.
    #[must_use]
    pub fn digest(&self) -> String {
        let sealed = Sealed {
            trial: &self.trial,
            salt: self.salt.as_ref(),
            components: self.components.iter().map(|component| &component.vessel).collect(),
            glasses: self.glasses.iter().map(|glass| (glass.code, &glass.shares, glass.repeat_of)).collect(),
        };
        digest(&sealed.text())
    }

    /// Refuses glasses that are none: no code twice, a share for every component, repeats that are the same.
    fn sound_glasses(&self) -> Result<(), TrialRefusal> {
        if self.glasses.is_empty() {
            return Err(TrialRefusal::NoGlasses(self.trial.clone()));
        }
        let mut codes = HashSet::new();
        for GlassSet { code, shares, repeat_of } in &self.glasses {
            let (code, components) = (*code, self.components.len());
            if !codes.insert(code) {
                return Err(TrialRefusal::CodeTwice(code));
            }
            if shares.components() != components {
                return Err(TrialRefusal::ShareCount { code, shares: shares.components(), components });
            }
            let is_same = |other: &GlassSet, of| other.code == of && of != code && other.shares == *shares;
            if let Some(of) = repeat_of.filter(|&of| !self.glasses.iter().any(|other| is_same(other, of))) {
                return Err(TrialRefusal::NoRepeat { code, of });
            }
        }
        Ok(())
    }

    /// Refuses a panel in which a name stands twice, and servings of what and whom there is not.
    fn sound_servings(&self) -> Result<(), TrialRefusal> {
        if self.panel.is_empty() {
            return Err(TrialRefusal::NoPanel(self.trial.clone()));
        }
        let mut panel = HashSet::new();
        if let Some(twice) = self.panel.iter().find(|taster| !panel.insert(*taster)) {
            return Err(TrialRefusal::TasterTwice(twice.clone()));
        }
        let codes: HashSet<Code> = self.glasses.iter().map(|glass| glass.code).collect();
        for (taster, flights) in &self.servings {
            if !panel.contains(taster) {
                return Err(TrialRefusal::ServedStranger(taster.clone()));
            }
            if let Some(&code) = flights.iter().flatten().find(|code| !codes.contains(code)) {
                return Err(TrialRefusal::ServedUnknown { taster: taster.clone(), code });
            }
        }
        Ok(())
    }

    /// What is odd about who is served what, if anything is.
    fn odd_servings(&self) -> Option<TrialRefusal> {
        let mut served = HashSet::new();
        for (taster, flights) in &self.servings {
            for flight in flights {
                let mut codes = HashSet::new();
                if let Some(&code) = flight.iter().find(|code| !codes.insert(**code)) {
                    return Some(TrialRefusal::ServedTwice { taster: taster.clone(), code });
                }
                served.extend(codes);
            }
        }
        let gets_nothing =
            |taster: &&Label| self.servings.get(*taster).is_none_or(|flights| flights.iter().all(Vec::is_empty));
        if let Some(taster) = self.panel.iter().find(gets_nothing) {
            return Some(TrialRefusal::ServedNothing(taster.clone()));
        }
        let nobodys = self.glasses.iter().find(|glass| !served.contains(&glass.code));
        nobodys.map(|glass| TrialRefusal::ServedToNobody(glass.code))
    }

    fn layout(&self, state: &State, stamp: &Stamp, vessels: &[VesselId]) -> Layout {
        let component = |(&vessel, set): (&VesselId, &ComponentSet)| Component {
            vessel,
            called: set.vessel.clone(),
            available: set.available,
            reserve: set.reserve.unwrap_or_default(),
            lot: state.vessels.get(vessel).lot,
            filled: state.vessels.get(vessel).filled,
        };
        let taster =
            |name: &Label| Taster { name: name.clone(), flights: self.servings.get(name).cloned().unwrap_or_default() };
        let mut glasses: Vec<Glass> = self
            .glasses
            .iter()
            .map(|set| Glass { code: set.code, shares: set.shares.clone(), repeat_of: set.repeat_of })
            .collect();
        // The order in which they were laid out would tell of the key.
        glasses.sort_unstable_by_key(|glass| glass.code);
        Layout {
            fact: stamp.id.clone(),
            components: vessels.iter().zip(&self.components).map(component).collect(),
            glass: self.glass,
            after: self.after.clone(),
            glasses,
            tasters: self.panel.iter().map(taster).collect(),
            bounds: self.bounds.clone(),
            limits: self.limits.clone(),
            seed: self.seed,
            salt: self.salt.clone(),
            digest: self.digest(),
        }
    }
}

impl Job for TrialSet {
    type Ready = Vec<VesselId>;

    fn ready(&self, state: &State) -> Result<Vec<VesselId>, Refusal> {
        if state.trials.find(self.trial.as_str()).is_some() {
            return Err(Refusal::LabelTaken { what: "A trial", label: self.trial.clone() });
        }
        if self.components.is_empty() {
            return Err(TrialRefusal::NoComponents(self.trial.clone()).into());
        }
        if self.glass.is_zero() {
            return Err(Refusal::NoVolume);
        }
        let mut vessels = Vec::with_capacity(self.components.len());
        for ComponentSet { vessel, available, reserve } in &self.components {
            let id = state.vessel(vessel)?;
            if vessels.contains(&id) {
                return Err(TrialRefusal::ComponentTwice(vessel.clone()).into());
            }
            for volume in [Some(self.glass), *available, *reserve].into_iter().flatten() {
                book::sane(volume)?;
            }
            vessels.push(id);
        }
        self.sound_glasses()?;
        self.sound_servings()?;
        Ok(vessels)
    }

    fn slip(&self, state: &State, vessels: &Vec<VesselId>) -> Option<Refusal> {
        let glass = plausible::doubt_volume("A glass", self.glass, &plausible::GLASS, "30 to 100 mL");
        let beyond = |(&id, set): (&VesselId, &ComponentSet)| {
            let vessel = state.vessels.get(id);
            let kept = set.reserve.filter(|&reserve| reserve > vessel.capacity)?;
            let (vessel, capacity) = (set.vessel.clone(), vessel.capacity);
            Some(Refusal::MoreThanItHolds { vessel, volume: kept, capacity })
        };
        glass.or_else(|| vessels.iter().zip(&self.components).find_map(beyond))
    }

    fn doubt(&self, state: &State, vessels: &Vec<VesselId>) -> Option<Refusal> {
        for (&id, set) in vessels.iter().zip(&self.components) {
            let holds = state.vessels.get(id).volume();
            if holds.is_zero() {
                return Some(Refusal::SourceEmpty(set.vessel.clone()));
            }
            if let Some(available) = set.available.filter(|&available| available > holds) {
                let vessel = set.vessel.clone();
                return Some(TrialRefusal::AvailableBeyondBook { vessel, holds, available }.into());
            }
        }
        if let Some(first) = self.after.as_ref().filter(|first| state.trials.find(first.as_str()).is_none()) {
            return Some(TrialRefusal::Unknown(first.clone()).into());
        }
        let broken = self.digest.as_ref().is_some_and(|digest| digest.as_str() != self.digest());
        self.odd_servings().or_else(|| broken.then_some(TrialRefusal::SealBroken)).map(Refusal::from)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, vessels: Vec<VesselId>) {
        let layout = Arc::new(self.layout(state, stamp, &vessels));
        state.trials.add(Trial {
            label: self.trial.clone(),
            set: stamp.at,
            layout,
            ratings: Vec::new(),
            reveal: None,
            blends: Vec::new(),
        });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.trial)
    }
}
