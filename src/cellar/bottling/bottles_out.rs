//! Bottles out: sold, broken, kept as library stock, sampled.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::refusal::RunRefusal;
use super::run::{Out, Run};
use crate::cellar::fact::Stamp;
use crate::cellar::job::Job;
use crate::cellar::label::{Label, Text};
use crate::cellar::refusal::Refusal;
use crate::cellar::state::{RunId, State};

/// The fact `bottles_out`: bottles are no longer for sale here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BottlesOut {
    /// Of which run.
    pub run: Label,
    /// How many.
    pub bottles: u32,
    /// Why.
    pub why: Text,
    /// To whom.
    #[serde(default)]
    pub to: Option<Text>,
    /// From which place; from anywhere where it is not said, what is not laid away yet first.
    #[serde(default)]
    pub from: Option<Label>,
}

impl BottlesOut {
    fn doubtful(&self, run: &Run) -> Option<RunRefusal> {
        let (label, bottles) = (self.run.clone(), self.bottles);
        if let Some(place) = &self.from {
            let there = run.lying_at(place);
            return (u64::from(bottles) > there).then(|| RunRefusal::MoreThanThere {
                run: label,
                bottles,
                place: place.clone(),
                there,
            });
        }
        let left = run.left();
        (u64::from(bottles) > left).then_some(RunRefusal::MoreThanLeft { run: label, bottles, left })
    }
}

impl Job for BottlesOut {
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
        run.take(self.bottles, self.from.as_ref());
        Arc::make_mut(&mut run.out).push(Out {
            at: stamp.at,
            bottles: self.bottles,
            why: self.why.clone(),
            to: self.to.clone(),
            from: self.from.clone(),
        });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.run)
    }
}
