//! The card: it is pulled once, and from then on the key may be seen.

use serde::{Deserialize, Serialize};

use super::refusal::TrialRefusal;
use crate::cellar::fact::{Fact, FactId, Stamp, What};
use crate::cellar::job::Job;
use crate::cellar::label::Label;
use crate::cellar::moment::Moment;
use crate::cellar::refusal::Refusal;
use crate::cellar::state::{State, TrialId};

/// The fact `card_pulled`: the key of a trial is opened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CardPulled {
    /// Which trial.
    pub trial: Label,
}

/// The card of a trial, once it is pulled.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Card {
    /// When it was pulled.
    pub pulled: Moment,
    /// The fact that says so.
    pub(super) fact: FactId,
}

impl State {
    /// Why a fact cannot be taken back because the card of its trial was pulled, if so: a trial is not closed again, and what
    /// was said before it was opened stands. What another laptop says after it is a discrepancy, and may be taken back.
    #[must_use]
    pub fn card_stands(&self, fact: &Fact) -> Option<Refusal> {
        if let What::GlassRated(rated) = &fact.what {
            let pulled = self.trials.by_label(rated.trial.as_str())?.card_pulled()?;
            let is_before = fact.at.instant() <= pulled.instant();
            return is_before.then(|| TrialRefusal::RatingStands(rated.trial.clone()).into());
        }
        let opened = self.trials.iter().find(|(_, trial)| {
            trial.card.as_ref().is_some_and(|card| card.fact == fact.id || trial.layout.fact == fact.id)
        });
        opened.map(|(_, trial)| TrialRefusal::CardStands(trial.label.clone()).into())
    }
}

impl Job for CardPulled {
    type Ready = TrialId;

    fn ready(&self, state: &State) -> Result<TrialId, Refusal> {
        let id = state.trial(&self.trial)?;
        match state.trials.get(id).card {
            Some(_) => Err(TrialRefusal::CardPulled(self.trial.clone()).into()),
            None => Ok(id),
        }
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: TrialId) {
        state.trials.get_mut(id).card = Some(Card { pulled: stamp.at, fact: stamp.id.clone() });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.trial)
    }
}
