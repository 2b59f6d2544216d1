//! Why a command could not do what it was asked for.

use std::io;

use crate::cellar::core::refusal::Refusal;
use crate::desk::DeskError;
use crate::log::Trouble;

/// Why a command stopped.
#[derive(Debug)]
pub enum Complaint {
    /// Something was refused or not found; the sentence says what and what would do.
    Refused(String),
    /// What was to be given out could not be written.
    Output(io::Error),
}

/// What every step of a command gives.
pub type Outcome<T = ()> = Result<T, Complaint>;

impl From<DeskError> for Complaint {
    fn from(error: DeskError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<Refusal> for Complaint {
    fn from(refusal: Refusal) -> Complaint {
        Complaint::Refused(refusal.to_string())
    }
}

/// Only what is given out is written with `?`; a failed reading says itself which file it was.
impl From<io::Error> for Complaint {
    fn from(error: io::Error) -> Complaint {
        Complaint::Output(error)
    }
}

impl Complaint {
    /// The sentence for the person; none where nobody listens any more, as when a pipe is closed early.
    #[must_use]
    pub fn sentence(&self) -> Option<String> {
        match self {
            Complaint::Refused(sentence) => Some(sentence.clone()),
            Complaint::Output(error) if error.kind() == io::ErrorKind::BrokenPipe => None,
            Complaint::Output(error) => {
                let trouble = Trouble::of(error);
                Some(format!("The output could not be written: {trouble}. {}", trouble.next()))
            }
        }
    }
}
