//! Volume as a whole number of microlitres.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::customary::{DecimalMark, customary};
use super::decimal::{self, Decimal, NotDecimal, quoted};

/// A volume of liquid: a whole number of microlitres, never negative.
///
/// State is kept in this type only, so that every sum is exact. Subtraction says what happens at zero:
/// [`Volume::checked_sub`] or [`Volume::saturating_sub`].
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Volume(u64);

/// The largest volume that any fact may name: ten thousand hectolitres' worth a thousand times over (10⁹ L). It keeps
/// every sum of a lifetime's facts far inside 64 bits.
const MOST_LITRES: u64 = 1_000_000_000;

impl Volume {
    /// No volume at all.
    pub const ZERO: Volume = Volume(0);
    /// The largest volume that a fact may name, 10⁹ L.
    pub const MOST: Volume = Volume(MOST_LITRES * 1_000_000);

    /// A volume from whole microlitres.
    #[must_use]
    pub const fn from_ul(microlitres: u64) -> Volume {
        Volume(microlitres)
    }

    /// A volume from whole millilitres.
    #[must_use]
    pub const fn from_ml(millilitres: u64) -> Volume {
        Volume(millilitres * 1_000)
    }

    /// A volume from whole litres.
    #[must_use]
    pub const fn from_litres(litres: u64) -> Volume {
        Volume(litres * 1_000_000)
    }

    /// The nearest whole microlitre to a real number of litres, as a formula gives it. Below zero and not-a-number
    /// give zero; it never exceeds [`Volume::MOST`].
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the range just before
    pub fn nearest_to_litres(litres: f64) -> Volume {
        let microlitres = (litres * 1e6).round().clamp(0.0, Volume::MOST.0 as f64);
        Volume(microlitres as u64)
    }

    /// Whole microlitres.
    #[must_use]
    pub const fn as_ul(self) -> u64 {
        self.0
    }

    /// Litres as a real number, for formulas and pictures; never for the books.
    #[must_use]
    pub fn as_litres(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Whether this is no volume at all.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// `self − other`, or `None` where that would be less than nothing.
    #[must_use]
    pub const fn checked_sub(self, other: Volume) -> Option<Volume> {
        match self.0.checked_sub(other.0) {
            Some(left) => Some(Volume(left)),
            None => None,
        }
    }

    /// `self − other`, or zero where that would be less than nothing.
    #[must_use]
    pub const fn saturating_sub(self, other: Volume) -> Volume {
        Volume(self.0.saturating_sub(other.0))
    }

    /// Reads a volume as a person writes it: a decimal number (point or comma) and a unit, `12.5 L`, `1,7l`, `3 hL`,
    /// `250 ml`, `60 gal`. A bare number is in `unless_said`. Rounded to the nearest microlitre.
    pub fn parse(text: &str, unless_said: VolumeUnit) -> Result<Volume, ParseVolumeError> {
        let (number, unit) = Decimal::split(text).map_err(|problem| match problem {
            NotDecimal::NotANumber => ParseVolumeError::NotANumber(quoted(text)),
            NotDecimal::Negative => ParseVolumeError::Negative,
            NotDecimal::TooLarge => ParseVolumeError::TooLarge,
        })?;
        let unit = match unit {
            "" => unless_said,
            said => VolumeUnit::parse(said).ok_or_else(|| ParseVolumeError::UnknownUnit(quoted(said)))?,
        };
        let microlitres = number.times(unit.nanolitres(), 1_000);
        match u64::try_from(microlitres) {
            Ok(microlitres) if microlitres <= Volume::MOST.0 => Ok(Volume(microlitres)),
            _ => Err(ParseVolumeError::TooLarge),
        }
    }

    /// The volume in a unit, rounded half up to `decimals` places, without the unit's name: `1.7`.
    #[must_use]
    pub fn show_number(self, unit: VolumeUnit, decimals: u32) -> String {
        decimal::show(u128::from(self.0) * 1_000, u128::from(unit.nanolitres()), decimals)
    }

    /// The volume in the unit that is customary here, for a column whose heading says it: `1.7`.
    #[must_use]
    pub fn in_column(self, decimals: u32) -> String {
        let unit = VolumeUnit::customary();
        self.in_column_of(unit, if unit == VolumeUnit::UsGallon { decimals + 1 } else { decimals })
    }

    /// The volume in a unit, for a column whose heading says it, with the decimal sign that is customary here: `1.7`.
    #[must_use]
    pub fn in_column_of(self, unit: VolumeUnit, decimals: u32) -> String {
        DecimalMark::customary().written(&self.show_number(unit, decimals))
    }

    /// The volume in the unit that is customary here, with the unit's name and as many decimals as litres would have.
    pub(super) fn say(self, decimals: u32) -> String {
        let (unit, decimals) = VolumeUnit::said(self, decimals);
        self.show(unit, decimals)
    }

    /// The volume in a unit with the unit's name: `1.7 L`.
    #[must_use]
    pub fn show(self, unit: VolumeUnit, decimals: u32) -> String {
        format!("{} {}", self.in_column_of(unit, decimals), unit.symbol())
    }
}

/// Litres with as many decimals as are needed, so that no microlitre is hidden: `1.7 L`, `0.000001 L`. In a sentence (`{:#}`)
/// no more than is known: litres to 0.1, below 10 L to 0.01, below 1 L millilitres, without noughts at the end.
impl fmt::Display for Volume {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if f.alternate() {
            let (unit, decimals) = match self.0 {
                10_000_000.. | 0 => VolumeUnit::said(*self, 1),
                1_000_000.. => VolumeUnit::said(*self, 2),
                _ => (VolumeUnit::Millilitre, 1),
            };
            let number = self.show_number(unit, decimals);
            let number = DecimalMark::customary().written(number.trim_end_matches('0').trim_end_matches('.'));
            return write!(f, "{number} {}", unit.symbol());
        }
        write!(f, "{} L", DecimalMark::customary().written(&decimal::show_millionths(self.0)))
    }
}

impl Add for Volume {
    type Output = Volume;
    fn add(self, other: Volume) -> Volume {
        // Facts are bounded by `Volume::MOST`, so a sum can only reach the end of 64 bits in a forged log; there it
        // stays at the end rather than wrap or stop the program.
        Volume(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Volume {
    fn add_assign(&mut self, other: Volume) {
        *self = *self + other;
    }
}

impl Sum for Volume {
    fn sum<I: Iterator<Item = Volume>>(volumes: I) -> Volume {
        volumes.fold(Volume::ZERO, Add::add)
    }
}

/// A unit that people write volumes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum VolumeUnit {
    /// Millilitre.
    Millilitre,
    /// Litre.
    #[default]
    Litre,
    /// Hectolitre, 100 L (NIST SP 811, Appendix B).
    Hectolitre,
    /// United States gallon, 231 cubic inches = 3.785 411 784 L exactly (NIST SP 811, Appendix B).
    UsGallon,
}

impl VolumeUnit {
    /// Exact size in whole nanolitres.
    #[must_use]
    pub const fn nanolitres(self) -> u64 {
        match self {
            VolumeUnit::Millilitre => 1_000_000,
            VolumeUnit::Litre => 1_000_000_000,
            VolumeUnit::Hectolitre => 100_000_000_000,
            VolumeUnit::UsGallon => 3_785_411_784,
        }
    }

    /// The unit in which volumes are said and typed here.
    #[must_use]
    pub fn customary() -> VolumeUnit {
        match customary().volume {
            // Nobody tops a barrel by the hectolitre.
            VolumeUnit::Hectolitre => VolumeUnit::Litre,
            unit => unit,
        }
    }

    /// The unit in which one volume is said here, and its decimals where litres would have so many: a gallon has one more, up to a hundred.
    pub(super) fn said(volume: Volume, decimals: u32) -> (VolumeUnit, u32) {
        match customary().volume {
            VolumeUnit::Hectolitre if volume.0 >= 1_000_000_000 => (VolumeUnit::Hectolitre, decimals + 2),
            VolumeUnit::UsGallon if volume.0 < 378_541_178 => (VolumeUnit::UsGallon, decimals + 1),
            VolumeUnit::UsGallon => (VolumeUnit::UsGallon, decimals),
            _ => (VolumeUnit::Litre, decimals),
        }
    }

    /// How more than one of it are called.
    #[must_use]
    pub const fn plural(self) -> &'static str {
        match self {
            VolumeUnit::Millilitre => "millilitres",
            VolumeUnit::Litre => "litres",
            VolumeUnit::Hectolitre => "hectolitres",
            VolumeUnit::UsGallon => "gallons",
        }
    }

    /// How the unit is written after a number.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            VolumeUnit::Millilitre => "mL",
            VolumeUnit::Litre => "L",
            VolumeUnit::Hectolitre => "hL",
            VolumeUnit::UsGallon => "gal",
        }
    }

    /// The unit that a word names, without regard to case: `ml`, `l`, `litre`, `hl`, `gal`, `us gal`.
    #[must_use]
    pub fn parse(word: &str) -> Option<VolumeUnit> {
        match word.to_lowercase().as_str() {
            "ml" | "millilitre" | "millilitres" => Some(VolumeUnit::Millilitre),
            "l" | "litre" | "litres" | "liter" | "liters" => Some(VolumeUnit::Litre),
            "hl" | "hectolitre" | "hectolitres" => Some(VolumeUnit::Hectolitre),
            "gal" | "us gal" | "usgal" | "gallon" | "gallons" => Some(VolumeUnit::UsGallon),
            _ => None,
        }
    }
}

/// Why a text is no volume.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ParseVolumeError {
    /// It does not begin with a number.
    #[error("'{0}' is not a number of litres. Write it like 1.7 or 250 mL.")]
    NotANumber(String),
    /// It is below zero.
    #[error("Litres cannot be less than nothing. Write the volume without a minus sign.")]
    Negative,
    /// The unit is not one of ours.
    #[error("'{0}' is not a unit of volume. Use L, mL, hL or gal.")]
    UnknownUnit(String),
    /// More than any cellar holds.
    #[error("That is more wine than any cellar holds. The most is 1,000,000,000 L.")]
    TooLarge,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn litres(text: &str) -> Result<Volume, ParseVolumeError> {
        Volume::parse(text, VolumeUnit::Litre)
    }

    #[test]
    fn reads_what_a_hand_writes() {
        assert_eq!(litres("1.7"), Ok(Volume::from_ml(1_700)));
        assert_eq!(litres("1,7 l"), Ok(Volume::from_ml(1_700)));
        assert_eq!(litres(".5"), Ok(Volume::from_ml(500)));
        assert_eq!(litres("2."), Ok(Volume::from_litres(2)));
        assert_eq!(litres("250 mL"), Ok(Volume::from_ml(250)));
        assert_eq!(litres("2.25hL"), Ok(Volume::from_litres(225)));
        assert_eq!(Volume::parse("60", VolumeUnit::UsGallon), Ok(Volume::from_ul(227_124_707)));
    }

    /// NIST SP 811, Appendix B: 1 US gal = 231 in³ = 3.785 411 784 L exactly.
    #[test]
    fn the_gallon_is_exact() {
        assert_eq!(VolumeUnit::UsGallon.nanolitres(), 231 * 16_387_064);
        assert_eq!(litres("1000 gal"), Ok(Volume::from_ul(3_785_411_784)));
    }

    /// 27 CFR 24.300: a case of 12 × 750 mL is 2.37753 gallons.
    #[test]
    fn a_case_in_gallons_is_as_the_regulation_prints_it() {
        let case = Volume::from_ml(12 * 750);
        assert_eq!(case.show_number(VolumeUnit::UsGallon, 5), "2.37755");
        // The regulation rounds the bottle first: 0.198129 gal × 12 = 2.37755, printed there as 2.37753.
        assert!((case.as_litres() / 3.785_411_784 - 2.377_53).abs() < 3e-5);
    }

    #[test]
    fn says_what_is_wrong() {
        assert_eq!(litres("-3"), Err(ParseVolumeError::Negative));
        assert_eq!(litres("wine"), Err(ParseVolumeError::NotANumber("wine".into())));
        assert_eq!(litres("1.2.3"), Err(ParseVolumeError::NotANumber("1.2.3".into())));
        assert_eq!(litres("3 kg"), Err(ParseVolumeError::UnknownUnit("kg".into())));
        assert_eq!(litres("99999999999999999999"), Err(ParseVolumeError::TooLarge));
        assert!(litres("").is_err());
    }

    #[test]
    fn shows_and_hides_no_microlitre() {
        assert_eq!(Volume::from_ml(1_700).show(VolumeUnit::Litre, 1), "1.7 L");
        assert_eq!(Volume::from_ul(1_749_999).show(VolumeUnit::Litre, 1), "1.7 L");
        assert_eq!(Volume::from_ul(1_750_000).show(VolumeUnit::Litre, 1), "1.8 L");
        assert_eq!(Volume::from_ul(1).to_string(), "0.000001 L");
        let said = |microlitres| format!("{:#}", Volume::from_ul(microlitres));
        assert_eq!(
            [4_878_755, 228_000_000, 1_170_540_000, 250_000, 0, 100_000_000].map(said),
            ["4.88 L", "228 L", "1170.5 L", "250 mL", "0 L", "100 L"]
        );
        assert_eq!(Volume::from_litres(225).show(VolumeUnit::Hectolitre, 2), "2.25 hL");
    }

    proptest! {
        #[test]
        fn what_is_shown_is_read_back(ul in 0_u64..=Volume::MOST.as_ul()) {
            let volume = Volume::from_ul(ul);
            prop_assert_eq!(litres(&volume.to_string()), Ok(volume));
        }

        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,30}") {
            let _ = litres(&text);
        }
    }
}
