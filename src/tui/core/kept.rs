//! What pages keep while they are closed: a draft, glasses that stand poured, what was chosen for later. One thing of a kind, each
//! made and read by the file of its page; the core does not look into it.

use std::any::{Any, TypeId};
use std::collections::HashMap;

/// What pages keep.
#[derive(Debug, Default)]
pub struct Kept(HashMap<TypeId, Box<dyn Any>>);

impl Kept {
    /// What is kept of a kind; none where nothing is.
    #[must_use]
    pub fn get<T: Any>(&self) -> Option<&T> {
        self.0.get(&TypeId::of::<T>())?.downcast_ref()
    }

    /// The same, to be changed.
    pub fn get_mut<T: Any>(&mut self) -> Option<&mut T> {
        self.0.get_mut(&TypeId::of::<T>())?.downcast_mut()
    }

    /// Keeps a thing, in place of what was kept of its kind.
    pub fn put<T: Any>(&mut self, thing: T) {
        self.0.insert(TypeId::of::<T>(), Box::new(thing));
    }

    /// Gives back what was kept of a kind, and keeps it no more.
    pub fn take<T: Any>(&mut self) -> Option<T> {
        self.0.remove(&TypeId::of::<T>())?.downcast().ok().map(|thing| *thing)
    }
}
