//! What a count comes to: what is to be counted, what is missing, and the facts that put the book right.

use super::Counted;
use super::found::FoundWine;
use super::keeping::{BottlesFound, Count, CountEnded, Scope};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RunId, State, StoreId, VesselId};
use crate::cellar::jobs::bottles::bottling::bins::{Bin, StoreMap};
use crate::cellar::jobs::bottles::bottling::bottles_counted::BottlesCounted;
use crate::cellar::jobs::bottles::bottling::drawing::Whence;
use crate::cellar::jobs::topping::gauging::Gauged;

/// Something that is to be counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// A vessel.
    Vessel(VesselId),
    /// A bin, whatever lies there: to say more before it is counted would tell of the book.
    Bin(Label),
    /// Bottles of one lot code that lie in a bin on paper: what a count may have missed.
    Bottles {
        /// Of which run.
        run: RunId,
        /// What stands on them, as far as it is known.
        lot_code: Option<Label>,
        /// Where they lie.
        place: Label,
    },
}

impl State {
    /// The count that is open for a scope, if one is.
    #[must_use]
    pub fn open_count(&self, scope: Scope) -> Option<&Count> {
        self.counts.iter().map(|(_, count)| count).find(|count| count.ended.is_none() && count.scope == scope)
    }

    /// What is to be counted in a scope, in walking order: every vessel that is still there, or every bin.
    #[must_use]
    pub fn lines_to_count(&self, scope: Scope) -> Vec<Line> {
        let is_there = |id: &VesselId| self.vessels.get(*id).retired.is_none();
        let lies_in = |id: &VesselId, room| self.vessels.get(*id).slot.map(|slot| slot.room) == Some(room);
        match scope {
            Scope::Whole => self.in_walking_order().filter(is_there).map(Line::Vessel).collect(),
            Scope::Room(room) => {
                self.in_walking_order().filter(is_there).filter(|id| lies_in(id, room)).map(Line::Vessel).collect()
            }
            Scope::Store(store) => {
                self.map_of(store).iter().flat_map(StoreMap::bins).map(|bin| Line::Bin(bin.place.clone())).collect()
            }
        }
    }

    fn map_of(&self, store: StoreId) -> Option<StoreMap> {
        let label = &self.stores.get(store).label;
        self.bin_maps().into_iter().find(|map| map.store.as_ref() == Some(label))
    }

    /// What was found on a line in a count, in words that hide the book; none where it was not counted.
    #[must_use]
    pub fn is_counted(&self, count: &Count, line: &Line) -> bool {
        match line {
            Line::Vessel(id) => count.vessels.contains_key(id),
            Line::Bottles { run, lot_code, place } => count.bottles_of(*run, lot_code.as_ref(), Some(place)).is_some(),
            Line::Bin(place) => {
                let lies_there = |its: &BottlesFound| its.place.as_ref() == Some(place);
                count.empty_bins.contains(place) || count.bottles.iter().any(lies_there)
            }
        }
    }

    /// What holds wine or bottles by the book and was not counted.
    #[must_use]
    pub fn missing_of(&self, count: &Count) -> Vec<Line> {
        let holds = |line: &Line| !matches!(line, Line::Vessel(id) if self.vessels.get(*id).wine.is_empty());
        let lines = match count.scope {
            Scope::Store(store) => self.map_of(store).as_ref().map_or_else(Vec::new, on_paper),
            Scope::Whole | Scope::Room(_) => self.lines_to_count(count.scope),
        };
        lines.into_iter().filter(holds).filter(|line| !self.is_counted(count, line)).collect()
    }

    /// The facts that put the book right by a count and close it, for a reason; wine that the book did not have is of the lot that is
    /// said. What is as full as it is kept, and bottles that are as many as the book has, need none. Refused as a whole where
    /// something was moved since it was counted.
    pub fn book_count(&self, count: &Count, why: &Text, lot: Option<LotId>, at: Moment) -> Result<Vec<What>, Refusal> {
        let moved = |counted: &Counted| self.vessels.get(counted.vessel).volume() != counted.book;
        if let Some(counted) = count.vessels.values().find(|counted| counted.tells() && moved(counted)) {
            return Err(Refusal::MovedSinceCounted(self.vessels.get(counted.vessel).label.clone()));
        }
        let there = |its: &BottlesFound| {
            let whence = its.place.as_ref().map_or(Whence::Line, Whence::Place);
            self.runs.get(its.run).there(whence, its.lot_code.as_ref())
        };
        if let Some(its) = count.bottles.iter().find(|its| there(its) != its.book) {
            let run = self.runs.get(its.run);
            return Err(Refusal::MovedSinceCounted(its.lot_code.as_ref().unwrap_or(&run.label).clone()));
        }
        let differ = count.bottles.iter().filter(|its| u64::from(its.found) != its.book);
        let bottles = differ.map(|its| {
            What::BottlesCounted(Box::new(BottlesCounted {
                run: self.runs.get(its.run).label.clone(),
                lot_code: its.lot_code.clone(),
                place: its.place.clone(),
                bottles: its.found,
                why: why.clone(),
            }))
        });
        let ended = What::CountEnded(CountEnded { count: count.label.clone(), why: Some(why.clone()) });
        let vessels = self.put_right(count.vessels.values(), lot, at)?;
        Ok(vessels.into_iter().chain(bottles).chain([ended]).collect())
    }

    /// The facts that put the book of counted vessels right: a gauging of each that tells what it holds, and wine that comes into
    /// the book where there was none, of the lot that is said or of one called `found`.
    pub fn put_right<'a>(
        &self,
        counts: impl IntoIterator<Item = &'a Counted>,
        lot: Option<LotId>,
        at: Moment,
    ) -> Result<Vec<What>, Refusal> {
        let mut new = FoundWine::of(self, lot, at);
        let mut gaugings = Vec::new();
        for counted in counts.into_iter().filter(|counted| counted.tells()) {
            let vessel = self.vessels.get(counted.vessel);
            if counted.is_new_wine() {
                new.found(vessel, counted.found)?;
            } else if !counted.book.is_zero() {
                gaugings.push(What::Gauged(Gauged::of_volume(vessel.label.clone(), counted.found)));
            }
        }
        Ok(new.whats.into_iter().chain(gaugings).collect())
    }

    /// The vessels in which a count found wine where the book has none.
    #[must_use]
    pub fn new_wine_of(&self, count: &Count) -> Vec<VesselId> {
        count.vessels.values().filter(|counted| counted.is_new_wine()).map(|counted| counted.vessel).collect()
    }
}

/// What lies in each bin on paper.
fn on_paper(map: &StoreMap) -> Vec<Line> {
    let of_bin = |bin: &Bin| {
        let place = bin.place.clone();
        let line = move |(run, lot_code)| Line::Bottles { run, lot_code, place: place.clone() };
        bin.codes().into_iter().map(line)
    };
    map.bins().flat_map(of_bin).collect()
}
