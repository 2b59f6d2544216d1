//! Noting: words about anything.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;

/// The fact `noted`: words about a thing, named by its label.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Noted {
    /// What it is about.
    pub about: Label,
    /// The words.
    pub text: Text,
}

/// How the words begin that stand for a settlement of what two laptops entered.
pub const SETTLED_WORDS: &str = "settled:";

/// Words may be about anything, so nothing is looked up but whether it is a vessel, on whose card they stand.
impl Job for Noted {
    type Ready = ();

    fn ready(&self, _state: &State) -> Result<(), Refusal> {
        Ok(())
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (): ()) {
        if let Some(id) = state.vessels.find(self.about.as_str()) {
            state.vessels.get_mut(id).history.remember(stamp, Event::Noted);
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.about)
    }
}
