//! Renaming: a thing is called by another label from a moment on. Every label that it had still finds it, so that what is painted on a head,
//! stands in an old note or comes from a laptop that does not know of it yet goes on meaning the same thing.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, OriginId, RoomId, State, StoreId, VesselId};
use crate::cellar::core::table::{Id, Labelled, Renamable, Table};
use crate::cellar::jobs::bottles::bottling::refusal::RunRefusal;

/// What can be renamed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Renaming {
    /// A vessel.
    Vessel,
    /// A lot.
    Lot,
    /// An origin.
    Origin,
    /// A room.
    Room,
    /// A store of bottles.
    Store,
}

/// The fact `renamed`: a thing is called by another label from here on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Renamed {
    /// What it is.
    pub what: Renaming,
    /// How it was called.
    pub from: Label,
    /// How it is called.
    pub to: Label,
}

/// A thing that is renamed.
#[derive(Clone, Copy, Debug)]
pub enum Found {
    /// A vessel.
    Vessel(VesselId),
    /// A lot.
    Lot(LotId),
    /// An origin.
    Origin(OriginId),
    /// A room.
    Room(RoomId),
    /// A store.
    Store(StoreId),
}

impl Renaming {
    /// What it is, as a sentence begins.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Renaming::Vessel => "A vessel",
            Renaming::Lot => "A lot",
            Renaming::Origin => "An origin",
            Renaming::Room => "A room",
            Renaming::Store => "A store",
        }
    }

    /// Whether its label stands before a stroke in the names of its places.
    const fn has_places(self) -> bool {
        matches!(self, Renaming::Store)
    }
}

impl Renamed {
    /// Whether the new label is another thing's, or was; its own former label it may have again.
    fn is_taken(&self, state: &State) -> bool {
        fn is_other<I: Id + PartialEq, T: Labelled + Clone>(things: &Table<I, T>, from: &Label, to: &Label) -> bool {
            things.find(to.as_str()).is_some_and(|other| things.find(from.as_str()) != Some(other))
        }
        let (from, to) = (&self.from, &self.to);
        match self.what {
            Renaming::Vessel => is_other(&state.vessels, from, to),
            Renaming::Lot => is_other(&state.lots, from, to),
            Renaming::Origin => is_other(&state.origins, from, to),
            Renaming::Room => is_other(&state.rooms, from, to),
            Renaming::Store => is_other(&state.stores, from, to),
        }
    }

    /// How the thing is called now.
    fn called(state: &State, found: Found) -> &Label {
        match found {
            Found::Vessel(id) => state.vessels.get(id).label(),
            Found::Lot(id) => state.lots.get(id).label(),
            Found::Origin(id) => state.origins.get(id).label(),
            Found::Room(id) => state.rooms.get(id).label(),
            Found::Store(id) => state.stores.get(id).label(),
        }
    }
}

impl Job for Renamed {
    type Ready = Found;

    fn ready(&self, state: &State) -> Result<Found, Refusal> {
        let (label, from) = (&self.from, self.from.as_str());
        let unknown_origin = || Refusal::UnknownOrigin(label.clone());
        let unknown_store = || Refusal::from(RunRefusal::UnknownStore(label.clone()));
        let found = match self.what {
            Renaming::Vessel => {
                Found::Vessel(state.vessels.find(from).ok_or_else(|| Refusal::UnknownVessel(label.clone()))?)
            }
            Renaming::Lot => Found::Lot(state.lot(label)?),
            Renaming::Origin => Found::Origin(state.origins.find(from).ok_or_else(unknown_origin)?),
            Renaming::Room => Found::Room(state.room(label)?),
            Renaming::Store => Found::Store(state.stores.find(from).ok_or_else(unknown_store)?),
        };
        if self.is_taken(state) {
            return Err(Refusal::LabelTaken { what: self.what.words(), label: self.to.clone() });
        }
        if self.what.has_places() && self.to.as_str().contains('/') {
            return Err(RunRefusal::BadStore(self.to.clone()).into());
        }
        Ok(found)
    }

    fn slip(&self, state: &State, &found: &Found) -> Option<Refusal> {
        let is_so = Renamed::called(state, found) == &self.to;
        is_so.then(|| Refusal::CalledSo { label: self.to.clone() })
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, found: Found) {
        fn rename<I: Id, T: Renamable + Clone>(things: &mut Table<I, T>, id: I, to: &Label) {
            if things.get(id).label() != to {
                things.rename(id, to.clone());
            }
        }
        match found {
            Found::Vessel(id) => rename(&mut state.vessels, id, &self.to),
            Found::Lot(id) => rename(&mut state.lots, id, &self.to),
            Found::Origin(id) => rename(&mut state.origins, id, &self.to),
            Found::Room(id) => rename(&mut state.rooms, id, &self.to),
            Found::Store(id) => {
                let before = state.stores.get(id).label.clone();
                rename(&mut state.stores, id, &self.to);
                state.bins_renamed(&before, &self.to);
            }
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.to)
    }
}

impl State {
    /// The bottles that lie in a store which is called otherwise now lie in bins of that name.
    fn bins_renamed(&mut self, from: &Label, to: &Label) {
        let runs: Vec<_> = self.runs.iter().map(|(id, _)| id).collect();
        for id in runs {
            let is_there =
                |place: &Label| place.as_str().split_once('/').is_some_and(|(store, _)| store == from.as_str());
            if !self.runs.get(id).laid().any(|(place, _)| is_there(place)) {
                continue;
            }
            for stock in &mut self.runs.get_mut(id).stock {
                let bin = stock.place.as_ref().and_then(|place| place.as_str().split_once('/'));
                if let Some((store, bin)) = bin
                    && store == from.as_str()
                    && let Ok(place) = Label::read(&format!("{to}/{bin}"))
                {
                    stock.place = Some(place);
                }
            }
        }
    }
}
