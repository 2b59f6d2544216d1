//! Tasting blind at the bench: barrels into numbered glasses, tasted by number, and only then the numbers are opened.
//!
//! A flight is not in the log before it is opened: what was said of its glasses lives as long as the program that poured it.

use std::collections::HashMap;

use crate::cellar::core::decide::decide;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::tests::tasting::Impression;
use crate::reckon::chance::Chance;

/// The most glasses of a flight: common practice, ten barrels into ten glasses.
pub const MOST_GLASSES: usize = 10;

/// How barrels of a lot are picked for the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pick {
    /// As different as can be in cooper, forest and fill.
    Spread,
    /// By chance.
    Chance,
}

/// Barrels in numbered glasses. Which barrel stands in which glass is told by [`Flight::opened`] alone.
#[derive(Clone, Debug, PartialEq)]
pub struct Flight {
    glasses: Vec<(Label, Impression)>,
}

impl Flight {
    /// Pours barrels into glasses in an order that a seed decides.
    #[must_use]
    pub fn pour(barrels: Vec<Label>, seed: u64) -> Flight {
        let mut glasses: Vec<_> = barrels.into_iter().map(|barrel| (barrel, Impression::default())).collect();
        Chance::from_seed(seed).shuffle(&mut glasses);
        Flight { glasses }
    }

    /// What was said of each glass so far, in the order of their numbers.
    #[must_use]
    pub fn impressions(&self) -> impl ExactSizeIterator<Item = &Impression> {
        self.glasses.iter().map(|(_, impression)| impression)
    }

    /// Says something of a glass, in place of what was said before. Glasses count from nought here.
    pub fn taste(&mut self, glass: usize, impression: Impression) -> Result<(), Refusal> {
        if let Some(score) = impression.score.filter(|score| !(0.0..=20.0).contains(score)) {
            return Err(Refusal::ScoreOutOfRange(score));
        }
        if let Some((_, said)) = self.glasses.get_mut(glass) {
            *said = impression;
        }
        Ok(())
    }

    /// The glasses of which nothing was said, counted from nought.
    #[must_use]
    pub fn untasted(&self) -> Vec<usize> {
        let nothing = |(index, said): (usize, &Impression)| (*said == Impression::default()).then_some(index);
        self.impressions().enumerate().filter_map(nothing).collect()
    }

    /// The tastes of all glasses that were tasted, as far as the cellar takes them now: a barrel that was emptied while it
    /// stood in a glass is not tasted any more.
    #[must_use]
    pub fn tastes(&self, state: &State, now: Moment) -> Vec<What> {
        let tasted = self.glasses.iter().filter(|(_, said)| *said != Impression::default());
        let facts = tasted.map(|(barrel, said)| What::Tasted(Box::new(said.clone().of(barrel.clone()))));
        facts.filter(|fact| decide(state, fact, now, now).is_ok()).collect()
    }

    /// Barrels and what was said of them, by the number of the glass, from one.
    pub fn opened(&self) -> impl Iterator<Item = (usize, &Label, &Impression)> {
        self.glasses.iter().zip(1..).map(|((barrel, said), number)| (number, barrel, said))
    }
}

impl State {
    /// Up to ten barrels of a lot for the bench. What the pick leaves open, the seed decides.
    #[must_use]
    pub fn picked_for_bench(&self, lot: LotId, pick: Pick, seed: u64) -> Vec<VesselId> {
        let of_lot = |vessel: &Vessel| vessel.lot == Some(lot) && vessel.vessel_type == VesselType::Barrel;
        let mut barrels: Vec<VesselId> =
            self.vessels.iter().filter(|(_, vessel)| of_lot(vessel)).map(|(id, _)| id).collect();
        Chance::from_seed(seed).shuffle(&mut barrels);
        if pick == Pick::Spread {
            barrels = self.spread(barrels);
        }
        barrels.truncate(MOST_GLASSES);
        barrels
    }

    /// The barrels of a flight, one after the other the one whose cooper, forest and fill were picked least so far.
    fn spread(&self, mut barrels: Vec<VesselId>) -> Vec<VesselId> {
        let mut picked_with: HashMap<(u8, String), usize> = HashMap::new();
        let mut picked = Vec::new();
        while !barrels.is_empty() && picked.len() < MOST_GLASSES {
            let picked_before = |id: &VesselId| -> usize {
                qualities(self.vessels.get(*id)).iter().filter_map(|quality| picked_with.get(quality)).sum()
            };
            let least =
                barrels.iter().enumerate().min_by_key(|(_, id)| picked_before(id)).map_or(0, |(index, _)| index);
            let id = barrels.remove(least);
            for quality in qualities(self.vessels.get(id)) {
                *picked_with.entry(quality).or_default() += 1;
            }
            picked.push(id);
        }
        picked
    }
}

/// By what barrels are told apart; what is not known is a quality too.
fn qualities(vessel: &Vessel) -> [(u8, String); 3] {
    let word = |label: &Option<Label>| label.as_ref().map(ToString::to_string).unwrap_or_default();
    [(0, word(&vessel.wood.cooper)), (1, word(&vessel.wood.forest)), (2, vessel.fills.to_string())]
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn a_flight_keeps_its_barrels_and_any_may_stand_first() {
        let barrels: Vec<Label> = (0..10).map(|number| Label::new(&format!("04{number:02}")).unwrap()).collect();
        let mut firsts = HashSet::new();
        for seed in 0..200 {
            let flight = Flight::pour(barrels.clone(), seed);
            let mut poured: Vec<Label> = flight.opened().map(|(_, barrel, _)| barrel.clone()).collect();
            firsts.insert(poured[0].clone());
            poured.sort();
            assert_eq!(poured, barrels);
        }
        assert_eq!(firsts.len(), 10);
    }
}
