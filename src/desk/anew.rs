//! Facts that are taken back and entered anew, as one act: with another date, or with other words. Who did them, and what stands beside
//! them, are those of the facts that are given.

use super::Desk;
use super::admit::{Deciding, IncomingLine, Surprises};
use super::error::DeskError;
use crate::cellar::core::fact::{Fact, FactId, IncomingFact, What, body_text};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::jobs::books::retraction::Retracted;

impl Desk {
    /// Enters lines as one act. What would surprise, and what would no longer fit, is asked first, unless it was answered; with no answers nothing
    /// is asked.
    pub(super) fn enter_anew(
        &mut self,
        lines: &[IncomingLine],
        now: Moment,
        answered: Option<&[Question]>,
    ) -> Result<Vec<FactId>, DeskError> {
        let deciding = |surprises| Deciding { now, surprises };
        let Some(answered) = answered else { return self.enter_lines(lines, deciding(Surprises::AskedBefore)) };
        match self.enter_lines(lines, deciding(Surprises::Asked)) {
            Err(DeskError::Asked(questions)) if questions.iter().all(|question| answered.contains(question)) => {
                self.enter_lines(lines, deciding(Surprises::AskedBefore))
            }
            other => other,
        }
    }
}

/// The lines by which somebody takes facts back, with why, and then those that enter them anew, each at its moment.
pub(super) fn lines(
    facts: &[(Fact, Moment)],
    why: &str,
    by: &Label,
    now: Moment,
) -> Result<Vec<IncomingLine>, DeskError> {
    let why = Text::new(why)?;
    let line = |number: u64, fact: IncomingFact| -> Result<IncomingLine, DeskError> {
        Ok(IncomingLine { number, body: body_text(fact.what.body()?, fact.despite.as_ref()), fact })
    };
    let entered = |what: What, at: Moment, by: &Label| IncomingFact {
        id: None,
        at,
        written: Some(now),
        by: by.clone(),
        version: what.version(),
        what,
        job: None,
        note: None,
        despite: None,
    };
    let mut number = 0;
    let mut lines = Vec::with_capacity(facts.len() * 2);
    for (fact, _) in facts {
        number += 1;
        let retracted = What::Retracted(Retracted { of: fact.id.clone(), why: why.clone() });
        lines.push(line(number, entered(retracted, now, by))?);
    }
    for (fact, at) in facts {
        number += 1;
        let (note, despite) = (fact.note.clone(), fact.despite.clone());
        lines.push(line(number, IncomingFact { note, despite, ..entered(fact.what.clone(), *at, &fact.by) })?);
    }
    Ok(lines)
}
