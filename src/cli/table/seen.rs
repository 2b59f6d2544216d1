//! A thing as it is seen in its cellar at a moment: what a column looks at.

use std::ops::Deref;

use super::cell::Cell;
use super::column::Column;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};

/// A thing, the cellar that it is in, and when one looks.
#[derive(Clone, Copy)]
pub struct Seen<'a, T> {
    /// The cellar.
    pub state: &'a State,
    /// When.
    pub on: Moment,
    /// The thing.
    pub thing: T,
}

impl<T> Deref for Seen<'_, T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.thing
    }
}

impl<'a, T> Seen<'a, T> {
    /// Another thing of the same cellar at the same moment.
    pub const fn other<'b, U>(&self, thing: U) -> Seen<'b, U>
    where
        'a: 'b,
    {
        Seen { state: self.state, on: self.on, thing }
    }

    /// Things of the same cellar at the same moment, for JSON.
    pub fn within<'b, U>(&self, columns: &[Column<Seen<'b, U>>], things: impl IntoIterator<Item = U>) -> Cell
    where
        'a: 'b,
    {
        Cell::things(columns, things.into_iter().map(|thing| self.other(thing)))
    }

    /// What a vessel is called.
    pub fn vessel(&self, id: VesselId) -> Cell {
        self.vessel_label(id).into()
    }

    /// What a lot is called.
    pub fn lot(&self, id: impl Into<Option<LotId>>) -> Cell {
        id.into().map(|id| self.lot_label(id)).into()
    }

    /// Where a vessel lies, as it is written.
    pub fn place(&self, id: VesselId) -> Cell {
        self.state.place_of(self.state.vessels.get(id)).map(|place| place.to_string()).into()
    }

    /// How many days have passed.
    pub fn days_since(&self, then: impl Into<Option<Moment>>) -> Cell {
        then.into().map(|then| self.on.days_since(then)).into()
    }

    /// What a vessel is called.
    pub fn vessel_label(&self, id: VesselId) -> &'a Label {
        &self.state.vessels.get(id).label
    }

    /// What a lot is called.
    pub fn lot_label(&self, id: LotId) -> &'a Label {
        &self.state.lots.get(id).label
    }
}

/// Things of a cellar as they are seen at a moment.
pub fn seen<T>(state: &State, on: Moment, things: impl IntoIterator<Item = T>) -> Vec<Seen<'_, T>> {
    things.into_iter().map(|thing| Seen { state, on, thing }).collect()
}
