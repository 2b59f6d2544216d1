//! Tasting: a vessel's wine was tasted.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{LABEL_CHARACTERS, Label, Text, TextError};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, Taste, VesselId};
use std::sync::Arc;

/// The fact `tasted`: a vessel's wine was tasted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tasted {
    /// Which vessel.
    pub vessel: Label,
    /// A score from 0 to 20.
    #[serde(default)]
    pub score: Option<f64>,
    /// Words from the house's list.
    #[serde(default)]
    pub marks: Option<Vec<Label>>,
    /// Words of one's own.
    #[serde(default)]
    pub text: Option<Text>,
}

/// What a person says of a taste in one line, before it is said of a vessel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Impression {
    /// A score from 0 to 20.
    pub score: Option<f64>,
    /// The marks among the words.
    pub marks: Vec<Label>,
    /// The other words.
    pub text: Option<Text>,
}

impl Impression {
    /// Reads a line like `15 pl ta, a little hot at the end`: a score if it begins with one, then phrases between commas. The
    /// words that a phrase begins with are marks as far as they are on the list, by name or by key; what comes behind
    /// them is free text, so that "not reduced" names no fault.
    pub fn read(line: &str, state: &State) -> Result<Impression, TextError> {
        let (score, words) = score_first(line.trim());
        let (mut marks, mut phrases) = (Vec::new(), Vec::new());
        for phrase in words.split([',', ';']) {
            let mut words: &[&str] = &phrase.split_whitespace().collect::<Vec<_>>();
            while let Some((mark, rest)) = leading_mark(words, state) {
                if !marks.contains(mark) {
                    marks.push(mark.clone());
                }
                words = rest;
            }
            if !words.is_empty() {
                phrases.push(words.join(" "));
            }
        }
        let text = if phrases.is_empty() { None } else { Some(Text::new(&phrases.join(", "))?) };
        Ok(Impression { score, marks, text })
    }

    /// All of it in one line: the score, the marks, then one's own words.
    #[must_use]
    pub fn show(&self) -> String {
        let score = self.score.map(|score| score.to_string());
        let marks = self.marks.iter().map(ToString::to_string);
        let text = self.text.as_ref().map(|text| format!("\"{text}\""));
        score.into_iter().chain(marks).chain(text).collect::<Vec<_>>().join(", ")
    }

    /// Says it of a vessel.
    #[must_use]
    pub fn of(self, vessel: Label) -> Tasted {
        let marks = (!self.marks.is_empty()).then_some(self.marks);
        Tasted { vessel, score: self.score, marks, text: self.text }
    }
}

/// The mark that some words begin with, the longest there is, and the words behind it.
fn leading_mark<'a, 'w>(words: &'w [&'w str], state: &'a State) -> Option<(&'a Label, &'w [&'w str])> {
    (1..=words.len().min(LABEL_CHARACTERS / 2)).rev().find_map(|count| {
        let (first, rest) = words.split_at(count);
        Some((state.mark_called(&first.join(" "))?.mark, rest))
    })
}

/// A score at the beginning of a taste, and the words after it.
fn score_first(words: &str) -> (Option<f64>, &str) {
    let end = words.find(char::is_whitespace).unwrap_or(words.len());
    match words[..end].trim_end_matches([',', ';', ':']).replace(',', ".").parse::<f64>() {
        Ok(score) if score.is_finite() => (Some(score), words[end..].trim_start()),
        _ => (None, words),
    }
}

impl Taste {
    /// Whether one of its marks names a fault, as the cellar's list has it.
    #[must_use]
    pub fn has_fault(&self, state: &State) -> bool {
        !state.faults_among(&self.marks).is_empty()
    }
}

/// Refuses a taste that says nothing of what was tasted, or has a score that is none.
pub(in crate::cellar) fn says_something(
    of: &Label,
    score: Option<f64>,
    marks: Option<&[Label]>,
    text: Option<&Text>,
) -> Result<(), Refusal> {
    if let Some(score) = score.filter(|score| !(0.0..=20.0).contains(score)) {
        return Err(Refusal::ScoreOutOfRange(score));
    }
    if score.is_none() && marks.is_none_or(<[Label]>::is_empty) && text.is_none() {
        return Err(Refusal::NothingTasted(of.clone()));
    }
    Ok(())
}

impl Job for Tasted {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        let id = state.vessel(&self.vessel)?;
        says_something(&self.vessel, self.score, self.marks.as_deref(), self.text.as_ref())?;
        Ok(id)
    }

    fn doubt(&self, state: &State, &id: &VesselId) -> Option<Refusal> {
        state.vessels.get(id).wine.is_empty().then(|| Refusal::SourceEmpty(self.vessel.clone()))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        let vessel = state.vessels.get_mut(id);
        vessel.taste = Some(Arc::new(Taste {
            at: stamp.at,
            score: self.score,
            marks: self.marks.clone().unwrap_or_default(),
            text: self.text.clone(),
        }));
        vessel.taste_carried(stamp.at);
        vessel.history.remember(stamp, Event::Tasted(self.score));
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> (Option<f64>, String, String) {
        let read = Impression::read(line, &State::default()).unwrap();
        let marks: Vec<&str> = read.marks.iter().map(Label::as_str).collect();
        (read.score, marks.join("/"), read.text.map(|text| text.to_string()).unwrap_or_default())
    }

    #[test]
    fn a_taste_begins_with_its_score() {
        assert_eq!(score_first("14.5 plum, a little closed"), (Some(14.5), "plum, a little closed"));
        assert_eq!(score_first("14,5"), (Some(14.5), ""));
        assert_eq!(score_first("plum"), (None, "plum"));
        assert_eq!(score_first("nan plum"), (None, "nan plum"));
    }

    #[test]
    fn known_words_are_marks_and_the_others_stay_words() {
        let taken = |score, marks: &str, text: &str| (score, marks.to_owned(), text.to_owned());
        assert_eq!(read("15 pl ta"), taken(Some(15.0), "plum/tannic", ""));
        assert_eq!(read("14.5 plum, a little closed"), taken(Some(14.5), "plum", "a little closed"));
        assert_eq!(
            read("12 Volatile acidity, brett; pl pl"),
            taken(Some(12.0), "volatile acidity/Brettanomyces/plum", "")
        );
        assert_eq!(read("pp bell pepper good length"), taken(None, "black pepper/bell pepper", "good length"));
        assert_eq!(read("not reduced, no brett"), taken(None, "", "not reduced, no brett"));
        assert_eq!(read("  "), taken(None, "", ""));
    }
}
