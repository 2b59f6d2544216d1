//! Why the desk could not do what was asked.

use thiserror::Error;

use crate::cellar::core::fact::{FactError, FactId};
use crate::cellar::core::moment::Moment;
use crate::log::LogError;

/// Why the desk could not do what was asked: each a sentence for the person.
#[derive(Debug, Error)]
pub enum DeskError {
    /// The act is impossible.
    #[error("{0}")]
    Refused(String),
    /// It can be done, but it would surprise: these sentences are asked first.
    #[error("{}", .0.join(" "))]
    Asked(Vec<String>),
    /// The log would not.
    #[error(transparent)]
    Log(#[from] LogError),
    /// A fact could not be put into words.
    #[error(transparent)]
    Fact(#[from] FactError),
    /// The cellar holds facts that this program cannot read.
    #[error("Nothing was written. {0}")]
    OnlyRead(String),
    /// There is nothing to undo.
    #[error("There is nothing to undo: this laptop has entered nothing that still stands.")]
    NothingToUndo,
    /// There is nothing to redo.
    #[error("There is nothing to redo: nothing was undone since the last entry.")]
    NothingToRedo,
    /// Another program writes all the time.
    #[error("Another program keeps writing to this cellar. Nothing was written. Try again in a moment.")]
    Crowded,
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
    /// Two facts of one name.
    #[error(
        "The fact {0} is here already with other content. Two laptops share one name; bring the facts in from the laptop that first wrote them."
    )]
    Fork(FactId),
    /// A period that ends before it begins.
    #[error("The period ends at {to}, before it begins at {from}. Give the earlier date first.")]
    PeriodBackwards {
        /// Its beginning.
        from: Moment,
        /// Its end.
        to: Moment,
    },
    /// Writing to where the caller wished failed.
    #[error("The output could not be written: {0}.")]
    Output(String),
}
