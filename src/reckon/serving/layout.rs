//! Laying glasses out into flights, a day for each taster.

use super::ServingError;
use super::balance::Balance;
use super::counts::Counts;
use super::williams::williams;
use crate::reckon::chance::Chance;

/// What is to be served to whom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// How many glasses, repeats too; they are called by number from nought.
    pub glasses: usize,
    /// Which glass repeats which, hidden: both are tasted by the same people, in different flights or far apart.
    pub repeats: Vec<(usize, usize)>,
    /// How many tasters.
    pub tasters: usize,
    /// The most glasses of one flight.
    pub flight: usize,
    /// The most glasses that one taster tastes.
    pub most: usize,
}

impl Question {
    /// Everybody tastes all of them, as far as one can in a day.
    #[must_use]
    pub fn of(glasses: usize, tasters: usize) -> Question {
        Question { glasses, repeats: Vec::new(), tasters, flight: super::FLIGHT, most: super::DAY }
    }

    /// The glass that a glass repeats, or itself.
    pub(super) fn original(&self, glass: usize) -> usize {
        self.repeats.iter().find(|(repeat, _)| *repeat == glass).map_or(glass, |(_, original)| *original)
    }

    /// How many glasses each taster gets.
    fn each(&self) -> usize {
        self.glasses.min(self.most)
    }

    /// Sizes of a taster's flights, as equal as can be, the larger first.
    fn sizes(&self) -> Vec<usize> {
        let each = self.each();
        let flights = each.div_ceil(self.flight);
        (0..flights).map(|number| each / flights + usize::from(number < each % flights)).collect()
    }

    fn check(&self) -> Result<(), ServingError> {
        if self.glasses == 0 || self.tasters == 0 {
            return Err(ServingError::Nothing);
        }
        if self.flight == 0 || self.most == 0 {
            return Err(ServingError::Flight);
        }
        for (index, &(repeat, original)) in self.repeats.iter().enumerate() {
            let twice = self.repeats[..index].iter().any(|(earlier, _)| *earlier == repeat);
            let chained = self.repeats.iter().any(|(other, _)| *other == original);
            if twice || chained || repeat == original || repeat.max(original) >= self.glasses {
                return Err(ServingError::Repeat(repeat, original));
            }
        }
        let largest = self.groups().iter().map(Vec::len).max().unwrap_or(1);
        if largest > self.most {
            return Err(ServingError::RepeatsPerDay(largest, self.most));
        }
        if self.tasters.saturating_mul(self.most) < self.glasses {
            return Err(ServingError::Uncovered { glasses: self.glasses, tasters: self.tasters, most: self.most });
        }
        Ok(())
    }

    /// Glasses that the same people taste: a glass with its repeats.
    fn groups(&self) -> Vec<Vec<usize>> {
        let mut groups: Vec<Vec<usize>> = vec![Vec::new(); self.glasses];
        (0..self.glasses).for_each(|glass| groups[self.original(glass)].push(glass));
        groups.retain(|group| !group.is_empty());
        groups
    }
}

/// Who tastes what when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Serving {
    /// Of each taster the flights, of each flight the glasses in order.
    pub orders: Vec<Vec<Vec<usize>>>,
}

impl Serving {
    /// How even it is.
    #[must_use]
    pub fn balance(&self, question: &Question) -> Balance {
        Balance::of(question, self)
    }
}

/// Lays glasses out. The same question and the same chance give the same serving.
pub fn lay_out(question: &Question, chance: &mut Chance) -> Result<Serving, ServingError> {
    question.check()?;
    if question.repeats.is_empty() && question.glasses <= question.flight.min(question.most) {
        return Ok(square(question, chance));
    }
    let mut exchange = Exchange::begin(question, chance)?;
    exchange.run(chance);
    Ok(Serving { orders: exchange.orders })
}

/// One flight of all glasses, in the rows of a Williams square whose glasses and rows are called by chance.
fn square(question: &Question, chance: &mut Chance) -> Serving {
    let mut called: Vec<usize> = (0..question.glasses).collect();
    chance.shuffle(&mut called);
    let rows = williams(question.glasses);
    // The rows of an odd number come in two squares, each balanced for place by itself: one after the other.
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.chunks_mut(question.glasses).for_each(|square| chance.shuffle(square));
    let named = |row: &Vec<usize>| vec![row.iter().map(|&glass| called[glass]).collect()];
    Serving { orders: (0..question.tasters).map(|taster| named(&rows[order[taster % order.len()]])).collect() }
}

/// What a repeat in the flight of its original costs, and what it costs to stand near it.
const SAME_FLIGHT: i64 = 1_000;
const NEAR: i64 = 600;

/// The exchange: glasses change places as long as that evens the serving out, with a patience that runs down (threshold
/// accepting, Dueck and Scheuer 1990), in whole numbers, so that it comes out the same on every machine.
struct Exchange<'a> {
    question: &'a Question,
    orders: Vec<Vec<Vec<usize>>>,
    counts: Counts,
}

/// Where a glass stands: taster, flight, place.
type Spot = (usize, usize, usize);

impl<'a> Exchange<'a> {
    fn begin(question: &'a Question, chance: &mut Chance) -> Result<Exchange<'a>, ServingError> {
        let sizes = question.sizes();
        let mut counts = Counts::none(question.glasses, sizes.first().copied().unwrap_or(0), sizes.len());
        let mut orders = Vec::with_capacity(question.tasters);
        for mut day in days(question, chance)? {
            chance.shuffle(&mut day);
            let mut rest = &day[..];
            let mut order = Vec::with_capacity(sizes.len());
            for (number, &size) in sizes.iter().enumerate() {
                let (flight, later) = rest.split_at(size.min(rest.len()));
                counts.add(number, flight);
                order.push(flight.to_vec());
                rest = later;
            }
            orders.push(order);
        }
        Ok(Exchange { question, orders, counts })
    }

    fn run(&mut self, chance: &mut Chance) {
        /// Enough that a longer search gains nothing that is seen in the balance of panels of 3 to 20.
        const ROUNDS: usize = 120;
        /// The first patience; a swap costs some tens.
        const PATIENCE: usize = 24;
        let swaps = self.question.tasters * self.question.each();
        for round in 0..ROUNDS {
            let patience = i64::try_from(PATIENCE * (ROUNDS - round) / ROUNDS).unwrap_or(0);
            for _ in 0..swaps {
                self.swap_within_a_day(patience, chance);
                if self.question.each() < self.question.glasses {
                    self.swap_between_tasters(patience, chance);
                }
            }
        }
    }

    fn swap_within_a_day(&mut self, patience: i64, chance: &mut Chance) {
        let taster = chance.below(self.orders.len());
        let (one, other) = (self.spot(taster, chance), self.spot(taster, chance));
        self.try_swap(one, other, patience);
    }

    /// Two people give each other a glass that the other does not taste; glasses with repeats stay where they are.
    fn swap_between_tasters(&mut self, patience: i64, chance: &mut Chance) {
        let (first, second) = (chance.below(self.orders.len()), chance.below(self.orders.len()));
        let (one, other) = (self.spot(first, chance), self.spot(second, chance));
        let (given, taken) = (self.at(one), self.at(other));
        let tastes = |taster: usize, glass| self.orders[taster].iter().flatten().any(|&tasted| tasted == glass);
        let repeated =
            |glass| self.question.repeats.iter().any(|&(repeat, original)| repeat == glass || original == glass);
        if first != second && !tastes(first, taken) && !tastes(second, given) && !repeated(given) && !repeated(taken) {
            self.try_swap(one, other, patience);
        }
    }

    fn spot(&self, taster: usize, chance: &mut Chance) -> Spot {
        let order = &self.orders[taster];
        let mut number = chance.below(order.iter().map(Vec::len).sum());
        for (flight, glasses) in order.iter().enumerate() {
            if number < glasses.len() {
                return (taster, flight, number);
            }
            number -= glasses.len();
        }
        (taster, 0, 0)
    }

    fn at(&self, (taster, flight, place): Spot) -> usize {
        self.orders[taster][flight][place]
    }

    /// Swaps two glasses, and swaps them back where that costs more than patience has.
    fn try_swap(&mut self, one: Spot, other: Spot, patience: i64) {
        if self.swap(one, other) > patience {
            self.swap(one, other);
        }
    }

    /// Swaps two glasses; says what it costs.
    fn swap(&mut self, one: Spot, other: Spot) -> i64 {
        let same_flight = (one.0, one.1) == (other.0, other.1);
        let flights = [Some(one), (!same_flight).then_some(other)];
        let mut cost = -self.crowding(one.0);
        for (taster, flight, _) in flights.into_iter().flatten() {
            cost += self.counts.remove(flight, &self.orders[taster][flight]);
        }
        let (first, second) = (self.at(one), self.at(other));
        self.orders[one.0][one.1][one.2] = second;
        self.orders[other.0][other.1][other.2] = first;
        for (taster, flight, _) in flights.into_iter().flatten() {
            cost += self.counts.add(flight, &self.orders[taster][flight]);
        }
        cost + self.crowding(one.0)
    }

    /// What it costs that repeats of a taster stand too near: no swap between tasters moves them, so one taster's suffice.
    fn crowding(&self, taster: usize) -> i64 {
        let order = &self.orders[taster];
        let find = |glass: usize| {
            order
                .iter()
                .enumerate()
                .find_map(|(number, flight)| Some((number, flight.iter().position(|&g| g == glass)?)))
        };
        let near = |&(repeat, original): &(usize, usize)| match (find(repeat), find(original)) {
            (Some((one, place)), Some((other, place_of_other))) if one == other => {
                let apart = i64::try_from(place.abs_diff(place_of_other)).unwrap_or(i64::MAX);
                let unavoidable = order.len() == 1;
                NEAR / (apart * apart).max(1) + if unavoidable { 0 } else { SAME_FLIGHT }
            }
            _ => 0,
        };
        self.question.repeats.iter().map(near).sum()
    }
}

/// Which glasses each taster tastes: each glass as often as any other, a glass with its repeats together.
fn days(question: &Question, chance: &mut Chance) -> Result<Vec<Vec<usize>>, ServingError> {
    let each = question.each();
    if each == question.glasses {
        return Ok(vec![(0..question.glasses).collect(); question.tasters]);
    }
    let mut groups = question.groups();
    let mut given = vec![0_usize; question.glasses];
    let mut days = Vec::with_capacity(question.tasters);
    for _ in 0..question.tasters {
        chance.shuffle(&mut groups);
        // A stable sort: among those given equally often, chance decides; large groups first, or they never fit.
        groups.sort_by_key(|group| (given[group[0]], std::cmp::Reverse(group.len())));
        let mut day = Vec::with_capacity(each);
        for group in &groups {
            if day.len() + group.len() <= each {
                day.extend_from_slice(group);
                for &glass in group {
                    given[glass] += 1;
                }
            }
        }
        days.push(day);
    }
    if given.contains(&0) {
        let (glasses, tasters, most) = (question.glasses, question.tasters, question.most);
        return Err(ServingError::Uncovered { glasses, tasters, most });
    }
    Ok(days)
}

#[cfg(test)]
mod tests;
