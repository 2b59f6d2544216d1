//! Treating: something is added to a wine: sulfur dioxide, a fining agent, acid, a nutrient.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::material::whole_amount;
use crate::cellar::core::account::Entry;
use crate::cellar::core::book;
use crate::cellar::core::doing::{Twice, twice};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Hold, State, Vessel, VesselId, Work};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::finish::checklist::lapse::Change;
use crate::cellar::jobs::finish::fining::given::FiningDone;
use crate::cellar::jobs::floor::work::Task;
use crate::cellar::jobs::topping::is_unsaid;
use crate::reckon::material::{Class, Known};
use crate::units::{Mass, Volume, weighed};

/// The fact `treated`: an addition to a vessel's wine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Treated {
    /// Which vessel.
    pub vessel: Label,
    /// What was added.
    pub material: Label,
    /// How much of it.
    #[serde(rename = "amount_ug")]
    pub amount: Mass,
    /// The volume that it adds, where it comes as a solution or a slurry.
    #[serde(default, rename = "solution_ul")]
    pub solution: Volume,
    /// What for.
    #[serde(default)]
    pub purpose: Option<Text>,
    /// The maker's mark of the batch that it was taken from.
    #[serde(default)]
    pub batch: Option<Label>,
    /// Whether it was given on purpose besides what the vessel was given in this work before.
    #[serde(default, skip_serializing_if = "is_unsaid")]
    pub again: bool,
}

/// An addition, as its vessel and its lot remember it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Addition {
    /// When.
    pub at: Moment,
    /// Into which vessel.
    pub vessel: VesselId,
    /// What.
    pub material: Label,
    /// How much.
    pub amount: Mass,
    /// The sulfur dioxide that it gave; none of another material, or of unknown strength.
    pub sulfur_dioxide: Option<Mass>,
    /// The volume that it added.
    pub solution: Volume,
    /// How much wine it went into.
    pub wine: Volume,
}

/// More sulfur dioxide than this at once, in milligrams a litre, is above every legal total of a dry wine (27 CFR
/// 4.22: 350 ppm): a slip of the unit.
const MOST_SO2_MG_L: u64 = 350;
/// More of anything else than this, in milligrams a litre, is a slip too: acids, the heaviest of the usual additions, stay
/// at a few grams a litre (our choice).
const MOST_MG_L: u64 = 10_000;
/// So many times the most that is published of a material is a slip of the unit, not a mistake at the scales (our choice): what is
/// above a figure by less was perhaps done, and is asked.
const SLIP_TIMES: f64 = 100.0;
/// Nobody weighs this much into one barrel.
const MOST_INTO_A_BARREL: Mass = Mass::from_grams(1_000);

impl Addition {
    /// By how much it raised the total sulfur dioxide of its vessel, mg/L; none for another material.
    #[must_use]
    pub fn total_so2_rise_mg_l(&self) -> Option<f64> {
        let added = self.sulfur_dioxide?;
        let litres = self.wine.as_litres();
        (litres > 0.0).then(|| added.as_grams() * 1e3 / litres)
    }
}

/// How many of its last additions a vessel remembers, and a lot.
const A_VESSELS_ADDITIONS: usize = 24;
const A_LOTS_ADDITIONS: usize = 2_000;

/// Water that comes with an addition changes the wine no more than a test can tell up to one part in so many (27 CFR 24.246
/// allows as much).
const LITTLE_WATER_PART: u64 = 100;

impl Treated {
    /// Whether a work is to add this material, by whatever name.
    pub(super) fn is_asked_by(&self, task: &Task, state: &State) -> bool {
        matches!(task, Task::Treating { material } if state.is_same_material(material, &self.material))
    }

    /// What the addition is to the wine.
    fn change(&self, state: &State, id: VesselId) -> Change {
        let wine = state.vessels.get(id).volume();
        if self.solution.as_ul() > wine.as_ul() / LITTLE_WATER_PART {
            Change::Treated
        } else if state.gives_sulfur_dioxide(&self.material) {
            Change::Sulfured
        } else if state.is_fining_agent(&self.material) {
            Change::Fined
        } else {
            Change::Treated
        }
    }

    /// Whether so much of it can hardly have gone into a vessel.
    fn is_absurd(&self, state: &State, vessel: &Vessel) -> bool {
        let is_more_than = |amount: Mass, mg_l: u64| {
            u128::from(amount.as_ug()) * 1_000 > u128::from(vessel.volume().as_ul()) * u128::from(mg_l)
        };
        if let Some(so2) = state.sulfur_dioxide_at_most(&self.material, self.amount, self.solution) {
            return is_more_than(so2, MOST_SO2_MG_L);
        }
        let published = state.known_material(self.material.as_str()).and_then(Known::most_published_g_l);
        let beyond = |g_l: f64| self.amount.as_grams() > vessel.volume().as_litres() * g_l * SLIP_TIMES;
        published.is_some_and(beyond)
            || is_more_than(self.amount, MOST_MG_L)
            || (book::is_wood(vessel) && self.amount >= MOST_INTO_A_BARREL)
    }
}

impl Treated {
    /// What a stop of a work is to be given.
    pub(in crate::cellar) fn planned(vessel: Label, material: Label, amount: Mass, solution: Volume) -> Treated {
        Treated { vessel, material, amount, solution, purpose: None, batch: None, again: false }
    }

    /// Whether so much goes into no solution.
    fn is_too_strong(&self) -> bool {
        let most = u128::from(self.solution.as_ul()) * u128::from(plausible::STRONGEST_G_L);
        !self.solution.is_zero() && u128::from(self.amount.as_ug()) > most
    }

    /// What is asked where next to nothing is added, or very much comes with it.
    pub(in crate::cellar) fn asks_of_much(&self, vessel: &Vessel) -> Vec<Question> {
        let (label, material, wine) = (vessel.label.clone(), self.material.clone(), vessel.volume());
        let least = u128::from(wine.as_ul()) * u128::from(plausible::LITTLE_UG_L) / 1_000_000;
        if !self.amount.is_zero() && u128::from(self.amount.as_ug()) < least {
            let amount = weighed(self.amount);
            return vec![Question::LittleAdded { vessel: label, material, amount, wine }];
        }
        let is_much = self.solution.as_ul() > wine.as_ul() / plausible::MUCH_PART;
        let solution = self.solution;
        is_much.then_some(Question::MuchSolution { vessel: label, material, solution, wine }).into_iter().collect()
    }
}

impl Job for Treated {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        let id = state.vessel(&self.vessel)?;
        if self.amount.is_zero() && self.solution.is_zero() {
            return Err(Refusal::NothingAdded(self.vessel.clone()));
        }
        if self.amount > Mass::MOST {
            return Err(Refusal::TooHeavy(self.amount));
        }
        book::sane(self.solution)?;
        if state.vessels.get(id).wine.is_empty() {
            return Err(Refusal::SourceEmpty(self.vessel.clone()));
        }
        Ok(id)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        let vessel = state.vessels.get(id);
        book::doubt_volume(vessel, vessel.volume() + self.solution).filter(|_| !self.solution.is_zero())
    }

    fn questions(&self, state: &State, &id: &VesselId, at: Moment) -> Vec<Question> {
        let hold = state.vessels.get(id).held.as_deref();
        let question = |hold: &Hold| Question::TreatedHeld {
            vessel: self.vessel.clone(),
            why: hold.reason().to_owned(),
            material: self.material.clone(),
        };
        let done = if self.again { None } else { state.done_already(id, |task| self.is_asked_by(task, state)) };
        let again = |work: &Work| Question::StepDone { vessel: self.vessel.clone(), work: work.label.clone() };
        let asked = hold.map(question).into_iter().chain(done.map(again));
        let much = self.asks_of_much(state.vessels.get(id));
        let material = state.material_questions(&self.material);
        if self.is_planned(state, id) {
            return asked.chain(much).chain(material).collect();
        }
        let organic = state.asks_of_organic(&[id], &self.material);
        asked.chain(much).chain(organic).chain(self.asks_of_figures(state, id, at)).chain(material).collect()
    }

    fn slip(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        let vessel = state.vessels.get(id);
        if self.is_too_strong() {
            let value = format!("{} in {:#}", weighed(self.amount), self.solution);
            return Some(Refusal::UnitLost { what: "A solution", value, usual: "50 to 500 g/L" });
        }
        let is_weighed = || state.known_material(self.material.as_str()).is_some_and(Known::is_weighed);
        if self.amount.is_zero() && is_weighed() {
            return Some(Refusal::Weighed { material: self.material.clone(), solution: self.solution });
        }
        self.is_absurd(state, vessel).then(|| Refusal::AbsurdTreatment {
            vessel: self.vessel.clone(),
            material: self.material.clone(),
            amount: self.amount,
            wine: vessel.volume(),
        })
    }

    fn twice(&self, state: &State, ready: Option<&VesselId>, stamp: &Stamp) -> Option<Box<Twice>> {
        if self.again {
            return None;
        }
        let id = ready.copied().or_else(|| state.vessel(&self.vessel).ok())?;
        let earlier = state.stepped_elsewhere(id, stamp, |task| self.is_asked_by(task, state));
        twice(&self.vessel, "treated", &earlier, (stamp, self.solution, self.amount))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let change = self.change(state, id);
        let sulfur_dioxide = state.sulfur_dioxide_in(&self.material, self.amount, self.solution);
        state.remember_material(&self.material, Class::Other);
        let undeclared = state.undeclared(&self.material);
        let place = state.added_word(&self.material);
        let vessel = state.vessels.get_mut(id);
        let addition = Arc::new(Addition {
            at: stamp.at,
            vessel: id,
            material: self.material.clone(),
            amount: self.amount,
            sulfur_dioxide,
            solution: self.solution,
            wine: vessel.volume(),
        });
        let lot = vessel.lot;
        let fining = FiningDone {
            at: stamp.at,
            vessel: id,
            lot,
            material: self.material.clone(),
            batch: self.batch.clone(),
            amount: self.amount,
            stock: self.solution,
            wine: vessel.volume(),
            racked: None,
        };
        vessel.take_in(&Wine::of(None, self.solution), Entry::Treatment, None);
        let unsaid = undeclared.map(|material| (whole_amount(self.amount, self.solution), Some(material)));
        if let Some((amount, material)) = sulfur_dioxide.map(|mass| (mass, None)).or(unsaid) {
            vessel.wine.sulfur_mut().give(amount, material, stamp.at);
        }
        if let Some(place) = place {
            vessel.wine.added_mut().give(place, whole_amount(self.amount, self.solution));
        }
        book::remember(&mut vessel.additions, addition.clone(), A_VESSELS_ADDITIONS);
        vessel.history.remember(stamp, Event::Treated(self.amount));
        if let Some(lot) = lot {
            book::remember(&mut state.lots.get_mut(lot).additions, addition, A_LOTS_ADDITIONS);
        }
        state.remember_fining(fining);
        state.wine_changed(id, stamp, change);
        let to_be_added = state.materials_to_add_like(&self.material);
        let work = state.tick(id, |task| task.adds_one_of(&to_be_added), self.solution);
        state.did_step(work, id, stamp, (self.solution, self.amount));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
