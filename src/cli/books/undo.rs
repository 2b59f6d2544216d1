//! `undo` and `redo`: the last act of this laptop is taken back, or given back.

use std::path::Path;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::sentences;

use crate::cli::arguments::UndoArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::full_screen::who;
use crate::desk::{Access, Desk, DeskError, Surprises, Undone};

/// Takes back, or gives back.
type Turning = fn(&mut Desk, &Label, Moment, Surprises) -> Result<Undone, DeskError>;

impl Counter<'_, '_> {
    /// Takes back the last act of this laptop that still stands.
    pub(in crate::cli) fn undo(&mut self, cellar: &Path, asked: &UndoArguments) -> Outcome {
        self.turn(cellar, asked, Desk::undo_told, "Undone")
    }

    /// Gives back what was undone last.
    pub(in crate::cli) fn redo(&mut self, cellar: &Path, asked: &UndoArguments) -> Outcome {
        self.turn(cellar, asked, Desk::redo_told, "Done again")
    }

    fn turn(&mut self, cellar: &Path, asked: &UndoArguments, turning: Turning, word: &str) -> Outcome {
        let by = who(asked.by.as_deref())?;
        let mut desk = self.desk(cellar, Access::ReadWrite)?;
        let surprises = if asked.sure { Surprises::AskedBefore } else { Surprises::Asked };
        match turning(&mut desk, &by, self.now, surprises) {
            Ok(undone) => {
                self.saying.message(&format!("{word}: {}.", undone.describe()));
                Ok(())
            }
            Err(DeskError::Asked(questions)) => Err(Complaint::Refused(format!(
                "{} Nothing was entered. If it is so, say --sure.",
                sentences(&questions)
            ))),
            Err(error) => Err(error.into()),
        }
    }
}
