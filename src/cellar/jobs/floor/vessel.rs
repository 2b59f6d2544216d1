//! A vessel: barrel, tank or keg, its wood, and its end.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::lot::Colour;
use super::room::in_range;
use crate::cellar::core::account::Postings;
use crate::cellar::core::doing::Doings;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::History;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::topping::gauging::CameIn;
use crate::cellar::jobs::wood::care::CareGiven;
use crate::reckon::gauging::{LyingBarrel, Shape};
use crate::reckon::headspace::Thirst;
use crate::units::Volume;
use std::sync::Arc;

/// What kind of vessel it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VesselType {
    /// Oak; lies in a rack; is topped.
    Barrel,
    /// Stands by itself; not topped unless that is said.
    Tank,
    /// Small; topping wine is kept in it.
    Keg,
}

impl fmt::Display for VesselType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            VesselType::Barrel => "barrel",
            VesselType::Tank => "tank",
            VesselType::Keg => "keg",
        })
    }
}

/// The fact `vessel_registered`: a vessel exists.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselRegistered {
    /// The vessel's label, for life.
    pub vessel: Label,
    /// What kind of vessel it is.
    #[serde(rename = "type")]
    pub vessel_type: VesselType,
    /// What it holds when brimful.
    #[serde(rename = "capacity_ul")]
    pub capacity: Volume,
    /// Whether it is to be kept full; where it is not said, a barrel is and others are not.
    #[serde(default)]
    pub topped: Option<bool>,
    /// The wood, for a barrel.
    #[serde(flatten)]
    pub wood: Wood,
    /// How often it was filled before it came into this book.
    #[serde(default)]
    pub fills: u32,
    /// The colour of the wine that is in its wood already.
    #[serde(default)]
    pub stained: Option<Colour>,
}

/// What is known of a barrel's wood and making.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Wood {
    /// Its shape, for example `bordeaux`.
    #[serde(default)]
    pub shape: Option<Label>,
    /// Its own inside diameter at the bilge, where its sizes were measured: all three or none.
    #[serde(default)]
    pub bilge_mm: Option<f64>,
    /// Its own inside diameter at a head.
    #[serde(default)]
    pub head_mm: Option<f64>,
    /// Its own inside length.
    #[serde(default)]
    pub length_mm: Option<f64>,
    /// Who made it.
    #[serde(default)]
    pub cooper: Option<Label>,
    /// The forest its oak grew in.
    #[serde(default)]
    pub forest: Option<Label>,
    /// How close the rings stand: fine, medium, coarse.
    #[serde(default)]
    pub grain: Option<Label>,
    /// Months that the staves dried outdoors.
    #[serde(default)]
    pub seasoning_months: Option<u32>,
    /// How long the fire was: light, medium, heavy.
    #[serde(default)]
    pub toast: Option<Label>,
    /// Whether the heads are toasted too.
    #[serde(default)]
    pub heads_toasted: Option<bool>,
    /// The year it was made.
    #[serde(default)]
    pub made: Option<u16>,
    /// What it cost, in the house's currency.
    #[serde(default)]
    pub price: Option<f64>,
}

impl Wood {
    /// The lying barrel that its own sizes make; none where none are known.
    fn own_barrel(&self) -> Result<Option<LyingBarrel>, Refusal> {
        match (self.bilge_mm, self.head_mm, self.length_mm) {
            (None, None, None) => Ok(None),
            (Some(bilge), Some(head), Some(length)) => {
                LyingBarrel::new(bilge, head, length).map(Some).map_err(Refusal::Unsound)
            }
            _ => Err(Refusal::SizesInPart),
        }
    }

    /// The lying barrel by which it is gauged: of its own sizes if they are known, else of its shape, else the reference.
    #[must_use]
    pub fn lying(&self) -> LyingBarrel {
        let own = self.own_barrel().ok().flatten();
        let shape = || self.shape.as_ref().and_then(|label| Shape::named(label.as_str())).and_then(Shape::barrel);
        own.or_else(shape).unwrap_or(LyingBarrel::reference())
    }
}

/// By its sizes a barrel's volume is known to a few hundredths; further apart from its capacity than this part of it,
/// one of the four numbers is a slip.
const SIZES_AND_CAPACITY: f64 = 0.15;

/// The fact `vessel_retired`: a vessel is gone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VesselRetired {
    /// Which vessel.
    pub vessel: Label,
    /// Why.
    pub why: Text,
}

/// What is said of a vessel's sizes and wood, to be looked at together.
pub(in crate::cellar) struct Sizes<'a> {
    pub(in crate::cellar) vessel: &'a Label,
    pub(in crate::cellar) vessel_type: VesselType,
    pub(in crate::cellar) capacity: Volume,
    pub(in crate::cellar) wood: &'a Wood,
    pub(in crate::cellar) fills: u32,
}

impl Sizes<'_> {
    /// What cannot be.
    pub(in crate::cellar) fn ready(&self) -> Result<(), Refusal> {
        if self.capacity.is_zero() {
            return Err(Refusal::NoCapacity(self.vessel.clone()));
        }
        if self.capacity > Volume::MOST {
            return Err(Refusal::TooMuch(self.capacity));
        }
        in_range("A number of fills", Some(f64::from(self.fills)), 0.0, 1000.0)?;
        in_range("A seasoning in months", self.wood.seasoning_months.map(f64::from), 0.0, 600.0)?;
        in_range("A year", self.wood.made.map(f64::from), 1500.0, 2999.0)?;
        in_range("A price", self.wood.price, 0.0, 1e12)?;
        self.wood.own_barrel().map(|_| ())
    }

    /// What is most likely a slip of the hand.
    pub(in crate::cellar) fn slip(&self) -> Option<Refusal> {
        plausible::doubt_capacity(self.vessel, self.vessel_type, self.capacity).or_else(|| self.doubt_sizes())
    }

    /// Why its own sizes and its capacity cannot both be right, if so.
    fn doubt_sizes(&self) -> Option<Refusal> {
        let litres = self.wood.own_barrel().ok()??.litres();
        let capacity = self.capacity.as_litres();
        ((litres - capacity).abs() > SIZES_AND_CAPACITY * capacity).then(|| Refusal::SizesAndCapacity {
            vessel: self.vessel.clone(),
            litres,
            capacity: self.capacity,
        })
    }
}

impl VesselRegistered {
    const fn sizes(&self) -> Sizes<'_> {
        Sizes {
            vessel: &self.vessel,
            vessel_type: self.vessel_type,
            capacity: self.capacity,
            wood: &self.wood,
            fills: self.fills,
        }
    }
}

impl Job for VesselRegistered {
    type Ready = ();

    fn ready(&self, state: &State) -> Result<(), Refusal> {
        if state.vessels.find(self.vessel.as_str()).is_some() {
            return Err(Refusal::LabelTaken { what: "A vessel", label: self.vessel.clone() });
        }
        self.sizes().ready()
    }

    fn slip(&self, _state: &State, (): &()) -> Option<Refusal> {
        self.sizes().slip()
    }

    fn questions(&self, state: &State, (): &(), _at: Moment) -> Vec<Question> {
        state.wood_questions(&self.wood)
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, (): ()) {
        let id = state.vessels.add(Vessel {
            label: self.vessel.clone(),
            vessel_type: self.vessel_type,
            capacity: self.capacity,
            kept_full: self.topped.unwrap_or(self.vessel_type == VesselType::Barrel),
            wood: Arc::new(self.wood.clone()),
            fills: self.fills,
            fills_before: self.fills,
            stained: self.stained,
            slot: None,
            home: None,
            retired: None,
            lot: None,
            wine: Wine::default(),
            filled: None,
            emptied: None,
            last_topped: None,
            topped_others: None,
            level_known: None,
            kept_since: None,
            filled_before: false,
            evaporated: Volume::ZERO,
            gained: Volume::ZERO,
            came_in: CameIn::default(),
            thirst: Thirst::new(self.capacity.as_litres()),
            last_rate: None,
            held: None,
            taste: None,
            tests: Arc::default(),
            watched: None,
            carried: None,
            additions: Arc::default(),
            changes: Vec::new(),
            care: CareGiven::default(),
            racked_from: Vec::new(),
            stirred: None,
            blanket: None,
            history: History::default(),
            lately: Doings::new(),
            postings: Postings::default(),
        });
        state.keep_unplaced(id);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}

impl Job for VesselRetired {
    type Ready = VesselId;

    fn ready(&self, state: &State) -> Result<VesselId, Refusal> {
        let id = state.vessel(&self.vessel)?;
        let volume = state.vessels.get(id).volume();
        if !volume.is_zero() {
            return Err(Refusal::NotEmpty { vessel: self.vessel.clone(), volume });
        }
        Ok(id)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: VesselId) {
        state.lay(id, None, stamp.at);
        let vessel = state.vessels.get_mut(id);
        vessel.retired = Some(stamp.at);
        vessel.held = None;
        state.keep_unplaced(id);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}
