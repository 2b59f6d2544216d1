//! Days and times as people write them, where they cannot be misread: one reader for every door. `27/11/2026` can only have the day first; which
//! of the two `03/04/2026` is, the form of dates that is customary with the person says, else it is refused with both. A day without a year is the
//! last that was, or today; a day of the week the last before today.

use chrono::{Datelike, NaiveDate, NaiveTime, Weekday};
use thiserror::Error;

use super::label::harmless;
use super::moment::{Moment, MomentError, WallTime};
use crate::spreadsheet::date::{self, DateOrder};
use crate::units::{DateForm, customary};

/// No day with its time is longer, in characters.
const LONGEST: usize = 60;

/// A moment as it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// With its offset.
    At(Moment),
    /// By the clock on the wall.
    OnWall(WallTime),
}

/// Why a text is no day and no time.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum WhenError {
    #[error(
        "'{0}' is no day and no time. Write it like 27 Nov, 27 Nov 2026 14:30, 2026-11-27, 14:30, tuesday or yesterday."
    )]
    NotATime(String),
    #[error(
        "'{text}' could be {one} or {other}. Write the month as a word, or keep dates = \"day-first\" or \"month-first\" in your looks."
    )]
    TwoDays { text: String, one: String, other: String },
    #[error("'{text}' could be today or {before}. Write today, last {text}, or the day.")]
    TodayOrLast { text: String, before: String },
    #[error("'{0}' could begin with the year or with the day. Write the year with four figures.")]
    ShortYear(String),
    #[error("'{0}' says no year. Write the day with its year, like 1 May 2029.")]
    WhichYear(String),
}

impl When {
    /// Reads what a person says, on a day: RFC 3339, a day, a day and a time, or a time of that day.
    pub fn read(text: &str, today: NaiveDate) -> Result<When, WhenError> {
        let text = text.trim();
        if let Ok(moment) = Moment::parse(text) {
            return Ok(When::At(moment));
        }
        let not = || WhenError::NotATime(harmless(&text.chars().take(40).collect::<String>()));
        if text.chars().count() > LONGEST {
            return Err(not());
        }
        if let Some(time) = date::time(text) {
            return Ok(When::OnWall(WallTime { day: today, time: Some(time) }));
        }
        let (said, time) = match text.rsplit_once([' ', 'T']) {
            Some((day, time)) if time.contains(':') => (day.trim(), Some(date::time(time).ok_or_else(not)?)),
            _ => (text, None),
        };
        let day = day(said, today).ok_or_else(not)??;
        Ok(When::OnWall(WallTime { day, time }))
    }

    /// The moment; a day alone is its noon, and today it is now.
    pub fn moment(self, now: Moment) -> Result<Moment, MomentError> {
        match self {
            When::At(moment) => Ok(moment),
            When::OnWall(said) => Moment::on_wall(said, now),
        }
    }

    /// The moment at which something happened that was dated by a wrong clock: of a day alone at the time that this said.
    pub fn on_day_of(self, wrong: Moment, now: Moment) -> Result<Moment, MomentError> {
        match self {
            When::OnWall(WallTime { day, time: None }) => {
                When::OnWall(WallTime { day, time: Some(wrong.wall_time()) }).moment(now)
            }
            other => other.moment(now),
        }
    }

    /// The same, but of a day alone its first moment: what is so since a day comes before all that happened on it.
    pub fn beginning(self, now: Moment) -> Result<Moment, MomentError> {
        match self {
            When::OnWall(WallTime { day, time: None }) => When::OnWall(WallTime { day, time: Some(NaiveTime::MIN) }),
            other => other,
        }
        .moment(now)
    }

    /// The same, but of a day alone its last moment: the state as of a day counts all that happened on it.
    pub fn end(self, now: Moment) -> Result<Moment, MomentError> {
        let When::OnWall(WallTime { day, time: None }) = self else { return self.moment(now) };
        let next = day.succ_opt().ok_or(MomentError::OutOfRange(day.year()))?;
        let next = When::OnWall(WallTime { day: next, time: None }).beginning(now)?;
        Ok(next.at_instant(next.instant() - 1))
    }
}

/// The day that some words are. None where they are no day, and why where they could be two.
#[must_use]
pub fn day(said: &str, today: NaiveDate) -> Option<Result<NaiveDate, WhenError>> {
    day_in(said, today, customary().dates)
}

/// The same of a day that may be to come: its year is said, since one without a year is the last that was.
#[must_use]
pub fn day_to_come(said: &str, today: NaiveDate) -> Option<Result<NaiveDate, WhenError>> {
    let says_year = said.split(|sign: char| !sign.is_ascii_digit()).any(|digits| digits.len() == 4);
    let found = day(said, today)?;
    let is_sure = says_year || said.trim().eq_ignore_ascii_case("today");
    Some(if is_sure { found } else { Err(WhenError::WhichYear(harmless(said.trim()))) })
}

fn day_in(said: &str, today: NaiveDate, form: Option<DateForm>) -> Option<Result<NaiveDate, WhenError>> {
    let said = said.trim();
    let lower = said.to_lowercase();
    match lower.as_str() {
        "today" => return Some(Ok(today)),
        "yesterday" => return today.pred_opt().map(Ok),
        _ => {}
    }
    let (last, bare) = lower.strip_prefix("last ").map_or((false, lower.as_str()), |rest| (true, rest.trim()));
    if let Some(weekday) = weekday(bare) {
        return last_before(weekday, today).map(|before| {
            if !last && today.weekday() == weekday {
                return Err(WhenError::TodayOrLast { text: harmless(said), before: shown(before) });
            }
            Ok(before)
        });
    }
    if let Some(read) = either(said, form) {
        return Some(read);
    }
    let sign = ['/', '.'].into_iter().find(|sign| said.contains(*sign)).unwrap_or(' ');
    let bare = said.trim_end_matches('.');
    let in_year = |year: i32| either(&format!("{bare}{sign}{year}"), form);
    let this_year = in_year(today.year());
    let is_ahead = |it: &Result<NaiveDate, WhenError>| it.as_ref().is_ok_and(|day| *day > today);
    let found = match &this_year {
        // The twenty-ninth of February is not in every year.
        None => (1..8).find_map(|ago| in_year(today.year() - ago)),
        Some(day) if is_ahead(day) => (1..9).find_map(|ago| in_year(today.year() - ago)),
        Some(_) => this_year,
    };
    found.map(|it| {
        it.map_err(|error| match error {
            WhenError::TwoDays { one, other, .. } => WhenError::TwoDays { text: harmless(said), one, other },
            other => other,
        })
    })
}

/// The day of a text with its year, by the form where it stands for another day with each order.
fn either(text: &str, form: Option<DateForm>) -> Option<Result<NaiveDate, WhenError>> {
    let read = |order| date::read(text, order).filter(|(_, time)| time.is_none()).map(|(day, _)| day);
    let (day_first, month_first) = (read(DateOrder::DayMonth), read(DateOrder::MonthDay));
    let found = day_first.or(month_first)?;
    // `29-11-26` may be of 2029.
    if text.split('-').count() == 3 && text.chars().all(|sign| sign.is_ascii_digit() || sign == '-') {
        let year = text.split('-').find(|part| part.len() == 4);
        if year.is_none() {
            return Some(Err(WhenError::ShortYear(harmless(text))));
        }
    }
    let (Some(one), Some(other)) = (day_first, month_first) else { return Some(Ok(found)) };
    Some(match form {
        _ if one == other => Ok(one),
        Some(DateForm::DayFirst) => Ok(one),
        Some(DateForm::MonthFirst) => Ok(other),
        Some(DateForm::YearFirst) | None => {
            Err(WhenError::TwoDays { text: harmless(text), one: shown(one), other: shown(other) })
        }
    })
}

/// The day of the week that a word is, by its first three letters at least.
#[must_use]
pub fn weekday(word: &str) -> Option<Weekday> {
    const NAMES: [(&str, Weekday); 7] = [
        ("monday", Weekday::Mon),
        ("tuesday", Weekday::Tue),
        ("wednesday", Weekday::Wed),
        ("thursday", Weekday::Thu),
        ("friday", Weekday::Fri),
        ("saturday", Weekday::Sat),
        ("sunday", Weekday::Sun),
    ];
    let word = word.to_lowercase();
    let word = word.trim_end_matches('.');
    let is_it = |name: &str| word.len() >= 3 && name.starts_with(word);
    NAMES.iter().find(|(name, _)| is_it(name)).map(|(_, weekday)| *weekday)
}

fn last_before(weekday: Weekday, today: NaiveDate) -> Option<NaiveDate> {
    today.iter_days().rev().skip(1).take(7).find(|day| day.weekday() == weekday)
}

fn shown(day: NaiveDate) -> String {
    day.format(DateForm::customary().date()).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A Saturday.
    fn today() -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 11, 28).unwrap()
    }

    fn told(text: &str) -> Result<String, String> {
        match When::read(text, today()) {
            Ok(When::At(moment)) => Ok(moment.to_string()),
            Ok(When::OnWall(WallTime { day, time: None })) => Ok(day.to_string()),
            Ok(When::OnWall(WallTime { day, time: Some(time) })) => Ok(format!("{day} {}", time.format("%H:%M"))),
            Err(error) => Err(error.to_string()),
        }
    }

    #[test]
    fn days_and_times_are_read_as_people_write_them() {
        for (text, read) in [
            ("2026-11-27", "2026-11-27"),
            ("2026-11-27 14:30", "2026-11-27 14:30"),
            ("2026-11-27T08:15", "2026-11-27 08:15"),
            ("2026-11-27T08:15:00+01:00", "2026-11-27T08:15:00+01:00"),
            ("27/11/2026", "2026-11-27"),
            ("11/27/2026", "2026-11-27"),
            ("27.11.2026", "2026-11-27"),
            ("3.4.2026", "2026-04-03"),
            ("04/04/2026", "2026-04-04"),
            ("27-11-2026", "2026-11-27"),
            ("27 Nov 2026", "2026-11-27"),
            ("27 nov", "2026-11-27"),
            ("29 nov", "2025-11-29"),
            ("29 feb", "2024-02-29"),
            ("Nov 27", "2026-11-27"),
            ("27/11", "2026-11-27"),
            ("27.11.", "2026-11-27"),
            ("yesterday", "2026-11-27"),
            ("Today", "2026-11-28"),
            ("yesterday 6:05", "2026-11-27 06:05"),
            ("tuesday", "2026-11-24"),
            ("last tuesday", "2026-11-24"),
            ("Thurs 9:15", "2026-11-26 09:15"),
            ("last saturday", "2026-11-21"),
            ("14:30", "2026-11-28 14:30"),
            ("Fri 27 Nov 2026", "2026-11-27"),
        ] {
            assert_eq!(told(text).as_deref(), Ok(read), "{text}");
        }
    }

    #[test]
    fn what_could_be_two_days_is_refused_with_both() {
        let two = told("03/04/2026").unwrap_err();
        assert!(two.starts_with("'03/04/2026' could be 3 Apr 2026 or 4 Mar 2026. Write the month as a word"), "{two}");
        assert!(told("3/4").unwrap_err().starts_with("'3/4' could be 3 Apr 2026 or 4 Mar 2026."));
        assert_eq!(
            told("saturday").unwrap_err(),
            "'saturday' could be today or 21 Nov 2026. Write today, last saturday, or the day."
        );
        assert!(told("27-11-26").unwrap_err().contains("four figures"));
        for text in ["", "tomorrow", "31/02/2026", "2026-13-01", "27 Nov 25:00", "now", "last week", "\u{1b}[2J", "la"]
        {
            let told = told(text).unwrap_err();
            assert!(
                told.contains("is no day and no time. Write it like") && !told.contains('\u{1b}'),
                "{text}: {told}"
            );
        }
        assert!(told(&"27 Nov 2026 ".repeat(10_000)).unwrap_err().len() < 300);
    }

    #[test]
    fn the_form_of_dates_of_a_person_says_which_it_is() {
        let read = |form| day_in("03/04/2026", today(), form).unwrap().map(|day| day.to_string());
        assert_eq!(read(Some(DateForm::DayFirst)).as_deref(), Ok("2026-04-03"));
        assert_eq!(read(Some(DateForm::MonthFirst)).as_deref(), Ok("2026-03-04"));
        assert!(read(Some(DateForm::YearFirst)).is_err() && read(None).is_err());
        let sure = day_in("27/11/2026", today(), Some(DateForm::MonthFirst));
        assert_eq!(sure.unwrap().unwrap().to_string(), "2026-11-27");
    }

    #[test]
    fn a_day_to_come_wants_its_year() {
        let read =
            |text| day_to_come(text, today()).map(|read| read.map(|day| day.to_string()).map_err(|it| it.to_string()));
        assert_eq!(read("1 May 2029"), Some(Ok("2029-05-01".to_owned())));
        assert_eq!(read("Today"), Some(Ok("2026-11-28".to_owned())));
        assert_eq!(read("soon"), None);
        for text in ["1 May", "tuesday", "yesterday"] {
            assert!(read(text).unwrap().unwrap_err().starts_with(&format!("'{text}' says no year.")), "{text}");
        }
    }

    #[test]
    fn a_day_ends_where_the_next_begins() {
        let now = Moment::now();
        let on = |text: &str| When::read(text, today()).unwrap();
        let (end, next) = (on("2026-05-04").end(now).unwrap(), on("2026-05-05").beginning(now).unwrap());
        assert_eq!(end.instant() + 1, next.instant());
    }
}
