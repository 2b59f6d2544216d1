//! `undo` and `redo`: the last act of this laptop is taken back, or given back.

use std::path::Path;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cli::arguments::UndoArguments;
use crate::cli::core::complaint::Outcome;
use crate::cli::core::counter::Counter;
use crate::cli::core::entering::{Dated, not_done};
use crate::cli::core::who::who;
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
        let surprises = if asked.sure { Surprises::AskedBefore } else { Surprises::Asked };
        let turn = |desk: &mut Desk, now| turning(desk, &by, now, surprises).map_err(|error| not_done(error, desk));
        let dated = Dated::ByTheClock { sure: asked.sure };
        self.at_desk_dated(cellar, (Access::ReadWrite, dated), turn, |counter, _, undone| {
            counter.saying.message(&format!("{word}: {}.", undone.describe()));
            Ok(())
        })
    }
}
