//! What is chosen in a list, kept by what it *is* and never by where it stands: other programs enter facts while a person
//! looks, and things come before it, go, or change places. Enter must still mean what was chosen, or nothing.
//!
//! **What is chosen in a list** is a `Choice` (`tui/core/choice.rs`): the thing by its label, never a row. A page asks it with the list as
//! it is now, and what is gone is nothing (`choice::gone` says so). `Model::take_state` (`tui/core/following.rs`) follows every page into
//! another state and says what was lost on the way. Ids never stand in a page.

use ratatui::text::Line;

use crate::tui::core::list::window;
use crate::tui::core::model::Model;
use crate::tui::core::page::{Followed, Go};
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;

/// What is chosen in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice<T> {
    /// The thing; none where the list was empty.
    thing: Option<T>,
    /// Where it stood when it was last seen, so that up and down go on from there once it is gone.
    stood: usize,
    /// Whether it was told that it is gone: that is told once.
    is_told: bool,
}

impl<T> Default for Choice<T> {
    fn default() -> Choice<T> {
        Choice { thing: None, stood: 0, is_told: false }
    }
}

impl<T: Clone + PartialEq> Choice<T> {
    /// The first thing of a list.
    #[must_use]
    pub fn first(list: &[T]) -> Choice<T> {
        Choice::at(list, 0)
    }

    /// The thing that stands at a place of a list.
    #[must_use]
    pub fn at(list: &[T], place: usize) -> Choice<T> {
        let stood = place.min(list.len().saturating_sub(1));
        Choice { thing: list.get(stood).cloned(), stood, is_told: false }
    }

    /// What is chosen, whether it is still there or not.
    #[must_use]
    pub fn thing(&self) -> Option<&T> {
        self.thing.as_ref()
    }

    /// Whether a thing is the one that is chosen.
    #[must_use]
    pub fn is(&self, thing: &T) -> bool {
        self.thing.as_ref() == Some(thing)
    }

    /// Where what is chosen stands in a list; none where it is not there any more.
    #[must_use]
    pub fn place(&self, list: &[T]) -> Option<usize> {
        list.iter().position(|thing| self.is(thing))
    }

    /// What is chosen, if it is still in the list.
    #[must_use]
    pub fn there(&self, list: &[T]) -> Option<&T> {
        self.thing.as_ref().filter(|thing| list.contains(thing))
    }

    /// Whether something was chosen that the list does not hold any more.
    #[must_use]
    pub fn is_gone(&self, list: &[T]) -> bool {
        self.thing.is_some() && self.place(list).is_none()
    }

    /// Goes up or down a list, and not beyond its ends. From what is gone it goes to what stands where that stood.
    pub fn step(&mut self, list: &[T], by: isize) {
        let from = match self.place(list) {
            Some(place) => place.saturating_add_signed(by),
            None if by > 0 => self.stood.saturating_add_signed(by - 1),
            None => self.stood.saturating_add_signed(by),
        };
        *self = Choice::at(list, from);
    }

    /// Goes about in a list.
    pub fn go(&mut self, model: &Model, list: &[T], go: Go) {
        self.step(list, go.by(model.half_screen()));
    }

    /// The same choice in the list as it is now. Where nothing could be chosen before, the first is.
    #[must_use]
    pub fn followed(self, list: &[T]) -> Choice<T> {
        match self.place(list) {
            Some(stood) => Choice { stood, ..self },
            None if self.thing.is_none() => Choice::first(list),
            None => self,
        }
    }

    /// Follows into the list as it is now, for a page that does: where what is chosen is gone, that is told by its name.
    pub(in crate::tui) fn follow(&mut self, list: &[T], name: impl FnOnce(&T) -> String) -> Followed {
        *self = std::mem::take(self).followed(list);
        let is_gone = self.is_gone(list);
        let was_told = std::mem::replace(&mut self.is_told, is_gone);
        let gone = self.thing.as_ref().filter(|_| is_gone && !was_told);
        gone.map_or(Followed::There, |thing| Followed::WithoutChoice(name(thing)))
    }

    /// Where what is chosen stands in a list, else where it stood when it was last seen.
    #[must_use]
    pub fn place_or_stood(&self, list: &[T]) -> usize {
        self.place(list).unwrap_or(self.stood)
    }
}

/// The sentence where enter is pressed and what was chosen is gone.
#[must_use]
pub fn gone(what: &str) -> String {
    format!("{what} is not here any more, and nothing is chosen. Choose with up and down.")
}

/// The lines of a list of which so many are in sight, with what is chosen marked; what is gone marks none.
pub(in crate::tui) fn lines<T: Clone + PartialEq>(
    model: &Model,
    list: &[T],
    choice: &Choice<T>,
    inside: usize,
    width: usize,
    words: impl Fn(&T) -> String,
) -> Vec<Line<'static>> {
    let shown = &list[window(list.len(), choice.place_or_stood(list), inside)];
    shown.iter().map(|thing| choice_line(model, choice.is(thing), &words(thing), width)).collect()
}

/// A line of a list, marked where it is chosen.
pub(in crate::tui) fn choice_line(model: &Model, chosen: bool, text: &str, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mark = if chosen { marks.chosen_left } else { ' ' };
    let style = if chosen { theme.selected(theme.style(Meaning::Base)) } else { theme.style(Meaning::Base) };
    Line::styled(left(&format!("{mark} {text}"), width, marks), style)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIST: [&str; 4] = ["T1", "T2", "T3", "T9"];

    #[test]
    fn what_is_chosen_stays_it_wherever_it_stands() {
        let choice = Choice::at(&LIST, 2).followed(&["T0", "T1", "T3"]);
        assert_eq!((choice.there(&["T0", "T1", "T3"]), choice.place(&["T0", "T1", "T3"])), (Some(&"T3"), Some(2)));
    }

    #[test]
    fn what_is_gone_is_never_its_neighbour_and_steps_go_on_from_where_it_stood() {
        let without = ["T1", "T2", "T9"];
        let choice = Choice::at(&LIST, 2).followed(&without);
        assert!(choice.is_gone(&without) && choice.there(&without).is_none());
        let stepped = |by: isize| {
            let mut choice = choice.clone();
            choice.step(&without, by);
            choice.thing().copied()
        };
        assert_eq!([-1, 1, isize::MIN, isize::MAX].map(stepped), [Some("T2"), Some("T9"), Some("T1"), Some("T9")]);
        // And it is itself again where it comes back.
        assert_eq!(choice.followed(&LIST).there(&LIST), Some(&"T3"));
    }

    #[test]
    fn that_it_is_gone_is_told_once() {
        let mut choice = Choice::at(&LIST, 2);
        let gone = Followed::WithoutChoice("T3".to_owned());
        let mut follow = |list: &[&'static str]| choice.follow(list, |thing| (*thing).to_owned());
        assert_eq!([follow(&LIST), follow(&["T1"]), follow(&["T2"])], [Followed::There, gone.clone(), Followed::There]);
        assert_eq!([follow(&LIST), follow(&["T1"])], [Followed::There, gone], "it came back in between");
    }

    #[test]
    fn nothing_is_chosen_in_an_empty_list_until_there_is_something() {
        let mut choice: Choice<&str> = Choice::first(&[]);
        choice.step(&[], 1);
        assert!(choice.thing().is_none() && !choice.is_gone(&[]));
        assert_eq!(choice.followed(&LIST).thing(), Some(&"T1"));
    }
}
