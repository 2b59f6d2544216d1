//! The demo cellar: eighteen months of an invented estate, its last day made today.

use std::path::Path;

use chrono::{Datelike, NaiveDate, TimeDelta};

use super::admit::IncomingLine;
use super::error::DeskError;
use super::{Access, Desk};
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::{IncomingFact, What, body_text};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::log::Log;

/// The facts, as the generator writes them.
const FACTS: &str = include_str!("../../demo-cellar/facts.jsonl");

/// How the labels of the demo's rounds write their date.
const LABEL_DATE: &str = "%-d %b %Y";

/// Makes the demo cellar at a path where nothing is yet, with all its dates moved by whole days so that its last morning
/// is the latest one that does not lie in the future.
pub fn create_demo(path: &Path, now: Moment) -> Result<(), DeskError> {
    let mut lines = Vec::new();
    for (line, number) in FACTS.lines().zip(1..) {
        let (fact, _) = IncomingFact::from_json(line)?;
        lines.push((number, fact));
    }
    let last = lines.iter().map(|(_, fact)| fact.at).max_by_key(|at| at.instant()).unwrap_or(now);
    let mut days = now.days_since(last);
    if last.instant() + days * DAY_MICROSECONDS > now.instant() {
        days -= 1;
    }
    let shift = Shift { days, last: last.date() };
    let mut incoming = Vec::with_capacity(lines.len());
    for (number, fact) in lines {
        let fact = shift.moved(fact);
        // What was moved is written anew, in the newest version.
        let fact = IncomingFact { version: fact.what.version(), ..fact };
        let body = body_text(fact.what.body()?, fact.despite.as_ref());
        incoming.push(IncomingLine { number, fact, body });
    }
    // Killed meanwhile, it would be taken for a cellar in which nothing was entered yet.
    let making = Log::begin(path, now)?;
    let outcome = Desk::open(making.path(), Access::ReadWrite)?.record(incoming, now, false)?;
    match outcome.refused.into_iter().next() {
        Some((_, why)) => Err(why.into()),
        None => Ok(making.finish()?),
    }
}

/// By how much the demo is moved.
#[derive(Clone, Copy)]
struct Shift {
    days: i64,
    /// The date of its last fact, before it is moved.
    last: NaiveDate,
}

impl Shift {
    fn moved(self, mut fact: IncomingFact) -> IncomingFact {
        fact.at = later(fact.at, self.days);
        fact.written = fact.written.map(|written| later(written, self.days));
        match &mut fact.what {
            What::RoundBegun(begun) => begun.round = moved_label(&begun.round, self.days),
            What::RoundEnded(ended) => ended.round = moved_label(&ended.round, self.days),
            What::LaidAway(laid) => laid.release = laid.release.map(|release| self.moved_release(release)),
            _ => {}
        }
        fact
    }

    /// A release of the last month stays one of the last month, wherever in it the last day comes to lie.
    fn moved_release(self, release: Day) -> Day {
        let moved = |date: NaiveDate| date.checked_add_signed(TimeDelta::days(self.days)).unwrap_or(date);
        let (day, today) = (moved(release.date()), moved(self.last));
        let of_the_month = release.is_in_month_of(Day::of(self.last));
        Day::of(if of_the_month { day.min(end_of_month(today)) } else { day })
    }
}

/// The last day of the month of a day.
fn end_of_month(day: NaiveDate) -> NaiveDate {
    let begun = i64::from(day.day0());
    let of_month = i64::from(day.num_days_in_month());
    day.checked_add_signed(TimeDelta::days(of_month - 1 - begun)).unwrap_or(day)
}

fn later(moment: Moment, days: i64) -> Moment {
    moment.at_instant(moment.instant() + days * DAY_MICROSECONDS)
}

/// A round of the demo is called by its room and date, `long 25 Nov 2026`, and the date goes with the days.
fn moved_label(label: &Label, days: i64) -> Label {
    let text = label.as_str();
    let dated = text.match_indices(' ').find_map(|(space, _)| {
        let date = NaiveDate::parse_from_str(&text[space + 1..], LABEL_DATE).ok()?;
        let date = date.checked_add_signed(TimeDelta::days(days))?;
        Label::new(&format!("{} {}", &text[..space], date.format(LABEL_DATE))).ok()
    });
    dated.unwrap_or_else(|| label.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_date_in_a_label_goes_with_the_days() {
        let label = |text| Label::new(text).unwrap();
        assert_eq!(moved_label(&label("long 25 Nov 2026"), 7), label("long 2 Dec 2026"));
        assert_eq!(moved_label(&label("first walk"), 7), label("first walk"));
    }

    #[test]
    fn a_release_of_this_month_stays_one() {
        let date = |text| NaiveDate::parse_from_str(text, "%Y-%m-%d").unwrap();
        let day = |text| Day::parse(text).unwrap();
        let shift = |days| Shift { days, last: date("2026-11-25") };
        assert_eq!(shift(2).moved_release(day("2026-11-30")), day("2026-11-30"), "today is the 27th");
        assert_eq!(shift(10).moved_release(day("2026-11-30")), day("2026-12-10"), "today is the 5th");
        assert_eq!(shift(95).moved_release(day("2026-11-30")), day("2027-02-28"), "today is the 28th of February");
        assert_eq!(shift(2).moved_release(day("2027-10-01")), day("2027-10-03"));
    }

    #[test]
    fn the_demo_is_a_working_day_whenever_it_is_opened() {
        let folder = tempfile::tempdir().unwrap();
        for now in ["2026-11-25T06:41:00+01:00", "2027-03-07T23:10:00-08:00", "2029-01-01T00:10:00+00:00"] {
            let now = Moment::parse(now).unwrap();
            let path = folder.path().join(now.instant().to_string());
            create_demo(&path, now).unwrap();
            let desk = Desk::open(&path, Access::ReadOnly).unwrap();
            // One on purpose: a sample from a barrel whose filling was a slip.
            assert_eq!(desk.state().discrepancies.len(), 1, "{:#?}", desk.state().discrepancies);
            let (_, last) = desk.state().last.clone().unwrap();
            assert!((0.0..1.1).contains(&now.elapsed_days(last)), "{now} {last}");
            let open = desk.state().rooms.iter().filter(|(_, room)| room.open_round.is_some()).count();
            assert_eq!(open, 1);
            let runs = desk.state().runs.iter();
            let ready: u64 = runs.map(|(_, run)| run.ready_in_month_of(Day::of(last.date()))).sum();
            assert!(ready > 1_000, "{now}");
        }
    }
}
