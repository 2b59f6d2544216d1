//! Testing: what a laboratory, or the person's own bench, found in a wine.
//!
//! A test is of one vessel, of a sample that was drawn from several, or of a lot in all the vessels that hold it: a composite.
//! A composite is a result of each of its barrels, marked as such, for it hides how they differ.
//!
//! **Tests stay with the wine of one fill**: a barrel forgets its tests and additions when it is emptied; its lot keeps them.

mod acidity;
pub mod declared;
mod figures;
mod kept;

use std::collections::BTreeMap;
use std::fmt::Display;
use std::sync::Arc;

use serde::{Deserialize, Serialize};
use smallvec::SmallVec;

use crate::cellar::core::fact::{FactId, Stamp};
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};

pub use self::acidity::ReadAs;
pub use self::kept::{Analytes, KeptTests, Told};

/// The fact `tested`: what was found in a vessel, in a sample or in a lot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tested {
    /// Which vessel.
    #[serde(default)]
    pub vessel: Option<Label>,
    /// Which sample.
    #[serde(default)]
    pub sample: Option<Label>,
    /// Which lot, where neither a vessel nor a sample is named.
    #[serde(default)]
    pub lot: Option<Label>,
    /// What was found.
    #[serde(flatten)]
    pub readings: Readings,
    /// Who found it.
    #[serde(default)]
    pub lab: Option<Text>,
    /// What was found of things that the house declares, each in its unit.
    #[serde(default)]
    pub values: Option<BTreeMap<Label, f64>>,
}

/// What one test found, in the units that the names say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs)] // each is the analyte that its name says, in the unit that its name says
pub struct Readings {
    #[serde(default)]
    pub ph: Option<f64>,
    #[serde(default)]
    pub free_so2_mg_l: Option<f64>,
    #[serde(default)]
    pub total_so2_mg_l: Option<f64>,
    /// Titratable acidity, as tartaric acid.
    #[serde(default)]
    pub ta_g_l: Option<f64>,
    /// Volatile acidity, as acetic acid.
    #[serde(default)]
    pub va_g_l: Option<f64>,
    /// Alcohol, % by volume.
    #[serde(default)]
    pub alcohol_pct: Option<f64>,
    #[serde(default)]
    pub malic_g_l: Option<f64>,
    #[serde(default)]
    pub lactic_g_l: Option<f64>,
    #[serde(default)]
    pub tartaric_g_l: Option<f64>,
    #[serde(default)]
    pub potassium_mg_l: Option<f64>,
    #[serde(default)]
    pub sugar_g_l: Option<f64>,
    #[serde(default)]
    pub turbidity_ntu: Option<f64>,
    #[serde(default)]
    pub oxygen_mg_l: Option<f64>,
    #[serde(default)]
    pub temperature_c: Option<f64>,
}

/// Something that is measured in a wine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[allow(missing_docs)]
pub enum Analyte {
    Ph,
    FreeSo2,
    TotalSo2,
    TitratableAcidity,
    VolatileAcidity,
    Alcohol,
    Malic,
    Lactic,
    Tartaric,
    Potassium,
    Sugar,
    Turbidity,
    Oxygen,
    Temperature,
}

impl Analyte {
    /// Every one, in the order in which a report prints them.
    pub const ALL: [Analyte; 14] = [
        Analyte::Ph,
        Analyte::FreeSo2,
        Analyte::TotalSo2,
        Analyte::TitratableAcidity,
        Analyte::VolatileAcidity,
        Analyte::Alcohol,
        Analyte::Malic,
        Analyte::Lactic,
        Analyte::Tartaric,
        Analyte::Potassium,
        Analyte::Sugar,
        Analyte::Turbidity,
        Analyte::Oxygen,
        Analyte::Temperature,
    ];

    /// Its name in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Analyte::Ph => "pH",
            Analyte::FreeSo2 => "free SO2",
            Analyte::TotalSo2 => "total SO2",
            Analyte::TitratableAcidity => "titratable acidity",
            Analyte::VolatileAcidity => "volatile acidity",
            Analyte::Alcohol => "alcohol",
            Analyte::Malic => "malic acid",
            Analyte::Lactic => "lactic acid",
            Analyte::Tartaric => "tartaric acid",
            Analyte::Potassium => "potassium",
            Analyte::Sugar => "sugar",
            Analyte::Turbidity => "turbidity",
            Analyte::Oxygen => "dissolved oxygen",
            Analyte::Temperature => "temperature",
        }
    }

    /// The field of a test that it stands in.
    #[must_use]
    pub const fn field(self) -> &'static str {
        match self {
            Analyte::Ph => "ph",
            Analyte::FreeSo2 => "free_so2_mg_l",
            Analyte::TotalSo2 => "total_so2_mg_l",
            Analyte::TitratableAcidity => "ta_g_l",
            Analyte::VolatileAcidity => "va_g_l",
            Analyte::Alcohol => "alcohol_pct",
            Analyte::Malic => "malic_g_l",
            Analyte::Lactic => "lactic_g_l",
            Analyte::Tartaric => "tartaric_g_l",
            Analyte::Potassium => "potassium_mg_l",
            Analyte::Sugar => "sugar_g_l",
            Analyte::Turbidity => "turbidity_ntu",
            Analyte::Oxygen => "oxygen_mg_l",
            Analyte::Temperature => "temperature_c",
        }
    }

    /// The unit after a number; none for pH.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Analyte::Ph => "",
            Analyte::FreeSo2 | Analyte::TotalSo2 | Analyte::Potassium | Analyte::Oxygen => "mg/L",
            Analyte::TitratableAcidity
            | Analyte::VolatileAcidity
            | Analyte::Malic
            | Analyte::Lactic
            | Analyte::Tartaric
            | Analyte::Sugar => "g/L",
            Analyte::Alcohol => "% vol",
            Analyte::Turbidity => "NTU",
            Analyte::Temperature => "°C",
        }
    }

    /// A number with its unit: `24 mg/L`, `3.52`.
    #[must_use]
    pub fn with_unit(self, number: impl Display) -> String {
        match self.unit() {
            "" => number.to_string(),
            unit => format!("{number} {unit}"),
        }
    }
}

impl Readings {
    /// What was found of one thing.
    #[must_use]
    pub const fn of(&self, analyte: Analyte) -> Option<f64> {
        match analyte {
            Analyte::Ph => self.ph,
            Analyte::FreeSo2 => self.free_so2_mg_l,
            Analyte::TotalSo2 => self.total_so2_mg_l,
            Analyte::TitratableAcidity => self.ta_g_l,
            Analyte::VolatileAcidity => self.va_g_l,
            Analyte::Alcohol => self.alcohol_pct,
            Analyte::Malic => self.malic_g_l,
            Analyte::Lactic => self.lactic_g_l,
            Analyte::Tartaric => self.tartaric_g_l,
            Analyte::Potassium => self.potassium_mg_l,
            Analyte::Sugar => self.sugar_g_l,
            Analyte::Turbidity => self.turbidity_ntu,
            Analyte::Oxygen => self.oxygen_mg_l,
            Analyte::Temperature => self.temperature_c,
        }
    }

    /// Says what was found of one thing.
    pub const fn set(&mut self, analyte: Analyte, found: f64) {
        *self.field(analyte) = Some(found);
    }

    /// Says nothing of one thing.
    pub const fn clear(&mut self, analyte: Analyte) {
        *self.field(analyte) = None;
    }

    const fn field(&mut self, analyte: Analyte) -> &mut Option<f64> {
        match analyte {
            Analyte::Ph => &mut self.ph,
            Analyte::FreeSo2 => &mut self.free_so2_mg_l,
            Analyte::TotalSo2 => &mut self.total_so2_mg_l,
            Analyte::TitratableAcidity => &mut self.ta_g_l,
            Analyte::VolatileAcidity => &mut self.va_g_l,
            Analyte::Alcohol => &mut self.alcohol_pct,
            Analyte::Malic => &mut self.malic_g_l,
            Analyte::Lactic => &mut self.lactic_g_l,
            Analyte::Tartaric => &mut self.tartaric_g_l,
            Analyte::Potassium => &mut self.potassium_mg_l,
            Analyte::Sugar => &mut self.sugar_g_l,
            Analyte::Turbidity => &mut self.turbidity_ntu,
            Analyte::Oxygen => &mut self.oxygen_mg_l,
            Analyte::Temperature => &mut self.temperature_c,
        }
    }

    fn check(&self) -> Result<(), Refusal> {
        for analyte in Analyte::ALL {
            if let Some(refusal) = self.of(analyte).and_then(|value| analyte.refused(value)) {
                return Err(refusal);
            }
        }
        match (self.free_so2_mg_l, self.total_so2_mg_l) {
            (Some(free), Some(total)) if free > total => Err(Refusal::FreeAboveTotal { free, total }),
            _ => Ok(()),
        }
    }

    /// Whether nothing was found.
    #[must_use]
    pub fn are_none(&self) -> bool {
        Analyte::ALL.iter().all(|&analyte| self.of(analyte).is_none())
    }
}

/// A test that was made, as its barrels and its lot remember it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Test {
    /// Which fact it is.
    pub id: FactId,
    /// When it happened.
    pub at: Moment,
    /// When its wine was drawn: long before, where a sample went to a laboratory.
    pub drawn: Moment,
    /// The vessels that it is a result of: several make a composite.
    pub vessels: SmallVec<[VesselId; 1]>,
    /// The sample, where one is named.
    pub sample: Option<Label>,
    /// What was found.
    pub readings: Readings,
    /// What was found of things that the house declares.
    pub values: Box<[(Label, f64)]>,
}

impl Test {
    /// Whether it is of several vessels together, so that it hides how they differ.
    #[must_use]
    pub fn is_composite(&self) -> bool {
        self.vessels.len() > 1
    }
}

/// A sample that carries a label: what it was drawn from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sample {
    /// What stands on its bottle.
    pub label: Label,
    /// What it was drawn from.
    pub drawn: Vec<Drawn>,
}

/// One of the vessels that a sample was drawn from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drawn {
    /// Which vessel.
    pub vessel: VesselId,
    /// Since when it held its wine then.
    pub filled: Option<Moment>,
    /// The lot that it held then.
    pub lot: Option<LotId>,
    /// When it was drawn.
    pub at: Moment,
}

/// How many of its last tests a vessel remembers, and a lot: two years of a barrel tested every month.
const A_VESSELS_TESTS: usize = 24;
/// A lot is tested barrel by barrel now and then.
const A_LOTS_TESTS: usize = 2_000;

impl State {
    /// A sample was drawn from a vessel.
    pub(in crate::cellar) fn keep_sample(&mut self, label: &Label, vessel: VesselId, at: Moment) {
        let holds = self.vessels.get(vessel);
        let drawn = Drawn { vessel, filled: holds.filled, lot: holds.lot, at };
        match self.samples.find(label.as_str()) {
            Some(id) => self.samples.get_mut(id).drawn.push(drawn),
            None => {
                self.samples.add(Sample { label: label.clone(), drawn: vec![drawn] });
            }
        }
    }

    /// What was last found of one thing in a vessel, with the test.
    #[must_use]
    pub fn last_reading(&self, vessel: VesselId, analyte: Analyte) -> Option<(f64, &Test)> {
        self.vessels.get(vessel).tests.last_of(analyte)
    }
}

/// The wine that a test is a result of.
pub struct ResultOf {
    /// The vessels that still hold it.
    vessels: SmallVec<[VesselId; 1]>,
    /// The lots that it was when it was drawn.
    lots: SmallVec<[LotId; 1]>,
    /// When the first of it was drawn, where it is a sample.
    drawn: Option<Moment>,
}

impl ResultOf {
    fn of(drawn: impl IntoIterator<Item = (VesselId, Option<LotId>)>) -> ResultOf {
        let (mut vessels, mut lots) = (SmallVec::new(), SmallVec::new());
        for (vessel, lot) in drawn {
            vessels.push(vessel);
            lots.extend(lot);
        }
        ResultOf::of_all(vessels, lots)
    }

    fn of_all(mut vessels: SmallVec<[VesselId; 1]>, mut lots: SmallVec<[LotId; 1]>) -> ResultOf {
        vessels.sort_unstable();
        vessels.dedup();
        lots.sort_unstable();
        lots.dedup();
        ResultOf { vessels, lots, drawn: None }
    }
}

impl Job for Tested {
    type Ready = ResultOf;

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        self.readings.check()?;
        for (analyte, &value) in self.values.iter().flatten() {
            declared::sane(analyte, value)?;
        }
        if self.readings.are_none() && self.values.iter().flatten().next().is_none() {
            return Err(Refusal::NothingTested);
        }
        match (&self.vessel, &self.sample, &self.lot) {
            (Some(vessel), _, _) => {
                let id = state.vessel(vessel)?;
                Ok(ResultOf::of([(id, state.vessels.get(id).lot)]))
            }
            (None, Some(label), _) => {
                let sample =
                    state.samples.by_label(label.as_str()).ok_or_else(|| Refusal::UnknownSample(label.clone()))?;
                let mut result = ResultOf::of(sample.drawn.iter().map(|drawn| (drawn.vessel, drawn.lot)));
                // A barrel that was emptied since holds another wine than the sample; the lot keeps the result all the same.
                let same_wine = |id: VesselId| {
                    let now = state.vessels.get(id).filled;
                    sample.drawn.iter().any(|drawn| drawn.vessel == id && drawn.filled == now)
                };
                result.vessels.retain(|id| same_wine(*id));
                result.drawn = sample.drawn.iter().map(|drawn| drawn.at).min_by_key(|at| at.instant());
                Ok(result)
            }
            (None, None, Some(label)) => {
                let lot = state.lot(label)?;
                let holding = state.vessels.iter().filter(|(_, vessel)| vessel.lot == Some(lot));
                Ok(ResultOf::of_all(holding.map(|(id, _)| id).collect(), SmallVec::from_slice(&[lot])))
            }
            (None, None, None) => Err(Refusal::NoVesselOrSample),
        }
    }

    fn doubt(&self, state: &State, result: &ResultOf) -> Option<Refusal> {
        let empty = result.vessels.iter().map(|&id| state.vessels.get(id)).find(|vessel| vessel.wine.is_empty());
        let undeclared = || self.values.iter().flatten().find(|(analyte, _)| state.house_analyte(analyte).is_none());
        let gone = self.lot.as_ref().filter(|_| result.vessels.is_empty() && self.sample.is_none());
        gone.map(|lot| Refusal::LotGone(lot.clone()))
            .or_else(|| empty.map(|vessel| Refusal::SourceEmpty(vessel.label.clone())))
            .or_else(|| undeclared().map(|(analyte, _)| Refusal::UnknownAnalyte(analyte.clone())))
    }

    fn questions(&self, state: &State, _result: &ResultOf, _at: Moment) -> Vec<Question> {
        let found = Analyte::ALL.into_iter().filter_map(|analyte| analyte.asked(self.readings.of(analyte)?));
        let of_house = self.values.iter().flatten();
        let of_house = of_house.filter_map(|(analyte, &value)| state.house_analyte(analyte)?.asked(value));
        found.chain(of_house).collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ResultOf { vessels, lots, drawn }: ResultOf) {
        let test = Arc::new(Test {
            id: stamp.id.clone(),
            at: stamp.at,
            drawn: drawn.unwrap_or(stamp.at),
            vessels: vessels.clone(),
            sample: self.sample.clone(),
            readings: self.readings,
            values: self.values.iter().flatten().map(|(analyte, &value)| (analyte.clone(), value)).collect(),
        });
        for &id in &vessels {
            let vessel = state.vessels.get_mut(id);
            Arc::make_mut(&mut vessel.tests).keep(test.clone(), A_VESSELS_TESTS);
            vessel.watch(&test);
            for analyte in [Analyte::FreeSo2, Analyte::TotalSo2] {
                if let Some(mg_l) = self.readings.of(analyte).filter(|_| !vessel.wine.is_empty()) {
                    vessel.wine.sulfur_mut().test(analyte, mg_l, test.drawn);
                }
            }
            vessel.history.remember(stamp, Event::Tested);
            state.tested_after_filtration(id, &self.readings, stamp.at);
        }
        for lot in lots {
            Arc::make_mut(&mut state.lots.get_mut(lot).tests).keep(test.clone(), A_LOTS_TESTS);
        }
    }

    fn about(&self) -> Option<&Label> {
        self.vessel.as_ref().or(self.sample.as_ref()).or(self.lot.as_ref())
    }
}
