//! What is taken back among facts on their way in: whether it may be, and what is taken back with it in all.
//!
//! **What later facts rest on** is asked before it is taken back: the try of `desk/admit.rs`, which is made anyway, says what would fit no
//! more. Undo on the screen sends what was asked already along, so that it asks once.

use rustc_hash::FxHashSet;

use super::Desk;
use super::admit::Admitted;
use super::candidate::Candidate;
use super::error::DeskError;
use crate::cellar::core::fact::{Fact, FactId, Line, What};
use crate::cellar::core::fold::Retractions;
use crate::cellar::core::refusal::Refusal;

impl Desk {
    /// The retractions of the log together with those among the candidates, if there are any. An intent that takes back what is not there, or is
    /// taken back already, is refused.
    pub(super) fn new_retractions(
        &self,
        candidates: &[Candidate<'_>],
        outcome: &mut Admitted,
    ) -> Result<Option<Retractions>, DeskError> {
        let mut new = Vec::with_capacity(candidates.len());
        let mut taken_back: FxHashSet<&FactId> = FxHashSet::default();
        let names: FxHashSet<&FactId> = candidates.iter().map(|its| &its.line.id).collect();
        for candidate in candidates {
            let What::Retracted(retracted) = candidate.what() else { continue };
            let (of, id) = (&retracted.of, &candidate.line.id);
            if candidate.intent {
                let refusal = if of == id {
                    Some(Refusal::RetractsItself)
                } else if self.retractions.contains(of) || taken_back.contains(of) {
                    Some(Refusal::AlreadyRetracted(of.clone()))
                } else {
                    match self.log.line(of)? {
                        None if !names.contains(of) => Some(Refusal::UnknownFact(of.clone())),
                        None => None,
                        Some(line) => self.reveal_stands(line)?,
                    }
                };
                if let Some(refusal) = refusal {
                    outcome.refused.push((candidate.number, refusal.into()));
                    continue;
                }
            }
            taken_back.insert(of);
            new.push((candidate.key(), of.clone()));
        }
        if new.is_empty() {
            return Ok(None);
        }
        let mut retractions = self.retractions.clone();
        retractions.extend(new);
        Ok(Some(retractions))
    }

    /// Why a fact cannot be taken back because its trial was revealed, if so. To take back a retraction is to give
    /// back what it took, which is no more allowed.
    fn reveal_stands(&self, mut line: Line) -> Result<Option<Refusal>, DeskError> {
        let mut seen = FxHashSet::default();
        while seen.insert(line.id.clone()) {
            match line.fact()? {
                Fact { what: What::Retracted(retracted), .. } => match self.log.line(&retracted.of)? {
                    Some(next) => line = next,
                    None => break,
                },
                fact => return Ok(self.state().reveal_stands(&fact)),
            }
        }
        Ok(None)
    }
}
