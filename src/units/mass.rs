//! Mass as a whole number of micrograms.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::customary::DecimalMark;
use super::decimal::{self, Decimal, NotDecimal, quoted};

/// Micrograms in a pound, exact (NIST SP 811).
const POUND_UG: u64 = 453_592_370;
/// Ounces in a pound.
const OUNCES: u64 = 16;

/// A mass of something that is added: a whole number of micrograms, never negative.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Mass(u64);

impl Mass {
    /// No mass at all.
    pub const ZERO: Mass = Mass(0);
    /// The largest mass that a fact may name: a thousand tonnes.
    pub const MOST: Mass = Mass(1_000_000_000_000_000);

    /// A mass from whole micrograms.
    #[must_use]
    pub const fn from_ug(micrograms: u64) -> Mass {
        Mass(micrograms)
    }

    /// A mass from whole milligrams.
    #[must_use]
    pub const fn from_mg(milligrams: u64) -> Mass {
        Mass(milligrams * 1_000)
    }

    /// A mass from whole grams.
    #[must_use]
    pub const fn from_grams(grams: u64) -> Mass {
        Mass(grams * 1_000_000)
    }

    /// The nearest whole microgram to a real number of grams, as a formula gives it. Below zero and not-a-number give
    /// zero; it never exceeds [`Mass::MOST`].
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the range just before
    pub fn nearest_to_grams(grams: f64) -> Mass {
        Mass((grams * 1e6).round().clamp(0.0, Mass::MOST.0 as f64) as u64)
    }

    /// Whole micrograms.
    #[must_use]
    pub const fn as_ug(self) -> u64 {
        self.0
    }

    /// Grams as a real number, for formulas and pictures; never for the books.
    #[must_use]
    pub fn as_grams(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Whether this is no mass at all.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// `self × part / whole` to the nearest microgram (a half goes up), at most [`Mass::MOST`]; nothing where `whole` is
    /// zero.
    #[must_use]
    pub fn part(self, part: u64, whole: u64) -> Mass {
        if whole == 0 {
            return Mass::ZERO;
        }
        let micrograms = (u128::from(self.0) * u128::from(part) + u128::from(whole) / 2) / u128::from(whole);
        u64::try_from(micrograms).map_or(Mass::MOST, |micrograms| Mass(micrograms).min(Mass::MOST))
    }

    /// Reads a mass as a person writes it: a decimal number (point or comma) and a unit, `7.8 g`, `250 mg`, `1,2 kg`, `2 oz`. A
    /// bare number is grams. Rounded to the nearest microgram.
    pub fn parse(text: &str) -> Result<Mass, ParseMassError> {
        let (number, unit) = Decimal::split(text).map_err(|problem| match problem {
            NotDecimal::NotANumber => ParseMassError::NotANumber(quoted(text)),
            NotDecimal::Negative => ParseMassError::Negative,
            NotDecimal::TooLarge => ParseMassError::TooLarge,
        })?;
        let (micrograms, parts) = match unit.to_lowercase().as_str() {
            "" | "g" | "gram" | "grams" => (1_000_000, 1),
            "mg" => (1_000, 1),
            "ug" | "µg" | "μg" => (1, 1),
            "kg" => (1_000_000_000, 1),
            "lb" | "lbs" => (POUND_UG, 1),
            "oz" => (POUND_UG, OUNCES),
            _ => return Err(ParseMassError::UnknownUnit(quoted(unit))),
        };
        match u64::try_from(number.times(micrograms, parts)) {
            Ok(mass) if mass <= Mass::MOST.0 => Ok(Mass(mass)),
            _ => Err(ParseMassError::TooLarge),
        }
    }

    /// The mass in grams, rounded half up to `decimals` places, without the unit: `7.8`.
    #[must_use]
    pub fn show_number(self, decimals: u32) -> String {
        decimal::show(u128::from(self.0), 1_000_000, decimals)
    }

    /// The same with the decimal sign that is customary here, for a column whose heading says the unit.
    #[must_use]
    pub fn in_column(self, decimals: u32) -> String {
        DecimalMark::customary().written(&self.show_number(decimals))
    }

    /// The mass in grams, rounded half up to `decimals` places, with the unit: `7.8 g`.
    #[must_use]
    pub fn show(self, decimals: u32) -> String {
        format!("{} g", self.in_column(decimals))
    }
}

/// Grams with as many decimals as are needed, so that no microgram is hidden: `7.8 g`.
impl fmt::Display for Mass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g", DecimalMark::customary().written(&decimal::show_millionths(self.0)))
    }
}

impl Add for Mass {
    type Output = Mass;
    fn add(self, other: Mass) -> Mass {
        // As with volumes: only a forged log reaches the end of 64 bits, and there the sum stays at the end.
        Mass(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Mass {
    fn add_assign(&mut self, other: Mass) {
        *self = *self + other;
    }
}

impl Sum for Mass {
    fn sum<I: Iterator<Item = Mass>>(masses: I) -> Mass {
        masses.fold(Mass::ZERO, Add::add)
    }
}

/// Why a text is no mass.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ParseMassError {
    /// It does not begin with a number.
    #[error("'{0}' is not a number of grams. Write it like 7.8 or 250 mg.")]
    NotANumber(String),
    /// It is below zero.
    #[error("A mass cannot be less than nothing. Write it without a minus sign.")]
    Negative,
    /// The unit is not one of ours.
    #[error("'{0}' is not a unit of mass. Use g, mg, µg, kg, oz or lb.")]
    UnknownUnit(String),
    /// More than any cellar has.
    #[error("That is more than any cellar uses. The most is 1,000,000 kg.")]
    TooLarge,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_what_a_hand_writes() {
        assert_eq!(Mass::parse("7.81"), Ok(Mass::from_mg(7_810)));
        assert_eq!(Mass::parse("7,81 g"), Ok(Mass::from_mg(7_810)));
        assert_eq!(Mass::parse("250mg"), Ok(Mass::from_mg(250)));
        assert_eq!(Mass::parse("1.2 kg"), Ok(Mass::from_grams(1_200)));
        assert_eq!(Mass::parse("3 µg"), Ok(Mass::from_ug(3)));
        // NIST SP 811: a pound is 453.59237 g, an ounce 28.349523125 g.
        assert_eq!(Mass::parse("2 lb"), Ok(Mass::from_ug(907_184_740)));
        assert_eq!(Mass::parse("1 oz"), Ok(Mass::from_ug(28_349_523)));
    }

    #[test]
    fn says_what_is_wrong() {
        assert_eq!(Mass::parse("-3"), Err(ParseMassError::Negative));
        assert_eq!(Mass::parse("3 L"), Err(ParseMassError::UnknownUnit("L".into())));
        assert_eq!(Mass::parse("x"), Err(ParseMassError::NotANumber("x".into())));
        assert_eq!(Mass::parse("1000001 kg"), Err(ParseMassError::TooLarge));
    }

    #[test]
    fn shows_and_hides_no_microgram() {
        assert_eq!(Mass::from_mg(7_810).show(1), "7.8 g");
        assert_eq!(Mass::from_ug(1).to_string(), "0.000001 g");
        assert_eq!(Mass::from_grams(9).to_string(), "9 g");
    }

    #[test]
    fn a_part_is_rounded_once_and_never_runs_over() {
        assert_eq!(Mass::from_ug(10).part(1, 3), Mass::from_ug(3));
        assert_eq!(Mass::from_ug(11).part(1, 2), Mass::from_ug(6));
        assert_eq!(Mass::MOST.part(u64::MAX, 1), Mass::MOST);
        assert_eq!(Mass::MOST.part(1, 0), Mass::ZERO);
    }

    proptest! {
        #[test]
        fn what_is_shown_is_read_back(ug in 0_u64..=Mass::MOST.as_ug()) {
            prop_assert_eq!(Mass::parse(&Mass::from_ug(ug).to_string()), Ok(Mass::from_ug(ug)));
        }

        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,30}") {
            let _ = Mass::parse(&text);
        }
    }
}
