//! Things by their label: a table that is cheap to clone, so that earlier states can be kept beside the present one.

use std::fmt;
use std::marker::PhantomData;
use std::sync::Arc;

use rustc_hash::FxHashMap;
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
    ids: Arc<FxHashMap<Label, u32>>,
    things: Vec<Arc<T>>,
    of: PhantomData<I>,
}

impl<I: Id, T: Labelled + Clone> Table<I, T> {
    /// The id that a label stands for.
    #[must_use]
    pub fn find(&self, label: &str) -> Option<I> {
        self.ids.get(label).map(|&index| I::from_index(index as usize))
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
        Arc::make_mut(&mut self.ids).insert(thing.label().clone(), u32::try_from(id.index()).unwrap_or(u32::MAX));
        self.things.push(Arc::new(thing));
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
        let ids = things.iter().zip(0_u32..).map(|(thing, index)| (thing.label().clone(), index)).collect();
        Table { ids: Arc::new(ids), things, of: PhantomData }
    }
}

impl<I, T> From<Table<I, T>> for Vec<Arc<T>> {
    fn from(table: Table<I, T>) -> Self {
        table.things
    }
}
