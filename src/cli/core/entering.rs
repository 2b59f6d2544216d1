//! What a command enters: asked about once, and stored as one act.

use super::complaint::{Complaint, Outcome};
use crate::cellar::core::decide::is_future;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Text;
use crate::cellar::core::moment::{Moment, MomentError};
use crate::cellar::core::question::{Question, sentences};
use crate::cellar::core::refusal::Refusal;
use crate::cli::arguments::{Entering, When};
use crate::cli::core::who::who;
use crate::cli::reading::state_on;
use crate::desk::{Act, Desk, DeskError};
use crate::told::meant::with_hint;

/// What dates something that is entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dated {
    /// This laptop's clock.
    ByTheClock {
        /// Whether the person said that it is so, whatever is asked.
        sure: bool,
    },
    /// The person says when it happened, or nothing is entered.
    Otherwise,
}

impl Entering {
    /// What dates what is entered.
    pub(in crate::cli) const fn dated(&self) -> Dated {
        if self.at.is_some() { Dated::Otherwise } else { Dated::ByTheClock { sure: self.sure } }
    }

    /// The moment at which it happened, where one is said.
    pub(in crate::cli) fn at(&self, now: Moment) -> Outcome<Option<Moment>> {
        self.not_ahead(now, When::moment)
    }

    /// The moment since which it is so: now, where none is said.
    pub(in crate::cli) fn since(&self, now: Moment) -> Outcome<Moment> {
        Ok(self.not_ahead(now, When::beginning)?.unwrap_or(now))
    }

    /// A moment that was said, which cannot lie ahead.
    fn not_ahead(
        &self,
        now: Moment,
        moment: fn(When, Moment) -> Result<Moment, MomentError>,
    ) -> Outcome<Option<Moment>> {
        let Some(when) = self.at else { return Ok(None) };
        let at = moment(when, now).map_err(|error| Complaint::Refused(error.to_string()))?;
        if is_future(at, now) { Err(Refusal::Future { at, now }.into()) } else { Ok(Some(at)) }
    }

    /// Enters facts that stand or fall together, unless they surprise and nobody said that it is so. They are decided as of when
    /// they happened.
    pub(in crate::cli) fn enter(&self, desk: &mut Desk, whats: Vec<What>, note: Option<Text>, now: Moment) -> Outcome {
        let at = self.at(now)?;
        let on = at.unwrap_or(now);
        self.ask(&state_on(desk, on)?.questions(&whats, on))?;
        let act = self.act(whats, note, at)?;
        desk.enter(&act, now).map(drop).map_err(|error| not_done(error, desk))
    }

    /// The act that facts make, with who did it and the words beside it.
    fn act(&self, whats: Vec<What>, note: Option<Text>, at: Option<Moment>) -> Outcome<Act> {
        let note = note.or_else(|| self.note.clone());
        Ok(Act { note, at, despite: self.despite.clone(), ..Act::of(whats, who(self.by.as_deref())?) })
    }

    /// Tries facts that would stand or fall together: what would be asked about them, where they would be taken.
    pub(in crate::cli) fn rehearse(&self, desk: &mut Desk, whats: Vec<What>, now: Moment) -> Outcome<Vec<Question>> {
        let act = self.act(whats, None, self.at(now)?)?;
        desk.rehearse_act(&act, now).map_err(|error| not_done(error, desk))
    }

    /// Refuses what would surprise, unless it was said that it is so.
    pub(in crate::cli) fn ask(&self, questions: &[Question]) -> Outcome {
        if self.sure || questions.is_empty() {
            return Ok(());
        }
        Err(surprising(questions))
    }
}

/// Why the desk did not do what would have been entered, with the labels that may be meant.
pub fn not_done(error: DeskError, desk: &Desk) -> Complaint {
    match error {
        DeskError::Refused(refusal) => Complaint::Refused(with_hint(&refusal, desk.state())),
        DeskError::Asked(questions) => surprising(&questions),
        error => error.into(),
    }
}

/// What would surprise, and how it is said that it is so.
pub fn surprising(questions: &[Question]) -> Complaint {
    let is_unknown = |question: &Question| matches!(question, Question::UnknownMaterial { .. });
    let is = if questions.iter().any(is_unknown) { " Say what it is with --is, like --is fining." } else { "" };
    Complaint::Refused(format!("{} Nothing was entered.{is} If it is so, say --sure.", sentences(questions)))
}
