//! A line about a glass of a fining trial: `0.5: clear, 8 NTU, 14.5`: the dose, then what was seen, how turbid it was, and a
//! score of 20.

use thiserror::Error;

use super::FiningGlass;
use crate::cellar::core::label::{Text, TextError, harmless};
use crate::units::{ParseDoseError, parse_decimal, parse_dose};

/// Why a line says nothing of a glass.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum GlassLineError {
    /// Its dose is none.
    #[error(transparent)]
    Dose(#[from] ParseDoseError),
    /// It says a turbidity that is no number.
    #[error("'{0}' is no turbidity. Write a number before NTU, like 8 NTU.")]
    Turbidity(String),
    /// The words are no text.
    #[error(transparent)]
    Text(#[from] TextError),
}

impl FiningGlass {
    /// A glass of which only the dose is known, g/L.
    #[must_use]
    pub const fn of(dose_g_l: f64) -> FiningGlass {
        FiningGlass { dose_g_l, text: None, turbidity_ntu: None, score: None }
    }

    /// The glass in a line: its dose, what was seen, the turbidity, the score.
    #[must_use]
    pub fn words(&self) -> String {
        let text = self.text.as_ref().map(|text| format!("\"{text}\""));
        let turbidity = self.turbidity_ntu.map(|ntu| format!("{ntu} NTU"));
        let score = self.score.map(|score| format!("score {score}"));
        let seen: Vec<String> = [text, turbidity, score].into_iter().flatten().collect();
        let colon = if seen.is_empty() { "" } else { ": " };
        format!("{} g/L{colon}{}", self.dose_g_l, seen.join(", "))
    }

    /// Reads a line that begins with the dose; a colon stands before what was seen.
    pub fn read(line: &str) -> Result<FiningGlass, GlassLineError> {
        let (dose, seen) = line.split_once(':').unwrap_or((line, ""));
        let mut glass = FiningGlass::of(parse_dose(dose.trim())?);
        glass.see(seen)?;
        Ok(glass)
    }

    /// Takes what was seen, in parts with commas between: a bare number is the score, one before NTU the turbidity, the rest
    /// are words. What is not said stays.
    pub fn see(&mut self, seen: &str) -> Result<(), GlassLineError> {
        let mut words: Vec<&str> = Vec::new();
        for part in seen.split(", ").map(|part| part.trim().trim_end_matches(',')).filter(|part| !part.is_empty()) {
            if let Some(number) = before_ntu(part) {
                let ntu = parse_decimal(number).map_err(|_| GlassLineError::Turbidity(harmless(number)))?;
                self.turbidity_ntu = Some(ntu);
            } else if let Ok(score) = parse_decimal(part.strip_suffix("/20").unwrap_or(part)) {
                self.score = Some(score);
            } else {
                words.push(part);
            }
        }
        if !words.is_empty() {
            self.text = Some(Text::new(&words.join(", "))?);
        }
        Ok(())
    }
}

/// What stands before the unit of turbidity, where a part ends with it.
fn before_ntu(part: &str) -> Option<&str> {
    let at = part.len().checked_sub(3)?;
    let (number, unit) = (part.get(..at)?, part.get(at..)?);
    let number = number.trim();
    (unit.eq_ignore_ascii_case("ntu") && number.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-')))
        .then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> (f64, Option<f64>, Option<f64>, String) {
        let glass = FiningGlass::read(line).unwrap();
        (glass.dose_g_l, glass.turbidity_ntu, glass.score, glass.text.map_or_else(String::new, |text| text.to_string()))
    }

    #[test]
    fn a_glass_is_its_dose_and_what_was_seen() {
        assert_eq!(read("0.5"), (0.5, None, None, String::new()));
        assert_eq!(read("0: as it is, 42 NTU"), (0.0, Some(42.0), None, "as it is".to_owned()));
        assert_eq!(
            read("50 g/hL: clear, 8ntu, 14,5, lees firm"),
            (0.5, Some(8.0), Some(14.5), "clear, lees firm".to_owned())
        );
        assert_eq!(read("0.25: 14/20"), (0.25, None, Some(14.0), String::new()));
    }

    #[test]
    fn what_is_not_said_stays() {
        let mut glass = FiningGlass::read("0.5: hazy, 30 NTU").unwrap();
        glass.see("15").unwrap();
        glass.see("clear now").unwrap();
        assert_eq!(
            (glass.turbidity_ntu, glass.score, glass.text.unwrap().as_str()),
            (Some(30.0), Some(15.0), "clear now")
        );
    }

    #[test]
    fn what_is_none_is_a_sentence() {
        for (line, part) in [("much: clear", "much"), ("0.5 oz: clear", "oz"), ("0.5: 4.4.4 NTU", "is no turbidity")] {
            let error = FiningGlass::read(line).unwrap_err().to_string();
            assert!(error.contains(part) && error.ends_with('.'), "{line}: {error}");
        }
    }
}
