//! Why a line that came in is not taken: by its kind, so that whoever tells the person can add what may be meant.

use thiserror::Error;

use crate::cellar::core::fact::FactId;
use crate::cellar::core::question::{Question, sentences};
use crate::cellar::core::refusal::Refusal;
use crate::log::Fork;

/// Why a line is not taken: each a sentence for the person.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum NotTaken {
    /// The act is impossible.
    #[error(transparent)]
    Refused(Box<Refusal>),
    /// It can be done, but it would surprise, and that is not wanted.
    #[error("{}", sentences(.0))]
    Surprising(Vec<Question>),
    /// The log holds another fact of its name.
    #[error("{0}")]
    Forked(Box<Fork>),
    /// Another fact of its name came in with it.
    #[error(
        "The fact {0} is here already with other content. Two laptops share one name; bring the facts in from the laptop that first wrote them."
    )]
    Twice(FactId),
    /// A fact of another laptop comes before its forerunners.
    #[error(
        "The fact {found} of another laptop cannot come before its number {missing}. Bring in that laptop's earlier facts first."
    )]
    Gap {
        /// The fact that is there.
        found: FactId,
        /// The number that is missing before it.
        missing: u64,
    },
    /// It is no fact; the sentence is that of whoever read it.
    #[error("{0}")]
    Unreadable(String),
}

impl From<Refusal> for NotTaken {
    fn from(refusal: Refusal) -> NotTaken {
        NotTaken::Refused(Box::new(refusal))
    }
}
