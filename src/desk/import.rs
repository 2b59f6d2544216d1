//! Taking in what a spreadsheet came to: one act, each fact known by the line that it stands on.

use super::admit::{Admitted, Deciding, IncomingLine, Surprises, Together};
use super::error::DeskError;
use super::{Desk, NotTaken};
use crate::cellar::core::fact::{IncomingFact, What, body_text};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;

/// A fact of a spreadsheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Imported {
    /// The number of the line that it stands on.
    pub line: u64,
    /// When it happened.
    pub at: Moment,
    /// What.
    pub what: What,
}

impl Desk {
    /// Takes in facts of a spreadsheet as one act: all of them, or none where one is refused or asked about; with `keep_good` all of the
    /// lines of which nothing is refused.
    pub fn import(
        &mut self,
        facts: &[Imported],
        by: &Label,
        now: Moment,
        (keep_good, surprises): (bool, Surprises),
    ) -> Result<Admitted, DeskError> {
        let lines = incoming(facts, by, self.never_back(now))?;
        self.take_good(lines, Deciding { now: self.never_back(now), surprises }, Together::Yes, keep_good)
    }

    /// The lines of which [`Desk::import`] would refuse something, each with why; nothing is stored.
    pub fn rehearse_import(
        &mut self,
        facts: &[Imported],
        by: &Label,
        now: Moment,
    ) -> Result<Vec<(u64, NotTaken)>, DeskError> {
        let lines = incoming(facts, by, self.never_back(now))?;
        let mut refused = self.rehearse(&lines, now)?;
        refused.dedup_by_key(|(line, _)| *line);
        Ok(refused)
    }
}

fn incoming(facts: &[Imported], by: &Label, now: Moment) -> Result<Vec<IncomingLine>, DeskError> {
    facts
        .iter()
        .map(|fact| {
            let what = fact.what.clone();
            Ok(IncomingLine {
                number: fact.line,
                body: body_text(what.body()?, None),
                fact: IncomingFact {
                    id: None,
                    at: fact.at,
                    written: Some(now),
                    by: by.clone(),
                    version: what.version(),
                    what,
                    job: None,
                    note: None,
                    despite: None,
                },
            })
        })
        .collect()
}
