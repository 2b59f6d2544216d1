//! `undo` and `redo`: the last act of this laptop is taken back, or given back; and any one fact, or its whole act, is taken back.

use std::path::Path;

use super::correct::line;
use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cli::arguments::{TakeBackArguments, UndoArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::entering::{Dated, not_done, surprising};
use crate::cli::core::who::who;
use crate::desk::{Access, Desk, DeskError, Surprises, TakingBack, Undone};
use crate::forms;

/// Takes back, or gives back.
type Turning = fn(&mut Desk, &Label, Moment, Surprises) -> Result<Undone, DeskError>;

impl Counter<'_, '_> {
    /// Takes back the last act of this laptop that still stands, or the fact that is named.
    pub(in crate::cli) fn undo(&mut self, cellar: &Path, asked: &TakeBackArguments) -> Outcome {
        match &asked.of {
            None => self.turn(cellar, &asked.undo, Desk::undo_told, "Undone"),
            Some(of) => self.take_back(cellar, of, asked),
        }
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
            counter.saying.message(&format!("{word}: {}.", forms::said_undone(&undone.facts)));
            Ok(())
        })
    }

    /// Takes back one fact, or all that was entered with it; or says what that would be.
    fn take_back(&mut self, cellar: &Path, of: &FactId, asked: &TakeBackArguments) -> Outcome {
        let (by, sure) = (who(asked.undo.by.as_deref())?, asked.undo.sure);
        let take = |desk: &mut Desk, now: Moment| -> Outcome<_> {
            let taking = taking(desk, of, asked.act)?;
            let questions = desk.rehearse_taking_back(&taking, &by, now).map_err(|error| not_done(error, desk))?;
            if !asked.dry_run {
                if !sure && !questions.is_empty() {
                    return Err(surprising(&questions));
                }
                desk.take_back_told(&taking, &by, now, &questions).map_err(|error| not_done(error, desk))?;
            }
            Ok((taking.words, questions))
        };
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        let dated = if asked.dry_run { Dated::Otherwise } else { Dated::ByTheClock { sure } };
        self.at_desk_dated(cellar, (access, dated), take, |counter, _, (words, questions)| {
            if !asked.dry_run {
                counter.saying.message(&format!("{}.", capital(words.as_str())));
                return Ok(());
            }
            for question in &questions {
                counter.saying.message(&question.to_string());
            }
            Ok(writeln!(counter.out, "would be {}.", harmless(words.as_str()))?)
        })
    }
}

/// What is taken back, with what is kept of it.
fn taking(desk: &Desk, of: &FactId, whole_act: bool) -> Outcome<TakingBack> {
    let ids = if whole_act { desk.act_with(of)?.into_iter().map(|fact| fact.id).collect() } else { vec![of.clone()] };
    let lines = ids.iter().map(|id| line(desk, id)).collect::<Outcome<Vec<_>>>()?;
    let turned: Vec<(&What, bool)> = lines.iter().filter_map(|line| line.if_taken_back()).collect();
    if turned.is_empty() {
        return Err(Refusal::AlreadyRetracted(of.clone()).into());
    }
    let words = forms::kept_of(&turned).map_err(|error| Complaint::Refused(error.to_string()))?;
    Ok(TakingBack { of: ids, words })
}

fn capital(words: &str) -> String {
    let mut signs = words.chars();
    signs.next().map_or_else(String::new, |first| first.to_uppercase().chain(signs).collect())
}
