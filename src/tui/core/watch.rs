//! This laptop's clock, watched while the cellar is open: what is asked of it before the first act, and again where it leapt.

use std::time::Duration;

use crate::cellar::core::clock::{CLOCK_SLACK_MICROSECONDS, LONG_LEFT_ALONE_DAYS, Witness};
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::question::Question;
use crate::desk::{Desk, DeskError};
use crate::tui::core::work::Work;

/// Time as it passes, whatever a clock says.
pub type Passing = fn() -> Passed;

/// How much time has passed since some beginning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Passed {
    /// Since then.
    pub time: Duration,
    /// Whether the time counts in which the laptop was asleep.
    pub asleep_too: bool,
}

/// The time that has passed by this machine.
#[cfg(target_os = "linux")]
#[must_use]
pub fn passed() -> Passed {
    let since = rustix::time::clock_gettime(rustix::time::ClockId::Boottime);
    let seconds = u64::try_from(since.tv_sec).unwrap_or(0);
    Passed { time: Duration::new(seconds, u32::try_from(since.tv_nsec).unwrap_or(0)), asleep_too: true }
}

/// The time that has passed by this machine.
#[cfg(not(target_os = "linux"))]
#[must_use]
pub fn passed() -> Passed {
    static BEGINNING: std::sync::LazyLock<std::time::Instant> = std::sync::LazyLock::new(std::time::Instant::now);
    Passed { time: BEGINNING.elapsed(), asleep_too: false }
}

/// What is known of the clock.
pub struct ClockWatch {
    passing: Passing,
    /// What the clock said when it was looked at last, and the time that had passed.
    last: Option<(Moment, Passed)>,
    /// What it should say by the time that has passed, where it leapt and nobody said that it is right.
    leapt: Option<Moment>,
    /// The act before which it was asked about.
    asked: Option<Work>,
}

/// What is to be done with an act.
#[derive(Clone, Debug, PartialEq)]
pub enum Heeded {
    /// It is carried out.
    Go,
    /// It is carried out, and this is said.
    GoAndSay(&'static str),
    /// This is asked first.
    Ask(Question),
}

impl ClockWatch {
    /// A watch that was not looked at yet.
    #[must_use]
    pub const fn new(passing: Passing) -> ClockWatch {
        ClockWatch { passing, last: None, leapt: None, asked: None }
    }

    /// Looks at the clock as the cellar is opened.
    pub fn begin(&mut self, now: Moment) {
        *self = ClockWatch { last: Some((now, (self.passing)())), ..ClockWatch::new(self.passing) };
    }

    /// Looks at the clock. Gives what it should say, where it leapt since the last look by more than clocks differ. Where sleep is not
    /// counted, it leaps ahead only by what no laptop sleeps.
    fn look(&mut self, now: Moment) -> Option<Moment> {
        let passed = (self.passing)();
        let (before, then) = self.last.replace((now, passed))?;
        let between = i64::try_from(passed.time.saturating_sub(then.time).as_micros()).unwrap_or(i64::MAX);
        let should = now.at_instant(before.instant().saturating_add(between));
        let ahead = now.instant().saturating_sub(should.instant());
        let most = if passed.asleep_too { CLOCK_SLACK_MICROSECONDS } else { LONG_LEFT_ALONE_DAYS * DAY_MICROSECONDS };
        (ahead > most || ahead < -CLOCK_SLACK_MICROSECONDS).then_some(should)
    }

    /// Takes account of a leap since the last look.
    fn heed_leap(&mut self, desk: &mut Desk, now: Moment) -> Result<(), DeskError> {
        let before = self.last.map(|(before, _)| before);
        let Some(should) = self.look(now) else { return Ok(()) };
        let was_in_doubt = match before {
            Some(before) => desk.ask_of_clock(before)?.is_some(),
            None => false,
        };
        desk.clock_leapt();
        // One that was wrong and fits now was set right.
        let is_set_right = was_in_doubt && desk.ask_of_clock(now)?.is_none();
        self.leapt = (!is_set_right).then_some(should);
        Ok(())
    }

    /// What is asked before an act that the clock dates. The same act again answers it.
    pub fn heed(&mut self, desk: &mut Desk, work: &Work, now: Moment) -> Result<Heeded, DeskError> {
        self.heed_leap(desk, now)?;
        if !is_dated_by_clock(work) {
            return Ok(Heeded::Go);
        }
        let leap = self.leapt.map(|should| Question::Clock { now, seen: Witness::Before(should) });
        let Some(question) = leap.map_or_else(|| desk.ask_of_clock(now), |leap| Ok(Some(leap)))? else {
            return Ok(Heeded::Go);
        };
        if !self.asked.take().is_some_and(|asked| is_the_same(&asked, work)) {
            self.asked = Some(work.clone());
            return Ok(Heeded::Ask(question));
        }
        self.leapt = None;
        Ok(desk.clock_is_right(now)?.map_or(Heeded::Go, Heeded::GoAndSay))
    }
}

/// Whether what is wished enters something as of now.
const fn is_dated_by_clock(work: &Work) -> bool {
    match work {
        Work::Enter { act, .. } => act.at.is_none(),
        Work::TakeIn { .. } | Work::Correct { .. } | Work::Settle { .. } | Work::Undo(..) | Work::Redo(..) => true,
        _ => false,
    }
}

/// Whether the same is wished again, whatever was asked and answered in between.
fn is_the_same(before: &Work, now: &Work) -> bool {
    match (before, now) {
        (Work::Undo(..), Work::Undo(..)) | (Work::Redo(..), Work::Redo(..)) => true,
        (Work::TakeIn { proposed, .. }, Work::TakeIn { proposed: again, .. }) => proposed == again,
        (Work::Correct { correction, .. }, Work::Correct { correction: again, .. }) => correction == again,
        (Work::Settle { settlement, .. }, Work::Settle { settlement: again, .. }) => settlement == again,
        (before, now) => before == now,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::moment::HOUR_MICROSECONDS;

    const HOUR: i64 = HOUR_MICROSECONDS;

    const fn no_time() -> Passed {
        Passed { time: Duration::ZERO, asleep_too: true }
    }

    const fn awake() -> Passed {
        Passed { time: Duration::ZERO, asleep_too: false }
    }

    fn leaps(passing: Passing, by: i64) -> bool {
        let now = Moment::new(1_790_000_000_000_000, 60);
        let mut watch = ClockWatch::new(passing);
        watch.begin(now);
        watch.look(now.at_instant(now.instant() + by)).is_some()
    }

    #[test]
    fn a_leap_is_seen_either_way_and_sleep_is_none() {
        assert!(leaps(no_time, HOUR + 1) && leaps(no_time, -HOUR - 1));
        assert!(!leaps(no_time, HOUR) && !leaps(no_time, -HOUR));
        assert!(!leaps(awake, 24 * HOUR) && leaps(awake, 365 * 24 * HOUR) && leaps(awake, -2 * HOUR));
    }

    /// Travel, winter and summer time: the clock on the wall moves, no instant does.
    #[test]
    fn another_offset_is_no_leap() {
        let now = Moment::new(1_790_000_000_000_000, 120);
        let mut watch = ClockWatch::new(no_time);
        watch.begin(now);
        assert_eq!(watch.look(Moment::new(now.instant(), 60)), None);
        assert_eq!(watch.look(Moment::new(now.instant(), -600)), None);
    }

    #[test]
    fn this_machine_tells_the_time_that_passes() {
        let (first, then) = (passed(), passed());
        assert!(then.time >= first.time);
    }
}
