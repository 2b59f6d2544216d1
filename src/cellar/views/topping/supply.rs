//! Supply: which vessel each barrel of a round is topped from, and whether they hold enough.
//!
//! One rule serves the plan, the sheet and the walk: a barrel is topped from the vessel nearest of kin to its lot that still
//! holds what it is expected to take; of those that are as near the one in hand goes on. The plan asks for the whole round
//! beforehand, the walk at each barrel, so that both come to the same.
//!
//! **A topping vessel has run out** when it holds less than the next barrel is expected to take: nobody tops one barrel from two.

use rustc_hash::FxHashMap;

use super::plan::Stop;
use super::walk::Hose;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, OriginId, State, Vessel, VesselId};
use crate::cellar::core::wine::{Part, Wine};
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::topping::round::Crossing;
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

/// The vessels of a round with what is left in them, and whom each of them tops.
pub(in crate::cellar) struct Supply<'a> {
    state: &'a State,
    at: Moment,
    sources: Vec<(VesselId, Volume)>,
    /// The vessel that is topped from just now.
    in_hand: Option<VesselId>,
    /// Wine of another lot that tops a lot in this round: it was asked for, or poured.
    crossings: &'a [Crossing],
    /// The barrels of the round, from which each lot is judged.
    barrels: &'a [VesselId],
    /// For each lot that was asked for, which of the sources may top it, the nearest of kin first; without regard to what is
    /// in hand.
    ranked: FxHashMap<Option<LotId>, Vec<Kin>>,
}

/// How near of kin a source is to a lot; the nearest is the least.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Kin {
    /// Whether it would end that the lot is organic.
    spoils_organic: bool,
    /// Whether it is another lot's, and nobody said that it tops this one.
    is_other: bool,
    /// Whether it is another owner's, and of vintage, variety and vineyard how many are others; of one's own it makes no odds.
    strange: (bool, usize),
    /// Where it stands among the sources.
    index: usize,
}

impl<'a> Supply<'a> {
    /// The vessels that can top some barrels, as they are at a moment.
    pub(in crate::cellar) fn new(
        state: &'a State,
        sources: &[VesselId],
        in_hand: Option<VesselId>,
        crossings: &'a [Crossing],
        barrels: &'a [VesselId],
        at: Moment,
    ) -> Supply<'a> {
        let sources = sources.iter().map(|&id| (id, state.vessels.get(id).volume())).collect();
        Supply { state, at, sources, in_hand, crossings, barrels, ranked: FxHashMap::default() }
    }

    /// The vessel in hand.
    pub(in crate::cellar) const fn in_hand(&self) -> Option<VesselId> {
        self.in_hand
    }

    /// Another vessel is taken in hand.
    pub(in crate::cellar) const fn take_in_hand(&mut self, vessel: VesselId) {
        self.in_hand = Some(vessel);
    }

    /// So much is drawn from the vessel in hand.
    pub(in crate::cellar) fn draw_from_hand(&mut self, volume: Volume) {
        for (_, left) in self.sources.iter_mut().filter(|(id, _)| Some(*id) == self.in_hand) {
            *left = left.saturating_sub(volume);
        }
    }

    /// How a barrel stands to the vessel in hand.
    pub(in crate::cellar) fn hose(&mut self, id: VesselId) -> Hose {
        match self.from(id) {
            Some(from) if Some(from) == self.in_hand => Hose::InHand,
            Some(from) => Hose::Other(from),
            None => Hose::None,
        }
    }

    /// When barrels of one group have their turn: first what the vessel in hand tops, then what another one of its colour tops,
    /// so that the can need not be rinsed, then the rest, and last what none does.
    pub(in crate::cellar) fn turn(&self, hose: Hose) -> u8 {
        let colour = |id: VesselId| self.state.colour_in(self.state.vessels.get(id));
        match hose {
            Hose::InHand => 0,
            Hose::Other(from) if self.in_hand.is_none_or(|in_hand| colour(in_hand) == colour(from)) => 1,
            Hose::Other(_) => 2,
            Hose::None => 3,
        }
    }

    /// The vessel that a barrel is topped from as things stand; none where no vessel of its colour holds enough.
    pub(in crate::cellar) fn from(&mut self, id: VesselId) -> Option<VesselId> {
        let (state, sources, in_hand, at) = (self.state, &self.sources, self.in_hand, self.at);
        let vessel = state.vessels.get(id);
        let mut expected = None;
        // Of a vessel that holds more than the whole barrel nothing need be estimated.
        let mut holds_enough = |left: Volume| {
            left > vessel.capacity || left >= *expected.get_or_insert_with(|| state.expected_topping(vessel, at))
        };
        let rank = |kin: &Kin| {
            let other_than_in_hand = Some(sources[kin.index].0) != in_hand;
            // Among one's own the one in hand goes on; of others it does where they are as near.
            let own_in_hand = !kin.is_other && !other_than_in_hand;
            (kin.spoils_organic, kin.is_other, !own_in_hand, kin.strange, other_than_in_hand, kin.index)
        };
        let crossings = self.crossings;
        let barrels = self.barrels;
        let ranked =
            self.ranked.entry(vessel.lot).or_insert_with(|| kin_of(state, vessel, barrels, sources, crossings));
        let able = ranked.iter().filter(|kin| sources[kin.index].0 != id && holds_enough(sources[kin.index].1));
        able.min_by_key(|kin| rank(kin)).map(|kin| sources[kin.index].0)
    }
}

/// The sources of the colour of a barrel's lot, with how near of kin they are to the lot.
fn kin_of(
    state: &State,
    vessel: &Vessel,
    barrels: &[VesselId],
    sources: &[(VesselId, Volume)],
    crossings: &[Crossing],
) -> Vec<Kin> {
    let colour: Option<Colour> = state.colour_in(vessel);
    let of_colour = |(_, (id, _)): &(usize, &(VesselId, Volume))| state.colour_in(state.vessels.get(*id)) == colour;
    // Where there is no choice nothing need be judged, and a lot may have thousands of barrels.
    let mut able = sources.iter().enumerate().filter(of_colour);
    if let (Some((index, _)), None) = (able.next(), able.next()) {
        return vec![Kin { spoils_organic: false, is_other: false, strange: (false, 0), index }];
    }
    let mut wine = Wine::default();
    for other in barrels.iter().map(|&id| state.vessels.get(id)).filter(|other| other.lot == vessel.lot) {
        wine.mix(&other.wine);
    }
    let own = state.character(if wine.is_empty() { &vessel.wine } else { &wine });
    let kin = |(index, &(id, _)): (usize, &(VesselId, Volume))| {
        let source = state.vessels.get(id);
        let its = state.character(&source.wine);
        let crosses = source.lot.zip(vessel.lot).is_some_and(|pair| crossings.contains(&pair));
        let same = [its.vintage == own.vintage, its.variety == own.variety, its.vineyard == own.vineyard];
        let is_own = source.lot == vessel.lot || crosses;
        Kin {
            spoils_organic: own.organic && !its.organic && !crosses,
            is_other: !is_own,
            strange: (its.owner != own.owner, same.iter().filter(|same| !**same).count()),
            index,
        }
    };
    sources.iter().enumerate().filter(of_colour).map(kin).collect()
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

    /// All wine of a lot in the barrels of a plan.
    pub(in crate::cellar) fn wine_of(&self, stops: &[Stop], lot: Option<LotId>) -> Wine {
        let mut wine = Wine::default();
        for vessel in stops.iter().map(|stop| self.vessels.get(stop.vessel)).filter(|vessel| vessel.lot == lot) {
            wine.mix(&vessel.wine);
        }
        wine
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
pub(in crate::cellar) fn lots_of(state: &State, stops: &[Stop]) -> Vec<LotId> {
    let mut lots = Vec::new();
    for lot in stops.iter().filter_map(|stop| state.vessels.get(stop.vessel).lot) {
        if !lots.contains(&lot) {
            lots.push(lot);
        }
    }
    lots
}

/// The value that most litres of some parts have; of equals the first.
pub(in crate::cellar) fn mostly<T: PartialEq>(parts: &[Part], value: impl Fn(OriginId) -> T) -> Option<T> {
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
