//! What a page asks to be found out apart: the number of the question, so that what was found for an earlier one is not shown, and what
//! came of it.

use std::any::Any;
use std::marker::PhantomData;

use ratatui::text::Line;

use crate::tui::core::apart::{Found, Lookup, Search};
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::Turn;
use crate::tui::core::theme::Meaning;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::{Answer, Work};
use crate::tui::edge::screen::Effect;

/// What a page has asked to be found out, and what came of it.
#[derive(Clone, Debug)]
pub struct Finding<T> {
    number: u32,
    found: Option<Found>,
    of: PhantomData<fn() -> T>,
}

impl<T> Default for Finding<T> {
    fn default() -> Finding<T> {
        Finding { number: 0, found: None, of: PhantomData }
    }
}

/// What is answered.
#[derive(Debug)]
pub enum Told<'a, T> {
    /// The best so far; better may come.
    SoFar(&'a T),
    /// What was found.
    Found(&'a T),
    /// Why nothing was.
    Nothing(&'a str),
}

impl<T: Any + Send + Sync> Finding<T> {
    /// Asks for what is to be found. What was found before stays in sight until that is there.
    pub(in crate::tui) fn ask(&mut self, model: &mut Model, search: Search) -> Wishes {
        self.number = model.next_number();
        vec![Effect::Work(Work::Find { number: self.number, search })]
    }

    /// Asks the desk for what is to be looked up. What was found before stays in sight until that is there.
    pub(in crate::tui) fn look_up(&mut self, model: &mut Model, lookup: Lookup) -> Wishes {
        self.number = model.next_number();
        vec![Effect::Work(Work::LookUp { number: self.number, lookup })]
    }

    /// Stops the search that was asked for: the best so far will do.
    pub(in crate::tui) fn stop(&self) -> Wishes {
        vec![Effect::Work(Work::Stop { number: self.number })]
    }

    /// What was found; none while it is searched.
    #[must_use]
    pub fn told(&self) -> Option<&T> {
        self.found.as_ref()?.of()
    }

    /// What an answer tells; none where it answers another question.
    pub(in crate::tui) fn answer<'a>(&self, answer: &'a Answer) -> Option<Told<'a, T>> {
        match answer {
            Answer::SoFar { number, found } if *number == self.number => found.of().map(Told::SoFar),
            Answer::Found { number, told } if *number == self.number => match told {
                Ok(found) => found.of().map(Told::Found),
                Err(why) => Some(Told::Nothing(why)),
            },
            _ => None,
        }
    }

    /// Takes in what was found, if an answer tells it; where nothing was, that is said and the page is closed.
    pub(in crate::tui) fn take(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        if let Told::Nothing(why) = self.answer(answer)? {
            model.say(why, Tone::Refused);
            return Some(Turn::back());
        }
        if let Answer::Found { told: Ok(found), .. } = answer {
            self.found = Some(found.clone());
        }
        Some(Turn::stay())
    }
}

/// What stands on a page while the facts are gone through for it.
pub(in crate::tui) fn working(model: &Model, width: usize) -> Vec<Line<'static>> {
    let ellipsis = model.looks.marks.ellipsis;
    let text = format!("working{ellipsis} the facts are gone through once more; esc goes back at once");
    paragraph(model, &text, width, Meaning::Muted)
}
