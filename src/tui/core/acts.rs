//! What can be done here: the acts of a page, chosen by arrow, digit or typing, each with its key where it has one and with why
//! it cannot be done now where that is so.
//!
//! **Enter once too often** does nothing: where enter takes what is typed, the list that it opens has nothing chosen, and a figure typed
//! into it is typed on the page (`core/acts.rs`). What is pasted with enter behind it is taken on the floor, since a scanner is a keyboard
//! there; elsewhere it is written and said to be not taken yet.
//!
//! **A command without a key** (`Row::listed`) stands in the list that enter opens on its page, first there, and in the find box.

use crossterm::event::KeyCode;
use ratatui::text::Line;

use super::page::{About, Before, Doing, Followed, Go, Goes, Offer, Opens, Page, Row, Table, Turn, Way};
use super::sense::Sense;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::line::Manner;
use crate::tui::core::line::write_on;
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, left};

/// No act has a longer name.
const LONGEST: usize = 40;

/// The list of what can be done on the page under it.
#[derive(Debug)]
pub struct Acts {
    /// What the page is called.
    of: String,
    /// Its commands as they stood when the list was opened.
    offers: Vec<Offer>,
    /// What is typed.
    query: String,
    /// What is chosen. On a page where enter takes what is typed it is nothing at first: enter that is pressed once too often does nothing.
    chosen: Choice<Doing>,
    /// Whether digits are typed on that page.
    digits: bool,
    /// Whether each is a figure there: then it is no number of a line.
    figures: bool,
}

/// All that can be done on a page: its commands, and on the floor the ways into the other rooms. Where letters are words there, a
/// letter is no key.
pub(super) fn all(page: &dyn Page, model: &Model) -> Vec<Offer> {
    let way = |(at, way): (usize, &Way)| Offer {
        doing: Doing::Way(at),
        sense: way.sense,
        title: way.title,
        help: way.help,
        also: way.also,
        word: None,
        why_not: (way.why_not)(model),
    };
    let rooms = page.opens_rooms().then(|| model.house.ways().enumerate().map(way));
    let is_key = |sense: &Sense| !matches!(sense.key(), KeyCode::Char(sign) if page.takes(model, sign));
    let all = page.offers(model).into_iter().chain(rooms.into_iter().flatten());
    all.map(|offer| Offer { sense: offer.sense.filter(is_key), ..offer }).collect()
}

impl Table for Acts {
    const ABOUT: About = About {
        name: "What can be done here",
        purpose: "Lists what can be done with what is chosen. Arrows, a digit or a few letters choose a line, enter takes it; where a digit is a figure it has none, and goes to the page; the key at \
                  its end does the same without the list. What cannot be done now says why.",
        opens: Opens::From("enter opens it"),
    };
    const ROWS: &'static [Row<Acts>] = &[];
}

impl Acts {
    /// What can be done on a page.
    pub(super) fn of(page: &dyn Page, model: &Model) -> Acts {
        let listed =
            |offer: &Offer| !matches!(offer.sense, Some(Sense::Help | Sense::Leave | Sense::Before | Sense::After));
        let mut offers: Vec<Offer> = all(page, model).into_iter().filter(listed).collect();
        // What has a key is found by that; the rest is looked for here, and first what can be done now.
        let first = page.begins_with(model);
        offers.sort_by_key(|offer| (Some(offer.title) != first, offer.sense.is_some(), offer.why_not.is_some()));
        let (digits, figures) = (page.takes(model, '1'), page.takes_figures(model));
        let acts =
            Acts { of: page.title(model), offers, query: String::new(), chosen: Choice::default(), digits, figures };
        Acts { chosen: acts.first(), ..acts }
    }

    /// Whether nothing can be done there.
    pub(super) fn is_empty(&self) -> bool {
        self.offers.is_empty()
    }

    /// The line of a digit, else the first of those that are shown; nothing where nothing is typed and enter may be one too many.
    fn first(&self) -> Choice<Doing> {
        if self.query.is_empty() && self.digits {
            Choice::default()
        } else {
            Choice::at(&self.doings(), self.digit().unwrap_or(0))
        }
    }

    /// Which line is meant where a digit is typed and nothing else: it is only chosen by that, and enter takes it.
    fn digit(&self) -> Option<usize> {
        let mut signs = self.query.chars();
        let line = signs.next()?.to_digit(10)?.checked_sub(1)?;
        signs.next().is_none().then_some(line as usize)
    }

    /// What fits what is typed.
    fn shown(&self) -> Vec<&Offer> {
        let query = if self.digit().is_some() { String::new() } else { self.query.to_lowercase() };
        let says = |text: &str| text.to_lowercase().contains(&query);
        self.offers.iter().filter(|offer| says(offer.title) || offer.also.iter().any(|also| says(also))).collect()
    }

    /// Gives the command of a row, or says why it cannot be given now.
    fn take(&self, model: &mut Model, doing: Option<Doing>) -> Turn {
        let offer = self.offers.iter().find(|offer| Some(offer.doing) == doing);
        let why = match offer {
            Some(Offer { doing, why_not: None, .. }) => {
                return Turn { wishes: Vec::new(), goes: Goes::BackAndDo(*doing) };
            }
            Some(Offer { why_not: Some(why), .. }) => why.clone(),
            None if self.query.is_empty() => {
                "Nothing is chosen: an arrow, a letter or a digit chooses, esc goes back.".to_owned()
            }
            None => "Nothing here is called so. Backspace takes letters back.".to_owned(),
        };
        model.refuse(why).into()
    }

    fn doings(&self) -> Vec<Doing> {
        self.shown().iter().map(|offer| offer.doing).collect()
    }

    /// A line of the list: its digit, its name, and its key or why not.
    fn line(&self, model: &Model, doing: Doing, width: usize) -> String {
        let shown = self.shown();
        let Some(at) = shown.iter().position(|offer| offer.doing == doing) else { return String::new() };
        let offer = shown[at];
        let digit = if at < 9 && !self.figures { (at + 1).to_string() } else { " ".to_owned() };
        let key = offer.sense.map_or_else(String::new, Sense::key_name);
        // The keys and reasons stand below each other; a name is cut only where that leaves them no room.
        let longest = self.offers.iter().map(|offer| columns(offer.title)).max().unwrap_or(0);
        let name = left(offer.title, longest.min(width / 2), model.looks.marks);
        match &offer.why_not {
            Some(why) => format!("{digit} {name} {why}"),
            None => format!("{digit} {name} {key}"),
        }
    }
}

impl Page for Acts {
    fn title(&self, _model: &Model) -> String {
        format!("{}: what is to be done?", self.of)
    }

    fn is_over(&self) -> bool {
        true
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let doings = self.doings();
        let words = |doing: &Doing| self.line(model, *doing, width);
        let mut lines = choice::lines(model, &doings, &self.chosen, height.max(1), width, words);
        if doings.is_empty() {
            lines.push(Line::raw("Nothing here is called so."));
        }
        lines
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        if self.query.is_empty() {
            return Vec::new();
        }
        vec![Line::raw(format!(" {}", model.written(&self.query, width.saturating_sub(2))))]
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &self.doings(), go);
        Turn::stay()
    }

    fn takes(&self, _model: &Model, character: char) -> bool {
        character.is_alphanumeric() || matches!(character, ' ' | '.' | ',' | '-')
    }

    fn rewritten(&mut self, _model: &mut Model) {
        self.chosen = self.first();
    }

    /// A figure that is typed here by habit is meant for the page under it, and so is what is longer than the number of a line.
    fn type_in(&mut self, model: &mut Model, text: &str) -> Turn {
        let typed = format!("{}{text}", self.query);
        let is_line = !self.figures && typed.len() == 1 && typed != "0";
        if self.digits && !is_line && typed.starts_with(|sign: char| sign.is_ascii_digit()) {
            return Turn { wishes: Vec::new(), goes: Goes::BackAndType(typed) };
        }
        write_on(&mut self.query, text, LONGEST);
        self.rewritten(model);
        Turn::stay()
    }

    fn written(&self) -> Option<&str> {
        Some(&self.query)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.query)
    }

    fn manner(&self) -> Manner {
        Manner::over_list(LONGEST)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.chosen.thing().is_some() { "do it" } else { "choose first" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        let doing = self.chosen.there(&self.doings()).copied();
        Some(self.take(model, doing))
    }

    /// What could be done may have changed: the list is closed rather than wrong.
    fn follow(&mut self, _model: &mut Model, _before: &Before<'_>) -> Followed {
        Followed::Gone("What could be done".to_owned())
    }
}
