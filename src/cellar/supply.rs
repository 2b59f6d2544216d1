//! Supply: which vessel each barrel of a round is topped from, and whether they hold enough.

use super::lot::Colour;
use super::plan::{Draw, Stop, carry};
use super::state::{LotId, OriginId, State, VesselId};
use super::wine::{Part, Wine};
use crate::units::Volume;

/// What wine is mostly of: of each of these, what most of its litres have.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Character<'a> {
    /// The year of the harvest.
    pub vintage: Option<u16>,
    /// The grape variety.
    pub variety: Option<&'a str>,
    /// The vineyard block.
    pub vineyard: Option<&'a str>,
    /// Whose it is, where it is not the house's.
    pub owner: Option<&'a str>,
    /// Whether all of it is certified organic.
    pub organic: bool,
}

/// In what a topping wine differs from the wine that it tops.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Difference {
    /// The lots that it differs from, in the order of the plan.
    pub lots: Vec<LotId>,
    /// In what: `lot` always, and of colour, vintage, variety, vineyard, owner and organic those that differ for any of them.
    pub words: Vec<&'static str>,
}

impl State {
    /// What wine is mostly of.
    #[must_use]
    pub fn character(&self, wine: &Wine) -> Character<'_> {
        let origin = |id: OriginId| &self.origins.get(id).0;
        Character {
            vintage: mostly(wine.parts(), |id| origin(id).vintage),
            variety: mostly(wine.parts(), |id| origin(id).variety.as_str()),
            vineyard: mostly(wine.parts(), |id| origin(id).block.as_str()),
            owner: mostly(wine.parts(), |id| origin(id).owner.as_ref().map_or("", |owner| owner.as_str()))
                .filter(|owner| !owner.is_empty()),
            organic: self.is_organic(wine),
        }
    }

    /// Whether all of a wine is certified organic; what has no stated origin does not count.
    pub(super) fn is_organic(&self, wine: &Wine) -> bool {
        let mut origins = wine.parts().iter().filter_map(|part| part.origin).peekable();
        origins.peek().is_some() && origins.all(|id| self.origins.get(id).0.organic == Some(true))
    }

    /// Gives every stop of a plan, lot by lot in the order in which the stops stand, its topping vessel: one after the
    /// other, each until it runs out. What no vessel of the right colour holds enough for has none.
    pub(super) fn supply(&self, stops: &mut [Stop], sources: &[VesselId]) {
        let mut left: Vec<Volume> = sources.iter().map(|&id| self.vessels.get(id).volume()).collect();
        let mut served: Vec<(u8, Option<LotId>)> = Vec::new();
        let kind = |stop: &Stop| (stop.group.rank(), self.vessels.get(stop.vessel).lot);
        for index in 0..stops.len() {
            let this = kind(&stops[index]);
            if served.contains(&this) {
                continue;
            }
            served.push(this);
            let mut ranked = self.ranked(&self.wine_of(stops, this.1), this.1, sources);
            for stop in stops[index..].iter_mut().filter(|stop| kind(stop) == this) {
                let holds_enough = |&source: &usize| left[source] >= stop.expected;
                // A barrel that none of them can top does not empty them for the others.
                let Some(position) = ranked.iter().position(holds_enough) else { continue };
                ranked.drain(..position);
                let source = ranked[0];
                left[source] = left[source].saturating_sub(stop.expected);
                stop.from = Some(sources[source]);
            }
        }
    }

    /// All wine of a lot in the barrels of a plan.
    pub(super) fn wine_of(&self, stops: &[Stop], lot: Option<LotId>) -> Wine {
        let mut wine = Wine::default();
        for vessel in stops.iter().map(|stop| self.vessels.get(stop.vessel)).filter(|vessel| vessel.lot == lot) {
            wine.mix(&vessel.wine);
        }
        wine
    }

    /// The sources of a lot's colour by kinship, the nearest first: its own lot, organic where it is, then by how much of
    /// vintage, variety and vineyard they share; else as they were.
    fn ranked(&self, wine: &Wine, lot: Option<LotId>, sources: &[VesselId]) -> Vec<usize> {
        let own = self.character(wine);
        let colour: Option<Colour> = lot.map(|lot| self.lots.get(lot).colour);
        let vessel = |index: usize| self.vessels.get(sources[index]);
        let mut ranked: Vec<usize> = (0..sources.len()).filter(|&i| self.colour_in(vessel(i)) == colour).collect();
        ranked.sort_by_key(|&index| {
            let its = self.character(&vessel(index).wine);
            let same = [its.vintage == own.vintage, its.variety == own.variety, its.vineyard == own.vineyard];
            let strange = same.iter().filter(|same| !**same).count();
            (own.organic && !its.organic, vessel(index).lot != lot, its.owner != own.owner, strange)
        });
        ranked
    }

    /// What is drawn from each source, in the order in which they are used.
    pub(super) fn draws(&self, stops: &[Stop]) -> Vec<Draw> {
        let mut used: Vec<VesselId> = Vec::new();
        for source in stops.iter().filter_map(|stop| stop.from) {
            if !used.contains(&source) {
                used.push(source);
            }
        }
        let draw = |source: VesselId| {
            let from_it = || stops.iter().filter(|stop| stop.from == Some(source));
            let expected = from_it().map(|stop| stop.expected).sum();
            Draw {
                source,
                barrels: from_it().count(),
                expected,
                carry: carry(expected, from_it()),
                holds: self.vessels.get(source).volume(),
            }
        };
        used.into_iter().map(draw).collect()
    }

    /// How a topping vessel's wine differs from that of the barrels of a plan; `None` where it is the same lot everywhere.
    #[must_use]
    pub fn difference(&self, source: VesselId, stops: &[Stop]) -> Option<Difference> {
        let from = self.vessels.get(source);
        let its = self.character(&from.wine);
        let mut difference = Difference::default();
        let mut differs = [("lot", false); 7];
        for lot in lots_of(self, stops).into_iter().filter(|&lot| Some(lot) != from.lot) {
            let own = self.character(&self.wine_of(stops, Some(lot)));
            let found = [
                ("lot", true),
                ("colour", self.colour_in(from) != Some(self.lots.get(lot).colour)),
                ("vintage", own.vintage != its.vintage),
                ("variety", own.variety != its.variety),
                ("vineyard", own.vineyard != its.vineyard),
                ("owner", own.owner != its.owner),
                ("organic", own.organic && !its.organic),
            ];
            for (kept, (word, so)) in differs.iter_mut().zip(found) {
                *kept = (word, kept.1 || so);
            }
            difference.lots.push(lot);
        }
        difference.words = differs.into_iter().filter(|&(_, so)| so).map(|(word, _)| word).collect();
        (!difference.lots.is_empty()).then_some(difference)
    }
}

/// The lots of some stops, each once, in their order.
pub(super) fn lots_of(state: &State, stops: &[Stop]) -> Vec<LotId> {
    let mut lots = Vec::new();
    for lot in stops.iter().filter_map(|stop| state.vessels.get(stop.vessel).lot) {
        if !lots.contains(&lot) {
            lots.push(lot);
        }
    }
    lots
}

/// The value that most litres of some parts have; of equals the first.
pub(super) fn mostly<T: PartialEq>(parts: &[Part], value: impl Fn(OriginId) -> T) -> Option<T> {
    let mut sums: Vec<(T, Volume)> = Vec::new();
    for part in parts {
        let Some(of) = part.origin.map(&value) else { continue };
        match sums.iter_mut().find(|(known, _)| *known == of) {
            Some((_, sum)) => *sum += part.volume,
            None => sums.push((of, part.volume)),
        }
    }
    sums.into_iter().rev().max_by_key(|&(_, sum)| sum).map(|(value, _)| value)
}
