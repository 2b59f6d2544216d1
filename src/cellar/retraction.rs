//! Retraction: a fact is taken back by another fact; taking back the taking-back is redo.

use serde::{Deserialize, Serialize};

use super::fact::FactId;
use super::label::Text;

/// The fact `retracted`: an earlier fact is as if it had never been.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Retracted {
    /// The fact that is taken back.
    pub of: FactId,
    /// Why.
    pub why: Text,
}
