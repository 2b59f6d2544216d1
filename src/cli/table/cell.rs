//! One value of a table or spreadsheet, and how people and programs are told it.

use std::borrow::Cow;

use serde::ser::{SerializeMap, SerializeSeq};
use serde::{Serialize, Serializer};

use crate::cellar::core::day::Day;
use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::moment::Moment;
use crate::units::{DecimalMark, Mass, Volume, VolumeUnit, percent};

/// One value.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing is known or nothing applies.
    Nothing,
    /// The person's own words.
    Text(String),
    /// A word of the exchange format.
    Word(String),
    /// A volume: whole microlitres for programs, litres for people.
    Volume(Volume),
    /// A small volume: litres to a hundredth for people.
    Fine(Volume),
    /// A volume that is measured out: millilitres to a tenth for people.
    Measured(Volume),
    /// A mass: whole micrograms for programs, grams to a hundredth for people.
    Mass(Mass),
    /// A volume with its standard deviation, for people.
    Estimate(Volume, Volume),
    /// A whole number.
    Whole(i64),
    /// A number.
    Decimal(f64),
    /// A part of one: a percentage for people.
    Share(f64),
    /// Yes or no.
    Flag(bool),
    /// When something happened.
    When(Moment),
    /// A day.
    Day(Day),
    /// Values in their order; people read them with commas between.
    List(Vec<Cell>),
    /// A thing within a thing, its values under their names: for programs.
    Thing(Vec<Named>),
    /// What has a form of its own in the exchange format: for programs.
    Form(serde_json::Value),
}

/// A value under its name.
pub type Named = (Cow<'static, str>, Cell);

impl Cell {
    /// The word that the exchange format has for a value.
    pub fn word(value: &impl Serialize) -> Cell {
        match serde_json::to_value(value) {
            Ok(serde_json::Value::String(word)) => Cell::Word(word),
            _ => Cell::Nothing,
        }
    }

    /// Values in their order.
    pub fn list<C: Into<Cell>>(values: impl IntoIterator<Item = C>) -> Cell {
        Cell::List(values.into_iter().map(Into::into).collect())
    }

    /// The form that a value has in the exchange format.
    pub fn form(value: &impl Serialize) -> Cell {
        serde_json::to_value(value).map_or(Cell::Nothing, Cell::Form)
    }

    /// The day of a moment as it was there: a date for programs too.
    #[must_use]
    pub fn date(moment: Option<Moment>) -> Cell {
        moment.map(|moment| Day::of(moment.date())).into()
    }

    /// For a column of a table, whose heading says the unit.
    #[must_use]
    pub fn in_table(&self) -> String {
        match self {
            Cell::Nothing | Cell::Flag(false) | Cell::Thing(_) | Cell::Form(_) => String::new(),
            Cell::List(values) => values.iter().map(Cell::in_table).collect::<Vec<_>>().join(", "),
            Cell::Text(text) => harmless(text),
            Cell::Word(word) => harmless(&word.replace('_', " ")),
            Cell::Whole(number) => number.to_string(),
            Cell::Volume(_) | Cell::Fine(_) | Cell::Measured(_) | Cell::Mass(_) | Cell::Estimate(..) => {
                DecimalMark::customary().written(&self.amount())
            }
            Cell::Decimal(number) => DecimalMark::customary().written(&number.to_string()),
            Cell::Share(share) => percent(1, *share),
            Cell::Flag(true) => "yes".to_owned(),
            Cell::When(moment) => moment.show_date(),
            Cell::Day(day) => day.show(),
        }
    }

    /// An amount in figures; nothing of what is none.
    fn amount(&self) -> String {
        match self {
            Cell::Volume(volume) => volume.in_column(1),
            Cell::Fine(volume) => volume.in_column(2),
            Cell::Measured(volume) => volume.show_number(VolumeUnit::Millilitre, 1),
            Cell::Mass(mass) => mass.show_number(2),
            Cell::Estimate(volume, deviation) if deviation.is_zero() => volume.in_column(1),
            Cell::Estimate(volume, deviation) => format!("{} ±{}", volume.in_column(1), deviation.in_column(1)),
            _ => String::new(),
        }
    }

    /// For a line by itself, with its unit.
    #[must_use]
    pub fn on_card(&self) -> String {
        match self {
            Cell::Volume(_) | Cell::Fine(_) | Cell::Estimate(..) => {
                format!("{} {}", self.in_table(), VolumeUnit::customary().symbol())
            }
            Cell::Measured(_) => format!("{} mL", self.in_table()),
            Cell::Mass(_) => format!("{} g", self.in_table()),
            Cell::Flag(false) => "no".to_owned(),
            other => other.in_table(),
        }
    }

    /// Whether it stands at the right of its column.
    #[must_use]
    pub const fn is_number(&self) -> bool {
        use Cell::{Decimal, Estimate, Fine, Mass, Measured, Share, Volume, Whole};
        matches!(self, Volume(_) | Fine(_) | Measured(_) | Mass(_) | Estimate(..) | Whole(_) | Decimal(_) | Share(_))
    }

    /// Whether there is nothing to tell.
    #[must_use]
    pub fn is_absent(&self) -> bool {
        match self {
            Cell::Nothing => true,
            Cell::List(values) => values.is_empty(),
            _ => false,
        }
    }

    /// Whether there is nothing to tell, or a volume of nothing.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        matches!(self, Cell::Volume(volume) if volume.is_zero()) || self.is_absent()
    }

    /// The sum with another value of the same kind; what has no sum adds nothing.
    #[must_use]
    pub fn plus(self, other: &Cell) -> Cell {
        match (self, other) {
            (Cell::Nothing, other @ (Cell::Volume(_) | Cell::Whole(_))) => other.clone(),
            (Cell::Volume(a), Cell::Volume(b)) => Cell::Volume(a + *b),
            (Cell::Whole(a), Cell::Whole(b)) => Cell::Whole(a.saturating_add(*b)),
            (sum, _) => sum,
        }
    }
}

/// For programs, under the names and in the forms of the exchange format.
impl Serialize for Cell {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Cell::Nothing => serializer.serialize_none(),
            Cell::Text(text) | Cell::Word(text) => serializer.serialize_str(text),
            Cell::Volume(volume) | Cell::Fine(volume) | Cell::Measured(volume) | Cell::Estimate(volume, _) => {
                volume.serialize(serializer)
            }
            Cell::Mass(mass) => mass.serialize(serializer),
            Cell::Whole(number) => serializer.serialize_i64(*number),
            Cell::Decimal(number) | Cell::Share(number) => serializer.serialize_f64(*number),
            Cell::Flag(flag) => serializer.serialize_bool(*flag),
            Cell::When(moment) => serializer.collect_str(moment),
            Cell::Day(day) => serializer.collect_str(day),
            Cell::List(values) => {
                let mut list = serializer.serialize_seq(Some(values.len()))?;
                values.iter().try_for_each(|value| list.serialize_element(value))?;
                list.end()
            }
            Cell::Thing(values) => {
                let mut thing = serializer.serialize_map(Some(values.len()))?;
                values.iter().try_for_each(|(name, value)| thing.serialize_entry(name, value))?;
                thing.end()
            }
            Cell::Form(value) => value.serialize(serializer),
        }
    }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Cell {
        value.map_or(Cell::Nothing, Into::into)
    }
}
impl From<&Label> for Cell {
    fn from(label: &Label) -> Cell {
        Cell::Text(label.to_string())
    }
}
impl From<&Text> for Cell {
    fn from(text: &Text) -> Cell {
        Cell::Text(text.to_string())
    }
}
impl From<&String> for Cell {
    fn from(text: &String) -> Cell {
        Cell::Text(text.clone())
    }
}
impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }
}
impl From<Volume> for Cell {
    fn from(volume: Volume) -> Cell {
        Cell::Volume(volume)
    }
}
impl From<Mass> for Cell {
    fn from(mass: Mass) -> Cell {
        Cell::Mass(mass)
    }
}
impl From<i64> for Cell {
    fn from(number: i64) -> Cell {
        Cell::Whole(number)
    }
}
impl From<u32> for Cell {
    fn from(number: u32) -> Cell {
        Cell::Whole(i64::from(number))
    }
}
impl From<u64> for Cell {
    fn from(number: u64) -> Cell {
        Cell::Whole(i64::try_from(number).unwrap_or(i64::MAX))
    }
}
impl From<usize> for Cell {
    fn from(number: usize) -> Cell {
        Cell::Whole(i64::try_from(number).unwrap_or(i64::MAX))
    }
}
impl From<f64> for Cell {
    fn from(number: f64) -> Cell {
        Cell::Decimal(number)
    }
}
impl From<Moment> for Cell {
    fn from(moment: Moment) -> Cell {
        Cell::When(moment)
    }
}
impl From<Day> for Cell {
    fn from(day: Day) -> Cell {
        Cell::Day(day)
    }
}
impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell::Text(text)
    }
}
impl From<bool> for Cell {
    fn from(flag: bool) -> Cell {
        Cell::Flag(flag)
    }
}
/// A number to as many decimals as can be meant.
pub(in crate::cli) fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    // Nought has no sign.
    (value * scale).round() / scale + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_are_told_litres_and_programs_microlitres() {
        let cell = Cell::from(Volume::from_ul(1_749_999));
        assert_eq!(
            [cell.in_table(), cell.on_card(), serde_json::to_string(&cell).unwrap()],
            ["1.7", "1.7 L", "1749999"]
        );
    }

    #[test]
    fn people_are_told_grams_and_millilitres_of_what_is_added() {
        let cells = [Cell::from(Mass::from_ug(7_812_500)), Cell::Measured(Volume::from_ul(78_125))];
        assert_eq!(cells.clone().map(|cell| cell.on_card()), ["7.81 g", "78.1 mL"]);
        assert_eq!(cells.map(|cell| cell.in_table()), ["7.81", "78.1"]);
    }

    #[test]
    fn nothing_that_moves_a_cursor_reaches_the_screen() {
        assert_eq!(Cell::from("a\u{1b}[2J\u{202e}\n").in_table(), "a·[2J··");
    }
}
