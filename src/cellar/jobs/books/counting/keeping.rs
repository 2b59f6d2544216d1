//! A count that is kept while people walk: what they found of one vessel or one lot code after the other, until it is closed.
//!
//! A count changes nothing in the book. What was expected of a vessel is kept with what was found, as of that moment, and
//! shown only when the count is compared. Two laptops that begin a count of one label are in the same count.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Counted, Found};
use crate::cellar::core::book;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{CountId, RoomId, RunId, State, StoreId, VesselId};
use crate::cellar::core::table::Labelled;
use crate::cellar::jobs::bottles::bottling::drawing::Whence;
use crate::cellar::jobs::bottles::bottling::refusal::RunRefusal;
use crate::cellar::jobs::topping::gauging::Gauged;
use crate::units::Volume;

/// The fact `count_begun`: a physical count began.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CountBegun {
    /// The count's label.
    pub count: Label,
    /// The room that is counted.
    #[serde(default)]
    pub room: Option<Label>,
    /// The store of bottles that is counted; the vessels of the whole cellar where neither is said.
    #[serde(default)]
    pub store: Option<Label>,
}

/// The fact `counted`: what was found in a vessel, or how many bottles.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ThingCounted {
    /// Of which count.
    pub count: Label,
    /// Which vessel, where it is one.
    #[serde(default)]
    pub vessel: Option<Label>,
    /// What it holds.
    #[serde(default, rename = "volume_ul")]
    pub volume: Option<Volume>,
    /// The depth of the headspace under the bung of a lying barrel, mm.
    #[serde(default)]
    pub dip_mm: Option<f64>,
    /// Whether it was only seen to be as full as it is kept.
    #[serde(default)]
    pub full: bool,
    /// Of which run, where bottles were counted.
    #[serde(default)]
    pub run: Option<Label>,
    /// What stands on the bottles.
    #[serde(default)]
    pub lot_code: Option<Label>,
    /// Where the bottles lie; none where they are not laid away.
    #[serde(default)]
    pub place: Option<Label>,
    /// How many bottles.
    #[serde(default)]
    pub bottles: Option<u32>,
}

/// The fact `count_ended`: a physical count is closed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CountEnded {
    /// The count's label.
    pub count: Label,
    /// Why what differed was booked, or was not.
    #[serde(default)]
    pub why: Option<Text>,
}

/// What is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Scope {
    /// Every vessel.
    Whole,
    /// The vessels of a room.
    Room(RoomId),
    /// The bottles of a store.
    Store(StoreId),
}

/// A physical count.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Count {
    /// Its label.
    pub label: Label,
    /// What is counted.
    pub scope: Scope,
    /// When it began.
    pub begun: Moment,
    /// When it was closed.
    pub ended: Option<Moment>,
    /// What was found in vessels.
    pub vessels: BTreeMap<VesselId, Counted>,
    /// What was found of bottles, the last of it last.
    pub bottles: Vec<BottlesFound>,
    /// The bins that were found empty.
    pub empty_bins: Vec<Label>,
}

/// Bottles of one lot code that were counted at one place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BottlesFound {
    /// Of which run.
    pub run: RunId,
    /// What stands on them.
    pub lot_code: Option<Label>,
    /// Where; none where they are not laid away.
    pub place: Option<Label>,
    /// How many the book had there then.
    pub book: u64,
    /// How many were found.
    pub found: u32,
}

impl Labelled for Count {
    fn label(&self) -> &Label {
        &self.label
    }
}

impl Count {
    /// What was found of some bottles.
    #[must_use]
    pub fn bottles_of(&self, run: RunId, lot_code: Option<&Label>, place: Option<&Label>) -> Option<&BottlesFound> {
        self.bottles.iter().find(|its| its.is(run, lot_code, place))
    }

    /// Keeps what was found of some bottles, in place of what was said of the same before.
    fn found(&mut self, found: BottlesFound) {
        self.bottles.retain(|its| !its.is(found.run, found.lot_code.as_ref(), found.place.as_ref()));
        if found.found > 0 {
            self.empty_bins.retain(|bin| Some(bin) != found.place.as_ref());
        }
        self.bottles.push(found);
    }
}

impl BottlesFound {
    fn is(&self, run: RunId, lot_code: Option<&Label>, place: Option<&Label>) -> bool {
        (self.run, self.lot_code.as_ref(), self.place.as_ref()) == (run, lot_code, place)
    }
}

/// A count that is open.
fn open_count(state: &State, label: &Label) -> Result<CountId, Refusal> {
    let id = state.counts.find(label.as_str()).ok_or_else(|| Refusal::UnknownCount(label.clone()))?;
    match state.counts.get(id).ended {
        Some(_) => Err(Refusal::CountEnded(label.clone())),
        None => Ok(id),
    }
}

impl Job for CountBegun {
    type Ready = Scope;

    fn ready(&self, state: &State) -> Result<Scope, Refusal> {
        let scope = match (&self.room, &self.store) {
            (None, None) => Scope::Whole,
            (Some(room), None) => Scope::Room(state.room(room)?),
            (None, Some(store)) => {
                let id = state.stores.find(store.as_str());
                Scope::Store(id.ok_or_else(|| RunRefusal::UnknownStore(store.clone()))?)
            }
            (Some(_), Some(_)) => return Err(Refusal::RoomOrStore),
        };
        match state.counts.by_label(self.count.as_str()) {
            Some(count) if count.ended.is_some() || count.scope != scope => {
                Err(Refusal::LabelTaken { what: "A count", label: self.count.clone() })
            }
            _ => Ok(scope),
        }
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, scope: Scope) {
        if state.counts.find(self.count.as_str()).is_none() {
            let (vessels, bottles, empty_bins) = (BTreeMap::new(), Vec::new(), Vec::new());
            let label = self.count.clone();
            state.counts.add(Count { label, scope, begun: stamp.at, ended: None, vessels, bottles, empty_bins });
        }
    }

    fn about(&self) -> Option<&Label> {
        self.room.as_ref().or(self.store.as_ref())
    }
}

/// What was counted, looked up.
pub enum ReadyCounting {
    /// A vessel.
    Vessel(VesselId, Found),
    /// Bottles, and where.
    Bottles(RunId, u32),
    /// A bin in which nothing lies.
    EmptyBin(Label),
}

impl ThingCounted {
    /// What was found in a vessel.
    #[must_use]
    pub fn of_vessel(count: Label, vessel: Label, found: Found) -> ThingCounted {
        let volume = match found {
            Found::Full => None,
            Found::Volume(volume) => Some(volume),
        };
        let full = volume.is_none();
        ThingCounted { vessel: Some(vessel), volume, full, ..ThingCounted::nothing(count) }
    }

    /// How many bottles were found.
    #[must_use]
    pub fn of_bottles(count: Label, run: Label, lot_code: Option<Label>, place: Label, bottles: u32) -> ThingCounted {
        let (run, place, bottles) = (Some(run), Some(place), Some(bottles));
        ThingCounted { run, lot_code, place, bottles, ..ThingCounted::nothing(count) }
    }

    /// That nothing lies in a bin.
    #[must_use]
    pub fn of_empty_bin(count: Label, place: Label) -> ThingCounted {
        let (place, bottles) = (Some(place), Some(0));
        ThingCounted { place, bottles, ..ThingCounted::nothing(count) }
    }

    fn nothing(count: Label) -> ThingCounted {
        ThingCounted {
            count,
            vessel: None,
            volume: None,
            dip_mm: None,
            full: false,
            run: None,
            lot_code: None,
            place: None,
            bottles: None,
        }
    }

    fn found(&self, state: &State, label: &Label) -> Result<(VesselId, Found), Refusal> {
        let id = state.vessel(label)?;
        if self.full && self.volume.is_none() && self.dip_mm.is_none() {
            return Ok((id, Found::Full));
        }
        if self.full {
            return Err(Refusal::NothingCounted);
        }
        let gauged = Gauged { vessel: label.clone(), volume: self.volume, dip_mm: self.dip_mm, cause: None };
        Ok((id, Found::Volume(gauged.measured(state.vessels.get(id))?)))
    }

    fn whence(&self) -> Whence<'_> {
        self.place.as_ref().map_or(Whence::Line, Whence::Place)
    }
}

impl Job for ThingCounted {
    type Ready = (CountId, ReadyCounting);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let count = open_count(state, &self.count)?;
        let ready = match (&self.vessel, &self.run, self.bottles) {
            (Some(vessel), None, None) => {
                let (id, found) = self.found(state, vessel)?;
                ReadyCounting::Vessel(id, found)
            }
            (None, Some(run), Some(bottles)) => ReadyCounting::Bottles(state.run(run)?, bottles),
            (None, None, Some(0)) if self.lot_code.is_none() => {
                ReadyCounting::EmptyBin(self.place.clone().ok_or(Refusal::NothingCounted)?)
            }
            _ => return Err(Refusal::NothingCounted),
        };
        Ok((count, ready))
    }

    fn doubt(&self, state: &State, (_, ready): &Self::Ready) -> Option<Refusal> {
        let &ReadyCounting::Bottles(run, _) = ready else { return None };
        let code = self.lot_code.as_ref()?;
        let is_known = state.runs.get(run).rank(Some(code)) != usize::MAX;
        let label = state.runs.get(run).label.clone();
        (!is_known).then(|| RunRefusal::CodeNotOfRun { run: label, code: code.clone() }.into())
    }

    fn slip(&self, state: &State, (_, ready): &Self::Ready) -> Option<Refusal> {
        match ready {
            ReadyCounting::Vessel(id, Found::Volume(volume)) => {
                let vessel = state.vessels.get(*id);
                let hardly = || plausible::doubt_litres(&vessel.label, self.volume?, plausible::GAUGED);
                book::doubt_volume(vessel, *volume).or_else(hardly)
            }
            ReadyCounting::Vessel(_, Found::Full) => None,
            ReadyCounting::Bottles(..) | ReadyCounting::EmptyBin(_) => {
                state.no_bin(self.place.as_ref()?).map(Refusal::from)
            }
        }
    }

    fn with_bins_as_now(&self, state: &State) -> Option<ThingCounted> {
        let place = state.bin_renamed(self.place.as_ref()?)?;
        Some(ThingCounted { place: Some(place), ..self.clone() })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (count, ready): Self::Ready) {
        match ready {
            ReadyCounting::Vessel(id, found) => {
                let counted = state.compare_one(id, found, stamp.at);
                state.counts.get_mut(count).vessels.insert(id, counted);
            }
            ReadyCounting::Bottles(run, found) => {
                let book = state.runs.get(run).there(self.whence(), self.lot_code.as_ref());
                let (lot_code, place) = (self.lot_code.clone(), self.place.clone());
                state.counts.get_mut(count).found(BottlesFound { run, lot_code, place, book, found });
            }
            ReadyCounting::EmptyBin(place) => {
                let on_paper = state.on_paper_in(&place);
                let count = state.counts.get_mut(count);
                count.bottles.retain(|its| its.place.as_ref() != Some(&place));
                for found in on_paper {
                    count.found(found);
                }
                if !count.empty_bins.contains(&place) {
                    count.empty_bins.push(place);
                }
            }
        }
    }

    fn about(&self) -> Option<&Label> {
        self.vessel.as_ref().or(self.run.as_ref()).or(self.place.as_ref())
    }
}

impl State {
    /// Each lot code that lies in a bin on paper, as none of it was found there.
    fn on_paper_in(&self, place: &Label) -> Vec<BottlesFound> {
        let of = |run: RunId, lot_code: Option<Label>| BottlesFound {
            run,
            book: self.runs.get(run).there(Whence::Place(place), lot_code.as_ref()),
            lot_code,
            place: Some(place.clone()),
            found: 0,
        };
        self.bin(place).codes().into_iter().map(|(run, lot_code)| of(run, lot_code)).collect()
    }
}

impl Job for CountEnded {
    type Ready = CountId;

    fn ready(&self, state: &State) -> Result<CountId, Refusal> {
        open_count(state, &self.count)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: CountId) {
        state.counts.get_mut(id).ended = Some(stamp.at);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.count)
    }
}
