//! Tracing: every fact is folded once more, and each flow of wine is remembered.
//!
//! **A trace is folded past the desk** (`desk/tracing.rs`): `Traced::read` folds all facts once, read on one thread and taken in on
//! another, where a desk and its trace would fold them twice. Of a house of 790,000 facts that takes 0.76 s on two free processors, where
//! opening it takes 0.62 s (`cargo bench --bench trace`). What it remembers beside the state is small: people, materials and batches are
//! numbers (`lineage/names.rs`); the first reading of a page of memory costs more than what stands in it.

use std::ops::ControlFlow;
use std::path::Path;

use compact_str::CompactString;

use super::Desk;
use super::damage::{self, beside_a_check};
use super::error::DeskError;
use super::folding::{Content, Decoded, TakeIn, Until, all_retractions, apart, look_ahead};
use super::passed_over::PassedOver;
use crate::cellar::core::fold::Retractions;
use crate::cellar::core::moment::Moment;
use crate::cellar::views::books::lineage::Tracer;
use crate::log::{Access, DamageSearch, Log, LogError, Position};

/// What was traced in a file that no desk had opened.
pub struct Traced {
    /// Every flow of wine.
    pub tracer: Tracer,
    /// What the person should know about the file.
    pub warnings: Vec<String>,
}

impl Traced {
    /// Every flow of wine in a cellar's file up to a moment, or up to the newest. Where nothing else is asked for, this folds the facts once
    /// where a desk and its trace would fold them twice.
    pub fn read(path: &Path, until: impl Into<Option<Moment>>) -> Result<Traced, DeskError> {
        let log = Log::open(path, Access::ReadOnly)?;
        let until = until.into().map_or(Until::End, |at| Until::Instant(at.instant()));
        let mut warnings: Vec<String> = log.warnings().iter().map(ToString::to_string).collect();
        let Tracing { tracer, passed_over } = log.at_one_instant(|| -> Result<_, DeskError> {
            let mut retractions = all_retractions(&log)?;
            let search = DamageSearch::new(Position::START, log.head()?);
            let (traced, damaged) = beside_a_check(&log, &search, || trace(&log, &retractions, until))?;
            if damaged.is_empty() {
                return Ok(traced);
            }
            warnings.push(damage::sentence(&damaged));
            retractions.leave_out(damaged);
            Ok(trace(&log, &retractions, until)?)
        })?;
        if !passed_over.is_empty() {
            warnings.push(passed_over.to_string());
        }
        Ok(Traced { tracer, warnings })
    }
}

impl Desk {
    /// Every flow of wine up to a moment. Goes through every fact from the beginning: long work.
    pub fn trace(&self, until: Moment) -> Result<Tracer, DeskError> {
        Ok(trace(&self.log, &self.retractions, self.until(until))?.tracer)
    }
}

/// A fact, and who entered it.
pub(super) struct Authored {
    pub fact: Decoded,
    pub by: CompactString,
}

/// A trace on its way.
#[derive(Default)]
struct Tracing {
    tracer: Tracer,
    passed_over: PassedOver,
}

impl TakeIn<Authored> for Tracing {
    fn look_ahead(&self, coming: &Authored) {
        look_ahead(&self.tracer.state, &coming.fact);
    }

    fn take_in(&mut self, Authored { fact, by }: &Authored) {
        match &fact.content {
            Content::Fact(what) => self.tracer.fold_by(Some(by), &fact.stamp, what),
            Content::Gone => {}
            Content::Unread(unread) => self.passed_over.add(unread),
        }
    }
}

fn trace(log: &Log, retractions: &Retractions, until: Until<'_>) -> Result<Tracing, LogError> {
    authored(log, retractions, until, Tracing::default())
}

/// Has every fact up to a moment taken in, with who entered it.
pub(super) fn authored<Taker: TakeIn<Authored>>(
    log: &Log,
    retractions: &Retractions,
    until: Until<'_>,
    taker: Taker,
) -> Result<Taker, LogError> {
    apart(taker, |each| {
        log.scan_authored(&mut |raw, author| {
            if until.is_past(raw) {
                return ControlFlow::Break(());
            }
            let fact = Decoded::read_unless_gone(raw, retractions);
            if each(Authored { fact, by: author.into() }) { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        })
    })
}
