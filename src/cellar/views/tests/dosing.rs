//! Dosing: how much sulfur dioxide each of some vessels is to be given, from what was last tested of it.
//!
//! Nothing is guessed: a barrel of unknown pH, or of unknown alcohol where the model asks for it, is left out and named.
//! Nothing is refused for the law's sake either: what the total will be is told beside the limit.
//!
//! **A dose** (`cellar/views/tests/dosing.rs`) rests on a barrel's own test, else on its composite's, else on its lot's, each unless a
//! later one of these is three weeks younger (sixty days, where that is of another barrel alone). Barrels of one composite get one dose, as
//! nobody measured what parts them: one rise for all whose forecasts lie within 2 mg/L, one measure for all of about one size that are
//! about as full; a test of at most a week stands as it is, an older one is forecast. The total is the last tested and all that was given
//! since, which errs to the safe side, as total falls slowly. A pH of several wines together is their mean by litres. All are our choices.

mod alike;

use std::ops::Range;

use thiserror::Error;

use self::alike::Aim;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::room::in_range;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::floor::work::{StopSet, Task, TaskSet, WorkSet};
use crate::cellar::jobs::tests::sulfuring::{SulfurKnown, Unknown};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::limits::{Judgement, Limit};
use crate::reckon::organic::total_figures;
use crate::reckon::sulfur::{Addition, Beyond, Dose, Form, Model, SulfurError};
use crate::units::{Mass, Volume, counted, figure};

/// Nobody adds for less than this, mg/L of free: a test is no surer (our choice; `reckon::sulfur` takes 2 mg/L).
const LEAST_RISE_MG_L: f64 = 1.0;
/// A solution is measured to the millilitre, in a cylinder of the usual size (our choice) …
const CYLINDER: u64 = 1_000;
/// … and powder is weighed, as gas is, to a tenth of a gram.
const SCALES: u64 = 100_000;

/// What the doses are to reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Goal {
    /// So much molecular, mg/L.
    Molecular(f64),
    /// So much free, mg/L.
    Free(f64),
    /// So much more in all, mg/L, whatever is there.
    Add(f64),
}

/// Over which vessels a dose is evened out: each then gets as many mg/L as the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Per {
    /// None: each gets its own.
    Barrel,
    /// The barrels of one stack.
    Stack,
    /// All.
    Lot,
}

/// Which vessels are dosed: those of a lot, or those of some slots, or both at once; or those that are named.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Dosed {
    /// Only barrels of this lot.
    pub lot: Option<LotId>,
    /// Only barrels in these slots.
    pub slots: Vec<(RoomId, Range<usize>)>,
    /// Vessels that are named, held ones too.
    pub vessels: Vec<VesselId>,
}

/// What is to be dosed how.
#[derive(Clone, Debug, PartialEq)]
pub struct DosingAsked {
    /// Which vessels.
    pub of: Dosed,
    /// What the doses are to reach.
    pub goal: Goal,
    /// In which form.
    pub form: Form,
    /// Over which vessels a dose is evened out.
    pub per: Per,
    /// The share of an addition that is taken to be bound at once.
    pub bound_share: f64,
}

/// A vessel that is dosed.
#[derive(Clone, Debug, PartialEq)]
pub struct DosingStop {
    /// Which.
    pub vessel: VesselId,
    /// What it holds, by estimate where it is kept full.
    pub holds: Volume,
    /// What is known of it.
    pub known: SulfurKnown,
    /// The free that is wanted, mg/L; none where so much is simply added.
    pub wanted_free_mg_l: Option<f64>,
    /// Molecular now, mg/L; none where it cannot be told.
    pub molecular_mg_l: Option<f64>,
    /// How much of the material.
    pub amount: Mass,
    /// The volume of solution to measure, where it is one.
    pub solution: Option<Volume>,
    /// Free afterwards, mg/L, once the bound share is bound; none where the free is not known.
    pub free_then_mg_l: Option<f64>,
    /// Molecular afterwards, mg/L.
    pub molecular_then_mg_l: Option<f64>,
    /// By how much the total rises, mg/L.
    pub total_rise_mg_l: f64,
    /// Total afterwards at the most, mg/L; none where the total is not known.
    pub total_then_mg_l: Option<f64>,
    /// How that stands to the limit that presses most.
    pub judged: Option<(Limit, Judgement)>,
}

/// Why a vessel is left out.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum LeftOut {
    /// It is held.
    #[error("held: {0}")]
    Held(Text),
    /// It holds no wine.
    #[error("empty")]
    Empty,
    /// It has what is wanted.
    #[error("has enough")]
    Enough,
    /// Nothing can be said of it.
    #[error("{0}")]
    Unknown(Unknown),
}

impl LeftOut {
    /// The reason in a few words that several vessels share: of a hold not what each is held for.
    #[must_use]
    pub fn reason(&self) -> String {
        match self {
            LeftOut::Held(_) => "held".to_owned(),
            other => other.to_string(),
        }
    }
}

/// Doses before they are given.
#[derive(Clone, Debug, PartialEq)]
pub struct Dosing {
    /// What was asked.
    pub asked: DosingAsked,
    /// By which model molecular is reckoned.
    pub model: Model,
    /// What is dosed, in walking order.
    pub stops: Vec<DosingStop>,
    /// What is left out, and why.
    pub left_out: Vec<(VesselId, LeftOut)>,
    /// How much of the material in all.
    pub amount: Mass,
    /// The volume of solution in all, where it is one.
    pub solution: Option<Volume>,
}

impl Goal {
    /// Refuses what nobody aims at.
    fn check(self) -> Result<(), Refusal> {
        match self {
            // As `practice_set` takes it.
            Goal::Molecular(molecular) => in_range("A molecular target in mg/L", Some(molecular), 0.1, 2.0),
            Goal::Free(free) => in_range("Free SO2 in mg/L", Some(free), 1.0, 150.0),
            // From 350 on it is above every legal total of a dry wine (27 CFR 4.22).
            Goal::Add(total) => in_range("An addition of SO2 in mg/L", Some(total), 1.0, 350.0),
        }
    }

    /// The free that is wanted in a wine, mg/L; none where it is only added to.
    fn free_in(self, known: &SulfurKnown, model: Model) -> Result<Option<f64>, Unknown> {
        match self {
            Goal::Molecular(target) => {
                let balance = known.balance(model)?;
                balance.free_mg_l(target).map(Some).map_err(Unknown::Sulfur)
            }
            Goal::Free(free) => Ok(Some(free)),
            Goal::Add(_) => Ok(None),
        }
    }

    /// By how much the free is to rise in a wine, mg/L; less than nothing where it has more than enough.
    fn rise_in(self, known: &SulfurKnown, model: Model, bound_share: f64) -> Result<(Option<f64>, f64), Unknown> {
        if let Goal::Add(total) = self {
            return Ok((None, total * (1.0 - bound_share)));
        }
        let wanted = self.free_in(known, model)?;
        let now = known.free_now.ok_or(Unknown::Untested(Analyte::FreeSo2))?;
        Ok((wanted, wanted.unwrap_or_default() - now.free_mg_l))
    }

    /// What it is in words, with the model's name where one is asked.
    #[must_use]
    pub fn words(self, model: Model) -> String {
        match self {
            Goal::Molecular(target) => format!("to {} mg/L molecular by the {} model", figure(target), model.word()),
            Goal::Free(free) => format!("to {} mg/L free", figure(free)),
            Goal::Add(total) => format!("{} mg/L added", figure(total)),
        }
    }
}

/// A vessel on the way to its dose.
struct Candidate {
    vessel: VesselId,
    holds: Volume,
    known: SulfurKnown,
    wanted: Option<f64>,
    rise: f64,
}

impl Dosing {
    /// How many vessels are to be dosed, in words: `2 barrels`, or `2 vessels` where not all of them are barrels.
    #[must_use]
    pub fn counted(&self, state: &State) -> String {
        let is_barrel = |stop: &DosingStop| state.vessels.get(stop.vessel).vessel_type == VesselType::Barrel;
        counted(self.stops.len(), if self.stops.iter().all(is_barrel) { "barrel" } else { "vessel" })
    }

    /// The fact that begins it. Refused where nothing is to be dosed.
    pub fn begin(&self, state: &State, work: Label) -> Result<WorkSet, Refusal> {
        if self.stops.is_empty() {
            return Err(Refusal::NoDose);
        }
        let material = Label::new(self.asked.form.material().word()).map_err(|_| Refusal::NoDose)?;
        let stop = |stop: &DosingStop| StopSet {
            amount: stop.amount,
            volume: stop.solution.unwrap_or_default(),
            ..StopSet::of(state.vessels.get(stop.vessel).label.clone())
        };
        Ok(WorkSet { work, task: TaskSet::Treating { material }, stops: self.stops.iter().map(stop).collect() })
    }

    /// The vessels left out for one reason or another, grouped, in the order of the walk.
    #[must_use]
    pub fn left_out_by_reason(&self) -> Vec<(&LeftOut, Vec<VesselId>)> {
        let mut groups: Vec<(&LeftOut, Vec<VesselId>)> = Vec::new();
        for (vessel, why) in &self.left_out {
            match groups.iter_mut().find(|(reason, _)| reason.reason() == why.reason()) {
                Some((_, vessels)) => vessels.push(*vessel),
                None => groups.push((why, vec![*vessel])),
            }
        }
        groups
    }

    /// The highest total afterwards with its vessel and how it stands to the limit.
    #[must_use]
    pub fn highest_total(&self) -> Option<(&DosingStop, f64, Limit, Judgement)> {
        let told = self.stops.iter().filter_map(|stop| {
            let (limit, judgement) = stop.judged?;
            Some((stop, stop.total_then_mg_l?, limit, judgement))
        });
        told.max_by(|one, other| one.3.cmp(&other.3).then(one.1.total_cmp(&other.1)))
    }

    /// Whether the model's table ended before one of the wines; it displays as what to say.
    #[must_use]
    pub fn beyond(&self) -> Option<Beyond> {
        self.stops.iter().find_map(|stop| stop.known.balance(self.model).ok()?.beyond())
    }

    /// How many doses are of vessels whose total is not known.
    #[must_use]
    pub fn of_unknown_total(&self) -> usize {
        self.stops.iter().filter(|stop| stop.total_then_mg_l.is_none()).count()
    }

    /// What the doses would do to the claim of organic wine among them, in a sentence; none where it stays what it is.
    #[must_use]
    pub fn organic_words(&self, state: &State) -> Option<String> {
        let vessels: Vec<VesselId> = self.stops.iter().map(|stop| stop.vessel).collect();
        let material = Label::new(self.asked.form.material().word()).ok()?;
        state.asks_of_organic(&vessels, &material).map(|question| question.to_string())
    }

    /// The highest total in words: which vessel, by how old a test, its limit, and whether that is amber or red.
    #[must_use]
    pub fn total_words(&self, state: &State, at: Moment) -> String {
        let unknown = match self.of_unknown_total() {
            0 => String::new(),
            many if many == self.stops.len() => {
                return "Total SO2 was never tested: how near the limit is, is not known.".to_owned();
            }
            many => format!(" Of {many} the total was never tested."),
        };
        let Some((stop, total, limit, judgement)) = self.highest_total() else { return unknown.trim().to_owned() };
        let label = &state.vessels.get(stop.vessel).label;
        let tested = stop.known.total.map_or_else(String::new, |found| {
            let tested = match at.days_since(found.at) {
                0 => "today's test".to_owned(),
                1 => "yesterday's test".to_owned(),
                days => format!("a test of {days} days ago"),
            };
            format!(" by {tested} and all that was added since")
        });
        let judged = match judgement {
            Judgement::Fine => "fine".to_owned(),
            Judgement::Amber => "amber, near the limit".to_owned(),
            Judgement::Red => format!("red, above the limit by {:.0}", total - limit.most),
        };
        format!(
            "Total SO2 then at most {total:.0} mg/L in {label}{tested}; {:.0} is the limit ({}): {judged}.{unknown}",
            limit.most, limit.section
        )
    }
}

impl State {
    /// Plans doses of sulfur dioxide at a moment. Refused where the goal is absurd, no wine is asked for, what is asked for
    /// is to be treated in an open work already, or nothing of it is known well enough.
    pub fn plan_dosing(&self, asked: DosingAsked, at: Moment) -> Result<Dosing, Refusal> {
        asked.goal.check()?;
        in_range("A bound share", Some(asked.bound_share), 0.0, 0.9)?;
        let model = self.practice.so2_model;
        let vessels = self.dosed(&asked.of)?;
        let (mut candidates, mut left_out) = (Vec::new(), Vec::new());
        for &id in &vessels {
            match self.candidate(id, &asked, model, at) {
                Ok(candidate) => candidates.push(candidate),
                Err(why) => left_out.push((id, why)),
            }
        }
        let aims = self.aims(&candidates, asked.goal, asked.per);
        let mut stops = Vec::new();
        for (candidate, aim) in candidates.iter().zip(aims) {
            let vessel = candidate.vessel;
            if aim.rise < LEAST_RISE_MG_L && !matches!(asked.goal, Goal::Add(_)) {
                left_out.push((vessel, LeftOut::Enough));
                continue;
            }
            match self.dosing_stop(candidate, aim, &asked, model) {
                Ok(stop) => stops.push(stop),
                Err(error) => left_out.push((vessel, LeftOut::Unknown(Unknown::Sulfur(error)))),
            }
        }
        self.something_is_known(&stops, &left_out)?;
        let dosed: Vec<VesselId> = stops.iter().map(|stop| stop.vessel).collect();
        let gives = |task: &Task| matches!(task, Task::Treating { material } if self.gives_sulfur_dioxide(material));
        self.in_no_other_work(&dosed, gives)?;
        left_out.sort_by_cached_key(|(id, _)| vessels.iter().position(|vessel| vessel == id));
        let is_solution = matches!(asked.form, Form::Solution(_));
        let solution = is_solution.then(|| stops.iter().filter_map(|stop| stop.solution).sum());
        let amount = stops.iter().map(|stop| stop.amount).sum();
        Ok(Dosing { asked, model, stops, left_out, amount, solution })
    }

    /// The vessels that are asked for, in walking order; those that lie nowhere last. Of a lot only its barrels.
    fn dosed(&self, of: &Dosed) -> Result<Vec<VesselId>, Refusal> {
        if let Some(&gone) = of.vessels.iter().find(|&&id| self.vessels.get(id).retired.is_some()) {
            return Err(Refusal::Retired(self.vessels.get(gone).label.clone()));
        }
        let in_slots = |id: VesselId| {
            let slot = self.vessels.get(id).slot.map(|slot| (slot.room, slot.index as usize));
            slot.is_some_and(|(room, index)| of.slots.iter().any(|(of, slots)| *of == room && slots.contains(&index)))
        };
        let some_are_asked = of.lot.is_some() || !of.slots.is_empty();
        let asked = |id: VesselId| {
            some_are_asked
                && of.lot.is_none_or(|lot| self.vessels.get(id).lot == Some(lot))
                && (of.slots.is_empty() || in_slots(id))
        };
        let mut found: Vec<VesselId> =
            self.barrels_walked().filter(|&id| of.vessels.contains(&id) || asked(id)).collect();
        for &id in &of.vessels {
            if !found.contains(&id) {
                found.push(id);
            }
        }
        if found.iter().all(|&id| self.vessels.get(id).wine.is_empty()) {
            return Err(Refusal::NothingToDose);
        }
        Ok(found)
    }

    fn candidate(&self, id: VesselId, asked: &DosingAsked, model: Model, at: Moment) -> Result<Candidate, LeftOut> {
        let vessel = self.vessels.get(id);
        if vessel.wine.is_empty() {
            return Err(LeftOut::Empty);
        }
        // Whoever names a held vessel means to cure it; whoever names its lot does not.
        if let Some(hold) = vessel.held.as_ref().filter(|_| !asked.of.vessels.contains(&id)) {
            return Err(LeftOut::Held(hold.why.clone()));
        }
        let known = self.sulfur_known(id, asked.bound_share, at);
        let (wanted, rise) = asked.goal.rise_in(&known, model, asked.bound_share).map_err(LeftOut::Unknown)?;
        let holds = vessel.capacity.saturating_sub(self.headspace(vessel, at).missing);
        Ok(Candidate { vessel: id, holds, known, wanted, rise })
    }

    fn dosing_stop(
        &self,
        candidate: &Candidate,
        aim: Aim,
        asked: &DosingAsked,
        model: Model,
    ) -> Result<DosingStop, SulfurError> {
        let &Candidate { vessel, holds, known, wanted, .. } = candidate;
        let dose = measurable(Addition::raising_free(aim.wine, aim.rise, asked.bound_share)?.given_as(asked.form));
        let given = Addition::of(asked.form.material().sulfur_dioxide_in(dose.amount), aim.wine, asked.bound_share)?;
        let free_then_mg_l = known.free_now.map(|now| now.free_mg_l + given.free_rise_mg_l());
        let molecular = |free: Option<f64>| {
            let balance = known.balance(model).ok()?;
            balance.molecular_mg_l(free?).ok()
        };
        let total_then_mg_l = known.total_now.map(|now| now + given.total_rise_mg_l());
        Ok(DosingStop {
            vessel,
            holds,
            wanted_free_mg_l: wanted,
            molecular_mg_l: molecular(known.free_now.map(|now| now.free_mg_l)),
            amount: dose.amount,
            solution: dose.solution,
            free_then_mg_l,
            molecular_then_mg_l: molecular(free_then_mg_l),
            total_rise_mg_l: given.total_rise_mg_l(),
            total_then_mg_l,
            judged: total_then_mg_l.and_then(|total| self.judged_total(self.vessels.get(vessel), &known, total)),
            known,
        })
    }

    /// How a total stands to the limits of the house's rules, or of both sides: to the one that presses most. None where the
    /// colour is not known.
    fn judged_total(&self, vessel: &Vessel, known: &SulfurKnown, total: f64) -> Option<(Limit, Judgement)> {
        let kind = self.colour_in(vessel)?.into();
        let sugar = known.sugar.map(|found| found.value);
        let is_organic = self.is_organic(&vessel.wine);
        let sides = self.practice.sides().iter();
        let all = sides.flat_map(|&rules| total_figures(rules.into(), kind, sugar, is_organic));
        let judged = all.filter_map(|limit| Some((limit, limit.judge(total).ok()?)));
        judged.min_by(|one, other| one.0.most.total_cmp(&other.0.most))
    }

    /// Refuses a plan of which not one vessel is known well enough.
    fn something_is_known(&self, stops: &[DosingStop], left_out: &[(VesselId, LeftOut)]) -> Result<(), Refusal> {
        let mut unknown = left_out.iter().filter_map(|(id, why)| match why {
            LeftOut::Unknown(unknown) => Some((*id, *unknown)),
            _ => None,
        });
        let enough = left_out.iter().any(|(_, why)| *why == LeftOut::Enough);
        let Some((first, why)) = unknown.next().filter(|_| stops.is_empty() && !enough) else { return Ok(()) };
        let label = &self.vessels.get(first).label;
        let who = match unknown.count() {
            0 => label.to_string(),
            more => format!("{label} and {more} more"),
        };
        Err(match why {
            Unknown::Untested(analyte) => Refusal::NotTested { what: analyte.name(), who },
            Unknown::Sulfur(error) => Refusal::NotReckoned { who, why: error.to_string() },
        })
    }
}

/// A dose as it can be measured or weighed; never none of it.
fn measurable(dose: Dose) -> Dose {
    let nearest = |amount: u64, step: u64| ((amount + step / 2) / step).max(1) * step;
    match dose.form {
        Form::Solution(solution) => {
            let volume = dose.solution.unwrap_or_else(|| solution.volume_of(dose.amount));
            let volume = Volume::from_ul(nearest(volume.as_ul(), CYLINDER));
            Dose { amount: solution.holds(volume), solution: Some(volume), ..dose }
        }
        Form::Powder | Form::Gas | Form::Sulfur => {
            Dose { amount: Mass::from_ug(nearest(dose.amount.as_ug(), SCALES)), ..dose }
        }
    }
}
