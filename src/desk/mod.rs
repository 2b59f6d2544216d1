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
mod amend;
mod anew;
mod candidate;
mod checkpoint;
mod clock;
mod correct;
mod damage;
mod demo;
mod enter;
mod error;
mod folding;
mod heads;
mod import;
mod journal;
mod mend_dates;
mod news;
mod not_taken;
mod oak;
mod passed_over;
mod retracting;
mod salt;
mod snapshot;
mod tracing;
mod undo;
mod view;

use std::path::Path;

pub use admit::{Admitted, IncomingLine, Surprises};
pub use amend::{Amendment, TakingBack};
pub use clock::{Clock, last_written};
pub use correct::{Correction, Settlement};
pub use demo::create_demo;
pub use enter::Act;
pub use error::DeskError;
pub use import::{Imported, Importing, TakenIn, Taking};
pub use journal::{About, Gone, JournalLine, Sought, Toward, Turned, Wanted};
pub use mend_dates::{DatedWrongly, LeftTrial, Mending, Misdated};
pub use not_taken::NotTaken;
pub use passed_over::PassedOver;
pub use salt::salt;
pub use tracing::Traced;
pub use undo::Undone;
pub use view::{Copied, Verified};

use checkpoint::Checkpoints;
use damage::{Checking, Opened};
use folding::Folded;
use heads::Heads;

use crate::cellar::core::fact::{Device, FactId, FactKey};
use crate::cellar::core::fold::Retractions;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
pub use crate::log::{Access, Astray};
use crate::log::{Log, Position};

/// An open cellar.
pub struct Desk {
    /// The check of what was read, while that goes on; before the log, so that it is over when that is closed.
    checking: Option<Checking>,
    log: Log,
    /// The fold of everything in the log.
    live: Folded,
    /// How much of the log `live` has taken in.
    head: Position,
    /// The last fact of each device up to there.
    heads: Heads,
    /// Which facts are taken back.
    retractions: Retractions,
    /// Earlier folds, from which a late fact is folded in.
    checkpoints: Checkpoints,
    warnings: Vec<String>,
    /// The facts that are not what was stored; they are left out.
    damaged: Vec<FactId>,
    /// What is said where a fact cannot be read.
    why_only_read: Option<String>,
    /// What became of the file while it was open, as of the last look.
    astray: Option<Astray>,
    /// Whether what could not be told of the last entry turned out to be stored, as of the last look.
    settled: Option<bool>,
    /// How far the snapshot came with which it was opened.
    snapshot: Option<FactKey>,
    /// What is known of this laptop's clock.
    clock: Clock,
}

impl Desk {
    /// Makes an empty cellar at a path where nothing is yet.
    pub fn create(path: &Path, now: Moment) -> Result<(), DeskError> {
        Log::create(path, now)?;
        Ok(())
    }

    /// Opens a cellar and folds its facts, from the snapshot beside it where that still holds. All that is read is checked.
    pub fn open(path: &Path, access: Access) -> Result<Desk, DeskError> {
        let log = Log::open(path, access)?;
        let (heads, opened) =
            log.at_one_instant(|| -> Result<_, DeskError> { Ok((Heads::of(&log)?, damage::fold_whole(&log)?)) })?;
        Ok(Desk::of(log, heads, opened, None))
    }

    /// The same without waiting for the check where that takes long: it goes on beside what is done, looks at what lies behind the
    /// snapshot too, and `done` is called when it is over. What it found is taken in by [`Desk::heed_check`].
    pub fn open_at_once(path: &Path, access: Access, done: impl FnOnce() + Send + 'static) -> Result<Desk, DeskError> {
        let log = Log::open(path, access)?;
        let (heads, (opened, checking)) = log
            .at_one_instant(|| -> Result<_, DeskError> { Ok((Heads::of(&log)?, damage::fold_at_once(&log, done)?)) })?;
        Ok(Desk::of(log, heads, opened, checking))
    }

    fn of(log: Log, heads: Heads, opened: Opened, checking: Option<Checking>) -> Desk {
        let warnings = log.warnings().iter().map(ToString::to_string).collect();
        let Opened { retractions, snapshot, run, damaged } = opened;
        let mut desk = Desk {
            checking,
            log,
            live: Folded::default(),
            head: Position::START,
            heads,
            retractions,
            checkpoints: Checkpoints::default(),
            warnings,
            damaged,
            why_only_read: None,
            astray: None,
            settled: None,
            snapshot: snapshot.as_ref().and_then(|folded| folded.reached.clone()),
            clock: Clock::default(),
        };
        if let Some(folded) = snapshot {
            desk.checkpoints.add(folded);
        }
        desk.adopt_run(run);
        desk.heed_what_is_passed_over();
        desk.astray = desk.log.look().err();
        desk
    }

    /// Where a fact cannot be read or is damaged, nothing can be entered any more, and nothing beside the file is written.
    fn heed_what_is_passed_over(&mut self) {
        if self.live.passed_over.is_empty() && self.damaged.is_empty() {
            return;
        }
        self.log.forbid_writing();
        let sentence = match self.damaged.as_slice() {
            [] => self.live.passed_over.to_string(),
            damaged => damage::sentence(damaged),
        };
        let earlier = self.why_only_read.replace(sentence.clone());
        self.warnings.retain(|said| Some(said) != earlier.as_ref());
        self.warnings.push(sentence);
    }

    /// What became of the file while it was open, where nothing can be entered for that.
    #[must_use]
    pub fn astray(&self) -> Option<&Astray> {
        self.astray.as_ref()
    }

    /// Where the last look found out what became of the last entry: whether it is stored.
    #[must_use]
    pub const fn settled(&self) -> Option<bool> {
        self.settled
    }

    /// Why nothing can be entered though the file may be written: a sentence on the facts that this program cannot read.
    #[must_use]
    pub fn why_only_read(&self) -> Option<&str> {
        self.why_only_read.as_deref()
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

    /// How far the log is read: another place once facts were taken in, whoever entered them.
    #[must_use]
    pub fn head(&self) -> Position {
        self.head
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

    /// Whether the snapshot beside the file spared folding the log from its beginning.
    #[must_use]
    pub fn opened_from_snapshot(&self) -> bool {
        self.snapshot.is_some()
    }

    /// Takes in what another program appended, and looks whether the file is still there. Says whether there was anything.
    pub fn refresh(&mut self) -> Result<bool, DeskError> {
        self.settled = self.log.settle_doubt();
        self.look_at_log()
    }

    fn look_at_log(&mut self) -> Result<bool, DeskError> {
        let news = self.take_in_news();
        self.astray = self.log.look().err();
        // That it cannot be read is then no wonder.
        if self.astray.is_some() { Ok(news.unwrap_or(false)) } else { news }
    }

    fn take_in_news(&mut self) -> Result<bool, DeskError> {
        if !self.log.changed_since(self.head)? {
            return Ok(false);
        }
        let news = self.log.at_one_instant(|| self.read_news())?;
        self.take_in(news);
        Ok(true)
    }

    /// Writes the snapshot that the next opening begins with, unless that would be the one that this one began with.
    /// It is a cache: that it could not be written is no harm, so nothing is said of it.
    pub fn keep_snapshot(&self) {
        if self.log.access() == Access::ReadWrite
            && self.astray.is_none()
            // Behind a snapshot of what is not checked yet damage would not be read any more.
            && self.checking.is_none()
            && let Some(folded) = self.checkpoints.worth_keeping(self.head)
            && self.snapshot != folded.reached
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
