//! This laptop's clock: compared with what is there before anything is dated by it, and what follows where it was wrong.

use std::path::Path;

use super::Desk;
use super::error::DeskError;
use super::folding::Until;
use crate::cellar::core::clock::{CLOCK_SLACK_MICROSECONDS, Witnesses, lies_ahead};
use crate::cellar::core::fact::FactId;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::log::{self, Position};

/// What is said once where the clock is right again after it was ahead.
const BEGINS_ANEW: &str = "This laptop goes on under a new name, for what it entered before is dated ahead of its clock. Such dates are mended by: barrelwalk mend-dates.";

/// What is known of this laptop's clock since the cellar was opened.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Clock {
    /// What it said then.
    opened: Option<Moment>,
    /// When the file was last written before that.
    written: Option<Moment>,
    /// Whether the person said that the clock is right.
    is_right: bool,
}

/// When a cellar's file was last written, by the clock of whoever did. To be asked before it is opened.
#[must_use]
pub fn last_written(path: &Path) -> Option<Moment> {
    log::last_written(path).map(Moment::of_system)
}

impl Desk {
    /// Takes account of what the clock says, and of when the file was last written before it was opened.
    pub fn heed_clock(&mut self, now: Moment, written: Option<Moment>) {
        self.clock = Clock { opened: Some(now), written, is_right: false };
    }

    /// Whether a moment is what the clock said when the cellar was opened: nobody asked for another one.
    #[must_use]
    pub fn is_now(&self, on: Moment) -> bool {
        self.clock.opened == Some(on)
    }

    /// How far the facts are gone through: up to a moment, or to the newest where that is now, which a clock that is behind does not hide.
    pub(super) fn until(&self, at: Moment) -> Until<'static> {
        if self.is_now(at) { Until::End } else { Until::Instant(at.instant()) }
    }

    /// What is asked of this laptop's clock before anything is dated by it; nothing once the person said that it is right.
    ///
    /// What another laptop entered counts until this one has entered something after it: the person was asked then. So nothing else
    /// needs to be kept of what was answered.
    pub fn ask_of_clock(&self, now: Moment) -> Result<Option<Question>, DeskError> {
        if self.clock.is_right { Ok(None) } else { Ok(self.witnesses(now)?.question(now)) }
    }

    fn witnesses(&self, now: Moment) -> Result<Witnesses, DeskError> {
        let at = |instant: i64| now.at_instant(instant);
        let last = FactId { device: self.device().clone(), n: self.heads.last_of(self.device()) };
        let own = self.log.line(&last)?;
        let other = match &own {
            None => self.newest_of_all()?,
            Some(_) => self.log.newest_behind(self.log.position_of(&last)?.unwrap_or(Position::START))?,
        };
        let own = own.map(|line| line.at.instant().max(line.written.instant())).max(self.heads.own_latest());
        Ok(Witnesses { own: own.map(at), other: other.map(at), file: self.clock.written })
    }

    /// The newest fact, by when it happened or the last one was entered.
    fn newest_of_all(&self) -> Result<Option<i64>, DeskError> {
        let last = self.log.newest_behind(Position::new(self.head.get() - 1))?;
        Ok(self.live.reached.as_ref().map(|reached| reached.instant).max(last))
    }

    /// The person says that this laptop's clock is right. Where it entered something that lies ahead of it, it goes on under a new name,
    /// so that what it enters now is not dated after that; this is said.
    pub fn clock_is_right(&mut self, now: Moment) -> Result<Option<&'static str>, DeskError> {
        self.clock.is_right = true;
        let own = self.witnesses(now)?.own;
        if !own.is_some_and(|own| lies_ahead(own, now, CLOCK_SLACK_MICROSECONDS)) {
            return Ok(None);
        }
        self.begin_anew()?;
        Ok(Some(BEGINS_ANEW))
    }

    /// The clock leapt while the cellar was open: what was said of it before no longer counts.
    pub fn clock_leapt(&mut self) {
        self.clock.is_right = false;
    }

    /// Goes on under a new name.
    pub(super) fn begin_anew(&mut self) -> Result<(), DeskError> {
        self.log.renew_device()?;
        self.heads.begin_anew(self.log.device());
        Ok(())
    }
}
