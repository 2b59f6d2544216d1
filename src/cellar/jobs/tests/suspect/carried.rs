//! Suspicion that travels with wine: what is filled from a suspect vessel is suspect itself until it is tasted or tested well.
//!
//! What was tested mixes by volume; of what was only tasted, or rises, counts how much of the wine came from there. So a drop in
//! a tank is no alarm, and many drops are. Wine goes along as it was judged when it was moved: a limit that the house sets later
//! makes suspect what was tested, and nothing that came from there before.
//!
//! **Suspicion travels** (`cellar/jobs/tests/suspect/carried.rs`) from the moment at which suspect wine is moved or topped: a vessel keeps
//! what came in with it (`Carried`), so that clean wine costs nothing. Figures are means by litres of what is tested (of wine that nobody
//! tested, by its lot where that is well); of less than half they count as if the rest had none. A tasted fault counts from a tenth of the
//! wine on. Its own test, or taste, of wine drawn since clears it; a composite clears nothing. A limit that is set later makes nothing
//! suspect that was moved before. A leak is of the wood and stays there.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{Found, Suspicion, Watched};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::jobs::tests::testing::{Analyte, ReadAs, Test};
use crate::units::Volume;

/// A wine of which such a part came from where a fault was tasted is suspect itself (our choice: a tenth).
const SUSPECT_PART: f64 = 0.1;
/// Below such a part nothing is remembered (our choice: a thousandth), so that small toppings add up.
const LEAST_PART: f64 = 0.001;
/// What was tested of such a part of a wine tells of all of it (our choice: half); of less it counts as if the rest had none.
const TELLING_PART: f64 = 0.5;

/// What came into a vessel with suspect wine.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Carried {
    faults: Vec<CarriedFault>,
    levels: Vec<CarriedLevel>,
    /// When suspect wine last came in; none of wine that is on its way. What was drawn before that clears nothing.
    came: Option<Moment>,
}

/// A fault of which no figure is known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct CarriedFault {
    fault: Fault,
    /// Where it was found.
    vessel: VesselId,
    /// How much of the wine came from there, a part of one.
    part: f64,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
enum Fault {
    /// It was tasted.
    Tasted { mark: Label, at: Moment },
    /// Volatile acidity rose.
    AcidRises { from: Found, to: Found },
}

/// What was tested, mixed by volume.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct CarriedLevel {
    /// What the house declares; none for volatile acidity.
    analyte: Option<Label>,
    /// The mean of what is tested of the wine, with the moment at which what had most of it was drawn.
    found: Found,
    /// Where that was found.
    vessel: VesselId,
    /// How much of the wine is tested, a part of one.
    part: f64,
}

impl Fault {
    fn is_same(&self, other: &Fault) -> bool {
        match (self, other) {
            (Fault::Tasted { mark, .. }, Fault::Tasted { mark: other, .. }) => mark == other,
            (Fault::AcidRises { .. }, Fault::AcidRises { .. }) => true,
            _ => false,
        }
    }

    fn suspicion(&self, read: ReadAs) -> Suspicion {
        match self {
            Fault::Tasted { mark, at } => Suspicion::Tasted { fault: mark.clone(), at: *at },
            Fault::AcidRises { from, to } => Suspicion::AcidRises { from: *from, to: *to, read },
        }
    }
}

impl CarriedLevel {
    /// What counts against a limit.
    fn counts(&self) -> f64 {
        if self.part >= TELLING_PART { self.found.value } else { self.found.value * self.part }
    }

    /// Two wines together: the mean by litres of what is tested of them.
    fn mixed(own: Option<Self>, litres: f64, other: Option<Self>, more: f64) -> Option<Self> {
        let tested = |level: &Option<Self>, litres: f64| level.as_ref().map_or(0.0, |level| level.part * litres);
        let brings = |level: &Option<Self>, tested: f64| level.as_ref().map_or(0.0, |level| level.found.value * tested);
        let (one, two) = (tested(&own, litres), tested(&other, more));
        let (gives, brought) = (brings(&own, one), brings(&other, two));
        let value = |level: &Option<Self>| level.as_ref().map_or(0.0, |level| level.found.value);
        let most = if value(&other) >= value(&own) { other.or(own) } else { own.or(other) }?;
        let found = Found { value: (gives + brought) / (one + two), ..most.found };
        let part = (one + two) / (litres + more);
        (part >= LEAST_PART).then_some(CarriedLevel { found, part, ..most })
    }
}

impl Carried {
    fn is_nothing(&self) -> bool {
        self.faults.is_empty() && self.levels.is_empty()
    }

    fn level(&self, analyte: Option<&Label>) -> Option<&CarriedLevel> {
        self.levels.iter().find(|level| level.analyte.as_ref() == analyte)
    }

    fn part_of(&self, fault: &Fault) -> Option<&CarriedFault> {
        self.faults.iter().find(|known| known.fault.is_same(fault))
    }

    /// The faults of two wines together.
    fn mixed_faults(&self, litres: f64, other: &Carried, more: f64) -> Vec<CarriedFault> {
        let new = other.faults.iter().filter(|it| self.part_of(&it.fault).is_none());
        let mixed = |known: &CarriedFault| {
            let parts =
                |carried: &Carried, litres: f64| carried.part_of(&known.fault).map_or(0.0, |it| it.part * litres);
            let (one, two) = (parts(self, litres), parts(other, more));
            let most = if two >= one { other.part_of(&known.fault) } else { None }.unwrap_or(known);
            CarriedFault { part: (one + two) / (litres + more), ..most.clone() }
        };
        self.faults.iter().chain(new).map(mixed).filter(|it| it.part >= LEAST_PART).collect()
    }
}

impl Watched {
    /// What was last found of something, where its composite found more than the vessel by itself the composite.
    fn last(&self, analyte: Option<&Label>) -> Option<Found> {
        let last = match analyte {
            None => self.acid,
            Some(analyte) => self.declared.iter().find(|(known, _)| known == analyte)?.1,
        };
        let found = [last.own, last.composite].into_iter().flatten();
        found.reduce(|one, other| if other.value > one.value { other } else { one })
    }
}

impl Vessel {
    /// Whether anything is known of it that could make its wine suspect.
    pub(super) fn has_what_makes_suspect(&self) -> bool {
        self.taste.is_some() || self.watched.is_some() || self.carried.is_some()
    }

    /// A test of the vessel by itself answers for what came in before its wine was drawn.
    pub(super) fn test_carried(&mut self, test: &Test) {
        let has_acid = test.readings.of(Analyte::VolatileAcidity).is_some();
        let is_tested = |level: &CarriedLevel| match &level.analyte {
            None => has_acid,
            Some(analyte) => test.values.iter().any(|(tested, _)| tested == analyte),
        };
        self.clear_carried(test.drawn, |carried| {
            carried.levels.retain(|level| !is_tested(level));
            carried.faults.retain(|it| !has_acid || matches!(it.fault, Fault::Tasted { .. }));
        });
    }

    /// What is tasted now answers for what was tasted elsewhere.
    pub(in crate::cellar) fn taste_carried(&mut self, at: Moment) {
        self.clear_carried(at, |carried| carried.faults.retain(|it| !matches!(it.fault, Fault::Tasted { .. })));
    }

    fn clear_carried(&mut self, drawn: Moment, clear: impl FnOnce(&mut Carried)) {
        let Some(carried) = &mut self.carried else { return };
        if carried.came.is_some_and(|came| came.instant() > drawn.instant()) {
            return;
        }
        clear(Arc::make_mut(carried));
        if carried.is_nothing() {
            self.carried = None;
        }
    }
}

impl State {
    /// Before so much wine comes into a vessel: what makes it suspect comes along. Of wine that was in no vessel nothing is known.
    pub(in crate::cellar) fn carry_suspicion(
        &mut self,
        from: Option<VesselId>,
        into: VesselId,
        volume: Volume,
        at: Moment,
    ) {
        let target = self.vessels.get(into);
        let source = from.filter(|&from| self.vessels.get(from).has_what_makes_suspect());
        if volume.is_zero() || (source.is_none() && target.carried.is_none()) {
            return;
        }
        let brought = source.map(|source| self.suspicion_of(source)).unwrap_or_default();
        if brought.is_nothing() && target.carried.is_none() {
            return;
        }
        let own = target.carried.as_deref().cloned().unwrap_or_default();
        let (litres, more) = (target.volume().as_litres(), volume.as_litres());
        let mut analytes: Vec<Option<&Label>> = Vec::new();
        for level in own.levels.iter().chain(&brought.levels) {
            if !analytes.contains(&level.analyte.as_ref()) {
                analytes.push(level.analyte.as_ref());
            }
        }
        let level = |analyte: Option<&Label>| {
            let comes = from.and_then(|from| self.level_in(from, analyte));
            CarriedLevel::mixed(self.level_in(into, analyte), litres, comes, more)
        };
        let levels = analytes.into_iter().filter_map(level).collect();
        let faults = own.mixed_faults(litres, &brought, more);
        let came = if brought.is_nothing() { own.came } else { Some(at) };
        let carried = Carried { faults, levels, came };
        self.vessels.get_mut(into).carried = (!carried.is_nothing()).then(|| Arc::new(carried));
    }

    /// What goes along with a vessel's wine.
    fn suspicion_of(&self, id: VesselId) -> Carried {
        let vessel = self.vessels.get(id);
        let mut carried = vessel.carried.as_deref().cloned().unwrap_or_default();
        for suspicion in self.own_suspicions(vessel) {
            let (fault, analyte) = match suspicion {
                Suspicion::Tasted { fault, at } => (Some(Fault::Tasted { mark: fault, at }), None),
                Suspicion::AcidRises { from, to, .. } => (Some(Fault::AcidRises { from, to }), None),
                Suspicion::Acid { .. } => (None, None),
                Suspicion::Declared { analyte, .. } => (None, Some(analyte)),
                Suspicion::CameIn { .. } => continue,
            };
            if let Some(fault) = fault {
                carried.faults.retain(|known| !known.fault.is_same(&fault));
                carried.faults.push(CarriedFault { fault, vessel: id, part: 1.0 });
            } else if carried.level(analyte.as_ref()).is_none() {
                carried.levels.extend(self.level_in(id, analyte.as_ref()));
            }
        }
        carried
    }

    /// What is known of something in a vessel's wine: what came in since it was tested, else what was last found.
    fn level_in(&self, id: VesselId, analyte: Option<&Label>) -> Option<CarriedLevel> {
        let vessel = self.vessels.get(id);
        if let Some(level) = vessel.carried.as_deref().and_then(|carried| carried.level(analyte)) {
            return Some(level.clone());
        }
        let found = vessel.watched.as_deref().and_then(|watched| watched.last(analyte));
        let found = found.or_else(|| if analyte.is_none() { self.well_by_its_lot(id) } else { None })?;
        Some(CarriedLevel { analyte: analyte.cloned(), found, vessel: id, part: 1.0 })
    }

    /// The volatile acidity of a wine that was not tested by itself, by its lot, where that is well: so is what a tank is filled
    /// from. What was found too much elsewhere in a lot says nothing of it.
    fn well_by_its_lot(&self, id: VesselId) -> Option<Found> {
        let found = self.last_found(id, Analyte::VolatileAcidity)?;
        (found.value <= self.practice.va_alarm_g_l).then_some(Found { value: found.value, drawn: found.drawn })
    }

    /// Why a wine is suspect by what came in, but for what is said of the vessel itself already.
    pub(super) fn came_in_suspect(&self, carried: &Carried, said: &[Suspicion]) -> Vec<Suspicion> {
        let named = |vessel: VesselId| self.vessels.get(vessel).label.clone();
        let read = self.read_as(Analyte::VolatileAcidity);
        let is_said = |what: &Suspicion| said.iter().any(|known| known.is_of_same(what));
        let level = |level: &CarriedLevel| {
            let counts = Found { value: level.counts(), ..level.found };
            let what = self.above_limit(level.analyte.as_ref(), counts).filter(|what| !is_said(what))?;
            Some(Suspicion::CameIn { what: Box::new(what), vessel: named(level.vessel), part: None })
        };
        let fault = |it: &CarriedFault| {
            let what = Some(it.fault.suspicion(read)).filter(|what| it.part >= SUSPECT_PART && !is_said(what))?;
            Some(Suspicion::CameIn { what: Box::new(what), vessel: named(it.vessel), part: Some(it.part) })
        };
        carried.faults.iter().filter_map(fault).chain(carried.levels.iter().filter_map(level)).collect()
    }

    /// That a value lies above what the house puts up with, if it does.
    fn above_limit(&self, analyte: Option<&Label>, found: Found) -> Option<Suspicion> {
        let Some(analyte) = analyte else {
            let alarm = self.practice.va_alarm_g_l;
            let read = self.read_as(Analyte::VolatileAcidity);
            return (found.value > alarm).then_some(Suspicion::Acid { found, alarm, read });
        };
        let house = self.house_analyte(analyte)?;
        let limit = house.limit().filter(|&limit| found.value > limit)?;
        Some(Suspicion::Declared { analyte: analyte.clone(), unit: house.unit.clone(), found, limit })
    }
}
