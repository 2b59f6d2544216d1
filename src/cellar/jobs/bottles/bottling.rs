//! Bottling: wine of a vessel goes into bottles under the label of a run.
//!
//! A run may stop, go on, and draw from several vessels: each `bottled` fact is a stretch of it. All stretches of a run
//! fill the same bottle. A run may have several lot codes, one a shift or a pallet, so that a part of it can be found; a
//! code stands on bottles of one run only.
//!
//! **A run's bottles add up** to what was filled and what was counted beyond it: `bottles + found + beyond = loose + lying + out`
//! (`cellar/jobs/bottles/bottling/run.rs`), so that a log with wrong counts still balances and says by how much. Bottles from anywhere are
//! taken from those not laid away, then by release, then in the order of filling (`cellar/jobs/bottles/bottling/drawing.rs`, the one place
//! where bottles are looked up, doubted and taken).
//!
//! **A lot code that nobody said** is assumed: what was filled first. `Run::assumed` counts such bottles; where there are any, a recall
//! names everybody who got bottles of the run (`cellar/jobs/bottles/bottling/recalled.rs`).
//!
//! **More bottles than the book** are refused, unlike other draws, which book a gain: a slip of a bottle count is more likely than a tank
//! that held more. A vessel that is empty afterwards may have held 2 % more.

pub mod bins;
pub mod bottle_tasting;
pub mod bottles_counted;
pub mod bottles_out;
pub mod drawing;
pub mod laying_away;
pub mod plan;
pub mod recalled;
pub mod refusal;
pub mod release;
pub mod run;
pub mod said;
pub mod store;

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use self::refusal::RunRefusal;
use self::run::{Material, Run, Stock, Stretch};
use crate::cellar::core::account::Entry;
use crate::cellar::core::book;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RunId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::room::in_range;
use crate::units::{Volume, VolumeUnit};

/// The fact `bottled`: bottles were filled from a vessel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bottled {
    /// From which vessel.
    pub vessel: Label,
    /// The run that it belongs to; a new label begins one.
    pub run: Label,
    /// How many bottles.
    pub bottles: u32,
    /// What each holds.
    #[serde(rename = "bottle_ul")]
    pub bottle: Volume,
    /// What was lost.
    #[serde(default, rename = "loss_ul")]
    pub loss: Volume,
    /// Whether nothing is left in the vessel.
    #[serde(default)]
    pub empties: bool,
    /// What stands on the bottles, by which they are found again.
    pub lot_code: Label,
    /// What closes them.
    #[serde(default)]
    pub closure: Option<Label>,
    /// How long the line ran for them; it stopped when the fact happened.
    #[serde(default)]
    pub minutes: Option<u32>,
    /// What was measured in single bottles.
    #[serde(default, rename = "fills_ul")]
    pub fills: Option<Vec<Volume>>,
    /// Oxygen dissolved in the wine in the bottle.
    #[serde(default)]
    pub oxygen_mg_l: Option<f64>,
    /// Glass, closures, labels and what else was used.
    #[serde(default)]
    pub materials: Option<Vec<Material>>,
}

/// The smallest and the largest bottle of the trade, with some room: 50 mL (27 CFR 4.72) and 30 L.
const BOTTLES: std::ops::RangeInclusive<Volume> = Volume::from_ml(50)..=Volume::from_litres(30);

/// An emptied vessel may have held this many hundredths more than its book said: what a dip in a tank is off by (our choice).
const FOUND_HUNDREDTHS: u64 = 2;

/// The size of a bottle as people say it: `750 mL`, `1.5 L`.
#[must_use]
pub fn size(bottle: Volume) -> String {
    if bottle >= Volume::from_litres(1) {
        return bottle.to_string();
    }
    let decimals = if bottle.as_ul().is_multiple_of(1_000) { 0 } else { 3 };
    bottle.show(VolumeUnit::Millilitre, decimals)
}

/// What a bottling names, looked up.
pub struct ReadyBottling {
    vessel: VesselId,
    /// The run, where this is not its first stretch.
    run: Option<RunId>,
}

impl Bottled {
    /// What the bottles hold.
    fn filled(&self) -> Volume {
        Volume::from_ul(self.bottle.as_ul().saturating_mul(u64::from(self.bottles)))
    }

    /// What leaves the vessel, but for what is left behind.
    fn leaves(&self) -> Volume {
        self.filled() + self.loss
    }

    /// Whether it takes more wine than the vessel can have held.
    fn is_more_than(&self, vessel: &Vessel) -> bool {
        let holds = vessel.volume().as_ul();
        // Where it is empty afterwards its content is known for the first time.
        let found = if self.empties { holds / 100 * FOUND_HUNDREDTHS } else { 0 };
        self.leaves() > Volume::from_ul(holds.saturating_add(found))
    }

    fn doubtful(&self, state: &State, ready: &ReadyBottling) -> Option<RunRefusal> {
        let vessel = state.vessels.get(ready.vessel);
        if self.is_more_than(vessel) {
            return Some(RunRefusal::MoreThanWine {
                vessel: self.vessel.clone(),
                bottles: self.bottles,
                bottle: self.bottle,
                wanted: self.leaves(),
                holds: vessel.volume(),
            });
        }
        if !BOTTLES.contains(&self.bottle) {
            return Some(RunRefusal::OddBottle(self.bottle));
        }
        let of_code = state.runs_of_code(self.lot_code.as_str());
        if let Some(other) = of_code.into_iter().find(|&other| Some(other) != ready.run) {
            let run = state.runs.get(other).label.clone();
            return Some(RunRefusal::CodeTaken { code: self.lot_code.clone(), run });
        }
        let run = state.runs.get(ready.run?);
        (run.bottle != self.bottle).then(|| RunRefusal::OtherBottle {
            run: run.label.clone(),
            has: run.bottle,
            comes: self.bottle,
        })
    }

    /// Two lots in one run could be one wine that nobody renamed.
    fn other_lot(&self, state: &State, ready: &ReadyBottling) -> Option<RunRefusal> {
        let run = state.runs.get(ready.run?);
        let (has, comes) = (*run.lots().first()?, state.vessels.get(ready.vessel).lot?);
        (has != comes).then(|| RunRefusal::OtherLot {
            run: run.label.clone(),
            has: state.lots.get(has).label.clone(),
            vessel: self.vessel.clone(),
            comes: state.lots.get(comes).label.clone(),
        })
    }

    fn odd_fill(&self) -> Option<RunRefusal> {
        let (least, most) = (self.bottle.as_ul() / 2, self.bottle.as_ul().saturating_mul(2));
        let odd = self.fills.iter().flatten().find(|fill| !(least..=most).contains(&fill.as_ul()))?;
        Some(RunRefusal::OddFill { fill: *odd, bottle: self.bottle })
    }

    fn stretch(&self, stamp: &Stamp, id: VesselId, vessel: &mut Vessel) -> Stretch {
        // What the book has too little is booked before anything is drawn, so that every draw finds its wine.
        vessel.gain(self.leaves().saturating_sub(vessel.volume()));
        let (fill, lot) = (vessel.fills, vessel.lot);
        let wine = vessel.draw(self.filled(), Entry::Bottled, stamp.at);
        let left = if self.empties { vessel.volume().saturating_sub(self.loss) } else { Volume::ZERO };
        let loss = self.loss + left;
        vessel.draw(loss, Entry::BottlingLoss, stamp.at);
        vessel.history.remember(stamp, Event::Bottled(self.filled()));
        Stretch {
            fact: stamp.id.clone(),
            at: stamp.at,
            minutes: self.minutes,
            vessel: id,
            fill,
            lot,
            bottles: self.bottles,
            bottle: self.bottle,
            wine,
            loss,
            lot_code: self.lot_code.clone(),
            closure: self.closure.clone(),
            fills: self.fills.clone().unwrap_or_default(),
            oxygen_mg_l: self.oxygen_mg_l,
            materials: self.materials.clone().unwrap_or_default(),
        }
    }
}

impl Job for Bottled {
    type Ready = ReadyBottling;

    fn ready(&self, state: &State) -> Result<ReadyBottling, Refusal> {
        let vessel = state.vessel(&self.vessel)?;
        if self.bottles == 0 {
            return Err(RunRefusal::NoBottles(self.run.clone()).into());
        }
        if self.bottle.is_zero() {
            return Err(RunRefusal::OddBottle(self.bottle).into());
        }
        book::sane(self.filled())?;
        book::sane(self.loss)?;
        if state.vessels.get(vessel).wine.is_empty() {
            return Err(Refusal::SourceEmpty(self.vessel.clone()));
        }
        Ok(ReadyBottling { vessel, run: state.runs.find(self.run.as_str()) })
    }

    fn doubt(&self, state: &State, ready: &ReadyBottling) -> Option<Refusal> {
        self.doubtful(state, ready).map(Refusal::from)
    }

    fn slip(&self, state: &State, ready: &ReadyBottling) -> Option<Refusal> {
        let run = self.other_lot(state, ready).or_else(|| self.odd_fill()).map(Refusal::from);
        // Water in air at 0 °C dissolves 15 mg/L; pure oxygen not 50.
        run.or_else(|| in_range("An oxygen content in mg/L", self.oxygen_mg_l, 0.0, 40.0).err())
    }

    /// A hold of its vessel bars a run, and a list of its lot that somebody looked at.
    fn bar(&self, state: &State, ready: &ReadyBottling) -> Option<Refusal> {
        let id = ready.vessel;
        let is_kept = || state.vessels.get(id).lot.is_some_and(|lot| state.keeps_checklist(lot));
        state.barred(&[id]).or_else(|| state.held_by_checklist(id).filter(|_| is_kept()))
    }

    /// One that nobody looked at holds a run that is entered here: logs that know no lists stay as they are.
    fn awaits(&self, state: &State, ready: &ReadyBottling) -> Option<Refusal> {
        state.held_by_checklist(ready.vessel)
    }

    fn questions(&self, state: &State, ready: &ReadyBottling, _at: Moment) -> Vec<Question> {
        state.warned_by_checklist(ready.vessel).into_iter().collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: ReadyBottling) {
        let stretch = self.stretch(stamp, ready.vessel, state.vessels.get_mut(ready.vessel));
        let id = ready.run.unwrap_or_else(|| state.runs.add(Run::begun(self.run.clone(), self.bottle)));
        let run = state.runs.get_mut(id);
        run.put(Stock {
            place: None,
            lot_code: Some(self.lot_code.clone()),
            release: None,
            since: stamp.at,
            there: u64::from(self.bottles),
        });
        Arc::make_mut(&mut run.stretches).push(stretch);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
