//! A fining trial: doses of an agent in glasses, what was seen of each, which was chosen, and what a vessel is given of it.
//!
//! **A fining is any addition of an agent**: one of the materials of that class (`reckon::fining::agents`), or one that was tried in
//! glasses here. What leaves its vessel as lees or loss by racking, filtering or `lost` with cause `lees` is the cost of the last fining of
//! that fill (`cellar/jobs/finish/fining/given.rs`), so that several agents racked off together are not counted twice.

pub mod given;
mod glass_line;

use serde::{Deserialize, Serialize};

use self::given::{FiningDone, colour_of};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{FiningId, LotId, State, VesselId};
use crate::cellar::core::table::Labelled;
use crate::cellar::jobs::floor::room::in_range;
use crate::cellar::jobs::floor::work::{StopSet, TaskSet, WorkSet};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::jobs::tests::treating::Treated;
use crate::reckon::fining::{Agent, Fining, Given, Watered};
use crate::reckon::material::{Class, WineColour};
use crate::units::Volume;

pub use self::glass_line::GlassLineError;

/// The fact `fining_trial`: what a fining agent did in glasses. A later one of the same label stands in its place, so that
/// what is seen after a night, and what is chosen, can be added.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FiningTried {
    /// Its label.
    pub trial: Label,
    /// The vessel whose wine was tried.
    pub vessel: Label,
    /// The agent.
    pub material: Label,
    /// Grams of it in 100 mL of stock.
    pub stock_pct: f64,
    /// The glasses.
    pub glasses: Vec<FiningGlass>,
    /// The dose that was chosen, g/L: one of the glasses.
    #[serde(default)]
    pub chosen_g_l: Option<f64>,
}

/// A glass of a fining trial.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FiningGlass {
    /// What it was given, g/L; nought in the glass that the others are compared with.
    pub dose_g_l: f64,
    /// What was seen or tasted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<Text>,
    /// How turbid it was afterwards.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turbidity_ntu: Option<f64>,
    /// The score, 0 to 20.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub score: Option<f64>,
}

/// A glass, as the cellar remembers it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TriedGlass {
    /// What it was given, g/L.
    pub dose_g_l: f64,
    /// What was seen or tasted.
    pub text: Option<Text>,
    /// How turbid it was afterwards.
    pub turbidity_ntu: Option<f64>,
    /// The score, 0 to 20.
    pub score: Option<f64>,
}

impl From<&FiningGlass> for TriedGlass {
    fn from(glass: &FiningGlass) -> TriedGlass {
        let FiningGlass { dose_g_l, text, turbidity_ntu, score } = glass.clone();
        TriedGlass { dose_g_l, text, turbidity_ntu, score }
    }
}

/// A fining trial, as the cellar remembers it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FiningTrial {
    /// Its label.
    pub label: Label,
    /// When it was first written down.
    pub since: Moment,
    /// When it was last written down.
    pub at: Moment,
    /// The vessel whose wine was tried.
    pub vessel: VesselId,
    /// The lot that it held then.
    pub lot: Option<LotId>,
    /// The agent.
    pub material: Label,
    /// Grams of it in 100 mL of stock.
    pub stock_pct: f64,
    /// The glasses.
    pub glasses: Vec<TriedGlass>,
    /// The dose that was chosen, g/L.
    pub chosen_g_l: Option<f64>,
}

impl Labelled for FiningTrial {
    fn label(&self) -> &Label {
        &self.label
    }
}

/// A chosen dose for a vessel.
#[derive(Clone, Debug, PartialEq)]
pub struct FiningPlan {
    /// By which trial.
    pub trial: FiningId,
    /// Which vessel.
    pub vessel: VesselId,
    /// The dose, and the stock it comes from.
    pub fining: Fining,
    /// What the vessel is given.
    pub given: Given,
}

impl State {
    /// What a vessel is given by the dose that a trial chose. Refused while none is chosen, and for an empty vessel.
    pub fn plan_fining(&self, trial: FiningId, vessel: VesselId) -> Result<FiningPlan, Refusal> {
        let tried = self.finings.get(trial);
        let dose = tried.chosen_g_l.ok_or_else(|| Refusal::NoDoseChosen(tried.label.clone()))?;
        let wine = self.vessels.get(vessel).volume();
        if wine.is_zero() {
            return Err(Refusal::SourceEmpty(self.vessels.get(vessel).label.clone()));
        }
        let fining = Fining::new(dose, tried.stock_pct)?;
        Ok(FiningPlan { trial, vessel, fining, given: fining.given_to(wine)? })
    }
}

impl FiningTrial {
    /// The fact that it was last written down as, to be written anew with more in it.
    #[must_use]
    pub fn as_tried(&self, state: &State) -> FiningTried {
        let glass = |glass: &TriedGlass| {
            let TriedGlass { dose_g_l, text, turbidity_ntu, score } = glass.clone();
            FiningGlass { dose_g_l, text, turbidity_ntu, score }
        };
        FiningTried {
            trial: self.label.clone(),
            vessel: state.vessels.get(self.vessel).label.clone(),
            material: self.material.clone(),
            stock_pct: self.stock_pct,
            glasses: self.glasses.iter().map(glass).collect(),
            chosen_g_l: self.chosen_g_l,
        }
    }

    /// What is to be said of a dose of it, against what is usual and what is published.
    #[must_use]
    pub fn word_on(&self, state: &State, dose_g_l: f64) -> Option<String> {
        Agent::named(self.material.as_str())?.word_on(dose_g_l, self.colour(state))
    }

    /// What giving its agent to a vessel would do to the claim of organic wine, in a sentence; none where that stays what it is.
    #[must_use]
    pub fn organic_words(&self, state: &State, vessel: VesselId) -> Option<String> {
        state.asks_of_organic(&[vessel], &self.material).map(|question| question.to_string())
    }

    /// The colour of its wine, by which doses are usual and figures hold.
    #[must_use]
    pub fn colour(&self, state: &State) -> WineColour {
        colour_of(self.lot.map(|lot| state.lots.get(lot).colour))
    }

    /// The finings that followed it: the same agent, in its vessel or its lot, since it was begun.
    pub fn followed_by<'a>(&'a self, state: &'a State) -> impl Iterator<Item = &'a FiningDone> {
        state.finings_done.iter().filter(|done| {
            let is_its_wine = done.vessel == self.vessel || (done.lot.is_some() && done.lot == self.lot);
            is_its_wine && done.material == self.material && done.at.instant() >= self.since.instant()
        })
    }
}

impl FiningTried {
    /// Takes a glass in: a new dose at its place, or more of one that is there. What is not said of it stays.
    pub fn take(&mut self, said: &FiningGlass) {
        let FiningGlass { dose_g_l, text, turbidity_ntu, score } = said;
        let Some(glass) = self.glasses.iter_mut().find(|glass| is_same_dose(glass.dose_g_l, *dose_g_l)) else {
            let at = self.glasses.partition_point(|glass| glass.dose_g_l < *dose_g_l);
            self.glasses.insert(at, said.clone());
            return;
        };
        glass.text = text.clone().or(glass.text.take());
        glass.turbidity_ntu = turbidity_ntu.or(glass.turbidity_ntu);
        glass.score = score.or(glass.score);
    }
}

/// Whether two doses are of one glass.
#[must_use]
pub fn is_same_dose(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-9
}

impl FiningPlan {
    /// The water of all additions to its vessel's wine with it.
    #[must_use]
    pub fn watered(&self, state: &State) -> Watered {
        self.fining.watered(state.vessels.get(self.vessel).volume(), state.additions_to(&[self.vessel]).water)
    }

    /// The fact that it is given: with the measured stock where that is another volume, and the batch of the agent.
    #[must_use]
    pub fn treated(&self, state: &State, measured: Option<Volume>, batch: Option<Label>) -> Treated {
        let solution = measured.unwrap_or(self.given.stock);
        let amount = match measured {
            Some(measured) => self.given.amount.part(measured.as_ul(), self.given.stock.as_ul().max(1)),
            None => self.given.amount,
        };
        Treated {
            vessel: state.vessels.get(self.vessel).label.clone(),
            material: state.finings.get(self.trial).material.clone(),
            amount,
            solution,
            purpose: Text::new("fining").ok(),
            batch,
            again: false,
        }
    }

    /// The fact that sets it as a work.
    #[must_use]
    pub fn begin(&self, state: &State, work: Label) -> WorkSet {
        let stop = StopSet {
            amount: self.given.amount,
            volume: self.given.stock,
            ..StopSet::of(state.vessels.get(self.vessel).label.clone())
        };
        let material = state.finings.get(self.trial).material.clone();
        WorkSet { work, task: TaskSet::Treating { material }, stops: vec![stop] }
    }
}

impl FiningTried {
    fn check(&self) -> Result<(), Refusal> {
        if self.glasses.is_empty() {
            return Err(Refusal::NoFiningGlass(self.trial.clone()));
        }
        for glass in &self.glasses {
            // The glass that the others are compared with is given nothing.
            let dose = Some(glass.dose_g_l).filter(|&dose| dose != 0.0).unwrap_or(1.0);
            Fining::new(dose, self.stock_pct)?;
            in_range("A score", glass.score, 0.0, 20.0)?;
            in_range("Turbidity in NTU", glass.turbidity_ntu, 0.0, 10_000.0)?;
        }
        let Some(chosen) = self.chosen_g_l else { return Ok(()) };
        let is_tried = |glass: &FiningGlass| is_same_dose(glass.dose_g_l, chosen);
        if self.glasses.iter().any(is_tried) && chosen > 0.0 {
            Ok(())
        } else {
            Err(Refusal::DoseNotTried { trial: self.trial.clone(), chosen_g_l: chosen })
        }
    }
}

impl Job for FiningTried {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        self.check()?;
        state.vessel(&self.vessel)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        state.vessels.get(id).wine.is_empty().then(|| Refusal::SourceEmpty(self.vessel.clone()))
    }

    fn slip(&self, _state: &State, _vessel: &VesselId) -> Option<Refusal> {
        let thinnest = plausible::THINNEST_STOCK_PCT;
        plausible::doubt_little("A stock in percent", Some(self.stock_pct), thinnest, "1 to 10 %")
    }

    fn questions(&self, state: &State, _vessel: &VesselId, _at: Moment) -> Vec<Question> {
        let odd = self.glasses.iter().filter_map(|glass| Analyte::Turbidity.asked(glass.turbidity_ntu?));
        state.material_questions(&self.material).into_iter().chain(odd).collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, vessel: VesselId) {
        state.remember_material(&self.material, Class::Fining);
        let known = state.finings.find(self.trial.as_str());
        let trial = FiningTrial {
            label: self.trial.clone(),
            since: known.map_or(stamp.at, |known| state.finings.get(known).since),
            at: stamp.at,
            vessel,
            lot: state.vessels.get(vessel).lot,
            material: self.material.clone(),
            stock_pct: self.stock_pct,
            glasses: self.glasses.iter().map(TriedGlass::from).collect(),
            chosen_g_l: self.chosen_g_l,
        };
        match known {
            Some(id) => *state.finings.get_mut(id) = trial,
            None => {
                state.finings.add(trial);
            }
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
