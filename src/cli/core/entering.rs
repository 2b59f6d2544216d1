//! What a command enters: asked about once, and stored as one act.

use super::complaint::{Complaint, Outcome};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Text;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::{Question, sentences};
use crate::cli::arguments::Entering;
use crate::cli::core::suggestion::with_hint;
use crate::cli::full_screen::who;
use crate::desk::{Act, Desk, DeskError};

impl Entering {
    /// Enters facts that stand or fall together, unless they surprise and nobody said that it is so.
    pub(in crate::cli) fn enter(&self, desk: &mut Desk, whats: Vec<What>, note: Option<Text>, now: Moment) -> Outcome {
        self.ask(&desk.state().questions(&whats, now))?;
        let act = Act { note, despite: self.despite.clone(), ..Act::of(whats, who(self.by.as_deref())?) };
        match desk.enter(&act, now) {
            Ok(_) => Ok(()),
            Err(DeskError::Refused(refusal)) => Err(Complaint::Refused(with_hint(&refusal, desk.state()))),
            Err(error) => Err(error.into()),
        }
    }

    /// Refuses what would surprise, unless it was said that it is so.
    pub(in crate::cli) fn ask(&self, questions: &[Question]) -> Outcome {
        if self.sure || questions.is_empty() {
            return Ok(());
        }
        let is_unknown = |question: &Question| matches!(question, Question::UnknownMaterial { .. });
        let is = if questions.iter().any(is_unknown) { " Say what it is with --is, like --is fining." } else { "" };
        Err(Complaint::Refused(format!("{} Nothing was entered.{is} If it is so, say --sure.", sentences(questions))))
    }
}
