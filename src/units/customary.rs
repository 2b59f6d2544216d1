//! What is customary where somebody works: the unit in which volumes are said and typed, the form of a date, and the decimal sign. How an amount is
//! written belongs to whoever reads it, not to the sentence it stands in, so it is settled once where the program begins, before
//! anything is said, and every sentence and page asks here. Facts, files and programs never do: they have whole microlitres and ISO dates.
//!
//! In which unit a volume is told and typed, and how a date is written, belongs to the reader (`units/customary.rs`): it is settled once
//! where the program begins, from a person's file of looks (`cli/core/looks.rs`), and asked only where something is said or typed
//! (`litres`, `in_column`, `in_heading`, `VolumeUnit::customary`). Facts and files never ask.

use std::sync::OnceLock;

use super::VolumeUnit;

/// What is customary with one person.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Customary {
    /// The unit of volumes as large as a barrel: litres, hectolitres from a thousand litres on, or US gallons.
    pub volume: VolumeUnit,
    /// How dates are written; none where nobody said, so that they are written day first and never guessed at in reading.
    pub dates: Option<DateForm>,
    /// What parts the whole of a number from the rest, in tables and spreadsheets; typed is either.
    pub decimal: DecimalMark,
}

/// What parts the whole of a number from the rest.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DecimalMark {
    /// `1.5`
    #[default]
    Point,
    /// `1,5`; a spreadsheet then parts its cells by semicolons.
    Comma,
}

impl DecimalMark {
    /// The mark that is customary here.
    #[must_use]
    pub fn customary() -> DecimalMark {
        customary().decimal
    }

    /// A number that is written with a point, with this mark.
    #[must_use]
    pub fn written(self, number: &str) -> String {
        match self {
            DecimalMark::Point => number.to_owned(),
            DecimalMark::Comma => number.replace('.', ","),
        }
    }
}

/// How a date is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DateForm {
    /// `27 Nov 2026`, typed `27/11/2026`.
    #[default]
    DayFirst,
    /// `Nov 27, 2026`, typed `11/27/2026`.
    MonthFirst,
    /// `2026-11-27`, by ISO 8601.
    YearFirst,
}

static SETTLED: OnceLock<Customary> = OnceLock::new();

/// Says what is customary with whoever runs this program. What was settled first stays.
pub fn settle(customary: Customary) {
    SETTLED.get_or_init(|| customary);
}

/// What is customary here: litres and the day first, unless something else was settled.
#[must_use]
pub fn customary() -> Customary {
    SETTLED.get().copied().unwrap_or_default()
}

impl DateForm {
    /// The form in which dates are written here.
    #[must_use]
    pub fn customary() -> DateForm {
        customary().dates.unwrap_or_default()
    }

    /// The pattern of a whole date: `27 Nov 2026`.
    #[must_use]
    pub const fn date(self) -> &'static str {
        match self {
            DateForm::DayFirst => "%-d %b %Y",
            DateForm::MonthFirst => "%b %-d, %Y",
            DateForm::YearFirst => "%Y-%m-%d",
        }
    }

    /// The pattern of a whole date in figures, as it is typed: `27/11/2026`.
    #[must_use]
    pub const fn in_figures(self) -> &'static str {
        match self {
            DateForm::DayFirst => "%d/%m/%Y",
            DateForm::MonthFirst => "%m/%d/%Y",
            DateForm::YearFirst => "%Y-%m-%d",
        }
    }

    /// The pattern of a day within the year: `27 Nov`.
    #[must_use]
    pub const fn day(self) -> &'static str {
        match self {
            DateForm::DayFirst => "%-d %b",
            DateForm::MonthFirst => "%b %-d",
            DateForm::YearFirst => "%m-%d",
        }
    }
}

/// What volumes are counted in here, as a word and as it stands behind a figure: `litres`, `L`.
#[must_use]
pub fn customary_words() -> (&'static str, &'static str) {
    let unit = VolumeUnit::customary();
    (unit.plural(), unit.symbol())
}

/// A heading or a question that is written for litres, in what is customary here. Only where no figure stands in it.
#[must_use]
pub fn in_heading(heading: &str) -> String {
    match VolumeUnit::customary() {
        VolumeUnit::Litre => heading.to_owned(),
        unit => in_unit(heading, unit),
    }
}

fn in_unit(heading: &str, unit: VolumeUnit) -> String {
    let said = |word: &str| {
        let bare = word.trim_end_matches([',', ':', '.', ';']);
        let told = match bare {
            "litres" => unit.plural(),
            "L" => unit.symbol(),
            other => other,
        };
        format!("{told}{}", &word[bare.len()..])
    };
    heading.split(' ').map(said).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    #[test]
    fn a_date_is_written_in_each_form() {
        let date = NaiveDate::from_ymd_opt(2026, 11, 7).unwrap();
        let told = [DateForm::DayFirst, DateForm::MonthFirst, DateForm::YearFirst]
            .map(|form| (date.format(form.date()).to_string(), date.format(form.day()).to_string()));
        let told = told.each_ref().map(|(date, day)| (date.as_str(), day.as_str()));
        assert_eq!(date.format(DateForm::MonthFirst.in_figures()).to_string(), "11/07/2026");
        assert_eq!([DecimalMark::Point, DecimalMark::Comma].map(|mark| mark.written("-1.5")), ["-1.5", "-1,5"]);
        assert_eq!(told, [("7 Nov 2026", "7 Nov"), ("Nov 7, 2026", "Nov 7"), ("2026-11-07", "11-07")]);
    }

    #[test]
    fn a_heading_says_the_unit() {
        let told = ["litres", "took L", "gauged at, litres:", " L-shaped", "litres of stock"];
        let told = told.map(|heading| in_unit(heading, VolumeUnit::UsGallon));
        assert_eq!(told, ["gallons", "took gal", "gauged at, gallons:", " L-shaped", "gallons of stock"]);
    }

    #[test]
    fn where_nothing_was_settled_litres_and_the_day_first_are_customary() {
        assert_eq!((customary().volume, DateForm::customary()), (VolumeUnit::Litre, DateForm::DayFirst));
    }
}
