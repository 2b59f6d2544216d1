//! The bins as a map: what lies in each, store by store and row by row.
//!
//! **The map of bins** (`cellar/jobs/bottles/bottling/bins.rs`) is read off the runs at every look; a store only says which bins there are.
//! Places in free words stand on it as well, in the order of counting.

use std::collections::BTreeMap;

use super::release::Readiness;
use super::run::Stock;
use super::store::Store;
use crate::cellar::core::day::Day;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{RunId, State};

/// Bins that are laid out in no row stand so many beside each other.
const IN_A_ROW: usize = 8;

/// A store with all its bins.
#[derive(Clone, Debug, PartialEq)]
pub struct StoreMap {
    /// What it is called; none where the places are of no store.
    pub store: Option<Label>,
    /// Its rows.
    pub rows: Vec<RowMap>,
}

/// A row of bins.
#[derive(Clone, Debug, PartialEq)]
pub struct RowMap {
    /// What it is called; nothing where it is no row of a store that is laid out.
    pub row: String,
    /// Its bins.
    pub bins: Vec<Bin>,
}

/// A bin, a pallet or a shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Bin {
    /// Its place.
    pub place: Label,
    /// What lies there.
    pub lying: Vec<Lying>,
}

/// Bottles of one run, lot code and release in a bin.
#[derive(Clone, Debug, PartialEq)]
pub struct Lying {
    /// Of which run.
    pub run: RunId,
    /// The bottles.
    pub stock: Stock,
}

/// What a bin is for the one who looks for bottles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holding {
    /// Nothing lies there.
    Empty,
    /// One lot code, all of one readiness.
    One(Readiness),
    /// Several lot codes, or bottles that may go beside bottles that may not.
    Mixed,
}

impl Bin {
    /// How many bottles lie there.
    #[must_use]
    pub fn bottles(&self) -> u64 {
        self.lying.iter().map(|lying| lying.stock.there).sum()
    }

    /// The lot codes that lie there, each once, with their runs.
    #[must_use]
    pub fn codes(&self) -> Vec<(RunId, Option<Label>)> {
        let mut codes: Vec<(RunId, Option<Label>)> = Vec::new();
        for lying in &self.lying {
            let code = (lying.run, lying.stock.lot_code.clone());
            if !codes.contains(&code) {
                codes.push(code);
            }
        }
        codes
    }

    /// What it is on a day.
    #[must_use]
    pub fn holding(&self, today: Day) -> Holding {
        let Some(first) = self.lying.first() else { return Holding::Empty };
        let of = |lying: &Lying| (lying.run, lying.stock.lot_code.clone(), lying.stock.readiness(today));
        let is_one = self.lying.iter().all(|lying| of(lying) == of(first));
        if is_one { Holding::One(first.stock.readiness(today)) } else { Holding::Mixed }
    }
}

impl StoreMap {
    /// The bins, row by row.
    pub fn bins(&self) -> impl Iterator<Item = &Bin> {
        self.rows.iter().flat_map(|row| &row.bins)
    }
}

impl State {
    /// The stores that are laid out, in their order; then places that begin with the name of another store and a slash; last
    /// all others.
    #[must_use]
    pub fn bin_maps(&self) -> Vec<StoreMap> {
        let mut lying = self.lying_by_place();
        let mut maps: Vec<StoreMap> = self.stores.iter().map(|(_, store)| laid_out(store, &mut lying)).collect();
        let mut others: BTreeMap<Option<&str>, Vec<Bin>> = BTreeMap::new();
        for (place, lying) in lying {
            let store = place.as_str().split_once('/').map(|(store, _)| store);
            others.entry(store).or_default().push(Bin { place: place.clone(), lying });
        }
        let nowhere = others.remove(&None);
        for (store, bins) in others {
            let known = maps.iter_mut().find(|map| map.store.as_ref().map(Label::as_str) == store);
            if let Some(map) = known {
                map.rows.extend(in_rows(bins));
            } else {
                let store = store.and_then(|store| Label::read(store).ok());
                maps.push(StoreMap { store, rows: in_rows(bins) });
            }
        }
        maps.extend(nowhere.map(|bins| StoreMap { store: None, rows: in_rows(bins) }));
        maps
    }

    /// Everything that lies where it was laid away, with where: what may go first comes first, without a release last.
    #[must_use]
    pub fn by_release(&self, today: Day) -> Vec<Lying> {
        let all = self.runs.iter().flat_map(|(run, its)| its.laid().map(move |(_, stock)| (run, stock)));
        let mut lying: Vec<Lying> = all.map(|(run, stock)| Lying { run, stock: stock.clone() }).collect();
        lying.sort_by_cached_key(|lying| {
            let place = lying.stock.place.as_ref().map(|place| counted(place.as_str()));
            (lying.stock.readiness(today), lying.stock.release, lying.run, place)
        });
        lying
    }

    /// What is not laid away yet.
    #[must_use]
    pub fn not_laid_away(&self) -> Vec<Lying> {
        let loose = self.runs.iter().flat_map(|(run, its)| its.stock.iter().map(move |stock| (run, stock)));
        let loose = loose.filter(|(_, stock)| stock.place.is_none());
        loose.map(|(run, stock)| Lying { run, stock: stock.clone() }).collect()
    }

    /// What lies at every place, in the order of the runs.
    fn lying_by_place(&self) -> BTreeMap<&Label, Vec<Lying>> {
        let mut places: BTreeMap<&Label, Vec<Lying>> = BTreeMap::new();
        for (run, its) in self.runs.iter() {
            for (place, stock) in its.laid() {
                places.entry(place).or_default().push(Lying { run, stock: stock.clone() });
            }
        }
        places
    }

    /// What lies at one place.
    #[must_use]
    pub fn bin(&self, place: &Label) -> Bin {
        let lies_there = |run: RunId| {
            move |(its, stock): (&Label, &Stock)| (its == place).then(|| Lying { run, stock: stock.clone() })
        };
        let lying = self.runs.iter().flat_map(|(id, run)| run.laid().filter_map(lies_there(id)).collect::<Vec<_>>());
        Bin { place: place.clone(), lying: lying.collect() }
    }
}

/// The map of a store that is laid out; what lies in its bins is taken from the rest.
fn laid_out(store: &Store, lying: &mut BTreeMap<&Label, Vec<Lying>>) -> StoreMap {
    let rows = store.rows.iter().map(|row| {
        let places = (1..=row.bins).filter_map(|bin| store.place(row, bin));
        let bins = places.map(|place| Bin { lying: lying.remove(&place).unwrap_or_default(), place });
        RowMap { row: row.row.to_string(), bins: bins.collect() }
    });
    StoreMap { store: Some(store.label.clone()), rows: rows.collect() }
}

/// Bins of no known row, in the order in which a person would count them.
fn in_rows(mut bins: Vec<Bin>) -> Vec<RowMap> {
    bins.sort_by_cached_key(|bin| counted(bin.place.as_str()));
    bins.chunks(IN_A_ROW).map(|bins| RowMap { row: String::new(), bins: bins.to_vec() }).collect()
}

/// A key by which `bin 9` comes before `bin 10`: the text and the numbers in it, in turn.
fn counted(text: &str) -> Vec<(String, u64)> {
    let mut parts = vec![(String::new(), 0_u64)];
    let mut in_number = false;
    for character in text.chars() {
        if let Some(digit) = character.to_digit(10) {
            if let Some((_, number)) = parts.last_mut() {
                *number = number.saturating_mul(10).saturating_add(u64::from(digit));
            }
        } else if in_number {
            parts.push((character.to_string(), 0));
        } else if let Some((text, _)) = parts.last_mut() {
            text.push(character);
        }
        in_number = character.is_ascii_digit();
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bins_are_ordered_as_a_person_counts() {
        let mut places = ["bin 10", "bin 9", "A-02", "A-1", "bin 9 top", "pallet"];
        places.sort_by_cached_key(|place| counted(place));
        assert_eq!(places, ["A-1", "A-02", "bin 9", "bin 9 top", "bin 10", "pallet"]);
    }
}
