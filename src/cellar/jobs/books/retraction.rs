//! Retraction: a fact is taken back by another fact; taking back the taking-back is redo.
//!
//! **Retractions count whenever they were made**: `--on` and the ledger show what is known today of how it was then.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::FactId;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::label::Text;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;

/// The fact `retracted`: an earlier fact is as if it had never been.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Retracted {
    /// The fact that is taken back.
    pub of: FactId,
    /// Why.
    pub why: Text,
}

/// A retraction does nothing of its own to the state: the fact it takes back is left out of the fold. Whether that fact
/// is in the log only the log knows; see [`crate::cellar::core::fold`].
impl Job for Retracted {
    type Ready = ();

    fn ready(&self, _state: &State) -> Result<(), Refusal> {
        Ok(())
    }

    fn apply(&self, _state: &mut State, _stamp: &Stamp, (): ()) {}

    fn about(&self) -> Option<&Label> {
        None
    }
}
