//! Places in the servings of a trial: whose glass, of which flight, which of it.

use std::collections::HashSet;

use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::rating::{Missing, Rating};
use crate::cellar::jobs::bench::trial::said::Scale;

/// A glass before a taster. All count from nought; their order is that of the sheets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// Which taster, in the order of the panel.
    pub taster: usize,
    /// Which of the taster's flights.
    pub flight: usize,
    /// Which glass of the flight, in the order of tasting.
    pub glass: usize,
}

impl Spot {
    /// The name of the taster.
    pub(super) fn name(self, trial: &Trial) -> Option<&Label> {
        trial.tasters().get(self.taster).map(|taster| &taster.name)
    }

    /// The codes of the flight.
    pub(super) fn codes(self, trial: &Trial) -> &[Code] {
        let taster = trial.tasters().get(self.taster);
        taster.and_then(|taster| taster.flights.get(self.flight)).map_or(&[], Vec::as_slice)
    }

    /// The code on the glass.
    pub(super) fn code(self, trial: &Trial) -> Option<Code> {
        self.codes(trial).get(self.glass).copied()
    }

    /// The number of the flight, from 1, as the facts have it.
    pub(super) fn flight_number(self) -> u32 {
        u32::try_from(self.flight + 1).unwrap_or(u32::MAX)
    }

    /// What was said of the glass.
    pub(super) fn rating(self, trial: &Trial) -> Option<&Rating> {
        trial.rating(self.name(trial)?, self.flight_number(), self.code(trial)?)
    }

    /// The glasses of the same flight.
    pub(super) fn flight_spots(self, trial: &Trial) -> impl Iterator<Item = Spot> + use<> {
        (0..self.codes(trial).len()).map(move |glass| Spot { glass, ..self })
    }

    /// The first glass of a flight.
    pub(super) fn of_flight(taster: usize, flight: usize) -> Spot {
        Spot { taster, flight, glass: 0 }
    }

    /// Whether something is still to be said of the glass: nothing is said, or only a number of the other scale.
    pub(super) fn is_open(self, trial: &Trial, scale: Scale) -> bool {
        self.rating(trial).is_none_or(|rating| match scale {
            Scale::Score => rating.score.is_none() && rating.rank.is_some(),
            Scale::Rank => rating.rank.is_none() && rating.score.is_some(),
        })
    }

    /// The next glass of the same flight that is open, round to the first.
    pub(super) fn next_of_flight(self, trial: &Trial, scale: Scale) -> Option<Spot> {
        next_after(self, self.flight_spots(trial).filter(|spot| spot.is_open(trial, scale)))
    }

    /// The next glass of which nothing is said, of whichever flight and taster, round to the first.
    pub(super) fn next_of_all(self, trial: &Trial) -> Option<Spot> {
        next_after(self, missing(trial).into_iter())
    }

    /// The first glass of a taster of which nothing is said, else the first of all.
    pub(super) fn first_missing(trial: &Trial, taster: usize) -> Spot {
        let of_taster = missing(trial).into_iter().find(|spot| spot.taster == taster);
        of_taster.unwrap_or(Spot::of_flight(taster, 0))
    }

    /// The glass of a code before the same taster: of this flight, or of the first other flight that has it.
    pub(super) fn of_code(self, trial: &Trial, code: Code) -> Option<Spot> {
        let has_code = |spot: &Spot| spot.code(trial) == Some(code);
        let of_flight = self.flight_spots(trial).find(has_code);
        of_flight.or_else(|| spots(trial).filter(|spot| spot.taster == self.taster).find(has_code))
    }

    /// The scale in which the glasses of this flight were told apart, where any has a number.
    pub(super) fn scale(self, trial: &Trial) -> Option<Scale> {
        let ratings: Vec<&Rating> = self.flight_spots(trial).filter_map(|spot| spot.rating(trial)).collect();
        if ratings.iter().any(|rating| rating.score.is_some()) {
            return Some(Scale::Score);
        }
        ratings.iter().any(|rating| rating.rank.is_some()).then_some(Scale::Rank)
    }
}

/// Every glass of a trial, in the order of the sheets.
pub(super) fn spots(trial: &Trial) -> impl Iterator<Item = Spot> + '_ {
    let flights = |taster: usize| (0..trial.tasters()[taster].flights.len()).map(move |flight| (taster, flight));
    (0..trial.tasters().len())
        .flat_map(flights)
        .flat_map(|(taster, flight)| Spot::of_flight(taster, flight).flight_spots(trial))
}

/// The glasses of which nothing is said, in the order of the sheets.
pub(super) fn missing(trial: &Trial) -> Vec<Spot> {
    let missing: HashSet<Missing> = trial.missing().into_iter().collect();
    let is_missing = |spot: &Spot| {
        let glass = spot.name(trial).zip(spot.code(trial));
        glass.is_some_and(|(name, code)| {
            missing.contains(&Missing { taster: name.clone(), flight: spot.flight_number(), code })
        })
    };
    spots(trial).filter(is_missing).collect()
}

/// The first spot after one, else the first of all.
fn next_after(here: Spot, spots: impl Iterator<Item = Spot>) -> Option<Spot> {
    let mut first = None;
    for spot in spots {
        if spot > here {
            return Some(spot);
        }
        first = first.or(Some(spot));
    }
    first
}
