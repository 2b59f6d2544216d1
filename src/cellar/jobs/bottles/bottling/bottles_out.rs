//! Bottles out: sold, broken, kept as library stock, sampled.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::drawing::{Draw, Whence};
use super::run::{Out, Run};
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RunId, State};

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
    /// What stands on them; where it is not said, what was filled first.
    #[serde(default)]
    pub lot_code: Option<Label>,
}

impl BottlesOut {
    fn draw(&self) -> Draw<'_> {
        let whence = self.from.as_ref().map_or(Whence::Anywhere, Whence::Place);
        Draw { run: &self.run, bottles: self.bottles.into(), whence, lot_code: self.lot_code.as_ref() }
    }
}

impl Run {
    /// Lets bottles go out for a cause, and says how many of each lot code.
    pub(super) fn let_out(
        &mut self,
        stamp: &Stamp,
        draw: &Draw<'_>,
        why: Text,
        to: Option<Text>,
    ) -> Vec<(Option<Label>, u64)> {
        let mut by_code: Vec<(Option<Label>, u64)> = Vec::new();
        for drawn in self.take(draw) {
            match by_code.iter_mut().find(|(code, _)| *code == drawn.lot_code) {
                Some((_, bottles)) => *bottles += drawn.bottles,
                None => by_code.push((drawn.lot_code, drawn.bottles)),
            }
        }
        let from = match draw.whence {
            Whence::Place(place) => Some(place.clone()),
            Whence::Line | Whence::Anywhere => None,
        };
        let bottles = draw.bottles;
        let told = by_code.clone();
        Arc::make_mut(&mut self.out).push(Out { at: stamp.at, bottles, why, to, from, by_code });
        told
    }
}

impl Job for BottlesOut {
    type Ready = RunId;

    fn ready(&self, state: &State) -> Result<RunId, Refusal> {
        self.draw().ready(state)
    }

    fn doubt(&self, state: &State, &id: &RunId) -> Option<Refusal> {
        self.draw().doubt(state.runs.get(id)).map(Refusal::from)
    }

    /// Those that may not go yet, by the latest release among them.
    fn questions(&self, state: &State, &id: &RunId, at: Moment) -> Vec<Question> {
        let today = Day::of(at.date());
        let mut run = state.runs.get(id).clone();
        let resting: Vec<(Day, u64)> = run
            .take(&self.draw())
            .into_iter()
            .filter_map(|drawn| Some((drawn.stock?.release?, drawn.bottles)))
            .filter(|(release, _)| *release > today)
            .collect();
        let latest = resting.iter().map(|(release, _)| *release).max();
        let bottles = resting.iter().map(|(_, bottles)| bottles).sum();
        latest.map(|release| Question::BeforeRelease { run: self.run.clone(), bottles, release }).into_iter().collect()
    }

    fn with_bins_as_now(&self, state: &State) -> Option<BottlesOut> {
        let from = state.bin_renamed(self.from.as_ref()?)?;
        Some(BottlesOut { from: Some(from), ..self.clone() })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: RunId) {
        state.runs.get_mut(id).let_out(stamp, &self.draw(), self.why.clone(), self.to.clone());
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.run)
    }
}
