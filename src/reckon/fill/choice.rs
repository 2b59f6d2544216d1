//! What a choice weighs, in whole numbers: how far it misses the wishes, and what it leaves.

use super::classes::Classes;
use super::{Amount, Candidate, Limit, Question, ToPlace, WHOLE, Wish};

/// Parts of a litre in which a weight is counted: a part of [`WHOLE`] of a microlitre, so that every share is exact.
pub const PARTS_OF_A_LITRE: f64 = 1e10;
/// A litre that stays although an empty could take it weighs as much as so many that miss a wish: the wine is placed first.
pub const STAYING: u32 = 1_000;
/// A litre more than there is weighs more than anything that a wish could gain by it.
const TOO_MUCH: i128 = 1_000_000;
/// Less than the smallest empty may stay, by at least a litre in microlitres: what would just fill another barrel must.
const MARGIN_UL: i128 = 1_000_000;

/// How many of each class.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// By class.
    pub counts: Vec<usize>,
}

/// What lies in the barrels of a choice, microlitres.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tally {
    placed: i128,
    of_kind: Vec<i128>,
}

/// What a choice weighs: the less, the better. The second decides where the first is equal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Weight {
    /// Parts of a litre missed, with what stays beyond what may.
    pub missed: i128,
    /// What stays in the tank, microlitres.
    pub stays: i128,
}

impl Weight {
    /// Litres missed, with what stays beyond what may.
    pub fn litres(self) -> f64 {
        self.missed as f64 / PARTS_OF_A_LITRE
    }
}

/// What weighs the choices of a question.
#[derive(Clone, Debug)]
pub struct Scales {
    wishes: Vec<Wish>,
    most: i128,
    least: i128,
    /// Whether the number of barrels is given, so that a barrel can only be exchanged for another.
    pub by_number: bool,
}

impl Scales {
    /// The scales of a question.
    pub fn of(question: &Question) -> Scales {
        let most = i128::from(question.to_place.at_most().as_ul());
        let smallest = question.candidates.iter().map(|candidate| candidate.capacity.as_ul()).min().unwrap_or(0);
        let by_number = matches!(question.to_place, ToPlace::Barrels { .. });
        let least = if by_number { 0 } else { most - i128::from(smallest) + MARGIN_UL };
        Scales { wishes: question.wishes.clone(), most, least, by_number }
    }

    /// What must be placed before nothing counts as staying, litres.
    pub fn least_litres(&self) -> f64 {
        self.least as f64 / 1e6
    }

    /// What lies in nothing.
    pub fn nothing(&self) -> Tally {
        Tally { placed: 0, of_kind: vec![0; self.wishes.len()] }
    }

    /// What lies in a choice.
    pub fn tally(&self, classes: &Classes, choice: &Choice) -> Tally {
        let mut tally = self.nothing();
        for (class, &count) in classes.0.iter().zip(&choice.counts) {
            tally.add(&class.each, i128::try_from(count).unwrap_or(i128::MAX));
        }
        tally
    }

    /// The weight of a tally after `changes`: barrels that come (1) or go (-1).
    pub fn weigh(&self, tally: &Tally, changes: &[(&Candidate, i128)]) -> Weight {
        let whole = i128::from(WHOLE);
        let change = |of: &dyn Fn(&Candidate) -> bool| -> i128 {
            let counted = changes.iter().filter(|(barrel, _)| of(barrel));
            counted.map(|(barrel, times)| times * i128::from(barrel.capacity.as_ul())).sum()
        };
        let placed = tally.placed + change(&|_| true);
        let missed = self.wishes.iter().enumerate().map(|(at, wish)| {
            let volume = tally.of_kind[at] + change(&|barrel| barrel.is_of(at));
            let wanted = match wish.amount {
                Amount::Share(share) => i128::from(share) * placed,
                Amount::Litres(wanted) => whole * i128::from(wanted.as_ul()),
            };
            let beyond = whole * volume - wanted;
            match wish.limit {
                Limit::AtLeast => (-beyond).max(0),
                Limit::AtMost => beyond.max(0),
                Limit::Exactly => beyond.abs(),
            }
        });
        let staying = whole * (self.least - placed).max(0) * i128::from(STAYING);
        let too_much = whole * (placed - self.most).max(0) * TOO_MUCH;
        Weight { missed: missed.sum::<i128>() + staying + too_much, stays: self.most - placed }
    }

    /// Whether there is enough to fill what a tally holds.
    pub fn is_possible(&self, tally: &Tally) -> bool {
        tally.placed <= self.most
    }

    /// The part of a weight that comes from what stays, litres.
    pub fn staying_litres(&self, weight: Weight) -> f64 {
        let placed = self.most - weight.stays;
        (self.least - placed).max(0) as f64 / 1e6 * f64::from(STAYING)
    }
}

impl Tally {
    /// Barrels come, or go if `times` is less than nothing.
    pub fn add(&mut self, barrel: &Candidate, times: i128) {
        let volume = times * i128::from(barrel.capacity.as_ul());
        self.placed += volume;
        for (at, of_kind) in self.of_kind.iter_mut().enumerate() {
            if barrel.is_of(at) {
                *of_kind += volume;
            }
        }
    }
}
