//! What a count comes to: what is to be counted, what is missing, and the facts that put the book right.

use std::collections::HashSet;

use super::Counted;
use super::found::FoundWine;
use super::keeping::{BottlesFound, Count, CountEnded, Scope};
use crate::cellar::bottling::bins::StoreMap;
use crate::cellar::bottling::bottles_counted::BottlesCounted;
use crate::cellar::bottling::drawing::Whence;
use crate::cellar::fact::What;
use crate::cellar::gauging::Gauged;
use crate::cellar::label::{Label, Text};
use crate::cellar::moment::Moment;
use crate::cellar::refusal::Refusal;
use crate::cellar::state::{LotId, RunId, State, VesselId};

/// Something that is to be counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// A vessel.
    Vessel(VesselId),
    /// Bottles of one lot code in a bin.
    Bottles {
        /// Of which run.
        run: RunId,
        /// What stands on them, as far as it is known.
        lot_code: Option<Label>,
        /// Where they lie.
        place: Label,
    },
    /// A bin in which nothing lies by the book.
    EmptyBin(Label),
}

impl State {
    /// The count that is open for a scope, if one is.
    #[must_use]
    pub fn open_count(&self, scope: Scope) -> Option<&Count> {
        self.counts.iter().map(|(_, count)| count).find(|count| count.ended.is_none() && count.scope == scope)
    }

    /// What is to be counted in a scope, in walking order: every vessel that is still there, or what lies in each bin.
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
                let label = &self.stores.get(store).label;
                let map = self.bin_maps().into_iter().find(|map| map.store.as_ref() == Some(label));
                map.map_or_else(Vec::new, |map| lines_of(&map))
            }
        }
    }

    /// What was found on a line in a count, in words that hide the book; none where it was not counted.
    #[must_use]
    pub fn is_counted(&self, count: &Count, line: &Line) -> bool {
        match line {
            Line::Vessel(id) => count.vessels.contains_key(id),
            Line::Bottles { run, lot_code, place } => count.bottles_of(*run, lot_code.as_ref(), Some(place)).is_some(),
            Line::EmptyBin(place) => count.bottles.iter().any(|its| its.place.as_ref() == Some(place)),
        }
    }

    /// What holds wine or bottles by the book and was not counted.
    #[must_use]
    pub fn missing_of(&self, count: &Count) -> Vec<Line> {
        let holds = |line: &Line| match line {
            Line::Vessel(id) => !self.vessels.get(*id).wine.is_empty(),
            Line::Bottles { .. } => true,
            Line::EmptyBin(_) => false,
        };
        let lines = self.lines_to_count(count.scope).into_iter();
        lines.filter(holds).filter(|line| !self.is_counted(count, line)).collect()
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

fn lines_of(map: &StoreMap) -> Vec<Line> {
    let of_bin = |bin: &crate::cellar::bottling::bins::Bin| {
        let mut seen = HashSet::new();
        let lying = bin.lying.iter().filter(|lying| seen.insert((lying.run, lying.stock.lot_code.clone())));
        let mut lines: Vec<Line> = lying
            .map(|lying| Line::Bottles {
                run: lying.run,
                lot_code: lying.stock.lot_code.clone(),
                place: bin.place.clone(),
            })
            .collect();
        if lines.is_empty() {
            lines.push(Line::EmptyBin(bin.place.clone()));
        }
        lines
    };
    map.bins().flat_map(of_bin).collect()
}
