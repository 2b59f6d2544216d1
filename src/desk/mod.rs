//! The desk: opens a cellar, holds log and state, turns what comes in into facts and appends them.

use std::path::Path;

use thiserror::Error;

use crate::cellar::fact::{IncomingFact, Line};
use crate::cellar::lineage::Tracer;
use crate::cellar::moment::Moment;
use crate::cellar::state::{Discrepancy, State};

/// What a cellar is opened for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// To append facts.
    Write,
    /// To look only.
    Read,
}

/// Why a cellar could not be opened, read or written.
#[derive(Debug, Error)]
pub enum DeskError {
    /// The log is not part of this build.
    #[error("This build holds no log, so no cellar can be opened.")]
    NoLog,
}

/// An open cellar.
#[derive(Debug)]
pub struct Desk {
    state: State,
    warnings: Vec<String>,
}

/// A fact that comes in, with the line it stood on.
#[derive(Clone, Debug)]
pub struct IncomingLine {
    /// The number of the line, from 1.
    pub number: u64,
    /// The fact.
    pub fact: IncomingFact,
    /// The fields of its kind as they were written.
    pub body: String,
}

/// What became of facts that came in.
#[derive(Clone, Debug, Default)]
pub struct Recorded {
    /// How many were taken.
    pub taken: u64,
    /// How many were known already and passed over.
    pub known: u64,
    /// What the person should know of facts that were taken.
    pub flagged: Vec<String>,
    /// The lines that were refused, and why.
    pub refused: Vec<(u64, String)>,
}

/// What a check of the whole cellar found.
#[derive(Clone, Debug, Default)]
pub struct Verified {
    /// How many facts there are.
    pub facts: u64,
    /// How many devices wrote them.
    pub devices: u64,
    /// What is wrong.
    pub problems: Vec<String>,
}

#[allow(clippy::unused_self, clippy::missing_const_for_fn)] // the shape is what counts here
impl Desk {
    /// Makes an empty cellar.
    pub fn create(_path: &Path, _now: Moment) -> Result<(), DeskError> {
        Err(DeskError::NoLog)
    }

    /// Opens a cellar.
    pub fn open(_path: &Path, _access: Access) -> Result<Desk, DeskError> {
        Err(DeskError::NoLog)
    }

    /// What the person should know of this cellar.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// The state as of the last fact.
    #[must_use]
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The state as of a moment, facts of that moment included.
    pub fn state_at(&self, _at: Moment) -> Result<State, DeskError> {
        Err(DeskError::NoLog)
    }

    /// The state just before a moment.
    pub fn state_before(&self, _at: Moment) -> Result<State, DeskError> {
        Err(DeskError::NoLog)
    }

    /// What does not fit.
    #[must_use]
    pub fn discrepancies(&self, state: &State) -> Vec<Discrepancy> {
        state.discrepancies.to_vec()
    }

    /// Every flow of wine until a moment.
    pub fn trace(&self, _until: Moment) -> Result<Tracer, DeskError> {
        Err(DeskError::NoLog)
    }

    /// Takes facts in: all or none, unless the good ones are to be kept.
    pub fn record(
        &mut self,
        _incoming: Vec<IncomingLine>,
        _now: Moment,
        _keep_good: bool,
    ) -> Result<Recorded, DeskError> {
        Err(DeskError::NoLog)
    }

    /// Says what [`Desk::record`] would refuse of these facts, and stores nothing.
    pub fn rehearse(&mut self, _incoming: Vec<IncomingLine>, _now: Moment) -> Result<Recorded, DeskError> {
        Err(DeskError::NoLog)
    }

    /// Gives every fact in order, those since a moment only where one is said, and how many there were.
    pub fn export(
        &self,
        _since: Option<Moment>,
        _each: &mut dyn FnMut(&Line) -> std::io::Result<()>,
    ) -> Result<u64, DeskError> {
        Err(DeskError::NoLog)
    }

    /// Writes a safe copy while the cellar is open.
    pub fn backup(&self, _target: &Path) -> Result<(), DeskError> {
        Err(DeskError::NoLog)
    }

    /// Checks the chain, the file and the balance.
    pub fn verify(&self) -> Result<Verified, DeskError> {
        Err(DeskError::NoLog)
    }
}
