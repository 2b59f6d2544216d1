//! Laying away: bottles go to a bin, a pallet or a shelf, and rest until their release.

use serde::{Deserialize, Serialize};

use super::refusal::RunRefusal;
use super::run::{Laid, Run};
use crate::cellar::day::Day;
use crate::cellar::fact::Stamp;
use crate::cellar::job::Job;
use crate::cellar::label::Label;
use crate::cellar::refusal::Refusal;
use crate::cellar::state::{RunId, State};

/// The fact `laid_away`: bottles lie at a place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LaidAway {
    /// Of which run.
    pub run: Label,
    /// How many.
    pub bottles: u32,
    /// Where they lie now.
    pub place: Label,
    /// From when on they may go.
    #[serde(default)]
    pub release: Option<Day>,
    /// The place where they lay before; none where they come from the line.
    #[serde(default)]
    pub from: Option<Label>,
}

impl LaidAway {
    fn doubtful(&self, run: &Run) -> Option<RunRefusal> {
        let (label, bottles) = (self.run.clone(), self.bottles);
        match &self.from {
            Some(place) => {
                let there = run.lying_at(place);
                if u64::from(bottles) > there {
                    return Some(RunRefusal::MoreThanThere { run: label, bottles, place: place.clone(), there });
                }
            }
            None if u64::from(bottles) > run.loose => {
                return Some(RunRefusal::MoreThanLoose { run: label, bottles, loose: run.loose });
            }
            None => {}
        }
        let (release, (_, bottled)) = (self.release?, run.ended()?);
        let bottled = Day::of(bottled.date());
        (release < bottled).then_some(RunRefusal::ReleasedBeforeBottled { run: label, release, bottled })
    }
}

impl Job for LaidAway {
    type Ready = RunId;

    fn ready(&self, state: &State) -> Result<RunId, Refusal> {
        if self.bottles == 0 {
            return Err(RunRefusal::NoBottles(self.run.clone()).into());
        }
        state.run(&self.run)
    }

    fn doubt(&self, state: &State, &id: &RunId) -> Option<Refusal> {
        self.doubtful(state.runs.get(id)).map(Refusal::from)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: RunId) {
        let run = state.runs.get_mut(id);
        match &self.from {
            Some(place) => run.take(self.bottles, Some(place)),
            None => {
                let bottles = u64::from(self.bottles);
                run.beyond += bottles.saturating_sub(run.loose);
                run.loose = run.loose.saturating_sub(bottles);
            }
        }
        let bottles = u64::from(self.bottles);
        match run.laid.iter_mut().find(|laid| laid.place == self.place && laid.release == self.release) {
            Some(laid) => laid.there += bottles,
            None => {
                let (place, release) = (self.place.clone(), self.release);
                run.laid.push(Laid { place, release, since: stamp.at, there: bottles });
            }
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.run)
    }
}
