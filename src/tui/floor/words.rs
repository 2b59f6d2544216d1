//! A line of words about a vessel: a taste, a gauging, a reason to hold or to free it, a note.

use ratatui::text::{Line, Span};
use thiserror::Error;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, TEXT_CHARACTERS, Text, TextError};
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::holding::{Freed, Held};
use crate::cellar::jobs::floor::noting::Noted;
use crate::cellar::jobs::tests::marks::Mark;
use crate::cellar::jobs::tests::tasting::Impression;
use crate::cellar::jobs::topping::gauging::Gauged;
use crate::tui::core::asking;
use crate::tui::core::line::write_on;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::{columns, fit, shown, tail};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::despite::{self, Barred};
use crate::tui::floor::holding::Offer;
use crate::tui::floor::naming;
use crate::tui::floor::walking::Onward;
use crate::units::{ParseLengthError, ParseVolumeError, Volume, VolumeUnit, names_a_length, parse_millimetres};

/// What the words are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Matter {
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

impl Matter {
    /// What is asked.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Matter::Taste => "Taste, score first, then words or keys",
            Matter::Gauge => "Gauge, a dip like 30 mm or what it holds like 212 L",
            Matter::Hold => "Hold it, why",
            Matter::Free => "Free it, why",
            Matter::Note => "Note",
            Matter::Despite => "Despite the hold, why",
            Matter::Material => "is",
        }
    }

    /// What was done, once it is entered.
    const fn done(self) -> &'static str {
        match self {
            Matter::Taste => "tasted",
            Matter::Gauge => "gauged",
            Matter::Hold => "held",
            Matter::Free => "freed",
            Matter::Note | Matter::Despite | Matter::Material => "noted",
        }
    }
}

/// The line.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// What the words are.
    pub about: Matter,
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
    pub fn new(about: Matter, vessel: &Label) -> Words {
        Words { about, vessel: vessel.clone(), text: String::new(), barred: None }
    }

    /// An empty line for the reason of what a hold on a vessel bars.
    #[must_use]
    pub fn despite(vessel: &Label, barred: Barred) -> Words {
        Words { barred: Some(Box::new(barred)), ..Words::new(Matter::Despite, vessel) }
    }

    /// An empty line for what a material is that something waits for.
    #[must_use]
    pub fn naming(material: &Label, waits: Barred) -> Words {
        Words { barred: Some(Box::new(waits)), ..Words::new(Matter::Material, material) }
    }

    /// Takes a character or a paste; what could disturb a screen is left out.
    pub fn write(&mut self, text: &str) {
        write_on(&mut self.text, text, TEXT_CHARACTERS);
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
            self.write(&format!("{} ", mark.mark));
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
            Matter::Taste => What::Tasted(Box::new(Impression::read(words, state)?.of(vessel))),
            Matter::Gauge => What::Gauged(gauged(vessel, words)?),
            Matter::Hold => What::Held(Held { vessel, why: Text::new(words)? }),
            Matter::Free => What::Freed(Freed { vessel, why: Text::new(words)? }),
            Matter::Note => What::Noted(Noted { about: vessel, text: Text::new(words)? }),
            // They are no fact of their own: they stand on the facts that wait for them.
            Matter::Despite | Matter::Material => return Ok(None),
        }))
    }
}

impl Table for Words {
    const ABOUT: About = About {
        name: "A line of words",
        purpose: "Takes a line about the vessel that is looked at: a taste, a gauging, why it is held or freed, a note, or why something is \
                  done despite a hold. Every letter is a letter here; enter takes the line.\n\
                  A taste is a score from 0 to 20, then words or their keys: 14.5 pl ta, a little closed. Below it stands what \
                  enter makes of it, and which marks the word may become.\n\
                  What was refused stays in brackets: backspace edits it, another key starts anew, up brings it back.",
        opens: Opens::From("a key of the floor begins it"),
    };
    const ROWS: &'static [Row<Words>] = &[Row::new(
        Sense::OtherSide,
        "Complete the mark",
        "Writes out the nearest mark for the word that is being typed.",
        |page: &mut Words, model| {
            page.complete(&model.state);
            Turn::stay()
        },
    )
    .word(|_, _| Some("complete".to_owned()))
    .unless(Words::why_no_mark)];
}

impl Words {
    /// Why no word is completed, if none is.
    fn why_no_mark(&self, model: &Model) -> Option<String> {
        let why = match self.about {
            Matter::Taste if self.completion(&model.state).is_none() => {
                "No mark begins like that; what is typed stays your own word."
            }
            Matter::Taste => return None,
            _ => "Only the words of a taste are completed.",
        };
        Some(why.to_owned())
    }

    /// Enters what the words say.
    fn take(&self, model: &mut Model) -> Wishes {
        match self.fact(&model.state) {
            Ok(Some(what)) => {
                let taste = match &what {
                    What::Tasted(taste) => Some(&**taste),
                    _ => None,
                };
                let offer = Offer::after(taste.into_iter(), &model.state).map(Onward::Offer);
                let then = offer.map_or(Then::STAY, Onward::then);
                let whats = vec![what];
                // What cannot be is not asked about: the desk says why not.
                let can_be = whats.iter().all(|what| what.deed().permitted(&model.state, false).is_ok());
                if can_be && !asking::may_enter(model, &whats) {
                    return Vec::new();
                }
                model.enter(whats, format!("{} {}.", self.vessel, self.about.done()), then)
            }
            Ok(None) => model.refuse("Nothing is written yet. Write a few words, or press esc to go back."),
            Err(error) => model.refuse(error.to_string()),
        }
    }
}

impl Page for Words {
    fn title(&self, _model: &Model) -> String {
        format!("{} {}", self.vessel, self.about.question())
    }

    fn is_over(&self) -> bool {
        true
    }

    /// It is a line above the keys, and has no box.
    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let mut lines = vec![words_line(model, self, width)];
        if self.about == Matter::Taste {
            lines.push(taken_line(model, self, width));
            lines.push(near_line(model, self, width));
        }
        lines
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("take".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        let Some(barred) = self.barred.as_deref() else { return Some(self.take(model).into()) };
        let is_material = self.about == Matter::Material;
        Some(if is_material { naming::give(model, self, barred) } else { despite::give(model, self, barred) })
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let is_there = self.about == Matter::Material || model.state.vessels.find(self.vessel.as_str()).is_some();
        if is_there { Followed::There } else { Followed::Gone(self.vessel.to_string()) }
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
    Ok(Gauged::of_volume(vessel, Volume::parse(words, VolumeUnit::customary())?))
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

fn words_line(model: &Model, words: &Words, width: usize) -> Line<'static> {
    let vessel = fit(words.vessel.as_str(), 20, model.looks.marks);
    model.question_line(&format!(" {vessel} {}: ", words.about.question()), &words.text, width)
}

/// What enter makes of a taste as it stands: the score, the marks, then one's own words.
fn taken_line(model: &Model, words: &Words, width: usize) -> Line<'static> {
    let muted = model.looks.theme.style(Meaning::Muted);
    let marks = model.looks.marks;
    let said = match Impression::read(&words.text, &model.state) {
        Ok(said) if said != Impression::default() => said,
        Ok(_) => return Line::styled(fit(" for example: 14.5 pl ta, a little closed", width, marks), muted),
        Err(error) => return Line::styled(fit(&format!(" {error}"), width, marks), muted),
    };
    let faults = model.state.faults_among(&said.marks);
    let mut parts: Vec<String> = said.score.map(|score| score.to_string()).into_iter().collect();
    for mark in &said.marks {
        let fault = faults.iter().any(|fault| fault.mark == mark);
        parts.push(if fault { format!("{} {mark}", marks.warning) } else { mark.to_string() });
    }
    parts.extend(said.text.map(|text| format!("\"{text}\"")));
    let meaning = if faults.is_empty() { Meaning::Base } else { Meaning::Over };
    // What is typed last is at the end, so the end is seen.
    let parts = parts.join(", ");
    let room = width.saturating_sub(4);
    Line::styled(
        format!(" {}  {}", marks.yes, fit(&tail(&parts, room, marks), room, marks)),
        model.looks.theme.style(meaning),
    )
}

/// The marks that the word which is being typed may become, each behind its key; faults carry the sign of a warning.
fn near_line(model: &Model, words: &Words, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mut spans = vec![Span::raw(" ")];
    let mut left = width.saturating_sub(1);
    for (index, mark) in words.nearest_marks(&model.state).into_iter().enumerate() {
        let key = mark.key.map_or_else(String::new, |key| format!("{key} "));
        let sign = if mark.fault { format!("{} ", marks.warning) } else { String::new() };
        let warns = mark.warns.filter(|_| index == 0).map_or_else(String::new, |warns| format!(" ({warns})"));
        let name = shown(&format!("{sign}{}", mark.mark), marks);
        let taken = columns(&key) + columns(&name) + 2;
        if taken > left {
            break;
        }
        left -= taken;
        spans.push(Span::styled(key, theme.style(Meaning::Key)));
        spans.push(Span::styled(name, theme.style(if mark.fault { Meaning::Over } else { Meaning::Base })));
        if columns(&warns) <= left {
            left -= columns(&warns);
            spans.push(Span::styled(shown(&warns, marks), theme.style(Meaning::Muted)));
        }
        spans.push(Span::raw("  "));
    }
    Line::from(spans)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gauging_is_a_dip_or_a_volume_by_its_unit() {
        let fact = |text: &str| {
            let mut words = Words::new(Matter::Gauge, &Label::new("0417").unwrap());
            words.write(text);
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
        let mut words = Words::new(Matter::Note, &Label::new("0417").unwrap());
        words.write("a\u{1b}[2J\nb");
        assert_eq!(words.text, "a[2J b");
    }
}
