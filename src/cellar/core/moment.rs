//! When something happened: an instant with the clock's offset where it happened.

use std::fmt;
use std::time::{Duration, SystemTime};

use chrono::{DateTime, Datelike, FixedOffset, Local, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeZone};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::label::harmless;
use crate::units::DateForm;

/// Microseconds in a day.
pub const DAY_MICROSECONDS: i64 = 86_400_000_000;
/// Microseconds in an hour.
pub const HOUR_MICROSECONDS: i64 = 3_600_000_000;

/// An instant to the microsecond, and the offset from UTC of the clock on the wall there.
///
/// Two moments are the same instant when their [`instant`](Moment::instant)s are equal, whatever their offsets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Moment {
    microseconds: i64,
    offset_minutes: i16,
}

/// A time as people write it down: the day, and what the clock on the wall showed where that stands with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WallTime {
    /// The day.
    pub day: NaiveDate,
    /// The time of day, where it is said.
    pub time: Option<NaiveTime>,
}

/// The beginning of 1900 and the end of 2999, as far as moments go. A clock beyond them stands there.
const EARLIEST: i64 = -2_208_988_800_000_000;
const LATEST: i64 = 32_503_680_000_000_000 - 1;

/// What stands for a day of which no time is said.
const NOON: NaiveTime = match NaiveTime::from_hms_opt(12, 0, 0) {
    Some(noon) => noon,
    None => NaiveTime::MIN,
};

impl Moment {
    /// Microseconds since 1970-01-01T00:00:00Z, and the offset from UTC in minutes. Offsets beyond a day are brought
    /// back to it.
    #[must_use]
    pub fn new(microseconds: i64, offset_minutes: i16) -> Moment {
        Moment { microseconds, offset_minutes: offset_minutes.clamp(-1_439, 1_439) }
    }

    /// The clock of this machine. Only the edges of the program (the command line, the driver of the full screen) ask it.
    #[must_use]
    #[allow(clippy::disallowed_methods)] // the one place where time comes in
    pub fn now() -> Moment {
        Moment::of_system(SystemTime::now())
    }

    /// The moment of a time that the system gives, of its clock or of a file, with this machine's offset then. A clock that lost its
    /// battery may stand before 1970.
    #[must_use]
    pub fn of_system(time: SystemTime) -> Moment {
        let microseconds = |apart: Duration| i64::try_from(apart.as_micros()).unwrap_or(i64::MAX);
        let instant = match time.duration_since(SystemTime::UNIX_EPOCH) {
            Ok(since) => microseconds(since),
            Err(before) => microseconds(before.duration()).saturating_neg(),
        };
        let utc = Moment::new(instant.clamp(EARLIEST, LATEST), 0);
        Moment::from_chrono(&Local.from_utc_datetime(&utc.to_chrono().naive_utc()).fixed_offset())
    }

    /// Reads RFC 3339 with an offset, for example `2027-03-02T08:15:00+01:00`. Finer than a microsecond is cut off.
    pub fn parse(text: &str) -> Result<Moment, MomentError> {
        let parsed = DateTime::parse_from_rfc3339(text)
            .map_err(|_| MomentError::NotATime(harmless(&text.chars().take(40).collect::<String>())))?;
        if !(1900..=2999).contains(&parsed.year()) {
            return Err(MomentError::OutOfRange(parsed.year()));
        }
        Ok(Moment::from_chrono(&parsed))
    }

    /// What a clock on the wall in this machine's time zone showed. A day without a time is its noon, and today it is now.
    pub fn on_wall(said: WallTime, now: Moment) -> Result<Moment, MomentError> {
        match said.time {
            Some(time) => Moment::local(said.day.and_time(time)),
            None if said.day == now.date() => Ok(now),
            None => Moment::local(said.day.and_time(NOON)),
        }
    }

    fn local(wall: NaiveDateTime) -> Result<Moment, MomentError> {
        if !(1900..=2999).contains(&wall.year()) {
            return Err(MomentError::OutOfRange(wall.year()));
        }
        // Where the clock is put forward over it, it was an hour later.
        let moment = Local
            .from_local_datetime(&wall)
            .earliest()
            .or_else(|| Local.from_local_datetime(&(wall + chrono::TimeDelta::hours(1))).earliest())
            .ok_or(MomentError::OutOfRange(wall.year()))?;
        Ok(Moment::from_chrono(&moment.fixed_offset()))
    }

    fn from_chrono(time: &DateTime<FixedOffset>) -> Moment {
        let minutes = time.offset().fix().local_minus_utc() / 60;
        Moment::new(time.timestamp_micros(), i16::try_from(minutes).unwrap_or(0))
    }

    fn to_chrono(self) -> DateTime<FixedOffset> {
        let offset = FixedOffset::east_opt(i32::from(self.offset_minutes) * 60).unwrap_or(chrono::Utc.fix());
        let utc = DateTime::from_timestamp_micros(self.microseconds).unwrap_or_default();
        utc.with_timezone(&offset)
    }

    /// Microseconds since 1970-01-01T00:00:00Z: what moments are ordered by.
    #[must_use]
    pub const fn instant(self) -> i64 {
        self.microseconds
    }

    /// Minutes that the clock on the wall was ahead of UTC.
    #[must_use]
    pub const fn offset_minutes(self) -> i16 {
        self.offset_minutes
    }

    /// This wall clock at another instant.
    #[must_use]
    pub fn at_instant(self, microseconds: i64) -> Moment {
        Moment::new(microseconds, self.offset_minutes)
    }

    /// This wall clock when it showed another day and time.
    #[must_use]
    pub fn at_wall(self, wall: NaiveDateTime) -> Moment {
        let ahead = i64::from(self.offset_minutes) * (HOUR_MICROSECONDS / 60);
        self.at_instant(wall.and_utc().timestamp_micros().saturating_sub(ahead))
    }

    /// Some time of another day by this wall clock: its noon; of its own day this moment.
    #[must_use]
    pub fn on_day(self, day: NaiveDate) -> Moment {
        if day == self.date() { self } else { self.at_wall(day.and_time(NOON)) }
    }

    /// The date on the wall.
    #[must_use]
    pub fn date(self) -> NaiveDate {
        let day = i32::try_from(self.wall_day()).ok().and_then(NaiveDate::from_epoch_days);
        day.unwrap_or_else(|| self.to_chrono().date_naive())
    }

    /// The time of the day on the wall.
    #[must_use]
    pub fn wall_time(self) -> NaiveTime {
        self.to_chrono().time()
    }

    /// Days of the clock on the wall since 1970-01-01.
    const fn wall_day(self) -> i64 {
        let ahead = self.offset_minutes as i64 * (HOUR_MICROSECONDS / 60);
        self.microseconds.saturating_add(ahead).div_euclid(DAY_MICROSECONDS)
    }

    /// Whole local days from `earlier` to this moment: the difference of the two dates, each on its own wall.
    #[must_use]
    pub fn days_since(self, earlier: Moment) -> i64 {
        self.wall_day() - earlier.wall_day()
    }

    /// Days and parts of a day from `earlier` to this moment; negative where `earlier` is later.
    #[must_use]
    pub fn elapsed_days(self, earlier: Moment) -> f64 {
        (self.microseconds - earlier.microseconds) as f64 / DAY_MICROSECONDS as f64
    }

    /// Days and parts of a day since 1970-01-01T00:00:00Z.
    #[must_use]
    pub fn days_of_epoch(self) -> f64 {
        self.microseconds as f64 / DAY_MICROSECONDS as f64
    }

    /// This wall clock so many days after 1970-01-01T00:00:00Z.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)] // a cast of a real stops at the ends
    pub fn at_days_of_epoch(self, days: f64) -> Moment {
        self.at_instant((days * DAY_MICROSECONDS as f64) as i64)
    }

    /// Writes RFC 3339 behind what is there, as it is displayed.
    pub fn write(self, out: &mut String) {
        let minutes = i64::from(self.offset_minutes);
        let wall = self.microseconds.saturating_add(minutes * (HOUR_MICROSECONDS / 60));
        let of_day = wall.rem_euclid(DAY_MICROSECONDS);
        let (seconds, fraction) = (of_day / 1_000_000, of_day % 1_000_000);
        let date = self.date();
        let year = i64::from(date.year());
        let mut text = *b"0000-00-00T00:00:00.000000";
        for (at, number) in [
            (0, year / 100),
            (2, year % 100),
            (5, i64::from(date.month())),
            (8, i64::from(date.day())),
            (11, seconds / 3_600),
            (14, seconds / 60 % 60),
            (17, seconds % 60),
            (20, fraction / 10_000),
            (22, fraction / 100 % 100),
            (24, fraction % 100),
        ] {
            text[at..at + 2].copy_from_slice(&two_digits(number));
        }
        let length = match fraction {
            0 => 19,
            thousandths if thousandths % 1_000 == 0 => 23,
            _ => 26,
        };
        let mut offset = *b"+00:00";
        offset[0] = if minutes < 0 { b'-' } else { b'+' };
        offset[1..3].copy_from_slice(&two_digits(minutes.abs() / 60));
        offset[4..6].copy_from_slice(&two_digits(minutes.abs() % 60));
        for part in [&text[..length], &offset[..]] {
            out.push_str(std::str::from_utf8(part).unwrap_or_default());
        }
    }

    /// The date as a cellar hand says it: `25 Nov 2026`.
    #[must_use]
    pub fn show_date(self) -> String {
        self.to_chrono().format(DateForm::customary().date()).to_string()
    }

    /// Day and month: `25 Nov`.
    #[must_use]
    pub fn show_day(self) -> String {
        self.to_chrono().format(DateForm::customary().day()).to_string()
    }

    /// Weekday and date: `Wed 25 Nov 2026`.
    #[must_use]
    pub fn show_weekday(self) -> String {
        format!("{} {}", self.to_chrono().format("%a"), self.show_date())
    }

    /// Time of the day: `06:40`.
    #[must_use]
    pub fn show_time(self) -> String {
        self.to_chrono().format("%H:%M").to_string()
    }

    /// Weekday, day, month and time: `Wed 25 Nov  06:40`.
    #[must_use]
    pub fn show_clock(self) -> String {
        format!("{} {}  {}", self.to_chrono().format("%a"), self.show_day(), self.show_time())
    }
}

/// A number below a hundred in two digits.
fn two_digits(number: i64) -> [u8; 2] {
    let number = u8::try_from(number).unwrap_or_default();
    [b'0' + number / 10 % 10, b'0' + number % 10]
}

/// RFC 3339 with a numeric offset; a fraction only where there is one, of three or six digits.
impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = String::with_capacity(32);
        self.write(&mut text);
        f.write_str(&text)
    }
}

/// Why a text is no moment.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MomentError {
    /// Not RFC 3339.
    #[error("'{0}' is not a date and time. Write it like 2027-03-02T08:15:00+01:00.")]
    NotATime(String),
    /// Before 1900 or after 2999.
    #[error("The year {0} is out of range. Use a year from 1900 to 2999.")]
    OutOfRange(i32),
}

#[cfg(test)]
mod tests {
    use chrono::Timelike;
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn the_date_is_the_calendars(instant in any::<i64>(), offset in -1_439_i16..=1_439) {
            // Five hundred years either side of 1970.
            let instant = instant % 17_000_000_000 * 1_000_000;
            let moment = Moment::new(instant, offset);
            prop_assert_eq!(moment.date(), moment.to_chrono().date_naive());
        }

        #[test]
        fn it_is_written_as_the_calendar_writes_it(instant in EARLIEST..=LATEST, offset in -1_439_i16..=1_439, fine in 0..3_usize) {
            let coarse = [1_000_000, 1_000, 1][fine];
            let moment = Moment::new(instant - instant % coarse, offset);
            let time = moment.to_chrono();
            let pattern = match time.nanosecond() {
                0 => "%Y-%m-%dT%H:%M:%S%:z",
                fraction if fraction % 1_000_000 == 0 => "%Y-%m-%dT%H:%M:%S%.3f%:z",
                _ => "%Y-%m-%dT%H:%M:%S%.6f%:z",
            };
            prop_assert_eq!(moment.to_string(), time.format(pattern).to_string());
        }
    }

    #[test]
    fn writes_what_it_reads() {
        for text in ["2027-03-02T08:15:00+01:00", "2026-11-25T06:40:12.250-08:00", "2026-11-25T06:40:12.250001+00:00"] {
            assert_eq!(Moment::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Moment::parse("2026-11-25T06:40:12Z").unwrap().to_string(), "2026-11-25T06:40:12+00:00");
    }

    #[test]
    fn days_are_counted_by_the_date_on_the_wall() {
        let evening = Moment::parse("2026-11-01T23:30:00+01:00").unwrap();
        let morning = Moment::parse("2026-11-02T00:30:00+01:00").unwrap();
        assert_eq!(morning.days_since(evening), 1);
        assert!((morning.elapsed_days(evening) - 1.0 / 24.0).abs() < 1e-12);
    }

    #[test]
    fn says_what_is_wrong() {
        assert!(matches!(Moment::parse("yesterday"), Err(MomentError::NotATime(_))));
        assert!(matches!(Moment::parse("2026-02-30T00:00:00Z"), Err(MomentError::NotATime(_))));
        assert!(matches!(Moment::parse("0001-01-01T00:00:00Z"), Err(MomentError::OutOfRange(1))));
        assert!(matches!(Moment::parse("2026-11-25T06:40:12"), Err(MomentError::NotATime(_))));
    }

    #[test]
    fn a_clock_before_1970_or_after_all_years_is_a_moment() {
        let day = Duration::from_secs(86_400);
        let moment = |time: SystemTime| Moment::of_system(time).instant();
        assert_eq!(moment(SystemTime::UNIX_EPOCH), 0);
        assert_eq!(moment(SystemTime::UNIX_EPOCH - day), -DAY_MICROSECONDS);
        assert_eq!(moment(SystemTime::UNIX_EPOCH + day), DAY_MICROSECONDS);
        for (years, ends) in [(200, "1900-01-01T00:00:00+00:00"), (20_000, "1900-01-01T00:00:00+00:00")] {
            if let Some(time) = SystemTime::UNIX_EPOCH.checked_sub(day * 366 * years) {
                assert_eq!(moment(time), Moment::parse(ends).unwrap().instant());
            }
        }
        let last = SystemTime::UNIX_EPOCH.checked_add(day * 366 * 20_000).map(moment);
        assert!(last.is_none_or(|last| last == Moment::parse("2999-12-31T23:59:59.999999Z").unwrap().instant()));
        assert_eq!(Moment::of_system(SystemTime::UNIX_EPOCH - day).show_date().len(), "31 Dec 1969".len());
    }

    #[test]
    fn a_day_without_a_time_is_its_noon_and_today_is_now() {
        let now = Moment::now();
        let today = WallTime { day: now.date(), time: None };
        assert_eq!(Moment::on_wall(today, now).unwrap(), now);
        let day = NaiveDate::from_ymd_opt(2026, 3, 4).unwrap();
        let noon = Moment::on_wall(WallTime { day, time: None }, now).unwrap();
        assert_eq!((noon.date(), noon.show_time()), (day, "12:00".to_owned()));
        let evening = WallTime { day, time: NaiveTime::from_hms_opt(18, 30, 0) };
        assert_eq!(Moment::on_wall(evening, now).unwrap().show_time(), "18:30");
        let day = NaiveDate::from_ymd_opt(1066, 10, 14).unwrap();
        assert_eq!(Moment::on_wall(WallTime { day, time: None }, now), Err(MomentError::OutOfRange(1066)));
    }
}
