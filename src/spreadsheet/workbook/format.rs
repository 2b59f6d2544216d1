//! What a number of a workbook is by the way it is shown: a date is a number with a form.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike};
use std::time::Duration;

use super::super::Cell;

/// The seconds of a day.
const DAY: f64 = 86_400.0;

/// How a number is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// As a number.
    #[default]
    Number,
    /// As a day, with or without its time.
    Date,
    /// As a time of day.
    Time,
    /// As hours and minutes that may be more than a day's.
    Hours,
    /// In hundredths.
    Percent,
    /// As so many figures, noughts before them: a label.
    Figures(usize),
}

impl Format {
    /// By the number of a form that needs no code (ECMA-376 part 1, 18.8.30).
    pub const fn of_number(number: u64) -> Format {
        match number {
            9 | 10 => Format::Percent,
            14..=17 | 22 | 27..=31 | 36 | 50..=54 | 57 | 58 => Format::Date,
            18..=21 | 32..=35 | 45 | 47 | 55 | 56 => Format::Time,
            46 => Format::Hours,
            _ => Format::Number,
        }
    }

    /// By its code, as `dd/mm/yyyy`.
    pub fn of_code(code: &str) -> Format {
        let (signs, hours) = signs_of(code);
        let lower = signs.to_lowercase();
        if lower.starts_with("general") || lower.starts_with("standard") {
            return Format::Number;
        }
        let has = |signs: &[char]| lower.contains(signs);
        let is_hours_or_seconds = has(&['h', 's']);
        if hours && !has(&['y', 'd']) {
            Format::Hours
        } else if has(&['y', 'd']) || (has(&['m']) && !is_hours_or_seconds) {
            Format::Date
        } else if is_hours_or_seconds {
            Format::Time
        } else if has(&['%']) {
            Format::Percent
        } else if signs.len() > 1 && signs.bytes().all(|sign| sign == b'0') {
            Format::Figures(signs.len())
        } else {
            Format::Number
        }
    }

    /// A number as it is meant.
    pub fn cell(self, number: f64, from_1904: bool) -> Cell {
        match self {
            _ if !number.is_finite() => Cell::Fault("a number that cannot be read"),
            Format::Percent => percent(number),
            Format::Figures(width) if number >= 0.0 && number.fract() == 0.0 && number < 1e15 && width <= 15 => {
                Cell::Text(format!("{number:0width$.0}"))
            }
            Format::Number | Format::Figures(_) => plain(number),
            Format::Hours => hours(number * DAY),
            Format::Time if (0.0..1.0).contains(&number) => hours(number * DAY),
            Format::Date | Format::Time => date(number, from_1904),
        }
    }
}

/// The signs of a code's first part that say something, without quoted text, colours and conditions; and whether hours run on.
fn signs_of(code: &str) -> (String, bool) {
    let (mut signs, mut hours) = (String::new(), false);
    let mut rest = code.chars();
    while let Some(sign) = rest.next() {
        match sign {
            ';' => break,
            '"' => while rest.next().is_some_and(|sign| sign != '"') {},
            '\\' | '_' | '*' => {
                rest.next();
            }
            '[' => {
                let within: String = rest.by_ref().take_while(|&sign| sign != ']').collect();
                let within = within.to_lowercase();
                hours |= ['h', 'm', 's'].iter().any(|&unit| !within.is_empty() && within.trim_matches(unit).is_empty());
                if hours {
                    signs.push('h');
                }
            }
            sign => signs.push(sign),
        }
    }
    (signs, hours)
}

/// A number to the fifteen figures that spreadsheets show: what is kept beyond is what reckoning left over.
pub fn plain(number: f64) -> Cell {
    let is_whole = number.fract() == 0.0;
    Cell::Number(if is_whole { number } else { format!("{number:.14e}").parse().unwrap_or(number) })
}

/// A share as it is shown, with its sign: `0.135` shown as 13.5 % would else be read as a hundredth of it.
pub fn percent(number: f64) -> Cell {
    let text = format!("{:.10}", number * 100.0);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    Cell::Text(format!("{text}%"))
}

/// A time of day or a length of time, in seconds.
pub fn hours(seconds: f64) -> Cell {
    let Ok(time) = Duration::try_from_secs_f64(seconds.round().abs()) else {
        return Cell::Fault("a time that cannot be read");
    };
    let (all, sign) = (time.as_secs(), if seconds < -0.5 { "-" } else { "" });
    let (hours, minutes, seconds) = (all / 3_600, all / 60 % 60, all % 60);
    let seconds = if seconds == 0 { String::new() } else { format!(":{seconds:02}") };
    Cell::Text(format!("{sign}{hours:02}:{minutes:02}{seconds}"))
}

/// The date that is so many days after the one from which a workbook counts.
fn date(days: f64, from_1904: bool) -> Cell {
    // What refers to an empty cell is nought, and shown as the day before the first.
    if days < 1.0 {
        return Cell::Fault("a date without a day");
    }
    let first = match days {
        _ if from_1904 => NaiveDate::from_ymd_opt(1904, 1, 1),
        // The year 1900 is counted as if it had a 29th of February, the 60th day.
        ..60.0 => NaiveDate::from_ymd_opt(1899, 12, 31),
        ..61.0 => None,
        _ => NaiveDate::from_ymd_opt(1899, 12, 30),
    };
    let seconds = Duration::try_from_secs_f64((days * DAY).round()).ok();
    let after = seconds.and_then(|seconds| TimeDelta::from_std(seconds).ok());
    let date = first.zip(after).and_then(|(first, after)| first.and_time(NaiveTime::MIN).checked_add_signed(after));
    date_cell(date)
}

fn date_cell(date: Option<NaiveDateTime>) -> Cell {
    use chrono::Datelike;
    match date {
        Some(date) if (1..=9999).contains(&date.year()) => Cell::Date(date),
        _ => Cell::Fault("a date that cannot be read"),
    }
}

/// A date as ISO 8601 has it; or a time alone.
pub fn iso_date(text: &str) -> Cell {
    let text = text.trim().trim_end_matches('Z');
    let whole = |text| NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M:%S%.f");
    let minutes = |text| NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M");
    let day = |text| NaiveDate::parse_from_str(text, "%Y-%m-%d").map(|day| day.and_time(NaiveTime::MIN));
    if let Ok(time) = NaiveTime::parse_from_str(text, "%H:%M:%S%.f") {
        return hours(f64::from(time.num_seconds_from_midnight()));
    }
    let date = whole(text).or_else(|_| minutes(text)).or_else(|_| day(text)).ok();
    // A time is kept as a part of a day, and comes back a hair beside it.
    let half = TimeDelta::milliseconds(500);
    date_cell(date.and_then(|date| date.checked_add_signed(half)?.with_nanosecond(0)))
}

/// A length of time as ISO 8601 has it: `PT08H30M00S`.
pub fn iso_time(text: &str) -> Cell {
    let text = text.trim();
    let (sign, rest) = text.strip_prefix('-').map_or((1.0, text), |rest| (-1.0, rest));
    let mut seconds = 0.0;
    let mut figures = String::new();
    let mut is_time = false;
    for letter in rest.chars() {
        let unit = match letter {
            'P' => continue,
            'T' => {
                is_time = true;
                continue;
            }
            'D' => DAY,
            'H' => 3_600.0,
            'M' if is_time => 60.0,
            'S' => 1.0,
            ',' | '.' => {
                figures.push('.');
                continue;
            }
            letter if letter.is_ascii_digit() => {
                figures.push(letter);
                continue;
            }
            _ => return Cell::Fault("a time that cannot be read"),
        };
        let Ok(number) = figures.parse::<f64>() else { return Cell::Fault("a time that cannot be read") };
        seconds += number * unit;
        figures.clear();
    }
    if rest.starts_with('P') && figures.is_empty() {
        hours(sign * seconds)
    } else {
        Cell::Fault("a time that cannot be read")
    }
}

/// What a formula came to that came to nothing, by the sign it leaves.
pub fn fault(sign: &str) -> Cell {
    Cell::Fault(match sign.trim() {
        "#DIV/0!" => "a division by nought",
        "#N/A" => "a value that is not there",
        "#NAME?" => "a formula with a name that is unknown",
        "#NULL!" => "a formula over areas that do not meet",
        "#NUM!" => "a number out of reach",
        "#REF!" => "a formula that refers to nothing",
        "#VALUE!" => "a formula over a value of the wrong kind",
        _ => "a formula that failed",
    })
}

/// That a formula was never worked out, or its value was not kept.
pub const NO_VALUE: Cell = Cell::Fault("a formula without a value");

/// A yes or a no as tables show it.
pub fn truth(text: &str) -> Cell {
    match text.trim() {
        "1" | "true" | "TRUE" => Cell::Text("TRUE".to_owned()),
        "0" | "false" | "FALSE" => Cell::Text("FALSE".to_owned()),
        _ => Cell::Fault("a yes or no that cannot be read"),
    }
}

/// A text as it is meant: one sign for each line's end, and none that no keyboard writes.
pub fn words(text: &str) -> Cell {
    if !text.contains(|sign: char| sign.is_control()) {
        return Cell::of(text);
    }
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    Cell::of(&text.replace(|sign: char| sign.is_control() && !matches!(sign, '\n' | '\t'), ""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_what_its_form_says() {
        use Format::{Date, Figures, Hours, Number, Percent, Time};
        for (code, format) in [
            ("General", Number),
            ("GENERAL\" d\"", Number),
            ("0.00", Number),
            ("0", Number),
            ("#,##0.0\" days\"", Number),
            ("0.00E+00", Number),
            ("[$€-407] #,##0.00;[Red]-#,##0.00", Number),
            ("0_ ;[Red]\\-0\\ ", Number),
            ("\\d0", Number),
            ("@", Number),
            ("0000", Figures(4)),
            ("0.0%", Percent),
            ("dd/mm/yyyy", Date),
            ("[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy", Date),
            ("yyyy\"-\"mm\"-\"dd;@", Date),
            ("mmm", Date),
            ("DD.MM.YY HH:MM", Date),
            ("h:mm AM/PM", Time),
            ("mm:ss.0", Time),
            ("[h]:mm", Hours),
            ("[mm]:ss", Hours),
            ("[Blue]0", Number),
        ] {
            assert_eq!(Format::of_code(code), format, "{code}");
        }
    }

    #[test]
    fn dates_are_counted_from_either_day() {
        let shown = |format: Format, number, from_1904| format.cell(number, from_1904).words().into_owned();
        for (number, from_1904, date) in [
            (46_145.0, false, "2026-05-03"),
            (44_683.0, true, "2026-05-03"),
            (46_145.604_166_666_67, false, "2026-05-03 14:30"),
            (46_145.999_999_99, false, "2026-05-04"),
            (1.0, false, "1900-01-01"),
            (59.0, false, "1900-02-28"),
            (60.0, false, "a date that cannot be read"),
            (61.0, false, "1900-03-01"),
            (0.0, false, "a date without a day"),
            (-3.0, false, "a date without a day"),
            (2_958_465.0, false, "9999-12-31"),
            (2_958_466.0, false, "a date that cannot be read"),
            (1e300, false, "a date that cannot be read"),
        ] {
            assert_eq!(shown(Format::Date, number, from_1904), date, "{number}");
        }
        assert_eq!(shown(Format::Time, 0.354_166_666_666_667, false), "08:30");
        assert_eq!(shown(Format::Time, 0.0, true), "00:00");
        assert_eq!(shown(Format::Time, 46_145.5, false), "2026-05-03 12:00");
        assert_eq!(shown(Format::Hours, 1.5, false), "36:00");
        assert_eq!(shown(Format::Percent, 0.135, false), "13.5%");
        assert_eq!(shown(Format::Percent, 0.07, false), "7%");
        assert_eq!(shown(Format::Percent, 0.0, false), "0%");
        assert_eq!(shown(Format::Percent, 1.0, false), "100%");
        assert_eq!(shown(Format::Figures(4), 417.0, false), "0417");
        assert_eq!(shown(Format::Figures(2), 417.5, false), "417.5");
        assert_eq!(shown(Format::Number, 0.1 + 0.2, false), "0.3");
        assert_eq!(shown(Format::Number, -228.499_999_999_999_97, false), "-228.5");
        assert_eq!(shown(Format::Number, f64::INFINITY, false), "a number that cannot be read");
    }

    #[test]
    fn dates_and_times_are_read_as_iso_8601_has_them() {
        let shown = |cell: Cell| cell.words().into_owned();
        assert_eq!(shown(iso_date("2026-05-03")), "2026-05-03");
        assert_eq!(shown(iso_date("2026-05-03T14:29:59.999999997")), "2026-05-03 14:30");
        assert_eq!(shown(iso_date("2026-05-03T14:30")), "2026-05-03 14:30");
        assert_eq!(shown(iso_date("14:30:00")), "14:30");
        assert_eq!(shown(iso_date("2026-13-03")), "a date that cannot be read");
        assert_eq!(shown(iso_time("PT08H30M00S")), "08:30");
        assert_eq!(shown(iso_time("PT36H00M05,0S")), "36:00:05");
        assert_eq!(shown(iso_time("-PT1H30M")), "-01:30");
        assert_eq!(shown(iso_time("8:30")), "a time that cannot be read");
    }
}
