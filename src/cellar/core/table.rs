//! Things by their label: a table that is cheap to clone, so that earlier states can be kept beside the present one.

use std::fmt;
use std::hash::BuildHasher;
use std::marker::PhantomData;
use std::sync::Arc;

use hashbrown::HashTable;
use rustc_hash::FxBuildHasher;
use serde::{Deserialize, Serialize};

use super::label::Label;

/// A thing that a person calls by a label.
pub trait Labelled {
    /// Its label.
    fn label(&self) -> &Label;
}

/// A number that stands for a thing of one table within one state.
pub trait Id: Copy {
    /// The id of the thing at an index.
    fn from_index(index: usize) -> Self;
    /// The index of the thing.
    fn index(self) -> usize;
}

/// Declares the id type of a table.
macro_rules! id_type {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub struct $name(u32);
        impl $crate::cellar::core::table::Id for $name {
            fn from_index(index: usize) -> Self {
                Self(u32::try_from(index).unwrap_or(u32::MAX))
            }
            fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}
pub(crate) use id_type;

/// Things in the order in which they came, found by id or by label.
///
/// Cloning shares every thing; a thing is copied only when one of the clones changes it.
#[derive(Serialize, Deserialize)]
#[serde(from = "Vec<Arc<T>>", into = "Vec<Arc<T>>")]
#[serde(bound(serialize = "T: Labelled + Serialize", deserialize = "I: Id, T: Labelled + Deserialize<'de>"))]
pub struct Table<I, T> {
    /// The index of each thing under the hash of its label, which stands with the thing alone: a million facts look for ten thousand
    /// vessels, and the smaller what is searched, the more of it lies in the cache of a processor.
    ids: Arc<HashTable<u32>>,
    things: Vec<Arc<T>>,
    of: PhantomData<I>,
}

impl<I: Id, T: Labelled + Clone> Table<I, T> {
    /// The id that a label stands for.
    #[must_use]
    pub fn find(&self, label: &str) -> Option<I> {
        let is_it = |&index: &u32| self.things[index as usize].label().as_str() == label;
        self.ids.find(hash(label), is_it).map(|&index| I::from_index(index as usize))
    }

    /// The thing itself. Ids come from this table only, so it is there.
    #[must_use]
    pub fn get(&self, id: I) -> &T {
        &self.things[id.index()]
    }

    /// The thing, to be changed.
    pub fn get_mut(&mut self, id: I) -> &mut T {
        Arc::make_mut(&mut self.things[id.index()])
    }

    /// The thing that a label stands for.
    #[must_use]
    pub fn by_label(&self, label: &str) -> Option<&T> {
        self.find(label).map(|id| self.get(id))
    }

    /// Takes in a thing whose label is not yet here; a second one of the same label is passed over.
    pub fn add(&mut self, thing: T) -> I {
        if let Some(id) = self.find(thing.label().as_str()) {
            return id;
        }
        let id = I::from_index(self.things.len());
        self.things.push(Arc::new(thing));
        list(Arc::make_mut(&mut self.ids), &self.things, id.index());
        id
    }

    /// Every thing with its id, in the order in which they came.
    #[must_use]
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (I, &T)> + ExactSizeIterator {
        self.things.iter().enumerate().map(|(index, thing)| (I::from_index(index), &**thing))
    }

    /// How many things there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.things.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.things.is_empty()
    }
}

fn hash(label: &str) -> u64 {
    FxBuildHasher.hash_one(label)
}

/// Lists the thing at an index under its label.
fn list<T: Labelled>(ids: &mut HashTable<u32>, things: &[Arc<T>], index: usize) {
    let hash_of = |&index: &u32| hash(things[index as usize].label().as_str());
    let index = u32::try_from(index).unwrap_or(u32::MAX);
    ids.insert_unique(hash_of(&index), index, hash_of);
}

impl<I, T> Default for Table<I, T> {
    fn default() -> Self {
        Table { ids: Arc::default(), things: Vec::new(), of: PhantomData }
    }
}

impl<I, T> Clone for Table<I, T> {
    fn clone(&self) -> Self {
        Table { ids: self.ids.clone(), things: self.things.clone(), of: PhantomData }
    }
}

impl<I, T: PartialEq> PartialEq for Table<I, T> {
    fn eq(&self, other: &Self) -> bool {
        self.things == other.things
    }
}

impl<I, T: fmt::Debug> fmt::Debug for Table<I, T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(&self.things).finish()
    }
}

impl<I, T: Labelled> From<Vec<Arc<T>>> for Table<I, T> {
    fn from(things: Vec<Arc<T>>) -> Self {
        let mut ids = HashTable::with_capacity(things.len());
        (0..things.len()).for_each(|index| list(&mut ids, &things, index));
        Table { ids: Arc::new(ids), things, of: PhantomData }
    }
}

impl<I, T> From<Table<I, T>> for Vec<Arc<T>> {
    fn from(table: Table<I, T>) -> Self {
        table.things
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    id_type! {
        /// A thing of the test.
        ThingId
    }

    #[derive(Clone, Debug, PartialEq)]
    struct Thing(Label);

    impl Labelled for Thing {
        fn label(&self) -> &Label {
            &self.0
        }
    }

    fn label(number: usize) -> Label {
        Label::new(&format!("thing {number}")).unwrap()
    }

    #[test]
    fn every_thing_is_found_by_its_label_however_many_there_are() {
        let mut table: Table<ThingId, Thing> = Table::default();
        for number in 0..3_000 {
            assert_eq!(table.find(label(number).as_str()).map(Id::index), None);
            assert_eq!(table.add(Thing(label(number))).index(), number);
            // A second one of the same label is passed over.
            assert_eq!(table.add(Thing(label(number / 2))).index(), number / 2);
        }
        let kept = table.clone();
        table.add(Thing(label(3_000)));
        let anew: Table<ThingId, Thing> = Vec::from(table).into();
        for number in 0..=3_000 {
            assert_eq!(anew.find(label(number).as_str()).map(Id::index), Some(number));
            assert_eq!(kept.find(label(number).as_str()).is_some(), number < 3_000);
        }
    }
}
