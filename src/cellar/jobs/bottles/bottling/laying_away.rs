//! Laying away: bottles go to a bin, a pallet or a shelf, and rest until their release.

use serde::{Deserialize, Serialize};

use super::drawing::{Draw, Whence};
use super::refusal::RunRefusal;
use super::run::{Run, Stock};
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RunId, State};

/// The fact `laid_away`: bottles lie at a place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LaidAway {
    /// Of which run.
    pub run: Label,
    /// How many.
    pub bottles: u32,
    /// Where they lie now.
    pub place: Label,
    /// From when on they may go. Bottles that lay somewhere keep their release where none is said.
    #[serde(default)]
    pub release: Option<Day>,
    /// The place where they lay before; none where they come from the line. The same as `place` where only the release is
    /// set.
    #[serde(default)]
    pub from: Option<Label>,
    /// What stands on them; where it is not said, what was filled first.
    #[serde(default)]
    pub lot_code: Option<Label>,
}

impl LaidAway {
    fn draw(&self) -> Draw<'_> {
        let whence = self.from.as_ref().map_or(Whence::Line, Whence::Place);
        Draw { run: &self.run, bottles: self.bottles.into(), whence, lot_code: self.lot_code.as_ref() }
    }

    fn too_early(&self, run: &Run) -> Option<RunRefusal> {
        let (release, (_, ended)) = (self.release?, run.ended()?);
        let filled = Day::of(ended.date());
        let run = self.run.clone();
        (release < filled).then_some(RunRefusal::ReleasedBeforeBottled { run, release, bottled: filled })
    }
}

impl Job for LaidAway {
    type Ready = RunId;

    fn ready(&self, state: &State) -> Result<RunId, Refusal> {
        self.draw().ready(state)
    }

    fn doubt(&self, state: &State, &id: &RunId) -> Option<Refusal> {
        let run = state.runs.get(id);
        self.draw().doubt(run).or_else(|| self.too_early(run)).map(Refusal::from)
    }

    fn slip(&self, state: &State, _: &RunId) -> Option<Refusal> {
        state.no_bin(&self.place).map(Refusal::from)
    }

    fn with_bins_as_now(&self, state: &State) -> Option<LaidAway> {
        let (place, from) =
            (state.bin_renamed(&self.place), self.from.as_ref().and_then(|from| state.bin_renamed(from)));
        let is_renamed = place.is_some() || from.is_some();
        is_renamed.then(|| LaidAway {
            place: place.unwrap_or_else(|| self.place.clone()),
            from: from.or_else(|| self.from.clone()),
            ..self.clone()
        })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: RunId) {
        let run = state.runs.get_mut(id);
        let stays = self.from.as_ref() == Some(&self.place);
        for drawn in run.take(&self.draw()) {
            let before = drawn.stock.as_ref();
            run.put(Stock {
                place: Some(self.place.clone()),
                release: self.release.or(before.and_then(|before| before.release)),
                since: before.filter(|_| stays).map_or(stamp.at, |before| before.since),
                lot_code: drawn.lot_code,
                there: drawn.bottles,
            });
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.run)
    }
}
