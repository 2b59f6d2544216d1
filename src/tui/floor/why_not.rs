//! What is under way where one stands, and why something cannot be done there: the sentences of the floor.

use crate::cellar::core::state::{RoundId, VesselId};
use crate::cellar::jobs::topping::round::Mark;
use crate::tui::core::model::Model;
use crate::units::{Volume, litres};

impl Model {
    /// The round that is open in this room; none while a work is walked.
    #[must_use]
    pub fn round(&self) -> Option<RoundId> {
        if self.working.is_some() {
            return None;
        }
        self.state.rooms.get(self.room()?).open_round
    }

    /// The vessel that this round is topped from.
    #[must_use]
    pub fn source(&self) -> Option<VesselId> {
        self.state.rounds.get(self.round()?).source
    }

    /// What was done at the chosen barrel in the round that is under way.
    #[must_use]
    pub fn mark(&self) -> Option<Mark> {
        let round = self.state.rounds.get(self.round()?);
        round.marks.get(&self.chosen()?).copied()
    }

    /// What is expected to go into the chosen barrel.
    #[must_use]
    pub fn expected(&self) -> Option<Volume> {
        let vessel = self.chosen_vessel()?;
        self.state.is_to_be_topped(vessel).then(|| self.state.expected_topping(vessel, self.now))
    }

    /// Why nothing can be done in a round, if nothing can.
    #[must_use]
    pub fn why_no_round(&self) -> Option<String> {
        self.why_read_only().or_else(|| {
            if let Some(work) = self.working.map(|work| self.state.works.get(work)) {
                return Some(format!("The work {} is walked, and rounds rest. Press d to put it down.", work.label));
            }
            self.round().is_none().then(|| "No round is under way in this room. Press b to begin one.".to_owned())
        })
    }

    /// Why this barrel cannot be topped or skipped, if it cannot.
    #[must_use]
    pub fn why_no_topping(&self) -> Option<String> {
        self.why_no_round().or_else(|| self.why_no_wine())
    }

    /// Why this barrel cannot be topped by one key, if it cannot: it was topped in this round already.
    #[must_use]
    pub fn why_not_again(&self) -> Option<String> {
        self.why_no_topping().or_else(|| {
            let (Some(Mark::Topped(volume)), Some(vessel)) = (self.mark(), self.chosen_vessel()) else { return None };
            let done = litres(volume);
            Some(format!("{} is done in this round, {done}. Type what it took in all to correct it, or 0.5+ for half a litre more.", vessel.label))
        })
    }

    /// Why no round can be begun, if none can.
    #[must_use]
    pub fn why_no_new_round(&self) -> Option<String> {
        if let Some(why) = self.why_read_only() {
            return Some(why);
        }
        if let Some(why) = self.why_no_room() {
            return Some(why);
        }
        if let Some(work) = self.working.map(|work| self.state.works.get(work)) {
            return Some(format!("The work {} is walked. Press d to put it down first.", work.label));
        }
        let round = self.state.rounds.get(self.round()?);
        Some(format!("The round {} is under way here. Press z to close it first.", round.label))
    }

    /// Why there is no room to show, if there is none.
    #[must_use]
    pub fn why_no_room(&self) -> Option<String> {
        let why = "No room is laid out yet. Lay one out: enter, then 'Begin a cellar'.";
        self.room().is_none().then(|| why.to_owned())
    }

    /// Why there is no other room to go to, if there is none.
    #[must_use]
    pub fn why_no_other_room(&self) -> Option<String> {
        let only = self.state.rooms.len() == 1;
        self.why_no_room().or_else(|| only.then(|| "There is no other room.".to_owned()))
    }

    /// Why nothing can be said of the chosen vessel, if nothing can.
    #[must_use]
    pub fn why_no_barrel(&self) -> Option<String> {
        self.why_read_only().or_else(|| self.why_nothing_here())
    }

    /// Why there is nothing to look at here, if there is nothing.
    #[must_use]
    pub fn why_nothing_here(&self) -> Option<String> {
        self.chosen().is_none().then(|| "No barrel lies here. Go to one, or press / to find it.".to_owned())
    }

    /// Why the chosen vessel has no wine to speak of, if it has none.
    #[must_use]
    pub fn why_no_wine(&self) -> Option<String> {
        self.why_no_barrel().or_else(|| {
            let vessel = self.chosen_vessel()?;
            vessel.wine.is_empty().then(|| format!("{} is empty by the book. Go to one that holds wine.", vessel.label))
        })
    }
}
