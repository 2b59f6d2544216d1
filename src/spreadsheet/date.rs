//! Dates as spreadsheets write them, and in which order day and month stand: told by a whole column, since one cell (`03/04/2026`)
//! cannot.

use serde::{Deserialize, Serialize};
use std::fmt;

use chrono::{NaiveDate, NaiveTime};

/// In which order a date stands whose year is last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DateOrder {
    /// The day first.
    DayMonth,
    /// The month first.
    MonthDay,
}

impl DateOrder {
    /// All of them.
    pub const ALL: [DateOrder; 2] = [DateOrder::DayMonth, DateOrder::MonthDay];
}

impl fmt::Display for DateOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            DateOrder::DayMonth => "dmy",
            DateOrder::MonthDay => "mdy",
        })
    }
}

/// The months in English, French, Spanish, Italian and German, without the marks of their letters; by the first three or four of
/// these they are told.
const MONTHS: [&[&str]; 12] = [
    &["jan", "gen", "ene"],
    &["feb", "fev"],
    &["mar", "mrz", "maerz"],
    &["apr", "avr", "abr"],
    &["may", "mai", "mag"],
    &["jun", "juin", "giu"],
    &["jul", "juil", "lug"],
    &["aug", "aou", "ago"],
    &["sep", "set"],
    &["oct", "okt", "ott"],
    &["nov"],
    &["dec", "dic", "dez"],
];

/// What dates say of their order together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Orders {
    /// How many can only have the day first.
    pub day_first: usize,
    /// How many can only have the month first.
    pub month_first: usize,
    /// How many are another day with each order.
    pub either: usize,
}

impl Orders {
    /// What texts say; those that are no dates say nothing.
    pub fn of<'a>(texts: impl Iterator<Item = &'a str>) -> Orders {
        let mut orders = Orders::default();
        for text in texts {
            let read = |order| read(text, order).map(|(date, _)| date);
            match (read(DateOrder::DayMonth), read(DateOrder::MonthDay)) {
                (Some(one), Some(other)) if one != other => orders.either += 1,
                (Some(_), None) => orders.day_first += 1,
                (None, Some(_)) => orders.month_first += 1,
                _ => {}
            }
        }
        orders
    }

    /// The order that is told without doubt; none where nothing tells it or some stand in each.
    #[must_use]
    pub const fn told(self) -> Option<DateOrder> {
        match (self.day_first, self.month_first) {
            (1.., 0) => Some(DateOrder::DayMonth),
            (0, 1..) => Some(DateOrder::MonthDay),
            _ => None,
        }
    }

    /// Whether what is entered depends on the order and nothing tells it.
    #[must_use]
    pub const fn cannot_tell(self) -> bool {
        self.told().is_none() && (self.either > 0 || self.day_first > 0)
    }
}

/// A day, and the time of day where one stands with it.
#[must_use]
pub fn read(text: &str, order: DateOrder) -> Option<(NaiveDate, Option<NaiveTime>)> {
    let text = text.trim();
    let (day, time) = match text.find([' ', 'T']).filter(|&end| text[end + 1..].contains(':')) {
        Some(_) => {
            // The time is what holds a colon, and the words before it are the date.
            let colon = text.find(':')?;
            let begin = text[..colon].rfind([' ', 'T'])?;
            (&text[..begin], Some(time(&text[begin + 1..])?))
        }
        None => (text, None),
    };
    Some((date(day, order)?, time))
}

/// A time of day.
#[must_use]
pub fn time(text: &str) -> Option<NaiveTime> {
    ["%H:%M", "%H:%M:%S", "%H:%M:%S%.f"].iter().find_map(|form| NaiveTime::parse_from_str(text.trim(), form).ok())
}

fn date(text: &str, order: DateOrder) -> Option<NaiveDate> {
    let parts: Vec<&str> = text.split(|sign: char| !sign.is_alphanumeric()).filter(|part| !part.is_empty()).collect();
    // `lundi 3 mars 2026`: the day of the week says nothing.
    let parts = match parts.as_slice() {
        [weekday, rest @ ..]
            if rest.len() == 3 && weekday.chars().all(char::is_alphabetic) && month(weekday).is_none() =>
        {
            rest
        }
        all => all,
    };
    let &[first, second, third] = parts else { return None };
    if let Some(month) = month(second) {
        return if first.len() == 4 { day(first, month, third) } else { day(third, month, first) };
    }
    if let Some(month) = month(first) {
        return day(third, month, second);
    }
    let figures = |part: &str| part.parse::<u32>().ok().filter(|_| part.len() <= 2);
    if first.len() == 4 {
        return day(first, figures(second)?, third);
    }
    // With points between the day is always first.
    let day_first = order == DateOrder::DayMonth || text.contains('.');
    let (in_month, month) = if day_first { (first, second) } else { (second, first) };
    day(third, figures(month)?, in_month)
}

/// The month that a word is, by its first letters.
fn month(word: &str) -> Option<u32> {
    let plain: String = word.to_lowercase().chars().map(without_mark).collect();
    if plain.len() < 3 || !plain.chars().all(|letter| letter.is_ascii_alphabetic()) {
        return None;
    }
    let is_it = |names: &&[&str]| names.iter().any(|name| plain.starts_with(name));
    let at = MONTHS.iter().position(is_it)?;
    u32::try_from(at + 1).ok()
}

const fn without_mark(letter: char) -> char {
    match letter {
        'é' | 'è' | 'ê' => 'e',
        'û' | 'ù' | 'ü' => 'u',
        'ä' | 'à' => 'a',
        other => other,
    }
}

fn day(year: &str, month: u32, day: &str) -> Option<NaiveDate> {
    let number: i32 = year.parse().ok()?;
    let year = match year.len() {
        4 => number,
        2 => 2000 + number,
        _ => return None,
    };
    let day = day.trim_end_matches(|sign: char| sign.is_alphabetic()).parse().ok().filter(|_| day.len() <= 4)?;
    NaiveDate::from_ymd_opt(year, month, day).filter(|_| (1900..=2999).contains(&year))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, order: DateOrder) -> Option<String> {
        read(text, order).map(|(date, time)| match time {
            Some(time) => format!("{date} {}", time.format("%H:%M")),
            None => date.to_string(),
        })
    }

    #[test]
    fn dates_are_read_as_they_are_written() {
        use DateOrder::{DayMonth, MonthDay};
        for (text, order, date) in [
            ("2026-05-03", MonthDay, Some("2026-05-03")),
            ("2026/5/3", DayMonth, Some("2026-05-03")),
            ("03/05/2026", DayMonth, Some("2026-05-03")),
            ("03/05/2026", MonthDay, Some("2026-03-05")),
            ("3.5.26", MonthDay, Some("2026-05-03")),
            ("03-05-26 14:30", DayMonth, Some("2026-05-03 14:30")),
            ("2026-05-03T07:05:09", DayMonth, Some("2026-05-03 07:05")),
            ("3 May 2026", MonthDay, Some("2026-05-03")),
            ("May 3, 2026", DayMonth, Some("2026-05-03")),
            ("3rd May 2026", DayMonth, Some("2026-05-03")),
            ("3 août 2026", DayMonth, Some("2026-08-03")),
            ("12 févr. 2026", DayMonth, Some("2026-02-12")),
            ("3-Dez-26", DayMonth, Some("2026-12-03")),
            ("3. März 2026", DayMonth, Some("2026-03-03")),
            ("1 juillet 2026", DayMonth, Some("2026-07-01")),
            ("1 juin 2026", DayMonth, Some("2026-06-01")),
            ("lundi 3 mars 2026", DayMonth, Some("2026-03-03")),
            ("13/05/2026", MonthDay, None),
            ("31/02/2026", DayMonth, None),
            ("46000", DayMonth, None),
            ("Allier", DayMonth, None),
            ("5/2026", DayMonth, None),
        ] {
            assert_eq!(shown(text, order).as_deref(), date, "{text}");
        }
    }

    #[test]
    fn a_column_tells_the_order() {
        let told = |texts: &[&str]| {
            let orders = Orders::of(texts.iter().copied());
            (orders.told(), orders.cannot_tell())
        };
        assert_eq!(told(&["03/04/2026", "13/04/2026"]), (Some(DateOrder::DayMonth), false));
        assert_eq!(told(&["03/04/2026", "04/13/2026"]), (Some(DateOrder::MonthDay), false));
        assert_eq!(told(&["03/04/2026", "04/05/2026"]), (None, true));
        assert_eq!(told(&["03/03/2026", "04/04/2026"]), (None, false));
        assert_eq!(told(&["2026-04-03", "3.4.2026", "3 Apr 2026"]), (None, false));
        assert_eq!(told(&["13/04/2026", "04/13/2026"]), (None, true));
    }
}
