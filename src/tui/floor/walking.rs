//! Where the cursor goes on the floor: step by step, along a round or a work, by what is typed, and onward once an act is on disk.
//!
//! **Nothing is written over in passing**: where the cursor stays because nothing is left to do (`Model::stayed`), the next number asks; so
//! does whatever would replace what a taster, a blind glass or a fining glass says.

use std::ops::Range;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{RoundId, State, VesselId};
use crate::cellar::views::topping::walk::{Hose, Next};
use crate::desk::Undone;
use crate::tui::core::cursor::{Cursor, Step};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::holding::Offer;
use crate::tui::floor::jump::{Jump, by_label};
use crate::tui::floor::works;
use crate::tui::topping::rounds;
use crate::units::customary_words;

/// What is said where the walk goes on to a barrel that no place of the floor shows.
pub(in crate::tui) fn at_no_place(label: &Label) -> String {
    format!("{label} is next; it lies at no place, and its card is shown.")
}

impl Model {
    pub(in crate::tui) fn walk(&mut self, step: Step) {
        (self.aside, self.stayed) = (None, None);
        self.cursor = self.cursor.map(|cursor| cursor.step(&self.state, step));
    }

    pub(in crate::tui) fn next_room(&mut self) {
        let rooms: Vec<_> = self.state.rooms.iter().map(|(id, _)| id).collect();
        let Some(now) = self.room().and_then(|room| rooms.iter().position(|&id| id == room)) else { return };
        self.aside = None;
        self.cursor = Some(Cursor::first(rooms[(now + 1) % rooms.len()]));
    }

    /// Goes on to the next barrel of the work, or of the round in the order of its plan.
    pub(in crate::tui) fn go_on(&mut self) {
        if self.working.is_some() {
            return works::go_on(self);
        }
        let Some((round, cursor)) = self.round().zip(self.cursor) else { return };
        let aside = self.aside.and_then(|id| self.state.turn_at_no_place(self.state.rounds.get(round).room, id));
        let after = aside.or_else(|| cursor.slot(&self.state)).unwrap_or(usize::MAX);
        self.go_to_stop(round, after);
    }

    pub(in crate::tui) fn go_to_first(&mut self) {
        if let Some(round) = self.round() {
            self.go_to_stop(round, usize::MAX);
        }
    }

    /// The next barrel of a round after a slot. On a sheet of paper each part of the round begins at its first line, wherever the one before it
    /// ended, and what is entered from one follows it.
    fn next_stop(&self, round: RoundId, after: usize) -> Option<Next> {
        let next = self.state.next_stop(round, after, self.now)?;
        let begins = self.behalf.is_some() && (next.group != next.before || next.hose != Hose::InHand);
        let first = begins.then(|| self.state.next_stop(round, usize::MAX, self.now)).flatten();
        Some(first.map_or(next, |first| Next { before: next.before, ..first }))
    }

    fn go_to_stop(&mut self, round: RoundId, after: usize) {
        let Some(next) = self.next_stop(round, after) else {
            self.stayed = self.chosen_vessel().map(|vessel| vessel.label.clone());
            self.say_also("Every barrel of this round is done. Press z to close it.", Tone::Done);
            return;
        };
        self.look_at(next.vessel);
        if next.slot == after {
            let label = self.chosen_vessel().map_or("It", |vessel| vessel.label.as_str());
            self.say(format!("{label} comes next: top it, or s skips it."), Tone::Notice);
            return;
        }
        if self.aside.is_some() {
            let label = &self.state.vessels.get(next.vessel).label;
            self.say_also(&at_no_place(label), Tone::Notice);
        }
        if let Some(text) = rounds::change_of_leg(self, &next) {
            self.say_also(&text, Tone::Notice);
        }
    }

    /// Puts the cursor on a vessel, or looks at it aside where it lies at no place.
    pub(in crate::tui) fn look_at(&mut self, id: VesselId) {
        let slot = self.state.vessels.get(id).slot;
        match slot.and_then(|slot| Cursor::on_slot(&self.state, slot.room, slot.index as usize)) {
            Some(cursor) => {
                self.cursor = Some(cursor);
                self.aside = None;
            }
            None => self.aside = Some(id),
        }
    }

    /// Tops the barrel under the cursor, or does it in the work that is walked.
    pub(in crate::tui) fn top_barrel(&mut self) -> Wishes {
        if self.working.is_some() { works::do_barrel(self) } else { rounds::top_barrel(self) }
    }

    /// Leaves the barrel under the cursor out of the work or the round.
    pub(in crate::tui) fn skip(&mut self) -> Wishes {
        if self.working.is_some() { works::skip(self) } else { rounds::skip(self) }
    }

    pub(in crate::tui) fn top_stretch(
        &mut self,
        slots: fn(&State, Cursor) -> Option<Range<usize>>,
        what: &str,
    ) -> Wishes {
        let range = self.cursor.and_then(|cursor| slots(&self.state, cursor));
        let Some(range) = range else { return Vec::new() };
        if self.working.is_some() { works::do_all(self, &range, what) } else { rounds::top_all(self, range, what) }
    }

    /// Takes what was typed on the floor: litres for this barrel, or a label or place to go to. Whether it is taken by that
    /// already; an act takes it once it is stored.
    pub(in crate::tui) fn take_typed(&mut self, typed: &str) -> (Wishes, bool) {
        let is_litres = self.round().is_some() && rounds::says_litres(&self.state, typed);
        let measures = self.working.is_some() && works::is_measure(self, typed);
        match by_label(self, typed) {
            Some(jump) if !is_litres => {
                self.jump(jump);
                if measures {
                    let (said, written) = works::unit(self).unwrap_or_else(customary_words);
                    self.say(format!("{typed} is a label. For {said} write {typed} {written}."), Tone::Notice);
                }
                (Vec::new(), true)
            }
            _ if measures => (works::do_measured(self, typed), false),
            _ => (rounds::top_measured(self, typed), false),
        }
    }

    pub(in crate::tui) fn jump(&mut self, jump: Jump) {
        self.stayed = None;
        match jump {
            Jump::Vessel(id) => {
                self.look_at(id);
                if self.aside.is_some() {
                    let label = self.state.vessels.get(id).label.clone();
                    self.say(format!("{label} lies at no place; its card is shown. esc goes back."), Tone::Notice);
                }
            }
            Jump::Slot(room, slot) => {
                self.aside = None;
                self.cursor = Cursor::on_slot(&self.state, room, slot).or(self.cursor);
            }
        }
    }
}

/// Where one goes on the floor.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::tui) enum Onward {
    /// On to the next barrel of the round or the work.
    Next,
    /// To the first barrel of the round.
    First,
    /// To the first barrel of a work, which is walked from now on.
    Work(Label),
    /// To a vessel.
    Vessel(Label),
    /// Nowhere: a hold is offered of what was tasted.
    Offer(Offer),
}

impl Onward {
    /// What follows where an act is done on the way.
    pub(in crate::tui) fn then(self) -> Then {
        Then::of(self)
    }

    /// To what was taken back or given back; its closing taken back, a work is under way again, so that its keys go on with it.
    fn after(undone: &Undone) -> Option<Onward> {
        match undone.done().next() {
            Some(What::GlassRated(_)) => None,
            Some(What::WorkEnded(ended)) => Some(Onward::Work(ended.work.clone())),
            _ => undone.vessel().cloned().map(Onward::Vessel),
        }
    }
}

/// Goes on, once an act is on disk.
pub(super) fn go_onward(model: &mut Model, then: &Then) {
    let undone = then.word().and_then(Onward::after);
    match then.word().cloned().or(undone) {
        None => {}
        Some(Onward::Next) => model.go_on(),
        Some(Onward::First) => model.go_to_first(),
        Some(Onward::Offer(offer)) => model.open(offer),
        Some(Onward::Work(label)) => {
            let found = model.state.works.find(label.as_str());
            if let Some(work) = found.filter(|&id| model.state.works.get(id).ended.is_none()) {
                works::take_up(model, work);
            }
        }
        Some(Onward::Vessel(label)) => {
            if let Some(id) = model.state.vessels.find(label.as_str()) {
                model.look_at(id);
                // What was given back is done: a number that comes next may be meant for another.
                model.stayed = model.done_within().map(|_| label);
            }
        }
    }
}
