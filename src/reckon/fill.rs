//! Which of the empties at hand to fill, so that a wine lies in a wanted mix of wood.
//!
//! A barrel is filled full or not at all (common practice); what fills no barrel stays in the tank. Of all choices the
//! one is sought that misses the wishes by the fewest litres in all, a litre of one wish weighing as much as a litre of
//! another. That is a linear programme in whole numbers: [`choose`] solves it by branch and bound over the relaxation in
//! which a barrel may be filled in part.

mod binding;
mod choice;
mod classes;
mod exchange;
mod relaxation;
mod search;

pub use self::binding::{Binding, what_binds};

use thiserror::Error;

use self::choice::{Choice, Scales};
use self::classes::Classes;
use self::search::Search;
use crate::units::{Volume, by_count, counted};

/// The most wishes that a plan takes: more than anybody can weigh against each other.
pub const MOST_WISHES: usize = 32;
/// A whole, in the parts in which a share is told: hundredths of a percent.
pub const WHOLE: u32 = 10_000;
/// A choice is proved best when no other misses the wishes by so much less: a barrel's volume is not known better.
pub const TO_THE_LITRE: Volume = Volume::from_litres(1);

/// An empty barrel that could be filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// What it holds when brimful.
    pub capacity: Volume,
    /// Of which wishes' kind it is: bit 0 for the first wish.
    pub kinds: u32,
}

impl Candidate {
    /// Whether it is of the kind that a wish speaks of.
    #[must_use]
    pub const fn is_of(&self, wish: usize) -> bool {
        self.kinds >> wish & 1 == 1
    }
}

/// Which side of an amount is wished.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// So much or more.
    AtLeast,
    /// So much or less.
    AtMost,
    /// Neither more nor less.
    Exactly,
}

/// How much is wished.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Amount {
    /// A part of all that is placed, in parts of [`WHOLE`].
    Share(u32),
    /// So many litres.
    Litres(Volume),
}

/// How much of the wine is to lie in wood of a kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wish {
    /// Which side of the amount.
    pub limit: Limit,
    /// The amount.
    pub amount: Amount,
}

/// How much is to be placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToPlace {
    /// So much wine, as far as it fills barrels: less is to stay than the smallest empty holds.
    Litres(Volume),
    /// So many barrels, from so much wine.
    Barrels {
        /// How many.
        count: usize,
        /// What there is to fill them.
        from: Volume,
    },
}

impl ToPlace {
    /// What there is to be placed at the most.
    #[must_use]
    pub const fn at_most(self) -> Volume {
        match self {
            ToPlace::Litres(volume) | ToPlace::Barrels { from: volume, .. } => volume,
        }
    }
}

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// The empties, in the order in which they are walked.
    pub candidates: Vec<Candidate>,
    /// How much is to be placed.
    pub to_place: ToPlace,
    /// The wishes.
    pub wishes: Vec<Wish>,
    /// How near to the best a choice must be to count as proved; not less than a millilitre, [`TO_THE_LITRE`] by habit.
    pub precision: Volume,
}

/// What became of a wish.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reached {
    /// What lies in wood of its kind.
    pub volume: Volume,
    /// What it asks for, of what is placed.
    pub wanted: Volume,
    /// By how much it is missed; nothing where it is met.
    pub missed: Volume,
}

/// A choice of barrels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The barrels to fill: positions among the candidates, in walking order.
    pub chosen: Vec<usize>,
    /// What they hold.
    pub placed: Volume,
    /// What stays in the tank.
    pub stays: Volume,
    /// What became of each wish.
    pub wishes: Vec<Reached>,
    /// By how much the wishes are missed, in all.
    pub missed: Volume,
    /// No choice that places as much misses them by less than this.
    pub bound: Volume,
    /// Whether no choice is better by the precision asked for; else it is the best so far.
    pub proved: bool,
}

/// Why nothing can be chosen.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum NoChoice {
    #[error("No empty barrel at hand can take this wine. Empty or register barrels first, or free held ones.")]
    NoEmpties,
    #[error("Nothing is to be placed. Say how many litres, or how many barrels.")]
    NothingToPlace,
    #[error("The smallest empty holds {smallest:#}, and only {volume:#} is to be placed. Use a smaller vessel.")]
    TooLittle { smallest: Volume, volume: Volume },
    #[error("{} {} to be filled, but only {} {} at hand. Ask for fewer.", counted(*.wanted, "barrel"), by_count(*.wanted, "is", "are"), counted(*.empties, "empty"), by_count(*.empties, "is", "are"))]
    TooFewEmpties { wanted: usize, empties: usize },
    #[error("The {wanted} smallest empties hold {hold:#} and there is only {volume:#}. Ask for at most {}.", counted(*.most, "barrel"))]
    TooManyBarrels { wanted: usize, hold: Volume, volume: Volume, most: usize },
    #[error("{0} wishes are too many. Give at most 32.")]
    TooManyWishes(usize),
    #[error("A wish of {}.{:02} % is more than all. Ask for at most 100 %.", .0 / 100, .0 % 100)]
    MoreThanAll(u32),
}

impl Question {
    /// Why nothing can be chosen, if nothing can.
    fn check(&self) -> Result<(), NoChoice> {
        if self.wishes.len() > MOST_WISHES {
            return Err(NoChoice::TooManyWishes(self.wishes.len()));
        }
        for wish in &self.wishes {
            if let Amount::Share(share) = wish.amount
                && share > WHOLE
            {
                return Err(NoChoice::MoreThanAll(share));
            }
        }
        let mut capacities: Vec<Volume> = self.candidates.iter().map(|candidate| candidate.capacity).collect();
        capacities.sort_unstable();
        let Some(&smallest) = capacities.first() else { return Err(NoChoice::NoEmpties) };
        let volume = self.to_place.at_most();
        if volume.is_zero() || matches!(self.to_place, ToPlace::Barrels { count: 0, .. }) {
            return Err(NoChoice::NothingToPlace);
        }
        if smallest > volume {
            return Err(NoChoice::TooLittle { smallest, volume });
        }
        let ToPlace::Barrels { count: wanted, .. } = self.to_place else { return Ok(()) };
        if wanted > capacities.len() {
            return Err(NoChoice::TooFewEmpties { wanted, empties: capacities.len() });
        }
        let hold: Volume = capacities[..wanted].iter().copied().sum();
        if hold > volume {
            let filled = capacities.iter().scan(Volume::ZERO, |sum, &capacity| {
                *sum += capacity;
                (*sum <= volume).then_some(())
            });
            return Err(NoChoice::TooManyBarrels { wanted, hold, volume, most: filled.count() });
        }
        Ok(())
    }
}

/// Chooses the barrels.
///
/// Runs until the choice is proved best or `stop` says so; `stop` is asked many times a second, and time is its affair.
/// Every better choice is given to `better` as soon as it is found, so that a screen can show the best so far while a
/// thread of its own searches. The same question always gets the same answer, unless it is stopped.
///
/// Of choices that miss the wishes alike, one that leaves less in the tank is taken, then one with barrels that come
/// earlier: no chosen barrel could be exchanged for an earlier one without loss.
pub fn choose(
    question: &Question,
    stop: &dyn Fn() -> bool,
    better: &mut dyn FnMut(&Answer),
) -> Result<Answer, NoChoice> {
    question.check()?;
    let classes = Classes::of(&question.candidates);
    let scales = Scales::of(question);
    let mut told = |choice: &Choice, bound: f64| {
        better(&question.answer(&classes.members_of(choice), bound, false));
    };
    let found = Search::new(question, &classes, &scales).run(stop, &mut told);
    let mut chosen = classes.members_of(&found.choice);
    exchange::towards_the_door(question, &scales, &mut chosen);
    Ok(question.answer(&chosen, found.bound, found.proved))
}

impl Question {
    /// What a choice comes to. `bound` is in litres missed.
    fn answer(&self, chosen: &[usize], bound: f64, proved: bool) -> Answer {
        let placed: Volume = chosen.iter().map(|&at| self.candidates[at].capacity).sum();
        let wishes: Vec<Reached> =
            self.wishes.iter().enumerate().map(|(at, wish)| self.reached(at, wish, chosen, placed)).collect();
        let missed: Volume = wishes.iter().map(|reached| reached.missed).sum();
        let bound = Volume::nearest_to_litres(bound).min(missed);
        Answer {
            chosen: chosen.to_vec(),
            placed,
            stays: self.to_place.at_most().saturating_sub(placed),
            wishes,
            missed,
            bound,
            proved,
        }
    }

    fn reached(&self, at: usize, wish: &Wish, chosen: &[usize], placed: Volume) -> Reached {
        let of_kind = chosen.iter().map(|&chosen| self.candidates[chosen]).filter(|candidate| candidate.is_of(at));
        let volume: Volume = of_kind.map(|candidate| candidate.capacity).sum();
        let wanted = wish.amount.of(placed);
        let missed = match wish.limit {
            Limit::AtLeast => wanted.saturating_sub(volume),
            Limit::AtMost => volume.saturating_sub(wanted),
            Limit::Exactly => wanted.max(volume).saturating_sub(wanted.min(volume)),
        };
        Reached { volume, wanted, missed }
    }
}

impl Amount {
    /// The litres that it asks for of what is placed, to the nearest microlitre.
    #[must_use]
    pub fn of(self, placed: Volume) -> Volume {
        match self {
            Amount::Litres(volume) => volume,
            Amount::Share(share) => {
                let whole = u128::from(WHOLE);
                let part = (u128::from(placed.as_ul()) * u128::from(share) + whole / 2) / whole;
                Volume::from_ul(u64::try_from(part).unwrap_or(u64::MAX))
            }
        }
    }
}

#[cfg(test)]
mod tests;
