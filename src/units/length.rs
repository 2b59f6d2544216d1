//! Lengths as a hand writes them, read as millimetres.

use thiserror::Error;

/// Reads a length: a decimal number (point or comma) and a unit, `30 mm`, `3,5 cm`, `1.2 in`; a bare number is
/// millimetres. Whether it can be what it is said to be is for the reader's caller to say: it may be below zero.
pub fn parse_millimetres(text: &str) -> Result<f64, ParseLengthError> {
    let text = text.trim();
    let refused = || ParseLengthError(text.chars().take(40).map(|c| if c.is_control() { '·' } else { c }).collect());
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−'))).unwrap_or(text.len());
    let number: f64 = text[..end].replace(',', ".").replace('−', "-").parse().map_err(|_| refused())?;
    let millimetres = number * millimetres_in(text[end..].trim()).ok_or_else(refused)?;
    if millimetres.is_finite() { Ok(millimetres) } else { Err(refused()) }
}

/// Whether a text ends with a unit of length.
#[must_use]
pub fn names_a_length(text: &str) -> bool {
    let unit = text.trim().trim_start_matches(|c: char| !c.is_alphabetic() && c != '"');
    !unit.is_empty() && millimetres_in(unit).is_some()
}

/// The inch is 25.4 mm exactly (NIST SP 811, Appendix B).
fn millimetres_in(unit: &str) -> Option<f64> {
    match unit.to_lowercase().as_str() {
        "" | "mm" => Some(1.0),
        "cm" => Some(10.0),
        "in" | "inch" | "inches" | "\"" => Some(25.4),
        _ => None,
    }
}

/// Why a text is no length.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("'{0}' is not a length. Write it like 30 mm, 3 cm or 1.2 in.")]
pub struct ParseLengthError(String);

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn reads_what_a_hand_writes() {
        for (text, mm) in
            [("30", 30.0), (" 30.5mm ", 30.5), ("3,5 CM", 35.0), ("2 in", 50.8), ("-3", -3.0), ("−3 mm", -3.0)]
        {
            assert_eq!(parse_millimetres(text), Ok(mm), "{text}");
        }
    }

    #[test]
    fn says_what_is_no_length() {
        for text in ["", "mm", "nan", "inf", "1e3", "3 L", "1.2.3", "--3", "thirty", "\u{1b}[2J"] {
            let told = parse_millimetres(text).unwrap_err().to_string();
            assert!(told.ends_with("Write it like 30 mm, 3 cm or 1.2 in.") && !told.contains('\u{1b}'), "{told}");
        }
        assert!(parse_millimetres(&"9".repeat(400)).is_err());
    }

    #[test]
    fn a_unit_of_length_is_told_from_others() {
        assert_eq!(
            ["30 mm", "3cm", "2\"", "30", "212 L", "mm"].map(names_a_length),
            [true, true, true, false, false, true]
        );
    }

    proptest! {
        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,30}") {
            prop_assert!(parse_millimetres(&text).is_ok_and(f64::is_finite) || parse_millimetres(&text).is_err());
            let _ = names_a_length(&text);
        }
    }
}
