//! A store for bottles laid out: its rows of bins or pallets.
//!
//! Bottles may lie at any place in the person's own words. Where a store is laid out, its bins have places like
//! `store/A-03`, stand on the map when they are empty, too, and a place that is none of them is a slip.

use serde::{Deserialize, Serialize};

use super::refusal::RunRefusal;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::core::table::{Labelled, Renamable};

/// The fact `store_laid_out`: a store for bottles and its bins.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StoreLaidOut {
    /// The store's label.
    pub store: Label,
    /// Its rows, in the order in which they stand.
    pub rows: Vec<BinRow>,
}

/// A row of bins or pallets.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BinRow {
    /// The row's label.
    pub row: Label,
    /// How many bins stand in it, counted from 1.
    pub bins: u16,
}

/// A store for bottles.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Store {
    /// Its label.
    pub label: Label,
    /// Its rows, in the order in which they stand.
    pub rows: Vec<BinRow>,
}

/// The most bins a row may have, and the most rows a store.
const MOST: u16 = 999;

impl Labelled for Store {
    fn label(&self) -> &Label {
        &self.label
    }
}

impl Renamable for Store {
    fn set_label(&mut self, label: Label) {
        self.label = label;
    }
}

impl Store {
    /// The place of a bin of a row; none where its name would be too long for a label.
    #[must_use]
    pub fn place(&self, row: &BinRow, bin: u16) -> Option<Label> {
        Label::read(&format!("{}/{}-{bin:02}", self.label, row.row)).ok()
    }

    /// Whether a place is one of its bins.
    #[must_use]
    pub fn has(&self, place: &Label) -> bool {
        self.rows.iter().any(|row| (1..=row.bins).any(|bin| self.place(row, bin).as_ref() == Some(place)))
    }
}

impl StoreLaidOut {
    fn is_sound(&self) -> bool {
        let names_differ =
            self.rows.iter().enumerate().all(|(at, row)| self.rows[..at].iter().all(|earlier| earlier.row != row.row));
        let store = self.store();
        let is_sound = |row: &BinRow| {
            (1..=MOST).contains(&row.bins) && !row.row.as_str().contains('/') && store.place(row, row.bins).is_some()
        };
        let rows = (1..=usize::from(MOST)).contains(&self.rows.len());
        rows && names_differ && !self.store.as_str().contains('/') && self.rows.iter().all(is_sound)
    }

    fn store(&self) -> Store {
        Store { label: self.store.clone(), rows: self.rows.clone() }
    }
}

impl Job for StoreLaidOut {
    type Ready = ();

    fn ready(&self, _state: &State) -> Result<(), Refusal> {
        if self.is_sound() { Ok(()) } else { Err(RunRefusal::BadStore(self.store.clone()).into()) }
    }

    /// A store may be laid out anew as long as every bin that holds bottles is still there.
    fn slip(&self, state: &State, (): &()) -> Option<Refusal> {
        let before = state.stores.by_label(self.store.as_str())?;
        let after = Store { label: before.label.clone(), ..self.store() };
        let mut laid = state.runs.iter().flat_map(|(_, run)| run.laid().map(|(place, _)| place));
        let lost = laid.find(|place| before.has(place) && !after.has(place))?;
        Some(RunRefusal::BinLost { store: self.store.clone(), place: lost.clone() }.into())
    }

    fn apply(&self, state: &mut State, _: &Stamp, (): ()) {
        match state.stores.find(self.store.as_str()) {
            // It may be laid out anew by a name that it had before.
            Some(id) => state.stores.get_mut(id).rows.clone_from(&self.rows),
            None => drop(state.stores.add(self.store())),
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.store)
    }
}

impl State {
    /// A bin as it is called now, where its store was called otherwise before.
    pub(in crate::cellar) fn bin_renamed(&self, place: &Label) -> Option<Label> {
        let (store, bin) = place.as_str().split_once('/')?;
        let now = &self.stores.by_label(store)?.label;
        (now.as_str() != store).then(|| Label::read(&format!("{now}/{bin}")).ok()).flatten()
    }

    /// Why a place is none, if it is to lie in a store that is laid out without it.
    pub(in crate::cellar) fn no_bin(&self, place: &Label) -> Option<RunRefusal> {
        let (store, _) = place.as_str().split_once('/')?;
        let store = self.stores.by_label(store).filter(|store| !store.has(place))?;
        Some(RunRefusal::NoBin { store: store.label.clone(), place: place.clone() })
    }
}
