//! Decimal numbers as a hand writes them: with a unit, kept exact until the unit is known, or bare, for a formula.

use thiserror::Error;

/// A number read from a text: `digits / scale`, exactly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Decimal {
    digits: u128,
    scale: u128,
}

/// Why a text does not begin with a number that can be a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NotDecimal {
    /// It does not begin with a number, or not with one.
    NotANumber,
    /// It is below zero.
    Negative,
    /// It has more digits than any quantity.
    TooLarge,
}

/// Twelve decimals are beyond any quantity's last place; further ones are passed over.
const DECIMALS: usize = 12;
/// More digits than this before the point are no quantity.
const DIGITS: usize = 15;

impl Decimal {
    /// Splits a text into its number (point or comma) and the unit behind it.
    pub fn split(text: &str) -> Result<(Decimal, &str), NotDecimal> {
        let text = text.trim();
        let digits_end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(text.len());
        let (number, unit) = text.split_at(digits_end);
        if number.is_empty() {
            return Err(if unit.starts_with(['-', '−']) { NotDecimal::Negative } else { NotDecimal::NotANumber });
        }
        let (whole, fraction) = match number.find(['.', ',']) {
            Some(point) => (&number[..point], &number[point + 1..]),
            None => (number, ""),
        };
        if fraction.contains(['.', ',']) || (whole.is_empty() && fraction.is_empty()) {
            return Err(NotDecimal::NotANumber);
        }
        if whole.trim_start_matches('0').len() > DIGITS {
            return Err(NotDecimal::TooLarge);
        }
        let fraction = &fraction[..fraction.len().min(DECIMALS)];
        let scale = 10_u128.pow(u32::try_from(fraction.len()).unwrap_or(0));
        let parsed = |digits: &str| digits.parse::<u128>().unwrap_or(0);
        Ok((Decimal { digits: parsed(whole) * scale + parsed(fraction), scale }, unit.trim()))
    }

    /// The number times a size, divided by another, to the nearest whole (a half goes up).
    pub fn times(self, size: u64, divided_by: u64) -> u128 {
        let divisor = self.scale * u128::from(divided_by);
        (self.digits * u128::from(size) + divisor / 2) / divisor
    }
}

/// A whole number divided by the size of a unit, rounded half up to some decimals.
pub(super) fn show(whole: u128, size: u128, decimals: u32) -> String {
    let scale = 10_u128.pow(decimals);
    let scaled = (whole * scale + size / 2) / size;
    if decimals == 0 {
        return scaled.to_string();
    }
    let width = decimals as usize;
    format!("{}.{:0width$}", scaled / scale, scaled % scale)
}

/// A whole number of millionths of a unit with as many decimals as it needs: `1.7`, `0.000001`.
pub(super) fn show_millionths(millionths: u64) -> String {
    let (whole, rest) = (millionths / 1_000_000, millionths % 1_000_000);
    if rest == 0 {
        return whole.to_string();
    }
    let decimals = format!("{rest:06}");
    format!("{whole}.{}", decimals.trim_end_matches('0'))
}

/// As much of a text as a sentence can quote, without what could disturb a screen.
pub(super) fn quoted(text: &str) -> String {
    text.trim().chars().take(40).map(|c| if c.is_control() { '·' } else { c }).collect()
}

/// Reads a number without a unit, as a real: `3.6`, `3,6`, `-2`. Whether it can be what it is said to be is for the
/// caller to say.
pub fn parse_decimal(text: &str) -> Result<f64, ParseDecimalError> {
    let refused = || ParseDecimalError(quoted(text));
    let text = text.trim();
    if !text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−')) {
        return Err(refused());
    }
    let number: f64 = text.replace(',', ".").replace('−', "-").parse().map_err(|_| refused())?;
    if number.is_finite() { Ok(number) } else { Err(refused()) }
}

/// Why a text is no number.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("'{0}' is not a number. Write it like 3.6.")]
pub struct ParseDecimalError(String);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_read_with_point_or_comma() {
        for (text, number) in [("3.6", 3.6), (" 3,6 ", 3.6), ("-2", -2.0), ("−0.5", -0.5), (".5", 0.5), ("14", 14.0)]
        {
            assert_eq!(parse_decimal(text), Ok(number), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_is_said() {
        for text in ["", "nan", "inf", "1e3", "3.6 mg", "1.2.3", "--3", "-", "\u{1b}[2J"] {
            let told = parse_decimal(text).unwrap_err().to_string();
            assert!(told.ends_with("is not a number. Write it like 3.6.") && !told.contains('\u{1b}'), "{told}");
        }
        assert!(parse_decimal(&"9".repeat(400)).is_err());
    }
}
