//! The reveal: the key of a trial is opened once, and from then on it may be seen.

use serde::{Deserialize, Serialize};

use super::refusal::TrialRefusal;
use crate::cellar::core::fact::{Fact, FactId, Stamp, What};
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, TrialId};

/// The fact `trial_revealed`: the key of a trial is opened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrialRevealed {
    /// Which trial.
    pub trial: Label,
}

/// The reveal of a trial.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reveal {
    /// When it was.
    pub at: Moment,
    /// The fact that says so.
    pub(super) fact: FactId,
}

impl State {
    /// The trial that a fact is about, where that was revealed.
    #[must_use]
    pub fn revealed_trial_of<'a>(&self, what: &'a What) -> Option<&'a Label> {
        let trial = match what {
            What::TrialSet(set) => &set.trial,
            What::GlassRated(rated) => &rated.trial,
            What::TrialRevealed(revealed) => &revealed.trial,
            What::BlendChosen(chosen) => &chosen.trial,
            _ => return None,
        };
        self.trials.by_label(trial.as_str())?.revealed().map(|_| trial)
    }

    /// Why a fact cannot be taken back because its trial was revealed, if so: a trial is not closed again, and what
    /// was said before it was opened stands. What another laptop says after it is a discrepancy, and may be taken back.
    #[must_use]
    pub fn reveal_stands(&self, fact: &Fact) -> Option<Refusal> {
        if let What::GlassRated(rated) = &fact.what {
            let revealed = self.trials.by_label(rated.trial.as_str())?.revealed()?;
            let is_before = fact.at.instant() <= revealed.instant();
            return is_before.then(|| TrialRefusal::RatingStands(rated.trial.clone()).into());
        }
        let opened = self.trials.iter().find(|(_, trial)| {
            trial.reveal.as_ref().is_some_and(|reveal| reveal.fact == fact.id || trial.layout.fact == fact.id)
        });
        opened.map(|(_, trial)| TrialRefusal::RevealStands(trial.label.clone()).into())
    }
}

impl Job for TrialRevealed {
    type Ready = TrialId;

    fn ready(&self, state: &State) -> Result<TrialId, Refusal> {
        let id = state.trial(&self.trial)?;
        match state.trials.get(id).reveal {
            Some(_) => Err(TrialRefusal::TrialRevealed(self.trial.clone()).into()),
            None => Ok(id),
        }
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: TrialId) {
        state.trials.get_mut(id).reveal = Some(Reveal { at: stamp.at, fact: stamp.id.clone() });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.trial)
    }
}
