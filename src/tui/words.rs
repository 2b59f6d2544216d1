//! A line of words about a vessel: a taste, a gauging, a reason to hold or to free it, a note.

use thiserror::Error;

use crate::cellar::fact::What;
use crate::cellar::gauging::Gauged;
use crate::cellar::holding::{Freed, Held};
use crate::cellar::label::{Label, TEXT_CHARACTERS, Text, TextError, is_unsafe};
use crate::cellar::marks::Mark;
use crate::cellar::noting::Noted;
use crate::cellar::state::State;
use crate::cellar::tasting::Impression;
use crate::tui::despite::Barred;
use crate::units::{ParseLengthError, ParseVolumeError, Volume, VolumeUnit, names_a_length, parse_millimetres};

/// What the words are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// A taste: a score and words.
    Taste,
    /// A gauging: a dip or a volume.
    Gauge,
    /// Why it is held.
    Hold,
    /// Why it is freed.
    Free,
    /// A note.
    Note,
    /// Why something is done despite a hold.
    Despite,
    /// What a material is.
    Material,
}

impl About {
    /// What is asked.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            About::Taste => "Taste, score first, then words or keys",
            About::Gauge => "Gauge, a dip like 30 mm or what it holds like 212 L",
            About::Hold => "Hold it, why",
            About::Free => "Free it, why",
            About::Note => "Note",
            About::Despite => "Despite the hold, why",
            About::Material => "is",
        }
    }
}

/// The line.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// What the words are.
    pub about: About,
    /// The vessel, or the material, that they are about.
    pub vessel: Label,
    /// The words so far.
    pub text: String,
    /// What waits for them, where they are the reason of something.
    pub barred: Option<Box<Barred>>,
}

impl Words {
    /// An empty line.
    #[must_use]
    pub fn new(about: About, vessel: &Label) -> Words {
        Words { about, vessel: vessel.clone(), text: String::new(), barred: None }
    }

    /// An empty line for the reason of what a hold on a vessel bars.
    #[must_use]
    pub fn despite(vessel: &Label, barred: Barred) -> Words {
        Words { barred: Some(Box::new(barred)), ..Words::new(About::Despite, vessel) }
    }

    /// An empty line for what a material is that something waits for.
    #[must_use]
    pub fn naming(material: &Label, waits: Barred) -> Words {
        Words { barred: Some(Box::new(waits)), ..Words::new(About::Material, material) }
    }

    /// Takes a character or a paste; what could disturb a screen is left out.
    pub fn type_in(&mut self, text: &str) {
        for character in text.chars() {
            let character = if matches!(character, '\n' | '\t' | '\r') { ' ' } else { character };
            if !is_unsafe(character) && self.text.chars().count() < TEXT_CHARACTERS {
                self.text.push(character);
            }
        }
    }

    /// The word that is being typed: what follows the last space or comma.
    fn unfinished(&self) -> &str {
        self.text.rsplit([' ', ',', ';']).next().unwrap_or_default()
    }

    /// The marks that the word which is being typed may become, the nearest first.
    #[must_use]
    pub fn nearest_marks<'a>(&self, state: &'a State) -> Vec<Mark<'a>> {
        let word = self.unfinished();
        // A score is no word, though a mark may have a figure in it.
        if word.starts_with(|first: char| first.is_ascii_digit()) { Vec::new() } else { state.marks_near(word) }
    }

    /// The mark that the word which is being typed is completed to, if one was begun.
    #[must_use]
    pub fn completion<'a>(&self, state: &'a State) -> Option<Mark<'a>> {
        self.nearest_marks(state).into_iter().next().filter(|_| !self.unfinished().is_empty())
    }

    /// Writes out the nearest mark for the word that is being typed.
    pub fn complete(&mut self, state: &State) {
        if let Some(mark) = self.completion(state) {
            self.text.truncate(self.text.len() - self.unfinished().len());
            self.type_in(&format!("{} ", mark.mark));
        }
    }

    /// The fact that the words make; none where nothing was written.
    pub fn fact(&self, state: &State) -> Result<Option<What>, WordsError> {
        let words = self.text.trim();
        if words.is_empty() {
            return Ok(None);
        }
        let vessel = self.vessel.clone();
        Ok(Some(match self.about {
            About::Taste => What::Tasted(Box::new(Impression::read(words, state)?.of(vessel))),
            About::Gauge => What::Gauged(gauged(vessel, words)?),
            About::Hold => What::Held(Held { vessel, why: Text::new(words)? }),
            About::Free => What::Freed(Freed { vessel, why: Text::new(words)? }),
            About::Note => What::Noted(Noted { about: vessel, text: Text::new(words)? }),
            // They are no fact of their own: they stand on the facts that wait for them.
            About::Despite | About::Material => return Ok(None),
        }))
    }
}

/// A gauging: with a unit of length a dip, with one of volume what the vessel holds. A bare number could be either.
fn gauged(vessel: Label, words: &str) -> Result<Gauged, WordsError> {
    if names_a_length(words) {
        return Ok(Gauged { vessel, volume: None, dip_mm: Some(parse_millimetres(words)?), cause: None });
    }
    if !words.contains(char::is_alphabetic) {
        return Err(WordsError::NoUnit(words.chars().take(20).collect()));
    }
    Ok(Gauged::of_volume(vessel, Volume::parse(words, VolumeUnit::Litre)?))
}

/// Why words make no fact.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WordsError {
    /// They are no words.
    #[error(transparent)]
    Text(#[from] TextError),
    /// They are no length.
    #[error(transparent)]
    Length(#[from] ParseLengthError),
    /// They are no volume.
    #[error(transparent)]
    Volume(#[from] ParseVolumeError),
    /// They are a number that could be a dip or a volume.
    #[error("Say what {0} is: with mm behind it a dip under the bung, with L what the vessel holds.")]
    NoUnit(String),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gauging_is_a_dip_or_a_volume_by_its_unit() {
        let fact = |text: &str| {
            let mut words = Words::new(About::Gauge, &Label::new("0417").unwrap());
            words.type_in(text);
            words.fact(&State::default())
        };
        let gauged = |text: &str| match fact(text) {
            Ok(Some(What::Gauged(gauged))) => (gauged.volume, gauged.dip_mm),
            other => panic!("{text}: {other:?}"),
        };
        assert_eq!([gauged("30 mm"), gauged("3,5cm")], [(None, Some(30.0)), (None, Some(35.0))]);
        assert_eq!([gauged("212 L"), gauged("2.12 hl")], [(Some(Volume::from_litres(212)), None); 2]);
        assert_eq!(fact("  "), Ok(None));
        for (text, part) in [
            ("30", "Say what 30 is"),
            ("1.2.3 mm", "is not a length"),
            ("-3 L", "less than nothing"),
            ("a lot", "is not a number of litres"),
        ] {
            assert!(fact(text).unwrap_err().to_string().contains(part), "{text}");
        }
    }

    #[test]
    fn what_could_disturb_a_screen_is_not_typed() {
        let mut words = Words::new(About::Note, &Label::new("0417").unwrap());
        words.type_in("a\u{1b}[2J\nb");
        assert_eq!(words.text, "a[2J b");
    }
}
