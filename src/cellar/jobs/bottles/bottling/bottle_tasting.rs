//! Tasting through bottle age: a bottle of a run is opened and tasted.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::drawing::{Draw, Whence};
use super::run::Run;
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RunId, State, Taste};
use crate::cellar::jobs::tests::tasting::says_something;

/// The cause for which bottles go out that are opened to be tasted.
pub const TASTING: &str = "tasting";

/// The fact `bottle_tasted`: a bottle was opened and tasted. The bottles opened for it are out by that.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BottleTasted {
    /// Of which run.
    pub run: Label,
    /// What stands on the bottle; where it is not said, what was filled first.
    #[serde(default)]
    pub lot_code: Option<Label>,
    /// The place that it was taken from; from anywhere where it is not said.
    #[serde(default)]
    pub from: Option<Label>,
    /// How many bottles were opened for it; none where it had gone out before.
    #[serde(default = "one")]
    pub bottles: u32,
    /// A score from 0 to 20.
    #[serde(default)]
    pub score: Option<f64>,
    /// Words from the house's list.
    #[serde(default)]
    pub marks: Option<Vec<Label>>,
    /// Words of one's own.
    #[serde(default)]
    pub text: Option<Text>,
}

const fn one() -> u32 {
    1
}

/// A taste of a bottle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BottleTaste {
    /// What stood on the bottle, as far as it is known.
    pub lot_code: Option<Label>,
    /// When it was filled.
    pub filled: Moment,
    /// The taste.
    pub taste: Taste,
}

impl BottleTaste {
    /// For how many whole months the wine had been in bottle.
    #[must_use]
    pub fn months(&self) -> u32 {
        Day::of(self.taste.at.date()).months_since(Day::of(self.filled.date()))
    }
}

impl BottleTasted {
    /// The bottles that were opened; none where it had gone out before.
    fn draw(&self) -> Option<Draw<'_>> {
        let whence = self.from.as_ref().map_or(Whence::Anywhere, Whence::Place);
        let (run, lot_code) = (&self.run, self.lot_code.as_ref());
        (self.bottles > 0).then_some(Draw { run, bottles: self.bottles.into(), whence, lot_code })
    }
}

impl Run {
    /// When bottles of a lot code were first filled; of the run where the code is not known.
    #[must_use]
    pub fn filled(&self, code: Option<&Label>) -> Option<Moment> {
        let of_code = self.stretches.iter().find(|stretch| Some(&stretch.lot_code) == code);
        of_code.or(self.stretches.first()).map(|stretch| stretch.at)
    }
}

impl Job for BottleTasted {
    type Ready = RunId;

    fn ready(&self, state: &State) -> Result<RunId, Refusal> {
        let id = state.run(&self.run)?;
        says_something(&self.run, self.score, self.marks.as_deref(), self.text.as_ref())?;
        Ok(id)
    }

    fn doubt(&self, state: &State, &id: &RunId) -> Option<Refusal> {
        self.draw()?.doubt(state.runs.get(id)).map(Refusal::from)
    }

    fn with_bins_as_now(&self, state: &State) -> Option<BottleTasted> {
        let from = state.bin_renamed(self.from.as_ref()?)?;
        Some(BottleTasted { from: Some(from), ..self.clone() })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: RunId) {
        let run = state.runs.get_mut(id);
        let mut lot_code = self.lot_code.clone();
        if let Some(draw) = self.draw() {
            let by_code = run.let_out(stamp, &draw, Text::own(TASTING), None);
            if let [(code, _)] = by_code.as_slice() {
                lot_code.clone_from(code);
            }
        }
        let taste = Taste {
            at: stamp.at,
            score: self.score,
            marks: self.marks.clone().unwrap_or_default(),
            text: self.text.clone(),
        };
        let filled = run.filled(lot_code.as_ref()).unwrap_or(stamp.at);
        Arc::make_mut(&mut run.tastes).push(BottleTaste { lot_code, filled, taste });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.run)
    }
}
