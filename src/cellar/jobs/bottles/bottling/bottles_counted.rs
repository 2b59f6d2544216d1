//! Bottles counted: how many of a lot code lie at a place. What the book has too many of is out, what it has too few of is
//! found.

use serde::{Deserialize, Serialize};

use super::drawing::{Draw, Whence};
use super::refusal::RunRefusal;
use super::run::Stock;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RunId, State};

/// The fact `bottles_counted`: the book is put right by a count of bottles.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BottlesCounted {
    /// Of which run.
    pub run: Label,
    /// What stands on them; of all lot codes that lie there where it is not said.
    #[serde(default)]
    pub lot_code: Option<Label>,
    /// Where they lie; none where they are not laid away.
    #[serde(default)]
    pub place: Option<Label>,
    /// How many lie there.
    pub bottles: u32,
    /// Why the book is put right; missing bottles are out for it.
    pub why: Text,
}

impl BottlesCounted {
    fn whence(&self) -> Whence<'_> {
        self.place.as_ref().map_or(Whence::Line, Whence::Place)
    }
}

impl Job for BottlesCounted {
    type Ready = RunId;

    fn ready(&self, state: &State) -> Result<RunId, Refusal> {
        state.run(&self.run)
    }

    fn doubt(&self, state: &State, &id: &RunId) -> Option<Refusal> {
        let code = self.lot_code.as_ref()?;
        let is_known = state.runs.get(id).rank(Some(code)) != usize::MAX;
        (!is_known).then(|| RunRefusal::CodeNotOfRun { run: self.run.clone(), code: code.clone() }.into())
    }

    fn slip(&self, state: &State, _: &RunId) -> Option<Refusal> {
        state.no_bin(self.place.as_ref()?).map(Refusal::from)
    }

    fn with_bins_as_now(&self, state: &State) -> Option<BottlesCounted> {
        let place = state.bin_renamed(self.place.as_ref()?)?;
        Some(BottlesCounted { place: Some(place), ..self.clone() })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: RunId) {
        let run = state.runs.get_mut(id);
        let (book, counted) = (run.there(self.whence(), self.lot_code.as_ref()), u64::from(self.bottles));
        let bottles = book.saturating_sub(counted);
        if bottles > 0 {
            let (whence, lot_code) = (self.whence(), self.lot_code.as_ref());
            run.let_out(stamp, &Draw { run: &self.run, bottles, whence, lot_code }, self.why.clone(), None);
        }
        let found = counted.saturating_sub(book);
        run.found += found;
        run.put(Stock {
            place: self.place.clone(),
            lot_code: self.lot_code.clone(),
            release: run.release_at(self.whence(), self.lot_code.as_ref()),
            since: stamp.at,
            there: found,
        });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.run)
    }
}
