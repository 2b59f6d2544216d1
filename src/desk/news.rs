//! News: what another program appended to the log while this one had it open.

use std::ops::ControlFlow;

use super::Desk;
use super::error::DeskError;
use super::folding::{Content, Decoded, Folded, Run, Until, fold_log};
use super::heads::Heads;
use crate::cellar::core::fact::{FactId, FactKey, What};
use crate::cellar::core::fold::Retractions;
use crate::log::Position;

/// So many new facts are kept in memory while it is found out where they belong; more are read again.
const MOST_KEPT: usize = 4_096;

/// Facts that arrived, and what must be folded for them.
pub(super) struct News {
    heads: Heads,
    /// The retractions of the whole log, if there are new ones.
    retractions: Option<Retractions>,
    /// The first fact that comes out differently than it was folded.
    affected: Option<FactKey>,
    fold: Fold,
}

enum Fold {
    /// The facts follow those that are folded already.
    Next(Vec<Decoded>, Position),
    /// The log was folded again from before them.
    Again(Box<Run>),
}

/// What is known of new facts after reading them once.
#[derive(Default)]
struct Arrived {
    lowest: Option<FactKey>,
    retractions: Vec<(FactKey, FactId)>,
    /// All of them, unless they are too many.
    kept: Option<Vec<Decoded>>,
}

impl Decoded {
    /// What the fact takes back, if it takes a fact back.
    pub fn retraction(&self) -> Option<(FactKey, FactId)> {
        match self.what() {
            Some(What::Retracted(retracted)) => Some((self.stamp.key(), retracted.of.clone())),
            _ => None,
        }
    }
}

impl Arrived {
    fn take(&mut self, fact: Decoded) {
        let key = fact.stamp.key();
        self.retractions.extend(fact.retraction());
        if self.lowest.as_ref().is_none_or(|lowest| key < *lowest) {
            self.lowest = Some(key);
        }
        match &mut self.kept {
            Some(kept) if kept.len() < MOST_KEPT => kept.push(fact),
            _ => self.kept = None,
        }
    }
}

impl Desk {
    /// Reads what arrived since the last look, and folds it or prepares its folding. To be asked as of one instant of
    /// the log, or facts would come in between that are folded without the retractions beside them.
    pub(super) fn read_news(&self) -> Result<News, DeskError> {
        let mut heads = self.heads.clone();
        let mut arrived = Arrived { kept: Some(Vec::new()), ..Arrived::default() };
        let head = self.log.arrived_after(self.head, &mut |raw| {
            heads.see(raw.device, raw.n, raw.at.instant());
            arrived.take(Decoded::read(raw));
            ControlFlow::Continue(())
        })?;
        let mut affected = arrived.lowest.filter(|lowest| self.live.has_come_to(lowest));
        let mut retractions = None;
        if !arrived.retractions.is_empty() {
            let mut all = self.retractions.clone();
            all.extend(arrived.retractions);
            let changed = self.first_changed(&all, |_| false)?.filter(|first| self.live.has_come_to(first));
            affected = [affected, changed].into_iter().flatten().min();
            retractions = Some(all);
        }
        let known = retractions.as_ref().unwrap_or(&self.retractions);
        let fold = match (arrived.kept, &affected) {
            (Some(mut facts), None) => {
                for fact in facts.iter_mut().filter(|fact| known.contains(&fact.stamp.id)) {
                    let content = std::mem::replace(&mut fact.content, Content::Gone);
                    fact.content = content.taken_back();
                }
                facts.sort_by_key(|fact| fact.stamp.key());
                Fold::Next(facts, head)
            }
            (None, None) => Fold::Again(Box::new(fold_log(&self.log, self.live.clone(), known, Until::End)?)),
            (_, Some(affected)) => {
                let start = self.checkpoints.last_before(affected).cloned().unwrap_or_default();
                Fold::Again(Box::new(fold_log(&self.log, start, known, Until::End)?))
            }
        };
        Ok(News { heads, retractions, affected, fold })
    }

    /// Makes the news the state of the cellar.
    pub(super) fn take_in(&mut self, news: News) {
        self.heads = news.heads;
        if let Some(retractions) = news.retractions {
            self.retractions = retractions;
        }
        if let Some(affected) = &news.affected {
            self.checkpoints.forget_from(affected);
        }
        match news.fold {
            Fold::Next(facts, head) => {
                for fact in &facts {
                    self.live.take(fact);
                }
                self.head = head;
                self.leave_checkpoint();
            }
            Fold::Again(run) => self.adopt_run(*run),
        }
        self.heed_what_is_passed_over();
    }

    /// Makes a fold of the whole log the state of the cellar.
    pub(super) fn adopt_run(&mut self, run: Run) {
        for folded in run.passed {
            self.checkpoints.add(folded);
        }
        self.live = run.folded;
        self.head = run.head;
    }

    /// Keeps the present fold as a checkpoint where enough has come since the last one.
    pub(super) fn leave_checkpoint(&mut self) {
        if self.checkpoints.is_due(&self.live) {
            self.checkpoints.add(self.live.clone());
        }
    }

    /// The first fact of the log that other retractions take back or restore, but for those that are passed over.
    pub(super) fn first_changed(
        &self,
        retractions: &Retractions,
        pass_over: impl Fn(&FactId) -> bool,
    ) -> Result<Option<FactKey>, DeskError> {
        let mut first = None;
        for id in changed(&self.retractions, retractions).filter(|id| !pass_over(id)) {
            if let Some(line) = self.log.line(id)? {
                let key = FactKey { instant: line.at.instant(), id: line.id };
                if first.as_ref().is_none_or(|first| key < *first) {
                    first = Some(key);
                }
            }
        }
        Ok(first)
    }

    /// The fold of all facts before one, from the last checkpoint before it. What was passed on the way, and the fold
    /// itself where it is far from that checkpoint, is worth keeping for the next one that comes late at that place.
    pub(super) fn fold_before(&self, key: &FactKey) -> Result<(Folded, Vec<Folded>), DeskError> {
        let start = self.checkpoints.last_before(key).cloned().unwrap_or_default();
        let from = start.passed;
        let run = fold_log(&self.log, start, &self.retractions, Until::Before(key))?;
        let mut worth_keeping = run.passed;
        if run.folded.passed - from >= super::checkpoint::SPACING {
            worth_keeping.push(run.folded.clone());
        }
        Ok((run.folded, worth_keeping))
    }
}

/// The facts that are taken back in one of two resolutions but not in the other.
fn changed<'a>(before: &'a Retractions, after: &'a Retractions) -> impl Iterator<Item = &'a FactId> {
    let gone = before.gone().filter(|id| !after.contains(id));
    gone.chain(after.gone().filter(|id| !before.contains(id)))
}
