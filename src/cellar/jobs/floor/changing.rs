//! Changing: what is known of a vessel is put right, or has become another.

use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::lot::Colour;
use super::vessel::{Sizes, VesselType, Wood};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::units::Volume;

/// What is said of a field: nothing, that it is not known, or what it is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Told<T> {
    /// Nothing: it stays as it is.
    #[default]
    Nothing,
    /// It is not known.
    Unknown,
    /// It is this.
    Is(T),
}

impl<T> Told<T> {
    /// Whether nothing is said.
    pub const fn is_nothing(&self) -> bool {
        matches!(self, Told::Nothing)
    }
}

impl<T: Clone> Told<T> {
    /// Puts what is said in the place of what was known.
    fn put(&self, known: &mut Option<T>) {
        match self {
            Told::Nothing => {}
            Told::Unknown => *known = None,
            Told::Is(value) => *known = Some(value.clone()),
        }
    }
}

impl<T: Serialize> Serialize for Told<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Told::Is(value) => serializer.serialize_some(value),
            Told::Nothing | Told::Unknown => serializer.serialize_none(),
        }
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Told<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Told<T>, D::Error> {
        Ok(Option::deserialize(deserializer)?.map_or(Told::Unknown, Told::Is))
    }
}

/// The fact `vessel_changed`: from here on this is so of a vessel. What is not said stays, null says that it is not known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselChanged {
    /// Which vessel.
    pub vessel: Label,
    /// What kind of vessel it is.
    #[serde(default, rename = "type", skip_serializing_if = "Told::is_nothing")]
    pub vessel_type: Told<VesselType>,
    /// What it holds when brimful.
    #[serde(default, rename = "capacity_ul", skip_serializing_if = "Told::is_nothing")]
    pub capacity: Told<Volume>,
    /// Whether it is to be kept full: one that is not tops others, and is never due.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub topped: Told<bool>,
    /// Its shape.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub shape: Told<Label>,
    /// Its own inside diameter at the bilge.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub bilge_mm: Told<f64>,
    /// Its own inside diameter at a head.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub head_mm: Told<f64>,
    /// Its own inside length.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub length_mm: Told<f64>,
    /// Who made it.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub cooper: Told<Label>,
    /// The forest its oak grew in.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub forest: Told<Label>,
    /// How close the rings stand.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub grain: Told<Label>,
    /// Months that the staves dried outdoors.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub seasoning_months: Told<u32>,
    /// How long the fire was.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub toast: Told<Label>,
    /// Whether the heads are toasted too.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub heads_toasted: Told<bool>,
    /// The year it was made.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub made: Told<u16>,
    /// What it cost.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub price: Told<f64>,
    /// How often it was filled before it came into this book; not known is never.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub fills: Told<u32>,
    /// The colour of the wine that is in its wood.
    #[serde(default, skip_serializing_if = "Told::is_nothing")]
    pub stained: Told<Colour>,
}

impl VesselChanged {
    /// A change of a vessel of which nothing is said yet.
    #[must_use]
    pub const fn of(vessel: Label) -> VesselChanged {
        VesselChanged {
            vessel,
            vessel_type: Told::Nothing,
            capacity: Told::Nothing,
            topped: Told::Nothing,
            shape: Told::Nothing,
            bilge_mm: Told::Nothing,
            head_mm: Told::Nothing,
            length_mm: Told::Nothing,
            cooper: Told::Nothing,
            forest: Told::Nothing,
            grain: Told::Nothing,
            seasoning_months: Told::Nothing,
            toast: Told::Nothing,
            heads_toasted: Told::Nothing,
            made: Told::Nothing,
            price: Told::Nothing,
            fills: Told::Nothing,
            stained: Told::Nothing,
        }
    }

    /// That a vessel tops others from here on, and is not topped itself.
    #[must_use]
    pub const fn topping_vessel(vessel: Label) -> VesselChanged {
        let mut changed = VesselChanged::of(vessel);
        changed.topped = Told::Is(false);
        changed
    }

    /// What is known of the wood afterwards.
    fn wood(&self, before: &Wood) -> Wood {
        let mut wood = before.clone();
        self.shape.put(&mut wood.shape);
        self.bilge_mm.put(&mut wood.bilge_mm);
        self.head_mm.put(&mut wood.head_mm);
        self.length_mm.put(&mut wood.length_mm);
        self.cooper.put(&mut wood.cooper);
        self.forest.put(&mut wood.forest);
        self.grain.put(&mut wood.grain);
        self.seasoning_months.put(&mut wood.seasoning_months);
        self.toast.put(&mut wood.toast);
        self.heads_toasted.put(&mut wood.heads_toasted);
        self.made.put(&mut wood.made);
        self.price.put(&mut wood.price);
        wood
    }

    /// What it holds when brimful afterwards.
    fn capacity(&self, vessel: &Vessel) -> Volume {
        if let Told::Is(capacity) = self.capacity { capacity } else { vessel.capacity }
    }

    /// How often it was filled before it came into this book.
    const fn fills(&self, vessel: &Vessel) -> u32 {
        match self.fills {
            Told::Nothing => vessel.fills_before,
            Told::Unknown => 0,
            Told::Is(fills) => fills,
        }
    }
}

impl Job for VesselChanged {
    /// The vessel, and what is known of its wood afterwards.
    type Ready = (VesselId, Wood);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let id = state.vessel(&self.vessel)?;
        let vessel = state.vessels.get(id);
        let never_unknown = [("type", self.vessel_type == Told::Unknown), ("capacity", self.capacity == Told::Unknown)];
        if let Some((what, _)) = never_unknown.into_iter().find(|(_, unknown)| *unknown) {
            return Err(Refusal::CannotBeUnknown { vessel: self.vessel.clone(), what });
        }
        let wood = self.wood(&vessel.wood);
        Sizes {
            vessel: &self.vessel,
            vessel_type: vessel.vessel_type,
            capacity: self.capacity(vessel),
            wood: &wood,
            fills: self.fills(vessel),
        }
        .ready()?;
        Ok((id, wood))
    }

    fn doubt(&self, state: &State, (id, _): &Self::Ready) -> Option<Refusal> {
        let vessel = state.vessels.get(*id);
        let capacity = self.capacity(vessel);
        let would = vessel.volume();
        let holds_more = capacity < vessel.capacity && would > capacity;
        holds_more.then(|| Refusal::Overfull { vessel: self.vessel.clone(), would, capacity })
    }

    fn slip(&self, state: &State, (id, wood): &Self::Ready) -> Option<Refusal> {
        let vessel = state.vessels.get(*id);
        Sizes { vessel: &self.vessel, vessel_type: vessel.vessel_type, capacity: self.capacity(vessel), wood, fills: 0 }
            .slip()
    }

    fn questions(&self, state: &State, (id, wood): &Self::Ready, _at: Moment) -> Vec<Question> {
        let vessel = state.vessels.get(*id);
        let ends = vessel.kept_full && !vessel.wine.is_empty() && self.topped == Told::Is(false);
        let ends = ends.then(|| Question::ToppedNoMore { vessel: self.vessel.clone() });
        ends.into_iter().chain(state.wood_questions(wood)).collect()
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, (id, wood): Self::Ready) {
        let vessel = state.vessels.get_mut(id);
        let (capacity, fills) = (self.capacity(vessel), self.fills(vessel));
        vessel.wood = Arc::new(wood);
        if let Told::Is(kind) = self.vessel_type {
            vessel.vessel_type = kind;
        }
        match self.topped {
            Told::Nothing => {}
            Told::Unknown => vessel.kept_full = vessel.vessel_type == VesselType::Barrel,
            Told::Is(topped) => vessel.kept_full = topped,
        }
        if capacity != vessel.capacity {
            vessel.capacity = capacity;
            vessel.thirst.resize(capacity.as_litres());
        }
        vessel.fills = vessel.fills.saturating_sub(vessel.fills_before).saturating_add(fills);
        vessel.fills_before = fills;
        self.stained.put(&mut vessel.stained);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
