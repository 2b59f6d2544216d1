//! Why the desk could not do what was asked.

use thiserror::Error;

use super::not_taken::NotTaken;
use crate::cellar::core::fact::FactError;
use crate::cellar::core::label::TextError;
use crate::cellar::core::moment::{Moment, MomentError};
use crate::cellar::core::question::{Question, sentences};
use crate::cellar::core::refusal::Refusal;
use crate::log::{LogError, Trouble};

/// Why the desk could not do what was asked: each a sentence for the person.
#[derive(Clone, Debug, Error)]
pub enum DeskError {
    /// The act is impossible.
    #[error(transparent)]
    Refused(#[from] Box<Refusal>),
    /// It can be done, but it would surprise: this is asked first.
    #[error("{}", sentences(.0))]
    Asked(Vec<Question>),
    /// A line of what came in is not taken.
    #[error(transparent)]
    NotTaken(NotTaken),
    /// A line of a spreadsheet is not taken, so that none is.
    #[error("Nothing was entered. Line {line}: {why}")]
    Line {
        /// Its number.
        line: u64,
        /// Why.
        why: Box<NotTaken>,
    },
    /// What is to be written beside it is no text.
    #[error(transparent)]
    Text(#[from] TextError),
    /// When it is said to have happened is no moment.
    #[error(transparent)]
    Moment(#[from] MomentError),
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
    /// A period that ends before it begins.
    #[error("The period ends at {to}, before it begins at {from}. Give the earlier date first.")]
    PeriodBackwards {
        /// Its beginning.
        from: Moment,
        /// Its end.
        to: Moment,
    },
    /// Writing to where the caller wished failed.
    #[error("The output could not be written: {0}. {next}", next = .0.next())]
    Output(Trouble),
}

impl DeskError {
    /// Whether it was entered all the same, but not into the file of that name.
    #[must_use]
    pub const fn was_entered(&self) -> bool {
        matches!(self, DeskError::Log(LogError::EnteredAstray(_)))
    }
}

impl From<Refusal> for DeskError {
    fn from(refusal: Refusal) -> DeskError {
        DeskError::Refused(Box::new(refusal))
    }
}

impl From<NotTaken> for DeskError {
    fn from(why: NotTaken) -> DeskError {
        match why {
            NotTaken::Refused(refusal) => DeskError::Refused(refusal),
            NotTaken::Surprising(questions) => DeskError::Asked(questions),
            other => DeskError::NotTaken(other),
        }
    }
}
