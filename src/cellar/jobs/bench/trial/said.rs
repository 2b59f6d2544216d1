//! What a taster says of a glass in one line: `14.5 plum, a little closed`, or `2= plum` where glasses are ranked.

use thiserror::Error;

use super::Trial;
use super::code::Code;
use super::rating::GlassRated;
use crate::cellar::core::label::{Label, Text, TextError, harmless};
use crate::units::parse_decimal;

/// By what the glasses of a flight are told apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Scale {
    /// Each has a score from 0 to 20.
    #[default]
    Score,
    /// Each has a rank among the glasses of the flight, the best 1.
    Rank,
}

impl Scale {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Scale {
        match self {
            Scale::Score => Scale::Rank,
            Scale::Rank => Scale::Score,
        }
    }

    /// What its numbers are called.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Scale::Score => "score",
            Scale::Rank => "rank",
        }
    }

    /// A line as it may be written.
    #[must_use]
    pub const fn example(self) -> &'static str {
        match self {
            Scale::Score => "14.5 plum, a little closed",
            Scale::Rank => "2 plum, a little closed",
        }
    }
}

/// What is said of a glass, before it is said of which.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    /// The score or the rank.
    pub number: Option<f64>,
    /// The words behind it.
    pub text: Option<Text>,
}

/// Why a line says nothing of a glass.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum SaidError {
    /// It begins with figures that are no number.
    #[error("'{word}' is no {}. Write the {} first, like {}.", .scale.word(), .scale.word(), .scale.example())]
    NoNumber {
        /// The first word.
        word: String,
        /// What it should be.
        scale: Scale,
    },
    /// It says a score as a shared rank.
    #[error("'{0}' is a rank that glasses share, and scores are written here. Write a score, or rank the glasses.")]
    SharedScore(String),
    /// The words are no text.
    #[error(transparent)]
    Text(#[from] TextError),
}

impl Said {
    /// Reads a line: a number if it begins with one, then words. Behind a rank `=` may say that glasses share it.
    pub fn read(line: &str, scale: Scale) -> Result<Said, SaidError> {
        let line = line.trim();
        let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let first = first.trim_end_matches([',', ';', ':']);
        let begins_a_number = first.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−'));
        let (number, words) = if begins_a_number && first.contains(|c: char| c.is_ascii_digit()) {
            (Some(number(first, scale)?), rest.trim())
        } else {
            (None, line)
        };
        let text = if words.is_empty() { None } else { Some(Text::new(words)?) };
        Ok(Said { number, text })
    }

    /// Says it of a glass. What it does not say stays as it was said before: the words, when a number is corrected, and
    /// the score, when a rank is given.
    #[must_use]
    pub fn of(self, trial: &Trial, taster: &Label, flight: u32, code: Code, scale: Scale) -> GlassRated {
        let before = trial.rating(taster, flight, code);
        let [mut score, mut rank] = [before.and_then(|said| said.score), before.and_then(|said| said.rank)];
        match scale {
            Scale::Score => score = self.number.or(score),
            Scale::Rank => rank = self.number.or(rank),
        }
        let text = self.text.or_else(|| before?.text.clone());
        let (trial, taster) = (trial.label.clone(), taster.clone());
        GlassRated { trial, taster, code, flight: Some(flight), score, rank, text }
    }
}

fn number(word: &str, scale: Scale) -> Result<f64, SaidError> {
    let bare = match (word.strip_suffix('='), scale) {
        (Some(_), Scale::Score) => return Err(SaidError::SharedScore(harmless(word))),
        (Some(bare), Scale::Rank) => bare,
        (None, _) => word,
    };
    parse_decimal(bare).map_err(|_| SaidError::NoNumber { word: harmless(word), scale })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str, scale: Scale) -> (Option<f64>, Option<String>) {
        let said = Said::read(line, scale).unwrap();
        (said.number, said.text.map(|text| text.as_str().to_owned()))
    }

    #[test]
    fn a_line_begins_with_its_number_if_it_has_one() {
        let words = |text: &str| Some(text.to_owned());
        assert_eq!(read("14.5", Scale::Score), (Some(14.5), None));
        assert_eq!(read(" 14,5 plum, long ", Scale::Score), (Some(14.5), words("plum, long")));
        assert_eq!(read("14, plum", Scale::Score), (Some(14.0), words("plum")));
        assert_eq!(read("plum 14", Scale::Score), (None, words("plum 14")));
        assert_eq!(read("- plum", Scale::Score), (None, words("- plum")));
        assert_eq!(read("", Scale::Score), (None, None));
        assert_eq!(read("2= plum", Scale::Rank), (Some(2.0), words("plum")));
        assert_eq!(read("2.5", Scale::Rank), (Some(2.5), None));
    }

    #[test]
    fn figures_that_are_no_number_are_no_words() {
        for (line, scale, sentence) in [
            ("1x4 plum", Scale::Score, "'1x4' is no score. Write the score first, like 14.5 plum, a little closed."),
            ("1.4.5", Scale::Score, "'1.4.5' is no score."),
            ("2== plum", Scale::Rank, "'2==' is no rank. Write the rank first, like 2 plum"),
            ("2= plum", Scale::Score, "'2=' is a rank that glasses share, and scores are written here."),
        ] {
            let error = Said::read(line, scale).unwrap_err().to_string();
            assert!(error.starts_with(sentence), "{line}: {error}");
        }
    }
}
