//! The line that is written about an item of the checklist.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::jobs::finish::checklist::checking::{CheckDeclared, CheckWaived, Checked};
use crate::cellar::jobs::finish::checklist::item::{Item, TradeItem};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{self, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::then::Then;
use crate::units::parse_decimal;

/// A line that is being written.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckLine {
    lot: Label,
    item: Item,
    /// What it is.
    about: About,
    /// What is written.
    text: String,
    /// Whether it was asked if it may be dropped.
    is_asked: bool,
}

/// What a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// Why an item may stay open.
    Waiver,
    /// A figure or words beside a tick; of alcohol what stands on the label.
    Beside,
    /// An item of the house.
    OwnItem,
}

impl Table for CheckLine {
    const ABOUT: page::About = page::About {
        name: "A line of the checklist",
        purpose: "Takes why an item is waived, what stands beside a tick, or an item of the house. What is written is dropped by the second \
                  esc only.",
        opens: Opens::From("a key of the checklist begins it"),
    };
    const ROWS: &'static [Row<CheckLine>] = &[];
}

impl CheckLine {
    pub(super) fn new(lot: Label, item: Item, about: About) -> CheckLine {
        CheckLine { lot, item, about, text: String::new(), is_asked: false }
    }

    /// What is asked.
    fn question(&self) -> String {
        match self.about {
            About::Waiver => format!(" {}: waive it, why: ", self.item),
            About::Beside if self.item == Item::Trade(TradeItem::Alcohol) => {
                " alcohol on the label, % vol: ".to_owned()
            }
            About::Beside => format!(" {} is met, figure then words: ", self.item),
            About::OwnItem => " own item, name: what is asked: ".to_owned(),
        }
    }
}

impl Page for CheckLine {
    fn title(&self, _model: &Model) -> String {
        CheckLine::ABOUT.name.to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        vec![model.question_line(&self.question(), &self.text, width)]
    }

    fn rewritten(&mut self, _model: &mut Model) {
        self.is_asked = false;
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

    /// Makes a fact of the line.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(match fact(self) {
            Ok((what, say)) => model.enter(vec![what], say, Then::STAY).into(),
            Err(why) => model.refuse(why).into(),
        })
    }

    fn esc_word(&self, _model: &Model) -> Option<String> {
        Some("back".to_owned())
    }

    /// Puts the line away, once it was asked where something is written.
    fn esc(&mut self, model: &mut Model) -> Turn {
        if self.is_asked || self.text.trim().is_empty() {
            return Turn::back();
        }
        self.is_asked = true;
        model.say("What is written is not entered yet. enter takes it, esc again drops it.", Tone::Notice);
        Turn::stay()
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let lot = model.state.lots.find(self.lot.as_str());
        let is_there = lot.is_some_and(|lot| model.state.checklist(lot).iter().any(|check| check.item == self.item));
        if is_there { Followed::There } else { Followed::Gone(format!("The item '{}'", self.item)) }
    }
}

/// What a line says, and what is told once it is stored.
fn fact(line: &CheckLine) -> Result<(What, String), String> {
    let written = line.text.trim();
    let label = |text: &str| Label::new(text).map_err(|error| error.to_string());
    let words = |text: &str| Text::new(text).map_err(|error| error.to_string());
    let (lot, item) = (line.lot.clone(), label(&line.item.to_string())?);
    match line.about {
        About::Waiver if written.is_empty() => Err("Say why it may stay open: the reason is kept.".to_owned()),
        About::Waiver => {
            let say = format!("{item} is waived.");
            Ok((What::CheckWaived(CheckWaived { lot, item, why: words(written)? }), say))
        }
        About::Beside => {
            let (value, text) = figure_and_words(written);
            if value.is_none() && line.item == Item::Trade(TradeItem::Alcohol) {
                return Err("Begin with what stands on the label in % vol, for example 13.5.".to_owned());
            }
            if value.is_none() && text.is_empty() {
                return Err("Write a figure, words, or both: for example 18 index of the laboratory.".to_owned());
            }
            let text = if text.is_empty() { None } else { Some(words(text)?) };
            let say = format!("{item} is ticked: met.");
            Ok((What::Checked(Box::new(Checked { lot, item, met: true, value, text })), say))
        }
        About::OwnItem => {
            let (name, asks) = written.split_once(':').unwrap_or((written, ""));
            let text = if asks.trim().is_empty() { None } else { Some(words(asks.trim())?) };
            let item = label(name.trim())?;
            let say = format!("{item} stands on every checklist of this house; a run waits for it.");
            Ok((What::CheckDeclared(CheckDeclared { item, required: true, text, lot: None }), say))
        }
    }
}

/// The figure that a line begins with, if it does, and what follows.
fn figure_and_words(line: &str) -> (Option<f64>, &str) {
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    match parse_decimal(first) {
        Ok(figure) => (Some(figure), rest.trim()),
        Err(_) => (None, line),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_stands_before_its_words() {
        assert_eq!(figure_and_words("13.5"), (Some(13.5), ""));
        assert_eq!(figure_and_words("18 index of the laboratory"), (Some(18.0), "index of the laboratory"));
        assert_eq!(figure_and_words("no haze, 3 days"), (None, "no haze, 3 days"));
    }
}
