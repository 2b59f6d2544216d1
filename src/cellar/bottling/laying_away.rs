//! Laying away: bottles go to a bin, a pallet or a shelf, and rest until their release.

use serde::{Deserialize, Serialize};

use super::refusal::RunRefusal;
use super::run::Run;
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
        let (release, (_, ended)) = (self.release?, run.ended()?);
        let filled = Day::of(ended.date());
        (release < filled).then_some(RunRefusal::ReleasedBeforeBottled { run: label, release, bottled: filled })
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
        if let Some(place) = &self.from {
            run.take(self.bottles, Some(place));
        } else {
            run.take_loose(self.bottles);
        }
        run.lay(self.bottles, &self.place, self.release, stamp.at);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.run)
    }
}
