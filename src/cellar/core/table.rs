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

/// A thing that may be called otherwise from some moment on.
pub trait Renamable: Labelled {
    /// Calls it by another label.
    fn set_label(&mut self, label: Label);
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
#[serde(from = "Kept<T>", into = "Kept<T>")]
#[serde(bound(serialize = "T: Labelled + Serialize", deserialize = "I: Id, T: Labelled + Deserialize<'de>"))]
pub struct Table<I, T> {
    /// The index of each thing under the hash of its label, which stands with the thing alone: a million facts look for ten thousand
    /// vessels, and the smaller what is searched, the more of it lies in the cache of a processor.
    ids: Arc<HashTable<u32>>,
    things: Vec<Arc<T>>,
    /// The labels by which things were called before, each with the index of its thing. They are few.
    former: Arc<Vec<(Label, u32)>>,
    of: PhantomData<I>,
}

/// What is kept of a table: its things, and by which labels they were called before.
type Kept<T> = (Vec<Arc<T>>, Arc<Vec<(Label, u32)>>);

impl<I: Id, T: Labelled + Clone> Table<I, T> {
    /// The id that a label stands for, or stood for before.
    #[must_use]
    pub fn find(&self, label: &str) -> Option<I> {
        let is_it = |&index: &u32| self.things[index as usize].label().as_str() == label;
        let index = self.ids.find(hash(label), is_it).copied().or_else(|| self.stood_for(label));
        index.map(|index| I::from_index(index as usize))
    }

    fn stood_for(&self, label: &str) -> Option<u32> {
        self.former.iter().find(|(former, _)| former.as_str() == label).map(|(_, index)| *index)
    }

    /// Whether anything here was called otherwise before.
    #[must_use]
    pub fn has_former(&self) -> bool {
        !self.former.is_empty()
    }

    /// By which labels a thing was called before, the earliest first.
    pub fn former(&self, id: I) -> impl Iterator<Item = &Label> {
        let index = id.index();
        self.former.iter().filter(move |(_, of)| *of as usize == index).map(|(label, _)| label)
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

    /// Calls a thing by another label, which is no other thing's. The label that it had still finds it.
    pub fn rename(&mut self, id: I, to: Label)
    where
        T: Renamable,
    {
        let index = u32::try_from(id.index()).unwrap_or(u32::MAX);
        let from = self.get(id).label().clone();
        let ids = Arc::make_mut(&mut self.ids);
        if let Ok(entry) = ids.find_entry(hash(from.as_str()), |&other| other == index) {
            entry.remove();
        }
        let former = Arc::make_mut(&mut self.former);
        former.retain(|(label, _)| *label != to);
        former.push((from, index));
        self.get_mut(id).set_label(to);
        list(Arc::make_mut(&mut self.ids), &self.things, id.index());
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
        Table { ids: Arc::default(), things: Vec::new(), former: Arc::default(), of: PhantomData }
    }
}

impl<I, T> Clone for Table<I, T> {
    fn clone(&self) -> Self {
        Table { ids: self.ids.clone(), things: self.things.clone(), former: self.former.clone(), of: PhantomData }
    }
}

impl<I, T: PartialEq> PartialEq for Table<I, T> {
    fn eq(&self, other: &Self) -> bool {
        self.things == other.things && self.former == other.former
    }
}

impl<I, T: fmt::Debug> fmt::Debug for Table<I, T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(&self.things).finish()
    }
}

impl<I, T: Labelled> From<Kept<T>> for Table<I, T> {
    fn from((things, former): Kept<T>) -> Self {
        let mut ids = HashTable::with_capacity(things.len());
        (0..things.len()).for_each(|index| list(&mut ids, &things, index));
        Table { ids: Arc::new(ids), things, former, of: PhantomData }
    }
}

impl<I, T> From<Table<I, T>> for Kept<T> {
    fn from(table: Table<I, T>) -> Self {
        (table.things, table.former)
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

    impl Renamable for Thing {
        fn set_label(&mut self, label: Label) {
            self.0 = label;
        }
    }

    /// Of three things one is called otherwise, and then as before again: every label it had finds it, and nothing else.
    #[test]
    fn a_thing_is_found_by_what_it_was_called_before() {
        let mut table: Table<ThingId, Thing> = Table::default();
        let ids: Vec<ThingId> = (0..3).map(|number| table.add(Thing(label(number)))).collect();
        let before = table.clone();
        for (to, former) in [(7, vec![1]), (8, vec![1, 7]), (1, vec![7, 8]), (9, vec![7, 8, 1])] {
            table.rename(ids[1], label(to));
            assert_eq!(table.get(ids[1]).label(), &label(to));
            assert!(table.former(ids[1]).eq(former.iter().map(|number| label(*number)).collect::<Vec<_>>().iter()));
            let anew: Table<ThingId, Thing> = Kept::from(table.clone()).into();
            for (number, id) in
                [(0, ids[0]), (2, ids[2]), (to, ids[1])].into_iter().chain(former.iter().map(|it| (*it, ids[1])))
            {
                assert_eq!(
                    (table.find(label(number).as_str()), anew.find(label(number).as_str())),
                    (Some(id), Some(id))
                );
            }
            assert!(anew == table);
        }
        assert_eq!((table.len(), table.find(label(3).as_str())), (3, None));
        assert_eq!((before.find(label(7).as_str()), before.get(ids[1]).label()), (None, &label(1)));
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
        let anew: Table<ThingId, Thing> = Kept::from(table).into();
        for number in 0..=3_000 {
            assert_eq!(anew.find(label(number).as_str()).map(Id::index), Some(number));
            assert_eq!(kept.find(label(number).as_str()).is_some(), number < 3_000);
        }
    }
}
