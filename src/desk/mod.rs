//! The desk: opens a cellar, holds its log and its state, turns intents into facts and appends them.
//!
//! ```text
//!   intents ──► admit ──► decide, fact by fact ──► log.append ──► state
//!                 │                                                ▲
//!                 └── late or retracting? fold again from a checkpoint before it
//! ```
//!
//! One road for everything that comes in: a keystroke, a file of facts, an undo. Only what another program appended
//! comes by [`Desk::refresh`].

mod admit;
mod checkpoint;
mod demo;
mod enter;
mod error;
mod folding;
mod snapshot;
mod undo;
mod view;

use std::path::Path;

pub use admit::{Admitted, IncomingLine};
pub use demo::create_demo;
pub use enter::Act;
pub use error::DeskError;
pub use undo::Undone;
pub use view::Verified;

use checkpoint::Checkpoints;
use folding::Folded;

use crate::cellar::fact::{Device, FactKey};
use crate::cellar::fold::Retractions;
use crate::cellar::moment::Moment;
use crate::cellar::state::State;
pub use crate::log::Access;
use crate::log::{Log, Position};

/// An open cellar.
pub struct Desk {
    log: Log,
    /// The fold of everything in the log.
    live: Folded,
    /// How much of the log `live` has taken in.
    head: Position,
    /// Which facts are taken back.
    retractions: Retractions,
    /// Earlier folds, from which a late fact is folded in.
    checkpoints: Checkpoints,
    warnings: Vec<String>,
}

impl Desk {
    /// Makes an empty cellar at a path where nothing is yet.
    pub fn create(path: &Path, now: Moment) -> Result<(), DeskError> {
        Log::create(path, now)?;
        Ok(())
    }

    /// Opens a cellar and folds its facts, from the snapshot beside it where that still holds.
    pub fn open(path: &Path, access: Access) -> Result<Desk, DeskError> {
        let log = Log::open(path, access)?;
        let warnings = log.warnings().iter().map(ToString::to_string).collect();
        let retractions = folding::all_retractions(&log)?;
        let mut desk = Desk {
            log,
            live: Folded::default(),
            head: Position::START,
            retractions,
            checkpoints: Checkpoints::default(),
            warnings,
        };
        if let Some(folded) = snapshot::load(&desk.log, &desk.retractions)? {
            desk.checkpoints.add(folded);
        }
        desk.fold_again(None)?;
        Ok(desk)
    }

    /// What the person should know about this file.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// The state of the cellar.
    #[must_use]
    pub fn state(&self) -> &State {
        &self.live.state
    }

    /// This laptop's name in the log.
    #[must_use]
    pub fn device(&self) -> &Device {
        self.log.device()
    }

    /// The cellar's file.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.log.path()
    }

    /// Whether facts can be entered.
    #[must_use]
    pub fn access(&self) -> Access {
        self.log.access()
    }

    /// Takes in what another program appended. Says whether there was anything.
    pub fn refresh(&mut self) -> Result<bool, DeskError> {
        if !self.log.changed_since(self.head)? {
            return Ok(false);
        }
        let arrived = folding::arrived_after(&self.log, self.head)?;
        let affected = self.take_in_retractions(&arrived)?;
        self.fold_again(affected.as_ref())?;
        Ok(true)
    }

    /// Folds what is not folded yet: on from the present state, or, where facts at or after `affected` may come out
    /// differently than they were folded, from the last checkpoint before them.
    fn fold_again(&mut self, affected: Option<&FactKey>) -> Result<(), DeskError> {
        if let Some(affected) = affected {
            self.checkpoints.forget_from(affected);
        }
        let on_from_here = affected.is_none() && self.head != Position::START;
        let start = if on_from_here { self.live.clone() } else { self.checkpoints.last().cloned().unwrap_or_default() };
        let (live, head, passed) = folding::fold_log(&self.log, start, &self.retractions, None)?;
        for folded in passed {
            self.checkpoints.add(folded);
        }
        self.live = live;
        self.head = head;
        Ok(())
    }

    /// Writes the snapshot that the next opening begins with. It is a cache: that it could not be written is no harm,
    /// so nothing is said of it.
    pub fn keep_snapshot(&self) {
        if self.log.access() == Access::ReadWrite
            && let Some(folded) = self.checkpoints.worth_keeping(self.head)
        {
            let _ = snapshot::save(&self.log, self.head, folded);
        }
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        self.keep_snapshot();
    }
}
