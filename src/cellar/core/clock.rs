//! Whether a laptop's clock can be right: compared with what was dated before it, here and on other laptops.
//!
//! A clock that is off by an hour dates a topping well enough: winter and summer time, a drifting clock, two laptops set by hand
//! differ by so much, and the order of what one laptop entered holds all the same. A clock that lost its battery is off by years.
//!
//! What a clock is compared with stands in `cellar/core/clock.rs`, with how far clocks may differ and why. Only the two faces ask
//! (`Desk::ask_of_clock`): the commands through `cli/core/counter.rs`, the screen through `tui/core/watch.rs`, which also compares it with
//! the time that has passed. What was answered is kept by the log alone: what arrived before this laptop's last fact is not asked about
//! again. `desk/mend_dates.rs` enters facts anew under their true dates.

use super::moment::{DAY_MICROSECONDS, HOUR_MICROSECONDS, Moment};
use super::question::Question;

/// How far something may be dated ahead of a clock that is right: one clock in winter time and one in summer time.
pub const CLOCK_SLACK_MICROSECONDS: i64 = HOUR_MICROSECONDS;

/// How far the time of a file may lie ahead of a clock that is right. A stick may keep it by the clock on the wall without an
/// offset, and offsets are from -12 to +14 hours.
pub const FILE_SLACK_MICROSECONDS: i64 = 26 * HOUR_MICROSECONDS;

/// So long after everything that was dated before, a clock is asked about. A cellar is topped every few weeks, in winter too; one that
/// was left alone for longer is asked about once.
pub const LONG_LEFT_ALONE_DAYS: i64 = 60;

/// What a clock is compared with: the newest of each kind, where there is one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Witnesses {
    /// Entered by this laptop.
    pub own: Option<Moment>,
    /// Entered by another laptop.
    pub other: Option<Moment>,
    /// When the file was written.
    pub file: Option<Moment>,
}

/// What speaks against a clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Witness {
    /// This laptop entered something then.
    Own(Moment),
    /// Another laptop entered something then.
    Other(Moment),
    /// The file was written then.
    File(Moment),
    /// This clock said so just now.
    Before(Moment),
}

impl Witness {
    /// When that was.
    #[must_use]
    pub const fn at(self) -> Moment {
        match self {
            Witness::Own(at) | Witness::Other(at) | Witness::File(at) | Witness::Before(at) => at,
        }
    }

    /// What it says, by the clock on the wall of `now`: with the time where the day is the same.
    #[must_use]
    pub fn says(self, now: Moment) -> String {
        let at = said(self.at(), now);
        match self {
            Witness::Own(_) => format!("the newest entry is of {at}"),
            Witness::Other(_) => format!("another laptop's newest entry is of {at}"),
            Witness::File(_) => format!("the cellar was last written on {at}"),
            Witness::Before(_) => format!("by the time that has passed it is {at}"),
        }
    }
}

/// A day, and the time with it where it is the day of another moment.
#[must_use]
pub fn said(at: Moment, beside: Moment) -> String {
    let day = at.show_date();
    if day == beside.show_date() { format!("{day}, {}", at.show_time()) } else { day }
}

impl Witnesses {
    /// What is asked of a clock before anything is dated by it, where it stands before something that was there already, or long after
    /// all of it.
    #[must_use]
    pub fn question(&self, now: Moment) -> Option<Question> {
        self.behind(now).or_else(|| self.ahead(now)).map(|seen| Question::Clock { now, seen })
    }

    fn all(&self) -> impl Iterator<Item = (Witness, i64)> {
        let kinds = [
            (self.own.map(Witness::Own), CLOCK_SLACK_MICROSECONDS),
            (self.other.map(Witness::Other), CLOCK_SLACK_MICROSECONDS),
            (self.file.map(Witness::File), FILE_SLACK_MICROSECONDS),
        ];
        kinds.into_iter().filter_map(|(witness, slack)| witness.map(|witness| (witness, slack)))
    }

    /// What the clock stands before.
    fn behind(&self, now: Moment) -> Option<Witness> {
        let lies_ahead = |(witness, slack): &(Witness, i64)| lies_ahead(witness.at(), now, *slack);
        self.all().find(lies_ahead).map(|(witness, _)| witness)
    }

    /// The newest, where the clock is long past it.
    fn ahead(&self, now: Moment) -> Option<Witness> {
        let (newest, _) = self.all().max_by_key(|(witness, _)| witness.at().instant())?;
        let left_alone = now.instant().saturating_sub(newest.at().instant());
        (left_alone > LONG_LEFT_ALONE_DAYS * DAY_MICROSECONDS).then_some(newest)
    }
}

/// Whether a moment lies ahead of a clock by more than a slack.
#[must_use]
pub const fn lies_ahead(at: Moment, now: Moment, slack: i64) -> bool {
    at.instant() > now.instant().saturating_add(slack)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(text: &str) -> Moment {
        Moment::parse(text).unwrap()
    }

    fn asked(witnesses: Witnesses, now: &str) -> Option<String> {
        witnesses.question(moment(now)).map(|question| question.to_string())
    }

    fn own(at: &str) -> Witnesses {
        Witnesses { own: Some(moment(at)), ..Witnesses::default() }
    }

    #[test]
    fn a_clock_a_year_ahead_or_behind_is_asked_about() {
        let evening = "2026-11-30T18:00:00+01:00";
        let ahead = asked(own(evening), "2027-11-30T06:40:00+01:00").unwrap();
        assert_eq!(
            ahead,
            "This laptop says 30 Nov 2027, but the newest entry is of 30 Nov 2026. If that is wrong, set its clock first."
        );
        let behind = asked(own(evening), "1969-12-31T06:40:00+01:00").unwrap();
        assert!(
            behind.starts_with("This laptop says 31 Dec 1969, but the newest entry is of 30 Nov 2026."),
            "{behind}"
        );
    }

    #[test]
    fn a_winter_is_no_leap_and_a_time_of_the_same_day_is_said() {
        let evening = "2026-11-30T18:00:00+01:00";
        assert_eq!(asked(own(evening), "2027-01-29T18:00:00+01:00"), None);
        assert!(asked(own(evening), "2027-01-29T18:00:01+01:00").is_some());
        assert_eq!(asked(own(evening), "2026-11-30T17:00:00+01:00"), None);
        let hours = asked(own(evening), "2026-11-30T06:40:00+01:00").unwrap();
        assert!(
            hours.starts_with("This laptop says 30 Nov 2026, 06:40, but the newest entry is of 30 Nov 2026, 18:00.")
        );
    }

    /// Where nothing was dated yet nothing can be compared.
    #[test]
    fn a_new_cellar_asks_nothing() {
        assert_eq!(asked(Witnesses::default(), "1970-01-01T00:00:00Z"), None);
    }

    #[test]
    fn the_file_and_another_laptop_speak_against_a_clock_behind() {
        let file = Witnesses { file: Some(moment("2026-11-30T18:00:00Z")), ..Witnesses::default() };
        assert!(asked(file, "2026-11-29T15:59:59Z").unwrap().contains("the cellar was last written on 30 Nov 2026"));
        assert_eq!(asked(file, "2026-11-29T16:00:00Z"), None);
        let other = Witnesses { other: Some(moment("2026-11-30T18:00:00Z")), ..own("2026-11-20T18:00:00Z") };
        assert!(asked(other, "2026-11-25T18:00:00Z").unwrap().contains("another laptop's newest entry"));
    }

    /// Travel, and the change to and from summer time, move the clock on the wall but no instant.
    #[test]
    fn zones_and_the_hour_that_comes_twice_are_no_leap() {
        assert_eq!(asked(own("2026-11-30T18:00:00+13:00"), "2026-11-30T05:00:01Z"), None);
        assert_eq!(asked(own("2026-10-25T02:59:00+02:00"), "2026-10-25T02:00:00+01:00"), None);
        assert_eq!(asked(own("2027-03-28T01:59:00+01:00"), "2027-03-28T03:00:00+02:00"), None);
        // Set back by hand in the hour that comes twice, without a change of the offset.
        assert_eq!(asked(own("2026-10-25T02:59:00+02:00"), "2026-10-25T02:00:00+02:00"), None);
    }
}
